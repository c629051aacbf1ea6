//! Whatever a transcript holds, it can be drafted, and the draft is a timeline without a mistake.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::diag::has_errors;
use plyreel::draft::{Heading, Language, Study, Wish, draft};
use plyreel::game::{PgnFiles, Position, resolve};
use plyreel::narration::transcript::read;
use plyreel::source::Source;
use plyreel::timeline::parse;
use std::sync::LazyLock;

static LANGUAGE: LazyLock<Language> = LazyLock::new(|| Language::named("en").expect("English comes with plyreel"));

fuzz_target!(|text: &str| {
    let (transcript, _) = read(&Source::new("words.vtt", text));
    let study = |fen: &str| Study { start: Position::read(fen).0.expect("a legal position"), lines: Vec::new() };
    let studies = [study("8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"), study("r3k2r/1P4P1/8/3pP3/3Pp3/8/1p4p1/R3K2R w KQkq d6 0 1")];
    let headings = vec![Heading::default(), Heading::default()];
    let wish = Wish { headings, captions: text.len() % 2 == 0, ..Wish::default() };
    let drafted = draft(&transcript, &LANGUAGE, &studies, &wish).text;
    let (timeline, mut found) = parse(&Source::new("draft.toml", drafted.as_str()));
    found.extend(resolve(&timeline, &PgnFiles::new()).1);
    assert!(!has_errors(&found), "{drafted}\n{found:?}");
});
