//! The follow-up packet: who is due, as a list, as a calendar and as pages.

use rayon::prelude::*;

use super::Work;
use super::report::Tally;
use crate::cli::ReportArgs;
use crate::draw::Fonts;
use crate::output::calendar::calendar;
use crate::output::folder::Folder;
use crate::output::worklist::worklist_csv;
use crate::worklist::{CaseGaps, Worklist};

/// The worklist; the gaps of each case are found in parallel.
pub fn worklist(args: &ReportArgs, work: &Work) -> Worklist {
    let settings = &work.site.settings;
    let gaps = work
        .cases
        .par_iter()
        .map(|(record, assessment)| CaseGaps::of(record, assessment, &work.catalogue, settings))
        .collect();
    Worklist::with_gaps(&work.cases, gaps, settings, args.window, work.as_of)
}

/// Writes everything of the packet.
pub fn write_packet(
    args: &ReportArgs,
    work: &Work,
    fonts: &Fonts,
    folder: &Folder,
    tally: &mut Tally,
) {
    let worklist = worklist(args, work);
    let _ = fonts;
    tally.take(folder.write("worklist.csv", worklist_csv(&worklist).as_bytes()));
    tally.take(folder.write(
        "visits.ics",
        calendar(&worklist, args.labels_in_calendar).as_bytes(),
    ));
}
