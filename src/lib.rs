//! valvefolio: from a table of transcatheter aortic valve cases to one signed-off page per patient and an audit.

pub mod cohort;
pub mod draw;
pub mod figure;
pub mod output;
