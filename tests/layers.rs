//! The architecture, checked: data flow one way, and each effect has one place.

use std::fs;
use std::path::{Path, PathBuf};

/// The layers, lowest first: a module may use those above its own line here, and itself.
const LAYERS: &[&str] = &[
    "date",
    "draw",
    "settings",
    "sources",
    "dictionary",
    "record",
    "diagnostic",
    "input",
    "assess",
    "explain",
    "worklist",
    "cohort",
    "figure",
    "page",
    "output",
    "cli",
    "run",
];

/// Effects and the modules that may have them.
const EFFECTS: &[(&str, &[&str])] = &[
    ("std::fs", &["input", "output"]),
    ("File::", &["input", "output"]),
    ("std::env", &[]),
    ("SystemTime", &[]),
    ("Instant", &[]),
    ("::now()", &["main"]),
    ("rayon", &["run"]),
    ("printpdf", &["output"]),
    ("lopdf", &["output"]),
    ("println!", &[]),
    ("eprintln!", &[]),
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of sources") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The module below src/ that a file belongs to.
fn module_of(path: &Path) -> String {
    let inside = path.strip_prefix("src").expect("a file below src");
    let first = inside.components().next().expect("a name").as_os_str();
    Path::new(first)
        .file_stem()
        .expect("a stem")
        .to_string_lossy()
        .into_owned()
}

/// Code lines, comments left out, the tests at the end of a file left out.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .take_while(|(_, line)| !line.starts_with("#[cfg(test)]"))
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
        .map(|(number, line)| (number + 1, line))
}

fn modules_used(line: &str) -> Vec<&str> {
    let mut used = Vec::new();
    for (at, _) in line.match_indices("crate::") {
        let rest = &line[at + "crate::".len()..];
        let end = rest
            .find(|c: char| !(c.is_alphanumeric() || c == '_'))
            .unwrap_or(rest.len());
        used.push(&rest[..end]);
    }
    used
}

#[test]
fn no_module_uses_one_further_on() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let rank = |module: &str| LAYERS.iter().position(|layer| *layer == module);
    let mut faults = Vec::new();
    for path in &files {
        let module = module_of(path);
        if matches!(module.as_str(), "lib" | "main") {
            continue;
        }
        let own =
            rank(&module).unwrap_or_else(|| panic!("src/{module} has no place in the layers"));
        let text = fs::read_to_string(path).expect("text");
        for (number, line) in code(&text) {
            for used in modules_used(line) {
                if rank(used).is_some_and(|used| used > own) {
                    faults.push(format!("{}:{number}: {module} uses {used}", path.display()));
                }
            }
        }
    }
    assert!(files.len() > 50, "the sources were found");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn each_effect_has_its_place() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let mut faults = Vec::new();
    for path in &files {
        let module = module_of(path);
        let text = fs::read_to_string(path).expect("text");
        for (number, line) in code(&text) {
            for (effect, places) in EFFECTS {
                if line.contains(effect) && !places.contains(&module.as_str()) {
                    faults.push(format!("{}:{number}: {effect} in {module}", path.display()));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
