//! The move list over time: what has been played, what hangs under it as a try, and which move is lit.

use super::beat::{Beat, Deed, after};
use super::motion::{LIST, LIST_APART};
use super::picture::{Current, ListMove, MoveList, TryLine};
use super::signs::share;
use crate::game::{Action, Board, Node, NodeId, State};
use crate::timeline::{LineKind, Motion};
use crate::units::Time;
use std::sync::Arc;

/// The move list of a scene over time.
#[derive(Clone, Debug)]
pub(super) struct Lists {
    first: Arc<MoveList>,
    changes: Vec<Change>,
    too_deep: Vec<NodeId>,
}

/// The list's own words.
#[derive(Clone, Debug)]
pub(super) struct ListWords {
    pub(super) r#try: String,
    pub(super) or: String,
    pub(super) stalemate: String,
    /// Empty if the film has none of its own.
    pub(super) fold: String,
}

#[derive(Clone, Debug)]
struct Change {
    start: Time,
    end: Time,
    list: Arc<MoveList>,
}

impl Lists {
    pub(super) fn new(board: &Board, beats: &[Beat], end: Time, motion: Motion, words: &ListWords) -> Lists {
        let mut lines = Lines { sans: board.nodes.iter().map(written).collect(), ..Lines::default() };
        if board.pace.is_some() {
            // In a replay nothing is given away: the moves to come are shown from the start.
            for step in board.steps.iter().filter(|step| step.action == Action::Play) {
                lines.play(&board.nodes, step.node);
            }
        }
        let first = Arc::new(lines.list(&board.nodes, NodeId(0), words));
        let mut changes: Vec<Change> = Vec::new();
        for (index, (beat, step)) in beats.iter().zip(&board.steps).enumerate() {
            if matches!(beat.deed, Deed::Stay) {
                continue;
            }
            lines.play(&board.nodes, step.node);
            if let (Action::Play, Some((_, ply))) = (&step.action, &board.nodes[step.node.0].came) {
                lines.sign(step.node, &ply.san, board.sign_at(step));
            }
            let list = lines.list(&board.nodes, step.node, words);
            let last = changes.last().map_or(&first, |change| &change.list);
            if list == **last {
                continue;
            }
            let apart = changes.last().is_none_or(|change| beat.start >= after(change.start, LIST_APART));
            let next = beats[index + 1..].iter().find(|later| !matches!(later.deed, Deed::Stay));
            let room = next.map_or(end, |next| next.start);
            let stop = if apart && motion == Motion::Full { after(beat.start, LIST).min(room) } else { beat.start };
            changes.push(Change { start: beat.start, end: stop, list: Arc::new(list) });
        }
        Lists { first, changes, too_deep: lines.too_deep }
    }

    /// The plies that leave a line of the second level: the list has no third.
    pub(super) fn too_deep(&self) -> &[NodeId] {
        &self.too_deep
    }

    /// The list at `time`; while it changes, the one before and how far the change has come.
    pub(super) fn at(&self, time: Time) -> (Arc<MoveList>, Option<(Arc<MoveList>, f32)>) {
        let now = self.changes.partition_point(|change| change.start <= time);
        let Some(change) = now.checked_sub(1).map(|index| &self.changes[index]) else {
            return (Arc::clone(&self.first), None);
        };
        let before = (time < change.end).then(|| {
            let before = now.checked_sub(2).map_or(&self.first, |index| &self.changes[index].list);
            (Arc::clone(before), share(time, change.start, change.end) as f32)
        });
        (Arc::clone(&change.list), before.filter(|(_, share)| *share < 1.0))
    }

    /// The stretches in which something changes.
    pub(super) fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        self.changes.iter().map(|change| (change.start, change.end))
    }
}

/// The lines played so far, as nodes.
#[derive(Clone, Debug, Default)]
struct Lines {
    main: Vec<NodeId>,
    tries: Vec<Branch>,
    too_deep: Vec<NodeId>,
    /// For every node its ply as it is written, with the sign it bears by now.
    sans: Vec<Arc<str>>,
}

/// A line that hangs from another.
#[derive(Clone, Debug)]
struct Branch {
    after: usize,
    within: Option<usize>,
    kind: LineKind,
    moves: Vec<NodeId>,
}

impl Lines {
    /// Adds the way to `node`, where it is not there yet.
    fn play(&mut self, nodes: &[Node], node: NodeId) {
        let mut way = Vec::new();
        let mut at = node;
        while let Some((parent, _)) = &nodes[at.0].came {
            if self.holds(at) {
                break;
            }
            way.push(at);
            at = *parent;
        }
        for id in way.into_iter().rev() {
            self.add(nodes, id);
        }
    }

    /// A ply bears the sign with which it is played: what a cue says later is not given away before.
    fn sign(&mut self, id: NodeId, san: &str, sign: &str) {
        if self.sans[id.0].strip_prefix(san) != Some(sign) {
            self.sans[id.0] = format!("{san}{sign}").into();
        }
    }

    fn holds(&self, id: NodeId) -> bool {
        self.main.contains(&id) || self.tries.iter().any(|branch| branch.moves.contains(&id))
    }

    /// Adds one node whose parent is already there.
    fn add(&mut self, nodes: &[Node], id: NodeId) {
        let Some((parent, _)) = &nodes[id.0].came else { return };
        let kind = nodes[id.0].line;
        if let Some(index) = self.tries.iter().position(|branch| branch.moves.contains(parent)) {
            let branch = &mut self.tries[index];
            if branch.moves.last() == Some(parent) {
                branch.moves.push(id);
            } else {
                // There is no third level: what branches from a second-level line is refused, and hangs beside it.
                let (within, after) = (Some(branch.within.unwrap_or(index)), branch.after);
                if branch.within.is_some() {
                    self.too_deep.push(id);
                }
                self.tries.push(Branch { after, within, kind, moves: vec![id] });
            }
            return;
        }
        let depth = self.main.iter().position(|on_main| on_main == parent).map_or(0, |index| index + 1);
        if kind != LineKind::Try && depth == self.main.len() {
            self.main.push(id);
        } else {
            self.tries.push(Branch { after: depth, within: None, kind, moves: vec![id] });
        }
    }

    /// The list with `current` on the board.
    fn list(&self, nodes: &[Node], current: NodeId, words: &ListWords) -> MoveList {
        let way = ancestry(nodes, current);
        let line = |moves: &[NodeId]| moves.iter().filter_map(|id| self.shown(nodes, *id, &way)).collect::<Vec<_>>();
        // A second-level line follows the one it branches from.
        let mut order: Vec<usize> = (0..self.tries.len()).collect();
        order.sort_by_key(|&index| {
            let branch = &self.tries[index];
            (branch.after, branch.within.unwrap_or(index), index)
        });
        let rank = |index: usize| order.iter().position(|&other| other == index).unwrap_or(0);
        let tries = order.iter().map(|&index| &self.tries[index]);
        let tries: Vec<TryLine> = tries
            .map(|branch| TryLine {
                after: branch.after,
                within: branch.within.map(rank),
                line: branch.kind,
                label: if branch.kind == LineKind::Try && branch.within.is_none() { &words.r#try } else { &words.or }
                    .clone(),
                moves: line(&branch.moves),
                verdict: branch.moves.last().map_or("", |id| verdict(nodes[id.0].state, words)).to_owned(),
            })
            .collect();
        let in_tries = || {
            order.iter().enumerate().find_map(|(shown_at, &index)| {
                let at = self.tries[index].moves.iter().position(|id| *id == current)?;
                Some(Current::Try(shown_at, at))
            })
        };
        let on_main = self.main.iter().position(|id| *id == current).map(Current::Main);
        let current = on_main.or_else(in_tries).unwrap_or_default();
        MoveList { main: line(&self.main), tries, current, fold: words.fold.clone() }
    }

    /// A node's ply as the list shows it: muted unless it lies on the way to the position on the board.
    fn shown(&self, nodes: &[Node], id: NodeId, way: &[bool]) -> Option<ListMove> {
        let (_, ply) = nodes[id.0].came.as_ref()?;
        let san = Arc::clone(&self.sans[id.0]);
        Some(ListMove { number: ply.number, side: ply.piece.side, san, muted: !way[id.0] })
    }
}

/// A node's ply with the sign it bears in the end.
fn written(node: &Node) -> Arc<str> {
    node.came.as_ref().map_or_else(Arc::default, |(_, ply)| format!("{}{}", ply.san, ply.suffix).into())
}

/// What a line played out comes to; a mate is said by the sign at its last move.
fn verdict(state: State, words: &ListWords) -> &str {
    if state == State::Stalemate { &words.stalemate } else { "" }
}

/// For every node whether it lies on the way to `id`, itself included.
fn ancestry(nodes: &[Node], id: NodeId) -> Vec<bool> {
    let mut way = vec![false; nodes.len()];
    let mut at = id;
    way[at.0] = true;
    while let Some((parent, _)) = &nodes[at.0].came {
        at = *parent;
        way[at.0] = true;
    }
    way
}
