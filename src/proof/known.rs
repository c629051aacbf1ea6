//! What tables know of a position's result: our own, or the user's Syzygy files where there are some.

use super::Budget;
use super::ending::Ending;
use super::tables::{self, Worth};
use shakmaty::{Chess, Position};

/// A result, and how far away it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Known {
    pub ending: Ending,
    /// On the shortest way of a win this number only sinks, and by the margin's steps at least; 0 if it is not known.
    pub distance: u32,
    /// Two distances whose difference is no larger may be equal.
    pub margin: u32,
}

/// Whether our own tables hold the position, or may be made to: four men, and five without pawns where the budget says
/// so.
pub(super) fn is_ours(position: &Chess, budget: Budget) -> bool {
    let men = position.board().occupied().count();
    let five = men > 4 && men <= budget.men && budget.fives.allow(position);
    men <= budget.men && tables::reaches(position, five)
}

/// What our own tables say, made for it if need be.
pub(super) fn worth(position: &Chess, budget: Budget) -> Option<Worth> {
    if is_ours(position, budget) { tables::probe(position, true) } else { None }
}

/// The result of a position that our own tables hold.
pub(super) fn ending_of(position: &Chess, worth: Worth) -> Ending {
    match worth {
        Worth::Win(_) => Ending::win_of(position.turn()),
        Worth::Draw => Ending::Draw,
        Worth::Loss(_) => Ending::win_of(!position.turn()),
    }
}

/// The result of a position met on the way, for which no table of five men is made.
pub(super) fn at_leaf(position: &Chess, budget: Budget) -> Option<Ending> {
    let few = position.board().occupied().count() <= budget.men.min(4);
    match few.then(|| tables::probe(position, false)).flatten() {
        Some(worth) => Some(ending_of(position, worth)),
        None => budget.syzygy?.ending(position),
    }
}

/// Result and distance of a position of the kind that is asked about.
pub(super) fn with_distance(position: &Chess, budget: Budget) -> Option<Known> {
    if let Some(worth) = worth(position, budget) {
        let distance = match worth {
            Worth::Win(plies) | Worth::Loss(plies) => plies,
            Worth::Draw => 0,
        };
        return Some(Known { ending: ending_of(position, worth), distance, margin: 0 });
    }
    let found = budget.syzygy?.probe(position).ok()?;
    // The files round distances by one ply.
    Some(Known { ending: found.ending, distance: found.distance, margin: 1 })
}
