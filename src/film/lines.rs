//! The lines of a scene as they grow: the main line, and what hangs from it.

use super::line::{Line, Written};
use super::list::ListWords;
use super::picture::{Current, MoveList, TryLine};
use crate::game::{Board, Node, NodeId, State};
use crate::timeline::LineKind;
use std::sync::Arc;

/// The lines played so far, as nodes.
#[derive(Debug)]
pub(super) struct Lines<'a> {
    nodes: &'a [Node],
    main: Vec<NodeId>,
    tries: Vec<Branch>,
    /// For every node where it is shown, if it is yet.
    places: Vec<Option<Place>>,
    /// For every node its ply, as it is written by and by.
    written: Vec<Option<Written>>,
    /// The plies that leave a line of the second level.
    pub(super) too_deep: Vec<NodeId>,
}

/// A line that hangs from another.
#[derive(Debug)]
struct Branch {
    after: usize,
    within: Option<usize>,
    kind: LineKind,
    moves: Vec<NodeId>,
}

/// Where a node is shown: in the main line or in one that hangs from it, and where in that.
#[derive(Clone, Copy, Debug)]
struct Place {
    branch: Option<usize>,
    index: usize,
}

/// How many moves of a line a list shows, and how many of them lead to the position on the board.
type Extent = (usize, usize);

/// What a list shows, told by how far each line has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Taken {
    main: Extent,
    tries: Arc<[TakenTry]>,
    current: Current,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct TakenTry {
    branch: usize,
    within: Option<usize>,
    extent: Extent,
}

impl<'a> Lines<'a> {
    pub(super) fn new(board: &'a Board) -> Lines<'a> {
        let nodes = &board.nodes;
        Lines {
            nodes,
            main: Vec::new(),
            tries: Vec::new(),
            places: vec![None; nodes.len()],
            written: nodes.iter().map(written).collect(),
            too_deep: Vec::new(),
        }
    }

    /// Adds the way to `node`, where it is not there yet.
    pub(super) fn play(&mut self, node: NodeId) {
        let mut way = Vec::new();
        let mut at = node;
        while let Some((parent, _)) = &self.nodes[at.0].came {
            if self.places[at.0].is_some() {
                break;
            }
            way.push(at);
            at = *parent;
        }
        for id in way.into_iter().rev() {
            self.add(id);
        }
    }

    /// A ply bears the sign with which it is played: what a cue says later is not given away before. Whether that makes
    /// it another than before, from list number `edition` on.
    pub(super) fn sign(&mut self, id: NodeId, san: &str, sign: &str, edition: usize) -> bool {
        let Some(written) = self.written[id.0].as_mut() else { return false };
        let is_new = written.san().strip_prefix(san) != Some(sign);
        if is_new {
            written.rewrite(edition, format!("{san}{sign}").into());
        }
        is_new
    }

    /// Adds one node whose parent is already there.
    fn add(&mut self, id: NodeId) {
        let Some((parent, _)) = &self.nodes[id.0].came else { return };
        let kind = self.nodes[id.0].line;
        let place = match self.places[parent.0] {
            Some(Place { branch: Some(branch), index }) => {
                let from = &mut self.tries[branch];
                if index + 1 == from.moves.len() {
                    from.moves.push(id);
                    Place { branch: Some(branch), index: index + 1 }
                } else {
                    // There is no third level: what branches from a second-level line is refused, and hangs beside it.
                    let (within, after) = (Some(from.within.unwrap_or(branch)), from.after);
                    if from.within.is_some() {
                        self.too_deep.push(id);
                    }
                    self.hang(Branch { after, within, kind, moves: vec![id] })
                }
            }
            on_main => {
                let depth = on_main.map_or(0, |place| place.index + 1);
                if kind != LineKind::Try && depth == self.main.len() {
                    self.main.push(id);
                    Place { branch: None, index: depth }
                } else {
                    self.hang(Branch { after: depth, within: None, kind, moves: vec![id] })
                }
            }
        };
        self.places[id.0] = Some(place);
    }

    fn hang(&mut self, branch: Branch) -> Place {
        self.tries.push(branch);
        Place { branch: Some(self.tries.len() - 1), index: 0 }
    }

    /// What the list shows with `current` on the board.
    pub(super) fn take(&self, current: NodeId) -> Taken {
        // The way to a position goes through the beginning of each line that it goes through.
        let mut main_way = 0;
        let mut ways = vec![0; self.tries.len()];
        let mut at = current;
        while let Some((parent, _)) = &self.nodes[at.0].came {
            if let Some(place) = self.places[at.0] {
                let way = place.branch.map_or(&mut main_way, |branch| &mut ways[branch]);
                *way = (*way).max(place.index + 1);
            }
            at = *parent;
        }
        // A second-level line follows the one it branches from.
        let mut order: Vec<usize> = (0..self.tries.len()).collect();
        order.sort_by_key(|&index| {
            let branch = &self.tries[index];
            (branch.after, branch.within.unwrap_or(index), index)
        });
        let mut ranks = vec![0; order.len()];
        for (rank, &branch) in order.iter().enumerate() {
            ranks[branch] = rank;
        }
        let tries = order.iter().map(|&branch| TakenTry {
            branch,
            within: self.tries[branch].within.map(|within| ranks[within]),
            extent: (self.tries[branch].moves.len(), ways[branch]),
        });
        let current = self.places[current.0].map_or(Current::None, |place| match place.branch {
            None => Current::Main(place.index),
            Some(branch) => Current::Try(ranks[branch], place.index),
        });
        Taken { main: (self.main.len(), main_way), tries: tries.collect(), current }
    }

    /// The same, with what it has in common with the one before held once.
    pub(super) fn take_after(&self, before: &Taken, current: NodeId) -> Taken {
        let mut taken = self.take(current);
        if taken.tries == before.tries {
            taken.tries = Arc::clone(&before.tries);
        }
        taken
    }

    /// The lists that were taken, in order. Each line's moves are made once and shared by all of them, and so are lines
    /// that hang where nothing of them changes.
    pub(super) fn lists(&self, all: &[Taken], words: &ListWords) -> Vec<Arc<MoveList>> {
        let line = |ids: &[NodeId]| ids.iter().filter_map(|id| self.written[id.0].clone()).collect::<Arc<[Written]>>();
        let main = line(&self.main);
        let hanging: Vec<_> = self.tries.iter().map(|branch| line(&branch.moves)).collect();
        let mut lists: Vec<Arc<MoveList>> = Vec::with_capacity(all.len());
        for (edition, taken) in all.iter().enumerate() {
            let before = edition.checked_sub(1).filter(|before| Arc::ptr_eq(&all[*before].tries, &taken.tries));
            let tries = if let Some(before) = before {
                Arc::clone(&lists[before].tries)
            } else {
                let tries = taken.tries.iter().map(|hung| {
                    let moves = Line::new(Arc::clone(&hanging[hung.branch]), hung.extent, edition);
                    self.try_line(hung, moves, words)
                });
                tries.collect()
            };
            let main = Line::new(Arc::clone(&main), taken.main, edition);
            lists.push(Arc::new(MoveList { main, tries, current: taken.current, fold: Arc::clone(&words.fold) }));
        }
        lists
    }

    fn try_line(&self, hung: &TakenTry, moves: Line, words: &ListWords) -> TryLine {
        let branch = &self.tries[hung.branch];
        let is_try = branch.kind == LineKind::Try && branch.within.is_none();
        let last = hung.extent.0.checked_sub(1).map(|last| self.nodes[branch.moves[last].0].state);
        TryLine {
            after: branch.after,
            within: hung.within,
            line: branch.kind,
            label: Arc::clone(if is_try { &words.r#try } else { &words.or }),
            moves,
            verdict: last.map(|state| verdict(state, words)).unwrap_or_default(),
        }
    }
}

/// A node's ply with the sign it bears in the end.
fn written(node: &Node) -> Option<Written> {
    let (_, ply) = node.came.as_ref()?;
    Some(Written::new(ply.number, ply.piece.side, format!("{}{}", ply.san, ply.suffix).into()))
}

/// What a line played out comes to; a mate is said by the sign at its last move.
fn verdict(state: State, words: &ListWords) -> Arc<str> {
    if state == State::Stalemate { Arc::clone(&words.stalemate) } else { Arc::default() }
}
