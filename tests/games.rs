//! Games that python-chess plays, spoils and solves, against plyreel's replay, diagnostics and proofs.
//!
//! Needs `python3` with the package `chess` (python-chess): `python3 -m pip install chess`.

use plyreel::diag::{Code, Diagnostic};
use plyreel::game::{Body, Game, PgnFiles, State};
use plyreel::proof::{self, Verdict};
use plyreel::source::Source;
use serde_json::Value;
use std::fmt::Write as _;
use std::process::Command;

/// Games of each kind.
const GAMES: usize = 2000;
/// Positions whose mates python-chess finds by trying everything.
const MATES: usize = 150;

/// What the judge writes, one value a line.
fn judged(kind: &str, seed: u32, count: usize) -> Vec<Value> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/games.py");
    let output = Command::new("python3")
        .args([script, kind, &seed.to_string(), &count.to_string()])
        .output()
        .expect("this test needs python3");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the judge failed; it needs `python3 -m pip install chess`\n{complaint}");
    let lines = String::from_utf8(output.stdout).expect("the judge writes UTF-8");
    let values: Vec<Value> =
        lines.lines().map(|line| serde_json::from_str(line).expect("one JSON value a line")).collect();
    assert_eq!(values.len(), count);
    values
}

fn strings<'a>(value: &'a Value, key: &str) -> Vec<&'a str> {
    value[key].as_array().expect("a list").iter().map(|word| word.as_str().expect("a text")).collect()
}

/// A timeline of one scene: five moves a cue, each behind a caption with letters of two and three bytes. Also the line
/// and the column of every word, from 1, the column in characters.
fn film(fen: &str, words: &[&str]) -> (String, Vec<(usize, usize)>) {
    let mut text = format!("[[scene]]\nname = \"G\"\nfen = \"{fen}\"\ncues = [\n");
    let mut places = Vec::new();
    for (line, five) in words.chunks(5).enumerate() {
        let lead = "  { text = \"Zug \u{2654} f\u{fc}r Zug\", play = \"";
        let mut column = lead.chars().count() + 1;
        for word in five {
            places.push((line + 5, column));
            column += word.chars().count() + 1;
        }
        writeln!(text, "{lead}{}\" }},", five.join(" ")).expect("a text can be written to");
    }
    text.push_str("]\n");
    (text, places)
}

fn resolved(text: &str) -> (Source, Game, Vec<Diagnostic>) {
    let source = Source::new("game.toml", text);
    let (timeline, mut diagnostics) = plyreel::timeline::parse(&source);
    let (game, found) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    diagnostics.extend(found);
    (source, game, diagnostics)
}

#[test]
fn random_games_are_replayed_position_by_position() {
    let mut plies = 0;
    for game in judged("play", 1895, GAMES) {
        let fen = game["fen"].as_str().expect("a FEN");
        let (text, _) = film(fen, &strings(&game, "words"));
        let (_, resolved, diagnostics) = resolved(&text);
        assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
        let Body::Board(board) = &resolved.scenes[0].body else { panic!("a scene with a FEN has a board") };
        let at_each_step: Vec<&str> = board.steps.iter().map(|step| board.nodes[step.node.0].fen.as_str()).collect();
        assert_eq!(at_each_step, strings(&game, "fens"), "{text}");
        let sans: Vec<&str> = board
            .steps
            .iter()
            .map(|step| board.nodes[step.node.0].came.as_ref().map_or("", |(_, ply)| ply.san.as_str()))
            .collect();
        assert_eq!(sans, strings(&game, "sans"), "{text}");
        let last = board.steps.last().map_or(State::Quiet, |step| board.nodes[step.node.0].state);
        let end = match last {
            State::Quiet => "quiet",
            State::Check => "check",
            State::Mate => "mate",
            State::Stalemate => "stalemate",
        };
        assert_eq!(end, game["end"], "{text}");
        plies += sans.len();
    }
    assert!(plies > 10 * GAMES, "the judge's games are long enough to mean something: {plies} plies");
}

#[test]
fn spoilt_games_are_refused_where_they_are_spoilt() {
    let mut refused = std::collections::BTreeMap::new();
    for game in judged("spoil", 1921, GAMES) {
        let fen = game["fen"].as_str().expect("a FEN");
        let (text, places) = film(fen, &strings(&game, "words"));
        let (source, _, diagnostics) = resolved(&text);
        let bad = usize::try_from(game["bad"].as_u64().expect("a number")).expect("a small number");
        let word = strings(&game, "words")[bad];
        assert_eq!(diagnostics.len(), 1, "one mistake, one diagnostic: `{word}` in\n{text}\n{diagnostics:#?}");
        let found = &diagnostics[0];
        assert_eq!(found.code.name(), game["code"], "`{word}` in\n{text}\n{found:#?}");
        let (line, mut column) = places[bad];
        if found.code == Code::WrongSuffix {
            column += word.chars().count() - 1; // The sign itself is shown, not the whole word.
        }
        assert_eq!(source.line_column(found.primary.span.start), (line, column), "`{word}` in\n{text}");
        assert!(!found.primary.text.is_empty() && !found.hints.is_empty(), "{found:#?}");
        *refused.entry(found.code.name()).or_insert(0) += 1;
    }
    assert_eq!(refused.len(), 3, "{refused:?}");
    assert!(refused.values().all(|count| *count > GAMES / 40), "{refused:?}");
}

#[test]
fn small_mates_agree_with_trying_everything() {
    for position in judged("mates", 1868, MATES) {
        let fen = position["fen"].as_str().expect("a FEN");
        let text = format!(
            "[[scene]]\nname = \"M\"\nfen = \"{fen}\"\ncues = [{{ claim = [\"mate in 1\", \"mate in 2\"] }}]\n"
        );
        let (_, game, diagnostics) = resolved(&text);
        assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
        let verdicts: Vec<Verdict> = proof::judge(&game).iter().map(|finding| finding.verdict).collect();
        let expected = match position["mate"].as_u64() {
            Some(1) => [Verdict::Proven, Verdict::Proven],
            Some(2) => [Verdict::Refuted, Verdict::Proven],
            _ => [Verdict::Refuted, Verdict::Refuted],
        };
        assert_eq!(verdicts, expected, "{fen}");
    }
}
