//! Why a pawn's move is refused: its way, its captures, en passant, promotion (FIDE Laws 2023, 3.7).

use super::{Men, Reason, exposed, listed, man, man_on, other_side, their_move};
use crate::game::rules::{self, inner_square};
use shakmaty::{Chess, Color, Piece, Position, Rank, Role, Square, attacks};

/// `movers` are the pawns the word may mean: for a move without a file or square in front, all of them.
pub(super) fn why(position: &Chess, men: &Men, movers: &[Square]) -> Reason {
    let turn = position.turn();
    let to = inner_square(men.to);
    let straight: Vec<Square> = movers.iter().copied().filter(|from| ahead(turn, *from, to).is_some()).collect();
    let slanting: Vec<Square> =
        movers.iter().copied().filter(|from| attacks::pawn_attacks(turn, *from).contains(to)).collect();
    if straight.is_empty()
        && slanting.is_empty()
        && let Some(from) = of_the_other_side(position, men)
    {
        return their_move(turn, Role::Pawn, from);
    }
    let captures = men.capture || men.en_passant || (men.file.is_some_and(|file| file != to.file()));
    if let Some(reason) = promotion(position, men, &straight, &slanting) {
        return reason;
    }
    if captures { taking(position, men, &straight, &slanting) } else { walking(position, men, &straight, &slanting) }
}

/// Where the pawn of the other side stands that could make the move, were it that side's turn.
fn of_the_other_side(position: &Chess, men: &Men) -> Option<Square> {
    let other = rules::null_move(position)?;
    let moves = other.san_candidates(Role::Pawn, inner_square(men.to));
    let named = |from: &Square| {
        men.file.is_none_or(|file| file == from.file()) && men.rank.is_none_or(|rank| rank == from.rank())
    };
    moves.into_iter().map(rules::origin).find(named)
}

/// How many squares straight ahead `to` lies, one or two.
fn ahead(color: Color, from: Square, to: Square) -> Option<u32> {
    let step = |rank: Rank| color.fold_wb(rank.to_u32(), 7 - rank.to_u32());
    let steps = step(to.rank()).checked_sub(step(from.rank()))?;
    (from.file() == to.file() && (1..=2).contains(&steps)).then_some(steps)
}

fn promotion(position: &Chess, men: &Men, straight: &[Square], slanting: &[Square]) -> Option<Reason> {
    let turn = position.turn();
    let to = inner_square(men.to);
    let last = turn.relative_rank(Rank::Eighth);
    if men.promotion.is_some() && to.rank() != last {
        let fact =
            format!("a {} is promoted only on rank {}", man(Piece { color: turn, role: Role::Pawn }), last.char());
        return Some(Reason::new(fact));
    }
    if men.promotion.is_some() || to.rank() != last {
        return None;
    }
    // The piece is unsaid: list what could be written if one of the promotions is legal.
    let from_here = |from: Square| straight.contains(&from) || slanting.contains(&from);
    let moves: Vec<_> = position
        .san_candidates(Role::Pawn, to)
        .into_iter()
        .filter(|chosen| from_here(rules::origin(*chosen)) && (!men.capture || chosen.is_capture()))
        .filter(|chosen| men.file.is_some() || !chosen.is_capture())
        .collect();
    if moves.is_empty() {
        return None;
    }
    let mut sans: Vec<String> = moves.iter().map(|chosen| rules::san(position, *chosen)).collect();
    sans.sort_by_key(|san| san.find('=').and_then(|at| "QRBN".find(&san[at + 1..at + 2])));
    Some(Reason::new("which piece the pawn becomes is not said").hint(format!("write {}", sans.join(", "))))
}

/// A move that means a capture.
fn taking(position: &Chess, men: &Men, straight: &[Square], slanting: &[Square]) -> Reason {
    let turn = position.turn();
    let to = inner_square(men.to);
    let pawn = man(Piece { color: turn, role: Role::Pawn });
    if slanting.is_empty() {
        if !straight.is_empty() && position.board().occupied().contains(to) {
            return Reason::new("a pawn does not take straight ahead");
        }
        return match other_side(position, Role::Pawn, men) {
            Some(reason) => reason,
            None => Reason::new(format!("no {pawn} attacks {to}")),
        };
    }
    if position.them().contains(to) {
        if men.en_passant {
            return Reason::new(format!("{} is taken on its own square, not en passant", man_on(position, to)));
        }
        return Reason::new(join(slanting.iter().map(|from| exposed(position, *from, to, to))));
    }
    en_passant(position, to, slanting)
}

/// A capture on an empty square.
fn en_passant(position: &Chess, to: Square, slanting: &[Square]) -> Reason {
    let turn = position.turn();
    let empty = format!("nothing stands on {to} to be taken");
    if to.rank() != turn.relative_rank(Rank::Sixth) {
        return Reason::new(empty);
    }
    let passed = Square::from_coords(to.file(), turn.relative_rank(Rank::Fifth));
    if position.board().piece_at(passed) != Some(Piece { color: !turn, role: Role::Pawn }) {
        return Reason::new(empty);
    }
    if position.maybe_ep_square() != Some(to) {
        let fact =
            format!("{empty}, and en passant is not possible: the pawn on {passed} has not just made its double step");
        let reason = Reason::new(fact);
        return reason.hint(format!("a position in which it has is given by a FEN with `{to}` in its fourth field"));
    }
    let facts = slanting.iter().map(|from| format!("en passant: {}", exposed(position, *from, to, passed)));
    Reason::new(join(facts))
}

/// A move straight ahead.
fn walking(position: &Chess, men: &Men, straight: &[Square], slanting: &[Square]) -> Reason {
    let turn = position.turn();
    let to = inner_square(men.to);
    let board = position.board();
    let pawn = man(Piece { color: turn, role: Role::Pawn });
    if position.them().contains(to) && men.file.is_none() {
        let takers: Vec<String> = position
            .san_candidates(Role::Pawn, to)
            .into_iter()
            .filter(|chosen| men.promotion.is_none_or(|role| chosen.promotion() == Some(rules::inner_role(role))))
            .map(|chosen| rules::san(position, chosen))
            .collect();
        if !takers.is_empty() {
            let taken = board.piece_at(to).map(man).unwrap_or_default();
            let fact = format!("a {taken} stands on {to}, and a pawn's capture names the file it comes from");
            return Reason::new(fact).hint(format!("write {}", takers.join(" or ")));
        }
    }
    let Some(from) = straight.iter().copied().min_by_key(|from| ahead(turn, *from, to)) else {
        if let Some(reason) = other_side(position, Role::Pawn, men) {
            return reason;
        }
        let diagonal = slanting.first().filter(|_| men.file.is_some());
        return match diagonal {
            Some(from) => Reason::new(format!("the {pawn} on {from} takes slantwise, and nothing stands on {to}")),
            None => Reason::new(format!("no {pawn} can reach {to}")),
        };
    };
    let steps = ahead(turn, from, to);
    let middle = attacks::between(from, to) & board.occupied();
    if let Some(blocker) = middle.first().or_else(|| board.occupied().contains(to).then_some(to)) {
        let by = board.piece_at(blocker).map(man).unwrap_or_default();
        return Reason::new(format!("the pawn on {from} is blocked by the {by} on {blocker}"));
    }
    if steps == Some(2) && from.rank() != turn.relative_rank(Rank::Second) {
        return Reason::new(format!("the pawn on {from} has left its starting rank and goes only one square"));
    }
    if men.en_passant {
        return Reason::new(format!("a step to {to} is no capture"));
    }
    Reason::new(exposed(position, from, to, to))
}

fn join(facts: impl Iterator<Item = String>) -> String {
    let all: Vec<String> = facts.collect();
    listed(&all, 3).replace(" and ", "; ")
}
