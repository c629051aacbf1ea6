//! Selfmates, reflexmates and helpmates, by trying everything within a budget.
//!
//! Reflexmate: each side must mate in one move where it can. So the side that wants to be mated has failed where it
//! could mate, and has done it where the other side can.

use super::Budget;
use super::keys::{self, ByPosition, Key};
use super::notation::after;
use shakmaty::{Chess, Move, Position};

/// The budget ended before everything was tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Exhausted;

/// At most so many solutions of a helpmate are listed.
const LISTED: usize = 50;

/// Whether both sides must mate in one move where they can.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reflex {
    /// A reflexmate.
    Must,
    /// A selfmate.
    May,
}

/// The search for a self- or reflexmate.
pub(super) struct SelfSearch {
    left: u64,
    reflex: Reflex,
    known: ByPosition<Known>,
    /// So many positions are kept.
    most: usize,
}

/// What is known of a position with the side to move that wants to be mated.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    /// It is mated in so many moves; 0 if no success is known.
    success: u32,
    /// It is not mated in so many.
    failure: u32,
}

fn is_mate(position: &Chess) -> bool {
    position.is_check() && position.legal_moves().is_empty()
}

impl SelfSearch {
    pub fn new(budget: Budget, reflex: Reflex) -> SelfSearch {
        SelfSearch { left: budget.positions, reflex, known: ByPosition::default(), most: keys::most(budget) }
    }

    fn count(&mut self) -> Result<(), Exhausted> {
        self.left = self.left.checked_sub(1).ok_or(Exhausted)?;
        Ok(())
    }

    fn mates_at_once(&mut self, position: &Chess) -> Result<bool, Exhausted> {
        for chosen in position.legal_moves() {
            self.count()?;
            if is_mate(&after(position, chosen)) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// The first moves after which the side to move is mated in `moves` at the latest.
    pub fn keys(&mut self, position: &Chess, moves: u32) -> Result<Vec<Move>, Exhausted> {
        let mut keys = Vec::new();
        if self.reflex == Reflex::Must && self.mates_at_once(position)? {
            return Ok(keys);
        }
        for chosen in position.legal_moves() {
            self.count()?;
            if self.forces(&after(position, chosen), moves)? {
                keys.push(chosen);
            }
        }
        Ok(keys)
    }

    /// Whether the side to move is mated in `moves` at the latest.
    fn succeeds(&mut self, position: &Chess, moves: u32) -> Result<bool, Exhausted> {
        let key = Key::of(position);
        let Known { success, failure } = self.known.get(&key).copied().unwrap_or_default();
        if success != 0 && moves >= success {
            return Ok(true);
        }
        if moves <= failure {
            return Ok(false);
        }
        let mut found = false;
        if !(self.reflex == Reflex::Must && self.mates_at_once(position)?) {
            for chosen in position.legal_moves() {
                self.count()?;
                if self.forces(&after(position, chosen), moves)? {
                    found = true;
                    break;
                }
            }
        }
        let Some(known) = keys::room(&mut self.known, key, self.most) else { return Ok(found) };
        if found {
            known.success = if known.success == 0 { moves } else { known.success.min(moves) };
        } else {
            known.failure = known.failure.max(moves);
        }
        Ok(found)
    }

    /// The moves of the side that would rather not mate: in a reflexmate those that mate alone, if there are any.
    pub fn defences(&mut self, position: &Chess) -> Result<Vec<Move>, Exhausted> {
        let mut defences: Vec<Move> = position.legal_moves().into_iter().collect();
        if self.reflex == Reflex::Must && self.mates_at_once(position)? {
            defences.retain(|chosen| is_mate(&after(position, *chosen)));
        }
        Ok(defences)
    }

    /// Whether the side to move, which would rather not, must mate: in this move or in `moves - 1` more.
    fn forces(&mut self, position: &Chess, moves: u32) -> Result<bool, Exhausted> {
        let answers = position.legal_moves();
        if answers.is_empty() {
            return Ok(false);
        }
        if self.reflex == Reflex::Must && self.mates_at_once(position)? {
            return Ok(true);
        }
        for answer in answers {
            self.count()?;
            let next = after(position, answer);
            if !is_mate(&next) && (moves <= 1 || !self.succeeds(&next, moves - 1)?) {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// Ways in which both sides together reach mate.
#[derive(Debug)]
pub(super) struct Ways {
    /// At most [`LISTED`] of them.
    pub lines: Vec<Vec<Move>>,
    /// There are more.
    pub more: bool,
}

/// All ways in which both sides together reach mate in exactly `plies`, as far as they are listed.
pub(super) fn helpmates(position: &Chess, plies: u32, budget: Budget) -> Result<Ways, Exhausted> {
    let mut search = Helped {
        left: budget.positions,
        barren: ByPosition::default(),
        most: keys::most(budget),
        line: Vec::new(),
        found: Vec::new(),
    };
    search.go(position, plies)?;
    let more = search.found.len() > LISTED;
    search.found.truncate(LISTED);
    Ok(Ways { lines: search.found, more })
}

struct Helped {
    left: u64,
    /// No mate in exactly so many plies (a bit each).
    barren: ByPosition<u64>,
    /// So many positions are kept.
    most: usize,
    line: Vec<Move>,
    found: Vec<Vec<Move>>,
}

impl Helped {
    /// Whether a mate was found below.
    fn go(&mut self, position: &Chess, plies: u32) -> Result<bool, Exhausted> {
        if plies == 0 {
            if is_mate(position) {
                self.found.push(self.line.clone());
            }
            return Ok(is_mate(position));
        }
        let key = Key::of(position);
        let bit = 1_u64 << plies.min(63);
        if plies > 1 && self.barren.get(&key).is_some_and(|barren| barren & bit != 0) {
            return Ok(false);
        }
        let mut any = false;
        for chosen in position.legal_moves() {
            // One more than are listed tells that there are more.
            if self.found.len() > LISTED {
                return Ok(true);
            }
            self.left = self.left.checked_sub(1).ok_or(Exhausted)?;
            let next = after(position, chosen);
            if plies == 1 && !next.is_check() {
                continue;
            }
            self.line.push(chosen);
            any |= self.go(&next, plies - 1)?;
            self.line.pop();
        }
        if !any
            && plies > 1
            && plies < 63
            && let Some(barren) = keys::room(&mut self.barren, key, self.most)
        {
            *barren |= bit;
        }
        Ok(any)
    }
}
