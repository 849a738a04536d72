//! What is other than in an earlier run: on the line of a patient, and on sheets of its own.

use jiff::civil::Date;

use super::leaves::Leaves;
use super::rows::{Record, Rows};
use super::words;
use crate::dictionary::RESULTS;
use crate::page::number::{date, digits, pretty_unit, recorded};
use crate::page::text::{Heading, Paragraph, Rich};
use crate::worklist::gaps::JUDGED;
use crate::worklist::{Became, Cause, Change, Changes, Worklist};

/// Changes named on the line of a patient.
const NAMED: usize = 3;
/// Most digits after the point that two numbers are told apart by.
const MOST_DIGITS: usize = 12;
/// Ids named in a paragraph.
const IDS_NAMED: usize = 200;

/// What changed in a case, for its line on the worklist; `None` where nothing did.
pub fn of_case(changes: &Changes, case_id: &str) -> Option<Rich> {
    let mut of_case: Vec<&Change> = changes.of(case_id).collect();
    if of_case.is_empty() {
        return None;
    }
    let since = Rich::bold(format!("Changed since {}: ", day(changes.as_of_before)));
    if of_case
        .iter()
        .any(|change| change.became == Became::NewCase)
    {
        return Some(since.and("the case was not in the earlier results"));
    }
    of_case.sort_by_key(|change| (weight(change), change.by_time_alone()));
    let mut named: Vec<String> = of_case
        .iter()
        .take(NAMED)
        .map(|change| said(change))
        .collect();
    let rest = of_case.len() - named.len();
    if rest > 0 {
        named.push(format!("{rest} more in Changed results"));
    }
    Some(since.and(named.join("; ")))
}

/// Results that judge the case, then what is due, then the other results; flags before the lists that follow from other
/// changes.
fn weight(change: &Change) -> usize {
    match change.result {
        Some(result) if JUDGED.contains(&result) => 0,
        Some("follow_up_state") => 1,
        Some("flags") => 3,
        Some("fragile" | "in_doubt" | "missing") => 4,
        _ => 2,
    }
}

/// `device success: not assessable → yes (input)`.
fn said(change: &Change) -> String {
    let name = change.result.map_or("", result);
    format!("{name}: {} ({})", step(change), why(&change.causes))
}

fn step(change: &Change) -> String {
    let (before, now) = both(change);
    if change.words_changed().is_some() {
        let parts = [("gone ", before), ("new ", now)];
        let parts: Vec<String> = parts
            .into_iter()
            .filter(|(_, words)| words != "–")
            .map(|(what, words)| format!("{what}{words}"))
            .collect();
        parts.join(", ")
    } else {
        format!("{before} → {now}")
    }
}

/// Writes the sheets.
pub fn write(leaves: &mut Leaves<'_>, changes: &Changes, worklist: &Worklist) {
    leaves.part("Changed results", "Changed results", "C");
    leaves.block(0.0, &Paragraph::body(summary(changes)));
    leaves.block(0.8, &Paragraph::body(reading_help()));
    for (became, heading) in [
        (Became::NewCase, "New cases"),
        (Became::CaseWithheld, "Withheld now"),
        (Became::CaseGone, "In the tables no longer"),
    ] {
        let ids: Vec<&str> = changes
            .list
            .iter()
            .filter(|change| change.became == became)
            .map(|change| &*change.case_id)
            .collect();
        if !ids.is_empty() {
            let named = ids.iter().take(IDS_NAMED).copied().collect::<Vec<_>>();
            let more = ids.len() - named.len();
            let text = Rich::bold(format!("{heading} ({}): ", ids.len())).and(named.join(", "));
            let text = if more > 0 {
                text.and(format!(" and {more} more in changes.csv"))
            } else {
                text
            };
            leaves.block(0.8, &Paragraph::body(text).at_most(40));
        }
    }
    let label = |case_id: &str| {
        let entry = worklist.entries.iter();
        let mut entry = entry.filter(|entry| &*entry.case_id == case_id);
        entry.next().map(|entry| entry.label.clone())
    };
    let mut records = Vec::new();
    let mut by_time = Vec::new();
    for case in changes.cases() {
        let case_id = &case[0].case_id;
        let (time, other): (Vec<&Change>, Vec<&Change>) = case
            .iter()
            .filter(|change| change.result.is_some())
            .partition(|change| change.by_time_alone());
        for (position, change) in other.iter().enumerate() {
            let mut who = vec![Rich::from(format!("case {case_id}"))];
            if position == 0 {
                who = vec![Rich::bold(format!("case {case_id}"))];
                match label(case_id) {
                    Some(Some(label)) => who.push(Rich::from(&*label)),
                    Some(None) => who.push("label not recorded".into()),
                    None => who.push("not on the worklist".into()),
                }
            }
            let (before, now) = both(change);
            let lists = change.words_changed().is_some();
            let mark = |what: &str, words: String| match (lists, words.as_str()) {
                (true, "–") | (false, _) => Rich::from(words),
                (true, _) => Rich::from(format!("{what}{words}")),
            };
            let told = |words: Rich| match change.became {
                Became::Unknown => Rich::bold(words.plain()),
                _ => words,
            };
            records.push(Record {
                cells: vec![
                    who,
                    vec![change.result.map_or_else(String::new, with_unit).into()],
                    vec![mark("gone: ", before)],
                    vec![told(mark("new: ", now))],
                    vec![why(&change.causes).into()],
                ],
                below: Vec::new(),
            });
        }
        if !time.is_empty() {
            let steps: Vec<String> = time
                .iter()
                .map(|change| {
                    let name = change.result.map_or("", result);
                    format!("{name}: {}", step(change))
                })
                .collect();
            by_time.push(Record {
                cells: vec![
                    vec![Rich::bold(format!("case {case_id}"))],
                    vec![steps.join("; ").into()],
                ],
                below: Vec::new(),
            });
        }
    }
    if records.is_empty() && by_time.is_empty() {
        let text = "No result of a case in both is other than before.";
        leaves.block(3.0, &Paragraph::body(text));
    }
    if !records.is_empty() {
        let heading = Heading::second("Changed by more than time");
        let again = Heading::second("Changed by more than time, continued");
        let rows = Rows {
            shares: vec![30.0, 46.0, 38.0, 38.0, 34.0],
            header: vec![
                "case",
                "result",
                "before",
                "now",
                "what can have changed it",
            ],
            records: Vec::new(),
            ticks: true,
        };
        leaves.rows(&[(3.0, &heading)], Some(&again), true, &rows, records);
    }
    if !by_time.is_empty() {
        let heading = Heading::second("Changed by time alone");
        let again = Heading::second("Changed by time alone, continued");
        let rows = Rows {
            shares: vec![30.0, 156.0],
            header: vec!["case", "result: before → now"],
            records: Vec::new(),
            ticks: false,
        };
        leaves.rows(&[(3.0, &heading)], Some(&again), true, &rows, by_time);
    }
}

fn summary(changes: &Changes) -> Rich {
    let count =
        |count: usize, what: &str| words::counted(i64::try_from(count).unwrap_or(i64::MAX), what);
    let results = || changes.list.iter().filter(|change| change.result.is_some());
    let cases = changes.cases();
    let with = |counts: &dyn Fn(&Change) -> bool| {
        let cases = cases.iter().filter(|case| {
            case.iter()
                .any(|change| change.result.is_some() && counts(change))
        });
        cases.count()
    };
    let time = results().filter(|change| change.by_time_alone()).count();
    let text = Rich::bold(format!(
        "{} of {}",
        count(results().count() - time, "changed result"),
        count(with(&|change| !change.by_time_alone()), "case"),
    ))
    .and(format!(
        ", and {} of {} by time alone, since the results of {} ({}).",
        time,
        count(with(&Change::by_time_alone), "case"),
        day(changes.as_of_before),
        file_name(&changes.file),
    ))
    .and(format!(
        " {} in both; the input is other in {}.",
        count(changes.compared, "case"),
        changes.input_changed
    ));
    if changes.definitions_before == changes.definitions || changes.as_of_before.is_none() {
        text
    } else {
        text.and_bold(format!(
            " The definitions are other: version {} then, {} now.",
            changes.definitions_before, changes.definitions
        ))
    }
}

/// The name without the folders before it.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

fn reading_help() -> &'static str {
    "Named is what can have changed a result: input, a cell of the case or of a visit; the implanted device's row or \
     other rows of the devices file; the version of the definitions; settings of the site file; another case. Where \
     several can, all are named. In bold: no longer known. Time alone: today's facts give the earlier result on the earlier day. All of it as \
     data: changes.csv."
}

fn day(day: Option<Date>) -> String {
    day.map_or_else(|| "an earlier run".to_owned(), date)
}

fn why(causes: &[Cause]) -> String {
    let words: Vec<&str> = causes.iter().map(|cause| cause_words(*cause)).collect();
    words.join("; ")
}

fn cause_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Input => "input",
        Cause::CatalogueRow => "row of the device",
        Cause::OtherCatalogueRow => "other device rows",
        Cause::Definitions => "version of the definitions",
        Cause::Settings => "settings of the site file",
        Cause::OtherCase => "another case",
        Cause::Time => "time alone",
        Cause::Unexplained => "not explained by inputs, devices, definitions or day",
    }
}

fn result(name: &str) -> &str {
    match name {
        "fragile" => "fragile classes",
        "in_doubt" => "results in doubt",
        "missing" => "missing cells",
        other => words::result(other),
    }
}

/// A result with its unit: its column holds bare numbers.
fn with_unit(name: &str) -> String {
    let unit = RESULTS
        .iter()
        .find(|column| column.name == name)
        .map_or("", |column| column.unit.as_str());
    match unit {
        "" => result(name).to_owned(),
        unit => format!("{}, {}", result(name), pretty_unit(unit)),
    }
}

/// Before and now as people read them; of a list only what is gone and what is new.
fn both(change: &Change) -> (String, String) {
    let words = |words: &[&str]| match words {
        [] => "–".to_owned(),
        words => words
            .iter()
            .map(|word| word.replace('_', " "))
            .collect::<Vec<_>>()
            .join(", "),
    };
    if let Some((new, gone)) = change.words_changed() {
        return (words(&gone), words(&new));
    }
    let (was, is) = (&change.before, &change.now);
    if let (Ok(was), Ok(is)) = (was.parse::<f64>(), is.parse::<f64>()) {
        let told = |count: usize| (digits(was, count), digits(is, count));
        let least = usize::from(was.fract() != 0.0 || is.fract() != 0.0);
        return (least..MOST_DIGITS)
            .map(told)
            .find(|(was, is)| was != is)
            .unwrap_or_else(|| told(MOST_DIGITS));
    }
    (one(was), one(is))
}

fn one(cell: &str) -> String {
    if cell.is_empty() {
        "unknown".to_owned()
    } else if let Ok(number) = cell.parse::<f64>() {
        recorded(number, 2, &[])
    } else if let Ok(day) = cell.parse::<Date>() {
        date(day)
    } else {
        cell.replace('_', " ")
    }
}
