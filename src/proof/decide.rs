//! One claim, one position, one ruling. Each kind of claim has its own function here; a stronger prover for a kind
//! takes that function's place.

use super::mate::{Outcome, Search};
use super::{Budget, Verdict};
use crate::game::find::{self, Outcome as Found};
use crate::game::rules::{self, listed, man_on};
use crate::game::{Claim, Node, NodeId};
use crate::units::Side;
use shakmaty::{Chess, Color, Move, Position};

/// At most this many moves are named in a sentence.
const NAMED: usize = 4;

/// A win or a draw is looked for among mates of at most so many moves.
const SHORT: u32 = 4;

/// A verdict with its reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Ruling {
    pub verdict: Verdict,
    pub witness: String,
}

fn proven(witness: impl Into<String>) -> Ruling {
    Ruling { verdict: Verdict::Proven, witness: witness.into() }
}

fn refuted(witness: impl Into<String>) -> Ruling {
    Ruling { verdict: Verdict::Refuted, witness: witness.into() }
}

fn open(witness: impl Into<String>) -> Ruling {
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
        Claim::Threat(san) => after_null_move(here, |passed| threat(passed, san)),
        Claim::ThreatMateIn(moves) => after_null_move(here, |passed| mate_in(passed, *moves, budget)),
        Claim::Wins(_) | Claim::Draw | Claim::OnlyWinningMove | Claim::OnlyDrawingMove | Claim::Zugzwang => {
            outcome(here, claim, budget)
        }
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

fn threat(passed: &Chess, san: &str) -> Ruling {
    match find::find(passed, san, None) {
        Found::Nothing => refuted(format!("`{san}` is no move")),
        Found::Refused(refusal) => refuted(refusal.label),
        Found::Move(_, Some(sign)) => refuted(sign.message.replace('`', "")),
        Found::Move(found, None) => {
            let written = rules::san(passed, found.chosen);
            if written.ends_with('#') {
                proven(written)
            } else {
                open(format!("{written} could be played, but whether it is a threat is not decided: it is not mate"))
            }
        }
    }
}

fn mate_in(position: &Chess, moves: u32, budget: Budget) -> Ruling {
    let turn = rules::side(position.turn());
    if position.legal_moves().is_empty() {
        return refuted(format!("the game is over: {turn} has no legal move"));
    }
    let mut search = Search::new(budget);
    match search.shortest(position, moves) {
        Outcome::Mate(shortest) => {
            let line = search.line(position, shortest);
            proven(if shortest < moves { format!("{line} (mate in {shortest})") } else { line })
        }
        Outcome::None => refuted(format!("no mate in {moves}: {}", defences(&mut search, position, moves))),
        Outcome::Unknown(searched) => open(format!(
            "there is no mate in {searched}; whether there is one in {moves} was not decided in {} positions",
            budget.positions
        )),
    }
}

/// How the likeliest first moves are met: `Ra7 Bxa7; Kc7 axb6+`.
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

/// Win and draw with best play, as far as the board itself, the material or a short mate decides them.
fn outcome(position: &Chess, claim: &Claim, budget: Budget) -> Ruling {
    let winner = match claim {
        Claim::Wins(side) => Some(*side),
        Claim::Draw => None,
        _ => return open("the result with best play was not searched"),
    };
    let turn = rules::side(position.turn());
    let settled = if position.legal_moves().is_empty() {
        let by_mate = position.is_check();
        Some((by_mate.then(|| turn.other()), if by_mate { "it is mate" } else { "it is stalemate" }.to_string()))
    } else if position.is_insufficient_material() {
        Some((None, "neither side has the material to mate".to_string()))
    } else {
        short_mate(position, budget)
    };
    match settled {
        Some((result, witness)) if result == winner => proven(witness),
        Some((_, witness)) => refuted(witness),
        None => match winner {
            Some(side) if position.has_insufficient_material(Color::from_white(side == Side::White)) => {
                refuted(format!("{side} has not the material to mate"))
            }
            _ => open(format!("no mate within {SHORT} moves, and the result with best play was not searched")),
        },
    }
}

/// Who mates by force within [`SHORT`] moves, with the line.
fn short_mate(position: &Chess, budget: Budget) -> Option<(Option<Side>, String)> {
    let turn = rules::side(position.turn());
    let mut search = Search::new(budget);
    if let Outcome::Mate(moves) = search.shortest(position, SHORT) {
        return Some((Some(turn), search.line(position, moves)));
    }
    let mut search = Search::new(budget);
    search.lost(position, SHORT).map(|line| (Some(turn.other()), line))
}
