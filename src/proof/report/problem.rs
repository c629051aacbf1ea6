//! A direct mate: key, cooks, short solutions, set play, tries, threat or block, variations and their duals.

use super::super::mate::{Outcome, Search};
use super::super::notation::{after, one};
use super::super::{Budget, Verdict};
use super::lines::Line;
use super::variations::{self, Table, table, way};
use super::{Row, Section, Tested};
use crate::game::rules;
use shakmaty::{Chess, Move, Position};
use std::collections::BTreeMap;

/// So many moves are named in a row.
const NAMED: usize = 8;

/// Tests a direct mate in `moves`. The main line's first move, where there is one, is the author's key.
pub(super) fn test(start: &Chess, moves: u32, main: Option<&Line>, tried: &[Line], budget: Budget) -> Tested {
    let mut search = Search::new(budget);
    let shortest = match search.shortest(start, moves) {
        Outcome::Mate(shortest) => shortest,
        Outcome::None => {
            return Tested::without_solution(Verdict::Refuted, "no solution", format!("there is no mate in {moves}"));
        }
        Outcome::Unknown(searched) => {
            let witness = format!("there is no mate in {searched}; the budget ended before {moves}");
            return Tested::without_solution(Verdict::Open, "open", witness);
        }
    };
    let Some(keys) = search.firsts(start, shortest) else {
        let witness = "there is a mate, but the budget ended before all keys were known".to_string();
        return Tested::without_solution(Verdict::Open, "open", witness);
    };
    if shortest < moves {
        return short(start, shortest, &keys);
    }
    let intended = main.and_then(|main| main.moves.first()).map(|played| played.chosen);
    let (key, cooks) = sorted(start, &keys, intended);
    let mut sections = Vec::new();
    let mut solution = Vec::new();
    // Without a key there are no variations, and so nothing that is left out of them.
    let mut play = Table { rows: Vec::new(), whole: true };
    if let Some(key) = key {
        let reached = after(start, key);
        let how = way(&mut search, &reached, moves - 1);
        sections
            .push(Section::new("key", "Key", vec![Row::new(one(start, key), "key", how.clone())]).told_in_solution());
        // A key that mates at once needs no sign, and a check is seen by its own.
        let sign = if how.is_empty() { "" } else { "!" };
        let told = if reached.is_check() { String::new() } else { format!(" ({how})") };
        solution.push(format!("{}{sign}{told}", one(start, key)));
        play = table(&mut search, &reached, moves - 1);
        solution.extend(variations::printed(&play.rows));
    }
    let cook_rows: Vec<Row> = cooks
        .iter()
        .map(|cook| Row::new(one(start, *cook), "cook", way(&mut search, &after(start, *cook), moves - 1)))
        .collect();
    let duals = duals(&play.rows);
    let wrong = main.map_or(Given::Sound, |main| given(&mut search, main, moves));
    let summary = summary(start, key, &cooks, intended, &duals, play.whole, &wrong);
    let set_play = set_play(&mut search, start, moves, &play.rows);
    sections.push(Section::new("cooks", "Cooks", cook_rows));
    sections.push(Section::new("duals", "Duals", duals));
    sections.push(Section::new("variations", "Variations", play.rows).told_in_solution());
    sections.push(Section::new("set-play", "Set play", set_play));
    sections.push(Section::new("tries", "Tries", tries(&mut search, start, moves, &keys, tried)));
    let named = rules::listed(&rules::sans(start, keys.iter().copied()), NAMED);
    let witness = if keys.len() == 1 {
        format!("{named} is the only key, and there is no shorter mate")
    } else {
        format!("{} keys: {named}", keys.len())
    };
    let soundness = match (&wrong, keys.len()) {
        (Given::Wrong(_), _) => "no solution",
        (Given::Open, 1) => "open",
        (Given::Sound, 1) => "sound",
        _ => "cooked",
    };
    Tested { verdict: Some(Verdict::Proven), witness, soundness: Some(soundness), summary, solution, sections }
}

/// What is to be said of the line that was given for the solution.
enum Given {
    /// Each of its moves of the side that mates is one that mates in time.
    Sound,
    /// This one does not.
    Wrong(String),
    /// The budget ended before it was known.
    Open,
}

/// Holds the line that was given against the search.
fn given(search: &mut Search, main: &Line, moves: u32) -> Given {
    let mine = main.moves.iter().step_by(2);
    for (played, left) in mine.zip((0..=moves).rev()) {
        if left == 0 {
            return Given::Wrong(played.numbered());
        }
        match search.firsts(&played.before, left) {
            None => return Given::Open,
            Some(mating) if !mating.contains(&played.chosen) => return Given::Wrong(played.numbered()),
            Some(_) => {}
        }
    }
    Given::Sound
}

/// The stipulation is fulfilled too early.
fn short(start: &Chess, shortest: u32, keys: &[Move]) -> Tested {
    let named = rules::listed(&rules::sans(start, keys.iter().copied()), NAMED);
    let witness = format!("there is a mate in {shortest} already: {named}");
    let rows = keys.iter().map(|key| Row::new(one(start, *key), "short", format!("mate in {shortest}"))).collect();
    let mut tested = Tested::without_solution(Verdict::Refuted, "short", witness);
    tested.sections.push(Section::new("short", "Short solutions", rows));
    tested
}

/// The key, and what cooks it. Without a main line no key of several is the author's.
fn sorted(start: &Chess, keys: &[Move], intended: Option<Move>) -> (Option<Move>, Vec<Move>) {
    let mut keys = keys.to_vec();
    keys.sort_by_key(|key| rules::san(start, *key));
    let key = match (keys.as_slice(), intended) {
        (_, Some(intended)) if keys.contains(&intended) => Some(intended),
        ([only], None) => Some(*only),
        _ => None,
    };
    keys.retain(|one| Some(*one) != key);
    (key, keys)
}

fn duals(rows: &[Row]) -> Vec<Row> {
    rows.iter().filter(|row| row.word == "dual").map(|row| Row { depth: 0, ..row.clone() }).collect()
}

fn summary(
    start: &Chess,
    key: Option<Move>,
    cooks: &[Move],
    intended: Option<Move>,
    duals: &[Row],
    whole: bool,
    wrong: &Given,
) -> String {
    let named = |moves: &[Move]| rules::listed(&rules::sans(start, moves.iter().copied()), NAMED);
    let keyed = match (key, intended) {
        (Some(key), _) if cooks.is_empty() => format!("{} is the only key", one(start, key)),
        (Some(key), _) => format!("{} is cooked by {}", one(start, key), named(cooks)),
        (None, Some(intended)) => format!("{} is no key; there is {}", one(start, intended), named(cooks)),
        (None, None) => format!("{} keys: {}", cooks.len(), named(cooks)),
    };
    let count = |weight| duals.iter().filter(|row| row.weight == Some(weight)).count();
    let told = |count: usize, word: &str| match count {
        0 => None,
        1 => Some(format!("one {word} dual")),
        more => Some(format!("{more} {word} duals")),
    };
    let mut parts = vec![keyed];
    match wrong {
        Given::Wrong(played) if key.is_some() => {
            parts.push(format!("in the line given {played} does not mate in time"));
        }
        Given::Open => parts.push("the line given is not decided within the budget".into()),
        Given::Wrong(_) | Given::Sound => {}
    }
    parts.extend(told(count("serious"), "serious"));
    parts.extend(told(count("minor"), "minor"));
    if key.is_some() && !whole {
        parts.push("not every variation was looked at for duals".into());
    } else if key.is_some() && duals.is_empty() {
        parts.push("no dual".into());
    }
    parts.join("; ")
}

/// The mates that stand ready if the other side were to move in the diagram, held against those after the key.
fn set_play(search: &mut Search, start: &Chess, moves: u32, actual: &[Row]) -> Vec<Row> {
    if moves < 2 || start.is_check() {
        return Vec::new();
    }
    let Some(passed) = rules::null_move(start) else { return Vec::new() };
    let complete = is_complete(search, &passed, moves - 1);
    let set = table(search, &passed, moves - 1).rows;
    let mut rows: Vec<Row> = set.into_iter().filter(|row| row.word != "no mate").collect();
    for row in rows.iter_mut().filter(|row| row.depth == 0) {
        let after_key = actual.iter().find(|other| other.depth == 0 && other.moves == row.moves);
        if let Some(after_key) = after_key.filter(|other| other.note != row.note && !other.note.is_empty()) {
            row.note = format!("{}; after the key {}", row.note, after_key.note);
            row.word = "changed";
            row.weight = None;
        }
    }
    if complete {
        rows.insert(0, Row::new("every move".into(), "block", "each has its mate already: a complete block".into()));
    }
    rows
}

/// Whether every move of the side to move, which passed by turns, is followed by a mate in time.
fn is_complete(search: &mut Search, passed: &Chess, left: u32) -> bool {
    let moves = passed.legal_moves();
    !moves.is_empty()
        && moves.into_iter().all(|chosen| matches!(search.shortest(&after(passed, chosen), left), Outcome::Mate(_)))
}

/// First moves that only one reply defeats, by that reply; the film's own tries first, whatever defeats them.
fn tries(search: &mut Search, start: &Chess, moves: u32, keys: &[Move], tried: &[Line]) -> Vec<Row> {
    if moves < 2 {
        return Vec::new();
    }
    let shown: Vec<Move> = tried.iter().filter_map(|line| line.moves.first()).map(|played| played.chosen).collect();
    let mut rows = Vec::new();
    let mut whole = true;
    let mut by_refutation: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for first in start.legal_moves() {
        if keys.contains(&first) {
            continue;
        }
        let most = if shown.contains(&first) { usize::MAX } else { 2 };
        let Some(refutations) = refutations(search, start, first, moves, most) else {
            whole = false;
            break;
        };
        let next = after(start, first);
        let sans = rules::sans(&next, refutations.iter().copied());
        if shown.contains(&first) {
            let how = way(search, &next, moves - 1);
            let note = match refutations.as_slice() {
                [] => "it ends the game".to_string(),
                [only] => format!("({how}) refuted by {}! alone", one(&next, *only)),
                _ => format!("({how}) refuted by {}", rules::listed(&sans, NAMED)),
            };
            let word = if refutations.len() == 1 { "try" } else { "fails" };
            rows.push(Row::new(format!("{}?", one(start, first)), word, note));
        } else if let [only] = refutations.as_slice() {
            by_refutation.entry(one(&next, *only)).or_default().push(format!("{}?", rules::san(start, first)));
        }
    }
    for (refutation, mut firsts) in by_refutation {
        firsts.sort();
        let number = one(start, keys.first().copied().unwrap_or(start.legal_moves()[0]));
        let lead: String = number.chars().take_while(|sign| sign.is_ascii_digit() || *sign == '.').collect();
        rows.push(Row::new(format!("{lead}{}", rules::listed(&firsts, NAMED)), "try", format!("only {refutation}!")));
    }
    if !whole {
        rows.push(Row::new("…".into(), "open", "the budget ended before every first move was looked at".into()));
    }
    rows
}

/// The replies after which there is no mate in time, at most so many of them; `None` if the budget ended.
fn refutations(search: &mut Search, start: &Chess, first: Move, moves: u32, most: usize) -> Option<Vec<Move>> {
    let next = after(start, first);
    let mut refutations = Vec::new();
    for answer in next.legal_moves() {
        match search.shortest(&after(&next, answer), moves - 1) {
            Outcome::Mate(_) => {}
            Outcome::None => refutations.push(answer),
            Outcome::Unknown(_) => return None,
        }
        if refutations.len() >= most {
            break;
        }
    }
    Some(refutations)
}
