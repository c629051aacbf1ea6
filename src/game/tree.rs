//! A scene's tree while it grows: the nodes that are handed on, and beside each its position.

use super::{Node, NodeId, Ply, rules};
use crate::source::Span;
use crate::timeline::LineKind;
use shakmaty::{Chess, Move, Position};
use std::collections::HashMap;

/// The tree of one scene.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    nodes: Vec<Node>,
    positions: Vec<Chess>,
    children: Vec<Vec<NodeId>>,
    labels: HashMap<String, NodeId>,
    /// Plies that no cue has named yet: they came from a PGN.
    unnamed: Vec<bool>,
}

/// The start.
pub(super) const START: NodeId = NodeId(0);

impl Tree {
    /// A tree of one position.
    pub(super) fn new(start: Chess) -> Tree {
        let mut tree = Tree {
            nodes: Vec::new(),
            positions: Vec::new(),
            children: Vec::new(),
            labels: HashMap::new(),
            unnamed: Vec::new(),
        };
        tree.push(start, None, LineKind::Solution);
        tree
    }

    fn push(&mut self, position: Chess, came: Option<(NodeId, Ply)>, line: LineKind) -> NodeId {
        let id = NodeId(self.nodes.len());
        if let Some((parent, _)) = &came {
            self.children[parent.0].push(id);
        }
        self.nodes.push(Node {
            came,
            placement: rules::placement(&position),
            turn: rules::side(position.turn()),
            move_number: position.fullmoves().get(),
            state: rules::state(&position),
            line,
            label: None,
            fen: rules::fen(&position),
        });
        self.positions.push(position);
        self.children.push(Vec::new());
        self.unnamed.push(false);
        id
    }

    /// The nodes, once the tree is grown.
    pub(super) fn into_nodes(self) -> Vec<Node> {
        self.nodes
    }

    pub(super) fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.0]
    }

    pub(super) fn position(&self, id: NodeId) -> &Chess {
        &self.positions[id.0]
    }

    pub(super) fn children(&self, id: NodeId) -> &[NodeId] {
        &self.children[id.0]
    }

    pub(super) fn parent(&self, id: NodeId) -> Option<NodeId> {
        self.nodes[id.0].came.as_ref().map(|(parent, _)| *parent)
    }

    /// The child to which a legal move leads, if it has been played before.
    pub(super) fn child(&self, id: NodeId, chosen: Move) -> Option<NodeId> {
        let (from, to) = (rules::square(rules::origin(chosen)), rules::square(rules::target(chosen)));
        let promotion = chosen.promotion().map(rules::role);
        self.children[id.0].iter().copied().find(|child| {
            self.nodes[child.0]
                .came
                .as_ref()
                .is_some_and(|(_, ply)| ply.from == from && ply.to == to && ply.promotion == promotion)
        })
    }

    /// A new child by a legal move.
    pub(super) fn grow(&mut self, id: NodeId, chosen: Move, suffix: &str, span: Span, line: LineKind) -> NodeId {
        let mut position = self.positions[id.0].clone();
        let ply = rules::ply(&position, chosen, suffix, span);
        position.play_unchecked(chosen);
        self.push(position, Some((id, ply)), line)
    }

    /// Says that no cue has named the ply to this node.
    pub(super) fn leave_unnamed(&mut self, id: NodeId) {
        self.unnamed[id.0] = true;
    }

    /// A cue plays a ply that is there already. The first cue to name a PGN's ply gives it its place, and a sign that
    /// comes later replaces the one before, the PGN's too.
    pub(super) fn name_ply(&mut self, id: NodeId, suffix: &str, span: Span) {
        if let Some((_, ply)) = &mut self.nodes[id.0].came {
            if self.unnamed[id.0] {
                ply.span = span;
            }
            if !suffix.is_empty() {
                ply.suffix = suffix.to_string();
            }
        }
        self.unnamed[id.0] = false;
    }

    /// Adds the author's sign to the ply that leads to a node.
    pub(super) fn sign(&mut self, id: NodeId, suffix: &str) {
        if let Some((_, ply)) = &mut self.nodes[id.0].came {
            ply.suffix = suffix.to_string();
        }
    }

    /// Names a position; a second name for the same one does not replace the first.
    pub(super) fn label(&mut self, id: NodeId, name: &str) {
        self.labels.insert(name.to_string(), id);
        self.nodes[id.0].label.get_or_insert_with(|| name.to_string());
    }

    pub(super) fn labelled(&self, name: &str) -> Option<NodeId> {
        self.labels.get(name).copied()
    }

    /// The nodes from the start to this one, both included.
    pub(super) fn path(&self, id: NodeId) -> Vec<NodeId> {
        let mut path = vec![id];
        let mut at = id;
        while let Some(parent) = self.parent(at) {
            path.push(parent);
            at = parent;
        }
        path.reverse();
        path
    }
}
