//! Writes the sample document and says how fast full pages are made.
//!
//! `cargo run --release --example sample_pages -- DIRECTORY [PAGES [WHICH]]`

#[path = "sample.rs"]
mod sample;

use std::time::Instant;
use valvefolio::draw::{Document, Fonts, Item, Paper};
use valvefolio::output::pdf::to_pdf;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let directory = arguments.next().ok_or("name a directory")?;
    let pages: u32 = arguments.next().map_or(Ok(0), |count| count.parse())?;
    let which = arguments.next();
    let fonts = Fonts::load();
    for (name, label, attached) in [
        ("wide-2b.pdf", "PATIENT LABEL Ετικέτα ασθενούς", false),
        ("wide-3b.pdf", "PATIENT LABEL Ετικέτα ασθενούς", true),
    ] {
        let document = sample::document(&fonts, label, attached);
        std::fs::write(format!("{directory}/{name}"), to_pdf(&document, &fonts)?)?;
    }
    let mut full = sample::document(&fonts, "PATIENT LABEL", true);
    full.sheets.truncate(1);
    std::fs::write(format!("{directory}/core-3b.pdf"), to_pdf(&full, &fonts)?)?;
    let mut many = full.clone();
    many.sheets = vec![many.sheets[0].clone(); 300];
    std::fs::write(format!("{directory}/many.pdf"), to_pdf(&many, &fonts)?)?;
    if pages > 0 {
        let texts = full.sheets[0]
            .items
            .iter()
            .filter(|item| matches!(item, Item::Text { .. }))
            .count();
        println!("{texts} texts, {} items a page", full.sheets[0].items.len());
        let each = |name: &str, make: &mut dyn FnMut() -> usize| {
            if which.as_deref().is_some_and(|which| which != name) {
                return;
            }
            let start = Instant::now();
            let bytes = (0..pages).map(|_| make()).sum::<usize>() / pages as usize;
            let rate = f64::from(pages) / start.elapsed().as_secs_f64();
            println!("{name}: {rate:.0} pages/s, {bytes} bytes each");
        };
        let mut untagged = full.clone();
        one_piece(&mut untagged);
        each("tagged file", &mut || {
            to_pdf(&full, &fonts).expect("the sample").len()
        });
        each("one tag", &mut || {
            to_pdf(&untagged, &fonts).expect("the sample").len()
        });
        each("display list", &mut || {
            sample::first_page(&fonts, "PATIENT LABEL", Paper::A4)
                .items
                .len()
        });
    }
    Ok(())
}

/// The same ink in a single element.
fn one_piece(document: &mut Document) {
    for sheet in &mut document.sheets {
        let ink: Vec<Item> = sheet.items.drain(..).filter(Item::is_drawn).collect();
        sheet.tagged(valvefolio::draw::Tag::figure("everything"), |items| {
            items.extend(ink)
        });
    }
}
