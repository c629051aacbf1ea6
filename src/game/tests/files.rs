//! PGN files, and lines shown again.

use super::*;
use crate::timeline::Replay;

fn pgn_scene(cues: Vec<Cue>, game: Option<u32>) -> timeline::Scene {
    let body = SceneBody::Pgn {
        file: Spanned::new("games.pgn".into(), 5..16),
        game: game.map(|game| Spanned::new(game, 20..21)),
    };
    timeline::Scene { body, ..scene("", cues) }
}

fn files(text: &str) -> PgnFiles {
    PgnFiles::from([("games.pgn".to_string(), Ok(Arc::new(Source::new("games.pgn", text))))])
}

fn loaded(text: &str, cues: Vec<Cue>, game: Option<u32>) -> (Board, Vec<Diagnostic>) {
    let (mut game, diagnostics) = resolve(&film(vec![pgn_scene(cues, game)]), &files(text));
    let Body::Board(board) = game.scenes.remove(0).body else { panic!("a PGN scene has a board") };
    (board, diagnostics)
}

/// `line:column message: label`, both from 1, in the PGN.
fn told(text: &str) -> Vec<String> {
    let (_, diagnostics) = loaded(text, vec![], None);
    let told = diagnostics.iter().map(|found| {
        let source = found.source.as_ref().expect("the place is in the PGN");
        let (line, column) = source.line_column(found.primary.span.start);
        format!("{line}:{column} {}: {}", found.message, found.primary.text)
    });
    told.collect()
}

const STUDY: &str = r#"[Event "Weekly Citizen"]
[Site "Glasgow"]
[Date "1895.05.18"]
[White "Barbier, G. E.:Saavedra, F."]
[Black "White to play and win"]
[Result "1-0"]
[SetUp "1"]
[FEN "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"]

{from memory} 1. c7 Rd6+ 2. Kb5 $1 (2. Kc5? Rd1 $1 ; draws
3. Kb2) (2. Kc7) 2... Rd5+ 3. Kb4 Rd4+ 4. Kb3 Rd3+ 5. Kc2 Rd4 $3
6. c8=R! (6. c8=Q Rc4+ (6... Ka2) 7. Qxc4) 6... Ra4 7. Kb3 1-0

[Event "Club"]
[White "Alpha"]
[Black "Beta, C."]
[Date "????.??.??"]

1. e4 e5 *
"#;

#[test]
fn the_main_line_is_the_solution_and_variations_are_tries() {
    // Two of the lines in the text are not legal; take them out first.
    let text = STUDY.replace("\n3. Kb2)", "\n)").replace(" (2. Kc7)", "");
    let (board, diagnostics) = loaded(&text, vec![], None);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    let solution: Vec<String> =
        board.steps.iter().map(|step| board.nodes[step.node.0].came.clone().unwrap().1.san).collect();
    assert_eq!(solution.join(" "), "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=R Ra4 Kb3");
    assert!(board.steps.iter().all(|step| step.when == When::Follow && step.action == Action::Play));
    let tries: Vec<(String, String)> = board
        .nodes
        .iter()
        .filter(|node| node.line == LineKind::Try)
        .map(|node| node.came.clone().unwrap().1)
        .map(|ply| (ply.san, ply.suffix))
        .collect();
    let expected = [("Kc5", "?"), ("Rd1", "!"), ("c8=Q", ""), ("Rc4+", ""), ("Ka2", ""), ("Qxc4", "")];
    assert_eq!(tries, expected.map(|(san, sign)| (san.to_string(), sign.to_string())));
    let signs: String = board.nodes.iter().filter_map(|node| node.came.clone()).map(|(_, ply)| ply.suffix).collect();
    assert_eq!(signs, "!?!!!!", "$1, ?, $1, $3 and !");
    assert_eq!(board.credit.as_ref().unwrap().text, "G. E. Barbier and F. Saavedra, Weekly Citizen 1895");
    assert_eq!(board.task.as_ref().unwrap().text, "White to play and win");
    assert_eq!(board.nodes[1].came.as_ref().unwrap().1.span, Span::new(5, 16), "no cue names it");
}

#[test]
fn cues_play_on_the_tree_of_the_file() {
    let text = STUDY.replace("\n3. Kb2)", "\n)").replace(" (2. Kc7)", "");
    let cues = vec![moves(100, "c7 Rd6 Kc5 Rd1"), back(Back::Plies(2)), moves(150, "Kb5!!")];
    let (board, diagnostics) = loaded(&text, cues, Some(1));
    assert!(diagnostics.is_empty(), "the file says that Kc5 is a try: {diagnostics:#?}");
    let ply = |at: usize| board.nodes[board.steps[at].node.0].came.clone().unwrap().1;
    assert_eq!((ply(0).span, ply(2).suffix.as_str()), (Span::new(100, 102), "?"));
    assert_eq!((ply(5).span, ply(5).suffix.as_str()), (Span::new(150, 155), "!!"));
}

#[test]
fn a_game_is_chosen_by_its_number() {
    let (board, diagnostics) = loaded(STUDY, vec![], Some(2));
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    assert_eq!((board.nodes.len(), board.credit.unwrap().text.as_str()), (3, "Alpha \u{2013} C. Beta, Club"));
    let (_, diagnostics) = loaded(STUDY, vec![], Some(3));
    assert_eq!((diagnostics[0].code, diagnostics[0].primary.span), (Code::BadValue, Span::new(20, 21)));
    let missing = PgnFiles::from([("games.pgn".to_string(), Err("no such file".to_string()))]);
    let (_, diagnostics) = resolve(&film(vec![pgn_scene(vec![], None)]), &missing);
    assert_eq!((diagnostics[0].code, diagnostics[0].primary.text.as_str()), (Code::Media, "no such file"));
    assert_eq!(loaded(" \n", vec![], None).1[0].code, Code::Pgn);
}

#[test]
fn mistakes_are_shown_in_the_file() {
    let illegal = told(STUDY);
    assert_eq!(
        illegal,
        [
            "11:4 `Kb2` is not legal for White at move 3: it is White's move; the black king stands on a1",
            "11:13 `Kc7` is not legal for White at move 2: White's own pawn stands on c7",
        ]
        .map(str::to_string)
        .as_slice()
    );
    assert_eq!(told("1. e4 Hello e5"), ["1:7 `Hello` is no move: `H` is the letter of no piece"]);
    assert_eq!(told("1. e4 { e5"), ["1:7 the PGN has a comment without an end: no `}` closes it"]);
    assert_eq!(told("1. e4 (1. d4 d5"), ["1:7 the PGN has a variation without an end: no `)` closes it"]);
    assert_eq!(told("1. e4) e5"), ["1:6 the PGN has a `)` without a `(`: it closes no variation"]);
    assert_eq!(
        told("(1. e4) e4"),
        ["1:1 the PGN has a variation before any move: a variation replaces the move before it"]
    );
    assert_eq!(told("1. e4+ e5"), ["1:6 `e4+` gives no check: it gives no check"]);
    assert_eq!(
        told("[Event Club]\n\n1. e4"),
        ["1:1 the PGN has a tag that cannot be read: a tag looks like `[Event \"Club night\"]`"]
    );
    assert_eq!(told("1. e4 $999 e5"), ["1:7 the PGN has a `$` without a number from 0 to 255: no glyph"]);
    assert_eq!(
        told("[FEN \"8/8/8/8/8/8/8/k6x w - - 0 1\"]\n\n1. e4"),
        ["1:23 the FEN has `x` in its placement: no man and no count of squares"]
    );
    assert_eq!(
        told("%escaped\n1. e4 +/= N e5 \u{b1} 2. Nf3 -- 3. Nc3").len(),
        1,
        "judgements are passed over, a null move is not"
    );
}

/// pgn-reader 0.29 reads the same moves, nested variations and comments included.
#[test]
fn another_reader_reads_the_same_moves() {
    use pgn_reader::{SanPlus, Skip, Visitor};
    use std::ops::ControlFlow;
    struct Moves(Vec<String>);
    impl Visitor for Moves {
        type Tags = ();
        type Movetext = ();
        type Output = ();
        fn begin_tags(&mut self) -> ControlFlow<(), ()> {
            ControlFlow::Continue(())
        }
        fn begin_movetext(&mut self, (): ()) -> ControlFlow<(), ()> {
            ControlFlow::Continue(())
        }
        fn san(&mut self, (): &mut (), san: SanPlus) -> ControlFlow<()> {
            self.0.push(san.to_string());
            ControlFlow::Continue(())
        }
        fn begin_variation(&mut self, (): &mut ()) -> ControlFlow<(), Skip> {
            ControlFlow::Continue(Skip(false))
        }
        fn end_game(&mut self, (): ()) {}
    }
    let text = STUDY.replace("\n3. Kb2)", "\n)").replace(" (2. Kc7)", "");
    let mut theirs = Moves(Vec::new());
    pgn_reader::Reader::new(text.as_bytes()).read_game(&mut theirs).expect("a text in memory can be read");
    let (board, _) = loaded(&text, vec![], None);
    assert_eq!(sans(&board), theirs.0);
}

fn replay_scene(of: &str, line: Option<&str>) -> timeline::Scene {
    let body = SceneBody::Replay(Replay {
        scene: Spanned::new(of.into(), 1..2),
        line: line.map(|line| Spanned::new(line.into(), 3..4)),
        pace: None,
    });
    timeline::Scene { body, ..scene("", vec![]) }
}

fn replayed(line: Option<&str>) -> (Board, Vec<Diagnostic>) {
    let guard = timeline::Mark { role: timeline::MarkRole::Guard, squares: vec!["d6".into()] };
    let marked = |cue: Cue| Cue { marks: vec![Spanned::new(guard.clone(), 0..0)], ..cue };
    let cues = vec![
        marked(Cue::default()),
        labelled("crossroads", marked(moves(0, "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4"))),
        marked(Cue::default()),
        moves(0, "c8=Q?"),
        Cue { line: Some(Spanned::new(LineKind::Try, 0..0)), ..moves(0, "Rc4+ Qxc4") },
        back(Back::Label("crossroads".into())),
        Cue { line: Some(Spanned::new(LineKind::Solution, 0..0)), ..moves(0, "c8=R Ra4 Kb3") },
    ];
    let mut first = scene(SAAVEDRA, cues);
    first.name = Some(Spanned::new("study".into(), 0..0));
    first.credit = Some(Spanned::new("Barbier".into(), 0..0));
    let (mut game, diagnostics) = resolve(&film(vec![first, replay_scene("study", line)]), &PgnFiles::new());
    let Body::Board(board) = game.scenes.remove(1).body else { panic!("a replay has a board") };
    (board, diagnostics)
}

#[test]
fn a_replay_walks_the_line_with_its_marks() {
    let (board, diagnostics) = replayed(Some("crossroads"));
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    assert_eq!((board.nodes.len(), board.steps.len(), board.pace), (11, 12, Some(0.35)));
    assert_eq!(board.credit.unwrap().text, "Barbier");
    assert_eq!((&board.steps[0].action, board.steps[0].marks.len()), (&Action::Stay, 1));
    let last = |step: &Step| (step.action.clone(), step.node, step.marks.len(), step.clears);
    assert_eq!(last(&board.steps[10]), (Action::Play, NodeId(10), 1, false));
    assert_eq!(last(&board.steps[11]), (Action::Stay, NodeId(10), 1, false), "the cue that stayed there");
    assert!(board.nodes[1..].iter().all(|node| node.line == LineKind::Replay));

    // The first branch was played without a `line`, so it is the solution's; the replay follows the first.
    let (board, _) = replayed(None);
    assert_eq!(sans(&board).last().unwrap(), "c8=Q");
    let (board, _) = replayed(Some("try"));
    assert_eq!(sans(&board).last().unwrap(), "Qxc4");
}

#[test]
fn each_stay_of_a_replayed_line_shows_its_own_marks() {
    let on = |squares: &str, stay: Option<u64>, cue: Cue| {
        let squares = squares.split(' ').map(str::to_owned).collect();
        let mark = timeline::Mark { role: timeline::MarkRole::Guard, squares };
        let stay = stay.map(|seconds| Spanned::new(std::time::Duration::from_secs(seconds), 0..0));
        Cue { marks: vec![Spanned::new(mark, 0..0)], stay, ..cue }
    };
    let cues = vec![
        on("a8", Some(1), Cue::default()),
        on("b8", None, Cue::default()),
        on("c8", Some(1), Cue::default()),
        on("d8", None, Cue::default()),
        moves(0, "c7"),
        Cue::default(),
        on("e8", None, Cue::default()),
        on("f8", None, Cue::default()),
    ];
    let mut first = scene(SAAVEDRA, cues);
    first.name = Some(Spanned::new("study".into(), 0..0));
    let (mut game, diagnostics) = resolve(&film(vec![first, replay_scene("study", None)]), &PgnFiles::new());
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    let Body::Board(board) = game.scenes.remove(1).body else { panic!("a replay has a board") };
    let told = |step: &Step| {
        let squares = step.marks.iter().flat_map(|mark| match mark {
            Mark::Squares(_, squares) => squares.clone(),
            Mark::Force(..) => Vec::new(),
        });
        let squares: Vec<String> = squares.map(|square| square.to_string()).collect();
        (step.node.0, step.clears, squares.join(" "))
    };
    let told: Vec<_> = board.steps.iter().map(told).collect();
    let expected =
        [(0, false, "a8"), (0, true, "b8"), (0, false, "c8"), (0, true, "b8 d8"), (1, false, "e8"), (1, false, "f8")];
    assert_eq!(told, expected.map(|(node, clears, squares)| (node, clears, squares.to_owned())));
}

#[test]
fn a_replay_of_nothing_is_a_mistake() {
    let (_, diagnostics) = replayed(Some("crossroad"));
    assert_eq!(
        (diagnostics[0].code, diagnostics[0].hints[0].as_str()),
        (Code::UnknownName, "did you mean `crossroads`?")
    );
    let mut still = scene(SAAVEDRA, vec![]);
    still.name = Some(Spanned::new("study".into(), 0..0));
    let (game, diagnostics) = resolve(&film(vec![still, replay_scene("study", None)]), &PgnFiles::new());
    assert_eq!(diagnostics[0].primary.text, "no move of it belongs to a solution");
    assert_eq!(game.scenes.len(), 2);
}
