//! A composition → its test report, as a composer would print it.
//!
//! Comes in: a scene's tree of positions with its stipulation, and what was found of its claims. Goes out: a
//! [`Report`], plain text all through; [`human`], [`short`], [`markdown`] and [`page`] print one or more of them, and
//! they serialise as they are. The keys and the words of [`Row::word`] are stable.

mod helped;
mod lines;
mod markdown;
mod page;
mod problem;
mod selfmate;
mod study;
mod text;
mod tries;
mod variations;
mod weight;

pub use markdown::markdown;
pub use page::page;
pub use text::{human, short};

use super::motif;
use super::{Budget, Finding, Stipulation, Verdict, gbr};
use crate::game::{Board, rules};
use crate::timeline::LineKind;
use lines::Line;
use serde::Serialize;
use shakmaty::{Chess, Color, Position, Role};

/// What was found of a composition.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The scene's name.
    pub name: Option<String>,
    /// Author, source, year.
    pub credit: Option<String>,
    /// The first position.
    pub fen: String,
    /// White's men, as they are printed where there is no diagram: `Kb6 c6`.
    pub white: String,
    /// Black's men.
    pub black: String,
    /// The material in the code of Guy, Blandford and Roycroft.
    pub gbr: String,
    /// White's and Black's men, counted: `2+2`.
    pub men: String,
    /// The stipulation's sign, if one was given.
    pub stipulation: Option<String>,
    /// Whether the stipulation can be fulfilled: `proven`, `refuted`, `open`; `None` without a stipulation.
    pub verdict: Option<&'static str>,
    /// The line or the sentence that says so.
    pub witness: String,
    /// `sound`, `dual`, `cooked`, `short`, `no solution`, `open`; `None` where nothing was asked.
    pub soundness: Option<&'static str>,
    /// One sentence that says how sound it is.
    pub summary: String,
    /// The solution as it is printed: the main line and the tries of a study, the key and the variations of a problem.
    pub solution: Vec<String>,
    /// Everything else, in the order in which it is printed; empty ones are left out.
    pub sections: Vec<Section>,
}

/// A part of the report.
#[derive(Clone, Debug, Serialize)]
pub struct Section {
    /// Its stable name: `moves`, `wasters`, `cooks`, `duals`, `replies`, `tries`, `zugzwangs`, `set-play`, `key`,
    /// `variations`, `solutions`, `short`, `motifs`, `claims`.
    pub id: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// Its lines.
    pub rows: Vec<Row>,
    /// Whether the solution says it already, so that a printed report leaves it out.
    #[serde(skip)]
    in_solution: bool,
}

impl Section {
    fn new(id: &'static str, title: &'static str, rows: Vec<Row>) -> Section {
        Section { id, title, rows, in_solution: false }
    }

    fn told_in_solution(self) -> Section {
        Section { in_solution: true, ..self }
    }
}

/// One line of a report.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// The move or the moves it is about, numbered.
    pub moves: String,
    /// One word: `only`, `only*`, `dual`, `cook`, `fails`, `wastes time`, `key`, `mate`, `open` and so on.
    pub word: &'static str,
    /// Of a dual: `minor` or `serious`.
    pub weight: Option<&'static str>,
    /// What is to be said of it; may be empty.
    pub note: String,
    /// How deep it stands in a tree of variations, from 0.
    pub depth: usize,
}

impl Row {
    fn new(moves: String, word: &'static str, note: String) -> Row {
        Row { moves, word, weight: None, note, depth: 0 }
    }
}

/// What a kind of composition contributes to its report.
struct Tested {
    verdict: Option<Verdict>,
    witness: String,
    soundness: Option<&'static str>,
    summary: String,
    solution: Vec<String>,
    sections: Vec<Section>,
}

impl Tested {
    /// The stipulation could not be fulfilled, or not be decided.
    fn without_solution(verdict: Verdict, soundness: &'static str, witness: String) -> Tested {
        Tested {
            verdict: Some(verdict),
            witness: witness.clone(),
            soundness: Some(soundness),
            summary: witness,
            solution: Vec::new(),
            sections: Vec::new(),
        }
    }
}

/// Tests the composition of one scene, each question within the budget. `findings` are those of the scene's claims.
pub fn report(name: Option<&str>, board: &Board, findings: &[&Finding], budget: Budget) -> Report {
    let start = rules::position_at(&board.nodes[0]);
    let task = board.task.as_ref().map_or("", |task| task.text.as_str());
    let stipulation = Stipulation::read(task);
    let main = lines::longest(board, LineKind::Solution);
    let tries = lines::ends(board, LineKind::Try);
    let solver = Stipulation::solver(task, start.turn());
    let misplaced = Stipulation::begins(task).filter(|begins| stipulation.is_some() && *begins != start.turn());
    let mut tested = match stipulation {
        _ if let Some(begins) = misplaced => {
            let (named, turn) = (rules::side(begins), rules::side(start.turn()));
            let witness = format!("the stipulation sends {named} first, but {turn} is to move");
            Tested::without_solution(Verdict::Refuted, "no solution", witness)
        }
        Some(Stipulation::Mate(moves)) => problem::test(&start, moves, main.as_ref(), &tries, budget),
        Some(Stipulation::SelfMate(_) | Stipulation::ReflexMate(_)) => {
            selfmate::test(&start, stipulation, main.as_ref(), budget)
        }
        Some(Stipulation::HelpMate(plies)) => {
            helped::test(&start, plies, Stipulation::intended_solutions(task), main.as_ref(), budget)
        }
        study => study::test(&start, study, solver, (main.as_ref(), &tries), budget),
    };
    tested.sections.push(Section::new("motifs", "Motifs", motifs(board, main.iter().chain(&tries))));
    tested.sections.push(Section::new("claims", "Claims of the film", claims(board, findings)));
    let men = |color: Color| start.board().by_color(color).count();
    Report {
        name: name.map(str::to_string),
        credit: board.credit.as_ref().map(|credit| credit.text.clone()),
        fen: board.nodes[0].fen.clone(),
        white: named_men(&start, Color::White),
        black: named_men(&start, Color::Black),
        gbr: gbr::code(&start, stipulation),
        men: format!("{}+{}", men(Color::White), men(Color::Black)),
        stipulation: stipulation.map(|stipulation| stipulation.told(solver)),
        verdict: tested.verdict.map(Verdict::word),
        witness: tested.witness,
        soundness: tested.soundness,
        summary: tested.summary,
        solution: tested.solution,
        sections: tested.sections.into_iter().filter(|section| !section.rows.is_empty()).collect(),
    }
}

/// Whether a helpmate, a selfmate or a reflexmate can be done as it is asked for, and what says so; open for everything
/// else.
pub(super) fn fulfilled(board: &Board, budget: Budget) -> (Verdict, String) {
    let start = rules::position_at(&board.nodes[0]);
    let task = board.task.as_ref().map_or("", |task| task.text.as_str());
    let tested = match Stipulation::read(task) {
        Some(Stipulation::HelpMate(plies)) => {
            helped::test(&start, plies, Stipulation::intended_solutions(task), None, budget)
        }
        stipulation => selfmate::test(&start, stipulation, None, budget),
    };
    // What is done in fewer moves is done: that is for the report.
    let verdict = if tested.soundness == Some("short") { Some(Verdict::Proven) } else { tested.verdict };
    (verdict.unwrap_or(Verdict::Open), tested.witness)
}

/// `Kc8 Ra1 b6`: king, queens, rooks, bishops, knights, pawns, each from the a-file on.
fn named_men(position: &Chess, color: Color) -> String {
    let mut names = Vec::new();
    for role in [Role::King, Role::Queen, Role::Rook, Role::Bishop, Role::Knight, Role::Pawn] {
        let men = position.board().by_piece(role.of(color));
        let mut squares: Vec<String> = men.into_iter().map(|square| square.to_string()).collect();
        squares.sort();
        let letter = if role == Role::Pawn { String::new() } else { role.upper_char().to_string() };
        names.extend(squares.into_iter().map(|square| format!("{letter}{square}")));
    }
    names.join(" ")
}

/// What comes on the board with each move of the solution and of the tries.
fn motifs<'a>(board: &Board, lines: impl Iterator<Item = &'a Line>) -> Vec<Row> {
    let mut told = Vec::new();
    let mut rows = Vec::new();
    for played in lines.flat_map(|line| &line.moves) {
        if told.contains(&played.node) {
            continue;
        }
        told.push(played.node);
        let before = board.nodes[played.node.0].came.as_ref().map(|(parent, _)| *parent);
        for sighting in motif::fresh(board, played.node, before) {
            rows.push(Row::new(played.numbered(), sighting.motif.phrase(), sighting.told));
        }
    }
    rows
}

/// Each claim beside the move after which it is made.
fn claims(board: &Board, findings: &[&Finding]) -> Vec<Row> {
    let row = |finding: &&Finding| {
        let came = board.nodes[finding.made.0].came.as_ref();
        let moves = came.map_or("start".to_string(), |(parent, ply)| {
            let dots = if board.nodes[parent.0].turn == crate::units::Side::White { "." } else { "..." };
            format!("{}{dots}{}", ply.number, ply.san)
        });
        Row::new(moves, finding.verdict.word(), format!("{}: {}", finding.claim, finding.witness))
    };
    findings.iter().map(row).collect()
}

#[cfg(test)]
mod tests;
