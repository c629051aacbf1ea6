//! Endings of pawns, and of one piece besides: slices in which the pawns stand still, each solved whole.
//!
//! Within a slice only kings and the piece move, so that play may go round as it likes; a capture or a pawn's move leads
//! to another slice, and never back. A slice is solved backwards from what its exits come to, once at best and once at
//! worst where that is not known, as the graph does it. Endgame tables tell of four men and fewer. Which slices are
//! looked at is found from the position asked about: those that undecided play leads to first, until it is decided or
//! the budget ends.

mod men;
mod names;
mod slice;
mod wanting;

use super::Budget;
use super::ending::{Bounds, Ending};
use super::tables::men::{Man, Placement, bit, king_reach, reach, squares};
use super::tables::{self, Worth};
use men::{Exit, Kind, Men, Spot, side};
use names::{ByMen, SetOfMen};
use shakmaty::{Chess, Color, EnPassantMode, Move, Position, Role};
use slice::{Slice, better};
use std::sync::{Arc, Mutex, PoisonError};
use wanting::Wanting;

/// Positions that a slice of kings alone counts for in a budget; with a piece, 64 times as many.
const SLICE: u64 = 10_000;

/// Bytes that a slice of kings alone counts for: half of them it keeps, the rest is for what solves it. With a piece, 64
/// times as many.
const BYTES: u64 = 6 << 13;

/// What is known after a look at some slices.
pub(super) struct Explored {
    slices: ByMen<Slice>,
    /// The tables tell of so many men and fewer.
    few: usize,
}

/// For which positions the slices are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum For {
    /// The position itself.
    Itself,
    /// Every position after one move.
    EveryMove,
}

/// All that the answer to a question depends on.
#[derive(Clone, Copy, PartialEq)]
struct Question {
    root: Men,
    spot: Spot,
    asked: For,
    few: usize,
    positions: u64,
    bytes: u64,
}

/// So many slices like that of the position asked about must be within the budget, or none is looked at: the share of one
/// question among many would be spent before anything is known.
const FEWEST: u64 = 16;

/// Looks at slices until what is asked is decided; `None` for a position that slices do not hold, and for a small budget.
pub(super) fn explore(position: &Chess, asked: For, budget: Budget) -> Option<Arc<Explored>> {
    let (root, _) = Men::of(position)?;
    if budget.positions / SLICE < FEWEST * cost(&root) { None } else { look(position, asked, budget) }
}

/// The same with every budget. The last answer is kept: a move is weighed by the same slices that told of all moves.
fn look(position: &Chess, asked: For, budget: Budget) -> Option<Arc<Explored>> {
    static LAST: Mutex<Option<(Question, Arc<Explored>)>> = Mutex::new(None);
    let (root, spot) = Men::of(position)?;
    let few = budget.men.min(4);
    let passing = position.ep_square(EnPassantMode::Legal).is_some();
    if passing || root.pawns == [0, 0] || root.count() <= few {
        return None;
    }
    let question = Question { root, spot, asked, few, positions: budget.positions, bytes: budget.bytes };
    let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, known)) = last.as_ref().filter(|(asked, _)| *asked == question) {
        return Some(known.clone());
    }
    // What is not asked for again makes room first.
    *last = None;
    let explored = Arc::new(answer(question));
    *last = Some((question, explored.clone()));
    Some(explored)
}

fn answer(question: Question) -> Explored {
    let Question { root, spot, asked, few, positions, bytes } = question;
    let mut explored = Explored { slices: ByMen::default(), few };
    let whole = (positions / SLICE).max(1);
    let (mut spent, mut held) = (0, 0);
    let targets = match asked {
        For::Itself => vec![(root, spot)],
        For::EveryMove => after_one_move(&root, spot),
    };
    let mut wanted = vec![root];
    while !wanted.is_empty() {
        let mut changed = SetOfMen::default();
        for men in wanted {
            spent += cost(&men);
            held += cost(&men) * BYTES;
            let slice = explored.solved(&men, None, None);
            explored.slices.insert(men, slice);
            changed.insert(men);
        }
        spent += explored.settle(changed);
        if spent >= whole || held >= bytes {
            break;
        }
        wanted = explored.wanted(&targets, (spent / 2).max(8).min(whole - spent));
    }
    explored
}

fn cost(men: &Men) -> u64 {
    men.places() as u64
}

impl Explored {
    /// What is known of a position that slices hold, or that lies one move beyond.
    pub fn bounds(&self, position: &Chess) -> Bounds {
        if position.ep_square(EnPassantMode::Legal).is_some() {
            let turn = position.turn();
            let best = position.legal_moves().into_iter().fold(None, |best, chosen| {
                Some(better(turn, best, self.bounds(&super::notation::after(position, chosen))))
            });
            return best.unwrap_or(super::graph::at_sight(position));
        }
        let at_sight = super::graph::at_sight(position);
        match Men::of(position) {
            Some((men, spot)) => self.value(&men, spot).and(at_sight),
            None => at_sight,
        }
    }

    /// How many slices were looked at.
    pub fn len(&self) -> usize {
        self.slices.len()
    }

    /// What each move is worth if play must not come back to this position: to come back is to lose.
    pub fn without_return(&self, position: &Chess) -> Option<Vec<(Move, Bounds)>> {
        let (men, spot) = Men::of(position)?;
        let slice = self.solved(&men, Some(self.slices.get(&men)?), Some(spot));
        let moves = position.legal_moves().into_iter().map(|chosen| {
            let after = super::notation::after(position, chosen);
            let bounds = match Men::of(&after) {
                Some((own, spot)) if own == men => slice.bounds(spot),
                _ => self.bounds(&after),
            };
            (chosen, bounds)
        });
        Some(moves.collect())
    }

    /// A winning line from a position that is won for sure, the other side holding out as long as it can within a
    /// slice; as long as slices tell, and at most so many plies.
    pub fn line(&self, position: &Chess, most: usize) -> Vec<Move> {
        let mut here = position.clone();
        let mut line = Vec::new();
        let Some(ending) = self.bounds(position).known().filter(|ending| *ending != Ending::Draw) else { return line };
        while line.len() < most {
            let Some((men, spot)) = Men::of(&here).filter(|(men, _)| self.slices.contains_key(men)) else { break };
            let winning = Ending::win_of(here.turn()) == ending;
            let own = self.slices[&men].steps(spot);
            let ways = here.legal_moves().into_iter().filter_map(|chosen| {
                let after = super::notation::after(&here, chosen);
                (self.bounds(&after).known() == Some(ending)).then(|| {
                    let steps = match Men::of(&after) {
                        Some((next, spot)) if next == men => u16::from(self.slices[&men].steps(spot)) + 1,
                        _ => 0,
                    };
                    (chosen, after, steps)
                })
            });
            // Steps sink within a slice, and no move leads back into one: so the line comes to an end.
            let next = if winning {
                ways.filter(|(.., steps)| *steps <= u16::from(own)).min_by_key(|(.., steps)| *steps)
            } else {
                ways.max_by_key(|(.., steps)| *steps)
            };
            let Some((chosen, after, _)) = next else { break };
            line.push(chosen);
            here = after;
        }
        line
    }

    fn solved(&self, men: &Men, before: Option<&Slice>, lost: Option<Spot>) -> Slice {
        Slice::solve(men, before, lost, |spot| {
            let mut best = None;
            men.each_exit(spot, |exit| best = Some(better(spot.turn, best, self.worth(&exit))));
            best
        })
    }

    /// Solves again what may be known better now that something is known of these slices: the fewer the men and the
    /// steps, the sooner. What it cost.
    fn settle(&mut self, mut changed: SetOfMen) -> u64 {
        let mut order: Vec<Men> = self.slices.iter().filter(|(_, slice)| !slice.whole).map(|(men, _)| *men).collect();
        order.sort_by_key(|men| (men.rank(), men.pawns, men.piece.map(|(color, role)| (side(color), role as u8))));
        let mut spent = 0;
        for men in order {
            let mut concerned = false;
            men.each_next(|next| concerned |= changed.contains(&next));
            if !concerned {
                continue;
            }
            spent += cost(&men);
            let known = self.slices.get(&men);
            let slice = self.solved(&men, known, None);
            if !known.is_some_and(|known| known.says_the_same(&slice)) {
                self.slices.insert(men, slice);
                changed.insert(men);
            }
        }
        spent
    }

    /// Slices that are not known, to which undecided play from these positions leads, the nearest first: so many of
    /// kings alone, and with a piece as many as cost as much, but one at least.
    fn wanted(&self, targets: &[(Men, Spot)], most: u64) -> Vec<Men> {
        let mut search = Wanting::new(self, most);
        let mut windows: Vec<Bounds> = Vec::new();
        for (men, spot) in targets {
            let window = self.value(men, *spot);
            if window.known().is_none() && !windows.contains(&window) {
                windows.push(window);
                let same = targets.iter().filter(|(men, spot)| self.value(men, *spot) == window);
                search.look(same, window);
            }
        }
        search.found()
    }

    /// What is known of a position, its turn and its men; nothing stands to be taken in passing.
    fn value(&self, men: &Men, spot: Spot) -> Bounds {
        if men.count() <= self.few || men.pawns == [0, 0] && men.piece.is_none() {
            return told(men, spot, None);
        }
        match self.slices.get(men) {
            Some(slice) => slice.bounds(spot),
            None => Bounds {
                low: if men.is_bare(Color::Black) { Ending::Draw } else { Ending::BlackWins },
                high: if men.is_bare(Color::White) { Ending::Draw } else { Ending::WhiteWins },
            },
        }
    }

    /// What a move out of a slice comes to.
    fn worth(&self, exit: &Exit) -> Bounds {
        match exit.kind {
            Kind::Plain => self.value(&exit.men, exit.spot),
            Kind::Step { over } => self.after_step(exit, over),
            Kind::Promotion { role, second } => self.promoted(exit, role, second),
        }
    }

    /// A double step, which may be answered by a capture in passing.
    fn after_step(&self, exit: &Exit, over: u8) -> Bounds {
        let (men, spot) = (&exit.men, exit.spot);
        let turn = spot.turn;
        let stepped = turn.fold_wb(over.wrapping_sub(8), over.wrapping_add(8));
        let mut passing = None;
        // The squares from which a pawn attacks the square passed over are those that a pawn of the other colour there
        // would attack.
        let from = reach(Man::pawn(!turn, over), over, 0) & men.pawns[side(turn)];
        for from in squares(from) {
            let mut taken = *men;
            taken.pawns[side(turn)] = taken.pawns[side(turn)] & !bit(from) | bit(over);
            taken.pawns[side(!turn)] &= !bit(stepped);
            let after = Spot { turn: !turn, ..spot };
            if taken.is_legal(after) {
                passing = Some(better(turn, passing, self.value(&taken, after)));
            }
        }
        let Some(passing) = passing else { return self.value(men, spot) };
        let mut others = false;
        men.each_within(spot, |_| others = true);
        men.each_exit(spot, |_| others = true);
        if others { better(turn, Some(passing), self.value(men, spot)) } else { passing }
    }

    /// A promotion: what the slice of the new piece says, or else at least what taking it comes to.
    fn promoted(&self, exit: &Exit, role: Role, second: Option<u8>) -> Bounds {
        let (men, spot) = (&exit.men, exit.spot);
        let turn = spot.turn;
        let known = match second {
            None => self.value(men, spot),
            Some(square) if men.count() < self.few => return told(men, spot, Some((!turn, role, square))),
            Some(_) => Bounds { low: Ending::BlackWins, high: Ending::WhiteWins },
        };
        if known.known().is_some() {
            return known;
        }
        let square = second.unwrap_or(spot.at);
        let left = if second.is_some() { *men } else { Men { piece: None, ..*men } };
        let mut taken = None;
        let mut take = |after: Spot| {
            let after = Spot { turn: !turn, at: if left.piece.is_some() { after.at } else { 0 }, ..after };
            if left.is_legal(after) {
                taken = Some(better(turn, taken, self.value(&left, after)));
            }
        };
        if king_reach(spot.kings[side(turn)]) & bit(square) != 0 {
            let mut kings = spot.kings;
            kings[side(turn)] = square;
            take(Spot { kings, ..spot });
        }
        if let Some((color, own)) = left.piece.filter(|(color, _)| *color == turn)
            && reach(Man::piece(color, own), spot.at, left.occupied(spot)) & bit(square) != 0
        {
            take(Spot { at: square, ..spot });
        }
        // The side that takes gets at least what taking comes to.
        match (taken, turn) {
            (None, _) => known,
            (Some(taken), Color::White) => known.and(Bounds { low: taken.low, high: Ending::WhiteWins }),
            (Some(taken), Color::Black) => known.and(Bounds { low: Ending::BlackWins, high: taken.high }),
        }
    }
}

/// The positions after one move.
fn after_one_move(men: &Men, spot: Spot) -> Vec<(Men, Spot)> {
    let mut after = Vec::new();
    men.each_within(spot, |next| after.push((*men, next)));
    // A second piece belongs to no slice: the tables tell of it, or nobody does.
    men.each_exit(spot, |exit| {
        if !matches!(exit.kind, Kind::Promotion { second: Some(_), .. }) {
            after.push((exit.men, exit.spot));
        }
    });
    after
}

/// What the tables say of few men.
fn told(men: &Men, spot: Spot, second: Option<(Color, Role, u8)>) -> Bounds {
    let (mut all, mut at) = (Vec::with_capacity(2), [0; tables::men::MOST]);
    let mut add = |man: Man, square: u8| {
        assert!(all.len() < tables::men::MOST, "the tables tell of few men");
        at[all.len()] = square;
        all.push(man);
    };
    for color in [Color::White, Color::Black] {
        squares(men.pawns[side(color)]).for_each(|square| add(Man::pawn(color, square), square));
    }
    if let Some((color, role)) = men.piece {
        add(Man::piece(color, role), spot.at);
    }
    if let Some((color, role, square)) = second {
        add(Man::piece(color, role), square);
    }
    Bounds::exactly(match tables::worth_of(Placement::new(spot.turn, spot.kings, &all, at)) {
        Worth::Win(_) => Ending::win_of(spot.turn),
        Worth::Draw => Ending::Draw,
        Worth::Loss(_) => Ending::win_of(!spot.turn),
    })
}

#[cfg(test)]
mod tests;
