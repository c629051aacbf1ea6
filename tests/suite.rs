//! Runs every text of `tests/suite` and holds what is found against what stands beside its lines.
//!
//! ```toml
//! marks = ["guard d6 x9"]   # error: 20-21 bad-value
//! ```
//!
//! says: an error on this line, from column 20 to column 21, both included and counted in characters from 1, with this
//! code. A place without a character is one column, `20`; one that ends on another line is `20-7:5`. Several stand
//! one behind the other. Where a line can bear no comment, a line at the top says it: `# line 5: error: 20-21 bad-value`.
//! In a PGN file the comment begins with `;`. Nothing may be missing and nothing may be left over.
//!
//! Each text makes one point and is named for it; `style-*.toml` are style files.

use plyreel::diag::{Diagnostic, human, json};
use plyreel::game::{self, PgnFiles};
use plyreel::source::Source;
use plyreel::timeline::{self, SceneBody, Timeline};
use std::collections::BTreeSet;
use std::fmt::{self, Write};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is said of a place.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Finding {
    file: String,
    line: u64,
    /// As written in the comment.
    columns: String,
    severity: String,
    code: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Finding { file, line, columns, severity, code } = self;
        write!(f, "{file}, line {line}: {severity}: {columns} {code}")
    }
}

/// All that the program finds in a text without looking at the rest of the world, and every text it looked at.
fn check(source: &Source, folder: &Path) -> (Vec<Diagnostic>, Vec<Arc<Source>>) {
    if name(source.path()).starts_with("style-") {
        return (timeline::parse_style(source).1, Vec::new());
    }
    let (timeline, mut diagnostics) = timeline::parse(source);
    let files = pgn_files(&timeline, folder);
    diagnostics.extend(game::resolve(&timeline, &files).1);
    let read = files.into_values().filter_map(Result::ok).collect();
    (diagnostics, read)
}

fn pgn_files(timeline: &Timeline, folder: &Path) -> PgnFiles {
    let mut files = PgnFiles::new();
    for scene in &timeline.scenes {
        let SceneBody::Pgn { file, .. } = &scene.body else { continue };
        let text = fs::read_to_string(folder.join(&file.value));
        let source = text.map(|text| Arc::new(Source::new(&file.value, text))).map_err(|error| error.to_string());
        files.insert(file.value.clone(), source);
    }
    files
}

/// What the comments of a text announce.
fn announced(source: &Source) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, line) in (1..).zip(source.text().lines()) {
        for comment in line.split(['#', ';']).skip(1) {
            let comment = comment.trim();
            let (number, comment) = match comment.strip_prefix("line ").and_then(|rest| rest.split_once(": ")) {
                Some((number, rest)) => (number.parse().expect("`# line N:` names a line"), rest),
                None => (number, comment),
            };
            let Some((severity @ ("error" | "warning"), rest)) = comment.split_once(": ") else { continue };
            let (columns, code) = rest.split_once(' ').expect("a comment gives columns and a code");
            findings.push(Finding {
                file: name(source.path()),
                line: number,
                columns: columns.to_owned(),
                severity: severity.to_owned(),
                code: code.to_owned(),
            });
        }
    }
    findings
}

/// What was found, in the words of the comments.
fn found(diagnostics: &[Diagnostic], source: &Source) -> Vec<Finding> {
    let values = json::values(diagnostics, source);
    let findings = values.iter().map(|value| {
        let number = |key: &str| value[key].as_u64().expect("places are numbers");
        let text = |key: &str| value[key].as_str().expect("severities, codes and files are texts").to_owned();
        let (line, column, end_line, end) =
            (number("line"), number("column"), number("end_line"), number("end_column"));
        let columns = if (line, column) == (end_line, end) {
            column.to_string()
        } else if line == end_line {
            format!("{column}-{}", end - 1)
        } else {
            format!("{column}-{end_line}:{}", end - 1)
        };
        let file = name(Path::new(&text("file")));
        Finding { file, line, columns, severity: text("severity"), code: text("code") }
    });
    findings.collect()
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite")
}

/// The texts of the suite, by name.
fn texts() -> Vec<PathBuf> {
    let entries = fs::read_dir(folder()).expect("tests/suite is there");
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("its entries can be read").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    paths
}

#[test]
fn every_text_gives_what_it_announces_and_no_more() {
    let mut failures = String::new();
    for path in texts() {
        let text = fs::read_to_string(&path).expect("a text of the suite can be read");
        let source = Source::new(name(&path), text);
        let (diagnostics, others) = check(&source, &folder());
        let mut announced = announced(&source);
        for other in &others {
            announced.extend(self::announced(other));
        }
        let mut found = found(&diagnostics, &source);
        announced.sort();
        found.sort();
        if announced == found {
            continue;
        }
        for finding in &announced {
            if !found.contains(finding) {
                writeln!(failures, "missing: {finding}").expect("a string takes any text");
            }
        }
        for finding in &found {
            if !announced.contains(finding) {
                writeln!(failures, "left over: {finding}").expect("a string takes any text");
            }
        }
        failures.push_str(&human::render(&diagnostics, &source, false));
        failures.push('\n');
    }
    assert!(failures.is_empty(), "\n{failures}");
}

#[test]
fn the_suite_has_every_code_of_the_rooms_it_runs() {
    let mut seen = BTreeSet::new();
    for path in texts() {
        let source = Source::new(name(&path), fs::read_to_string(&path).expect("a text of the suite can be read"));
        seen.extend(announced(&source).into_iter().map(|finding| finding.code));
    }
    for code in CODES {
        assert!(seen.contains(*code), "no text of the suite has `{code}`");
    }
}

/// The codes of the timeline room.
const CODES: &[&str] = &[
    "bad-value",
    "conflict",
    "duplicate",
    "missing-key",
    "syntax",
    "time-goes-back",
    "unknown-key",
    "unknown-name",
    "unknown-word",
];
