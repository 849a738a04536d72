//! The audit's statistics, each a small pure function checked against reference libraries.
