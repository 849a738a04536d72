//! A case page: ours (tagged, archived) beside krilla and a bare writer drawing the same operations untagged, and beside
//! the usual Python way. All by turns, in processor time of one thread.
//!
//! `benches/run` says how to run it.

use valvefolio::draw::{Document, Item, Role, Tag};
use valvefolio::output::pdf::to_pdf;
use valvefolio_benches::bare::{self, BareFonts};
use valvefolio_benches::cohort::{CasePages, assessed};
use valvefolio_benches::figures::{Figures, Target};
use valvefolio_benches::krilla_page::{self, KrillaFonts};
use valvefolio_benches::peer::Peer;
use valvefolio_benches::timing::{Contender, Timing, by_turns};
use valvefolio_benches::{place, size};

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const REPORT: &str = "ours: case to file (layout; charts; tags; PDF/A)";
const TAGGED: &str = "ours: display list to file (tags; PDF/A)";
const UNTAGGED: &str = "ours: the same ink as one element (no tags to speak of)";
const BARE: &str = "bare writer: display list to file (untagged)";
const KRILLA: &str = "krilla: display list to file (untagged)";
const PYTHON: &str = "Python way: matplotlib and ReportLab (untagged)";

fn main() {
    let cases = size(200, 60);
    let rounds = size(15, 5);
    let python_pages = size(10, 5);
    let pages = CasePages::of(assessed(cases as u64));
    let fonts = &pages.fonts;
    let chosen: Vec<usize> = (0..pages.work.cases.len()).collect();
    let documents: Vec<Document> = chosen
        .iter()
        .filter_map(|&case| pages.document(case))
        .collect();
    let untagged: Vec<Document> = documents.iter().map(one_element).collect();
    let bare_fonts = BareFonts::of(&documents, fonts);
    let krilla_fonts = KrillaFonts::of(fonts);
    let many = documents.len();

    let mut figures = Figures::new("pages");
    figures.say(&format!(
        "{many} pages of generated cases a turn, {rounds} rounds by turns, median of the rounds; processor time a page.\n\
         {:.0} texts and {:.0} lines and fills a page.",
        mean(&documents, |item| matches!(item, Item::Text { .. })),
        mean(&documents, |item| item.is_drawn() && !matches!(item, Item::Text { .. })),
    ));
    samples(&documents[0], &pages, &bare_fonts, &krilla_fonts);

    let folder = tempfile::tempdir().expect("a folder for the peer");
    let mut peer = Peer::start(&documents[..many.min(50)], folder.path());
    let total = |make: &dyn Fn(&Document) -> Vec<u8>, documents: &[Document]| {
        documents.iter().map(|page| make(page).len()).sum::<usize>()
    };
    let ours = |document: &Document| to_pdf(document, fonts).expect("every page can be written");
    let mut contenders = vec![
        Contender::here(REPORT, many, || {
            let made = chosen.iter().filter_map(|&case| pages.document(case));
            made.map(|page| ours(&page).len()).sum()
        }),
        Contender::here(TAGGED, many, || total(&ours, &documents)),
        Contender::here(UNTAGGED, many, || total(&ours, &untagged)),
        Contender::here(BARE, many, || {
            total(&|page| bare::page(page, fonts, &bare_fonts), &documents)
        }),
        Contender::here(KRILLA, many, || {
            total(
                &|page| krilla_page::page(page, fonts, &krilla_fonts),
                &documents,
            )
        }),
    ];
    match &mut peer {
        Ok(peer) => contenders.push(Contender {
            name: PYTHON,
            pieces: python_pages,
            turn: Box::new(|| peer.turn(python_pages)),
        }),
        Err(why) => figures.say(&format!("{PYTHON}: not run: {why}")),
    }
    let timings = by_turns(rounds, &mut contenders);
    figures.timings(&timings);
    ratios(&mut figures, &timings);
}

fn ratios(figures: &mut Figures, timings: &[Timing]) {
    let of = |name: &str| timings.iter().find(|timing| timing.name == name);
    let (Some(report), Some(tagged), Some(untagged), Some(bare), Some(krilla)) =
        (of(REPORT), of(TAGGED), of(UNTAGGED), of(BARE), of(KRILLA))
    else {
        return;
    };
    if let Some(python) = of(PYTHON) {
        figures.ratio(
            "Python's time over ours, case to file",
            python.over(report),
            Some(Target::AtLeast(80.0)),
        );
        figures.ratio(
            "Python's time over ours, display list to file",
            python.over(tagged),
            Some(Target::AtLeast(80.0)),
        );
    }
    figures.ratio(
        "krilla's time over ours, display list to file",
        krilla.over(tagged),
        Some(Target::AtLeast(1.0)),
    );
    figures.ratio(
        "krilla's time over ours, case to file",
        krilla.over(report),
        None,
    );
    figures.ratio(
        "bare writer's time over ours, display list to file",
        bare.over(tagged),
        Some(Target::AtLeast(0.5)),
    );
    figures.ratio(
        "bare writer's time over ours, case to file",
        bare.over(report),
        None,
    );
    figures.ratio(
        "tagged page over untagged, display list to file",
        tagged.over(untagged),
        Some(Target::AtMost(2.0)),
    );
    figures.figure(
        "bytes of our page",
        tagged.bytes,
        "bytes",
        Some(Target::AtMost(80_000.0)),
    );
}

/// The same ink in a single element: what the page would cost without its tags.
fn one_element(document: &Document) -> Document {
    let mut document = document.clone();
    for sheet in &mut document.sheets {
        let ink: Vec<Item> = sheet
            .items
            .drain(..)
            .filter(|item| !matches!(item, Item::Open(_) | Item::Close))
            .collect();
        sheet.items.push(Item::Open(Tag {
            role: Role::Figure,
            ..Tag::figure("everything")
        }));
        sheet.items.extend(ink);
        sheet.items.push(Item::Close);
    }
    document
}

fn mean(documents: &[Document], counts: impl Fn(&Item) -> bool) -> f64 {
    let items = documents
        .iter()
        .flat_map(|document| &document.sheets[0].items);
    items.filter(|item| counts(item)).count() as f64 / documents.len() as f64
}

/// One page of each, to be looked at side by side; the peer writes its own.
fn samples(document: &Document, pages: &CasePages, bare: &BareFonts, krilla: &KrillaFonts) {
    let folder = place::figures();
    let fonts = &pages.fonts;
    let written = std::fs::create_dir_all(&folder).and_then(|()| {
        let ours = to_pdf(document, fonts).expect("every page can be written");
        std::fs::write(folder.join("ours.pdf"), ours)?;
        std::fs::write(folder.join("bare.pdf"), bare::page(document, fonts, bare))?;
        std::fs::write(
            folder.join("krilla.pdf"),
            krilla_page::page(document, fonts, krilla),
        )
    });
    if let Err(error) = written {
        eprintln!("{}: {error}", folder.display());
    }
}
