//! A direct mate: key, cooks, short solutions, set play, tries, threat or block, variations and their duals.

use super::super::mate::{Outcome, Search};
use super::super::notation::{after, one};
use super::super::{Budget, Verdict};
use super::{Row, Section};
use crate::game::rules;
use shakmaty::{Chess, Move, Position};

/// So many tries are listed.
const TRIES: usize = 12;

/// What a problem's report says of the stipulation, and its sections.
pub(super) fn report(start: &Chess, moves: u32, budget: Budget) -> (Option<Verdict>, String, Vec<Section>) {
    let mut search = Search::new(budget);
    let shortest = match search.shortest(start, moves) {
        Outcome::Mate(shortest) => shortest,
        Outcome::None => return (Some(Verdict::Refuted), format!("there is no mate in {moves}"), Vec::new()),
        Outcome::Unknown(searched) => {
            let witness = format!("there is no mate in {searched}; the budget ended before {moves}");
            return (Some(Verdict::Open), witness, Vec::new());
        }
    };
    if shortest < moves {
        let keys = search.firsts(start, shortest).unwrap_or_default();
        let named = rules::listed(&rules::sans(start, keys), 6);
        let witness = format!("there is a mate in {shortest} already: {named}");
        return (Some(Verdict::Refuted), witness, Vec::new());
    }
    let Some(keys) = search.firsts(start, moves) else {
        return (Some(Verdict::Open), "there is a mate, but the budget ended before all keys".into(), Vec::new());
    };
    let mut sections = Vec::new();
    let word = if keys.len() == 1 { "key" } else { "cook" };
    let rows = keys.iter().map(|key| keyed(&mut search, start, *key, moves, word)).collect();
    sections.push(Section { title: if keys.len() == 1 { "Key" } else { "Keys: the problem is cooked" }, rows });
    sections.push(Section { title: "Set play", rows: set_play(&mut search, start, moves) });
    if let [key] = keys.as_slice() {
        sections.push(Section { title: "Variations", rows: variations(&mut search, &after(start, *key), moves - 1) });
    }
    sections.push(Section { title: "Tries", rows: tries(&mut search, start, moves) });
    let named = rules::listed(&rules::sans(start, keys.iter().copied()), 6);
    let witness = if keys.len() == 1 {
        format!("{named} is the only key, and there is no shorter mate")
    } else {
        format!("{} keys: {named}", keys.len())
    };
    (Some(Verdict::Proven), witness, sections)
}

/// A key, with its threat.
fn keyed(search: &mut Search, start: &Chess, key: Move, moves: u32, word: &'static str) -> Row {
    let after_key = after(start, key);
    let note = if after_key.is_check() {
        "gives check".to_string()
    } else if moves < 2 {
        String::new()
    } else {
        match rules::null_move(&after_key) {
            None => String::new(),
            Some(passed) => match search.shortest(&passed, moves - 1) {
                Outcome::Mate(shortest) => {
                    let threats = search.firsts(&passed, shortest).unwrap_or_default();
                    format!("threat: {}", rules::listed(&rules::sans(&passed, threats), 6))
                }
                Outcome::None => "block: there is no threat, only zugzwang".to_string(),
                Outcome::Unknown(_) => "whether it threatens is not decided".to_string(),
            },
        }
    };
    Row { moves: one(start, key), word, note }
}

/// Mates that would follow if the other side were to move in the diagram.
fn set_play(search: &mut Search, start: &Chess, moves: u32) -> Vec<Row> {
    if moves < 2 {
        return Vec::new();
    }
    rules::null_move(start).map_or_else(Vec::new, |passed| {
        let mut rows = variations(search, &passed, moves - 1);
        rows.retain(|row| row.word != "no mate");
        rows
    })
}

/// Every defence with its continuations.
fn variations(search: &mut Search, after_key: &Chess, left: u32) -> Vec<Row> {
    let mut rows = Vec::new();
    for defence in after_key.legal_moves() {
        let next = after(after_key, defence);
        let moves = one(after_key, defence);
        let row = match search.shortest(&next, left) {
            Outcome::Mate(shortest) => {
                let full = search.firsts(&next, left).unwrap_or_default();
                let named = rules::listed(&rules::sans(&next, full.iter().copied()), 6);
                let word = match full.len() {
                    1 if shortest == left => "mate",
                    1 => "short",
                    _ => "dual",
                };
                Row { moves, word, note: format!("{}.{named}", next.fullmoves()) }
            }
            Outcome::None => Row { moves, word: "no mate", note: String::new() },
            Outcome::Unknown(_) => Row { moves, word: "open", note: String::new() },
        };
        rows.push(row);
    }
    rows.sort_by(|one, other| {
        (one.note.as_str(), one.moves.as_str()).cmp(&(other.note.as_str(), other.moves.as_str()))
    });
    rows
}

/// First moves that only one reply defeats.
fn tries(search: &mut Search, start: &Chess, moves: u32) -> Vec<Row> {
    let mut rows = Vec::new();
    if moves < 2 {
        return rows;
    }
    for first in start.legal_moves() {
        let next = after(start, first);
        let mut refutations = Vec::new();
        for answer in next.legal_moves() {
            match search.shortest(&after(&next, answer), moves - 1) {
                Outcome::Mate(_) => {}
                Outcome::None => refutations.push(answer),
                Outcome::Unknown(_) => return rows,
            }
            if refutations.len() > 1 {
                break;
            }
        }
        if let [only] = refutations.as_slice() {
            let note = format!("only {}!", one(&next, *only));
            rows.push(Row { moves: format!("{}?", one(start, first)), word: "try", note });
        }
    }
    rows.sort_by(|one, other| one.moves.cmp(&other.moves));
    rows.truncate(TRIES);
    rows
}
