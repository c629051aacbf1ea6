//! Helpmates: all their solutions, shorter ones, and set play.

use super::super::helped::{Exhausted, Ways, helpmates};
use super::super::{Budget, Verdict};
use super::lines::Line;
use super::{Row, Section, Tested};
use crate::game::rules;
use shakmaty::{Chess, Move, Position};

/// Tests a helpmate of so many half-moves. `intended` is how many solutions the stipulation speaks of, if it does.
pub(super) fn test(start: &Chess, plies: u32, intended: Option<usize>, main: Option<&Line>, budget: Budget) -> Tested {
    tested(start, plies, intended, main, budget).unwrap_or_else(|Exhausted| {
        let witness = "the budget ended before everything was tried".to_string();
        Tested::without_solution(Verdict::Open, "open", witness)
    })
}

fn tested(
    start: &Chess,
    plies: u32,
    intended: Option<usize>,
    main: Option<&Line>,
    budget: Budget,
) -> Result<Tested, Exhausted> {
    let Ways { lines, more } = helpmates(start, plies, budget)?;
    let solutions: Vec<String> = lines.iter().map(|line| helped(start, line)).collect();
    // The same side must begin and the same side mate, so shorter solutions are shorter by whole moves.
    let mut short = Vec::new();
    for fewer in (1..plies).rev().filter(|fewer| (plies - fewer).is_multiple_of(2)) {
        let note =
            |line: &Vec<Move>| Row::new(helped(start, line), "short", format!("in {} fewer half-moves", plies - fewer));
        let ways = helpmates(start, fewer, budget)?;
        short.extend(ways.lines.iter().map(note));
        short.extend(ways.more.then(and_more));
    }
    let mut set: Vec<Row> = Vec::new();
    if let Some(passed) = rules::null_move(start).filter(|_| plies > 1 && !start.is_check()) {
        let ways = helpmates(&passed, plies - 1, budget)?;
        set.extend(ways.lines.iter().map(|line| Row::new(helped(&passed, line), "set", String::new())));
        set.extend(ways.more.then(and_more));
    }
    let count = solutions.len() + usize::from(more);
    let wrong = main.is_some_and(|main| !is_a_way(main, plies, &lines, more));
    let (verdict, soundness) = match intended {
        _ if count == 0 => (Verdict::Refuted, "no solution"),
        _ if wrong => (Verdict::Proven, "no solution"),
        _ if !short.is_empty() => (Verdict::Proven, "short"),
        Some(intended) if intended < count => (Verdict::Proven, "cooked"),
        Some(intended) if intended > count => (Verdict::Refuted, "no solution"),
        None if count > 1 => (Verdict::Proven, "cooked"),
        _ => (Verdict::Proven, "sound"),
    };
    let witness = match (solutions.as_slice(), intended) {
        ([], _) => "there is no solution".to_string(),
        (several, _) if more => format!("more than {} solutions", several.len()),
        ([only], None | Some(1)) => format!("one solution: {only}"),
        (several, None) => format!("{} solutions", several.len()),
        (several, Some(intended)) if several.len() == intended => format!("{intended} solutions, as intended"),
        (several, Some(intended)) => format!("{} solutions where {intended} are intended", several.len()),
    };
    let mut summary = witness.clone();
    if count > 1 && intended.is_none() {
        summary.push_str("; all but one are cooks, unless the stipulation says how many are meant");
    }
    if !short.is_empty() {
        summary.push_str("; there are shorter ones");
    }
    if wrong && count > 0 {
        summary.push_str("; the line given is none of them");
    }
    let mut rows: Vec<Row> = solutions.iter().map(|moves| Row::new(moves.clone(), "solution", String::new())).collect();
    rows.extend(more.then(and_more));
    Ok(Tested {
        verdict: Some(verdict),
        witness,
        soundness: Some(soundness),
        summary,
        solution: solutions,
        sections: vec![
            Section::new("solutions", "Solutions", rows).told_in_solution(),
            Section::new("short", "Short solutions", short),
            Section::new("set-play", "Set play", set),
        ],
    })
}

/// Behind a list that was cut.
fn and_more() -> Row {
    Row::new("…".into(), "more", "there are more than are listed".into())
}

/// Whether the line that was given is one of the solutions, or the beginning of one. Where not all are listed, a whole
/// line is known by its mate, and a beginning is believed.
fn is_a_way(main: &Line, plies: u32, lines: &[Vec<Move>], more: bool) -> bool {
    let given: Vec<Move> = main.moves.iter().map(|played| played.chosen).collect();
    let beginning = given.len() < plies as usize && !main.end.legal_moves().is_empty();
    let whole = given.len() == plies as usize && main.end.is_checkmate();
    lines.iter().any(|line| line.starts_with(&given)) || more && (beginning || whole)
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
