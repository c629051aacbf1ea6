//! Double check: two men attack the king of the side to move at once.

use super::lines::man;
use super::{Sighting, sighting};
use crate::game::{Motif, rules};
use shakmaty::{Chess, Position};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    let checkers: Vec<shakmaty::Square> = position.checkers().into_iter().collect();
    let Some(king) = position.board().king_of(position.turn()).filter(|_| checkers.len() > 1) else {
        return Vec::new();
    };
    let men: Vec<String> = checkers.iter().map(|at| man(position, *at)).collect();
    let told = format!("{} attack {} at once", rules::listed(&men, 4), man(position, king));
    let arrows = checkers.iter().map(|at| format!("{at} {king}")).collect();
    vec![sighting(Motif::DoubleCheck, checkers.iter().copied().chain([king]), told, Vec::new(), arrows)]
}
