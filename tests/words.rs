//! Timed words: subtitle files as other parsers read them, and word times made of phrase times, against a synthesiser's own.

mod spoken;

use plyreel::narration::transcript::{self, Transcript};
use plyreel::narration::{Recording, Speech};
use plyreel::source::Source;
use plyreel::units::Time;
use spoken::{Dice, narrations};
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

/// What a Python script beside the tests prints.
fn judge(script: &str, arguments: &[&str], input: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges").join(script);
    let mut command = Command::new("python3");
    command.arg(path).args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("these tests need python3");
    child.stdin.take().expect("a pipe").write_all(input.as_bytes()).expect("the script reads");
    let output = child.wait_with_output().expect("the script ends");
    assert!(output.status.success(), "{script} (scripts/tools test): {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

fn clock(millis: i64, sign: char) -> String {
    let (hours, minutes) = (millis / 3_600_000, millis / 60_000 % 60);
    format!("{hours:02}:{minutes:02}:{:02}{sign}{:03}", millis / 1000 % 60, millis % 1000)
}

#[test]
fn other_parsers_read_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for narration in narrations("tuned") {
        let (mut srt, mut vtt) = (String::new(), "WEBVTT\n\nNOTE\nnot said\n\n".to_owned());
        for (number, phrase) in narration.transcript.phrases.iter().enumerate() {
            let (start, end) = (phrase.start.as_micros() / 1000, phrase.end.as_micros() / 1000);
            let text = narration.transcript.text_of(phrase).replacen(' ', "\n", 1);
            let _ = write!(srt, "{}\n{} --> {}\n{text}\n\n", number + 1, clock(start, ','), clock(end, ','));
            let _ = write!(vtt, "cue {number}\n{} --> {} line:80%\n{text}\n\n", clock(start, '.'), clock(end, '.'));
        }
        for (name, text) in [("words.srt", &srt), ("words.vtt", &vtt)] {
            let path = folder.path().join(name);
            fs::write(&path, text).unwrap();
            let (transcript, told) = transcript::read(&Source::new(&path, text.as_str()));
            assert!(told.is_empty(), "{told:?}");
            let line = |phrase: &transcript::Phrase| {
                let (start, end) = (phrase.start.as_micros() / 1000, phrase.end.as_micros() / 1000);
                format!("{start} {end} {}\n", transcript.text_of(phrase))
            };
            let ours: String = transcript.phrases.iter().map(line).collect();
            assert_eq!(judge("subtitles.py", &[path.to_str().unwrap()], ""), ours, "{} {name}", narration.name);
        }
    }
}

/// How many words are within so many ms of where they are said.
fn share_within(transcript: &Transcript, truth: &[Time], limit: f32) -> f64 {
    assert_eq!(transcript.words.len(), truth.len());
    let near =
        transcript.words.iter().zip(truth).filter(|(word, truth)| word.start.millis_after(**truth).abs() <= limit);
    near.count() as f64 / truth.len() as f64
}

#[test]
fn words_are_found_by_phrase_times_and_sound() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("spoken.wav");
    let mut dice = Dice::new("jitter", 1);
    let (mut phrases, mut truth) = (Vec::new(), Vec::new());
    let names = ["troitzky", "knight-fork", "scotch"];
    let text: String = narrations("tuned")
        .iter()
        .filter(|narration| names.contains(&narration.name.as_str()))
        .flat_map(|narration| {
            narration.transcript.phrases.iter().map(|phrase| narration.transcript.text_of(phrase) + "\n")
        })
        .collect();
    for line in judge("espeak.py", &[path.to_str().unwrap(), "5"], &text).lines() {
        let (start, end, mut words): (f64, f64, Vec<(String, f64)>) = serde_json::from_str(line).expect("a phrase");
        words.retain(|(word, _)| word.contains(char::is_alphanumeric));
        // Recognisers are off by about this much at both ends.
        let mut off = |time: f64| Time::from_millis((time * 1000.0 + 240.0 * (dice.roll() - 0.5)) as i64);
        let said = words.iter().map(|(word, _)| word.as_str()).collect::<Vec<_>>().join(" ");
        phrases.push((off(start), off(end), said));
        truth.extend(words.iter().map(|(_, time)| Time::from_millis((time * 1000.0) as i64)));
    }
    let guessed = Transcript::from_phrases(phrases.iter().map(|(start, end, said)| (*start, *end, said.as_str())));
    let speech = Speech::heard(&Recording::open(&path).unwrap()).unwrap();
    let refined = guessed.refined(&speech);
    for (name, transcript) in [("phrase times alone", &guessed), ("with the sound", &refined)] {
        let shares = [100.0, 150.0, 250.0, 400.0].map(|limit| share_within(transcript, &truth, limit));
        println!("{name}: {} words, within 100, 150, 250, 400 ms: {shares:.3?}", truth.len());
    }
    assert!(share_within(&guessed, &truth, 400.0) >= 0.95);
    assert!(share_within(&refined, &truth, 400.0) >= 0.97);
    assert!(share_within(&refined, &truth, 250.0) >= share_within(&guessed, &truth, 250.0));
}
