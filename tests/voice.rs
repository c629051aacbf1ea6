//! Narrations spoken by a synthesiser that says when each word begins: drafted, every cue must lie at its word; spoken
//! again in another voice, at another speed and with passages left out, every cue must come along.
//!
//! `PLYREEL_VOICES=1` speaks all narrations; otherwise a few do.

mod spoken;

use plyreel::diag::has_errors;
use plyreel::draft::Language;
use plyreel::game::{self, PgnFiles};
use plyreel::narration::transcript::{Timing, Transcript, Word};
use plyreel::narration::{Recording, Speech};
use plyreel::source::Source;
use plyreel::sync::{self, Take};
use plyreel::timeline;
use plyreel::units::Time;
use spoken::{Dice, Narration, drafted, narrations, played};
use std::io::Write as _;
use std::ops::Range;
use std::path::Path;
use std::process::{Command, Stdio};

/// A narration as it was spoken.
struct Voice {
    /// Every word at its time; those left out are `None`.
    said: Vec<Option<Time>>,
    /// The words that are spoken, with the synthesiser's times.
    words: Transcript,
    /// The same from the times of phrases alone, each off by up to 120 ms, and from what is heard in the recording.
    phrases: Transcript,
    speech: Speech,
    length: std::time::Duration,
}

fn time(seconds: f64) -> Time {
    Time::from_millis((seconds * 1000.0) as i64)
}

/// Speaks the phrases that `speaks` takes, by its number.
fn speak(narration: &Narration, manner: &[&str], speaks: &dyn Fn(usize) -> bool) -> Voice {
    let old = &narration.transcript;
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("spoken.wav");
    let kept: Vec<usize> = (0..old.phrases.len()).filter(|number| speaks(*number)).collect();
    let text: String = kept.iter().map(|number| old.text_of(&old.phrases[*number]) + "\n").collect();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges/espeak.py");
    let mut command = Command::new("python3");
    command.arg(script).arg(&path).args(manner).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().expect("these tests need python3");
    child.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("the script reads");
    let output = child.wait_with_output().expect("the script ends");
    assert!(output.status.success(), "espeak.py (scripts/tools test)");
    let output = String::from_utf8(output.stdout).expect("text");

    let mut said = vec![None; old.words.len()];
    let mut words = Vec::new();
    let mut phrases: Vec<(Time, Time, String)> = Vec::new();
    let mut dice = Dice::new(&narration.name, 3);
    for (&number, line) in kept.iter().zip(output.lines()) {
        let (start, end, events): (f64, f64, Vec<(String, f64)>) = serde_json::from_str(line).expect("a phrase");
        let phrase = &old.phrases[number];
        let text = old.text_of(phrase);
        let mut off = |seconds: f64| time(seconds + 0.24 * (dice.roll() - 0.5));
        phrases.push((off(start), off(end), text.clone()));
        // The synthesiser's words are pieces of ours, or several of them, in order.
        let mut begins: Vec<(usize, f64)> = Vec::new();
        let mut cursor = 0;
        for (event, at) in &events {
            if let Some(found) = text[cursor..].find(event.as_str()) {
                begins.push((cursor + found, *at));
                cursor += found + event.len();
            }
        }
        let mut place = 0;
        let ends = |index: usize| begins.get(index).map_or(end, |next| next.1);
        for (index, word) in (phrase.words.clone()).zip(old.words_of(phrase)) {
            let reach = place..place + word.text.len() + 1;
            let first = begins.iter().position(|(at, _)| reach.contains(at));
            // A word without an event of its own is said with the one before it.
            let before = begins.iter().rposition(|(at, _)| *at < reach.start);
            let (at, next) = match (first, before) {
                (Some(first), _) => (begins[first].1, ends(first + 1)),
                (None, Some(before)) => (begins[before].1, ends(before + 1)),
                (None, None) => (start, ends(0)),
            };
            said[index] = Some(time(at));
            let (text, timing) = (word.text.clone(), Timing::Given);
            words.push(Word { text, start: time(at), end: time(next).max(time(at)), phrase: number, timing });
            place = reach.end;
        }
    }
    let recording = Recording::open(&path).expect("the synthesiser's recording");
    let speech = Speech::heard(&recording).expect("sound");
    let guessed = Transcript::from_phrases(phrases.iter().map(|(start, end, said)| (*start, *end, said.as_str())));
    let phrases = guessed.refined(&speech);
    Voice { said, words: Transcript::from_words(words), phrases, length: recording.length(), speech }
}

/// All narrations, or the first few of those that may be looked at.
fn told() -> Vec<Narration> {
    let all = std::env::var_os("PLYREEL_VOICES").is_some();
    let few = ["lighthouse", "breakthrough", "scotch"];
    let is_told = |told: &Narration| told.language == "en" && (all || few.contains(&told.name.as_str()));
    ["tuned", "untouched"].into_iter().flat_map(narrations).filter(is_told).collect()
}

/// The words that each move is said in: all that a mention of a move takes of the words marked.
fn places(narration: &Narration) -> Vec<Range<usize>> {
    let words = &narration.transcript.words;
    let english = Language::named(&narration.language).expect("a known language");
    let mentions = plyreel::draft::mentions(&narration.transcript, &english);
    let place = |played: &spoken::Played| {
        let first = words.partition_point(|word| word.start < played.at);
        // A mark may begin with words that are no part of the move: `the pawn goes to c7`.
        let near = mentions.iter().filter(|mention| (first..first + 4).contains(&mention.words.start));
        let begins = near.map(|mention| mention.words.start).min().unwrap_or(first);
        first..begins + 1
    };
    narration.played.iter().map(place).collect()
}

#[test]
fn cues_lie_at_their_words() {
    let mut sums = [[0_usize; 3]; 2];
    for narration in told() {
        let voice = speak(&narration, &["7"], &|_| true);
        let places = places(&narration);
        for (number, (transcript, limit)) in [(&voice.words, 150.0), (&voice.phrases, 400.0)].into_iter().enumerate() {
            let mut cues = played(&drafted(&narration, transcript, true), &narration.pgn);
            for (wanted, place) in narration.played.iter().zip(&places) {
                let times: Vec<Time> = voice.said[place.clone()].iter().flatten().copied().collect();
                let (Some(first), Some(last)) = (times.first(), times.last()) else { continue };
                // How far the cue is from the words that begin the move; elsewhere in the film it is another cue.
                let off = |cue: &spoken::Played| first.millis_after(cue.at).max(cue.at.millis_after(*last)).max(0.0);
                let fits = |cue: &spoken::Played| cue.fen == wanted.fen && cue.san == wanted.san && off(cue) < 4000.0;
                sums[number][2] += 1;
                let Some(found) = cues.iter().position(fits) else { continue };
                let cue = cues.remove(found);
                sums[number][1] += 1;
                sums[number][0] += usize::from(off(&cue) <= limit);
            }
        }
    }
    let names = ["word times, 150 ms", "phrase times and the recording, 400 ms"];
    for (name, [near, found, said]) in names.into_iter().zip(sums) {
        let share = near as f64 / found as f64;
        println!("{name}: {near} of {found} cues ({share:.3}); {said} moves said");
        assert!(share >= 0.95, "{name}: {near} of {found}");
        assert!(found as f64 >= 0.9 * said as f64, "{name}: {found} of {said}");
    }
}

#[test]
fn cues_come_along_to_another_voice() {
    let mut sums = [[0_usize; 2]; 4];
    for narration in told() {
        let first = speak(&narration, &["7"], &|_| true);
        // Another voice, faster, one phrase in eleven left out.
        let second = speak(&narration, &["8", "en-us+f3", "205"], &|number| number % 11 != 5);
        let note = "\n# a note of the author's\n[[scene]]";
        let text = drafted(&narration, &first.words, true).replace("\n[[scene]]", note);
        let source = Source::new("film.toml", text.as_str());
        let (timeline, mut found) = timeline::parse(&source);
        let files = PgnFiles::from([("lines.pgn".to_owned(), Ok(narration.pgn.clone()))]);
        let (game, of_game) = game::resolve(&timeline, &files);
        found.extend(of_game);
        assert!(!has_errors(&found), "{found:?}");
        let language = Language::named(&narration.language).expect("a known language");
        let ways = [(&second.words, true), (&second.phrases, true), (&second.words, false), (&second.phrases, false)];
        for (number, (words, knows_old)) in ways.into_iter().enumerate() {
            let old_words = knows_old.then_some(&first.words);
            let (speech, length) = (Some(&second.speech), Some(second.length));
            let synced =
                sync::sync(&source, &timeline, &game, &Take { words, old_words, speech, language: &language, length });
            assert_eq!(synced.text.matches("# a note of the author's").count(), text.matches("# a note").count());
            assert_eq!(synced.text.lines().count(), text.lines().count());
            for shift in &synced.shifts {
                let at = |said: &Option<Time>| said.is_some_and(|said| shift.from.millis_after(said).abs() < 11.0);
                let Some(truth) = first.said.iter().position(at).and_then(|word| second.said[word]) else { continue };
                sums[number][1] += 1;
                let off = shift.to.millis_after(truth).abs();
                sums[number][0] += usize::from(off <= 250.0);
                if off > 250.0 && std::env::var_os("PLYREEL_TELL").is_some() {
                    println!("{} way {number}: {shift:?}, truth {truth}", narration.name);
                }
            }
        }
    }
    let names = ["old words", "old words, new phrases", "moves alone", "moves alone, new phrases"];
    for ((name, [near, of]), least) in names.into_iter().zip(sums).zip([0.97, 0.97, 0.88, 0.82]) {
        let share = near as f64 / of as f64;
        println!("{name}: {near} of {of} cues within 250 ms ({share:.3})");
        assert!(share >= least, "{name}: {near} of {of}");
    }
}
