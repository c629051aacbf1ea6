//! What the defender can do after a move of a direct mate, and how each of its moves is answered.
//!
//! A move that leaves every threat as it was is no defence, whatever else mates after it. Where there are several threats,
//! that is a dual: minor if a defence separates them, serious if none does. After a defence a dual is minor if the choice
//! is between pieces for the same pawn, or at the mating move of a problem in more than two moves; else it is serious.

use super::super::mate::{Outcome, Search};
use super::super::notation::{after, one};
use super::Row;
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position, Role};

/// A table of variations has at most so many rows.
pub(super) const MOST: usize = 120;

/// So many moves are named in a row.
const NAMED: usize = 12;

/// A defence, or several that are answered alike.
struct Branch {
    defences: Vec<Move>,
    answer: Answer,
}

/// How a defence is answered.
#[derive(Clone, PartialEq, Eq)]
enum Answer {
    /// It leaves the threats as they were.
    Threat { sans: Vec<String>, moves: Vec<Move> },
    /// Every move that mates in time, in SAN; the shortest mate in so many moves.
    Mates { sans: Vec<String>, moves: Vec<Move>, shortest: u32 },
    /// There is no mate in time.
    None,
    /// Not decided.
    Open,
}

/// The budget ended before it was known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Undecided;

/// The moves that mate in `left` if the side to move passes; none in a block, or where it is in check.
fn threats(search: &mut Search, after_move: &Chess, left: u32) -> Result<Option<(Chess, Vec<Move>)>, Undecided> {
    if left == 0 || after_move.is_check() {
        return Ok(None);
    }
    let Some(passed) = rules::null_move(after_move) else { return Ok(None) };
    match search.shortest(&passed, left) {
        Outcome::Mate(shortest) => {
            let moves = search.firsts(&passed, shortest).ok_or(Undecided)?;
            Ok(Some((passed, moves)))
        }
        Outcome::None => Ok(None),
        Outcome::Unknown(_) => Err(Undecided),
    }
}

/// `threat 2.Ra7#`, `zugzwang`, `check`; or that it is not decided which. Nothing of a move that mates.
pub(super) fn way(search: &mut Search, after_move: &Chess, left: u32) -> String {
    if after_move.is_check() {
        return if left == 0 { String::new() } else { "check".into() };
    }
    match threats(search, after_move, left) {
        Ok(Some((passed, moves))) => {
            let number = after_move.fullmoves().get() + u32::from(after_move.turn() == Color::Black);
            let dots = if passed.turn() == Color::White { "." } else { "..." };
            format!("threat {number}{dots}{}", rules::listed(&rules::sans(&passed, moves), NAMED))
        }
        Ok(None) if left == 0 => String::new(),
        Ok(None) => "zugzwang".into(),
        Err(Undecided) => "threat or zugzwang is not decided".into(),
    }
}

/// What can be played after a move.
#[derive(Default)]
pub(super) struct Table {
    pub rows: Vec<Row>,
    /// Nothing is left out, and nothing is open.
    pub whole: bool,
}

impl Table {
    /// As many of the rows as are shown.
    pub(super) fn of(mut rows: Vec<Row>) -> Table {
        let whole = rows.len() <= MOST && rows.iter().all(|row| row.word != "open");
        if rows.len() > MOST {
            rows.truncate(MOST);
            rows.push(Row::new("…".into(), "more", format!("only {MOST} rows are shown")));
        }
        Table { rows, whole }
    }
}

/// The table of what can be played after a move, `left` moves being left for the mate.
pub(super) fn table(search: &mut Search, after_move: &Chess, left: u32) -> Table {
    let mut rows = Vec::new();
    grow(search, after_move, left, 0, left > 1, &mut rows);
    Table::of(rows)
}

fn grow(search: &mut Search, here: &Chess, left: u32, depth: usize, long: bool, rows: &mut Vec<Row>) {
    if left == 0 || rows.len() > MOST {
        return;
    }
    let Ok(threats) = threats(search, here, left) else {
        rows.push(Row { depth, ..Row::new(names(here, &here.legal_moves()), "open", "not decided".into()) });
        return;
    };
    let branches = branches(search, here, left, threats.as_ref());
    let defenceless = branches.iter().all(|branch| matches!(branch.answer, Answer::Threat { .. }));
    let separated = branches.iter().any(|branch| {
        let threats = threats.as_ref().map_or(&[][..], |(_, moves)| moves.as_slice());
        matches!(&branch.answer, Answer::Mates { moves, .. } if moves.iter().any(|one| threats.contains(one)))
    });
    for branch in branches {
        let moves = names(here, &branch.defences);
        let first = branch.defences[0];
        let next = after(here, first);
        match branch.answer {
            Answer::Threat { sans, moves: threats } => {
                let note = format!("{}{}", number_of(&next), rules::listed(&sans, NAMED));
                let weight = if separated { "minor" } else { "serious" };
                let (word, weight) = if threats.len() == 1 { ("threat", None) } else { ("dual", Some(weight)) };
                rows.push(Row { weight, depth, ..Row::new(moves, word, note) });
                if let ([only], true) = (threats.as_slice(), defenceless) {
                    grow(search, &after(&next, *only), left - 1, depth + 1, long, rows);
                }
            }
            Answer::None => rows.push(Row { depth, ..Row::new(moves, "no mate", String::new()) }),
            Answer::Open => rows.push(Row { depth, ..Row::new(moves, "open", "not decided".into()) }),
            Answer::Mates { sans, moves: mating, shortest } => {
                let note = format!("{}{}", number_of(&next), rules::listed(&sans, NAMED));
                let (word, weight) = match mating.len() {
                    1 if shortest == left => ("mate", None),
                    1 => ("short", None),
                    _ if is_minor(&mating, left, long) => ("dual", Some("minor")),
                    _ => ("dual", Some("serious")),
                };
                let only = if mating.len() == 1 && shortest == left { mating.first().copied() } else { None };
                let after_answer = only.map(|answer| after(&next, answer));
                // A check is seen by its sign.
                let how = match &after_answer {
                    Some(reached) if left > 1 && !reached.is_check() => {
                        format!(" ({})", way(search, reached, left - 1))
                    }
                    _ => String::new(),
                };
                rows.push(Row { weight, depth, ..Row::new(moves, word, note + &how) });
                if let Some(reached) = after_answer {
                    grow(search, &reached, left - 1, depth + 1, long, rows);
                }
            }
        }
    }
}

/// The defences, those that are answered alike together where that is the end of it.
fn branches(search: &mut Search, here: &Chess, left: u32, threats: Option<&(Chess, Vec<Move>)>) -> Vec<Branch> {
    let mut branches: Vec<Branch> = Vec::new();
    for defence in here.legal_moves() {
        let next = after(here, defence);
        let answer = match search.shortest(&next, left) {
            Outcome::None => Answer::None,
            Outcome::Unknown(_) => Answer::Open,
            Outcome::Mate(shortest) => match search.firsts(&next, left) {
                None => Answer::Open,
                Some(mating) => {
                    let threats = threats.map_or(&[][..], |(_, moves)| moves.as_slice());
                    if !threats.is_empty() && threats.iter().all(|one| mating.contains(one)) {
                        Answer::Threat { sans: rules::sans(&next, threats.iter().copied()), moves: threats.to_vec() }
                    } else {
                        Answer::Mates { sans: rules::sans(&next, mating.iter().copied()), moves: mating, shortest }
                    }
                }
            },
        };
        let ends = left == 1
            || !matches!(&answer, Answer::Mates { moves, shortest, .. } if moves.len() == 1 && *shortest == left);
        let alike = |branch: &&mut Branch| match (&branch.answer, &answer) {
            (Answer::Mates { sans, .. }, Answer::Mates { sans: own, .. }) => sans == own,
            (one, other) => one == other,
        };
        match branches.iter_mut().find(alike).filter(|_| ends) {
            Some(branch) => branch.defences.push(defence),
            None => branches.push(Branch { defences: vec![defence], answer }),
        }
    }
    // What is no defence comes last, as it is printed last or not at all.
    branches.sort_by_key(|branch| {
        let rank = match &branch.answer {
            Answer::Mates { shortest, .. } => i32::from(*shortest != left),
            Answer::None | Answer::Open => 2,
            Answer::Threat { .. } => 3,
        };
        (rank, names(here, &branch.defences))
    });
    branches
}

/// `2.`, `2...`.
fn number_of(position: &Chess) -> String {
    format!("{}{}", position.fullmoves(), if position.turn() == Color::White { "." } else { "..." })
}

/// Whether a choice between these moves weighs little; `long` in a problem of more than two moves.
pub(super) fn is_minor(mating: &[Move], left: u32, long: bool) -> bool {
    let first = mating[0];
    let promotions =
        mating.iter().all(|one| one.is_promotion() && one.from() == first.from() && one.to() == first.to());
    promotions || left == 1 && long
}

/// `1...Ka2, Ka4`; where every move of a man is among them, `1...B~`.
fn names(here: &Chess, moves: &[Move]) -> String {
    let legal = here.legal_moves();
    let of = |moves: &[Move], from| moves.iter().filter(|one| one.from() == Some(from)).count();
    let mut words: Vec<String> = Vec::new();
    let mut swept = Vec::new();
    for chosen in moves {
        let Some(from) = chosen.from() else { continue };
        if swept.contains(&from) {
            continue;
        }
        let own = of(moves, from);
        if own >= 3 && own == of(&legal, from) && chosen.role() != Role::Pawn && !chosen.is_castle() {
            let others = here.board().by_piece(chosen.role().of(here.turn())).count();
            let square = if others > 1 { from.to_string() } else { String::new() };
            words.push(format!("{}{square}~", chosen.role().upper_char()));
            swept.push(from);
        } else {
            words.push(rules::san(here, *chosen));
        }
    }
    words.sort();
    let lead = moves
        .first()
        .map_or_else(String::new, |first| one(here, *first).trim_end_matches(&rules::san(here, *first)).to_string());
    if words.len() > NAMED {
        let more = words.len() - NAMED;
        words.truncate(NAMED);
        return format!("{lead}{} and {more} more", words.join(", "));
    }
    format!("{lead}{}", words.join(", "))
}

/// The rows as lines of print, set in by their depth: `1...Ka2, Ka4 2.Ra7#`.
pub(super) fn printed(rows: &[Row]) -> Vec<String> {
    let shown = rows.iter().filter(|row| row.word != "threat" || rows.iter().all(|row| row.word == "threat"));
    shown
        .map(|row| {
            let lead = "   ".repeat(row.depth + 1);
            let tail = match row.word {
                "dual" if row.weight == Some("minor") => " (minor dual)",
                "dual" => " (dual)",
                "short" => " (short)",
                "no mate" => " refutes",
                _ => "",
            };
            let note = if row.note.is_empty() { String::new() } else { format!(" {}", row.note) };
            format!("{lead}{}{note}{tail}", row.moves)
        })
        .collect()
}
