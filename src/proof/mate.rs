//! The exhaustive search for a mate in a number of moves.
//!
//! Iterative deepening over an AND/OR tree: the side to move needs one move after which every answer loses. What was
//! found of a position is kept: from which number of moves on it is a mate, and up to which it is none. Both are
//! exact, since neither depends on how the position arose.

mod tree;

pub use tree::NoTree;

use super::keys::{self, ByPosition, Key};
use super::{Budget, notation};
use shakmaty::{Chess, Move, Position};

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// The side to move mates in this many moves, and in no fewer.
    Mate(u32),
    /// It does not mate within the number asked for.
    None,
    /// The budget ended; up to this many moves there is no mate.
    Unknown(u32),
}

/// The budget has ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Exhausted;

/// What is known of a position with the mating side to move.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    /// No mate in so many moves.
    none_in: u32,
    /// A mate in so many moves; 0 if none is known.
    mate_in: u32,
}

/// A search with its memory; it may be asked again and again within one budget.
pub(super) struct Search {
    left: u64,
    known: ByPosition<Known>,
    /// So many positions are kept; what is found of more is found again when it is asked again.
    most: usize,
}

impl Search {
    pub(super) fn new(budget: Budget) -> Search {
        Search { left: budget.positions, known: ByPosition::default(), most: keys::most(budget) }
    }

    /// How many positions it holds.
    #[cfg(test)]
    pub(super) fn held(&self) -> usize {
        self.known.len()
    }

    /// The shortest mate of the side to move within `most` moves.
    pub(super) fn shortest(&mut self, position: &Chess, most: u32) -> Outcome {
        for moves in 1..=most {
            match self.mates(position, moves) {
                Ok(true) => return Outcome::Mate(moves),
                Ok(false) => {}
                Err(Exhausted) => return Outcome::Unknown(moves - 1),
            }
        }
        Outcome::None
    }

    /// Whether the side to move mates in `moves` at the latest.
    fn mates(&mut self, position: &Chess, moves: u32) -> Result<bool, Exhausted> {
        let key = Key::of(position);
        let before = self.known.get(&key).copied().unwrap_or_default();
        if before.mate_in != 0 && before.mate_in <= moves {
            return Ok(true);
        }
        if before.none_in >= moves {
            return Ok(false);
        }
        let mut found = false;
        for (after, _) in self.tries(position, moves)? {
            if self.holds(&after, moves)? {
                found = true;
                break;
            }
        }
        let Some(known) = keys::room(&mut self.known, key, self.most) else { return Ok(found) };
        if found {
            known.mate_in = if known.mate_in == 0 { moves } else { known.mate_in.min(moves) };
        } else {
            known.none_in = known.none_in.max(moves);
        }
        Ok(found)
    }

    /// The positions after each move, the likeliest to mate first: checks that leave few answers. For the last move
    /// only checks matter.
    fn tries(&mut self, position: &Chess, moves: u32) -> Result<Vec<(Chess, Move)>, Exhausted> {
        let mut tries = Vec::new();
        for chosen in position.legal_moves() {
            self.left = self.left.checked_sub(1).ok_or(Exhausted)?;
            let mut after = position.clone();
            after.play_unchecked(chosen);
            let check = after.is_check();
            if moves > 1 || check {
                let order = (!check, if moves > 1 { after.legal_moves().len() } else { 0 });
                tries.push((order, after, chosen));
            }
        }
        tries.sort_by_key(|(order, ..)| *order);
        Ok(tries.into_iter().map(|(_, after, chosen)| (after, chosen)).collect())
    }

    /// Whether every answer to a move loses: `after` is the position with the defender to move.
    fn holds(&mut self, after: &Chess, moves: u32) -> Result<bool, Exhausted> {
        let answers = after.legal_moves();
        if answers.is_empty() {
            return Ok(after.is_check());
        }
        if moves <= 1 {
            return Ok(false);
        }
        for answer in answers {
            self.left = self.left.checked_sub(1).ok_or(Exhausted)?;
            let mut next = after.clone();
            next.play_unchecked(answer);
            if !self.mates(&next, moves - 1)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The mating line, the defence holding out as long as it can. Cut short where the budget ends.
    pub(super) fn line(&mut self, position: &Chess, moves: u32) -> Vec<Move> {
        let mut line = Vec::new();
        let mut here = position.clone();
        let mut left = moves;
        while left > 0 {
            let Some((after, chosen)) = self.key(&here, left) else { break };
            line.push(chosen);
            let Some((answer, next, longest)) = self.stubborn(&after, left - 1) else { break };
            line.push(answer);
            (here, left) = (next, longest);
        }
        line
    }

    /// The fewest moves, at most `most`, in which the side to move is mated whatever it plays, and the line of its
    /// most stubborn answer. `None` if that is not so, or was not decided.
    pub(super) fn lost(&mut self, position: &Chess, most: u32) -> Option<Vec<Move>> {
        let lost = (1..=most).any(|moves| self.holds(position, moves + 1) == Ok(true));
        if !lost {
            return None;
        }
        let (answer, next, moves) = self.stubborn(position, most)?;
        let mut line = vec![answer];
        line.extend(self.line(&next, moves));
        Some(line)
    }

    /// Every first move that mates in `moves` at the latest; `None` if the budget ended.
    pub(super) fn firsts(&mut self, position: &Chess, moves: u32) -> Option<Vec<Move>> {
        let mut firsts = Vec::new();
        for (after, chosen) in self.tries(position, moves).ok()? {
            if self.holds(&after, moves).ok()? {
                firsts.push(chosen);
            }
        }
        Some(firsts)
    }

    /// A move that mates in `moves`.
    fn key(&mut self, position: &Chess, moves: u32) -> Option<(Chess, Move)> {
        let tries = self.tries(position, moves).ok()?;
        tries.into_iter().find(|(after, _)| self.holds(after, moves) == Ok(true))
    }

    /// The answer that delays the mate the longest, the position after it, and how many moves are left.
    fn stubborn(&mut self, after: &Chess, most: u32) -> Option<(Move, Chess, u32)> {
        let mut best: Option<(Move, Chess, u32)> = None;
        for answer in after.legal_moves() {
            let mut next = after.clone();
            next.play_unchecked(answer);
            let Outcome::Mate(moves) = self.shortest(&next, most) else { continue };
            if best.as_ref().is_none_or(|(.., longest)| moves > *longest) {
                best = Some((answer, next, moves));
            }
        }
        best
    }

    /// All moves, the likeliest to mate first.
    pub(super) fn ordered(&mut self, position: &Chess) -> Vec<Move> {
        self.left = self.left.max(1000); // Room for one list of moves after a search that used all it had.
        self.tries(position, 2).unwrap_or_default().into_iter().map(|(_, chosen)| chosen).collect()
    }

    /// A first move and the answer after which there is no mate in `moves`: `1.Ra7 Bxa7`. A move that ends the game
    /// without mate stands alone.
    pub(super) fn defence(&mut self, position: &Chess, first: Move, moves: u32) -> Option<String> {
        let mut after = position.clone();
        after.play_unchecked(first);
        let answers = after.legal_moves();
        if answers.is_empty() {
            return Some(format!("{} is stalemate", notation::one(position, first)));
        }
        let answer = answers.iter().copied().find(|answer| {
            let mut next = after.clone();
            next.play_unchecked(*answer);
            moves <= 1 || self.mates(&next, moves - 1) == Ok(false)
        })?;
        Some(notation::numbered(position, &[first, answer]))
    }
}
