//! Why a try of a study fails, and to what.

use super::super::ending::Ending;
use super::super::notation::{after, one};
use super::super::{Budget, outcome};
use super::Row;
use super::lines::{Line, Played};
use crate::game::rules;
use crate::timeline::LineKind;
use shakmaty::{Chess, Color, Move, Position};

/// So many refutations are named.
const NAMED: usize = 6;

/// A try with what refutes it.
pub(super) struct Failure {
    /// From where it leaves the solution: `6.c8=Q? Rc4+! 7.Qxc4`.
    line: String,
    /// `try`, `fails`, `succeeds`, `open`, `reply`.
    word: &'static str,
    /// What it comes to, and what refutes it.
    note: String,
    /// How its last position ends: `stalemate`, `Black wins`.
    end: String,
}

/// What becomes of a try. `goal` is what the solver wants, seen as its own.
pub(super) fn failure(line: &Line, solver: Color, goal: Option<Ending>, budget: Budget) -> Failure {
    let leaves = line.moves.iter().position(|played| played.kind == LineKind::Try).unwrap_or(0);
    let own = &line.moves[leaves..];
    let outlook = outcome::outlook(&line.end, budget);
    let bounds = outlook.bounds.seen_by(solver);
    let end = ending(&line.end, outlook.bounds.known());
    let Some(first) = own.iter().find(|played| played.before.turn() == solver) else {
        return Failure { line: signed(own, None), word: "reply", note: outlook.witness, end };
    };
    let next = after(&first.before, first.chosen);
    // Where the solver's first own move fails already, every reply that shows it is looked for.
    let at_once = goal.is_some_and(|goal| outcome::outlook(&next, budget).bounds.seen_by(solver).high < goal);
    let (mut refuting, mut undecided) = (Vec::new(), Vec::new());
    if let Some(goal) = goal.filter(|_| at_once) {
        for (chosen, bounds) in outcome::after_each(&next, budget) {
            let bounds = bounds.seen_by(Color::Black); // Turned round: as the solver sees it.
            if bounds.high < goal {
                refuting.push(chosen);
            } else if bounds.low < goal {
                undecided.push(chosen);
            }
        }
    }
    let alone = refuting.first().copied().filter(|_| refuting.len() == 1 && undecided.is_empty());
    let word = match goal {
        Some(_) if alone.is_some() => "try",
        Some(_) if at_once => "fails",
        Some(goal) if bounds.high < goal => "fails",
        Some(goal) if bounds.low >= goal => "succeeds",
        _ => "open",
    };
    let mut note = outlook.witness;
    if at_once {
        note = format!("{}; {note}", refuted_by(&next, &refuting, &undecided));
    }
    Failure { line: signed(own, alone), word, note, end }
}

/// `refuted by 6...Rc4+ alone`, or what is known of that.
fn refuted_by(next: &Chess, refuting: &[Move], undecided: &[Move]) -> String {
    let named = |moves: &[Move]| {
        let dots = if next.turn() == Color::White { "." } else { "..." };
        let sans = rules::sans(next, moves.iter().copied());
        format!("{}{dots}{}", next.fullmoves(), rules::listed(&sans, NAMED))
    };
    let does = if undecided.len() == 1 { "does" } else { "do" };
    match (refuting, undecided) {
        ([], []) if next.is_checkmate() => "it is mate".into(),
        ([], []) => "it ends the game".into(),
        ([], _) => format!("refuted, but whether by {} is not decided", named(undecided)),
        ([only], []) => format!("refuted by {} alone", one(next, *only)),
        (_, []) => format!("refuted by {}", named(refuting)),
        _ => format!("refuted by {}; whether {} {does} it too is not decided", named(refuting), named(undecided)),
    }
}

/// The moves with `?` behind the first of the side that errs, and `!` behind its only refutation.
fn signed(own: &[Played], refutation: Option<Move>) -> String {
    let mut text = String::new();
    for (index, played) in own.iter().enumerate() {
        let written = if index == 0 || played.before.turn() == Color::White {
            played.numbered()
        } else {
            rules::san(&played.before, played.chosen)
        };
        let sign = match index {
            _ if !played.suffix.is_empty() => played.suffix.as_str(),
            0 => "?",
            1 if refutation == Some(played.chosen) && !after(&played.before, played.chosen).is_checkmate() => "!",
            _ => "",
        };
        if index > 0 {
            text.push(' ');
        }
        text.push_str(&written);
        text.push_str(sign);
    }
    text
}

fn ending(end: &Chess, known: Option<Ending>) -> String {
    if end.is_checkmate() {
        return String::new();
    }
    if end.is_stalemate() {
        return "stalemate".into();
    }
    match known {
        Some(Ending::WhiteWins) => "and White wins".into(),
        Some(Ending::BlackWins) => "and Black wins".into(),
        Some(Ending::Draw) => "and it is a draw".into(),
        None => "…".into(),
    }
}

impl Failure {
    pub fn row(&self) -> Row {
        Row::new(self.line.clone(), self.word, self.note.clone())
    }

    /// `6.c8=Q? Rc4+! 7.Qxc4 stalemate.`
    pub fn printed(&self) -> String {
        format!("{} {}", self.line, self.end).trim_end().to_owned() + "."
    }
}
