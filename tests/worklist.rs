//! Who is due, how each stands, what is missing: on cases written by hand, on the demo, and as files and pages.

#[path = "support/by_hand.rs"]
mod by_hand_records;
#[path = "worklist/support.rs"]
mod support;

#[path = "worklist/agreement.rs"]
mod agreement;
#[path = "worklist/changes.rs"]
mod changes;
#[path = "worklist/files.rs"]
mod files;
#[path = "worklist/gaps.rs"]
mod gaps;
#[path = "worklist/pages.rs"]
mod pages;
#[path = "worklist/schedule.rs"]
mod schedule;
#[path = "worklist/thresholds.rs"]
mod thresholds;
