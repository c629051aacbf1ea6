use super::*;
use crate::game::{Body, PgnFiles};
use crate::source::Source;

/// The report of a scene with this task, these moves of the solution and, from the start again, these of a try.
fn reported(fen: &str, task: &str, solution: &str, tried: &str) -> Report {
    reported_within(fen, task, solution, tried, Budget::default())
}

fn reported_within(fen: &str, task: &str, solution: &str, tried: &str, budget: Budget) -> Report {
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
    report(None, board, &[], budget)
}

fn problem(fen: &str, task: &str) -> Report {
    reported(fen, task, "", "")
}

/// The rows of a section as `moves word note`.
fn rows(report: &Report, id: &str) -> Vec<String> {
    let sections = report.sections.iter().filter(|section| section.id == id);
    let rows = sections.flat_map(|section| &section.rows);
    rows.map(|row| format!("{} {} {}", row.moves, row.worded(), row.note).trim().to_string()).collect()
}

fn printed(report: &Report) -> String {
    human(std::slice::from_ref(report))
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
        ("rnb1kbnr/8/n7/8/8/8/8/2BQKB2 w - - 0 1", "", "1689.00e1e8"),
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
    for text in ["", "#0", "a fine evening", "h#", "h#x", "Weiß gewinnt nicht", "Matt in keinem Zug", "Hilfsmatt"] {
        assert_eq!(Stipulation::read(text), None, "{text}");
    }
    for (text, sign, begins) in [
        ("Weiß am Zug gewinnt", "+", Some(Color::White)),
        ("Weiß gewinnt", "+", None),
        ("Weiss zieht und gewinnt", "+", Some(Color::White)),
        ("Schwarz am Zug hält remis", "=", Some(Color::Black)),
        ("Weiß am Zug, remis.", "=", Some(Color::White)),
        ("Gewinn", "+", None),
        ("Matt in 3 Zügen", "#3", None),
        ("Matt in drei Zügen", "#3", None),
        ("Matt in einem Zug", "#1", None),
        ("Weiß setzt in zwei Zügen matt.", "#2", None),
        ("Weiß beginnt und setzt matt in zwei Zügen", "#2", Some(Color::White)),
        ("Selbstmatt in 4 Zügen", "s#4", None),
        ("Reflexmatt in zwei Zügen", "r#2", None),
        ("Hilfsmatt in 2 Zügen, zwei Lösungen", "h#2", None),
        ("Hilfsmatt in 2,5 Zügen", "h#2.5", None),
    ] {
        assert_eq!(Stipulation::read(text).map(|found| found.to_string()).as_deref(), Some(sign), "{text}");
        assert_eq!(Stipulation::begins(text), begins, "{text}");
    }
    assert_eq!(Stipulation::solver("Schwarz am Zug, Weiß gewinnt", Color::Black), Color::White);
    assert_eq!(Stipulation::intended_solutions("Hilfsmatt in 2 Zügen, zwei Lösungen"), Some(2));
}

#[test]
fn the_number_of_solutions_is_read() {
    for (task, count) in [
        ("h#3, 2 solutions", Some(2)),
        ("Helpmate in 2, two solutions", Some(2)),
        ("h#2 (3 solutions)", Some(3)),
        ("h#2", None),
        ("solution", None),
    ] {
        assert_eq!(Stipulation::intended_solutions(task), count, "{task}");
    }
    assert_eq!(Stipulation::read("h#2.5, 2 solutions").map(|found| found.to_string()).as_deref(), Some("h#2.5"));
}

/// Two-movers with their keys, duals and cooks found by trying everything with another program.
#[test]
fn two_movers_have_their_keys_duals_and_cooks() {
    let sound = problem("8/3p2R1/8/1RK5/8/k7/8/8 w - - 0 1", "#2");
    assert_eq!((sound.verdict, sound.soundness), (Some("proven"), Some("sound")));
    assert_eq!(rows(&sound, "key"), ["1.Rxd7 key threat 2.Ra7#"]);
    assert_eq!(rows(&sound, "variations"), ["1...Ka2, Ka4 threat 2.Ra7#"]);
    assert_eq!(sound.summary, "1.Rxd7 is the only key; no dual");
    let with_duals = problem("k7/3p4/7Q/1K6/7p/8/8/8 w - - 0 1", "#2");
    assert_eq!(with_duals.verdict, Some("proven"));
    assert_eq!(rows(&with_duals, "key"), ["1.Kb6 key threat 2.Qf8# and Qh8#"]);
    let variations = rows(&with_duals, "variations");
    let everywhere = variations.iter().all(|row| row.ends_with(" dual, serious 2.Qf8# and Qh8#"));
    assert!(!variations.is_empty() && everywhere, "{variations:?}");
    assert_eq!(rows(&with_duals, "duals"), variations);
    assert_eq!(with_duals.summary, "1.Kb6 is the only key; one serious dual");
    let cooked = problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#2");
    assert_eq!((cooked.witness.as_str(), cooked.soundness), ("2 keys: Rg2 and Rh2", Some("cooked")));
    assert_eq!(rows(&cooked, "cooks").len(), 2, "without a solution given neither is the author's");
    let named = reported("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#2", "Rg2", "");
    assert_eq!(named.summary.split(';').next(), Some("1.Rg2 is cooked by Rh2"));
    let short = problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#3");
    assert_eq!((short.verdict, short.soundness), (Some("refuted"), Some("short")));
    assert_eq!(problem("6R1/8/8/1p6/5K2/7R/8/1k6 w - - 0 1", "#1").soundness, Some("no solution"));
}

/// P. Morphy 1856, T. Taverner 1889, S. Loyd 1859 and 1868 (from memory).
#[test]
fn published_problems_have_one_key() {
    for (fen, task, key) in [
        ("kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", "#2", "1.Ra6 key zugzwang"),
        ("3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1", "#2", "1.Rh1 key zugzwang"),
        ("8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1", "#3", "1.Rxg3 key"),
        ("b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1", "#3", "1.bxa8=N key"),
    ] {
        let report = problem(fen, task);
        let keys = rows(&report, "key");
        assert!(keys.len() == 1 && keys[0].starts_with(key), "{}", printed(&report));
        assert_eq!(report.soundness, Some("sound"));
    }
}

#[test]
fn variations_are_printed_as_a_tree() {
    // S. Loyd 1859 (from memory).
    let loyd = problem("8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1", "#3");
    let text = loyd.solution.join("\n");
    assert!(text.contains("\n   1...Bxg3 2.Nf3"), "{text}");
    assert!(text.contains("\n      2...Bxh2 3.g4#") || text.contains("2...B\u{7e} 3.g4#"), "{text}");
    // P. Morphy 1856 (from memory): a black man's every move in one.
    let morphy = problem("kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", "#2");
    assert_eq!(morphy.solution, ["1.Ra6! (zugzwang)", "   1...B\u{7e} 2.Rxa7#", "   1...bxa6 2.b7#"]);
    assert_eq!((morphy.white.as_str(), morphy.black.as_str()), ("Kc8 Ra1 b6", "Ka8 Bb8 a7 b7"));
}

#[test]
fn duals_have_their_weight() {
    let fen: shakmaty::fen::Fen = "k7/4P3/2K5/8/8/8/8/5Q2 w - - 0 1".parse().expect("a FEN");
    let position = rules::position_of(fen.into_setup()).expect("a legal position");
    let moves = |sans: &[&str]| -> Vec<shakmaty::Move> {
        let named = |chosen: &shakmaty::Move| sans.contains(&rules::san(&position, *chosen).as_str());
        position.legal_moves().into_iter().filter(named).collect()
    };
    let (promotions, others) = (moves(&["e8=Q+", "e8=R+"]), moves(&["Qa1+", "Qf8+"]));
    assert_eq!((promotions.len(), others.len()), (2, 2));
    assert!(variations::is_minor(&promotions, 1, false), "only the promotion differs");
    assert!(!variations::is_minor(&others, 1, false), "the mating move of a two-mover is its second");
    assert!(variations::is_minor(&others, 1, true) && !variations::is_minor(&others, 2, true));
}

#[test]
fn set_play_and_tries_are_told() {
    // T. Taverner 1889 (from memory): a complete block, so that every black move has its mate in the diagram but some.
    let taverner = problem("3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1", "#2");
    assert!(!rows(&taverner, "set-play").is_empty(), "{}", printed(&taverner));
    let loyd = problem("b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1", "#3");
    let tries = rows(&loyd, "tries");
    assert!(tries.iter().any(|row| row.starts_with("1.") && row.ends_with("only 1...Bxb7!")), "{tries:#?}");
    let author = reported("b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1", "#3", "bxa8=N", "bxa8=Q");
    let tries = rows(&author, "tries");
    assert!(tries[0].starts_with("1.bxa8=Q? "), "{tries:#?}");
}

#[test]
fn help_self_and_reflexmates_are_solved() {
    // One solution by trying everything with another program.
    let helped = problem("4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1", "h#2");
    assert_eq!((helped.witness.as_str(), helped.soundness), ("one solution: 1.Kf1 Ke3 2.Ke1 Rc1#", Some("sound")));
    assert_eq!(problem("4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1", "h#1").soundness, Some("no solution"));
    assert_eq!(problem("4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1", "h#2, 2 solutions").soundness, Some("no solution"));
    // Made for this test, solved by trying everything with another program: the queen gives itself up with check.
    let selfmate = "2r5/6pp/6bk/7p/8/8/PP6/K4Q2 w - - 0 1";
    assert_eq!(problem(selfmate, "s#1").witness, "one solution: 1.Qc1+");
    assert_eq!(problem(selfmate, "s#2").soundness, Some("short"), "it is done in one already");
    assert_eq!(problem(selfmate, "r#1").verdict, Some("refuted"), "White could mate and must");
    let reflexmate = problem("8/Q3r2K/2r5/1q6/P7/8/8/3k4 w - - 0 1", "r#1");
    assert_eq!(rows(&reflexmate, "solutions"), ["1.Kg8 cook zugzwang", "1.Kh8 cook zugzwang"]);
}

#[test]
fn a_study_is_tested_move_by_move() {
    // King and pawn against king: the stipulation, a try and a mutual zugzwang, by trying everything.
    let report = reported("8/8/8/4k3/8/8/3KP3/8 w - - 0 1", "White to play and win", "Ke3", "Kd3");
    assert_eq!(report.gbr, "+0000.10d2e5");
    assert_eq!((report.men.as_str(), report.white.as_str(), report.black.as_str()), ("2+1", "Kd2 e2", "Ke5"));
    assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("sound")), "{}", printed(&report));
    assert!(rows(&report, "moves")[0].starts_with("1.Ke3 only"), "{}", printed(&report));
    assert_eq!(rows(&report, "zugzwangs").len(), 1, "{}", printed(&report));
    assert!(rows(&report, "tries")[0].starts_with("1.Kd3? try refuted by 1...Kd5 alone"), "{}", printed(&report));
    assert_eq!(report.solution, ["1.Ke3! and wins.", "1.Kd3? and it is a draw."]);
    assert!(markdown(None, &[report]).contains("### Tries"));
}

#[test]
fn a_cook_and_a_wrong_line_are_told() {
    // Two moves win (own brute force with another program); a move that does not is no solution.
    let cooked = reported("3k4/8/3K4/4P3/8/8/8/8 w - - 0 1", "+", "e6", "");
    assert_eq!(cooked.soundness, Some("cooked"));
    assert_eq!(rows(&cooked, "cooks"), ["1.Ke6 cook instead of e6: another first move"]);
    assert_eq!(cooked.solution, ["1.e6 (or Ke6) and wins."]);
    let wrong = reported("6k1/8/5KP1/8/8/8/8/8 w - - 0 1", "+", "Ke6", "");
    assert_eq!(wrong.soundness, Some("no solution"));
    assert!(rows(&wrong, "moves")[0].starts_with("1.Ke6 fails"));
    let too_much = reported("6k1/8/5KP1/8/8/8/8/8 w - - 0 1", "=", "g7", "");
    assert_eq!(too_much.verdict, Some("refuted"));
}

/// King and rook against king, by trying everything: whose the win is stands in the words, whoever is to move.
#[test]
fn a_stipulation_names_its_side() {
    let black_wins = "8/8/8/8/8/2k5/7r/1K6 b - - 0 1";
    let verdict = |fen: &str, task: &str| (problem(fen, task).verdict, problem(fen, task).stipulation);
    assert_eq!(verdict(black_wins, "Black to play and win"), (Some("proven"), Some("Black wins".into())));
    assert_eq!(verdict(black_wins, "Win"), (Some("proven"), Some("Black wins".into())));
    assert_eq!(verdict(black_wins, "Black to move, White wins"), (Some("refuted"), Some("+".into())));
    assert_eq!(verdict(black_wins, "+"), (Some("refuted"), Some("+".into())), "the sign is White's");
    let misplaced = problem(black_wins, "White to play and win");
    assert_eq!((misplaced.verdict, misplaced.soundness), (Some("refuted"), Some("no solution")));
    assert_eq!(misplaced.witness, "the stipulation sends White first, but Black is to move");
    assert_eq!(problem(black_wins, "White mates in 3, mate in 3").verdict, Some("refuted"));
    assert_eq!(problem(black_wins, "Black to play: mate in 3").verdict, Some("proven"));
    // A study that begins with a move of Black's: another first move of White's is a cook all the same.
    let white_wins = "3k4/8/3K4/4P3/8/8/8/8 b - - 0 1";
    let study = reported(white_wins, "Black to move, White wins", "Kc8 Ke7", "");
    assert_eq!((study.verdict, study.soundness), (Some("proven"), Some("cooked")), "{}", printed(&study));
    assert_eq!(study.gbr, "0000.10d6d8");
}

/// What is printed under a diagram: a mate and a check speak for themselves, and a line that goes on says so.
#[test]
fn a_solution_is_printed_without_what_everybody_sees() {
    assert_eq!(problem("8/8/8/8/8/8/7p/R3K2k w Q - 0 1", "#1").solution, ["1.Kf2#"]);
    let in_two = problem("8/8/8/8/8/7k/5K2/R7 w - - 0 1", "#2");
    assert!(in_two.solution.iter().all(|line| !line.contains("check")), "{:?}", in_two.solution);
    let queen = problem("8/4P3/8/3Q4/8/7k/2q5/5K2 w - - 0 1", "+");
    assert!(queen.witness.ends_with("(tables)"), "{}", queen.witness);
    let blocked = reported("4k3/8/p1p1p1p1/P1P1P1P1/8/8/8/4K3 w - - 0 1", "=", "Kd2", "");
    assert!(blocked.summary.starts_with("other first moves do it too"), "{}", blocked.summary);
}

#[test]
fn pages_are_well_formed_and_say_no_more_than_they_should() {
    let mut report = reported("8/8/8/4k3/8/8/3KP3/8 w - - 0 1", "+", "Ke3", "Kd3");
    report.name = Some("<b>& \"co\"</b>".into());
    report.credit = Some("a|b *c* [d](e)".into());
    let html = page(None, std::slice::from_ref(&report));
    assert!(html.contains("&lt;b&gt;&amp; &quot;co&quot;&lt;/b&gt;") && !html.contains("<b>"));
    for tag in ["section", "table", "tr", "td", "dl", "div", "p", "h2", "h3"] {
        let opened = html.matches(&format!("<{tag}>")).count() + html.matches(&format!("<{tag} ")).count();
        assert_eq!(opened, html.matches(&format!("</{tag}>")).count(), "{tag}");
    }
    let text = markdown(Some("Film"), &[report]);
    assert!(text.starts_with("# Film\n\n## \\<b\\>") && text.contains("a\\|b \\*c\\* \\[d\\](e)"), "{text}");
}

#[test]
fn a_refutation_stands_alone_only_where_every_other_reply_is_decided() {
    // After 2.g4 the queen mates; what the other replies come to, nobody knows.
    let fen = "rnbqkbnr/pppp1ppp/8/4p3/8/5P2/PPPPP1PP/RNBQKBNR w KQkq - 0 2";
    let report = reported_within(fen, "White to play and draw", "", "g4", Budget::of(20_000));
    let tries = rows(&report, "tries");
    assert!(tries[0].starts_with("2.g4? fails refuted by 2...Qh4#; whether "), "{tries:#?}");
    assert!(tries[0].contains(" is not decided"), "{tries:#?}");
}

/// P. Morphy 1856 (from memory): after the key Black is in zugzwang, and a search without a budget does not know it.
#[test]
fn an_ended_budget_is_no_zugzwang() {
    let fen: shakmaty::fen::Fen = "kbK5/pp6/RP6/8/8/8/8/8 b - - 1 1".parse().expect("a FEN");
    let after_key = rules::position_of(fen.into_setup()).expect("a legal position");
    let way = |positions| variations::way(&mut super::super::mate::Search::new(Budget::of(positions)), &after_key, 1);
    assert_eq!((way(1000).as_str(), way(0).as_str()), ("zugzwang", "threat or zugzwang is not decided"));
    let table = variations::table(&mut super::super::mate::Search::new(Budget::of(0)), &after_key, 1);
    assert!(!table.whole && table.rows.iter().all(|row| row.word == "open"), "{:?}", table.rows);
}

/// With every budget: no dual is denied, no block called complete and no line called sound that the search did not see
/// to the end.
#[test]
fn nothing_is_said_of_what_the_budget_left_out() {
    let with_dual = "k7/3p4/7Q/1K6/7p/8/8/8 w - - 0 1";
    let whole = problem(with_dual, "#2");
    assert_eq!(whole.summary, "1.Kb6 is the only key; one serious dual");
    let mut cut = 0;
    for positions in 0..4000 {
        let report = reported_within(with_dual, "#2", "", "", Budget::of(positions));
        assert!(!report.summary.contains("no dual"), "{positions}: {}", report.summary);
        let blocks = rows(&report, "set-play").iter().filter(|row| row.contains("complete block")).count();
        assert_eq!(blocks, 0, "{positions}");
        cut += usize::from(report.summary.contains("not every variation"));
    }
    assert!(cut > 0, "some budget ended between the keys and the variations");
}

#[test]
fn a_table_that_is_cut_or_open_is_not_whole() {
    let rows = |count, word| (0..count).map(|_| Row::new("1...Ka2".into(), word, String::new())).collect::<Vec<_>>();
    let whole = |rows| variations::Table::of(rows).whole;
    assert!(whole(rows(variations::MOST, "mate")));
    assert!(!whole(rows(variations::MOST + 1, "mate")) && !whole(rows(1, "open")));
    assert_eq!(variations::Table::of(rows(500, "mate")).rows.len(), variations::MOST + 1);
}

#[test]
fn a_wrong_line_is_told_whatever_the_stipulation() {
    // Made for these tests, solved by trying everything with another program: one solution each.
    let selfmate = "2r5/6pp/6bk/7p/8/8/PP6/K4Q2 w - - 0 1";
    assert_eq!(reported(selfmate, "s#1", "Qc1+ Rxc1#", "").soundness, Some("sound"));
    let wrong = reported(selfmate, "s#1", "Qd3", "");
    assert_eq!((wrong.verdict, wrong.soundness), (Some("proven"), Some("no solution")));
    assert_eq!(wrong.summary, "in the line given 1.Qd3 does not do it; one solution: 1.Qc1+");
    let helpmate = "4nb2/8/2R5/8/8/8/3K4/6k1 b - - 0 1";
    assert_eq!(reported(helpmate, "h#2", "Kf1 Ke3 Ke1 Rc1#", "").soundness, Some("sound"));
    assert_eq!(reported(helpmate, "h#2", "Kf1 Ke3", "").soundness, Some("sound"), "as far as it goes");
    let wrong = reported(helpmate, "h#2", "Kh1 Ke3", "");
    assert_eq!(wrong.soundness, Some("no solution"));
    assert!(wrong.summary.ends_with("; the line given is none of them"), "{}", wrong.summary);
    // S. Loyd 1859 (from memory): the key is right, the second move is not.
    let loyd = "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1";
    let wrong = reported(loyd, "#3", "Rxg3 Bxg3 Nd3 Bxh2", "");
    assert_eq!(wrong.soundness, Some("no solution"));
    assert!(wrong.summary.contains("; in the line given 2.Nd3 does not mate in time"), "{}", wrong.summary);
}

#[test]
fn a_long_list_of_helpmates_says_that_it_is_cut() {
    let many = "7k/8/8/8/8/8/8/KQQ5 b - - 0 1";
    let report = problem(many, "h#2, 50 solutions");
    assert_eq!((report.witness.as_str(), report.soundness), ("more than 50 solutions", Some("cooked")));
    let solutions = rows(&report, "solutions");
    assert_eq!((solutions.len(), solutions[50].as_str()), (51, "… more there are more than are listed"));
}

/// In a reflexmate the side that can mate must: other moves of its are no variations.
#[test]
fn a_reflexmate_plays_by_its_rule() {
    let report = reported("8/Q3r2K/2r5/1q6/P7/8/8/3k4 w - - 0 1", "r#1", "Kg8", "");
    let variations = report.sections.iter().find(|section| section.id == "variations").expect("variations");
    assert!(variations.rows.iter().all(|row| row.word == "mate"), "{:?}", variations.rows);
    let wrong = reported("8/Q3r2K/2r5/1q6/P7/8/8/3k4 w - - 0 1", "r#1", "Kg8 Kc1", "");
    assert_eq!(wrong.soundness, Some("no solution"), "Black must mate");
}
