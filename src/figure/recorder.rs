//! The plotters backend that records.
