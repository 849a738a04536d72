//! The follow-up packet: who is due, as a list, as a calendar and as pages.

use std::collections::HashMap;
use std::mem;

use super::Work;
use super::findings::{self, MissingCell, Said};
use super::pages::{Pages, summary_entry};
use super::report::{Tally, paper};
use crate::cli::ReportArgs;
use crate::draw::{Document, Fonts, Sheet};
use crate::output::calendar::calendar;
use crate::output::folder::Folder;
use crate::output::pdf::{Ahead, Binder, Leaf, PdfError};
use crate::output::stream::Stream;
use crate::output::worklist::{gaps_header, gaps_rows, worklist_csv};
use crate::page::packet::{Packet, PacketContext};
use crate::record::Text;
use crate::worklist::{CaseGaps, Changes, Entry, GapSums, Standing, Worklist};

/// Writes everything of the packet, and returns what is missing of each case.
pub fn write_packet(
    args: &ReportArgs,
    work: &Work,
    centre: String,
    changes: Option<&Changes>,
    fonts: &Fonts,
    folder: &Folder,
    tally: &mut Tally,
) -> Vec<MissingCell> {
    let mut gaps_file = folder.begin("data-gaps.csv");
    let (list, missing) = worklist(args, work, &mut gaps_file);
    tally.take(folder.write("worklist.csv", worklist_csv(&list).as_bytes()));
    tally.take(folder.write(
        "visits.ics",
        calendar(&list, args.labels_in_calendar).as_bytes(),
    ));
    tally.take(gaps_file.finish());
    let context = PacketContext {
        centre,
        paper: paper(args, work),
        changes: changes.cloned(),
    };
    let packet = Packet::new(&list, &context, fonts);
    match bind(&packet, &list.entries, args, work, fonts, folder) {
        Ok(file) => {
            let written = file.finish();
            if let Ok(written) = &written {
                tally.documents.push(summary_entry("packet", work, written));
            }
            tally.take(written);
        }
        Err(fault) => tally.not_made.push(format!("followup.pdf: {fault}")),
    }
    missing
}

/// The worklist, and what is missing of every case, which goes to `gaps_file` too. Nothing else stays of a case that
/// is not on the list: the gaps of all are found case by case.
fn worklist(
    args: &ReportArgs,
    work: &Work,
    gaps_file: &mut Stream<'_>,
) -> (Worklist, Vec<MissingCell>) {
    let settings = &work.site.settings;
    let mut standings = Vec::with_capacity(work.cases.len());
    let mut sums = GapSums::default();
    let mut missing: Vec<MissingCell> = Vec::new();
    let mut said = Said::default();
    gaps_file.add(gaps_header().as_bytes());
    work.each(
        0..work.cases.len(),
        |_, record, assessment| {
            let gaps = CaseGaps::of(record, assessment, &work.catalogue, settings);
            (
                Standing::of(record, assessment, &gaps, settings, args.window),
                findings::of_gaps(record, &gaps, &work.files),
                gaps_rows(&gaps),
                gaps,
            )
        },
        |(standing, found, rows, gaps)| {
            standings.push(standing);
            missing.extend(found.into_iter().map(|cell| cell.said_once(&mut said)));
            gaps_file.add(rows.as_bytes());
            sums.add(&gaps);
        },
    );
    let sums = sums.finish();
    let list = Worklist::gathered(standings, sums, &work.withheld, args.window, work.as_of);
    (list, missing)
}

/// The page of a case, written ahead: what stands for it in the packet, and the sheets themselves.
struct Page {
    stand_in: Document,
    sheets: Vec<Ahead>,
}

/// The packet on its way into its file: a sheet goes as soon as it is made. The pages of cases come first, since the list
/// names those that could not be made; they are read behind it all the same.
struct Binding<'a> {
    binder: Binder<'a, Stream<'a>>,
    leaves: Vec<Leaf>,
    fault: Option<PdfError>,
}

impl Binding<'_> {
    fn add(&mut self, sheet: &Sheet, ahead: Option<Ahead>) {
        if self.fault.is_some() {
            return;
        }
        let added = match ahead {
            Some(ahead) => self.binder.add_ahead(sheet, ahead),
            None => self.binder.add(sheet),
        };
        match added {
            Ok(leaf) => self.leaves.push(leaf),
            Err(fault) => self.fault = Some(fault),
        }
    }
}

/// Binds the packet; its file is whole but not yet in its place.
fn bind<'a>(
    packet: &Packet<'_>,
    entries: &[Entry],
    args: &ReportArgs,
    work: &Work,
    fonts: &'a Fonts,
    folder: &'a Folder,
) -> Result<Stream<'a>, PdfError> {
    let mut binding = Binding {
        binder: Binder::begin(folder.begin("followup.pdf"), fonts),
        leaves: Vec::new(),
        fault: None,
    };
    let without_page = bind_cases(&mut binding, packet, entries, args, work, fonts);
    let mut cases = mem::take(&mut binding.leaves);
    packet.front(&without_page, |sheet| binding.add(&sheet, None));
    binding.leaves.append(&mut cases);
    packet.back(|sheet| binding.add(&sheet, None));
    let Binding {
        binder,
        leaves,
        fault,
    } = binding;
    match fault {
        Some(fault) => Err(fault),
        None => binder.finish(&packet.about(), &leaves),
    }
}

/// Binds the pages of the cases on the list, in its order. Returns those whose page cannot be made.
fn bind_cases<'e>(
    binding: &mut Binding<'_>,
    packet: &Packet<'_>,
    entries: &'e [Entry],
    args: &ReportArgs,
    work: &Work,
    fonts: &Fonts,
) -> Vec<&'e Text> {
    let pages = Pages::new(args, work, fonts);
    let positions: HashMap<&Text, usize> = work
        .cases
        .iter()
        .enumerate()
        .map(|(position, case)| (&case.case_id, position))
        .collect();
    let mut without_page = Vec::new();
    let mut turn = entries.iter();
    work.each(
        entries.iter().map(|entry| positions[&entry.case_id]),
        |_, record, assessment| {
            let mut stand_in = pages.page(record, assessment).ok()?.document;
            let sheets = stand_in.sheets.iter();
            let sheets = sheets.map(|sheet| Ahead::of(sheet, fonts));
            let sheets = sheets.collect::<Result<Vec<_>, _>>().ok()?;
            for sheet in &mut stand_in.sheets {
                sheet.items = Vec::new();
            }
            Some(Page { stand_in, sheets })
        },
        |page| {
            let entry = turn.next().expect("a page or none for each entry");
            let Some(page) = page else {
                without_page.push(&entry.case_id);
                return;
            };
            let first = binding.leaves.is_empty();
            let sheets = packet.bound_in(entry, page.stand_in, first);
            for (sheet, ahead) in sheets.iter().zip(page.sheets) {
                binding.add(sheet, Some(ahead));
            }
        },
    );
    without_page
}
