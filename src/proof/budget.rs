//! How much one question may cost, and what may be looked up for it.

use super::Syzygy;

/// How much work one claim may cost. Positions are counted and not seconds, so that the same question has the same
/// answer on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Positions looked at; a million takes about a fifth of a second of one core.
    pub positions: u64,
    /// Bytes that a search may hold at once, about.
    pub bytes: u64,
    /// Our own tables are used for so many men, the kings among them, and fewer; 5 if nothing else is said.
    pub men: usize,
    /// Published tables, to be used beside our own.
    pub syzygy: Option<Syzygy>,
}

impl Budget {
    /// So many positions, and the usual memory.
    pub fn of(positions: u64) -> Budget {
        Budget { positions, ..Budget::default() }
    }

    /// One of so many equal parts of the work.
    #[must_use]
    pub fn part(self, parts: u64) -> Budget {
        Budget { positions: self.positions / parts.max(1), ..self }
    }
}

impl Default for Budget {
    /// Five million positions, about a second: refuting a mate in four from a full middlegame board takes one. A
    /// gibibyte, so that two searches and the tables stay below four together.
    fn default() -> Budget {
        Budget { positions: 5_000_000, bytes: 1 << 30, men: 5, syzygy: None }
    }
}
