//! A composition → its test report, as a composer would print it.
//!
//! Comes in: a scene's tree of positions with its stipulation. Goes out: a [`Report`], plain text all through, which
//! [`Report::human`] and [`Report::markdown`] print and which serialises as it is.

mod helped;
mod problem;
mod study;
mod text;

use super::{Budget, Stipulation, Verdict, gbr};
use crate::game::{Board, NodeId, rules};
use crate::timeline::LineKind;
use serde::Serialize;
use shakmaty::{Chess, Color, Move, Position};

/// What was found of a composition.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The scene's name.
    pub name: Option<String>,
    /// Author, source, year.
    pub credit: Option<String>,
    /// The first position.
    pub fen: String,
    /// Its material in the code of Guy, Blandford and Roycroft.
    pub gbr: String,
    /// White's and Black's men: `3+2`.
    pub men: String,
    /// The stipulation's sign, if one was given.
    pub stipulation: Option<String>,
    /// Whether the stipulation can be fulfilled: `proven`, `refuted`, `open`; `None` without a stipulation.
    pub verdict: Option<&'static str>,
    /// The line or the sentence that says so.
    pub witness: String,
    /// Everything else, in the order in which it is printed.
    pub sections: Vec<Section>,
}

/// A part of the report.
#[derive(Clone, Debug, Serialize)]
pub struct Section {
    /// Its heading.
    pub title: &'static str,
    /// Its lines.
    pub rows: Vec<Row>,
}

/// One line of a report.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// The move or the moves it is about, numbered.
    pub moves: String,
    /// One word: `only`, `dual`, `wastes time`, `fails`, `key`, `cook`, `open` and so on.
    pub word: &'static str,
    /// What is to be said of it; may be empty.
    pub note: String,
}

/// A path from the start.
struct Line {
    moves: Vec<(Chess, Move)>,
    end: Chess,
}

/// Tests the composition of one scene; each question within the budget.
pub fn report(name: Option<&str>, board: &Board, budget: Budget) -> Report {
    let start = rules::position_at(&board.nodes[0]);
    let stipulation = board.task.as_ref().and_then(|task| Stipulation::read(&task.text));
    let main = main_line(board);
    let tries = tries(board);
    let (verdict, witness, sections) = match stipulation {
        Some(Stipulation::Mate(moves)) => problem::report(&start, moves, budget),
        Some(other) if other.goal().is_none() => helped::report(&start, other, budget),
        study => study::report(&start, study, main.as_ref(), &tries, budget),
    };
    let men = |color: Color| start.board().by_color(color).count();
    Report {
        name: name.map(str::to_string),
        credit: board.credit.as_ref().map(|credit| credit.text.clone()),
        fen: board.nodes[0].fen.clone(),
        gbr: gbr::code(&start, stipulation),
        men: format!("{}+{}", men(Color::White), men(Color::Black)),
        stipulation: stipulation.map(|stipulation| stipulation.to_string()),
        verdict: verdict.map(word_of),
        witness,
        sections: sections.into_iter().filter(|section| !section.rows.is_empty()).collect(),
    }
}

fn word_of(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Proven => "proven",
        Verdict::Refuted => "refuted",
        Verdict::Open => "open",
    }
}

/// The longest way through the solution.
fn main_line(board: &Board) -> Option<Line> {
    let ends = (1..board.nodes.len()).filter(|node| board.nodes[*node].line == LineKind::Solution);
    let longest = ends.rev().max_by_key(|node| depth(board, NodeId(*node)))?;
    Some(line_to(board, NodeId(longest)))
}

/// Every try, to its end.
fn tries(board: &Board) -> Vec<Line> {
    let parents: Vec<usize> =
        board.nodes.iter().filter_map(|node| node.came.as_ref()).map(|(parent, _)| parent.0).collect();
    let ends =
        (1..board.nodes.len()).filter(|node| board.nodes[*node].line == LineKind::Try && !parents.contains(node));
    ends.map(|end| line_to(board, NodeId(end))).collect()
}

fn depth(board: &Board, node: NodeId) -> usize {
    std::iter::successors(Some(node), |node| board.nodes[node.0].came.as_ref().map(|(parent, _)| *parent)).count()
}

fn line_to(board: &Board, end: NodeId) -> Line {
    let mut moves = Vec::new();
    let mut node = end;
    while let Some((parent, ply)) = &board.nodes[node.0].came {
        let before = rules::position_at(&board.nodes[parent.0]);
        let played = before.legal_moves().into_iter().find(|chosen| rules::san(&before, *chosen) == ply.san);
        moves.extend(played.map(|played| (before, played)));
        node = *parent;
    }
    moves.reverse();
    Line { moves, end: rules::position_at(&board.nodes[end.0]) }
}

#[cfg(test)]
mod tests;
