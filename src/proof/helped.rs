//! Selfmates, reflexmates and helpmates, by trying everything within a budget.
//!
//! Reflexmate: each side must mate in one move where it can. So the side that wants to be mated has failed where it
//! could mate, and has done it where the other side can.

use super::Budget;
use super::keys::{ByPosition, Key};
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
    /// Shortest known success, longest known failure.
    known: ByPosition<(u32, u32)>,
}

fn is_mate(position: &Chess) -> bool {
    position.is_check() && position.legal_moves().is_empty()
}

impl SelfSearch {
    pub fn new(budget: Budget, reflex: Reflex) -> SelfSearch {
        SelfSearch { left: budget.positions, reflex, known: ByPosition::default() }
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
        let (success, failure) = self.known.get(&key).copied().unwrap_or((u32::MAX, 0));
        if moves >= success || moves <= failure {
            return Ok(moves >= success);
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
        let known = self.known.entry(key).or_insert((u32::MAX, 0));
        if found {
            known.0 = known.0.min(moves);
        } else {
            known.1 = known.1.max(moves);
        }
        Ok(found)
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

/// All ways in which both sides together reach mate in exactly `plies`, at most [`LISTED`].
pub(super) fn helpmates(position: &Chess, plies: u32, budget: Budget) -> Result<Vec<Vec<Move>>, Exhausted> {
    let mut search =
        Helped { left: budget.positions, barren: ByPosition::default(), line: Vec::new(), found: Vec::new() };
    search.go(position, plies)?;
    Ok(search.found)
}

struct Helped {
    left: u64,
    /// No mate in exactly so many plies (a bit each).
    barren: ByPosition<u64>,
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
            if self.found.len() >= LISTED {
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
        if !any && plies > 1 && plies < 63 {
            *self.barren.entry(key).or_insert(0) |= bit;
        }
        Ok(any)
    }
}
