//! Motifs against python-chess, and what `plyreel check --suggest` proposes.
//!
//! Needs `python3` with the package `chess` (python-chess). `PLYREEL_POSITIONS` asks for more positions than usual.

use plyreel::game::{Body, Motif, NodeId, PgnFiles};
use plyreel::proof::{self, Sighting};
use plyreel::source::Source;
use serde_json::Value;
use std::process::Command;

/// Positions looked at.
const POSITIONS: usize = 1500;

fn judged(count: usize) -> Vec<Value> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/motifs.py");
    let output =
        Command::new("python3").args([script, "1889", &count.to_string()]).output().expect("this test needs python3");
    assert!(output.status.success(), "the judge failed\n{}", String::from_utf8_lossy(&output.stderr));
    let lines = String::from_utf8(output.stdout).expect("the judge writes UTF-8");
    lines.lines().map(|line| serde_json::from_str(line).expect("one JSON value a line")).collect()
}

fn words(value: &Value) -> Vec<String> {
    value.as_array().expect("a list").iter().map(|word| word.as_str().expect("a text").to_owned()).collect()
}

/// What is seen after the move, and where the kings stand.
fn seen(fen: &str, san: &str) -> Vec<Sighting> {
    let text = format!("[[scene]]\nfen = \"{fen}\"\ncues = [\n  {{ play = \"{san}\" }},\n]\n");
    let (timeline, _) = plyreel::timeline::parse(&Source::new("judged.toml", &*text));
    let (game, diagnostics) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    assert!(!plyreel::diag::has_errors(&diagnostics), "{text}\n{diagnostics:#?}");
    let Body::Board(board) = &game.scenes[0].body else { panic!("a scene with a FEN has a board") };
    proof::sightings(board, NodeId(1))
}

#[test]
fn check_proposes_marks_in_all_forms() {
    let film = concat!(env!("CARGO_MANIFEST_DIR"), "/out-example/not-a-queen.toml");
    let check = |more: &[&str]| {
        let output =
            Command::new(env!("CARGO_BIN_EXE_plyreel")).args(["check", film]).args(more).output().expect("it runs");
        assert_eq!(output.status.code(), Some(0), "a proposal is no mistake, even when doubts are");
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    assert!(!check(&[]).contains("note["));
    let human = check(&["--suggest", "--strict"]);
    assert!(human.contains("note[motif]: marks could show the "), "{human}");
    assert!(human.contains("   = hint: marks = [\"") && human.contains("proposal"), "{human}");
    let short = check(&["--suggest", "--format", "short"]);
    assert!(short.lines().any(|line| line.contains(": note[motif]: marks could show the ")), "{short}");
    let json: Value = serde_json::from_str(&check(&["--suggest", "--format", "json"])).expect("one object");
    let notes: Vec<&Value> =
        json["diagnostics"].as_array().expect("a list").iter().filter(|one| one["severity"] == "note").collect();
    assert!(!notes.is_empty());
    assert!(notes.iter().all(|note| note["code"] == "motif" && note["hint"].as_str().is_some()));
}

#[test]
fn pins_checks_and_flights_are_those_of_python_chess() {
    let count = std::env::var("PLYREEL_POSITIONS").ok().and_then(|count| count.parse().ok()).unwrap_or(POSITIONS);
    let (mut pinned, mut double, mut discovered) = (0, 0, 0);
    for value in judged(count) {
        let (fen, san) = (value["fen"].as_str().expect("a FEN"), value["san"].as_str().expect("a move"));
        let sightings = seen(fen, san);
        let of = |motif| sightings.iter().filter(move |one| one.motif == motif);
        let kings: Vec<String> = value["flights"].as_object().expect("two kings").keys().cloned().collect();

        let to_a_king = of(Motif::Pin).filter(|pin| kings.contains(&pin.squares[2].to_string()));
        let mut pins: Vec<String> = to_a_king.map(|pin| pin.squares[0].to_string()).collect();
        pins.sort();
        assert_eq!(pins, words(&value["pins"]), "pins after {san} in {fen}");
        assert_eq!(of(Motif::DoubleCheck).count() > 0, value["double"], "double check by {san} in {fen}");
        assert_eq!(of(Motif::DiscoveredCheck).count() > 0, value["discovered"], "discovered check by {san} in {fen}");
        for king in &kings {
            let one = of(Motif::Flights).find(|one| one.squares[0].to_string() == *king).expect("each king is seen");
            let mut flights: Vec<String> = one.squares[1..].iter().map(ToString::to_string).collect();
            flights.sort();
            assert_eq!(flights, words(&value["flights"][king]), "flights of the king on {king} after {san} in {fen}");
        }
        pinned += pins.len();
        double += usize::from(value["double"] == true);
        discovered += usize::from(value["discovered"] == true);
    }
    assert!(pinned > count / 20 && double > count / 400 && discovered > count / 100, "{pinned} {double} {discovered}");
}
