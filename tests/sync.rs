//! Retakes: narrations said again, slower and faster, with passages left out, begun twice and put in; and their timelines
//! brought into step with them.

mod spoken;

use plyreel::diag::has_errors;
use plyreel::draft::Language;
use plyreel::game::{self, PgnFiles};
use plyreel::narration::transcript::{Transcript, Word};
use plyreel::source::Source;
use plyreel::sync::{self, Found, Synced, Take};
use plyreel::timeline;
use plyreel::units::Time;
use spoken::{Dice, Narration, drafted, narrations, spoiled};

/// A new take, and for every old word when it is said in it, if it is.
fn retake(narration: &Narration, strength: u32) -> (Transcript, Vec<Option<Time>>) {
    let old = &narration.transcript;
    let mut dice = Dice::new(&narration.name, 77);
    let mut words: Vec<Word> = Vec::new();
    let mut said = vec![None; old.words.len()];
    let mut clock = 0.4;
    let mut phrase_number = 0;
    let time = |seconds: f64| Time::from_millis((seconds * 1000.0) as i64);
    for phrase in &old.phrases {
        clock += 0.3 + 1.2 * dice.roll();
        let rate = 0.75 + 0.6 * dice.roll();
        let fate = dice.roll();
        if fate < 0.06 {
            continue; // left out
        }
        phrase_number += 1;
        let mut speak = |range: std::ops::Range<usize>, clock: &mut f64, number: usize, truth: bool| {
            for index in range {
                let word = &old.words[index];
                let before = index.checked_sub(1).map_or(word.start, |before| old.words[before].end);
                if index > phrase.words.start {
                    *clock += word.start.since(before).as_secs_f64() * rate;
                }
                let length = word.end.since(word.start).as_secs_f64() * rate;
                if truth {
                    said[index] = Some(time(*clock));
                }
                words.push(Word { start: time(*clock), end: time(*clock + length), phrase: number, ..word.clone() });
                *clock += length;
            }
        };
        if fate < 0.12 && phrase.words.len() > 3 {
            // Begun, broken off, and begun again.
            speak(phrase.words.start..phrase.words.start + 2, &mut clock, phrase_number, false);
            clock += 0.8;
            phrase_number += 1;
        }
        speak(phrase.words.clone(), &mut clock, phrase_number, true);
        if fate > 0.94 {
            phrase_number += 1;
            for text in "and that is something one should always look out for".split(' ') {
                clock += 0.05;
                let (start, end) = (time(clock), time(clock + 0.2));
                words.push(Word { text: text.into(), start, end, phrase: phrase_number, ..old.words[0].clone() });
                clock += 0.2;
            }
        }
    }
    (spoiled(&Transcript::from_words(words), &narration.name, strength), said)
}

fn synced(narration: &Narration, text: &str, take: &Transcript, old: Option<&Transcript>) -> Synced {
    let source = Source::new("film.toml", text);
    let (timeline, mut found) = timeline::parse(&source);
    let files = PgnFiles::from([("lines.pgn".to_owned(), Ok(narration.pgn.clone()))]);
    let (game, of_game) = game::resolve(&timeline, &files);
    found.extend(of_game);
    assert!(!has_errors(&found), "{found:?}");
    let language = Language::named(&narration.language).expect("a known language");
    let take = Take { words: take, old_words: old, speech: None, language: &language, length: None };
    let synced = sync::sync(&source, &timeline, &game, &take);
    let again = Source::new("film.toml", synced.text.as_str());
    let (timeline, mut found) = timeline::parse(&again);
    found.extend(game::resolve(&timeline, &files).1);
    assert!(!has_errors(&found), "{found:?}\n{}", synced.text);
    synced
}

/// The text with the times of its cues and scenes blotted out, and the paces.
fn without_times(text: &str) -> String {
    let blot = |line: &str| {
        let mut line = line.to_owned();
        for key in ["at = \"", "at   = \"", "every = \""] {
            if let Some((before, rest)) = line.clone().split_once(key) {
                let (_, after) = rest.split_once('"').expect("the quote is closed");
                line = format!("{before}{key}~\"{after}");
            }
        }
        line
    };
    text.lines().map(blot).collect::<Vec<_>>().join("\n")
}

#[test]
fn cues_go_to_their_words_and_all_else_stays() {
    let mut sums = [[0_usize; 4]; 4];
    for narration in ["tuned", "untouched"].into_iter().flat_map(narrations) {
        let old = &narration.transcript;
        let text = drafted(&narration, old, true).replace("\n[[scene]]", "\n# a note of the author's\n[[scene]]");
        for (number, (strength, with_words)) in [(0, true), (2, true), (0, false), (1, false)].into_iter().enumerate() {
            let (take, said) = retake(&narration, strength);
            let Synced { text: after, shifts } = synced(&narration, &text, &take, with_words.then_some(old));
            assert_eq!(without_times(&text), without_times(&after), "only times differ");
            let (mut right, mut of, mut told, mut cut) = (0, 0, 0, 0);
            for shift in &shifts {
                // A cue stands at the beginning of its first word; those without a word have no place of their own.
                let Some(word) =
                    old.words.iter().position(|word| (word.start.as_micros() - shift.from.as_micros()).abs() < 11_000)
                else {
                    continue;
                };
                let Some(truth) = said[word] else {
                    cut += 1;
                    told += usize::from(shift.found != Found::Word);
                    continue;
                };
                of += 1;
                let off = shift.to.millis_after(truth).abs();
                right += usize::from(off <= 250.0);
                if off > 250.0 && std::env::var_os("PLYREEL_TELL").is_some() {
                    println!(
                        "{} strength {strength}, old words {with_words}: {shift:?}, truth {truth}",
                        narration.name
                    );
                }
            }
            for (sum, one) in sums[number].iter_mut().zip([right, of, told, cut]) {
                *sum += one;
            }
        }
    }
    let names = ["old words", "old words, noise 2", "moves alone", "moves alone, noise 1"];
    for ((name, [right, of, told, cut]), (least, least_told)) in
        names.into_iter().zip(sums).zip([(0.99, 1.0), (0.98, 1.0), (0.97, 0.85), (0.95, 0.85)])
    {
        let share = right as f64 / of as f64;
        println!("{name}: {right} of {of} cues within 250 ms ({share:.3}); {told} of {cut} cues of cut passages told");
        assert!(share >= least, "{name}: {right} of {of}");
        assert!(told as f64 >= least_told * cut as f64, "{name}: {told} of {cut} told");
    }
}

const FILM: &str = "[[scene]]\nfen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\ncues = [\n  { at = \"0:02.0\", play = \"c7\" },  # a\n  \
                    { at = \"0:05.0\", play = \"Rd6+\" },\n]\n";

#[test]
fn the_program_writes_over_nothing_unasked() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_plyreel"));
        command.arg("sync").args(arguments).current_dir(folder.path()).stdin(std::process::Stdio::null());
        let output = command.env_remove("HOME").env_remove("XDG_CACHE_HOME").output().expect("the program starts");
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        (output.status.code().expect("not killed"), text(&output.stdout), text(&output.stderr))
    };
    let put = |name: &str, text: &str| std::fs::write(path(name), text).expect("a file");
    let get = |name: &str| std::fs::read_to_string(path(name)).expect("a file");
    put("film.toml", FILM);
    put("same.txt", "[0:02.0] Pawn c seven. [0:05.0] Rook d six check.");
    put("take.txt", "[0:03.0] Pawn c seven. [0:07.5] Rook d six check.");
    let moved = FILM.replace("0:02.0", "0:03.0").replace("0:05.0", "0:07.5");

    // The same take: the file is left alone.
    assert_eq!(run(&["film.toml", "--words", "same.txt"]).0, 0);
    assert!(get("film.toml") == FILM && !path("film.toml.bak").exists());
    // Standard output holds the timeline and nothing else; what moved is told all the same.
    let (code, out, talk) = run(&["film.toml", "--words", "take.txt", "-o", "-"]);
    assert_eq!((code, out.as_str()), (0, moved.as_str()), "{talk}");
    assert!(talk.contains("2 times: 2 at their words"), "{talk}");
    // Another file is only replaced when asked to, and then without a copy of it.
    put("other.toml", "mine");
    let (code, _, talk) = run(&["film.toml", "--words", "take.txt", "-o", "other.toml"]);
    assert!(code == 2 && talk.contains("--force") && get("other.toml") == "mine", "{talk}");
    assert_eq!(run(&["film.toml", "--words", "take.txt", "-o", "other.toml", "--force"]).0, 0);
    assert!(get("other.toml") == moved && get("film.toml") == FILM && !path("other.toml.bak").exists());
    // A dry run writes nothing.
    assert_eq!(run(&["film.toml", "--words", "take.txt", "--dry-run"]).0, 0);
    assert_eq!(get("film.toml"), FILM);
    // The file itself, by whichever name, keeps what it was.
    assert_eq!(run(&["film.toml", "--words", "take.txt", "-o", "./film.toml"]).0, 0);
    assert!(get("film.toml") == moved && get("film.toml.bak") == FILM);
    // A recording that cannot be read is the world's fault.
    put("noise.flac", "no sound at all");
    assert_eq!(run(&["film.toml", "--words", "take.txt", "--narration", "noise.flac"]).0, 3);
    assert_eq!(run(&["film.toml", "--words", "nothing.txt"]).0, 3);
    assert_eq!(get("film.toml"), moved);
}
