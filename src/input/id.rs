//! Identifiers: they become file names, so only what every file system keeps apart and shows is allowed.

/// The longest identifier, in characters.
pub(super) const LONGEST: usize = 40;

/// Checks an identifier: ASCII letters, digits, dot, underscore and hyphen; at most 40 characters; no dot in front
/// (a hidden file); not the name of a device in Windows, where `CON.pdf` cannot be written.
///
/// # Errors
/// What was expected, in words.
pub(super) fn check(text: &str) -> Result<(), String> {
    const ALLOWED: &str = "an id of letters A to Z, digits, dot, underscore and hyphen";
    let allowed =
        |character: char| character.is_ascii_alphanumeric() || matches!(character, '.' | '_' | '-');
    if let Some(odd) = text.chars().find(|&character| !allowed(character)) {
        return Err(format!("{ALLOWED}; {} is none of these", name_of(odd)));
    }
    if text.len() > LONGEST {
        return Err(format!(
            "{ALLOWED}, of at most {LONGEST} characters; this one has {}",
            text.len()
        ));
    }
    if text.starts_with('.') {
        return Err(format!(
            "{ALLOWED}, not beginning with a dot (its page would be a hidden file)"
        ));
    }
    if reserved(text) {
        return Err(
            "another id: this one is a reserved name and cannot be a file on every computer"
                .to_owned(),
        );
    }
    Ok(())
}

/// A character for a message: itself where it can be seen, else its code point.
fn name_of(character: char) -> String {
    if character == ' ' {
        "a space".to_owned()
    } else if character.is_ascii_graphic() || character.is_alphanumeric() {
        format!("{character:?}")
    } else {
        format!("the character U+{:04X}", u32::from(character))
    }
}

/// The device names of Windows, with or without an ending, in any letter case.
fn reserved(text: &str) -> bool {
    let stem = text.split('.').next().unwrap_or("").as_bytes();
    let is = |name: &[u8], text: &[u8]| text.eq_ignore_ascii_case(name);
    match stem {
        [name @ .., b'0'..=b'9'] => is(b"COM", name) || is(b"LPT", name),
        name => [b"CON", b"PRN", b"AUX", b"NUL"]
            .iter()
            .any(|device| is(*device, name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn allowed_and_refused() {
        for id in [
            "A1",
            "2031-04_003.b",
            "-",
            "00123",
            "CONTROL",
            "COM10",
            &"x".repeat(40),
        ] {
            assert!(check(id).is_ok(), "{id}");
        }
        for id in [
            "../x",
            "..",
            ".A1",
            "A/1",
            "A\\1",
            "A 1",
            "A\u{200B}1",
            "Å1",
            "А1",
            "A1\0",
            "con",
            "CON.x",
            "nul",
            "Com1",
            "lpt9",
            "A:1",
            &"x".repeat(41),
        ] {
            assert!(check(id).is_err(), "{id:?}");
        }
        assert!(check("A\u{200B}1").unwrap_err().contains("U+200B"));
    }
}
