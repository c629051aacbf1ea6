//! Is a move the only one that wins, or that draws?
//!
//! Another move that reaches the result as well spoils the claim, unless it merely wastes time. A winning move wastes
//! time if after it the win cannot be forced without the same position (the same men, the same side to move, the same
//! rights) coming back: whoever plays it must return and play another winning move in the end. Such moves are named
//! apart in the witness. There is always a winning move that does not waste time, since the shortest way to mate never
//! comes back. A move that draws never wastes time: coming back for ever is a draw too.

use super::Budget;
use super::decide::{Ruling, open, proven, refuted};
use super::ending::{Bounds, Ending};
use super::graph::{Graph, Returning};
use super::notation::{after, one};
use super::outcome::{after_each, outlook};
use super::slices::{self, For};
use crate::game::rules::{self, listed};
use shakmaty::{Chess, Move, Position};

const NAMED: usize = 4;

/// A move, and how it stands beside the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Standing {
    /// What the mover gets at most: win, draw or loss, seen as White's or Black's own.
    pub goal: Ending,
    /// Other moves that get it too, by a way of their own.
    pub duals: Vec<Move>,
    /// Other moves that get it only by coming back to the same position.
    pub wasting: Vec<Move>,
    /// Other moves of which it is not decided.
    pub open: Vec<Move>,
    /// Other moves that do not get it.
    pub failing: Vec<Move>,
}

impl Standing {
    /// Nothing is known of the others.
    pub fn nothing(goal: Ending) -> Standing {
        Standing { goal, duals: Vec::new(), wasting: Vec::new(), open: Vec::new(), failing: Vec::new() }
    }
}

/// What is known of a played move beside the others.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    /// Whether it is the only one.
    pub ruling: Ruling,
    /// What it gets itself, seen by the mover; `None` if it is not legal.
    pub own: Option<Bounds>,
    /// The others, once it is sure that it gets what is asked.
    pub standing: Option<Standing>,
}

/// How a move stands that surely gets `goal` (as the mover sees it: White's win is the mover's) among all moves.
fn standing(position: &Chess, played: Move, goal: Ending, all: Vec<(Move, Bounds)>, budget: Budget) -> Standing {
    let mut standing = Standing::nothing(goal);
    let mut equal = Vec::new();
    for (chosen, bounds) in all.into_iter().filter(|(chosen, _)| *chosen != played) {
        if bounds.high < goal {
            standing.failing.push(chosen);
        } else if bounds.low >= goal {
            equal.push(chosen);
        } else {
            standing.open.push(chosen);
        }
    }
    if equal.is_empty() {
        return standing;
    }
    if goal == Ending::Draw {
        standing.duals = equal;
        return standing;
    }
    for (chosen, bounds) in never_back(position, &equal, budget) {
        let bounds = bounds.seen_by(position.turn());
        if bounds.high < goal {
            standing.wasting.push(chosen);
        } else if bounds.low >= goal {
            standing.duals.push(chosen);
        } else {
            standing.open.push(chosen);
        }
    }
    standing
}

/// What these moves come to if whoever comes back to the position has lost.
fn never_back(position: &Chess, moves: &[Move], budget: Budget) -> Vec<(Move, Bounds)> {
    let asked = |all: Vec<(Move, Bounds)>| -> Vec<(Move, Bounds)> {
        all.into_iter().filter(|(chosen, _)| moves.contains(chosen)).collect()
    };
    let sliced = slices::explore(position, For::EveryMove, budget).and_then(|slices| slices.without_return(position));
    match sliced.map(asked) {
        Some(known) if known.iter().all(|(_, bounds)| bounds.known().is_some()) => known,
        _ => asked(Graph::explore(position, Returning::Fails, budget).root_moves().collect()),
    }
}

/// `1.Kf6 and Kf7`: the number once, the moves in alphabetical order.
fn names(position: &Chess, moves: &[Move]) -> String {
    let mut names = rules::sans(position, moves.iter().copied());
    if let (Some(first), Some(number)) = (names.first_mut(), number(position, moves)) {
        *first = number + first.as_str();
    }
    listed(&names, NAMED)
}

fn number(position: &Chess, moves: &[Move]) -> Option<String> {
    let first = *moves.first()?;
    Some(one(position, first).trim_end_matches(&rules::san(position, first)).to_string())
}

fn verb<'a>(moves: &[Move], one: &'a str, several: &'a str) -> &'a str {
    if moves.len() == 1 { one } else { several }
}

/// Rules on `only winning move` (`goal` is the win) or `only drawing move`.
pub(super) fn only(position: &Chess, played: Move, goal: Ending, budget: Budget) -> Ruling {
    weigh(position, played, goal, budget).ruling
}

/// The same ruling, with what it stands on.
pub(super) fn weigh(position: &Chess, played: Move, goal: Ending, budget: Budget) -> Weighed {
    let all = after_each(position, budget);
    let own = all.iter().find(|(chosen, _)| *chosen == played).map(|(_, own)| *own);
    // The move that was played deserves a look of its own where a look at all of them together left it open.
    let own = own.map(|own| match own.known() {
        Some(_) => own,
        None => own.and(outlook(&after(position, played), budget).bounds.seen_by(position.turn())),
    });
    let by_itself = match own {
        Some(own) => alone(position, played, goal, own, &all),
        None => Some(open(format!("{} is not among the legal moves", one(position, played)))),
    };
    if let Some(ruling) = by_itself {
        return Weighed { ruling, own, standing: None };
    }
    let standing = standing(position, played, goal, all, budget);
    let does = if goal == Ending::Draw { "draw" } else { "win" };
    Weighed { ruling: rule(position, does, &standing), own, standing: Some(standing) }
}

/// What the result of the played move decides; `None` if the others must be looked at.
fn alone(position: &Chess, played: Move, goal: Ending, own: Bounds, all: &[(Move, Bounds)]) -> Option<Ruling> {
    let name = one(position, played);
    let does = if goal == Ending::Draw { "draw" } else { "win" };
    if own.high < goal {
        return Some(refuted(format!("{name} does not {does}")));
    }
    if goal == Ending::Draw {
        if own.low > Ending::Draw {
            return Some(refuted(format!("{name} even wins")));
        }
        let winning: Vec<Move> =
            all.iter().filter(|(_, bounds)| bounds.low > Ending::Draw).map(|(chosen, _)| *chosen).collect();
        if !winning.is_empty() {
            return Some(refuted(format!("{} {}", names(position, &winning), verb(&winning, "wins", "win"))));
        }
    }
    if own.low < goal || goal == Ending::Draw && own.high > Ending::Draw {
        return Some(open(format!("whether {name} {does}s is not decided")));
    }
    (all.len() == 1).then(|| proven(format!("no other move than {name} is legal")))
}

fn rule(position: &Chess, does: &str, standing: &Standing) -> Ruling {
    let Standing { duals, wasting, open: undecided, failing, .. } = standing;
    if !duals.is_empty() {
        let does = if duals.len() == 1 { format!("{does}s") } else { does.to_string() };
        return refuted(format!("{} {does} too", names(position, duals)));
    }
    if !undecided.is_empty() {
        let does = if undecided.len() == 1 { format!("{does}s") } else { does.to_string() };
        return open(format!("whether {} {does} too is not decided", names(position, undecided)));
    }
    let mut witness = match failing.len() {
        0 => String::new(),
        1 => format!("{} does not {does}", names(position, failing)),
        count => format!("none of the {count} other moves {does}s: {}", names(position, failing)),
    };
    if !wasting.is_empty() {
        let lead = if witness.is_empty() { "" } else { "; " };
        let (only, come) = (verb(wasting, "wastes", "waste"), verb(wasting, "it has", "they have"));
        let told = format!("{lead}{} only {only} time: {come} to come back to this position", names(position, wasting));
        witness.push_str(&told);
    }
    proven(witness)
}
