//! A move as it is spoken of: what is said of it, and how well a legal move fits that.

use super::context::Context;
use crate::game::{LegalMove, Wing};
use crate::units::{Role, Side};
use std::ops::Range;

/// What was heard of a move; `None` and `false` where nothing was said.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(clippy::struct_excessive_bools)] // any of them may hold beside any other
pub struct Said {
    /// What moves.
    pub role: Option<Role>,
    /// Whose move.
    pub side: Option<Side>,
    /// Where it comes from, from 0.
    pub from_file: Option<u8>,
    /// Where it comes from, from 0.
    pub from_rank: Option<u8>,
    /// Where it goes, from 0.
    pub to_file: Option<u8>,
    /// Where it goes, from 0.
    pub to_rank: Option<u8>,
    /// It takes something.
    pub captures: bool,
    /// What it takes.
    pub captured: Option<Role>,
    /// Only what was moved last can be meant: `takes` alone.
    pub recaptures: bool,
    /// It takes in passing.
    pub en_passant: bool,
    /// What the pawn becomes.
    pub promotion: Option<Role>,
    /// It castles, and where to.
    pub castles: Option<Option<Wing>>,
    /// It gives check.
    pub check: bool,
    /// It mates.
    pub mate: bool,
    /// A pawn goes two squares.
    pub two_squares: bool,
    /// It is the only one.
    pub only: bool,
}

/// A move that may have been spoken of. The costs are in nats, see `cost`.
#[derive(Clone, Debug, PartialEq)]
pub struct Mention {
    /// What is said of it.
    pub said: Said,
    /// Its words in the transcript.
    pub words: Range<usize>,
    /// Its tokens.
    pub(super) tokens: Range<usize>,
    /// What it costs to pass over it: much where it can hardly be anything but a move.
    pub(super) strength: f32,
    /// What it costs to take it for a move at all, from doubtful sounds and odd forms.
    pub(super) doubt: f32,
    /// What is said around it.
    pub(super) context: Context,
}

/// The other side's man beside a move of one side: said in passing as often as not.
const WRONG_SIDE: f32 = 2.0;
/// Check was said and is not there: a slip, or said of what follows.
const NO_CHECK: f32 = 1.2;
/// Mate was said and is not there.
const NO_MATE: f32 = 1.5;
/// Something is taken, and that was not said.
const SILENT_CAPTURE: f32 = 0.4;
/// A pawn takes, and that was not said.
const SILENT_PAWN_CAPTURE: f32 = 1.0;
/// A pawn becomes a queen, and that was not said.
const SILENT_QUEEN: f32 = 0.5;
/// A pawn becomes less than a queen, and that was not said.
const SILENT_PROMOTION: f32 = 2.5;
/// Something is taken, nothing of the kind was said, but the squares fit.
const NO_CAPTURE: f32 = 1.8;

/// Two squares were said, and it goes one.
const NO_DOUBLE_STEP: f32 = 2.0;

impl Said {
    /// Whether this can only be one square's move: a target or castling.
    pub(super) fn is_full(&self) -> bool {
        self.to_file.is_some() && self.to_rank.is_some() || self.castles.is_some() || self.en_passant
    }

    /// What is against this move of `turn` being meant; `None` if it cannot be. `last` is where the last move went.
    pub fn against(&self, legal: &LegalMove, turn: Side, last: Option<crate::units::Square>) -> Option<f32> {
        let file = |wanted: Option<u8>, is: u8| wanted.is_none_or(|wanted| wanted == is);
        let squares = file(self.to_file, legal.to.file())
            && file(self.to_rank, legal.to.rank())
            && file(self.from_file, legal.from.file())
            && file(self.from_rank, legal.from.rank());
        if let Some(wing) = self.castles {
            let castles = legal.castling.is_some_and(|castled| wing.is_none_or(|wing| wing == castled));
            return castles.then(|| self.of_side(turn));
        }
        let role = self.role.is_none_or(|role| role == legal.role);
        let captured = self.captured.is_none_or(|role| legal.captured == Some(role));
        let passing = !self.en_passant || legal.en_passant;
        if !squares || !role || !captured || !passing || legal.castling.is_some() {
            return None;
        }
        let mut cost = self.of_side(turn);
        match (self.captures, legal.captured.is_some()) {
            (true, false) if self.is_full() => cost += NO_CAPTURE,
            (true, false) => return None,
            (false, true) if self.from_file.is_some() => {}
            (false, true) if legal.role == Role::Pawn => cost += SILENT_PAWN_CAPTURE,
            (false, true) => cost += SILENT_CAPTURE,
            _ => {}
        }
        if self.two_squares && legal.from.rank().abs_diff(legal.to.rank()) != 2 {
            cost += NO_DOUBLE_STEP;
        }
        if self.recaptures && self.role.is_none() && last != Some(legal.to) {
            cost += 0.8;
        }
        if self.captures && !self.is_full() && last.is_some() && last != Some(legal.to) {
            cost += 0.4;
        }
        match (self.promotion, legal.promotion) {
            (Some(wanted), Some(is)) if wanted == is => {}
            (Some(_), _) => return None,
            (None, Some(Role::Queen)) => cost += SILENT_QUEEN,
            (None, Some(_)) => cost += SILENT_PROMOTION,
            (None, None) => {}
        }
        Some(cost)
    }

    /// What is against it once its effect is known: check or mate that was said and is not there.
    pub(super) fn against_effect(&self, check: bool, mate: bool) -> f32 {
        let no_check = if self.check && !check { NO_CHECK } else { 0.0 };
        let no_mate = if self.mate && !mate { NO_MATE } else { 0.0 };
        let unsaid_mate = if mate && !self.mate && self.check { 0.5 } else { 0.0 };
        no_check + no_mate + unsaid_mate
    }

    fn of_side(&self, turn: Side) -> f32 {
        if self.side.is_some_and(|side| side != turn) { WRONG_SIDE } else { 0.0 }
    }
}
