//! One claim, one position, one ruling. Each kind of claim has its own function here; a stronger prover for a kind
//! takes that function's place.

use super::ending::{Bounds, Ending};
use super::mate::{Outcome, Search};
use super::notation::{self, numbered, one};
use super::tables::Worth;
use super::{Budget, Verdict, known, motif, only, outcome};
use crate::game::find::{self, Outcome as Found};
use crate::game::rules::{self, listed, man_on};
use crate::game::{Claim, Node, NodeId};
use crate::units::Side;
use shakmaty::{Chess, Color, Move, Position};
use std::cmp::Ordering;

/// At most this many moves are named in a sentence.
const NAMED: usize = 4;

/// A line from the tables shows at most so many plies.
const LINE: u32 = 24;

/// A verdict with its reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Ruling {
    pub verdict: Verdict,
    pub witness: String,
}

pub(super) fn proven(witness: impl Into<String>) -> Ruling {
    Ruling { verdict: Verdict::Proven, witness: witness.into() }
}

pub(super) fn refuted(witness: impl Into<String>) -> Ruling {
    Ruling { verdict: Verdict::Refuted, witness: witness.into() }
}

pub(super) fn open(witness: impl Into<String>) -> Ruling {
    Ruling { verdict: Verdict::Open, witness: witness.into() }
}

/// Decides a claim made where `last` is on the board.
pub(super) fn decide(nodes: &[Node], last: NodeId, claim: &Claim, budget: Budget) -> Ruling {
    let here = &rules::position_at(&nodes[last.0]);
    match claim {
        Claim::Check => check(here),
        Claim::Mate => mate(here),
        Claim::Stalemate => stalemate(here),
        Claim::OnlyMove => only_move(nodes, last),
        Claim::MateIn(moves) => mate_in(here, *moves, budget),
        Claim::Threat(san) => after_null_move(here, |passed| threat(here, passed, san, budget)),
        Claim::ThreatMateIn(moves) => after_null_move(here, |passed| mate_in(passed, *moves, budget)),
        Claim::Wins(Side::White) => result(here, Ending::WhiteWins, budget),
        Claim::Wins(Side::Black) => result(here, Ending::BlackWins, budget),
        Claim::Draw => result(here, Ending::Draw, budget),
        Claim::OnlyWinningMove => only_reaching(nodes, last, Ending::WhiteWins, budget),
        Claim::OnlyDrawingMove => only_reaching(nodes, last, Ending::Draw, budget),
        Claim::Zugzwang => zugzwang(here, budget),
        Claim::Motif(motif, squares) => motif::rule(nodes, last, *motif, squares),
        Claim::Flights(king, flights) => motif::rule_flights(here, *king, flights),
    }
}

/// Who attacks the king of the side to move.
fn attack(position: &Chess) -> String {
    let king = position.board().king_of(position.turn()).map_or_else(String::new, |at| format!(" on {at}"));
    let by: Vec<String> = position.checkers().into_iter().map(|at| man_on(position, at)).collect();
    match by.as_slice() {
        [] => format!("nothing attacks the king{king}"),
        _ => format!("{} attacks the king{king}", listed(&by, NAMED)),
    }
}

fn check(position: &Chess) -> Ruling {
    if position.is_check() { proven(attack(position)) } else { refuted(attack(position)) }
}

/// `Kb2 or Kb1 is legal`: the moves that a mated or stalemated side would not have.
fn still_legal(position: &Chess) -> String {
    let sans = rules::sans(position, position.legal_moves());
    let are = if sans.len() == 1 { "is" } else { "are" };
    format!("{} {are} legal", listed(&sans, NAMED))
}

fn mate(position: &Chess) -> Ruling {
    match (position.is_check(), position.legal_moves().is_empty()) {
        (true, true) => proven(format!("{}, and no move is legal", attack(position))),
        (false, true) => refuted("it is stalemate: no move is legal, but there is no check"),
        (true, false) => refuted(still_legal(position)),
        (false, false) => refuted(format!("{}; {}", attack(position), still_legal(position))),
    }
}

fn stalemate(position: &Chess) -> Ruling {
    match (position.is_check(), position.legal_moves().is_empty()) {
        (false, true) => proven(format!("{}, and no move is legal", attack(position))),
        (true, true) => refuted(format!("it is mate: {}", attack(position))),
        _ => refuted(still_legal(position)),
    }
}

fn only_move(nodes: &[Node], last: NodeId) -> Ruling {
    let Some((before, ply)) = &nodes[last.0].came else { return open("no move has been played") };
    let position = rules::position_at(&nodes[before.0]);
    let others: Vec<String> =
        rules::sans(&position, position.legal_moves()).into_iter().filter(|san| *san != ply.san).collect();
    match others.len() {
        0 => proven(format!("no other move than {} is legal", ply.san)),
        1 => refuted(format!("{} is legal too", others[0])),
        _ => refuted(format!("{} are legal too", listed(&others, NAMED))),
    }
}

/// Rules on the position in which the side to move has passed: what it faces is a threat.
fn after_null_move(position: &Chess, rule: impl Fn(&Chess) -> Ruling) -> Ruling {
    let turn = rules::side(position.turn());
    if position.legal_moves().is_empty() {
        return refuted(format!("the game is over: {turn} has no legal move"));
    }
    match rules::null_move(position) {
        Some(passed) => rule(&passed),
        None => open(format!("{turn} is in check, so a threat cannot be seen by letting {turn} pass")),
    }
}

/// A threat mates, or begins a forced mate, or wins; or it gets more for its side than that side has as it stands.
fn threat(here: &Chess, passed: &Chess, san: &str, budget: Budget) -> Ruling {
    match find::find(passed, san, None) {
        Found::Nothing | Found::EnPassant(..) => refuted(format!("`{san}` is no move")),
        Found::Refused(refusal) => refuted(refusal.label),
        Found::Move(_, Some(sign)) => refuted(sign.message.replace('`', "")),
        Found::Move(found, None) => {
            let written = rules::san(passed, found.chosen);
            if written.ends_with('#') {
                return proven(one(passed, found.chosen));
            }
            let half = budget.part(2);
            let side = passed.turn();
            let played = outcome::outlook(&notation::after(passed, found.chosen), half);
            let gained = played.bounds.seen_by(side);
            let name = one(passed, found.chosen);
            if gained.low == Ending::WhiteWins {
                return proven(format!("after {name} {}", played.witness));
            }
            let now = outcome::outlook(here, half).bounds.seen_by(side);
            if gained.low > now.high {
                proven(format!("{name} saves the game: {}", played.witness))
            } else if gained.high <= now.low {
                let result = gained.high.seen_by(side);
                refuted(format!("{name} gains nothing: {result} with it and without it"))
            } else {
                open(format!("{written} could be played, but whether it gains anything is not decided"))
            }
        }
    }
}

fn mate_in(position: &Chess, moves: u32, budget: Budget) -> Ruling {
    let turn = rules::side(position.turn());
    if position.legal_moves().is_empty() {
        return refuted(format!("the game is over: {turn} has no legal move"));
    }
    let few = position.board().occupied().count() <= 4;
    if few && let Some(worth) = known::worth(position, budget) {
        return mate_by_table(position, worth, moves, budget);
    }
    let mut search = Search::new(budget);
    match search.shortest(position, moves) {
        Outcome::Mate(shortest) => {
            let line = numbered(position, &search.line(position, shortest));
            proven(if shortest < moves { format!("{line} (mate in {shortest})") } else { line })
        }
        Outcome::None => {
            refuted(format!("{turn}, to move, has no mate in {moves}: {}", defences(&mut search, position, moves)))
        }
        Outcome::Unknown(searched) => match known::worth(position, budget) {
            Some(worth) => mate_by_table(position, worth, moves, budget),
            None => open(format!(
                "there is no mate in {searched}; whether there is one in {moves} was not decided in {} positions",
                budget.positions
            )),
        },
    }
}

/// The tables know the shortest mate.
fn mate_by_table(position: &Chess, worth: Worth, moves: u32, budget: Budget) -> Ruling {
    let turn = rules::side(position.turn());
    match worth {
        Worth::Win(plies) => {
            let shortest = plies.div_ceil(2);
            let line = numbered(position, &outcome::best_line(position, plies.min(LINE), budget));
            let more = if plies > LINE { " …" } else { "" };
            match shortest.cmp(&moves) {
                Ordering::Greater => refuted(format!("the shortest mate takes {shortest} moves: {line}{more}")),
                Ordering::Less => proven(format!("{line}{more} (mate in {shortest})")),
                Ordering::Equal => proven(format!("{line}{more}")),
            }
        }
        Worth::Draw => refuted(format!("no mate in {moves}: {turn} cannot force mate at all")),
        Worth::Loss(_) => refuted(format!("no mate in {moves}: {turn} is itself lost")),
    }
}

/// How the likeliest first moves are met: `1.Ra7 Bxa7; 1.Kc7 axb6+`.
fn defences(search: &mut Search, position: &Chess, moves: u32) -> String {
    let firsts: Vec<Move> = search.ordered(position);
    let lines: Vec<String> =
        firsts.iter().take(NAMED - 1).filter_map(|first| search.defence(position, *first, moves)).collect();
    let rest = firsts.len().saturating_sub(lines.len());
    let told = lines.join("; ");
    match rest {
        0 => told,
        1 => format!("{told}; 1 other move fails too"),
        _ => format!("{told}; {rest} other moves fail too"),
    }
}

/// Win and draw with best play.
fn result(position: &Chess, claimed: Ending, budget: Budget) -> Ruling {
    let outlook = outcome::outlook(position, budget);
    let Bounds { low, high } = outlook.bounds;
    if low == high && low == claimed {
        proven(outlook.witness)
    } else if claimed < low || claimed > high {
        let cannot = match claimed {
            Ending::WhiteWins if position.has_insufficient_material(Color::White) => Some("White"),
            Ending::BlackWins if position.has_insufficient_material(Color::Black) => Some("Black"),
            _ => None,
        };
        refuted(cannot.map_or(outlook.witness, |side| format!("{side} has not the material to mate")))
    } else {
        open(outlook.witness)
    }
}

/// The last move, from the position before it.
fn only_reaching(nodes: &[Node], last: NodeId, goal: Ending, budget: Budget) -> Ruling {
    let Some((before, ply)) = &nodes[last.0].came else { return open("no move has been played") };
    let position = rules::position_at(&nodes[before.0]);
    let played = position.legal_moves().into_iter().find(|chosen| rules::san(&position, *chosen) == ply.san);
    match played {
        Some(played) => only::only(&position, played, goal, budget),
        None => open(format!("{} is not among the legal moves", ply.san)),
    }
}

/// Mutual zugzwang: the same men, and each side does better if the other has to move.
pub(super) fn zugzwang(position: &Chess, budget: Budget) -> Ruling {
    let turn = rules::side(position.turn());
    if position.is_check() {
        return refuted(format!("{turn} is in check: it could not pass even if it might"));
    }
    let Some(passed) = rules::null_move(position) else {
        return refuted(format!("with {} to move, {turn} would be in check", turn.other()));
    };
    let half = budget.part(2);
    let (here, other) = (outcome::outlook(position, half).bounds, outcome::outlook(&passed, half).bounds);
    let color = position.turn();
    let (moving, passing) = (here.seen_by(color), other.seen_by(color));
    let told = |bounds: Bounds, side: Side| match bounds.known() {
        Some(ending) => format!("with {side} to move {ending}"),
        None => format!("with {side} to move the result is not decided"),
    };
    let witness = format!("{}; {}", told(here, turn), told(other, turn.other()));
    if moving.high < passing.low {
        proven(witness)
    } else if moving.low >= passing.high {
        refuted(witness)
    } else {
        open(witness)
    }
}
