//! Timelines and takes small enough to see through.

use super::{Found, Take, sync, with_narration};
use crate::draft::Language;
use crate::game::{self, PgnFiles};
use crate::narration::Speech;
use crate::narration::transcript::{Timing, Transcript, Word, read};
use crate::source::Source;
use crate::timeline;
use crate::units::Time;
use proptest::prelude::*;
use std::time::Duration;

const FILM: &str = r#"# The film
[film]
title = "A walk"   # kept

[[scene]]
name = "The first"
at   = "0:01.0"
fen  = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
cues = [
  { at = "0:05.0", play = "c7" },    # the pawn
  { at = 8.0, play = "Rd6+ Kb5", every = "1500ms", text = "é" },
  { at = "+3.0", marks = ["key b5"] },
  { at = '0:14.25', text = "The rook gives every check there is" },
  { at = "0:20.0", back = "start" },
]
"#;

fn words(stamped: &str) -> Transcript {
    read(&Source::new("words", stamped)).0
}

/// Old phrases begin at 1, 5, 8, 9.5, 14.25 and 20 s.
const OLD: &str = "[0:01.0] Here is the position [0:05.0] pawn c seven [0:08.0] rook d six check [0:09.5] king b five \
                   [0:14.25] now the rook gives every check there is [0:20.0] back to the beginning";

fn run(old: Option<&str>, new: &str, speech: Option<&Speech>) -> super::Synced {
    run_film(FILM, old, new, speech)
}

fn run_film(film: &str, old: Option<&str>, new: &str, speech: Option<&Speech>) -> super::Synced {
    let source = Source::new("film.toml", film);
    let (timeline, told) = timeline::parse(&source);
    assert!(told.is_empty(), "{told:?}");
    let game = game::resolve(&timeline, &PgnFiles::new()).0;
    let (new, old) = (words(new), old.map(words));
    let language = Language::named("en").expect("English is built in");
    let take = Take {
        words: &new,
        old_words: old.as_ref(),
        speech,
        language: &language,
        length: Some(Duration::from_mins(1)),
    };
    sync(&source, &timeline, &game, &take)
}

#[test]
fn the_same_take_changes_nothing() {
    let synced = run(Some(OLD), OLD, None);
    assert_eq!(synced.text, FILM);
    assert!(synced.shifts.iter().all(|shift| shift.found == Found::Word && shift.from == shift.to), "{synced:?}");
}

#[test]
fn only_times_change_and_in_the_form_they_had() {
    let later = "[0:03.0] Here is the position [0:09.0] pawn c seven [0:12.5] rook d six check [0:15.0] king b five \
                 [0:21.25] now the rook gives every check there is [1:20.0] back to the beginning";
    let synced = run(Some(OLD), later, None);
    let expected = FILM
        .replace("\"0:01.0\"", "\"0:03.0\"")
        .replace("\"0:05.0\"", "\"0:09.0\"")
        .replace("at = 8.0", "at = 12.5")
        .replace("1500ms", "2500ms")
        .replace("'0:14.25'", "'0:21.25'")
        .replace("\"0:20.0\"", "\"0:59.99\"");
    assert_eq!(synced.text, expected, "the last is held within the recording");
}

#[test]
fn a_passage_left_out_is_told_and_lies_where_it_would_be() {
    let cut = "[0:01.0] Here is the position [0:05.0] pawn c seven [0:08.0] back to the beginning";
    let synced = run(Some(OLD), cut, None);
    let found: Vec<(Found, i64)> =
        synced.shifts.iter().map(|shift| (shift.found, shift.to.as_micros() / 1_000_000)).collect();
    assert_eq!((found[0], found[1], found[4]), ((Found::Word, 1), (Found::Word, 5), (Found::Word, 8)));
    assert!([2, 3].iter().all(|n| found[*n].0 == Found::Lost && (5..=8).contains(&found[*n].1)), "{found:?}");
}

#[test]
fn moves_and_captions_are_heard_without_the_old_words() {
    let new = "[0:02.0] So here we are [0:11.0] the pawn goes to c seven [0:14.0] rook to d6 with check [0:17.0] king to \
               b5 [0:23.0] the rook gives every check there is you see [0:30.0] and once more";
    let synced = run(None, new, None);
    let to = |number: usize| synced.shifts[number].to.as_secs_f64();
    assert!((11.0..12.0).contains(&to(1)), "{synced:?}");
    assert!((to(2) - 14.0).abs() < 0.1 && (to(3) - 23.0).abs() < 0.1, "{synced:?}");
    assert!(synced.text.contains("every = \"3000ms\""), "{}", synced.text);
    assert_eq!(synced.shifts[2].found, Found::Word);
}

#[test]
fn cues_go_to_the_beginning_of_speech() {
    let ms = Time::from_millis;
    let speech = Speech::of_runs(vec![ms(1080)..ms(3000), ms(4900)..ms(6000), ms(7000)..ms(60_000)]);
    let synced = run(Some(OLD), OLD, Some(&speech));
    let to: Vec<i64> = synced.shifts.iter().map(|shift| shift.to.as_micros() / 1000).collect();
    assert_eq!(to[..3], [1080, 4900, 8000]);
}

#[test]
fn the_recording_is_named_where_it_was_or_where_it_belongs() {
    let named = |text: &str| with_narration(text, "take \"2\".flac");
    assert_eq!(
        named("[film]\r\ntitle = \"a\"\r\n").unwrap(),
        "[film]\r\nnarration = 'take \"2\".flac'\r\ntitle = \"a\"\r\n"
    );
    assert_eq!(
        named("[film]\nnarration = \"one.wav\" # first\n").unwrap(),
        "[film]\nnarration = 'take \"2\".flac' # first\n"
    );
    let cases = [
        ("film = { title = \"a\" }\n", "film = { narration = 'take \"2\".flac', title = \"a\" }\n"),
        ("film = { narration = '1' }", "film = { narration = 'take \"2\".flac' }"),
        ("film = {}\n", "film = { narration = 'take \"2\".flac' }\n"),
        ("# a\nfilm.title = \"a\"\n", "# a\nfilm.narration = 'take \"2\".flac'\nfilm.title = \"a\"\n"),
        ("film.narration = '''1'''\n", "film.narration = 'take \"2\".flac'\n"),
        (
            "# a\n[film.words]\nvoice = \"Read by\"\n",
            "# a\n[film]\nnarration = 'take \"2\".flac'\n\n[film.words]\nvoice = \"Read by\"\n",
        ),
        ("# nothing\n", "# nothing\n[film]\nnarration = 'take \"2\".flac'\n\n"),
        ("[[scene]]\nfen = \"x\"", "[film]\nnarration = 'take \"2\".flac'\n\n[[scene]]\nfen = \"x\""),
    ];
    for (text, expected) in cases {
        assert_eq!(named(text).as_deref(), Some(expected), "{text}");
    }
    assert_eq!(named("[film\n"), None);
}

#[test]
fn a_scene_that_is_relative_keeps_its_room_in_a_shorter_take() {
    let film = |scene: &str| {
        format!(
            "[[scene]]\nat = \"0:00\"\ncues = [\n  {{ at = \"0:02\", play = \"e4\" }},\n  {{ at = \"0:10\", play = \"e5\" }},\n\
             {scene}  {{ at = \"0:20\", play = \"c4\" }},\n]\n"
        )
    };
    let old = "[0:02.0] pawn goes to e four [0:10.0] pawn e five [0:20.0] pawn moves up to c four";
    let new = "[0:02.0] pawn goes to e four [0:10.0] pawn e five [0:14.0] pawn moves up to c four";
    for between in [
        "]\n[[scene]]\nat = \"+5\"\ncues = [\n",
        "]\n[[scene]]\nat = \"+2\"\ncues = [\n  { at = \"+3\", text = \"Now\" },\n",
        "]\n[[scene]]\nat = \"+3\"\ncard = \"position\"\n[[scene]]\nat = \"+2\"\ncues = [\n",
        "  { at = \"+5\", back = \"start\" },\n",
    ] {
        let synced = run_film(&film(between), Some(old), new, None);
        let (_, told) = timeline::parse(&Source::new("film.toml", synced.text.as_str()));
        assert!(told.is_empty(), "{told:?}\n{}", synced.text);
        // Said at 14 s, it has to wait until 15: that is not at its word.
        let last = synced.shifts.last().expect("a time");
        assert_eq!((last.to, last.found), (Time::from_millis(15_000), Found::Between), "{between}");
        assert!(synced.shifts[1..3].iter().all(|shift| shift.found == Found::Word), "{synced:?}");
    }
}

#[test]
fn a_time_that_stays_is_never_later_than_the_next() {
    let text = "[[scene]]\nfen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\ncues = [\n  { at = 1.009, play = \"c7\" },\n  \
                { at = 3.0, play = \"Rd6+\" },\n]\n";
    let source = Source::new("film.toml", text);
    let (timeline, _) = timeline::parse(&source);
    let game = game::resolve(&timeline, &PgnFiles::new()).0;
    let language = Language::named("en").expect("English is built in");
    // Both are found at the same place; the first would stay where it was, being off by less than a hundredth.
    let said = |first: i64, next: i64| {
        let word = |(phrase, text, at): (usize, &str, i64)| {
            let (start, end) = (Time::from_millis(at), Time::from_millis(at + 2));
            Word { text: text.to_owned(), start, end, phrase, timing: Timing::Given }
        };
        Transcript::from_words([(0, "c7", first), (1, "Rd6", next)].into_iter().map(word).collect())
    };
    let (old, new) = (said(1009, 3000), said(1000, 1004));
    let take = Take { words: &new, old_words: Some(&old), speech: None, language: &language, length: None };
    let synced = sync(&source, &timeline, &game, &take);
    let (_, told) = timeline::parse(&Source::new("film.toml", synced.text.as_str()));
    assert!(told.is_empty() && synced.shifts[1].to == Time::from_millis(1000), "{told:?}\n{}", synced.text);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Whatever is said in the new take: times never go back, and all but times stays.
    #[test]
    fn any_take_leaves_a_timeline_in_order(
        phrases in proptest::collection::vec((0_u32..90_000, "(rook|king|pawn|d six|c7|b five|check|the|back|here){1}( [a-h] ?(five|6|seven|d6)| takes){0,2}"), 0..12),
        with_old in any::<bool>(),
    ) {
        let stamped = |(at, text): &(u32, String)| format!("[{}:{:02}.{:03}] {text}\n", at / 60_000, at / 1000 % 60, at % 1000);
        let new = phrases.iter().map(stamped).collect::<Vec<_>>().concat();
        let synced = run(with_old.then_some(OLD), &new, None);
        let source = Source::new("film.toml", synced.text.as_str());
        let (timeline, told) = timeline::parse(&source);
        prop_assert!(told.is_empty(), "{:?}\n{}", told, synced.text);
        let mut times: Vec<Time> = Vec::new();
        times.extend(synced.shifts.iter().map(|shift| shift.to));
        prop_assert!(times.is_sorted(), "{:?}", times);
        prop_assert_eq!(timeline.scenes[0].cues.len(), 5);
        prop_assert!(synced.text.starts_with("# The film\n[film]\ntitle = \"A walk\"   # kept\n"));
    }
}
