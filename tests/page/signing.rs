//! State and check code.
