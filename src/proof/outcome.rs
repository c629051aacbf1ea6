//! Win, draw or loss with best play: by the laws, by material, by a short mate, by the tables, by the graph.

use super::Budget;
use super::ending::{Bounds, Ending};
use super::graph::{self, Graph, Returning};
use super::mate::{Outcome as Mate, Search};
use super::notation::{after, numbered, one};
use super::tables::{self, Worth};
use crate::game::rules;
use shakmaty::{Chess, Move, Position};

/// A win or a draw is looked for among mates of at most so many moves before the graph is built.
const SHORT: u32 = 4;

/// A line from the tables shows so many plies.
const SHOWN: u32 = 12;

/// The graph takes so many of the budget's positions for one of its own: it keeps each, with all its moves.
const KEPT: u64 = 10;

/// What is known of a position's result, and by what.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    pub bounds: Bounds,
    pub witness: String,
}

/// How many positions a graph may hold.
pub(super) fn most(budget: Budget) -> usize {
    usize::try_from(budget.positions / KEPT).unwrap_or(usize::MAX).clamp(100, 20_000_000)
}

/// The result with best play, as far as the budget reaches.
pub(super) fn outlook(position: &Chess, budget: Budget) -> Outlook {
    let known = |ending, witness: String| Outlook { bounds: Bounds::exactly(ending), witness };
    let turn = position.turn();
    if position.legal_moves().is_empty() {
        return if position.is_check() {
            known(Ending::win_of(!turn), "it is mate".into())
        } else {
            known(Ending::Draw, "it is stalemate".into())
        };
    }
    if position.is_insufficient_material() {
        return known(Ending::Draw, "neither side has the material to mate".into());
    }
    if let Some(worth) = tables::probe(position, false) {
        return known(ending_of(position, worth), told(position, worth));
    }
    if let Some((ending, line)) = short_mate(position, budget) {
        return known(ending, line);
    }
    let graph = Graph::explore(position, Returning::Allowed, most(budget));
    let bounds = graph.root().and(graph::at_sight(position));
    let witness = match bounds.known() {
        Some(Ending::Draw) => format!("{} positions can arise, and neither side can force a win", graph.len()),
        Some(ending) => format!("{ending}: {}", numbered(position, &graph.line())),
        None if bounds.high < Ending::WhiteWins => "White cannot win; whether Black can is not decided".into(),
        None if bounds.low > Ending::BlackWins => "Black cannot win; whether White can is not decided".into(),
        None => format!("no mate within {SHORT} moves, and {} positions did not decide the result", graph.len()),
    };
    Outlook { bounds, witness }
}

/// The result of a position that the tables hold.
pub(super) fn ending_of(position: &Chess, worth: Worth) -> Ending {
    match worth {
        Worth::Win(_) => Ending::win_of(position.turn()),
        Worth::Draw => Ending::Draw,
        Worth::Loss(_) => Ending::win_of(!position.turn()),
    }
}

/// `White mates in 26: 1.c7 Rd6+ 2.Kb5 …`, or how the draw is held.
fn told(position: &Chess, worth: Worth) -> String {
    let plies = match worth {
        Worth::Draw => {
            let holding: Vec<Move> = position
                .legal_moves()
                .into_iter()
                .filter(|chosen| tables::probe(&after(position, *chosen), false) == Some(Worth::Draw))
                .collect();
            let turn = rules::side(position.turn());
            return match holding.as_slice() {
                [only] => format!("neither side can force mate: {turn} holds by {} alone", one(position, *only)),
                _ => "neither side can force mate".to_string(),
            };
        }
        Worth::Win(plies) | Worth::Loss(plies) => plies,
    };
    let winner = ending_of(position, worth);
    let side = if winner == Ending::WhiteWins { "White" } else { "Black" };
    let moves = plies.div_ceil(2);
    let line = numbered(position, &best_line(position, SHOWN));
    let more = if plies > SHOWN { " …" } else { "" };
    format!("{side} mates in {moves}: {line}{more}")
}

/// The shortest mate against the longest defence, from the tables; of equal moves the first.
pub(super) fn best_line(position: &Chess, most: u32) -> Vec<Move> {
    let mut here = position.clone();
    let mut line = Vec::new();
    while line.len() < most as usize {
        let best = here.legal_moves().into_iter().rev().max_by_key(|chosen| {
            tables::probe(&after(&here, *chosen), false).map_or(i64::MIN, |worth| worth.before().order())
        });
        let Some(best) = best else { break };
        line.push(best);
        here.play_unchecked(best);
    }
    line
}

/// Who mates by force within [`SHORT`] moves, with the line.
fn short_mate(position: &Chess, budget: Budget) -> Option<(Ending, String)> {
    let turn = position.turn();
    let half = budget.part(2);
    let mut search = Search::new(half);
    if let Mate::Mate(moves) = search.shortest(position, SHORT) {
        return Some((Ending::win_of(turn), numbered(position, &search.line(position, moves))));
    }
    let mut search = Search::new(half);
    let line = search.lost(position, SHORT)?;
    Some((Ending::win_of(!turn), numbered(position, &line)))
}

/// What each legal move leads to, seen from the side that moves; exact where the tables reach.
pub(super) fn after_each(position: &Chess, budget: Budget) -> Vec<(Move, Bounds)> {
    let turn = position.turn();
    let legal = position.legal_moves();
    if legal.is_empty() {
        return Vec::new();
    }
    if tables::reaches(position, false) {
        let exact = |chosen| outlook(&after(position, chosen), budget).bounds.seen_by(turn);
        return legal.into_iter().map(|chosen| (chosen, exact(chosen))).collect();
    }
    let graph = Graph::explore(position, Returning::Allowed, most(budget));
    let share = budget.part(legal.len() as u64);
    graph
        .root_moves()
        .map(|(chosen, bounds)| {
            let after = after(position, chosen);
            let mut bounds = bounds.and(graph::at_sight(&after));
            if bounds.known().is_none()
                && let Some((ending, _)) = short_mate(&after, share)
            {
                bounds = Bounds::exactly(ending);
            }
            (chosen, bounds.seen_by(turn))
        })
        .collect()
}
