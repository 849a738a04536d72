//! Which character separates the cells of a file.

use super::split::Splitter;

/// Where the table of a text begins and what separates its cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Start {
    /// `,`, `;` or tab.
    pub separator: u8,
    /// Bytes before the header.
    pub offset: usize,
    /// Line of the text that follows.
    pub line: u64,
}

/// The text of a file, or its first lines.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beginning<'a> {
    /// The text.
    pub text: &'a str,
    /// Whether more of it follows.
    pub more: bool,
}

impl<'a> Beginning<'a> {
    /// All of a text.
    pub fn whole(text: &'a str) -> Self {
        Self { text, more: false }
    }
}

impl Start {
    /// The rows of the text, the header first.
    pub fn rows<'a>(&self, text: Beginning<'a>) -> Splitter<'a> {
        Splitter::new(&text.text[self.offset..], self.separator, self.line).continued_if(text.more)
    }
}

/// Name of a separator for messages.
pub(super) fn separator_name(separator: u8) -> &'static str {
    match separator {
        b';' => "semicolon",
        b'\t' => "tab",
        _ => "comma",
    }
}

/// Rows looked at, besides the header.
const ROWS: usize = 20;

/// Finds the separator: a line `sep=;` in front says it (spreadsheets write it); else the one with which the header has
/// the most known names, then the one with which most rows are as long as the header, then the most cells. `None` where
/// that cannot be told before more of the text is known.
pub(super) fn find_start(beginning: Beginning<'_>, known: impl Fn(&str) -> bool) -> Option<Start> {
    const CANDIDATES: [u8; 3] = [b',', b';', b'\t'];
    let Beginning { text, more } = beginning;
    let first_line = text.split(['\n', '\r']).next().unwrap_or("");
    if let Some(said) = first_line.strip_prefix("sep=")
        && let [separator] = *said.as_bytes()
        && CANDIDATES.contains(&separator)
    {
        let end = if text[first_line.len()..].starts_with("\r\n") {
            2
        } else {
            1
        };
        let offset = (first_line.len() + end).min(text.len());
        return Some(Start {
            separator,
            offset,
            line: 2,
        });
    }
    let mut best = None;
    for separator in CANDIDATES {
        let start = Start {
            separator,
            offset: 0,
            line: 1,
        };
        let mut rows = start.rows(beginning);
        let Some(header) = rows.next_row() else {
            return (!more).then_some(start);
        };
        let cells = header.len();
        let names = (0..cells).filter(|&i| known(&header.cell(i))).count();
        let mut alike = 0;
        for _ in 0..ROWS {
            match rows.next_row() {
                Some(row) => alike += usize::from(cells > 1 && row.len() == cells),
                None if more => return None,
                None => break,
            }
        }
        let score = (names, alike, cells);
        if best.is_none_or(|(most, _)| score > most) {
            best = Some((score, start));
        }
    }
    best.map(|(_, start)| start)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn separator(text: &str) -> u8 {
        find_start(Beginning::whole(text), |name| {
            ["case_id", "sex", "note"].contains(&name.trim())
        })
        .expect("a whole text")
        .separator
    }

    #[test]
    fn header_and_data_decide() {
        assert_eq!(separator("case_id,sex\nA,male\n"), b',');
        assert_eq!(separator("case_id;sex\nA;male\n"), b';');
        assert_eq!(separator("case_id\tsex\nA\tmale\n"), b'\t');
        // Unknown names: the commas within cells are fewer than the semicolons between them.
        assert_eq!(separator("Fall;Größe, cm;x\n1;172,5;2\n"), b';');
        assert_eq!(separator("case_id;note;sex\nA;\"a,b,c,d,e\";male\n"), b';');
        assert_eq!(separator("case_id"), b',');
        assert_eq!(separator(""), b',');
    }

    #[test]
    fn a_spreadsheet_says_its_separator() {
        let start = |text| find_start(Beginning::whole(text), |_| false).expect("a whole text");
        let said = start("sep=;\r\ncase_id;sex\r\n");
        assert_eq!((said.separator, said.offset, said.line), (b';', 7, 2));
        assert_eq!(start("sep=;").offset, 5);
    }

    /// What the rows behind could still decide is not decided by the first.
    #[test]
    fn too_few_lines_of_a_longer_text_decide_nothing() {
        let known = |name: &str| name == "case_id";
        for (rows, decided) in [(0, false), (ROWS - 1, false), (ROWS + 1, true)] {
            let text = format!("case_id,sex\n{}", "A,male\n".repeat(rows));
            let first = Beginning {
                text: &text,
                more: true,
            };
            assert_eq!(find_start(first, known).is_some(), decided, "{rows}");
            assert!(find_start(Beginning::whole(&text), known).is_some());
        }
    }
}
