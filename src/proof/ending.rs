//! How a game ends with best play, and what of it is known.

use shakmaty::Color;
use std::fmt;

/// The result with best play; the better for White, the higher.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// Black mates.
    BlackWins,
    /// Neither side can force mate.
    Draw,
    /// White mates.
    WhiteWins,
}

impl Ending {
    pub(super) fn win_of(color: Color) -> Ending {
        color.fold_wb(Ending::WhiteWins, Ending::BlackWins)
    }

    /// Seen by this side: the better for it, the higher.
    pub(super) fn seen_by(self, color: Color) -> Ending {
        match (color, self) {
            (Color::White, ending) => ending,
            (Color::Black, Ending::WhiteWins) => Ending::BlackWins,
            (Color::Black, Ending::Draw) => Ending::Draw,
            (Color::Black, Ending::BlackWins) => Ending::WhiteWins,
        }
    }
}

impl fmt::Display for Ending {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Ending::BlackWins => "Black wins",
            Ending::Draw => "it is a draw",
            Ending::WhiteWins => "White wins",
        })
    }
}

/// The result lies between the two, both counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bounds {
    pub low: Ending,
    pub high: Ending,
}

impl Bounds {
    pub fn exactly(ending: Ending) -> Bounds {
        Bounds { low: ending, high: ending }
    }

    /// The result, where it is known.
    pub fn known(self) -> Option<Ending> {
        (self.low == self.high).then_some(self.low)
    }

    /// What both of two true bounds leave.
    pub fn and(self, other: Bounds) -> Bounds {
        Bounds { low: self.low.max(other.low), high: self.high.min(other.high) }
    }

    /// Seen by this side: the better for it, the higher.
    pub fn seen_by(self, color: Color) -> Bounds {
        let (low, high) = (self.low.seen_by(color), self.high.seen_by(color));
        Bounds { low: low.min(high), high: low.max(high) }
    }
}
