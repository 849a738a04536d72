//! The follow-up packet: who is due, as a list, as a calendar and as pages.

use rayon::prelude::*;

use super::Work;
use super::pages::{Pages, summary_entry};
use super::report::{Tally, centre_of, paper};
use crate::assess::Assessment;
use crate::cli::ReportArgs;
use crate::draw::{Document, Fonts};
use crate::output::calendar::calendar;
use crate::output::folder::Folder;
use crate::output::pdf::to_pdf;
use crate::output::worklist::{gaps_csv, worklist_csv};
use crate::page::packet::{PacketContext, packet_document};
use crate::record::{CaseRecord, Text};
use crate::worklist::{CaseGaps, Worklist};

/// The worklist; the gaps of each case are found in parallel.
fn worklist(args: &ReportArgs, work: &Work, cases: &[(CaseRecord, Assessment)]) -> Worklist {
    let settings = &work.site.settings;
    let gaps = cases
        .par_iter()
        .map(|(record, assessment)| CaseGaps::of(record, assessment, &work.catalogue, settings))
        .collect();
    Worklist::with_gaps(cases, gaps, settings, args.window, work.as_of)
}

/// The pages of the cases on the list that can be made; the packet names the others.
fn pages_of(
    list: &Worklist,
    args: &ReportArgs,
    work: &Work,
    cases: &[(CaseRecord, Assessment)],
    fonts: &Fonts,
) -> Vec<(Text, Document)> {
    let pages = Pages::new(args, work, fonts);
    let on_list: std::collections::HashSet<&Text> =
        list.entries.iter().map(|entry| &entry.case_id).collect();
    cases
        .par_iter()
        .filter(|(record, _)| on_list.contains(&record.case_id))
        .filter_map(|(record, assessment)| {
            let page = pages.page(record, assessment).ok()?;
            Some((record.case_id.clone(), page.document))
        })
        .collect()
}

/// Writes everything of the packet.
pub fn write_packet(
    args: &ReportArgs,
    work: &Work,
    cases: &[(CaseRecord, Assessment)],
    fonts: &Fonts,
    folder: &Folder,
    tally: &mut Tally,
) {
    let list = worklist(args, work, cases);
    tally.take(folder.write("worklist.csv", worklist_csv(&list).as_bytes()));
    tally.take(folder.write(
        "visits.ics",
        calendar(&list, args.labels_in_calendar).as_bytes(),
    ));
    tally.take(folder.write("data-gaps.csv", gaps_csv(&list).as_bytes()));
    let context = PacketContext {
        centre: centre_of(work, cases),
        paper: paper(args, work),
    };
    let document = packet_document(
        &list,
        &pages_of(&list, args, work, cases, fonts),
        &context,
        fonts,
    );
    match to_pdf(&document, fonts) {
        Ok(bytes) => {
            let written = folder.write("followup.pdf", &bytes);
            if let Ok(written) = &written {
                tally.documents.push(summary_entry("packet", work, written));
            }
            tally.take(written);
        }
        Err(fault) => tally.not_made.push(format!("followup.pdf: {fault}")),
    }
}
