//! The lines of a scene's tree, from the start to their ends.

use super::super::notation::one;
use crate::game::{Board, NodeId, rules};
use crate::timeline::LineKind;
use shakmaty::{Chess, Move, Position};

/// A path from the start.
pub(super) struct Line {
    pub moves: Vec<Played>,
    pub end: Chess,
}

/// A move of a line.
pub(super) struct Played {
    pub before: Chess,
    pub chosen: Move,
    /// The author's sign, or empty.
    pub suffix: String,
    /// The node it leads to.
    pub node: NodeId,
    /// What it belongs to.
    pub kind: LineKind,
}

impl Played {
    /// `4.Kb3`, `3...Rd4+`.
    pub fn numbered(&self) -> String {
        one(&self.before, self.chosen)
    }
}

/// The longest way through lines of this kind.
pub(super) fn longest(board: &Board, kind: LineKind) -> Option<Line> {
    let ends = (1..board.nodes.len()).filter(|node| board.nodes[*node].line == kind);
    let longest = ends.rev().max_by_key(|node| depth(board, NodeId(*node)))?;
    Some(to(board, NodeId(longest)))
}

/// Every line of this kind, to its end.
pub(super) fn ends(board: &Board, kind: LineKind) -> Vec<Line> {
    let parents: Vec<usize> =
        board.nodes.iter().filter_map(|node| node.came.as_ref()).map(|(parent, _)| parent.0).collect();
    let ends = (1..board.nodes.len()).filter(|node| board.nodes[*node].line == kind && !parents.contains(node));
    ends.map(|end| to(board, NodeId(end))).collect()
}

fn depth(board: &Board, node: NodeId) -> usize {
    std::iter::successors(Some(node), |node| board.nodes[node.0].came.as_ref().map(|(parent, _)| *parent)).count()
}

fn to(board: &Board, end: NodeId) -> Line {
    let mut moves = Vec::new();
    let mut node = end;
    while let Some((parent, ply)) = &board.nodes[node.0].came {
        let before = rules::position_at(&board.nodes[parent.0]);
        let chosen = before.legal_moves().into_iter().find(|chosen| rules::san(&before, *chosen) == ply.san);
        let (suffix, kind) = (ply.suffix.clone(), board.nodes[node.0].line);
        moves.extend(chosen.map(|chosen| Played { before, chosen, suffix, node, kind }));
        node = *parent;
    }
    moves.reverse();
    Line { moves, end: rules::position_at(&board.nodes[end.0]) }
}
