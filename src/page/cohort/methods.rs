//! Methods, definitions, sources and every setting used.

use super::CohortContext;
use super::words::beside_words;
use super::writer::Writer;
use crate::cohort::statistics::NoLimit;
use crate::cohort::{Cohort, CohortOptions, Period};
use crate::dictionary::MEASURES;
use crate::page::number::{date, digits};
use crate::page::table::{Column, Pairs, Table, Width};
use crate::page::text::{Heading, Items, Paragraph, Rich, Stack};

/// Writes the pages.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort, context: &CohortContext) {
    writer.section("Methods, settings and sources");
    let settings = Stack::default()
        .with(Heading::second("Settings"))
        .with(Pairs::body(settings(cohort, context)));
    let files = Stack::default()
        .with(Heading::second("Files read (first 16 digits of SHA-256)"))
        .with(Pairs::body(files(cohort, context)));
    let files = match flow(cohort) {
        Some(flow) => files
            .with_gap(3.0, Heading::second("Flow of cases"))
            .with(Pairs::body(flow)),
        None => files,
    };
    writer.side_by_side(0.0, &[&settings, &files]);
    writer.heading(3.0, "Rules");
    let mut list = Items::numbered(rules().into_iter().map(Rich::from));
    list.mark_mm = 5.0;
    writer.block(0.0, &list);
    writer.heading(3.0, "Measures of cohort.csv");
    writer.table(0.0, &measures());
    writer.heading(3.0, "Sources of the statistics");
    for source in SOURCES {
        writer.block(0.2, &Paragraph::small(*source));
    }
}

/// From the rows of the files to the cases behind observed and expected deaths of the period.
fn flow(cohort: &Cohort) -> Option<Vec<(Rich, Rich)>> {
    if cohort.options.deidentify {
        return None;
    }
    let death = cohort.of_period("death_30d")?;
    let (known, missing) = (death.denominator? as usize, death.missing?);
    let steps = [
        ("Rows with a case", cohort.read + cohort.withheld.len()),
        ("withheld", cohort.withheld.len()),
        ("counted, any date", cohort.read),
        ("outside the period", cohort.read - cohort.n[0]),
        ("of the period", cohort.n[0]),
        ("day 30 not yet reached", death.pending?),
        ("day 30 reached, state at day 30 unknown", missing),
        ("known at 30 days", known),
        (
            "of those, with a predicted risk",
            cohort.deaths[0].deaths.cases,
        ),
    ];
    Some(
        steps
            .into_iter()
            .map(|(words, n)| (Rich::from(words), Rich::from(n.to_string())))
            .collect(),
    )
}

fn span(period: &Period) -> String {
    let word =
        |date: Option<jiff::civil::Date>| date.map_or("open".to_owned(), crate::page::number::date);
    format!("{} to {}", word(period.from), word(period.to))
}

fn settings(cohort: &Cohort, context: &CohortContext) -> Vec<(Rich, Rich)> {
    let options: &CohortOptions = &cohort.options;
    let mut rows: Vec<(Rich, Rich)> = vec![
        ("As of".into(), date(options.as_of).into()),
        ("Period".into(), span(&cohort.periods[0]).into()),
        ("Rolling 12 months".into(), span(&cohort.periods[1]).into()),
        ("Since the start".into(), span(&cohort.periods[2]).into()),
        (
            compared_with(cohort).into(),
            cohort.previous.map_or("none".into(), |(from, to)| {
                format!("{} to {}", date(from), date(to)).into()
            }),
        ),
        ("Predicted risk".into(), options.risk_model.name().into()),
        (
            "Expected cases".into(),
            options
                .expected_cases
                .map_or("not given".into(), |n| n.to_string().into()),
        ),
        (
            "De-identified".into(),
            if options.deidentify {
                format!("yes, counts under {} masked", options.masking_threshold).into()
            } else {
                "no: contains small numbers".into()
            },
        ),
        (
            "Operators".into(),
            if options.name_operators && !options.deidentify {
                "by code"
            } else {
                "by letter"
            }
            .into(),
        ),
        (
            "Visit windows, days".into(),
            format!(
                "30-day {} to {}, annual − {} to + {}; lost after {}",
                options.schedule.first_visit_opens,
                options.schedule.first_visit_closes,
                options.schedule.anniversary_opens_before,
                options.schedule.anniversary_closes_after,
                options.schedule.lost_after
            )
            .into(),
        ),
        (
            "Program, definitions".into(),
            format!(
                "{}, {}",
                context.program_version, context.definitions_version
            )
            .into(),
        ),
    ];
    rows.extend(cusum_settings(cohort));
    rows
}

fn compared_with(cohort: &Cohort) -> &'static str {
    match beside_words(cohort) {
        _ if cohort.options.deidentify => "Compared with",
        "earlier file" => "Compared with: earlier file",
        "earlier period" => "Compared with: earlier period",
        _ => "Compared with: 12 months before",
    }
}

fn cusum_settings(cohort: &Cohort) -> Vec<(Rich, Rich)> {
    if cohort.options.deidentify {
        return Vec::new();
    }
    match &cohort.over_time.limits {
        Ok(limits) => [("alert", limits.alert), ("alarm", limits.alarm)]
            .into_iter()
            .map(|(name, limit)| {
                (
                    Rich::from(format!(
                        "CUSUM {name} limit, n {}",
                        cohort.over_time.cases.len()
                    )),
                    Rich::from(format!(
                        "h {} at {} % false signal; ARL {} cases",
                        digits(limit.limit, 3),
                        digits(100.0 * limit.false_signal, 0),
                        digits(limit.cases_to_false_signal, 0)
                    )),
                )
            })
            .collect(),
        Err(NoLimit::TooFewCases) => {
            vec![("CUSUM limits".into(), "none: fewer than 20 cases".into())]
        }
        Err(NoLimit::TooFewExpected) => {
            vec![("CUSUM limits".into(), "none: under 1 expected death".into())]
        }
    }
}

fn files(cohort: &Cohort, context: &CohortContext) -> Vec<(Rich, Rich)> {
    if context.inputs.is_empty() {
        return vec![("Inputs".into(), "not given".into())];
    }
    context
        .inputs
        .iter()
        .enumerate()
        .map(|(position, (file, hash))| {
            let name = if cohort.options.deidentify {
                format!("file {}", position + 1)
            } else {
                file.clone()
            };
            (
                Rich::from(name),
                Rich::from(hash.chars().take(16).collect::<String>()),
            )
        })
        .collect()
}

/// The rules that decide what is counted.
fn rules() -> [&'static str; 15] {
    [
        "A case belongs to a period by its procedure date. A report speaks for its as-of date: what is dated later is \
         unknown to it.",
        "n is the cases to which a measure applies: known, missing and pending. Percentages are of the known. Nothing is \
         imputed, and missing is never no.",
        "A composite is no once one part is known to fail, yes when every part is known to hold, else missing. Bounds: the \
         rate were every missing case a no, and a yes.",
        "30-day and one-year measures count cases whose day 30 or 365 lies at or before the as-of date; the others are \
         pending. A stroke, vascular complication, bleeding or pacemaker recorded as none counts as known only where it \
         is known whether the patient lived to day 30.",
        "Intervals of proportions: Wilson, 95 %, without correction. Differences: Newcombe's hybrid score. Quartiles: type \
         7, as in R and spreadsheets. Percentages without decimals below 100 cases.",
        "Paired change: mean with t interval, and Hodges-Lehmann with the exact interval of the signed ranks (normal \
         approximation above 300 pairs). No p-values: the size of the change and its interval say more.",
        "Deaths: observed over the sum of predicted risks with exact Poisson limits, and the exact probability of as many \
         deaths from the unequal risks (Poisson-binomial). Cases without a risk are not given a mean.",
        "Expected minus observed deaths over time: bands are exact and hold at each point by itself. Risk-adjusted CUSUM: \
         for doubled odds, limits from the window's own risks for a false-signal probability over the window of 5 % (alert) \
         and 1 % (alarm); none below 20 cases or one expected death. The line is not restarted after a signal.",
        "Operators and sites: 95 % is a reason to look, only 99.8 % is a flag, by the exact tail; a funnel from five groups \
         with one of ten cases or more, else a table; of deaths only groups with one expected death. No ranks. The first \
         operator is counted.",
        "Operators case by case: median of ten cases in a row; deaths minus expected by predicted risk with the exact band, \
         beside the crude line at the pooled rate; none below ten cases. No curve is fitted.",
        "NYHA class after: the visit of day 23 to 105 with a class, nearest day 30. Rare events, less than one expected a \
         quarter: known cases between them in place of a rate. No event seen: Clopper-Pearson's exact limit.",
        "An earlier period is that of --compare-from and --compare-to, or the cases of its own file (--compare) that came \
         before this period and are not among its cases; without either, the twelve months before. It enters the comparison only.",
        "Survival: Kaplan-Meier from the first procedure of each patient; deaths without a date are censored where the \
         patient was last known alive. Drawn while ten or more are at risk.",
        "Deterioration: first later echo with stage 2 or 3 against the patient's own reference echo, death competing \
         (Aalen-Johansen) where it came within 425 days of the last gradient; found at an echo, so it began earlier. No \
         curve below five events.",
        "De-identified: a row with any count from 1 to one below the threshold is masked whole, and a composite that would \
         narrow a masked count of its parts; the groups of a dimension \
         are given only where none of them holds such a count; single patients, the case-by-case charts and the \
         overlapping periods are left out.",
    ]
}

fn measures() -> Table {
    let rows = MEASURES
        .iter()
        .map(|measure| {
            vec![
                Rich::from(measure.name.as_str()),
                measure.kind.as_str().into(),
                crate::page::number::pretty_unit(&measure.unit).into(),
                measure
                    .mature_after_days
                    .map_or_else(String::new, |days| days.to_string())
                    .into(),
                measure.definition.as_str().into(),
            ]
        })
        .collect();
    let mut table = Table::body(
        vec![
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::right(Width::Natural),
            Column::left(Width::Share(1.0)),
        ],
        Some(
            ["measure", "kind", "unit", "mature, days", "definition"]
                .map(Rich::from)
                .to_vec(),
        ),
        rows,
    );
    table.size = crate::page::theme::SMALL;
    table
}

/// Published sources of the statistics, and how far each was checked.
const SOURCES: &[&str] = &[
    "Outcome definitions: VARC-3 (Genereux et al. 2021), as quoted in secondary texts.",
    "Wilson 1927, JASA 22:209-212; Newcombe 1998, Stat Med 17:857-872 and 873-890: worked tables reproduced.",
    "Hyndman and Fan 1996, Am Stat 50:361-365 (quartiles). Hodges and Lehmann 1963: from memory; checked against R.",
    "Garwood 1936, Biometrika 28:437-442; Ulm 1990, Am J Epidemiol 131:373-375 (exact Poisson limits).",
    "Lovegrove et al. 1997, Lancet 350:1128-1130; Sherlaw-Johnson et al. 2000, Heart 84:79-82 (expected minus observed).",
    "Steiner et al. 2000, Biostatistics 1:441-452 (risk-adjusted CUSUM); limits for the centre's own case mix: Wittenberg \
     2022, SMMR 31:779-800.",
    "Spiegelhalter 2005, Stat Med 24:1185-1202; Manktelow and Seaton 2012, PLoS ONE 7:e45723 (funnel plots, exact flags).",
    "Anhøj and Olesen 2014, PLoS ONE 9:e113825 (run chart rules).",
    "Kaplan and Meier 1958, Greenwood 1926, Aalen and Johansen 1978: from memory; checked against R and Python libraries. \
     Austin, Lee, Fine 2016, Circulation 133:601-609 (competing risks).",
    "Nashef et al. 2012, Eur J Cardiothorac Surg 41:734 (EuroSCORE II).",
];
