//! The follow-up packet: who is due, as a list, as a calendar and as pages.

use std::collections::HashMap;

use rayon::prelude::*;

use super::pages::{Pages, summary_entry};
use super::report::{Tally, centre_of, paper};
use super::{Work, findings};
use crate::assess::Assessment;
use crate::cli::ReportArgs;
use crate::diagnostic::Diagnostic;
use crate::draw::{Document, Fonts};
use crate::output::calendar::calendar;
use crate::output::folder::Folder;
use crate::output::pdf::{Ahead, bind};
use crate::output::worklist::{gaps_csv, worklist_csv};
use crate::page::packet::{PacketContext, packet_document};
use crate::record::{CaseRecord, Text};
use crate::worklist::{CaseGaps, Changes, Worklist};

/// The worklist; the gaps of each case are found in parallel.
fn worklist(args: &ReportArgs, work: &Work, cases: &[(CaseRecord, Assessment)]) -> Worklist {
    let settings = &work.site.settings;
    let gaps = cases
        .par_iter()
        .map(|(record, assessment)| CaseGaps::of(record, assessment, &work.catalogue, settings))
        .collect();
    Worklist::with_gaps(
        cases,
        gaps,
        &work.withheld,
        settings,
        args.window,
        work.as_of,
    )
}

/// The page of a case on the list, written ahead: what stands for it in the packet, and the sheets themselves.
struct Bound {
    case_id: Text,
    stand_in: Document,
    sheets: Vec<Ahead>,
}

/// The pages of the cases on the list that can be made; the packet names the others. Each is written as it is made:
/// the display lists of thousands of pages are gigabytes.
fn pages_of(
    list: &Worklist,
    args: &ReportArgs,
    work: &Work,
    cases: &[(CaseRecord, Assessment)],
    fonts: &Fonts,
) -> Vec<Bound> {
    let pages = Pages::new(args, work, fonts);
    let places: HashMap<&Text, usize> = list
        .entries
        .iter()
        .enumerate()
        .map(|(place, entry)| (&entry.case_id, place))
        .collect();
    let mut bound: Vec<Bound> = cases
        .par_iter()
        .filter(|(record, _)| places.contains_key(&record.case_id))
        .filter_map(|(record, assessment)| {
            let mut page = pages.page(record, assessment).ok()?.document;
            let sheets = page.sheets.iter().map(|sheet| Ahead::of(sheet, fonts));
            let sheets = sheets.collect::<Result<Vec<_>, _>>().ok()?;
            for sheet in &mut page.sheets {
                sheet.items = Vec::new();
            }
            Some(Bound {
                case_id: record.case_id.clone(),
                stand_in: page,
                sheets,
            })
        })
        .collect();
    bound.sort_by_key(|page| places[&page.case_id]);
    bound
}

/// Writes everything of the packet, and returns what is missing of each case, as findings.
pub fn write_packet(
    args: &ReportArgs,
    work: &Work,
    cases: &[(CaseRecord, Assessment)],
    changes: Option<&Changes>,
    fonts: &Fonts,
    folder: &Folder,
    tally: &mut Tally,
) -> Vec<Diagnostic> {
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
        changes: changes.cloned(),
    };
    let (stand_ins, ahead): (Vec<_>, Vec<_>) = pages_of(&list, args, work, cases, fonts)
        .into_iter()
        .map(|page| ((page.case_id, page.stand_in), page.sheets))
        .unzip();
    let document = packet_document(&list, &stand_ins, &context, fonts);
    match bind(&document, ahead.into_iter().flatten(), fonts) {
        Ok(bytes) => {
            let written = folder.write("followup.pdf", &bytes);
            if let Ok(written) = &written {
                tally.documents.push(summary_entry("packet", work, written));
            }
            tally.take(written);
        }
        Err(fault) => tally.not_made.push(format!("followup.pdf: {fault}")),
    }
    let gaps = cases.iter().zip(&list.case_gaps);
    gaps.flat_map(|((record, _), gaps)| findings::of_gaps(record, gaps, &work.files))
        .collect()
}
