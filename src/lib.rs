//! valvefolio: from a table of transcatheter aortic valve cases to one signed-off page per patient and an audit.

pub mod cohort;
pub mod diagnostic;
pub mod dictionary;
pub mod draw;
pub mod input;
pub mod record;
