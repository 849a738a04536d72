"""Second-source reference values (scipy, statsmodels, lifelines, numpy) + plain re-derivations of the formulas,
cross-checked against the R values in ref_r.json. Run: python make_py.py DIR  (DIR holds ref_r.json; writes ref_py.json)."""
import json,sys,math,warnings; warnings.filterwarnings("ignore")
import numpy as np, scipy, scipy.stats as st, statsmodels, lifelines, pandas as pd
from statsmodels.stats.proportion import proportion_confint, confint_proportions_2indep, binom_test
from lifelines import KaplanMeierFitter, AalenJohansenFitter
D=sys.argv[1]; R=json.load(open(f"{D}/ref_r.json")); P={}; X={}
P["versions"]={"python":sys.version.split()[0],"numpy":np.__version__,"scipy":scipy.__version__,"statsmodels":statsmodels.__version__,"lifelines":lifelines.__version__}
def mx(a,b):
    d=0.0
    for u,v in zip(a,b):
        if u is None or v is None or (isinstance(u,float) and math.isnan(u)) or (isinstance(v,float) and math.isnan(v)): continue
        d=max(d,abs(u-v))
    return d
# quantile type 7 / 8 / 2
meth={1:"inverted_cdf",2:"averaged_inverted_cdf",3:"closest_observation",4:"interpolated_inverted_cdf",5:"hazen",6:"weibull",7:"linear",8:"median_unbiased",9:"normal_unbiased"}
d={t:0.0 for t in meth}
for k,v in R["quantiles"]["sets"].items():
    x=np.atleast_1d(v["x"])
    for t,m in meth.items():
        d[t]=max(d[t],mx(np.quantile(x,R["quantiles"]["probs"],method=m),np.atleast_1d(v["types"][f"type{t}"])))
X["quantile_numpy_vs_R_maxabs"]=d
# proportions
def wilson(x,n,cl=.95):
    z=st.norm.ppf(1-(1-cl)/2);p=x/n;den=1+z*z/n;c=(p+z*z/(2*n))/den;h=z*math.sqrt(p*(1-p)/n+z*z/(4*n*n))/den
    return (0.0 if x==0 else c-h, 1.0 if x==n else c+h)
def cp(x,n,cl=.95):
    a=1-cl; return (0.0 if x==0 else st.beta.ppf(a/2,x,n-x+1), 1.0 if x==n else st.beta.ppf(1-a/2,x+1,n-x))
dw=dc=dsw=dsc=db=d8=0
for g in R["proportions"]:
    x,n=g["x"],g["n"]; w=wilson(x,n); c=cp(x,n); dw=max(dw,mx(w,g["wilson95"])); dc=max(dc,mx(c,g["cp95"])); d8=max(d8,mx(cp(x,n,.998),g["cp998"]))
    dsw=max(dsw,mx(proportion_confint(x,n,method="wilson"),w)); dsc=max(dsc,mx(proportion_confint(x,n,method="beta"),c))
    b=st.binomtest(int(x),int(n)).proportion_ci(method="wilson"); db=max(db,mx((b.low,b.high),w))
X["wilson_formula_vs_R"]=dw; X["cp_formula_vs_R"]=dc; X["cp998_formula_vs_R"]=d8; X["wilson_statsmodels_vs_formula"]=dsw; X["cp_statsmodels_vs_formula"]=dsc; X["wilson_scipy_vs_formula"]=db
P["newcombe1998_table1"]=[dict(x=x,n=n,wilson_published=wp,cp_published_from_memory=cpp,wilson=list(wilson(x,n)),cp=list(cp(x,n))) for x,n,wp,cpp in
 [(81,263,[.2553,.3662],[.2527,.3676]),(15,148,[.0624,.1605],[.0578,.1617]),(0,20,[0,.1611],[0,.1684]),(1,29,[.0061,.1718],[.0009,.1776])]]
# coverage and width, Wilson vs Clopper-Pearson
cov=[]
for n in (20,30,40,60,80,100,150,200):
    W=np.array([wilson(x,n) for x in range(n+1)]); C=np.array([cp(x,n) for x in range(n+1)])
    row={"n":n}
    for lab,ps in (("p 0.01-0.10",np.linspace(.01,.10,181)),("p 0.10-0.50",np.linspace(.10,.50,401))):
        r={}
        for nm,I in (("wilson",W),("cp",C)):
            pm=st.binom.pmf(np.arange(n+1)[:,None],n,ps[None,:]); inn=(I[:,0][:,None]<=ps)&(ps<=I[:,1][:,None])
            cv=(pm*inn).sum(0); wd=(pm*(I[:,1]-I[:,0])[:,None]).sum(0); r[nm]={"mean_cov":round(cv.mean(),4),"min_cov":round(cv.min(),4),"mean_width":round(wd.mean(),4)}
        row[lab]=r
    cov.append(row)
P["coverage"]=cov
# Newcombe difference (method 10)
def nd(x1,n1,x2,n2):
    l1,u1=wilson(x1,n1); l2,u2=wilson(x2,n2); p1,p2=x1/n1,x2/n2; dd=p1-p2
    return dd-math.sqrt((p1-l1)**2+(u2-p2)**2), dd+math.sqrt((u1-p1)**2+(p2-l2)**2)
P["newcombe1998b_diff"]=[dict(x1=a,n1=b,x2=c,n2=e,published=pub,formula=list(nd(a,b,c,e)),statsmodels=[float(v) for v in confint_proportions_2indep(a,b,c,e,method="newcomb",compare="diff")]) for a,b,c,e,pub in
 [(56,70,48,80,[.0524,.3339]),(9,10,3,10,[.1705,.8090]),(5,56,0,29,[-.0381,.1926]),(10,10,0,20,[.6791,1.0]),(2,40,5,160,None),(0,40,0,160,None)]]
# Poisson
def pe(o,cl=.95): a=1-cl; return (0.0 if o==0 else st.chi2.ppf(a/2,2*o)/2, st.chi2.ppf(1-a/2,2*o+2)/2)
def byar(o,cl=.95):
    z=st.norm.ppf(1-(1-cl)/2); lo=0.0 if o==0 else max(0.0,o*(1-1/(9*o)-z/(3*math.sqrt(o)))**3); m=o+1; return lo, m*(1-1/(9*m)+z/(3*math.sqrt(m)))**3
def midp(o,cl=.95):
    from scipy.optimize import brentq; a=(1-cl)/2
    lo=0.0 if o==0 else brentq(lambda m: st.poisson.sf(o,m)+.5*st.poisson.pmf(o,m)-a,1e-9,o)
    up=brentq(lambda m: st.poisson.cdf(o-1,m)+.5*st.poisson.pmf(o,m)-a,o+1e-9,5*o+20); return lo,up
tab=[];de=0;d8=0
for q in R["poisson"]:
    o=q["O"];e=pe(o); de=max(de,mx(e,q["exact95"])); d8=max(d8,mx(pe(o,.998),q["exact998"])); tab.append(dict(O=o,exact95=list(e),byar_bd95=list(byar(o)),midp95=list(midp(o)),exact998=list(pe(o,.998)),byar_bd998=list(byar(o,.998)),byar_halfshift95=q["epitools_byar_halfshift95"]))
P["poisson"]=tab; X["poisson_exact_chi2_vs_R"]=de; X["poisson_exact998_chi2_vs_R"]=d8
X["byar_bd_relerr_vs_exact_upper_by_O"]={o["O"]:round(o["byar_bd95"][1]/o["exact95"][1]-1,5) for o in tab if o["O"] in(0,1,2,3,5,10,20)}
X["byar_bd_relerr_vs_exact_lower_by_O"]={o["O"]:round(o["byar_bd95"][0]/o["exact95"][0]-1,5) for o in tab if o["O"] in(1,2,3,5,10,20)}
# paired
for k,v in R["paired"].items():
    dd=np.array(v["diff"]);n=len(dd);m=dd.mean();s=dd.std(ddof=1);t=st.t.ppf(.975,n-1);X[f"paired_{k}_ci_vs_R"]=mx((m-t*s/math.sqrt(n),m+t*s/math.sqrt(n)),v["ci95"])
    w=np.sort([(dd[i]+dd[j])/2 for i in range(n) for j in range(i,n)]); X[f"paired_{k}_hl_vs_R_walsh"]=abs(np.median(w)-v["hl_walsh_median"])
    # exact HL CI: k = signrank quantile, counted by DP (no-ties distribution)
    f=np.zeros(n*(n+1)//2+1);f[0]=1
    for r in range(1,n+1): g=f.copy(); g[r:]+=f[:-r]; f=g
    c=np.cumsum(f)/2**n; q=int(np.searchsorted(c,.025)); q=max(q,1); P.setdefault("hl_exact_ci",{})[k]=dict(k=q,lo=float(w[q-1]),hi=float(w[len(w)-q]),conf=float(1-2*c[q-1]))
X["darwin_hl_ci_vs_R_exact"]=mx([P["hl_exact_ci"]["darwin"]["lo"],P["hl_exact_ci"]["darwin"]["hi"]],R["paired"]["darwin"]["wilcox_ci"])
# RA series
s=R["ra_series"];p=np.array(s["p"]);y=np.array(s["y"]);n=len(p)
w2=np.where(y==1,np.log(2/(1+p)),-np.log(1+p)); S=0;out=[]
for v in w2: S=max(0,S+v); out.append(S)
X["racusum_S_vs_vlad_pkg"]=mx(out,s["S_up"]); X["vlad_vs_R"]=mx(np.cumsum(p-y),s["vlad"])
pm=np.array([1.0]);qs={a:[] for a in(.025,.975,.005,.995)}
for pi in p:
    pm=np.convolve(pm,[1-pi,pi]); c=np.cumsum(pm)
    for a in qs: qs[a].append(int(np.searchsorted(c,a-1e-15)))
X["poisson_binomial_q025_vs_R"]=mx(qs[.025],s["pbinom_quantiles_deaths"]["q025"]); X["poisson_binomial_q975_vs_R"]=mx(qs[.975],s["pbinom_quantiles_deaths"]["q975"])
X["pb_tail_ge_O_vs_R"]=abs(pm[int(y.sum()):].sum()-s["pbinom_tail"]["p_ge_O"])
import statsmodels.api as sm
l=np.log(p/(1-p));m0=sm.GLM(y,np.ones((n,1)),family=sm.families.Binomial(),offset=l).fit();m1=sm.GLM(y,np.c_[np.ones(n),l],family=sm.families.Binomial()).fit()
X["citl_statsmodels_vs_R"]=mx([m0.params[0],m0.bse[0],m1.params[1]],[s["calibration"]["citl"],s["calibration"]["citl_se"],s["calibration"]["slope"]])
a=0.0
for _ in range(50):
    q=1/(1+np.exp(-(l+a))); a+= (y-q).sum()/(q*(1-q)).sum()
X["citl_newton_vs_R"]=abs(a-s["calibration"]["citl"])
# in-control ARL by simulation at vlad's Markov-chain limits, and false-signal probability by (i) sim (ii) deterministic grid
rng=np.random.default_rng(20260101); mixes=R["racusum_limits_mc"]["mixes"]
def arl(mix,h,RA=2,reps=20000,cap=100000,RQ=1.0):
    f=np.atleast_1d(mix["f"]).astype(float);q=np.atleast_1d(mix["p"]).astype(float);f=f/f.sum();wf=np.log(RA/(1-q+RA*q));ws=-np.log(1-q+RA*q);qq=RQ*q/(1-q+RQ*q)
    S=np.zeros(reps);T=np.zeros(reps);alive=np.arange(reps);t=0
    while len(alive) and t<cap:
        t+=1;i=rng.choice(len(q),size=len(alive),p=f);yy=rng.random(len(alive))<qq[i];S=np.maximum(0,S+np.where(yy,wf[i],ws[i]));hit=S>h
        T[alive[hit]]=t;alive=alive[~hit];S=S[~hit]
    return float(T.mean()),float(T.std(ddof=1)/math.sqrt(reps)),float(np.median(T))
simc=[]
for r in R["racusum_limits_mc"]["table"]:
    if r["mix"] in("tavi_like","const_0.05","cardiac_phase1") and r["RA"]==2 and r["L0"] in(100,370,500) : 
        m_,se,md=arl(mixes[r["mix"]],r["h"]); a1=arl(mixes[r["mix"]],r["h"],RQ=2.0,reps=10000); simc.append(dict(mix=r["mix"],L0=r["L0"],h=r["h"],sim_arl0=m_,se=se,median_rl=md,sim_arl1=a1[0],mc_arl1=r["arl1_at_RA"]))
P["racusum_arl_sim"]=simc
def crossing(pseq,h,RA=2,M=2000):
    """deterministic in-control P(max S_i > h by case i): mass on a grid of M cells over [0,h], linear (two-point) split keeps the mean."""
    g=np.zeros(M+1);g[0]=1;dx=h/M;out=[];absd=0.0
    for q in pseq:
        new=np.zeros(M+1)
        for pr,w in((q,math.log(RA/(1-q+RA*q))),(1-q,-math.log(1-q+RA*q))):
            k=w/dx;lo=math.floor(k);fr=k-lo
            for sh,wt in((lo,1-fr),(lo+1,fr)):
                if wt==0: continue
                mass=g*(pr*wt)
                if sh>=0: new[sh:]+=mass[:M+1-sh] if sh<=M else 0; absd+=mass[max(0,M+1-sh):].sum()
                else: a=-sh; new[:M+1-a]+=mass[a:]; new[0]+=mass[:a].sum()
        g=new;out.append(absd)
    return out
def simcross(pseq,h,RA=2,reps=200000):
    S=np.zeros(reps);hit=np.zeros(reps,bool);res=[]
    for q in pseq:
        yy=rng.random(reps)<q;S=np.maximum(0,S+np.where(yy,math.log(RA/(1-q+RA*q)),-math.log(1-q+RA*q)));hit|=S>h;res.append(hit.mean())
    return res
cr=[]
for h in(1.5,2.0,2.5,3.0,3.5,4.0):
    a=crossing(s["p"],h);b=simcross(s["p"],h); cr.append(dict(h=h,N=[40,80,120,160],grid=[a[i-1] for i in(40,80,120,160)],sim=[float(b[i-1]) for i in(40,80,120,160)]))
P["racusum_false_signal_given_case_mix"]=cr
def hlim(pseq,alpha,lo=.3,hi=9):
    for _ in range(40):
        m=(lo+hi)/2
        if crossing(pseq,m,M=1000)[-1]>alpha: lo=m
        else: hi=m
    return hi
P["racusum_h_given_case_mix"]=[dict(N=N,alpha=al,h=hlim(s["p"][:N],al)) for N in(40,80,160) for al in(.05,.01)]
X["racusum_signal_case_with_h05_N160"]=None
# funnel
df=0
for f in R["funnel_binomial"]:
    nn,th=f["n"],f["theta"]
    for pp,r,i in zip(f["p"],f["r"],f["interp"]):
        rr=int(st.binom.ppf(pp,nn,th)); 
        if rr!=r: X.setdefault("funnel_r_mismatch",[]).append([nn,th,pp,rr,r])
        al=(st.binom.cdf(rr,nn,th)-pp)/st.binom.pmf(rr,nn,th); df=max(df,abs((rr-al)/nn-i))
X["funnel_interp_scipy_vs_R"]=df
# KM
def km(time,ev):
    o=sorted(set(time));S=1;v=0;res=[];z=st.norm.ppf(.975)
    for t in o:
        nr=sum(1 for q in time if q>=t);dd=sum(1 for q,e in zip(time,ev) if q==t and e==1)
        S*=1-dd/nr; v=v+(dd/(nr*(nr-dd)) if nr>dd else float("inf"))
        if 0<S<1: se=S*math.sqrt(v);th=z*math.sqrt(v)/abs(math.log(S));lo,hi=S**math.exp(th),S**math.exp(-th)
        else: se=lo=hi=float("nan")
        res.append((t,nr,dd,S,se,lo,hi))
    return res
for k,v in R["km"].items():
    if k=="lung" or k=="ovarian" or True:
        m=km(v["time"],v["status"]) if isinstance(v["time"],list) else km([v["time"]],[v["status"]]);c={q:(w if isinstance(w,list) else [w]) for q,w in v["curve"].items()}
        X[f"km_{k}"]=dict(surv=mx([r[3] for r in m],c["surv"]),nrisk=mx([r[1] for r in m],c["n_risk"]),lo=mx([r[5] for r in m],c["loglog_lo"]),hi=mx([r[6] for r in m],c["loglog_hi"]))
        if len(m)>2 and sum(v["status"])>0:
            f=KaplanMeierFitter().fit(v["time"],v["status"]);ci=f.confidence_interval_; sf=f.survival_function_["KM_estimate"]
            X[f"km_{k}"]["lifelines_surv"]=mx([sf.loc[t] for t in c["time"]],c["surv"]); X[f"km_{k}"]["lifelines_lo"]=mx([ci.iloc[:,0].loc[t] for t in c["time"]],c["loglog_lo"])
# AJ
def aj(time,ev,times,cause):
    o=sorted(set(t for t,e in zip(time,ev) if e>0));S=1;rows=[]
    for t in o:
        nr=sum(1 for q in time if q>=t);d1=sum(1 for q,e in zip(time,ev) if q==t and e==cause);da=sum(1 for q,e in zip(time,ev) if q==t and e>0);rows.append((t,nr,d1,da,S));S*=1-da/nr
    out=[]
    for T in times:
        I=0;cum=[];
        for (t,nr,d1,da,Sm) in rows:
            if t>T: break
            I+=Sm*d1/nr;cum.append((t,nr,d1,da,Sm,I))
        v=0
        for (t,nr,d1,da,Sm,Ij) in cum:
            if nr>da: v+=(I-Ij)**2*da/(nr*(nr-da))
            v+=Sm**2*(nr-d1)/nr**3*d1 ; v-=2*(I-Ij)*Sm*d1/nr**2
        # Aalen counting-process variance (as cmprsk)
        out.append((I,v))
    return out
for k,v in R["aj"].items():
    if v.get("time"):
        a=v["at"];o=aj(v["time"],v["event"],a["times"],1);cif=[q[0] for q in o];var=[q[1] for q in o];z=st.norm.ppf(.975)
        ll=[(None,None) if not 0<c<1 else (1-(1-c)**math.exp(z*math.sqrt(w)/(abs(math.log(1-c))*(1-c))),) for c,w in o]
        lo=[];hi=[]
        for c,w in o:
            if c<=0: lo.append(0.0);hi.append(None);continue
            th=z*math.sqrt(w)/(c*abs(math.log(c))); lo.append(c**math.exp(th)); hi.append(c**math.exp(-th))
        P.setdefault("aj_delta",{})[k]=dict(times=a["times"],cif1=cif,var1=var,se1=[math.sqrt(w) for w in var],loglog_lo=lo,loglog_hi=hi)
        X[f"aj_{k}"]=dict(cif=mx(cif,a["cif1"]),cif_cmprsk=mx(cif,a["cmprsk_cif1"]),se_vs_survivalIJ=mx([math.sqrt(w) for w in var],a["se1_survival_IJ"]),se_vs_cmprsk=mx([math.sqrt(w) for w in var],[math.sqrt(w) for w in a["cmprsk_var1"]]))
        if k=="melanoma":
            f=AalenJohansenFitter(calculate_variance=True,seed=1).fit(pd.Series(v["time"])+np.random.default_rng(0).uniform(-1e-6,1e-6,len(v["time"])),v["event"],event_of_interest=1)
            c=f.cumulative_density_; X["aj_melanoma"]["lifelines_cif"]=mx([float(c[c.index<=t+.001].iloc[-1,0]) for t in a["times"]],a["cif1"]); vv=f.variance_; X["aj_melanoma"]["lifelines_se"]=mx([math.sqrt(float(np.atleast_1d(vv[vv.index<=t+.001].iloc[-1])[0])) for t in a["times"]],P["aj_delta"][k]["se1"])
# naive 1-KM bias
P["crosscheck"]=X
json.dump(P,open(f"{D}/ref_py.json","w"),default=lambda o: None if o is None else (o.item() if hasattr(o,"item") else str(o)))
print(json.dumps(X,indent=0,default=str)); print(json.dumps(P["racusum_arl_sim"])); print(json.dumps(cr)); print(json.dumps(P["racusum_h_given_case_mix"])); print(json.dumps(P["newcombe1998_table1"])); print(json.dumps(P["newcombe1998b_diff"]));print(json.dumps(P["hl_exact_ci"]))
for c in cov: print(json.dumps(c))
