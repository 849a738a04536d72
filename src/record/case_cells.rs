//! The cells of the cases file.

use jiff::civil::Date;

use super::cell::{Text, cells};
use super::choices::{
    AccessClosure, AccessRoute, Anaesthesia, Antithrombotic, AntithromboticThen, BleedingType,
    Calcification, CerebralProtection, DeathCause, DischargeDestination, DischargeStatus, Extent,
    FollowUpStatus, Grade, Indication, Morphology, Nyha, Rhythm, RhythmMonitor, Seal, Sex, Stroke,
    Urgency,
};

cells! {
    /// One row of the cases file: what was recorded of one procedure. `None` is blank, not read or not believable.
    CaseCells of "cases" {
        /// Unique key of the procedure; letters, digits, dot, underscore, hyphen; at most 40 characters.
        case_id: Text,
        /// Links the procedures of one patient; case_id where blank.
        patient_key: Text,
        /// What the page shows to identify the patient (hospital number, initials); never written when de-identified.
        patient_label: Text,
        /// Date of birth; or give age_years.
        birth_date: Date,
        /// Age at the procedure; not needed where birth_date is given (years).
        age_years: f64,
        /// Sex, as the published thresholds that depend on it use it.
        sex: Sex,
        /// Height (cm).
        height_cm: f64,
        /// Weight (kg).
        weight_kg: f64,
        /// Centre, for the funnel plot.
        site: Text,
        /// First operator (a code), for the funnel plot and the running charts.
        operator: Text,
        /// Referral to the heart team.
        referral_date: Date,
        /// Heart-team decision.
        heart_team_date: Date,
        /// Indication.
        indication: Indication,
        /// Admission.
        admission_date: Date,
        /// Implantation.
        procedure_date: Date,
        /// Discharge alive; empty where the patient died in hospital.
        discharge_date: Date,
        /// NYHA functional class before the procedure.
        nyha_class: Nyha,
        /// Angina at rest (CCS class 4).
        ccs4_angina: bool,
        /// KCCQ overall summary score before the procedure (points).
        kccq_baseline: f64,
        /// Clinical Frailty Scale.
        clinical_frailty_scale: i64,
        /// Rhythm on the baseline ECG.
        rhythm: Rhythm,
        /// Any atrial fibrillation known before the procedure.
        atrial_fibrillation_history: bool,
        /// Stroke before the procedure.
        prior_stroke: bool,
        /// Permanent pacemaker before the procedure or pacing defibrillator (leaves the denominator of new pacemakers).
        prior_pacemaker: bool,
        /// Right bundle branch block on the baseline ECG.
        right_bundle_branch_block: bool,
        /// PR interval, baseline ECG (ms).
        pr_interval_ms: f64,
        /// QRS duration, baseline ECG (ms).
        qrs_duration_ms: f64,
        /// Baseline serum creatinine (umol/L).
        creatinine_umol_l: f64,
        /// Baseline haemoglobin (g/dL).
        haemoglobin_g_dl: f64,
        /// Diabetes on insulin.
        insulin_diabetes: bool,
        /// Extracardiac arteriopathy.
        extracardiac_arteriopathy: bool,
        /// Chronic lung disease on long-term bronchodilators or steroids.
        chronic_lung_disease: bool,
        /// Severe impairment of mobility by musculoskeletal or neurological dysfunction.
        poor_mobility: bool,
        /// Previous cardiac surgery that opened the pericardium.
        previous_cardiac_surgery: bool,
        /// On dialysis before the procedure.
        dialysis: bool,
        /// On antibiotics for endocarditis at the procedure.
        active_endocarditis: bool,
        /// Critical preoperative state.
        critical_preoperative_state: bool,
        /// Myocardial infarction within 90 days.
        recent_myocardial_infarction: bool,
        /// Urgency of the procedure.
        urgency: Urgency,
        /// EuroSCORE II as the heart team recorded it; the computed value is shown beside it (%).
        euroscore2_reported_pct: f64,
        /// STS predicted risk of mortality as recorded; it is not computed here (%).
        sts_prom_pct: f64,
        /// Baseline echocardiogram.
        baseline_echo_date: Date,
        /// Peak aortic jet velocity (m/s).
        baseline_vmax_m_s: f64,
        /// Mean aortic gradient (mmHg).
        baseline_mean_gradient_mmhg: f64,
        /// Velocity-time integral across the aortic valve (cm).
        baseline_av_vti_cm: f64,
        /// Diameter of the left ventricular outflow tract (mm).
        baseline_lvot_diameter_mm: f64,
        /// Velocity-time integral in the outflow tract (cm).
        baseline_lvot_vti_cm: f64,
        /// Peak velocity in the outflow tract (m/s).
        baseline_lvot_vmax_m_s: f64,
        /// Aortic valve area as reported; the computed value is shown beside it (cm2).
        baseline_ava_cm2: f64,
        /// Left ventricular ejection fraction (%).
        baseline_lvef_pct: f64,
        /// Systolic blood pressure at the echocardiogram (mmHg).
        baseline_sbp_mmhg: f64,
        /// Diastolic blood pressure at the echocardiogram (mmHg).
        baseline_dbp_mmhg: f64,
        /// Heart rate at the echocardiogram (1/min).
        baseline_heart_rate_bpm: f64,
        /// LV end-diastolic diameter (mm).
        baseline_lvedd_mm: f64,
        /// Interventricular septum, end-diastole (mm).
        baseline_septum_mm: f64,
        /// Posterior wall, end-diastole (mm).
        baseline_posterior_wall_mm: f64,
        /// Peak velocity of tricuspid regurgitation (m/s).
        baseline_tr_vmax_m_s: f64,
        /// Right atrial pressure estimate (mmHg).
        baseline_right_atrial_pressure_mmhg: f64,
        /// Right ventricular systolic pressure as reported; where empty it is computed (mmHg).
        baseline_rvsp_mmhg: f64,
        /// Aortic regurgitation.
        baseline_ar_grade: Grade,
        /// Mitral regurgitation.
        baseline_mr_grade: Grade,
        /// Tricuspid regurgitation.
        baseline_tr_grade: Grade,
        /// Left atrial volume index (mL/m2).
        left_atrial_volume_index_ml_m2: f64,
        /// Mitral E over average e-prime.
        e_over_e_prime: f64,
        /// Right ventricular dysfunction, moderate or worse.
        rv_dysfunction: bool,
        /// Planning CT.
        ct_date: Date,
        /// Native valve morphology (Sievers types) or a failing surgical bioprosthesis.
        valve_morphology: Morphology,
        /// True inner diameter of a failing surgical bioprosthesis (mm).
        bioprosthesis_inner_diameter_mm: f64,
        /// CT aortic valve calcium score (Agatston units) (AU).
        calcium_score_au: f64,
        /// Leaflet calcification.
        leaflet_calcification: Calcification,
        /// Outflow tract calcification.
        lvot_calcification: Calcification,
        /// Annulus area in systole (mm2).
        annulus_area_mm2: f64,
        /// Annulus perimeter (mm).
        annulus_perimeter_mm: f64,
        /// Shortest annulus diameter (mm).
        annulus_min_mm: f64,
        /// Longest annulus diameter (mm).
        annulus_max_mm: f64,
        /// Outflow tract area about 4 mm below the annulus (mm2).
        lvot_area_mm2: f64,
        /// Intercommissural distance 4 mm above the annulus (bicuspid valves) (mm).
        intercommissural_distance_mm: f64,
        /// Mean sinus of Valsalva diameter (mm).
        sinus_of_valsalva_mm: f64,
        /// Sinotubular junction diameter (mm).
        sinotubular_junction_mm: f64,
        /// Largest ascending aorta diameter (mm).
        ascending_aorta_mm: f64,
        /// Left coronary ostium above the annulus (mm).
        left_coronary_height_mm: f64,
        /// Right coronary ostium above the annulus (mm).
        right_coronary_height_mm: f64,
        /// Membranous septum length (mm).
        membranous_septum_mm: f64,
        /// Angle of the annulus plane to the horizontal (deg).
        aortic_angle_deg: f64,
        /// Access route.
        access_route: AccessRoute,
        /// Smallest lumen diameter on the access side (mm).
        access_min_lumen_mm: f64,
        /// Valve planned before the procedure: a device_id of the devices file.
        planned_device_id: Text,
        /// Implanted valve: a device_id of the devices file.
        device_id: Text,
        /// Serial number or UDI of the implanted valve.
        device_serial: Text,
        /// Lot number of the implanted valve.
        device_lot: Text,
        /// Pre-dilatation done.
        predilatation: bool,
        /// Diameter of the pre-dilatation balloon (mm).
        predilatation_balloon_mm: f64,
        /// Largest balloon at whose inflation contrast still leaked (mm).
        leaking_balloon_mm: f64,
        /// What root contrast injection showed during the balloon inflation.
        predilatation_seal: Seal,
        /// Balloon fill at deployment relative to nominal (+ over-filled, - under-filled) (mL).
        fill_volume_change_ml: f64,
        /// Post-dilatation done.
        postdilatation: bool,
        /// Total balloon fill relative to nominal at post-dilatation with the delivery balloon (mL).
        postdilatation_volume_change_ml: f64,
        /// Narrowest diameter of the implanted frame as measured (fluoroscopy or CT) (mm).
        frame_measured_mm: f64,
        /// Implant depth below the annulus (mm).
        implant_depth_mm: f64,
        /// Why this size was chosen, in the operator's words.
        sizing_reason: Text,
        /// Anaesthesia.
        anaesthesia: Anaesthesia,
        /// Cerebral embolic protection.
        cerebral_protection: CerebralProtection,
        /// How the main access was closed.
        access_closure: AccessClosure,
        /// Dose-area product (Gy.cm2).
        dose_area_product_gy_cm2: f64,
        /// Contrast (mL).
        contrast_ml: f64,
        /// Fluoroscopy time (min).
        fluoroscopy_min: f64,
        /// Invasive mean gradient before implantation (mmHg).
        invasive_mean_gradient_before_mmhg: f64,
        /// Invasive mean gradient after implantation (mmHg).
        invasive_mean_gradient_after_mmhg: f64,
        /// Cardiac output at catheterisation (L/min).
        cardiac_output_l_min: f64,
        /// Systolic ejection period at catheterisation (s).
        systolic_ejection_period_s: f64,
        /// Heart rate at catheterisation (1/min).
        catheter_heart_rate_bpm: f64,
        /// Invasive aortic systolic pressure before implantation (mmHg).
        aortic_sbp_before_mmhg: f64,
        /// Invasive aortic diastolic pressure before implantation (mmHg).
        aortic_dbp_before_mmhg: f64,
        /// LV end-diastolic pressure before implantation (mmHg).
        lvedp_before_mmhg: f64,
        /// Invasive aortic systolic pressure after implantation (mmHg).
        aortic_sbp_after_mmhg: f64,
        /// Invasive aortic diastolic pressure after implantation (mmHg).
        aortic_dbp_after_mmhg: f64,
        /// LV end-diastolic pressure after implantation (mmHg).
        lvedp_after_mmhg: f64,
        /// Successful access, delivery of the device and retrieval of the delivery system.
        access_delivery_retrieval_ok: bool,
        /// Correct position of a single valve in the proper anatomical location.
        position_ok: bool,
        /// The procedure ended without a valve implanted (aborted or converted).
        no_valve_implanted: bool,
        /// A second valve was implanted.
        second_valve: bool,
        /// Died before leaving the procedure room.
        procedural_death: bool,
        /// Conversion to open surgery.
        conversion_to_surgery: bool,
        /// Coronary obstruction.
        coronary_obstruction: bool,
        /// Annular rupture.
        annular_rupture: bool,
        /// Cardiac tamponade.
        tamponade: bool,
        /// Aortic dissection.
        aortic_dissection: bool,
        /// Valve embolisation.
        valve_embolisation: bool,
        /// Surgery or intervention related to the device (pacemaker excepted) before leaving the procedure room.
        device_intervention_in_room: bool,
        /// The same later, to day 30.
        device_intervention_to_30_days: bool,
        /// Surgery or intervention for a major vascular, access-related or cardiac structural complication before leaving the procedure room.
        complication_intervention_in_room: bool,
        /// The same later, to day 30.
        complication_intervention_to_30_days: bool,
        /// Myocardial infarction to 48 hours.
        periprocedural_myocardial_infarction: bool,
        /// Worst vascular or access-related complication to day 30, VARC-3.
        vascular_complication: Extent,
        /// Worst cardiac structural complication to day 30, VARC-3.
        structural_complication: Extent,
        /// Worst bleeding to day 30, VARC-3.
        bleeding_type: BleedingType,
        /// Stroke or TIA to 30 days.
        stroke_30d: Stroke,
        /// The stroke was disabling (mRS 2 or more and at least 1 worse at 90 days) or fatal.
        stroke_disabling: bool,
        /// Lowest haemoglobin after the procedure (g/dL).
        haemoglobin_lowest_g_dl: f64,
        /// Red-cell units given to discharge.
        red_cell_units: i64,
        /// Haemoglobin at discharge (g/dL).
        haemoglobin_discharge_g_dl: f64,
        /// Creatinine at discharge (umol/L).
        creatinine_discharge_umol_l: f64,
        /// Highest creatinine after the procedure (within 7 days) (umol/L).
        creatinine_peak_umol_l: f64,
        /// Highest creatinine within 48 hours after the procedure (umol/L).
        creatinine_48h_umol_l: f64,
        /// New renal replacement therapy, temporary or permanent.
        new_dialysis: bool,
        /// New permanent pacemaker for procedure-related conduction abnormality to 30 days.
        new_pacemaker_30d: bool,
        /// New left bundle branch block still present at discharge.
        new_left_bundle_branch_block: bool,
        /// Echocardiogram before discharge.
        post_echo_date: Date,
        /// Peak velocity across the prosthesis, before discharge (m/s).
        post_vmax_m_s: f64,
        /// Mean gradient across the prosthesis, before discharge (mmHg).
        post_mean_gradient_mmhg: f64,
        /// Velocity-time integral across the prosthesis, before discharge (cm).
        post_av_vti_cm: f64,
        /// Outflow tract diameter proximal to the prosthesis, before discharge (mm).
        post_lvot_diameter_mm: f64,
        /// Velocity-time integral proximal to the prosthesis, before discharge (cm).
        post_lvot_vti_cm: f64,
        /// Left ventricular ejection fraction, before discharge (%).
        post_lvef_pct: f64,
        /// Paravalvular regurgitation, before discharge.
        post_paravalvular_grade: Grade,
        /// Transvalvular (intraprosthetic) regurgitation, before discharge.
        post_transvalvular_grade: Grade,
        /// Right ventricular systolic pressure, before discharge (mmHg).
        post_rvsp_mmhg: f64,
        /// Antithrombotic treatment at discharge.
        antithrombotic_plan: Antithrombotic,
        /// Day on which the plan ends or is reviewed.
        antithrombotic_until: Date,
        /// What follows after that day.
        antithrombotic_then: AntithromboticThen,
        /// Medication at discharge, separated by ; .
        medication: Text,
        /// Left hospital alive.
        discharge_status: DischargeStatus,
        /// Rhythm at discharge.
        discharge_rhythm: Rhythm,
        /// PR interval, discharge ECG (ms).
        discharge_pr_interval_ms: f64,
        /// QRS duration, discharge ECG (ms).
        discharge_qrs_duration_ms: f64,
        /// Ambulatory rhythm monitor after discharge: ordered, or its result.
        rhythm_monitor: RhythmMonitor,
        /// Discharged to.
        discharge_destination: DischargeDestination,
        /// Incidental finding of the CT or the stay that someone must follow up.
        incidental_finding: Text,
        /// Who follows it up (a service, not a person).
        incidental_owner: Text,
        /// Followed up and closed.
        incidental_closed: bool,
        /// Next visit already booked (a date after the as-of date is meant here).
        next_booked_date: Date,
        /// Standing of the follow-up.
        follow_up_status: FollowUpStatus,
        /// Clinic that follows the patient.
        follow_up_site: Text,
        /// Free text for the summary.
        discharge_note: Text,
        /// Date of death.
        death_date: Date,
        /// Cause of death, VARC-3.
        death_cause: DeathCause,
        /// Death related to the valve.
        valve_related_death: bool,
        /// Last date the patient was known to be alive.
        last_contact_date: Date,
        /// Physician who signed this summary; empty: the page is a draft.
        signed_by: Text,
        /// Date of signature.
        signed_on: Date,
        /// Check code of the page that was signed.
        signed_hash: Text,
    }
}
