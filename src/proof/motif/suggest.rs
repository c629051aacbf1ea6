//! Marks for the motifs that a cue's moves brought about: proposals to the author, ready to paste.

use super::{Sighting, seen, sightings, trapped};
use crate::diag::{Code, Diagnostic};
use crate::game::{Board, Body, Game, Motif, NodeId, State, Step};

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

fn note(board: &Board, step: &Step, before: Option<NodeId>) -> Option<Diagnostic> {
    let known = before.map_or_else(Vec::new, |node| sightings(board, node));
    let fresh: Vec<Sighting> = sightings(board, step.node)
        .into_iter()
        .filter(|one| is_worth_showing(board, step.node, one))
        .filter(|one| !known.iter().any(|old| old.motif == one.motif && old.squares == one.squares))
        .take(MOST)
        .collect();
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

/// What every position has is not worth a mark: flights only where a king is attacked or cannot move, pins and
/// batteries always, trapped men only if they are lost.
fn is_worth_showing(board: &Board, node: NodeId, one: &Sighting) -> bool {
    let turn = board.nodes[node.0].turn;
    match one.motif {
        Motif::Flights => {
            let king = board.nodes[node.0].placement.king(turn);
            board.nodes[node.0].state != State::Quiet && one.squares.first().copied() == king
        }
        Motif::Trapped => trapped::is_worth_showing(&seen(board, node).0, one),
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
