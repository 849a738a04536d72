//! Every published source once: what it is, and how far it was checked.

/// How far a source was checked when its formula or threshold was written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The paper or guideline itself was read.
    Read,
    /// A second text that quotes it was read.
    Quoted,
    /// From memory; not confirmed.
    FromMemory,
    /// No published source: geometry, arithmetic or the site's own data.
    NoneNeeded,
}

impl Standing {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read in the source itself",
            Self::Quoted => "read in a text that quotes the source",
            Self::FromMemory => "from memory, not confirmed in the source",
            Self::NoneNeeded => "no published source",
        }
    }
}

/// One source.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// As the dictionary of results names it.
    pub key: &'static str,
    /// Full citation.
    pub citation: &'static str,
    /// How far it was checked.
    pub standing: Standing,
}

const fn source(key: &'static str, citation: &'static str, standing: Standing) -> Source {
    Source {
        key,
        citation,
        standing,
    }
}

/// Every source of a result, in the order they are first used.
pub const SOURCES: &[Source] = &[
    source(
        "Du Bois 1916; Mosteller 1987",
        "Du Bois & Du Bois, Arch Intern Med 1916;17:863; Mosteller, N Engl J Med 1987;317:1098",
        Standing::Quoted,
    ),
    source(
        "Cockcroft 1976",
        "Cockcroft & Gault, Nephron 1976;16:31",
        Standing::Quoted,
    ),
    source(
        "Nashef 2012",
        "Nashef et al., Eur J Cardiothorac Surg 2012;41:734, table 6",
        Standing::Quoted,
    ),
    source(
        "Baumgartner 2017 (EACVI/ASE recommendations on aortic stenosis)",
        "Baumgartner et al., EACVI/ASE, J Am Soc Echocardiogr 2017;30:372",
        Standing::FromMemory,
    ),
    source(
        "Briand 2005",
        "Briand et al., J Am Coll Cardiol 2005;46:291; bins in Hachicha et al., J Am Coll Cardiol 2009;54:1003",
        Standing::Quoted,
    ),
    source(
        "Garcia 2000",
        "Garcia et al., Circulation 2000;101:765",
        Standing::FromMemory,
    ),
    source(
        "ESC/EACTS 2021",
        "Vahanian et al., 2021 ESC/EACTS guidelines on valvular heart disease",
        Standing::Read,
    ),
    source(
        "Lang 2015 (ASE/EACVI chamber quantification)",
        "Lang et al., J Am Soc Echocardiogr 2015;28:1",
        Standing::FromMemory,
    ),
    source(
        "Lang 2015",
        "Lang et al., J Am Soc Echocardiogr 2015;28:1",
        Standing::FromMemory,
    ),
    source(
        "ESC/EACTS 2017, 2021",
        "ESC/EACTS guidelines on valvular heart disease 2017 and 2021; thresholds from Clavel et al., J Am Coll Cardiol 2013;62:2329",
        Standing::FromMemory,
    ),
    source(
        "Genereux 2017",
        "Genereux et al., Eur Heart J 2017;38:3351",
        Standing::Quoted,
    ),
    source(
        "Blanke 2019 (SCCT)",
        "Blanke et al., JACC Cardiovasc Imaging 2019;12:1; formulas in Blanke et al., J Cardiovasc Comput Tomogr 2014;8:67",
        Standing::Read,
    ),
    source(
        "device file",
        "the labelled ranges of the site's own devices file",
        Standing::NoneNeeded,
    ),
    source(
        "geometry",
        "geometry of a cylinder of constant length",
        Standing::NoneNeeded,
    ),
    source(
        "Hayashida 2011",
        "Hayashida et al., JACC Cardiovasc Interv 2011;4:851",
        Standing::FromMemory,
    ),
    source(
        "VARC-3 (Genereux 2021)",
        "Genereux et al., Eur Heart J 2021;42:1825, the definitions as implemented here",
        Standing::Quoted,
    ),
    source(
        "Sinning 2012",
        "Sinning et al., J Am Coll Cardiol 2012;59:1134",
        Standing::Read,
    ),
    source(
        "Sinning 2013",
        "Sinning et al., work of 2013 on the index before and after, as the dictionary of results cites it",
        Standing::FromMemory,
    ),
    source(
        "Gorlin 1951",
        "Gorlin & Gorlin, Am Heart J 1951;41:1",
        Standing::Quoted,
    ),
];

/// The source of this key.
pub fn source_of(key: &str) -> Option<&'static Source> {
    SOURCES.iter().find(|source| source.key == key)
}
