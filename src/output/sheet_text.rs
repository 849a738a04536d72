//! Text for the cells of the CSV files we write.

use std::borrow::Cow;

/// A cell that no spreadsheet runs as a formula and no CSV reader splits.
///
/// Text that begins with `=`, `+`, `-`, `@`, a tab or a line end gets an apostrophe in front, unless it is a plain
/// number; separators, quotes and line ends are quoted as RFC 4180 says.
pub fn neutral(text: &str) -> Cow<'_, str> {
    let formula =
        text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) && text.parse::<f64>().is_err();
    let quoted = text.contains([',', '"', '\n', '\r']);
    if !formula && !quoted {
        return Cow::Borrowed(text);
    }
    let mark = if formula { "'" } else { "" };
    if quoted {
        Cow::Owned(format!("\"{mark}{}\"", text.replace('"', "\"\"")))
    } else {
        Cow::Owned(format!("{mark}{text}"))
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
