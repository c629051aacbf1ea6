//! How much one question may cost.

/// How much work one claim may cost. Positions are counted and not seconds, so that the same question has the same
/// answer on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Positions looked at; a million takes about a fifth of a second of one core.
    pub positions: u64,
    /// Bytes that a search may hold at once, about.
    pub bytes: u64,
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
        Budget { positions: 5_000_000, bytes: 1 << 30 }
    }
}
