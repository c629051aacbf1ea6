//! A study: does each of the solver's moves stand alone, what do the opponent's other moves come to, why do the tries
//! fail, which positions are mutual zugzwangs, and what if the other side were to move.

use super::super::decide::{self, Ruling};
use super::super::ending::{Bounds, Ending};
use super::super::only::{self, Standing};
use super::super::{Budget, Stipulation, Verdict, outcome};
use super::lines::{Line, Played};
use super::weight::{self, Weight};
use super::{Row, Section, Tested, tries};
use crate::game::rules;
use shakmaty::{Chess, Color, EnPassantMode, Move, Position};

/// So many moves are named in a row.
const NAMED: usize = 8;

/// One of the solver's moves, tested.
struct Tried<'a> {
    played: &'a Played,
    word: &'static str,
    witness: String,
    wasting: Vec<Move>,
    duals: Vec<(Move, Weight)>,
}

/// Tests a study with its solution and its tries; without a stipulation the result itself is taken for it.
pub(super) fn test(
    start: &Chess,
    stipulation: Option<Stipulation>,
    solver: Color,
    (main, tried): (Option<&Line>, &[Line]),
    budget: Budget,
) -> Tested {
    let budget = shared(budget, start, main, tried);
    let outlook = outcome::outlook(start, budget);
    let bounds = outlook.bounds.seen_by(solver);
    let asked = stipulation.and_then(Stipulation::goal);
    let goal = asked.or_else(|| bounds.known()).filter(|goal| *goal >= Ending::Draw);
    let verdict = asked.map(|goal| match bounds {
        Bounds { low, high } if low == goal && high == goal => Verdict::Proven,
        Bounds { low, high } if high < goal || low > goal => Verdict::Refuted,
        _ => Verdict::Open,
    });
    let moves = match (goal, main) {
        (Some(goal), Some(main)) => solver_moves(main, solver, goal, budget),
        _ => Vec::new(),
    };
    let (cooks, duals): (Vec<Row>, Vec<Row>) = moves.iter().flat_map(duals).partition(|row| row.word == "cook");
    let mut sections = vec![
        Section::new("moves", "Move by move", moves.iter().map(row).collect()),
        Section::new("wasters", "Moves that only waste time", moves.iter().flat_map(wasters).collect()),
        Section::new("cooks", "Cooks", cooks),
        Section::new("duals", "Duals", duals),
    ];
    if let (Some(goal), Some(main)) = (goal, main) {
        let theirs = main.moves.iter().filter(|played| played.before.turn() != solver);
        let rows = theirs.map(|played| replies(played, goal, budget)).collect();
        sections.push(Section::new("replies", "The opponent's other moves", rows));
    }
    let fails: Vec<tries::Failure> = tried.iter().map(|line| tries::failure(line, solver, goal, budget)).collect();
    let rows = fails.iter().map(tries::Failure::row).collect();
    sections.push(Section::new("tries", "Tries", rows));
    let rows = zugzwangs(start, main.into_iter().chain(tried), budget);
    sections.push(Section::new("zugzwangs", "Mutual zugzwangs met", rows));
    sections.push(Section::new("set-play", "Set play", set_play(start, budget).into_iter().collect()));
    let mut solution: Vec<String> = main.map(|main| printed(main, &moves, solver, budget)).into_iter().collect();
    solution.extend(fails.iter().map(tries::Failure::printed));
    let soundness = goal.filter(|_| main.is_some()).map(|_| soundness(verdict, &moves));
    let summary = soundness.map_or_else(String::new, |word| summary(word, verdict, &moves));
    Tested { verdict, witness: outlook.witness, soundness, summary, solution, sections }
}

/// The budget of one question, so that a long study of many men does not take that many times the time. Tables of five
/// men are made for the composition as a whole.
fn shared(budget: Budget, start: &Chess, main: Option<&Line>, tried: &[Line]) -> Budget {
    let lines = || main.into_iter().chain(tried);
    let all = lines().flat_map(|line| &line.moves);
    let heavy = all.filter(|played| played.before.board().occupied().count() > 4).count() as u64;
    let positions = lines().flat_map(|line| line.moves.iter().map(|played| &played.before).chain([&line.end]));
    Budget { fives: budget.fives.of_the_first(std::iter::once(start).chain(positions)), ..budget.part(heavy) }
}

fn solver_moves(main: &Line, solver: Color, goal: Ending, budget: Budget) -> Vec<Tried<'_>> {
    let mine = main.moves.iter().enumerate().filter(|(_, played)| played.before.turn() == solver);
    let (first, last) = (mine.clone().map(|(ply, _)| ply).min(), mine.clone().map(|(ply, _)| ply).max());
    let ends = weight::Ends { first: first.unwrap_or(0), last: last.unwrap_or(0) };
    mine.map(|(ply, played)| {
        let only::Weighed { ruling: Ruling { verdict, witness }, own, standing } =
            only::weigh(&played.before, played.chosen, goal, budget);
        let Standing { duals, wasting, .. } = standing.unwrap_or_else(|| Standing::nothing(goal));
        let duals: Vec<(Move, Weight)> =
            duals.into_iter().map(|dual| (dual, weight::weigh(main, ply, ends, dual))).collect();
        let word = match verdict {
            Verdict::Open => "open",
            Verdict::Proven if wasting.is_empty() => "only",
            Verdict::Proven => "only*",
            Verdict::Refuted if duals.iter().any(|(_, weight)| *weight == Weight::Cook) => "cook",
            Verdict::Refuted if !duals.is_empty() => "dual",
            Verdict::Refuted if own.is_some_and(|own| own.low > goal) => "too good",
            Verdict::Refuted if own.is_some_and(|own| own.high >= goal) => "missed win",
            Verdict::Refuted => "fails",
        };
        Tried { played, word, witness, wasting, duals }
    })
    .collect()
}

fn row(tried: &Tried<'_>) -> Row {
    Row::new(tried.played.numbered(), tried.word, tried.witness.clone())
}

fn wasters(tried: &Tried<'_>) -> Vec<Row> {
    let played = rules::san(&tried.played.before, tried.played.chosen);
    let note = |_: &Move| format!("instead of {played}: play must come back to the same position");
    let name = |chosen: &Move| super::super::notation::one(&tried.played.before, *chosen);
    tried.wasting.iter().map(|chosen| Row::new(name(chosen), "wastes time", note(chosen))).collect()
}

fn duals(tried: &Tried<'_>) -> Vec<Row> {
    let played = rules::san(&tried.played.before, tried.played.chosen);
    let rows = tried.duals.iter().map(|(chosen, weight)| {
        let (word, weight, why) = match weight {
            Weight::Cook => ("cook", None, "another first move".to_string()),
            Weight::Minor(why) => ("dual", Some("minor"), why.clone()),
            Weight::Serious => ("dual", Some("serious"), "another way".to_string()),
        };
        let moves = super::super::notation::one(&tried.played.before, *chosen);
        Row { weight, ..Row::new(moves, word, format!("instead of {played}: {why}")) }
    });
    rows.collect()
}

/// What the moves that the opponent did not choose come to.
fn replies(played: &Played, goal: Ending, budget: Budget) -> Row {
    let before = &played.before;
    let solver = !before.turn();
    let (mut better, mut undecided, mut same) = (Vec::new(), Vec::new(), Vec::new());
    let others = outcome::after_each(before, budget).into_iter().filter(|(chosen, _)| *chosen != played.chosen);
    for (chosen, bounds) in others {
        let bounds = bounds.seen_by(Color::Black); // Turned round: as the solver sees it.
        if bounds.high < goal {
            better.push(chosen);
        } else if bounds.low >= goal {
            same.push(chosen);
        } else {
            undecided.push(chosen);
        }
    }
    let named = |moves: &[Move]| rules::listed(&rules::sans(before, moves.iter().copied()), NAMED);
    let (side, other) = (rules::side(solver), rules::side(!solver));
    let (gets, loses) = if goal == Ending::Draw { ("draws", "do no better") } else { ("wins", "lose too") };
    let (word, note) = if !better.is_empty() {
        ("refutes", format!("after {} {side} no longer {gets}", named(&better)))
    } else if !undecided.is_empty() {
        ("open", format!("not decided: {}", named(&undecided)))
    } else if same.is_empty() {
        ("forced", format!("{other} has no other move"))
    } else {
        ("holds", format!("{} {}", named(&same), if same.len() == 1 { one_of(loses) } else { loses }))
    };
    Row::new(played.numbered(), word, note)
}

fn one_of(several: &str) -> &'static str {
    if several == "lose too" { "loses too" } else { "does no better" }
}

/// The positions of all lines in which whoever has the move is worse off, each once.
fn zugzwangs<'a>(start: &Chess, lines: impl Iterator<Item = &'a Line>, budget: Budget) -> Vec<Row> {
    let mut seen = Vec::new();
    let mut rows = Vec::new();
    let positions = lines.flat_map(|line| line.moves.iter().map(|played| &played.before).chain([&line.end]));
    for position in std::iter::once(start).chain(positions) {
        // The same men with the other side to move are the same zugzwang.
        let rights = position.castles().castling_rights();
        let men = (position.board().clone(), rights, position.ep_square(EnPassantMode::Legal));
        if seen.contains(&men) {
            continue;
        }
        seen.push(men);
        let Ruling { verdict, witness } = decide::zugzwang(position, budget);
        if verdict == Verdict::Proven {
            let moves = format!("move {}, {} to play", position.fullmoves(), rules::side(position.turn()));
            rows.push(Row::new(moves, "zugzwang", format!("{witness} ({})", rules::fen(position))));
        }
    }
    rows
}

/// The diagram with the other side to move.
fn set_play(start: &Chess, budget: Budget) -> Option<Row> {
    let passed = rules::null_move(start).filter(|_| !start.is_check())?;
    let outlook = outcome::outlook(&passed, budget);
    let side = rules::side(passed.turn());
    let word = match outlook.bounds.known() {
        Some(Ending::WhiteWins) => "White wins",
        Some(Ending::BlackWins) => "Black wins",
        Some(Ending::Draw) => "draw",
        None => "open",
    };
    Some(Row::new(format!("{side} to play"), word, outlook.witness))
}

/// The main line as a composer prints it: `!` for moves that stand alone, other ways in brackets.
fn printed(main: &Line, moves: &[Tried<'_>], solver: Color, budget: Budget) -> String {
    let mut text = String::new();
    let mut broken = true;
    for played in &main.moves {
        let before = &played.before;
        let san = rules::san(before, played.chosen);
        let number = match before.turn() {
            Color::White => format!("{}.", before.fullmoves()),
            Color::Black if broken => format!("{}...", before.fullmoves()),
            Color::Black => String::new(),
        };
        let tried = moves.iter().find(|tried| std::ptr::eq(tried.played, played));
        let sign = match tried {
            Some(tried) if tried.word.starts_with("only") => {
                if played.suffix.starts_with('!') {
                    played.suffix.as_str()
                } else {
                    "!"
                }
            }
            Some(tried) if tried.word == "fails" => "?",
            Some(_) => "",
            None => played.suffix.as_str(),
        };
        if !text.is_empty() {
            text.push(' ');
        }
        text.extend([number.as_str(), san.as_str(), sign]);
        let aside = tried.map_or_else(String::new, |tried| aside(tried));
        broken = !aside.is_empty();
        if broken {
            text.extend([" (", aside.as_str(), ")"]);
        }
    }
    let end = &main.end;
    if end.is_checkmate() {
        text.push('.');
    } else if end.is_stalemate() {
        text.push_str(" stalemate.");
    } else {
        let known = outcome::outlook(end, budget).bounds.seen_by(solver).known();
        text.push_str(match known {
            Some(Ending::WhiteWins) => " and wins.",
            Some(Ending::Draw) => " and draws.",
            Some(Ending::BlackWins) => " and loses.",
            None => " …",
        });
    }
    text
}

/// What is said in brackets behind a move.
fn aside(tried: &Tried<'_>) -> String {
    let before = &tried.played.before;
    let named = |moves: Vec<Move>| rules::listed(&rules::sans(before, moves), NAMED);
    let mut parts = Vec::new();
    if !tried.duals.is_empty() {
        let serious = tried.duals.iter().any(|(_, weight)| !matches!(weight, Weight::Minor(_)));
        let moves = named(tried.duals.iter().map(|(chosen, _)| *chosen).collect());
        parts.push(format!("{} {moves}", if serious { "or" } else { "minor dual:" }));
    }
    if !tried.wasting.is_empty() {
        let does = if tried.wasting.len() == 1 { "wastes" } else { "waste" };
        parts.push(format!("{} only {does} time", named(tried.wasting.clone())));
    }
    if tried.word == "open" {
        parts.push("not decided".into());
    }
    parts.join("; ")
}

fn soundness(verdict: Option<Verdict>, moves: &[Tried<'_>]) -> &'static str {
    let any = |word: &str| moves.iter().any(|tried| tried.word == word);
    let serious = moves.iter().flat_map(|tried| &tried.duals).any(|(_, weight)| *weight == Weight::Serious);
    if verdict == Some(Verdict::Refuted) || any("fails") || any("too good") || any("missed win") {
        "no solution"
    } else if any("cook") {
        "cooked"
    } else if serious {
        "dual"
    } else if verdict == Some(Verdict::Open) || any("open") {
        "open"
    } else {
        "sound"
    }
}

fn summary(word: &str, verdict: Option<Verdict>, moves: &[Tried<'_>]) -> String {
    let numbers = |chosen: &dyn Fn(&Tried<'_>) -> bool| {
        let numbers: Vec<String> = moves
            .iter()
            .filter(|tried| chosen(tried))
            .map(|tried| tried.played.before.fullmoves().to_string())
            .collect();
        let moves = if numbers.len() == 1 { "move" } else { "moves" };
        (!numbers.is_empty()).then(|| format!("{moves} {}", rules::listed(&numbers, 20)))
    };
    let minor = |tried: &Tried<'_>| tried.duals.iter().any(|(_, weight)| matches!(weight, Weight::Minor(_)));
    let serious = |tried: &Tried<'_>| tried.duals.iter().any(|(_, weight)| *weight == Weight::Serious);
    let mut parts = vec![match word {
        "sound" => "every move of the solution stands alone".to_string(),
        "cooked" => {
            let cooks =
                moves.iter().flat_map(|tried| &tried.duals).filter(|(_, weight)| *weight == Weight::Cook).count();
            if cooks == 1 { "another first move does it too" } else { "other first moves do it too" }.to_string()
        }
        "dual" => "the solution can be left for another".to_string(),
        "open" => "not everything is decided within the budget".to_string(),
        _ if verdict == Some(Verdict::Refuted) => "the stipulation cannot be fulfilled".to_string(),
        _ => "the line given is no solution".to_string(),
    }];
    if let Some(at) = numbers(&serious) {
        parts.push(format!("serious dual at {at}"));
    }
    if let Some(at) = numbers(&minor) {
        if word == "sound" {
            parts[0] = format!("{} but for a minor dual at {at}", parts[0]);
        } else {
            parts.push(format!("minor dual at {at}"));
        }
    }
    if let Some(at) = numbers(&|tried| !tried.wasting.is_empty()) {
        parts.push(format!("time can be wasted at {at}"));
    }
    if let Some(at) = numbers(&|tried| tried.word == "open") {
        parts.push(format!("open at {at}"));
    }
    if let Some(at) = numbers(&|tried| matches!(tried.word, "fails" | "too good" | "missed win")) {
        parts.push(format!("it goes wrong at {at}"));
    }
    parts.join("; ")
}
