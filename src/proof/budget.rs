//! How much one question may cost, and what may be looked up for it.

use super::{Syzygy, tables};
use shakmaty::Chess;

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
    /// For which five men tables may be made. What that takes is not counted in `positions`: a verdict must not
    /// depend on which tables an earlier run has kept.
    pub fives: Fives,
    /// Published tables, to be used beside our own.
    pub syzygy: Option<Syzygy>,
}

/// So many tables of five men may be made for one composition: each takes up to half a minute of two cores.
const TABLES_OF_FIVE: usize = 2;

/// A budget of fewer positions than this, five seconds of them, asks for no table of five men: it is meant to be quick.
const FOR_FIVE: u64 = 25_000_000;

/// For which five men without pawns tables may be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fives {
    /// For none.
    None,
    /// For any: a single question asks for one table at most.
    Any,
    /// For these materials, by the numbers that their tables are known by; 0 stands for nothing.
    These([u64; TABLES_OF_FIVE]),
}

impl Fives {
    /// Whether a table may be made for a position of five men without pawns.
    pub(super) fn allow(self, position: &Chess) -> bool {
        match self {
            Fives::None => false,
            Fives::Any => true,
            Fives::These(materials) => tables::material(position).is_some_and(|own| materials.contains(&own)),
        }
    }

    /// Those that come first among these positions, as many as one composition may ask for.
    #[must_use]
    pub(super) fn of_the_first<'a>(self, positions: impl Iterator<Item = &'a Chess>) -> Fives {
        if self != Fives::Any {
            return self;
        }
        let mut materials = [0; TABLES_OF_FIVE];
        let mut found = 0;
        let fives = positions.filter(|position| !tables::reaches(position, false) && tables::reaches(position, true));
        for own in fives.filter_map(tables::material) {
            if found < materials.len() && !materials.contains(&own) {
                materials[found] = own;
                found += 1;
            }
        }
        Fives::These(materials)
    }
}

impl Budget {
    /// So many positions, and the usual memory.
    pub fn of(positions: u64) -> Budget {
        let fives = if positions < FOR_FIVE { Fives::None } else { Fives::Any };
        Budget { positions, fives, ..Budget::default() }
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
        Budget { positions: 5_000_000, bytes: 1 << 30, men: 5, fives: Fives::Any, syzygy: None }
    }
}
