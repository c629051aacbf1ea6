//! Marks for the motifs that a cue's moves brought about: proposals to the author, ready to paste.

use super::{Sighting, seen, sightings, trapped};
use crate::diag::{Code, Diagnostic};
use crate::game::{Board, Body, Game, Motif, NodeId, State, Step};
use crate::units::{Role, Square};

/// At most so many motifs are proposed at one cue.
const MOST: usize = 3;

/// One note for each cue at which something new stands on the board, unless the cue shows marks or arrows already.
pub fn suggestions(game: &Game) -> Vec<Diagnostic> {
    let boards = game.scenes.iter().filter_map(|scene| match &scene.body {
        Body::Board(board) if board.pace.is_none() => Some(board),
        _ => None,
    });
    boards.flat_map(of_board).collect()
}

fn of_board(board: &Board) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    let mut before: Option<NodeId> = None;
    for cue in board.steps.chunk_by(|one, other| one.span == other.span) {
        let Some(last) = cue.last() else { continue };
        if before != Some(last.node) && last.marks.is_empty() && last.arrows.is_empty() {
            notes.extend(note(board, last, before));
        }
        before = Some(last.node);
    }
    notes
}

/// What is worth showing at a node and did not stand at the one before.
pub(in super::super) fn fresh(board: &Board, node: NodeId, before: Option<NodeId>) -> Vec<Sighting> {
    let known = before.map_or_else(Vec::new, |node| sightings(board, node));
    let new = |one: &Sighting| !known.iter().any(|old| old.motif == one.motif && old.squares == one.squares);
    let all = sightings(board, node).into_iter().filter(|one| is_worth_showing(board, node, one));
    all.filter(new).collect()
}

fn note(board: &Board, step: &Step, before: Option<NodeId>) -> Option<Diagnostic> {
    let mut fresh = fresh(board, step.node, before);
    fresh.truncate(MOST);
    let names: Vec<&str> = fresh.iter().map(|one| one.motif.phrase()).collect();
    let message = match names.as_slice() {
        [] => return None,
        [one] => format!("marks could show the {one}"),
        [start @ .., last] => format!("marks could show the {} and the {last}", start.join(", the ")),
    };
    let told: Vec<&str> = fresh.iter().map(|one| one.told.as_str()).collect();
    let note = Diagnostic::note(Code::Motif, step.span, message).label(told.join("; "));
    Some(fresh.iter().fold(note, |note, one| note.hint(pasted(one))))
}

/// So many flights of a king in check are still worth counting.
const FEW: usize = 2;

/// What every position has is not worth a mark: flights only of a king that is attacked or cannot move and has few,
/// trapped men only if they are lost, forks only of men, interpositions only before a king.
fn is_worth_showing(board: &Board, node: NodeId, one: &Sighting) -> bool {
    let node_there = &board.nodes[node.0];
    let role = |square: &Square| node_there.placement.get(*square).map(|piece| piece.role);
    match one.motif {
        Motif::Flights => {
            let king = node_there.placement.king(node_there.turn);
            node_there.state != State::Quiet && one.squares.first().copied() == king && one.squares.len() <= 1 + FEW
        }
        Motif::Trapped => trapped::is_worth_showing(&seen(board, node).0, one),
        Motif::Fork => one.squares[1..].iter().any(|square| !matches!(role(square), Some(Role::Pawn | Role::King))),
        Motif::Interposition => one.squares.last().and_then(role) == Some(Role::King),
        _ => true,
    }
}

/// `marks = ["force a1 h8", "threat e5"], arrows = ["c4 d6"]`.
fn pasted(one: &Sighting) -> String {
    let list = |key: &str, words: &[String]| {
        (!words.is_empty()).then(|| {
            let words: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
            format!("{key} = [{}]", words.join(", "))
        })
    };
    let parts: Vec<String> = [list("marks", &one.marks), list("arrows", &one.arrows)].into_iter().flatten().collect();
    parts.join(", ")
}
