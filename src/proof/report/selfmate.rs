//! Selfmates and reflexmates: key, cooks, short solutions, threat or block, set play, variations.

use super::super::helped::{Exhausted, Reflex, SelfSearch};
use super::super::notation::{after, one};
use super::super::{Budget, Stipulation, Verdict};
use super::lines::Line;
use super::{Row, Section, Tested};
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};

/// So many moves are named in a row.
const NAMED: usize = 8;

/// Tests a selfmate or a reflexmate.
pub(super) fn test(start: &Chess, stipulation: Option<Stipulation>, main: Option<&Line>, budget: Budget) -> Tested {
    let (moves, reflex) = match stipulation {
        Some(Stipulation::ReflexMate(moves)) => (moves, Reflex::Must),
        Some(Stipulation::SelfMate(moves)) => (moves, Reflex::May),
        _ => return Tested::without_solution(Verdict::Open, "open", "no selfmate was asked for".into()),
    };
    tested(start, moves, reflex, main, budget).unwrap_or_else(|Exhausted| {
        let witness = "the budget ended before everything was tried".to_string();
        Tested::without_solution(Verdict::Open, "open", witness)
    })
}

fn tested(start: &Chess, moves: u32, reflex: Reflex, main: Option<&Line>, budget: Budget) -> Result<Tested, Exhausted> {
    let mut search = SelfSearch::new(budget, reflex);
    for fewer in 1..moves {
        let keys = search.keys(start, fewer)?;
        if !keys.is_empty() {
            let named = rules::listed(&rules::sans(start, keys.iter().copied()), NAMED);
            let rows = keys.iter().map(|key| Row::new(one(start, *key), "short", format!("in {fewer}"))).collect();
            let mut tested =
                Tested::without_solution(Verdict::Refuted, "short", format!("it is done in {fewer} already: {named}"));
            tested.sections.push(Section::new("short", "Short solutions", rows));
            return Ok(tested);
        }
    }
    let mut keys = search.keys(start, moves)?;
    keys.sort_by_key(|key| rules::san(start, *key));
    if keys.is_empty() {
        return Ok(Tested::without_solution(Verdict::Refuted, "no solution", "there is no solution".into()));
    }
    let intended = main.and_then(|main| main.moves.first()).map(|played| played.chosen);
    let key = intended.filter(|key| keys.contains(key)).or(keys.first().copied().filter(|_| keys.len() == 1));
    let mut rows = Vec::new();
    let mut key_rows = Vec::new();
    for own in &keys {
        let how = way(&mut search, &after(start, *own), moves)?;
        let word = if keys.len() == 1 || key == Some(*own) { "key" } else { "cook" };
        key_rows.push(Row::new(one(start, *own), word, how));
    }
    let mut solution = Vec::new();
    if let Some(key) = key {
        rows = table(&mut search, &after(start, key), moves)?;
        let how = key_rows.iter().find(|row| row.word == "key").map_or("", |row| row.note.as_str());
        // A check is seen by its sign.
        let told = if how == "check" { String::new() } else { format!(" ({how})") };
        solution.push(format!("{}!{told}", one(start, key)));
        solution.extend(rows.iter().map(|row| format!("   {} {}", row.moves, row.note)));
    }
    let named = rules::listed(&rules::sans(start, keys.iter().copied()), NAMED);
    let witness = match keys.as_slice() {
        [only] => format!("one solution: {}", one(start, *only)),
        several => format!("{} keys: {named}", several.len()),
    };
    let duals: Vec<Row> = rows.iter().filter(|row| row.word == "dual").cloned().collect();
    let wrong = match main {
        Some(main) => wrong(&mut search, main, moves)?,
        None => None,
    };
    let set = match rules::null_move(start).filter(|_| !start.is_check()) {
        Some(passed) => table(&mut search, &passed, moves)?.into_iter().filter(|row| row.word != "no").collect(),
        None => Vec::new(),
    };
    let soundness = match &wrong {
        Some(_) => "no solution",
        None if keys.len() == 1 => "sound",
        None => "cooked",
    };
    let summary = match wrong {
        Some(played) => format!("in the line given {played} does not do it; {witness}"),
        None => witness.clone(),
    };
    Ok(Tested {
        verdict: Some(Verdict::Proven),
        summary,
        witness,
        soundness: Some(soundness),
        solution,
        sections: vec![
            Section::new("solutions", "Keys", key_rows),
            Section::new("duals", "Duals", duals),
            Section::new("variations", "Variations", rows).told_in_solution(),
            Section::new("set-play", "Set play", set),
        ],
    })
}

/// The first move of the line that was given which does not reach the mate in time, or with which the other side
/// leaves what the stipulation lets it play.
fn wrong(search: &mut SelfSearch, main: &Line, moves: u32) -> Result<Option<String>, Exhausted> {
    let mut left = moves;
    for (index, played) in main.moves.iter().enumerate() {
        let allowed = match index % 2 {
            0 if left == 0 => Vec::new(),
            0 => search.keys(&played.before, left)?,
            _ => search.defences(&played.before)?,
        };
        if !allowed.contains(&played.chosen) {
            return Ok(Some(played.numbered()));
        }
        left -= u32::from(index % 2 == 1);
    }
    Ok(None)
}

/// Whether Black would have to give mate in one move less if it passed, or is only in zugzwang.
fn way(search: &mut SelfSearch, after_key: &Chess, moves: u32) -> Result<String, Exhausted> {
    if after_key.is_check() {
        return Ok("check".into());
    }
    let Some(passed) = rules::null_move(after_key).filter(|_| moves > 1) else { return Ok("zugzwang".into()) };
    let threats = search.keys(&passed, moves - 1)?;
    if threats.is_empty() {
        return Ok("zugzwang".into());
    }
    let number = after_key.fullmoves().get() + u32::from(after_key.turn() == Color::Black);
    let dots = if passed.turn() == Color::White { "." } else { "..." };
    Ok(format!("threat {number}{dots}{}", rules::listed(&rules::sans(&passed, threats), NAMED)))
}

/// Every move of the other side: it mates, or how it is answered.
fn table(search: &mut SelfSearch, here: &Chess, moves: u32) -> Result<Vec<Row>, Exhausted> {
    let mut rows = Vec::new();
    for defence in search.defences(here)? {
        let next = after(here, defence);
        let name = one(here, defence);
        let row = if next.is_checkmate() {
            Row::new(name, "mate", String::new())
        } else if moves <= 1 {
            Row::new(name, "no", String::new())
        } else {
            let answers: Vec<Move> = search.keys(&next, moves - 1)?;
            let dots = if next.turn() == Color::White { "." } else { "..." };
            let note =
                format!("{}{dots}{}", next.fullmoves(), rules::listed(&rules::sans(&next, answers.clone()), NAMED));
            match answers.len() {
                0 => Row::new(name, "no", String::new()),
                1 => Row::new(name, "answer", note),
                _ => Row { weight: Some("serious"), ..Row::new(name, "dual", note) },
            }
        };
        rows.push(row);
    }
    rows.sort_by(|one, other| one.moves.cmp(&other.moves));
    Ok(rows)
}
