//! All positions that can come from one, as far as the budget reaches, and what must come of them.
//!
//! Leaves are mates, stalemates, too little material and the positions of the endgame tables. What lies beyond the
//! budget is taken once as the best and once as the worst for each side, so that a result is given only where the
//! unknown cannot change it. A win is the least set of positions from which a side can force a won leaf; endless play
//! is no win. So repetition is judged rightly, however positions transpose.

use super::ending::{Bounds, Ending};
use super::keys::{ByPosition, Key};
use super::known::{self, Known};
use super::{Budget, notation};
use shakmaty::{Chess, Color, Move, Position};
use std::collections::hash_map::Entry;

/// A line is cut after so many plies.
const LONGEST_LINE: usize = 24;

/// What is known of a position by itself.
pub(super) fn at_sight(position: &Chess) -> Bounds {
    let cannot = |color| position.has_insufficient_material(color);
    let low = if cannot(Color::Black) { Ending::Draw } else { Ending::BlackWins };
    let high = if cannot(Color::White) { Ending::Draw } else { Ending::WhiteWins };
    Bounds { low, high }
}

/// The graph takes so many of the budget's positions for one of its own: it keeps each, with all its moves.
const KEPT: u64 = 10;

/// What a position with its moves takes in memory, about: measured on pawn endings and on pieces.
const BYTES: u64 = 900;

/// How many positions a graph may hold.
pub(super) fn most(budget: Budget) -> usize {
    let most = (budget.positions / KEPT).min(budget.bytes / BYTES);
    usize::try_from(most).unwrap_or(usize::MAX).clamp(100, 20_000_000)
}

/// Whether play may come back to the root.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Returning {
    /// As anywhere else.
    Allowed,
    /// If it does, the side to move at the root has failed.
    Fails,
}

/// What the tables tell of a position of the root's own kind when play must not come back to the root: less than
/// without that `mover` can never reach. A win nearer than at the root never needs the root, because on the shortest way
/// the distance only sinks.
fn without_return(mover: Color, at_root: Known, here: &Chess, budget: Budget) -> Option<Bounds> {
    let known = known::with_distance(here, budget)?;
    let (ending, goal) = (known.ending.seen_by(mover), at_root.ending.seen_by(mover));
    let told = known.distance > 0 || known.margin == 0;
    let wins_anyway = told && known.distance + known.margin < at_root.distance;
    if ending == Ending::WhiteWins && wins_anyway {
        Some(Bounds::exactly(ending).seen_by(mover))
    } else if ending < goal {
        Some(Bounds { low: Ending::BlackWins, high: ending }.seen_by(mover))
    } else {
        None
    }
}

/// Positions, where their moves lead, and what is known of them at sight.
pub(super) struct Graph {
    positions: Vec<Chess>,
    /// Of a position whose moves were not tried: none.
    moves: Vec<Vec<(Move, u32)>>,
    sight: Vec<Bounds>,
    solved: Vec<Bounds>,
    /// How many steps the win needs at most that is sure; [`u32::MAX`] where none is.
    steps: Vec<u32>,
    /// Nothing was left out because it would have been too much.
    whole: bool,
}

impl Graph {
    /// Looks at the positions that come from `root`, as many as the budget lets it keep.
    ///
    /// A position of the tables is a leaf as soon as its material or its pawns are no longer those of the root: from
    /// there no play leads back to the root. Where the root is in the tables itself, its own kind is played out as far
    /// as [`without_return`] leaves it open.
    pub fn explore(root: &Chess, returning: Returning, budget: Budget) -> Graph {
        let most = most(budget);
        let kind = |position: &Chess| (position.board().occupied().count(), position.board().pawns());
        let root_kind = kind(root);
        let root_known = (returning == Returning::Fails).then(|| known::with_distance(root, budget)).flatten();
        let mut numbers: ByPosition<u32> = ByPosition::default();
        numbers.insert(Key::of(root), u32::from(returning == Returning::Fails));
        let mut graph = Graph {
            positions: match returning {
                Returning::Allowed => vec![root.clone()],
                Returning::Fails => vec![root.clone(), root.clone()],
            },
            moves: Vec::new(),
            sight: Vec::new(),
            solved: Vec::new(),
            steps: Vec::new(),
            whole: true,
        };
        while graph.moves.len() < graph.positions.len() {
            let place = graph.moves.len();
            let here = graph.positions[place].clone();
            let legal = here.legal_moves();
            let mut sight = at_sight(&here);
            let mut moves = Vec::new();
            if legal.is_empty() {
                let lost = Ending::win_of(!here.turn());
                sight = Bounds::exactly(if here.is_check() { lost } else { Ending::Draw });
            } else if place == 1 && returning == Returning::Fails {
                sight = Bounds::exactly(Ending::win_of(!root.turn()));
            } else if place > 0
                && kind(&here) != root_kind
                && let Some(ending) = known::at_leaf(&here, budget)
            {
                sight = Bounds::exactly(ending);
            } else if place > 0
                && let Some(root_known) = root_known
                && let Some(bounds) = without_return(root.turn(), root_known, &here, budget)
            {
                sight = bounds;
            } else if sight.known().is_none() && graph.positions.len() >= most {
                graph.whole = false;
            } else if sight.known().is_none() {
                for chosen in legal {
                    let after = notation::after(&here, chosen);
                    let number = graph.positions.len() as u32;
                    let number = match numbers.entry(Key::of(&after)) {
                        Entry::Occupied(known) => *known.get(),
                        Entry::Vacant(new) => {
                            new.insert(number);
                            graph.positions.push(after);
                            number
                        }
                    };
                    moves.push((chosen, number));
                }
            }
            graph.sight.push(sight);
            graph.moves.push(moves);
        }
        graph.solve();
        graph
    }

    fn solve(&mut self) {
        let mut before: Vec<Vec<u32>> = vec![Vec::new(); self.positions.len()];
        for (place, moves) in self.moves.iter().enumerate() {
            for (_, to) in moves {
                before[*to as usize].push(place as u32);
            }
        }
        let white_surely = self.forced(&before, Color::White, |sight| sight.low == Ending::WhiteWins);
        let white_maybe = self.forced(&before, Color::White, |sight| sight.high == Ending::WhiteWins);
        let black_surely = self.forced(&before, Color::Black, |sight| sight.high == Ending::BlackWins);
        let black_maybe = self.forced(&before, Color::Black, |sight| sight.low == Ending::BlackWins);
        let reached = |steps: u32| steps != u32::MAX;
        self.solved = (0..self.positions.len())
            .map(|place| Bounds {
                low: match (reached(white_surely[place]), reached(black_maybe[place])) {
                    (true, _) => Ending::WhiteWins,
                    (_, true) => Ending::BlackWins,
                    _ => Ending::Draw,
                },
                high: match (reached(black_surely[place]), reached(white_maybe[place])) {
                    (true, _) => Ending::BlackWins,
                    (_, true) => Ending::WhiteWins,
                    _ => Ending::Draw,
                },
            })
            .collect();
        self.steps = white_surely.into_iter().zip(black_surely).map(|(white, black)| white.min(black)).collect();
    }

    /// In how many steps a side can force one of the leaves that count for it; [`u32::MAX`] where it cannot.
    fn forced(&self, before: &[Vec<u32>], color: Color, counts: impl Fn(Bounds) -> bool) -> Vec<u32> {
        let mut steps = vec![u32::MAX; self.positions.len()];
        let mut escapes: Vec<usize> = self.moves.iter().map(Vec::len).collect();
        let mut front: Vec<u32> = Vec::new();
        for (place, moves) in self.moves.iter().enumerate() {
            // A position whose moves are known is judged by them alone.
            if moves.is_empty() && counts(self.sight[place]) {
                steps[place] = 0;
                front.push(place as u32);
            }
        }
        let mut step = 0;
        while !front.is_empty() {
            step += 1;
            for to in std::mem::take(&mut front) {
                for place in &before[to as usize] {
                    let here = *place as usize;
                    if steps[here] != u32::MAX {
                        continue;
                    }
                    escapes[here] -= 1;
                    if self.positions[here].turn() == color || escapes[here] == 0 {
                        steps[here] = step;
                        front.push(*place);
                    }
                }
            }
        }
        steps
    }

    /// What is known of the root.
    pub fn root(&self) -> Bounds {
        self.solved[0]
    }

    /// What is known of each of the root's moves.
    pub fn root_moves(&self) -> impl Iterator<Item = (Move, Bounds)> + '_ {
        self.moves[0].iter().map(|(chosen, to)| (*chosen, self.solved[*to as usize]))
    }

    /// Whether all that can arise was looked at.
    pub fn is_whole(&self) -> bool {
        self.whole
    }

    pub fn len(&self) -> usize {
        self.positions.len()
    }

    /// From a root that is won for sure: the winning line, the defence holding out as long as it can, to a leaf or as
    /// far as is worth reading.
    pub fn line(&self) -> Vec<Move> {
        let Some(ending) = self.root().known().filter(|ending| *ending != Ending::Draw) else { return Vec::new() };
        let mut line = Vec::new();
        let mut place = 0;
        while line.len() < LONGEST_LINE {
            let winning = Ending::win_of(self.positions[place].turn()) == ending;
            let won = self.moves[place].iter().filter(|(_, to)| self.solved[*to as usize].known() == Some(ending));
            let next = if winning {
                won.min_by_key(|(_, to)| self.steps[*to as usize])
            } else {
                won.max_by_key(|(_, to)| self.steps[*to as usize])
            };
            let Some((chosen, to)) = next else { break };
            line.push(*chosen);
            place = *to as usize;
        }
        line
    }
}
