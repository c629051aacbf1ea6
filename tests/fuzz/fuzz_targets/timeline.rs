//! Any text can be read as a timeline; every place lies on characters; what was read without a mistake prints and reads
//! back as the same value; and whatever was found can be drawn.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::diag::{Severity, human, json, short};
use plyreel::source::Source;
use plyreel::timeline::{parse, parse_style, print};

fuzz_target!(|text: &str| {
    let source = Source::new("film.toml", text);
    let (timeline, diagnostics) = parse(&source);
    for diagnostic in &diagnostics {
        for label in diagnostic.others.iter().chain([&diagnostic.primary]) {
            assert!(text.get(label.span.start..label.span.end).is_some(), "{diagnostic:?}");
        }
    }
    let drawn = human::render(&diagnostics, &source, false);
    assert!(drawn.chars().all(|c| c == '\n' || !c.is_control()), "{drawn}");
    assert_eq!(short::render(&diagnostics, &source).lines().count(), json::values(&diagnostics, &source).len());

    let printed = print(&timeline);
    let (again, found) = parse(&Source::new("printed.toml", printed.as_str()));
    assert!(again == timeline, "{printed}");
    if diagnostics.is_empty() {
        assert!(found.iter().all(|diagnostic| diagnostic.severity == Severity::Warning), "{printed}\n{found:?}");
    }
    parse_style(&source);
});
