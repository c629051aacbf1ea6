use super::*;
use crate::game::{Body, PgnFiles};
use crate::source::Source;

/// The report of a scene with this task, these moves of the solution and, from the start again, these of a try.
fn reported(fen: &str, task: &str, solution: &str, tried: &str) -> Report {
    let mut text = format!("[[scene]]\nfen = \"{fen}\"\ntask = \"{task}\"\ncues = [\n  {{ text = \"-\" }},\n");
    for (moves, head) in [(tried, "line = \"try\", "), (solution, "back = \"start\" },\n  { line = \"solution\", ")] {
        if !moves.is_empty() {
            let head = if tried.is_empty() { "" } else { head };
            let cue = ["  { ", head, "play = \"", moves, "\" },\n"];
            text.extend(cue);
        }
    }
    text.push_str("]\n");
    let (timeline, mut diagnostics) = crate::timeline::parse(&Source::new("study.toml", &*text));
    let (game, found) = crate::game::resolve(&timeline, &PgnFiles::new());
    diagnostics.extend(found);
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let Body::Board(board) = &game.scenes[0].body else { panic!("a scene with a FEN has a board") };
    report(None, board, Budget::default())
}

fn problem(fen: &str, task: &str) -> Report {
    reported(fen, task, "", "")
}

/// The rows of a section as `moves word note`.
fn rows(report: &Report, title: &str) -> Vec<String> {
    let sections = report.sections.iter().filter(|section| section.title.starts_with(title));
    let rows = sections.flat_map(|section| &section.rows);
    rows.map(|row| format!("{} {} {}", row.moves, row.word, row.note).trim().to_string()).collect()
}

#[test]
fn material_is_coded_as_the_worked_examples_have_it() {
    // R. Kubbel, 1st prize, Shakhmaty 1925, and the material examples of the code's description.
    for (fen, task, code) in [
        ("6n1/8/2p4P/8/8/r1p3K1/B7/4B1k1 w - - 0 1", "White to play and draw", "=0323.12g3g1"),
        ("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1", "", "4888.88e1e8"),
        ("4k3/4p3/8/8/8/8/8/2N1K1N1 w - - 0 1", "", "0002.01e1e8"),
        ("4k3/8/8/8/8/8/4P3/4K3 w - - 0 1", "+", "+0000.10e1e8"),
        ("4k3/4b3/8/8/8/8/8/2B1KB2 w - - 0 1", "", "0050.00e1e8"),
        ("4k2r/4p3/8/8/8/8/8/2B1KN2 w - - 0 1", "", "0311.01e1e8"),
        ("4k2r/8/8/8/8/8/4P3/4K2R w - - 0 1", "", "0400.10e1e8"),
        ("4k2q/8/8/8/8/8/8/4K2Q w - - 0 1", "", "4000.00e1e8"),
        ("4k1n1/8/8/8/8/8/8/1N2K1N1 w - - 0 1", "", "0005.00e1e8"),
        ("4k3/8/8/8/8/8/8/QQQ1K3 w - - 0 1", "", "9000.00e1e8"),
    ] {
        let fen: shakmaty::fen::Fen = fen.parse().expect("a FEN");
        let position = rules::position_of(fen.into_setup()).expect("a legal position");
        assert_eq!(gbr::code(&position, Stipulation::read(task)), code);
    }
}

#[test]
fn stipulations_are_read_in_signs_and_words() {
    for (text, sign) in [
        ("White to play and win", "+"),
        ("White to play and draw.", "="),
        ("#3", "#3"),
        ("Mate in two", "#2"),
        ("White mates; mate in 2 moves", "#2"),
        ("s#4", "s#4"),
        ("h#2.5", "h#2.5"),
        ("h#2", "h#2"),
        ("Helpmate in 3", "h#3"),
        ("r#2", "r#2"),
    ] {
        assert_eq!(Stipulation::read(text).map(|found| found.to_string()).as_deref(), Some(sign), "{text}");
    }
    for text in ["", "#0", "a fine evening", "h#", "h#x"] {
        assert_eq!(Stipulation::read(text), None, "{text}");
    }
}

/// Two-movers with their keys, duals and cooks found by trying everything with another program.
#[test]
fn two_movers_have_their_keys_duals_and_cooks() {
    let sound = problem("8/3p2R1/8/1RK5/8/k7/8/8 w - - 0 1", "#2");
    assert_eq!(sound.verdict, Some("proven"));
    assert_eq!(rows(&sound, "Key"), ["1.Rxd7 key threat: Ra7#"]);
    assert_eq!(rows(&sound, "Variations"), ["1...Ka2 mate 2.Ra7#", "1...Ka4 mate 2.Ra7#"]);
    let with_duals = problem("k7/3p4/7Q/1K6/7p/8/8/8 w - - 0 1", "#2");
    assert_eq!((with_duals.verdict, with_duals.witness.starts_with("Kb6 is the only key")), (Some("proven"), true));
    let variations = rows(&with_duals, "Variations");
    assert!(
        !variations.is_empty() && variations.iter().all(|row| row.ends_with("dual 2.Qf8# and Qh8#")),
        "{variations:?}"
    );
    let cooked = problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#2");
    assert_eq!(cooked.witness, "2 keys: Rg2 and Rh2");
    assert_eq!(problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#3").verdict, Some("refuted"), "it takes two");
    assert_eq!(problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#1").verdict, Some("refuted"));
}

/// P. Morphy 1856, T. Taverner 1889, S. Loyd 1859 and 1868 (from memory).
#[test]
fn published_problems_have_one_key() {
    for (fen, task, key) in [
        ("kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", "#2", "1.Ra6 key"),
        ("3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1", "#2", "1.Rh1 key block"),
        ("8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1", "#3", "1.Rxg3 key"),
        ("b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1", "#3", "1.bxa8=N key"),
    ] {
        let report = problem(fen, task);
        let keys = rows(&report, "Key");
        assert!(keys.len() == 1 && keys[0].starts_with(key), "{}", report.human());
    }
}

#[test]
fn help_self_and_reflexmates_are_solved() {
    // One solution by trying everything with another program.
    let helped = problem("4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1", "h#2");
    assert_eq!(helped.witness, "one solution: 1.Kf1 Ke3 2.Ke1 Rc1#");
    assert_eq!(problem("4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1", "h#1").verdict, Some("refuted"));
    // Made for this test, solved by trying everything with another program: the queen gives itself up with check.
    let selfmate = "2r5/6pp/6bk/7p/8/8/PP6/K4Q2 w - - 0 1";
    assert_eq!(problem(selfmate, "s#1").witness, "one solution: 1.Qc1+");
    assert_eq!(problem(selfmate, "s#2").verdict, Some("refuted"), "it is done in one already");
    assert_eq!(problem(selfmate, "r#1").verdict, Some("refuted"), "White could mate and must");
    let reflexmate = problem("8/Q3r2K/2r5/1q6/P7/8/8/3k4 w - - 0 1", "r#1");
    assert_eq!(rows(&reflexmate, "Solutions"), ["1.Kg8", "1.Kh8"]);
}

#[test]
fn a_study_is_tested_move_by_move() {
    // King and pawn against king: the stipulation, a dual, a try and a mutual zugzwang, by trying everything.
    let report = reported("8/8/8/4k3/8/8/3KP3/8 w - - 0 1", "White to play and win", "Ke3", "Kd3");
    assert_eq!(report.gbr, "+0000.10d2e5");
    assert_eq!(report.men, "2+1");
    let solution = rows(&report, "The solution");
    assert_eq!(report.verdict, Some("proven"), "{}", report.human());
    assert!(solution[0].starts_with("1.Ke3 only"), "{}", report.human());
    assert_eq!(rows(&report, "Mutual zugzwangs").len(), 1, "{}", report.human());
    assert!(rows(&report, "Tries")[0].starts_with("1.Kd3 fails"), "{}", report.human());
    assert!(report.markdown().contains("### Tries"));
}
