//! Tasks of published compositions, true and untrue, and lines for and against them.

use super::super::NoMemory;
use super::super::tests::{MORPHY, cue, game_of, position};
use super::*;
use crate::diag::{Severity, json};
use crate::game::{PgnFiles, resolve};
use crate::source::{Source, Spanned};
use crate::timeline::{Back, Cue, Scene};
use std::sync::Arc;

/// A scene that asks, with lines from its start.
fn scene(fen: &str, task: &str, lines: &[(LineKind, &str)]) -> Vec<Diagnostic> {
    let spanned = |text: &str| Spanned::new(text.to_string(), 0..0);
    let cue = |(kind, moves): &(LineKind, &str)| Cue {
        back: Some(Spanned::new(Back::Start, 0..0)),
        line: Some(Spanned::new(*kind, 0..0)),
        ..cue(moves, &[])
    };
    let scene = Scene { task: Some(spanned(task)), ..position(fen, lines.iter().map(cue).collect()) };
    tasks(&game_of(scene), Budget::default(), &NoMemory)
}

/// What is found: `error: …` or `doubt: …`.
fn told(fen: &str, task: &str, lines: &[(LineKind, &str)]) -> Vec<String> {
    let print = |found: Diagnostic| {
        let severity = if found.severity == Severity::Error { "error" } else { "doubt" };
        format!("{severity}: {}", found.message)
    };
    scene(fen, task, lines).into_iter().map(print).collect()
}

const NOTHING: [&str; 0] = [];
/// F. Saavedra and G. Barbier, Glasgow Weekly Citizen 1895 (from memory).
const SAAVEDRA: &str = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";
/// R. Réti, Deutsch-Österreichische Tages-Zeitung 1921 (from memory).
const RETI: &str = "7K/8/k1P5/7p/8/8/8/8 w - - 0 1";
const BARE: &str = "8/8/8/8/8/2k5/8/K7 w - - 0 1";

#[test]
fn a_task_that_is_not_true_is_refused() {
    let untrue = |fen: &str, task: &str| {
        let expected = [format!("error: the task `{task}` is not true")];
        assert_eq!(told(fen, task, &[]), expected, "{fen}");
    };
    let fine = |fen: &str, task: &str| assert_eq!(told(fen, task, &[]), NOTHING, "{fen} {task}");
    fine(SAAVEDRA, "White to play and win");
    fine(SAAVEDRA, "+");
    untrue(SAAVEDRA, "White to play and draw");
    untrue(SAAVEDRA, "Black to play and win");
    fine(RETI, "White to play and draw");
    fine(RETI, "=");
    untrue(RETI, "White to play and win");
    untrue(BARE, "White to play and win");
    untrue(BARE, "h#2");
    fine(MORPHY, "Mate in 2");
    fine(MORPHY, "#2");
    untrue(MORPHY, "Mate in 1");
    // Whose move it is, is said without a stipulation too.
    fine(BARE, "White to move");
    untrue(BARE, "Black to move");
    untrue(BARE, "Schwarz am Zug");
    untrue(SAAVEDRA, "Schwarz am Zug gewinnt");
    fine(SAAVEDRA, "Weiß am Zug gewinnt");
    fine(SAAVEDRA, "Black plays his rook away. White to play and win");
    // What is no plain demand asks for nothing that could be untrue.
    for told in [
        "What can Black to move do here?",
        "White to move cannot win",
        "Why White cannot win",
        "Black wins the race but does not win",
        "A study by Darwin",
        "The twin",
        "White threatens mate in 1",
        "Black to move: stop mate in 1",
        "After Black plays well White wins",
    ] {
        fine(BARE, told);
        fine("8/8/8/8/8/2k5/8/K7 b - - 0 1", told);
    }
    // Nor is a mate that the other side is to give.
    fine(MORPHY, "White mates in 2");
    untrue(MORPHY, "White mates in 1");
    fine("kbK5/pp6/1P6/8/8/8/8/R7 b - - 0 1", "Schwarz am Zug, Weiß setzt in 2 Zügen matt");
    fine(BARE, "The white king and the black one");
}

#[test]
fn what_is_not_decided_is_passed_over() {
    let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    assert_eq!(told(start, "White to play and win", &[(LineKind::Solution, "e4 e5")]), NOTHING);
}

#[test]
fn a_line_that_contradicts_a_study_is_doubted() {
    let up_to_promotion = "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4";
    let study = |lines: &[(LineKind, &str)]| told(SAAVEDRA, "White to play and win", lines);
    let rook = format!("{up_to_promotion} c8=R Ra4 Kb3");
    let queen = format!("{up_to_promotion} c8=Q Rc4+ Qxc4");
    assert_eq!(study(&[(LineKind::Solution, &rook), (LineKind::Try, &queen)]), NOTHING);
    let doubted = ["doubt: after `6.c8=Q` White no longer wins, as the task asks"];
    assert_eq!(study(&[(LineKind::Solution, &queen)]), doubted);
    let both = [(LineKind::Solution, queen.as_str()), (LineKind::Try, rook.as_str())];
    assert_eq!(study(&both), [doubted[0], "doubt: the try `6.c8=R` wins too"]);
    // A replay shows what has been judged, and a defence may be as bad as it likes.
    assert_eq!(study(&[(LineKind::Replay, &queen)]), NOTHING);
    assert_eq!(study(&[(LineKind::Solution, "c7 Rd2 c8=Q")]), NOTHING);
    let reti = |lines: &[(LineKind, &str)]| told(RETI, "White to play and draw", lines);
    assert_eq!(reti(&[(LineKind::Solution, "Kg7 h4 Kf6 Kb6 Ke5"), (LineKind::Try, "Kh7 h4")]), NOTHING);
    assert_eq!(
        reti(&[(LineKind::Solution, "Kh7 h4 Kg6 h3"), (LineKind::Try, "Kg7 h4 Kf6")]),
        ["doubt: after `1.Kh7` White no longer draws, as the task asks", "doubt: the try `1.Kg7` draws too"]
    );
}

#[test]
fn a_line_that_contradicts_a_mate_is_doubted() {
    let told = |lines: &[(LineKind, &str)]| told(MORPHY, "Mate in 2", lines);
    assert_eq!(told(&[(LineKind::Solution, "Ra6 bxa6 b7#")]), NOTHING);
    assert_eq!(told(&[(LineKind::Try, "Ra5 Bh2"), (LineKind::Solution, "Ra6 bxa6 b7#")]), NOTHING);
    assert_eq!(
        told(&[(LineKind::Solution, "Ra5 Bh2"), (LineKind::Try, "Ra6 bxa6 b7#")]),
        [
            "doubt: `1.Ra5` does not mate in 2, as the task asks",
            "doubt: the try `1.Ra6` does mate in 2, as the task asks"
        ]
    );
}

#[test]
fn a_contradiction_says_which_and_what_to_do() {
    let found = scene(MORPHY, "Mate in 2", &[(LineKind::Solution, "Ra5 Bh2")]);
    assert_eq!((found[0].primary.text.as_str(), found[0].hints.len()), ("Ra6 does", 1));
    let found = scene(SAAVEDRA, "Black to move", &[]);
    assert_eq!(found[0].primary.text, "it sends Black first, but White is to move");
}

#[test]
fn of_a_file_only_what_the_film_plays_is_judged() {
    let moves = "1. c7 Rd6+ 2. Kb5 Rd5+ 3. Kb4 Rd4+ 4. Kb3 Rd3+ 5. Kc2 Rd4 6. c8=Q (6. c8=R Ra4 7. Kb3) 6... Rc4+ *";
    let pgn = format!("[SetUp \"1\"]\n[FEN \"{SAAVEDRA}\"]\n\n{moves}\n");
    let film = |cues: &str| {
        let text = format!("[[scene]]\nat = 0\npgn = \"a.pgn\"\ntask = \"White to play and win\"\n{cues}");
        let (timeline, found) = crate::timeline::parse(&Source::new("film.toml", text));
        assert!(found.is_empty(), "{found:#?}");
        let files = PgnFiles::from([("a.pgn".to_owned(), Ok(Arc::new(Source::new("a.pgn", pgn.clone()))))]);
        let game = resolve(&timeline, &files).0;
        let source = Source::new("film.toml", String::new());
        json::values(&tasks(&game, Budget::default(), &NoMemory), &source).len()
    };
    assert_eq!(film(""), 1, "the main line draws; the variation that wins is not played");
    let main = "cues = [{ at = 1, play = \"c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4\" }]";
    assert_eq!(film(main), 0, "the film stops before either");
    let both = format!(
        "{}, {{ at = 2, play = \"c8=Q\" }}, {{ at = 3, back = 1 }}, {{ at = 4, play = \"c8=R\" }}]",
        main.trim_end_matches(']')
    );
    assert_eq!(film(&both), 2, "a solution that draws, and a try that wins");
}
