//! The display list: what a page draws, before any file format.
