//! Transcripts as no recogniser writes them: cut, doubled, with other bytes in them. Whatever they hold, they are read,
//! drafted, drafted again and synced without a panic, and what comes of them is a timeline.

mod spoken;

use plyreel::diag::has_errors;
use plyreel::draft::{Heading, Language, Study, Wish, draft, mentions, redraft};
use plyreel::game::Position;
use plyreel::narration::Speech;
use plyreel::narration::transcript::{decode, read};
use plyreel::source::Source;
use plyreel::sync::{self, Take};
use plyreel::timeline;
use plyreel::units::Time;
use proptest::prelude::*;

const FORMS: [&str; 5] = [
    "WEBVTT\n\n00:01.000 --> 00:03.500 line:80%\nThe pawn <00:02.000>goes to c seven.\n\n00:04.000 --> 00:06.000\nRook d six check, \
     back to the start\n",
    "1\n00:00:01,000 --> 00:00:03,000\nPawn takes e eight, queens!\n\n2\n00:00:03,500 --> 00:00:05,000\n<i>en passant</i>\n",
    "{\"segments\": [{\"start\": 1.0, \"end\": 3.5, \"text\": \"Nf3, e5\", \"words\": [{\"word\": \"Nf3,\", \"start\": 1, \"end\": 2}, \
     {\"word\": \"e5\", \"start\": 2.5}]}]}",
    "[0:01] Knight f3. [0:04.5] takes, takes back [1:02:03] castles queenside",
    "[{\"word\": \"king\", \"start\": 0.5, \"end\": 0.7}, {\"word\": \"comes\", \"start\": 0.8, \"end\": 1.1}, {\"word\": \"closer.\", \"start\": 1.2}]",
];

/// What happens to a text: a piece of it goes, comes twice or elsewhere, or other bytes take its place.
fn harm() -> impl Strategy<Value = (u8, prop::sample::Index, prop::sample::Index, Vec<u8>)> {
    let bytes = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..6),
        prop::sample::select(vec![
            "-->",
            "99999999:59:59.999",
            "\"",
            "}",
            "1e308",
            "-1",
            "\u{202e}",
            "\u{0}",
            "'s",
            "x",
            "#"
        ])
        .prop_map(|text| text.as_bytes().to_vec()),
    ];
    (0_u8..4, any::<prop::sample::Index>(), any::<prop::sample::Index>(), bytes)
}

fn harmed(text: &[u8], (kind, from, to, bytes): &(u8, prop::sample::Index, prop::sample::Index, Vec<u8>)) -> Vec<u8> {
    let (one, other) = (from.index(text.len() + 1), to.index(text.len() + 1));
    let (from, to) = (one.min(other), one.max(other).min(one.min(other) + 24));
    let (head, piece, tail) = (&text[..from], &text[from..to], &text[to..]);
    match kind {
        0 => [head, tail].concat(),
        1 => [head, piece, piece, tail].concat(),
        2 => [tail, piece, head].concat(),
        _ => [head, bytes, tail].concat(),
    }
}

fn study(fen: &str) -> Study {
    Study { start: Position::read(fen).0.expect("a legal position"), lines: Vec::new() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn no_transcript_breaks_anything(
        form in prop::sample::select(FORMS.to_vec()),
        other in prop::sample::select(FORMS.to_vec()),
        harms in prop::collection::vec(harm(), 0..7),
    ) {
        let bytes = harms.iter().fold(form.as_bytes().to_vec(), |text, harm| harmed(&text, harm));
        let source = Source::new("words", decode(&bytes));
        let (words, told) = read(&source);
        prop_assert!(words.words.is_sorted_by_key(|word| word.start));
        prop_assert!(!words.words.is_empty() || !told.is_empty(), "nothing was read, and nobody is told");
        for diagnostic in told {
            let span = diagnostic.primary.span;
            prop_assert!(source.text().get(span.start..span.end).is_some());
        }
        let speech = Speech::of_runs(vec![Time::from_millis(900)..Time::from_millis(2600)]);
        let language = Language::named("en").expect("English is built in");
        mentions(&words.refined(&speech), &language);
        let studies = [study("8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"), study("r3k2r/1P4P1/8/3pP3/3Pp3/8/1p4p1/R3K2R w KQkq d6 0 1")];
        let wish = Wish { headings: vec![Heading::default(); 2], captions: bytes.len() % 2 == 0, ..Wish::default() };
        let text = draft(&words, &language, &studies, &wish).text;
        let pgn = spoken::no_pgn();
        spoken::played(&text, &pgn);
        // Again with another transcript, and synced to it.
        let (timeline, game, lines) = spoken::resolved(&text, &pgn);
        let another = read(&Source::new("other", other)).0;
        if let Ok(again) = redraft(&another, &language, &text, (&timeline, &game, &lines), None) {
            let (_, told) = timeline::parse(&Source::new("film.toml", again.text.as_str()));
            prop_assert!(!has_errors(&told), "{told:?}\n{}", again.text);
        }
        let film = Source::new("film.toml", text.as_str());
        for old_words in [None, Some(&words)] {
            let take = Take { words: &another, old_words, speech: Some(&speech), language: &language, length: None };
            let synced = sync::sync(&film, &timeline, &game, &take);
            let (_, told) = timeline::parse(&Source::new("film.toml", synced.text.as_str()));
            prop_assert!(!has_errors(&told), "{told:?}\n{}", synced.text);
        }
    }
}
