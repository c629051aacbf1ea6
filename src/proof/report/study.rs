//! A study: does each of the solver's moves stand alone, what do the opponent's other moves come to, why do the tries
//! fail, and which positions are mutual zugzwangs.

use super::super::decide::{self, Ruling};
use super::super::ending::{Bounds, Ending};
use super::super::notation::{after, numbered, one};
use super::super::only;
use super::super::{Budget, Stipulation, Verdict, outcome};
use super::{Line, Row, Section};
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};

/// What a study's report says of the stipulation, and its sections.
pub(super) fn report(
    start: &Chess,
    stipulation: Option<Stipulation>,
    main: Option<&Line>,
    tries: &[Line],
    budget: Budget,
) -> (Option<Verdict>, String, Vec<Section>) {
    let solver = start.turn();
    let outlook = outcome::outlook(start, budget);
    let bounds = outlook.bounds.seen_by(solver);
    let goal = stipulation.and_then(Stipulation::goal).or_else(|| bounds.known());
    let verdict = stipulation.and_then(Stipulation::goal).map(|goal| match bounds {
        Bounds { low, high } if low == goal && high == goal => Verdict::Proven,
        Bounds { low, high } if high < goal || low > goal => Verdict::Refuted,
        _ => Verdict::Open,
    });
    let mut sections = Vec::new();
    if let (Some(goal), Some(main)) = (goal.filter(|goal| *goal >= Ending::Draw), main) {
        let by_solver = main.moves.iter().filter(|(before, _)| before.turn() == solver);
        let rows = by_solver.map(|(before, played)| solver_move(before, *played, goal, budget)).collect();
        sections.push(Section { title: "The solution, move by move", rows });
        let by_other = main.moves.iter().filter(|(before, _)| before.turn() != solver);
        let rows = by_other.filter_map(|(before, played)| other_moves(before, *played, goal, budget)).collect();
        sections.push(Section { title: "The opponent's other moves", rows });
    }
    if let Some(main) = main {
        let met = main.moves.iter().map(|(before, _)| before).chain([&main.end]);
        let rows = met.filter_map(|position| zugzwang(position, budget)).collect();
        sections.push(Section { title: "Mutual zugzwangs met", rows });
    }
    let rows = tries.iter().map(|line| a_try(line, solver, goal, budget)).collect();
    sections.push(Section { title: "Tries", rows });
    (verdict, outlook.witness, sections)
}

fn solver_move(before: &Chess, played: Move, goal: Ending, budget: Budget) -> Row {
    let moves = one(before, played);
    let Ruling { verdict, witness } = only::only(before, played, goal, budget);
    let word = match verdict {
        Verdict::Open => "open",
        Verdict::Proven if witness.contains("waste") => "only*",
        Verdict::Proven => "only",
        Verdict::Refuted => {
            let reaches = outcome::outlook(&after(before, played), budget).bounds.seen_by(before.turn()).low >= goal;
            if reaches { "dual" } else { "fails" }
        }
    };
    Row { moves, word, note: witness }
}

/// What the moves that the opponent did not choose come to; none where it had no choice.
fn other_moves(before: &Chess, played: Move, goal: Ending, budget: Budget) -> Option<Row> {
    let solver = !before.turn();
    let mut better = Vec::new();
    let mut undecided = Vec::new();
    let mut same = Vec::new();
    for (chosen, bounds) in outcome::after_each(before, budget).into_iter().filter(|(chosen, _)| *chosen != played) {
        let bounds = bounds.seen_by(Color::Black); // Turned round: as the solver sees it.
        if bounds.high < goal {
            better.push(chosen);
        } else if bounds.low >= goal {
            same.push(chosen);
        } else {
            undecided.push(chosen);
        }
    }
    let named = |moves: &[Move]| rules::listed(&rules::sans(before, moves.iter().copied()), 6);
    let side = rules::side(solver);
    let gets = if goal == Ending::Draw { "draws" } else { "wins" };
    let (word, note) = if !better.is_empty() {
        ("refutes", format!("after {} {side} no longer {gets}", named(&better)))
    } else if !undecided.is_empty() {
        ("open", format!("not decided: {}", named(&undecided)))
    } else if same.is_empty() {
        return None;
    } else {
        ("holds", format!("{side} {gets} against {} too", named(&same)))
    };
    Some(Row { moves: one(before, played), word, note })
}

fn zugzwang(position: &Chess, budget: Budget) -> Option<Row> {
    let Ruling { verdict, witness } = decide::zugzwang(position, budget);
    let turn = rules::side(position.turn());
    let number = position.fullmoves();
    (verdict == Verdict::Proven).then(|| Row {
        moves: format!("move {number}, {turn} to play"),
        word: "zugzwang",
        note: format!("{}; {witness}", rules::fen(position)),
    })
}

fn a_try(line: &Line, solver: Color, goal: Option<Ending>, budget: Budget) -> Row {
    let played: Vec<Move> = line.moves.iter().map(|(_, played)| *played).collect();
    let moves = line.moves.first().map_or_else(String::new, |(start, _)| numbered(start, &played));
    let outlook = outcome::outlook(&line.end, budget);
    let bounds = outlook.bounds.seen_by(solver);
    let word = match goal {
        Some(goal) if bounds.high < goal => "fails",
        Some(goal) if bounds.low >= goal => "succeeds",
        _ => "open",
    };
    Row { moves, word, note: outlook.witness }
}
