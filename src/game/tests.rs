//! Whole scenes, written as the timeline's values.

use super::*;
mod cues;
mod fens;
mod files;
mod forms;
mod laws;
mod refused;
mod studies;

use crate::diag::{Code, Severity};
use crate::timeline::{Back, Cue, LineKind};
use crate::units::{Side, Square};

/// Words as `play` has them, each at its own place from `start` on.
pub(super) fn play(start: usize, text: &str) -> Vec<Spanned<String>> {
    let mut at = start;
    text.split(' ')
        .map(|word| {
            let span = Span::new(at, at + word.len());
            at = span.end + 1;
            Spanned::new(word.to_string(), span)
        })
        .collect()
}

pub(super) fn moves(start: usize, text: &str) -> Cue {
    Cue { play: play(start, text), span: Span::new(start, start + text.len()), ..Cue::default() }
}

pub(super) fn back(to: Back) -> Cue {
    Cue { back: Some(Spanned::new(to, 0..0)), ..Cue::default() }
}

pub(super) fn labelled(name: &str, cue: Cue) -> Cue {
    Cue { label: Some(Spanned::new(name.to_string(), 0..0)), ..cue }
}

pub(super) fn scene(fen: &str, cues: Vec<Cue>) -> timeline::Scene {
    timeline::Scene {
        name: None,
        at: None,
        body: SceneBody::Position { fen: Some(Spanned::new(fen.to_string(), 0..fen.len() + 2)) },
        task: None,
        credit: None,
        text: None,
        ring: None,
        cues,
        span: Span::default(),
    }
}

pub(super) fn film(scenes: Vec<timeline::Scene>) -> Timeline {
    Timeline { scenes, ..Timeline::default() }
}

pub(super) fn board(fen: &str, cues: Vec<Cue>) -> (Board, Vec<Diagnostic>) {
    let (mut game, diagnostics) = resolve(&film(vec![scene(fen, cues)]), &PgnFiles::new());
    let Body::Board(board) = game.scenes.remove(0).body else { panic!("a scene with a FEN has a board") };
    (board, diagnostics)
}

fn sans(board: &Board) -> Vec<String> {
    board.nodes.iter().filter_map(|node| node.came.as_ref()).map(|(_, ply)| ply.san.clone()).collect()
}

/// F. Saavedra's win after G. E. Barbier, 1895 (from memory).
pub(super) const SAAVEDRA: &str = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";

#[test]
fn a_try_a_return_and_the_solution_share_their_trunk() {
    let cues = vec![
        labelled("crossroads", moves(10, "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4!")),
        Cue { line: Some(Spanned::new(LineKind::Try, 0..0)), ..moves(100, "c8=Q? Rc4+ Qxc4") },
        back(Back::Label("crossroads".into())),
        moves(200, "c8R!"),
        back(Back::Start),
        moves(300, "c6c7 Rd6"),
    ];
    let (board, diagnostics) = board(SAAVEDRA, cues);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    assert_eq!(board.nodes.len(), 15, "the last two moves were played before");
    let stalemate = &board.nodes[13];
    assert_eq!((stalemate.state, stalemate.line), (State::Stalemate, LineKind::Try));
    let rook = &board.nodes[14];
    let ply = &rook.came.as_ref().unwrap().1;
    assert_eq!((ply.san.as_str(), ply.suffix.as_str(), ply.number), ("c8=R", "!", 6));
    assert_eq!(rook.line, LineKind::Solution);
    assert_eq!(board.nodes[10].label.as_deref(), Some("crossroads"));
    let Action::TakeBack(passed) = &board.steps[13].action else { panic!("{:?}", board.steps[13]) };
    assert_eq!(passed, &[NodeId(13), NodeId(12), NodeId(11)]);
    assert_eq!(board.steps.last().unwrap().node, NodeId(2));
}

#[test]
fn a_return_to_another_branch_cuts() {
    let cues = vec![
        labelled("queen", moves(0, "c7 Kb2 c8=Q")),
        back(Back::Plies(2)),
        Cue { line: Some(Spanned::new(LineKind::Try, 0..0)), ..moves(0, "Ka2") },
        back(Back::Label("queen".into())),
        Cue { cut: true, ..back(Back::Start) },
        back(Back::Start),
    ];
    let (board, diagnostics) = board(SAAVEDRA, cues);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    let actions: Vec<&Action> = board.steps[3..].iter().map(|step| &step.action).collect();
    let took = Action::TakeBack(vec![NodeId(3), NodeId(2)]);
    assert_eq!(actions, [&took, &Action::Play, &Action::Cut, &Action::Cut, &Action::Stay]);
}

#[test]
fn a_second_branch_without_a_line_is_a_try() {
    let cues =
        vec![moves(0, "c7 Rd6+ Kb5"), back(Back::Plies(1)), moves(50, "Kc5 Rd1"), back(Back::Start), moves(90, "Kb7?")];
    let (board, diagnostics) = board(SAAVEDRA, cues);
    let lines: Vec<LineKind> = board.nodes.iter().map(|node| node.line).collect();
    use LineKind::{Solution, Try};
    assert_eq!(lines, [Solution, Solution, Solution, Solution, Try, Try, Try]);
    assert_eq!(diagnostics.len(), 1, "`Kb7?` says itself that it is a try: {diagnostics:#?}");
    assert_eq!((diagnostics[0].severity, diagnostics[0].primary.span), (Severity::Warning, Span::new(50, 53)));
}

#[test]
fn castling_en_passant_and_promotion_say_what_moves_where() {
    let (castled, none) = board("r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1", vec![moves(0, "0-0 O-O-O")]);
    assert!(none.is_empty(), "{none:#?}");
    let ply = |board: &Board, at: usize| board.nodes[at].came.clone().unwrap().1;
    let square = |name: &str| Square::parse(name).unwrap();
    let short = ply(&castled, 1);
    assert_eq!(
        (short.from, short.to, short.castling),
        (square("e1"), square("g1"), Some((square("h1"), square("f1"))))
    );
    assert_eq!(ply(&castled, 2).san, "O-O-O");

    let (taken, none) = board("4k3/3p4/8/4P3/8/8/8/4K3 b - - 0 1", vec![moves(0, "d5 exd6e.p.")]);
    assert!(none.is_empty(), "{none:#?}");
    assert_eq!(ply(&taken, 2).captured.map(|(piece, at)| (piece.side, at)), Some((Side::Black, square("d5"))));
    assert_eq!(taken.nodes[1].fen, "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 2");
    assert_eq!(sans(&taken), ["d5", "exd6"]);
}

#[test]
fn after_an_illegal_move_the_rest_of_the_scene_is_only_read() {
    let cues =
        vec![moves(0, "c7 Ra6 Kb5 zz"), labelled("x", moves(50, "c8=Q")), back(Back::Start), moves(90, "Kb7? Rd6")];
    let (board, diagnostics) = board(SAAVEDRA, cues);
    let found: Vec<(Code, usize)> = diagnostics.iter().map(|found| (found.code, found.primary.span.start)).collect();
    assert_eq!(found, [(Code::IllegalMove, 3), (Code::SanSyntax, 11)]);
    assert_eq!(board.nodes.len(), 4);
}
