//! Findings for people (one line each) and for other programs (rows of problems.csv).

use std::borrow::{Borrow, Cow};
use std::fmt::Write as _;

use anstyle::{AnsiColor, Style};

use super::{Diagnostic, Severity};

/// The columns of problems.csv.
pub const PROBLEM_COLUMNS: [&str; 8] = [
    "file", "line", "column", "case_id", "severity", "code", "found", "expected",
];

impl Diagnostic {
    /// One line: `file:line:column: severity code header [case]: found "…", expected …`. What is not known is left
    /// out; `coloured` adds terminal colours and changes nothing else.
    pub fn concise(&self, coloured: bool) -> String {
        let paint = |style: Style, text: &str| {
            if coloured {
                format!("{style}{text}{style:#}")
            } else {
                text.to_owned()
            }
        };
        let mut place = visible(&self.place.file).into_owned();
        if self.place.line > 0 {
            let _ = write!(place, ":{}", self.place.line);
            if self.place.column_number > 0 {
                let _ = write!(place, ":{}", self.place.column_number);
            }
        }
        let mut line = format!(
            "{}: {} {}",
            paint(Style::new().bold(), &place),
            paint(style_of(self.severity), self.severity.word()),
            self.code.word()
        );
        if !self.place.column.is_empty() {
            let _ = write!(line, " {}", visible(&self.place.column));
        }
        if !self.case_id.is_empty() {
            let _ = write!(line, " [{}]", visible(&self.case_id));
        }
        let found = (!self.found.is_empty()).then(|| format!("found \"{}\"", visible(&self.found)));
        let expected =
            (!self.expected.is_empty()).then(|| format!("expected {}", visible(&self.expected)));
        let said: Vec<String> = found.into_iter().chain(expected).collect();
        if !said.is_empty() {
            let _ = write!(line, ": {}", said.join(", "));
        }
        line
    }

    /// The row of problems.csv, in the order of [`PROBLEM_COLUMNS`]. Line 0 is blank; no cell can be taken for a formula.
    pub fn problem_row(&self) -> [Cow<'_, str>; 8] {
        let line = match self.place.line {
            0 => Cow::Borrowed(""),
            line => Cow::Owned(line.to_string()),
        };
        let cell = |text| match visible(text) {
            Cow::Borrowed(text) => neutralised(text),
            Cow::Owned(text) => Cow::Owned(neutralised(&text).into_owned()),
        };
        [
            cell(&self.place.file),
            line,
            cell(&self.place.column),
            cell(&self.case_id),
            self.severity.word().into(),
            self.code.word().into(),
            cell(&self.found),
            cell(&self.expected),
        ]
    }
}

/// The findings as problems.csv, header included: UTF-8, comma, LF.
pub fn problems_csv(findings: &[Diagnostic]) -> Vec<u8> {
    let mut bytes = problems_header();
    bytes.extend(problem_lines(findings));
    bytes
}

/// The header of problems.csv.
pub fn problems_header() -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    add_line(&mut writer, PROBLEM_COLUMNS);
    writer.into_inner().unwrap_or_default()
}

/// Lines of problems.csv, one a finding.
pub fn problem_lines(findings: impl IntoIterator<Item: Borrow<Diagnostic>>) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for finding in findings {
        let row = finding.borrow().problem_row();
        add_line(&mut writer, row.each_ref().map(|cell| &**cell));
    }
    writer.into_inner().unwrap_or_default()
}

fn add_line(writer: &mut csv::Writer<Vec<u8>>, row: [&str; PROBLEM_COLUMNS.len()]) {
    // Writing to memory cannot fail, and every row has as many cells.
    let _ = writer.write_record(row);
}

pub(super) fn style_of(severity: Severity) -> Style {
    let style = Style::new().bold();
    match severity {
        Severity::Error => style.fg_color(Some(AnsiColor::Red.into())),
        Severity::Warning => style.fg_color(Some(AnsiColor::Yellow.into())),
        Severity::Note => style.fg_color(Some(AnsiColor::Cyan.into())),
    }
}

/// The text on one line with every character to be seen: line breaks, control characters and those that turn the
/// direction of writing stand as escapes, so that no cell can change what a terminal or a reader shows around it.
pub(super) fn visible(text: &str) -> Cow<'_, str> {
    let odd = |character: char| {
        character.is_control()
            || matches!(character, '\u{AD}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
    };
    // Nearly every text is plain, which is told fastest from all of its bytes.
    let plain = text
        .bytes()
        .fold(true, |plain, byte| plain & matches!(byte, b' '..=b'~'));
    if plain || !text.contains(odd) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\n' => shown.push_str("\\n"),
            '\r' => shown.push_str("\\r"),
            '\t' => shown.push_str("\\t"),
            _ if odd(character) => shown.extend(character.escape_unicode()),
            _ => shown.push(character),
        }
    }
    Cow::Owned(shown)
}

/// A cell that a spreadsheet takes for text: one that begins as a formula does gets an apostrophe in front, unless it
/// is a plain number.
///
/// # References
/// The beginnings are those that OWASP lists under "CSV Injection": `=`, `+`, `-`, `@`, tab, carriage return.
pub fn neutralised(cell: &str) -> Cow<'_, str> {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_plain_number(cell) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// Sign, digits, one decimal mark, exponent: nothing a spreadsheet would compute.
fn is_plain_number(text: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (mantissa, exponent) = unsigned.split_once(['e', 'E']).unwrap_or((unsigned, "0"));
    let (whole, decimals) = mantissa.split_once(['.', ',']).unwrap_or((mantissa, "0"));
    digits(whole)
        && digits(decimals)
        && digits(exponent.strip_prefix(['+', '-']).unwrap_or(exponent))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Code, Place};

    fn finding() -> Diagnostic {
        Diagnostic {
            place: Place {
                file: "bad-cells.csv".into(),
                line: 3,
                column_number: 3,
                column: "height_cm".into(),
            },
            severity: Severity::Error,
            code: Code::UnitSlip,
            case_id: "A2".into(),
            found: "1720".to_owned(),
            expected: "100 to 230 cm".to_owned(),
            withholds: false,
        }
    }

    #[test]
    fn one_line_says_it_all() {
        assert_eq!(
            finding().concise(false),
            "bad-cells.csv:3:3: error unit_slip height_cm [A2]: found \"1720\", expected 100 to 230 cm"
        );
    }

    #[test]
    fn what_is_not_known_is_left_out() {
        let whole = Diagnostic {
            place: Place {
                file: "a.csv".into(),
                ..Place::default()
            },
            severity: Severity::Note,
            code: Code::HowRead,
            case_id: "".into(),
            expected: String::new(),
            ..finding()
        };
        assert_eq!(whole.concise(false), "a.csv: note how_read: found \"1720\"");
        assert_eq!(whole.problem_row()[1], "");
    }

    #[test]
    fn colour_only_where_asked() {
        let coloured = finding().concise(true);
        assert!(coloured.contains("\u{1b}[31m"), "{coloured:?}");
        assert!(!finding().concise(false).contains('\u{1b}'));
    }

    #[test]
    fn no_cell_reaches_the_terminal_raw() {
        let nasty = Diagnostic {
            found: "a\nb\u{1b}[2J\u{202e}c".to_owned(),
            ..finding()
        };
        let line = nasty.concise(false);
        assert!(line.contains(r"a\nb\u{1b}[2J\u{202e}c"), "{line}");
    }

    #[test]
    fn formulas_are_text_and_numbers_stay_numbers() {
        for formula in [
            "=1+1", "+A1", "-A1", "@SUM(A1)", "\tx", "\rx", "-1+1", "=", "-",
        ] {
            assert_eq!(neutralised(formula), format!("'{formula}"));
        }
        for plain in ["-1", "+1.5", "-1,5", "-2e-3", "A1", "", "3"] {
            assert_eq!(neutralised(plain), plain);
        }
    }

    /// Read back with the csv crate as any other program would.
    #[test]
    fn problems_csv_is_a_table_of_eight_columns() {
        let nasty = Diagnostic {
            found: "=HYPERLINK(\"x\",\"y\")".to_owned(),
            expected: "a; b, \"c\"".to_owned(),
            ..finding()
        };
        let bytes = problems_csv(&[finding(), nasty]);
        let mut reader = csv::Reader::from_reader(&bytes[..]);
        assert_eq!(
            reader.headers().unwrap(),
            "file,line,column,case_id,severity,code,found,expected"
                .split(',')
                .collect::<Vec<_>>()
        );
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(&rows[0][2], "height_cm");
        assert_eq!(&rows[1][6], "'=HYPERLINK(\"x\",\"y\")");
        assert_eq!(&rows[1][7], "a; b, \"c\"");
    }
}
