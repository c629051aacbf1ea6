//! Selfmates, reflexmates and helpmates: all their solutions.

use super::super::helped::{Exhausted, Reflex, SelfSearch, helpmates};
use super::super::notation::one;
use super::super::{Budget, Stipulation, Verdict};
use super::{Row, Section};
use crate::game::rules;
use shakmaty::{Chess, Move, Position};

/// What the report says of the stipulation, and its sections.
pub(super) fn report(
    start: &Chess,
    stipulation: Stipulation,
    budget: Budget,
) -> (Option<Verdict>, String, Vec<Section>) {
    let found = match stipulation {
        Stipulation::SelfMate(moves) => first_moves(start, moves, Reflex::May, budget),
        Stipulation::ReflexMate(moves) => first_moves(start, moves, Reflex::Must, budget),
        Stipulation::HelpMate(plies) => helpmates(start, plies, budget)
            .map(|lines| Found::Solutions(lines.iter().map(|line| helped(start, line)).collect())),
        Stipulation::Win | Stipulation::Draw | Stipulation::Mate(_) => Err(Exhausted),
    };
    let solutions = match found {
        Err(Exhausted) => {
            return (Some(Verdict::Open), "the budget ended before everything was tried".into(), Vec::new());
        }
        Ok(Found::Short(witness)) => return (Some(Verdict::Refuted), witness, Vec::new()),
        Ok(Found::Solutions(solutions)) => solutions,
    };
    let (verdict, witness) = match solutions.as_slice() {
        [] => (Verdict::Refuted, "there is no solution".to_string()),
        [only] => (Verdict::Proven, format!("one solution: {only}")),
        several => (Verdict::Proven, format!("{} solutions", several.len())),
    };
    let rows = solutions.into_iter().map(|moves| Row { moves, word: "", note: String::new() }).collect();
    (Some(verdict), witness, vec![Section { title: "Solutions", rows }])
}

/// A helpmate's line: the side that is mated stands first in each number, so that a line of an odd number of plies
/// begins with `1...`.
fn helped(start: &Chess, line: &[Move]) -> String {
    let mut here = start.clone();
    let mut words = Vec::new();
    // Half-moves from the start of the first number; an odd line leaves out its first half.
    for (half, chosen) in (line.len() % 2..).zip(line) {
        let san = rules::san(&here, *chosen);
        words.push(match half % 2 {
            0 => format!("{}.{san}", half / 2 + 1),
            _ if words.is_empty() => format!("1...{san}"),
            _ => san,
        });
        here.play_unchecked(*chosen);
    }
    words.join(" ")
}

enum Found {
    /// It is done in fewer moves, as the sentence says.
    Short(String),
    /// Lines, or keys.
    Solutions(Vec<String>),
}

/// The keys, if none comes in fewer moves.
fn first_moves(start: &Chess, moves: u32, reflex: Reflex, budget: Budget) -> Result<Found, Exhausted> {
    let mut search = SelfSearch::new(budget, reflex);
    for fewer in 1..moves {
        let short = search.keys(start, fewer)?;
        if !short.is_empty() {
            let named = rules::listed(&rules::sans(start, short), 6);
            return Ok(Found::Short(format!("it is done in {fewer} already: {named}")));
        }
    }
    let mut keys: Vec<String> = search.keys(start, moves)?.iter().map(|key| one(start, *key)).collect();
    keys.sort();
    Ok(Found::Solutions(keys))
}
