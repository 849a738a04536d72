//! valvefolio: from a table of transcatheter aortic valve cases to one signed-off page per patient and an audit.

pub mod assess;
pub mod cli;
pub mod cohort;
pub mod date;
pub mod diagnostic;
pub mod dictionary;
pub mod draw;
pub mod explain;
pub mod figure;
pub mod input;
pub mod output;
pub mod page;
pub mod record;
pub mod run;
pub mod settings;
pub mod sources;
pub mod worklist;
