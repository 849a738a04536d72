//! Findings in full, for people, and as JSON, for other programs.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::render::{style_of, visible};
use super::{Code, Diagnostic, Severity};

impl Diagnostic {
    /// Several lines: where it stands, what was found, what was expected, what follows from it. No line break at the
    /// end; `coloured` adds terminal colours and changes nothing else.
    pub fn full(&self, coloured: bool) -> String {
        let style = style_of(self.severity);
        let word = self.severity.word();
        let severity = if coloured {
            format!("{style}{word}{style:#}")
        } else {
            word.to_owned()
        };
        let mut text = format!("{severity}: {}", self.code.meaning());
        let mut line = |name: &str, said: &str| {
            let _ = write!(text, "\n  {name:<9} {said}");
        };
        line("where", &self.place_in_words());
        if !self.found.is_empty() {
            line("found", &format!("\"{}\"", visible(&self.found)));
        }
        let (expected, follows) = self.expected_and_follows();
        if !expected.is_empty() {
            line("expected", &visible(expected));
        }
        line("follows", &visible(&follows));
        line("code", self.code.word());
        text
    }

    /// One JSON object on one line, without a line break at the end. What is not known is null.
    pub fn json(&self) -> String {
        let text = |text: &str| match text {
            "" => Value::Null,
            text => Value::from(text),
        };
        let number = |number: u64| match number {
            0 => Value::Null,
            number => Value::from(number),
        };
        json!({
            "file": &*self.place.file,
            "line": number(self.place.line),
            "column_number": number(self.place.column_number as u64),
            "column": text(&self.place.column),
            "case_id": text(&self.case_id),
            "severity": self.severity.word(),
            "code": self.code.word(),
            "meaning": self.code.meaning(),
            "found": text(&self.found),
            "expected": text(&self.expected),
            "withholds": self.withholds,
        })
        .to_string()
    }

    fn place_in_words(&self) -> String {
        let mut place = visible(&self.place.file).into_owned();
        if self.place.line > 0 {
            let _ = write!(place, ", line {}", self.place.line);
        }
        if self.place.column_number > 0 {
            let _ = write!(place, ", column {}", self.place.column_number);
        }
        if !self.place.column.is_empty() {
            let _ = write!(place, " ({})", visible(&self.place.column));
        }
        if !self.case_id.is_empty() {
            let _ = write!(place, ", case {}", visible(&self.case_id));
        }
        place
    }

    /// What was expected, and what follows: what the finding itself says of it, and what it means for the case.
    fn expected_and_follows(&self) -> (&str, String) {
        // How a file was read is said as it is.
        let parts = self
            .expected
            .rsplit_once(": ")
            .filter(|_| self.code != Code::HowRead);
        let (expected, said) = match parts {
            Some((expected, said)) => (expected, Some(said)),
            None => (&*self.expected, None),
        };
        let means = if self.withholds {
            "the case is withheld: no page, no results, and it is named in the summary"
        } else {
            match (self.severity, self.code) {
                (_, Code::UnknownColumn) => "nothing below this header is used",
                (Severity::Error, _) if self.place.column_number == 0 => {
                    "what stands here is not used"
                }
                (Severity::Error, _) => {
                    "the cell is unknown; results that need it are missing, and say so"
                }
                (Severity::Warning, _) => "someone should look at it",
                (Severity::Note, _) => "nothing needs to be done where this is as it should be",
            }
        };
        let follows = match said {
            Some(said) => format!("{said}; {means}"),
            None => means.to_owned(),
        };
        (expected, follows)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Place;

    fn finding() -> Diagnostic {
        Diagnostic {
            place: Place {
                file: "cases.csv".into(),
                line: 3,
                column_number: 7,
                column: "height_cm".into(),
            },
            severity: Severity::Error,
            code: Code::UnitSlip,
            case_id: "A2".into(),
            found: "1.72".to_owned(),
            expected: "100 to 230 cm; if written in m it would be 172 cm: not converted, not used"
                .to_owned(),
            withholds: false,
        }
    }

    #[test]
    fn in_full_it_says_where_what_expected_and_what_follows() {
        assert_eq!(
            finding().full(false),
            "\
error: A number that looks as if it were in another unit: not used, not converted.
  where     cases.csv, line 3, column 7 (height_cm), case A2
  found     \"1.72\"
  expected  100 to 230 cm; if written in m it would be 172 cm
  follows   not converted, not used; the cell is unknown; results that need it are missing, and say so
  code      unit_slip"
        );
        let withheld = Diagnostic {
            withholds: true,
            ..finding()
        };
        assert!(withheld.full(false).contains("the case is withheld"));
        assert!(
            !finding().full(false).contains('\u{1b}') && finding().full(true).contains('\u{1b}')
        );
    }

    #[test]
    fn no_cell_breaks_a_line() {
        let nasty = Diagnostic {
            found: "a\nb\u{1b}[2J".to_owned(),
            ..finding()
        };
        assert_eq!(
            nasty.full(false).lines().count(),
            finding().full(false).lines().count()
        );
        assert_eq!(nasty.json().lines().count(), 1);
        let back: Value = serde_json::from_str(&nasty.json()).expect("JSON");
        assert_eq!(back["found"], "a\nb\u{1b}[2J");
    }

    #[test]
    fn json_holds_every_field_and_null_for_what_is_not_known() {
        let whole = Diagnostic {
            place: Place {
                file: "a.csv".into(),
                ..Place::default()
            },
            case_id: "".into(),
            ..finding()
        };
        let object: Value = serde_json::from_str(&whole.json()).expect("JSON");
        for name in ["line", "column_number", "column", "case_id"] {
            assert!(object[name].is_null(), "{name}");
        }
        let object: Value = serde_json::from_str(&finding().json()).expect("JSON");
        assert_eq!(
            (&object["line"], &object["code"]),
            (&json!(3), &json!("unit_slip"))
        );
    }

    #[test]
    fn every_code_says_what_it_means() {
        for code in Code::ALL {
            let meaning = code.meaning();
            assert!(
                meaning.ends_with('.') && !meaning.contains('\n'),
                "{meaning}"
            );
        }
    }
}
