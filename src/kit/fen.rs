//! FEN as the 1994 standard exports it, and the list of the film's positions.

use super::material::{Material, Position};
use super::wording::{clock, one_line};
use crate::game::{Node, NodeId};
use crate::units::{Role, Side, Square};
use std::fmt::Write as _;

/// The initial array (PGN standard 1994, §16.1.4).
pub(super) const INITIAL: &str = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";

/// A node's FEN with the en passant square after *every* double step (PGN standard 1994, §16.1.3.4), which is what
/// the standard asks of an export; [`Node::fen`] has it only where a capture is legal.
pub(super) fn export(node: &Node) -> String {
    let Some((_, ply)) = &node.came else { return node.fen.clone() };
    let double_step = ply.piece.role == Role::Pawn && ply.from.rank().abs_diff(ply.to.rank()) == 2;
    let passed = match ply.piece.side {
        Side::White => Square::at(ply.from.file(), 2),
        Side::Black => Square::at(ply.from.file(), 5),
    };
    let (true, Some(passed)) = (double_step, passed) else { return node.fen.clone() };
    let mut fields: Vec<String> = node.fen.split(' ').map(str::to_owned).collect();
    if let Some(field) = fields.get_mut(3) {
        *field = passed.to_string();
    }
    fields.join(" ")
}

/// A position of note: a scene's start, a labelled position, the end of the main line.
pub(super) struct Moment<'a> {
    pub position: Position<'a>,
    pub node: NodeId,
    /// `start`, a label, or `end`.
    pub name: &'a str,
}

/// Every position of note, in the film's order.
pub(super) fn moments<'a>(material: &Material<'a>) -> Vec<Moment<'a>> {
    let mut moments = Vec::new();
    for position in material.positions() {
        moments.push(Moment { position, node: NodeId(0), name: "start" });
        // A label on the start names nothing that is not there already.
        let labelled = position.board.nodes.iter().enumerate().skip(1).filter_map(|(id, node)| {
            let name = node.label.as_deref()?;
            Some(Moment { position, node: NodeId(id), name })
        });
        moments.extend(labelled);
        let last = position.main_line().last().copied().unwrap_or(NodeId(0));
        if last != NodeId(0) && position.node(last).label.is_none() {
            moments.push(Moment { position, node: last, name: "end" });
        }
    }
    moments
}

/// One position a line: the FEN, and after a `;` where in the film it stands.
pub(super) fn list(material: &Material) -> String {
    let mut text = String::new();
    for moment in moments(material) {
        let chapter = moment.position.chapter;
        let fen = export(moment.position.node(moment.node));
        let (at, name) = (clock(chapter.start), one_line(&chapter.name));
        // Writing to a text never fails.
        writeln!(text, "{fen} ; {name} ({at}), {}", one_line(moment.name)).unwrap_or_default();
    }
    text
}
