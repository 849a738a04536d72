//! What is said once of a file: how it was read, and columns that stand in its header twice.

use super::encoding::Decoded;
use super::findings::Findings;
use super::headers::{Headers, Slot};
use super::hidden::shortened;
use super::number::DecimalMark;
use super::spec::Specs;
use super::survey::{Survey, pairs};
use crate::diagnostic::{Code, Severity};

/// Two columns of one name: used where they say the same in every row, neither where they do not.
pub(super) fn drop_repeated(
    headers: &mut Headers<'_>,
    differing: &[(usize, usize)],
    specs: &Specs,
    findings: &mut Findings,
) {
    for pair in pairs(&headers.slots) {
        let differ = differing.contains(&pair);
        let Some(slot) = headers.slots.iter().find(|slot| slot.position == pair.1) else {
            continue;
        };
        let column = &specs.list[slot.field].column.name;
        let name = &headers.names[pair.1];
        let (severity, expected) = if differ {
            (
                Severity::Error,
                format!(
                    "the column {column} once; it also stands in column {} and differs: neither is used",
                    pair.0 + 1
                ),
            )
        } else {
            (
                Severity::Note,
                format!(
                    "the column {column} once; it also stands in column {} and is the same",
                    pair.0 + 1
                ),
            )
        };
        findings.at(headers.line, pair.1, name).add(
            severity,
            Code::RepeatedColumn,
            shortened(name),
            expected,
        );
    }
    let field_at = |slots: &[Slot<'_>], position| {
        slots
            .iter()
            .find(|slot| slot.position == position)
            .map(|slot| slot.field)
    };
    let unused: Vec<usize> = differing
        .iter()
        .filter_map(|pair| field_at(&headers.slots, pair.0))
        .collect();
    let second: Vec<usize> = pairs(&headers.slots).iter().map(|pair| pair.1).collect();
    headers
        .slots
        .retain(|slot| !unused.contains(&slot.field) && !second.contains(&slot.position));
}

/// Says how the file was read, and what is odd about it as a whole.
pub(super) fn note_how_read(
    findings: &mut Findings,
    survey: &Survey,
    decoded: &Decoded<'_>,
    separator: &str,
    mark: DecimalMark,
) {
    let encoding = decoded.encoding.name();
    let rows = survey.rows;
    findings.whole().add(
        Severity::Note,
        Code::HowRead,
        format!(
            "separator {separator}, decimal {}, {encoding}, rows {rows}",
            mark.word()
        ),
        "",
    );
    if survey.points > 0 && survey.commas > 0 {
        findings.whole().add(
            Severity::Warning,
            Code::HowRead,
            format!(
                "decimal points {}, decimal commas {}",
                survey.points, survey.commas
            ),
            format!("one decimal mark in a file; taken: {}", mark.word()),
        );
    }
    if decoded.damaged {
        let perhaps = decoded.perhaps.map_or_else(
            || " the right encoding in --encoding".to_owned(),
            |other| format!("perhaps --encoding {}", other.name().to_lowercase()),
        );
        findings.whole().add(
            Severity::Warning,
            Code::Encoding,
            format!("bytes that are not {encoding}"),
            format!(
                "{}; cells that hold them are not used",
                perhaps.trim_start()
            ),
        );
    }
    if survey.one_too_many > 0 && survey.one_too_many == survey.rows {
        findings.whole().add(
            Severity::Note,
            Code::RowLength,
            "a blank cell more than headers in every row",
            "a separator at the end of the header too, where the export writes one at the end of every row",
        );
    }
}
