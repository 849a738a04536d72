//! Text for the cells of the CSV files we write.

use std::borrow::Cow;

use crate::diagnostic::neutralised;

/// A cell that no spreadsheet runs as a formula ([`neutralised`]) and no CSV reader splits (RFC 4180 quoting).
pub fn neutral(text: &str) -> Cow<'_, str> {
    let cell = neutralised(text);
    let quoted = cell.bytes().fold(false, |quoted, byte| {
        quoted | matches!(byte, b',' | b'"' | b'\n' | b'\r')
    });
    if quoted {
        Cow::Owned(format!("\"{}\"", cell.replace('"', "\"\"")))
    } else {
        cell
    }
}

/// One line of a CSV file.
pub fn line<'a>(cells: impl IntoIterator<Item = &'a str>) -> String {
    let cells: Vec<Cow<'_, str>> = cells.into_iter().map(neutral).collect();
    cells.join(",") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_text_and_numbers_stay_numbers() {
        assert_eq!(neutral("=1+1"), "'=1+1");
        assert_eq!(neutral("-3.5"), "-3.5");
        assert_eq!(neutral("@x,y"), "\"'@x,y\"");
        assert_eq!(neutral("a \"b\""), "\"a \"\"b\"\"\"");
        assert_eq!(line(["a", "b,c"]), "a,\"b,c\"\n");
    }
}
