//! Win, draw or loss with best play: by the laws, by material, by a short mate, by the tables, by proof-number search,
//! by the graph.

use super::ending::{Bounds, Ending};
use super::forcing::{Aim, Answer, Goal, force};
use super::graph::{self, Graph, Returning};
use super::known::{self, ending_of};
use super::mate::{Outcome as Mate, Search};
use super::notation::{after, numbered, one};
use super::slices::{self, Explored, For};
use super::tables::Worth;
use super::{Budget, Syzygy};
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};

/// A win or a draw is looked for among mates of at most so many moves before the graph is built.
const SHORT: u32 = 4;

/// A line from the tables shows so many plies.
const SHOWN: u32 = 12;

/// A line from the slices shows so many plies.
const LINE: usize = 24;

/// What is known of a position's result, and by what.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    pub bounds: Bounds,
    pub witness: String,
}

/// The result with best play, as far as the budget reaches.
pub(super) fn outlook(position: &Chess, budget: Budget) -> Outlook {
    if let Some(known) = at_once(position, budget) {
        return known;
    }
    let known = |ending, witness: String| Outlook { bounds: Bounds::exactly(ending), witness };
    if let Some((ending, line)) = short_mate(position, budget) {
        return known(ending, line);
    }
    if let Some(worth) = known::worth(position, budget) {
        return known(ending_of(position, worth), told(position, worth, budget));
    }
    let (forced, told) = forced(position, budget.part(2));
    if forced.known().is_some() {
        return Outlook { bounds: forced, witness: told.join("; ") };
    }
    let sliced = slices::explore(position, For::Itself, budget);
    let of_slices = sliced.as_ref().map_or(forced, |slices| slices.bounds(position));
    if let (Some(slices), Some(ending)) = (&sliced, of_slices.known()) {
        return known(ending, told_by_slices(slices, position, ending, budget));
    }
    let graph = Graph::explore(position, Returning::Allowed, budget);
    let bounds = graph.root().and(graph::at_sight(position)).and(forced).and(of_slices);
    let mut witness = match bounds.known() {
        Some(ending) if graph.root().known() == Some(ending) && ending != Ending::Draw => {
            format!("{ending}: {}", forcing_line(position, &graph.line(), budget))
        }
        Some(Ending::Draw) if graph.root().known().is_some() => {
            let count = graph.len();
            if graph.is_whole() {
                format!("{count} positions can arise, and neither side can force a win")
            } else {
                format!("{count} of the positions that can arise show that neither side can force a win")
            }
        }
        Some(_) => "one search shows that White gets no less, another that White gets no more".into(),
        None if bounds.high < Ending::WhiteWins => "White cannot win; whether Black can is not decided".into(),
        None if bounds.low > Ending::BlackWins => "Black cannot win; whether White can is not decided".into(),
        None => format!("no mate within {SHORT} moves, and {} positions did not decide the result", graph.len()),
    };
    for more in told {
        witness = format!("{witness}; {more}");
    }
    if bounds.known().is_none()
        && let Some(Err(reason)) = budget.syzygy.filter(|_| position.castles().is_empty()).map(|s| s.probe(position))
    {
        witness = format!("{witness}; {reason}");
    }
    Outlook { bounds, witness }
}

/// What the laws, the material, our tables of few men and the user's files tell.
fn at_once(position: &Chess, budget: Budget) -> Option<Outlook> {
    let known = |ending, witness: String| Some(Outlook { bounds: Bounds::exactly(ending), witness });
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
    if position.board().occupied().count() <= 4
        && let Some(worth) = known::worth(position, budget)
    {
        return known(ending_of(position, worth), told(position, worth, budget));
    }
    published(position, budget.syzygy?)
}

/// What the user's Syzygy files tell.
fn published(position: &Chess, syzygy: Syzygy) -> Option<Outlook> {
    let found = syzygy.probe(position).ok()?;
    let what = match found.ending {
        Ending::Draw => "neither side can force mate".to_owned(),
        ending => ending.to_string(),
    };
    let note = if found.beyond_fifty {
        ", in more than fifty moves without a capture or a pawn's move, which does not count in compositions"
    } else {
        ""
    };
    Some(Outlook { bounds: Bounds::exactly(found.ending), witness: format!("{what} (Syzygy tables){note}") })
}

/// What each side can force, and how.
fn forced(position: &Chess, budget: Budget) -> (Bounds, Vec<String>) {
    let mut bounds = graph::at_sight(position);
    let mut told = Vec::new();
    let sides = [position.turn(), !position.turn()];
    for (goal, side) in [(Goal::Win, sides[0]), (Goal::Win, sides[1]), (Goal::Hold, sides[0]), (Goal::Hold, sides[1])] {
        let seen = bounds.seen_by(side);
        let least = if goal == Goal::Win { Ending::WhiteWins } else { Ending::Draw };
        if seen.low >= least || seen.high < least {
            continue;
        }
        if let Answer::Forced(line) = force(position, Aim { side, goal }, budget.part(4)) {
            bounds = bounds.and(Bounds { low: least, high: Ending::WhiteWins }.seen_by(side));
            let (name, line) = (side_name(side), forcing_line(position, &line, budget));
            told.push(if goal == Goal::Win { format!("{name} wins: {line}") } else { format!("{name} holds: {line}") });
        }
    }
    (bounds, told)
}

/// The winning line, or how much was looked at.
fn told_by_slices(slices: &Explored, position: &Chess, ending: Ending, budget: Budget) -> String {
    if ending == Ending::Draw {
        let count = slices.len();
        return format!(
            "neither side can force a win: looked at whole, with all that can arise in them, were {count} formations of pawns"
        );
    }
    format!("{ending}: {}", forcing_line(position, &slices.line(position, LINE), budget))
}

/// A line that forces something: where it is cut, or where the tables go on, it says so.
fn forcing_line(position: &Chess, line: &[Move], budget: Budget) -> String {
    let end = line.iter().fold(position.clone(), |here, chosen| after(&here, *chosen));
    let told = numbered(position, line);
    if end.is_game_over() || graph::at_sight(&end).known().is_some() {
        told
    } else if known::at_leaf(&end, budget).is_some() {
        format!("{told} (tables)")
    } else {
        format!("{told} …")
    }
}

fn side_name(side: Color) -> &'static str {
    side.fold_wb("White", "Black")
}

/// `White mates in 26: 1.c7 Rd6+ 2.Kb5 …`, or how the draw is held.
fn told(position: &Chess, worth: Worth, budget: Budget) -> String {
    let plies = match worth {
        Worth::Draw => {
            let holding: Vec<Move> = position
                .legal_moves()
                .into_iter()
                .filter(|chosen| known::worth(&after(position, *chosen), budget) == Some(Worth::Draw))
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
    let line = numbered(position, &best_line(position, SHOWN, budget));
    let more = if plies > SHOWN { " …" } else { "" };
    format!("{side} mates in {moves}: {line}{more}")
}

/// The shortest mate against the longest defence, from the tables; of equal moves the first.
pub(super) fn best_line(position: &Chess, most: u32, budget: Budget) -> Vec<Move> {
    let mut here = position.clone();
    let mut line = Vec::new();
    while line.len() < most as usize {
        let best = here.legal_moves().into_iter().rev().max_by_key(|chosen| {
            known::worth(&after(&here, *chosen), budget).map_or(i64::MIN, |worth| worth.before().order())
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
    if known::is_ours(position, budget) {
        let exact = |chosen| outlook(&after(position, chosen), budget).bounds.seen_by(turn);
        return legal.into_iter().map(|chosen| (chosen, exact(chosen))).collect();
    }
    let sliced = slices::explore(position, For::EveryMove, budget);
    let of_slices = |after: &Chess| match &sliced {
        Some(slices) => slices.bounds(after),
        None => graph::at_sight(after),
    };
    if sliced.is_some() {
        let all: Vec<(Move, Bounds)> =
            legal.iter().map(|chosen| (*chosen, of_slices(&after(position, *chosen)).seen_by(turn))).collect();
        if all.iter().all(|(_, bounds)| bounds.known().is_some()) {
            return all;
        }
    }
    let graph = Graph::explore(position, Returning::Allowed, budget);
    let share = budget.part(legal.len() as u64);
    graph
        .root_moves()
        .map(|(chosen, bounds)| {
            let after = after(position, chosen);
            let mut bounds = bounds.and(of_slices(&after));
            if bounds.known().is_none() {
                if let Some(known) = at_once(&after, budget) {
                    bounds = known.bounds;
                } else if let Some((ending, _)) = short_mate(&after, share) {
                    bounds = Bounds::exactly(ending);
                } else {
                    bounds = bounds.and(forced(&after, share).0);
                }
            }
            (chosen, bounds.seen_by(turn))
        })
        .collect()
}
