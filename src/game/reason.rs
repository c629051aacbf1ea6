//! Why a move is not legal, in the words of the laws (FIDE Laws of Chess 2023, articles 3 and 5), and what would be.

mod castling;
mod pawn;

use super::rules::{self, inner_role, inner_square, listed, man, man_on};
use super::word::{Men, Wanted};
use shakmaty::{Bitboard, Chess, Color, Move, Piece, Position, Role, Square, attacks};

/// At most this many moves are listed in a hint.
const LISTED: usize = 16;

/// The fact, and what would be accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Reason {
    pub fact: String,
    pub hints: Vec<String>,
}

impl Reason {
    fn new(fact: impl Into<String>) -> Reason {
        Reason { fact: fact.into(), hints: Vec::new() }
    }

    fn hint(mut self, hint: impl Into<String>) -> Reason {
        self.hints.push(hint.into());
        self
    }
}

/// The reason why no legal move of `position` is the wanted one.
pub(super) fn why(position: &Chess, wanted: &Wanted) -> Reason {
    let turn = rules::side(position.turn());
    if position.legal_moves().is_empty() {
        let over = if position.is_check() { "checkmated" } else { "stalemated" };
        return Reason::new(format!("the game is over: {turn} is {over}"))
            .hint("return with `back` before another move");
    }
    let reason = match wanted {
        Wanted::Castle(wing) => castling::why(position, *wing),
        Wanted::Men(men) => of_men(position, men),
    };
    if reason.hints.is_empty() { with_legal(position, wanted, reason) } else { reason }
}

/// Adds the legal moves of the role that was named, or of all if it has none.
fn with_legal(position: &Chess, wanted: &Wanted, reason: Reason) -> Reason {
    let role = match wanted {
        Wanted::Castle(_) => Some(Role::King),
        Wanted::Men(men) => men.role.map(inner_role).or_else(|| {
            let origin = origin(men)?;
            position.us().contains(origin).then(|| position.board().role_at(origin)).flatten()
        }),
    };
    let legal = position.legal_moves();
    let of_role: Vec<Move> = legal.iter().copied().filter(|chosen| Some(chosen.role()) == role).collect();
    let (of_what, moves) = match role {
        Some(role) if !of_role.is_empty() => (format!("{} ", rules::role(role)), of_role),
        _ => (String::new(), legal.to_vec()),
    };
    let sans = rules::sans(position, moves);
    match sans.as_slice() {
        [only] => reason.hint(format!("the only legal {of_what}move is {only}")),
        _ => reason.hint(format!("the legal {of_what}moves are {}", listed_plainly(&sans))),
    }
}

/// `Ra1, Rb1, Rc1`, and how many more there are.
fn listed_plainly(sans: &[String]) -> String {
    if sans.len() > LISTED {
        format!("{} and {} more", sans[..LISTED].join(", "), sans.len() - LISTED)
    } else {
        sans.join(", ")
    }
}

/// The square named as the origin, if file and rank are both given.
fn origin(men: &Men) -> Option<Square> {
    Some(Square::from_coords(men.file?, men.rank?))
}

fn of_men(position: &Chess, men: &Men) -> Reason {
    let turn = position.turn();
    let to = inner_square(men.to);
    if let Some(reason) = wrong_origin(position, men) {
        return reason;
    }
    let role = men.role.map(inner_role).or_else(|| position.board().role_at(origin(men)?)).unwrap_or(Role::Pawn);
    if men.promotion.is_some() && role != Role::Pawn {
        return Reason::new(format!("only a pawn is promoted, not a {}", rules::role(role)));
    }
    let movers: Vec<Square> = candidates(position, role, men);
    if movers.is_empty() {
        return no_mover(position, role, men);
    }
    if position.us().contains(to) {
        let own = rules::role(position.board().role_at(to).unwrap_or(Role::Pawn));
        return Reason::new(format!("{}'s own {own} stands on {to}", rules::side(turn)));
    }
    if role == Role::Pawn {
        return pawn::why(position, men, &movers);
    }
    if let Some(reason) = idle_capture(position, role, men, &movers) {
        return reason;
    }
    let reaching: Vec<Square> = movers.iter().copied().filter(|from| reaches(position, role, *from, to)).collect();
    if reaching.is_empty() {
        return unreached(position, role, men, &movers);
    }
    let facts: Vec<String> = reaching.iter().map(|from| exposed(position, *from, to, to)).collect();
    Reason::new(facts.join("; "))
}

/// The men of a role that the word may mean.
fn candidates(position: &Chess, role: Role, men: &Men) -> Vec<Square> {
    position
        .our(role)
        .into_iter()
        .filter(|from| {
            men.file.is_none_or(|file| file == from.file()) && men.rank.is_none_or(|rank| rank == from.rank())
        })
        .collect()
}

/// Something else than named stands on the square the word comes from.
fn wrong_origin(position: &Chess, men: &Men) -> Option<Reason> {
    let from = origin(men)?;
    let turn = position.turn();
    match position.board().piece_at(from) {
        None => Some(Reason::new(format!("nothing stands on {from}"))),
        Some(piece) if piece.color != turn => {
            Some(Reason::new(format!("a {} stands on {from}, and it is {}'s move", man(piece), rules::side(turn))))
        }
        Some(piece) => {
            let wanted = inner_role(men.role?);
            let fact = format!("a {} stands on {from}, not a {}", rules::role(piece.role), rules::role(wanted));
            (piece.role != wanted).then(|| Reason::new(fact))
        }
    }
}

/// No man of this role and side, or none on the file or rank that is named.
fn no_mover(position: &Chess, role: Role, men: &Men) -> Reason {
    let turn = position.turn();
    let name = man(Piece { color: turn, role });
    if let Some(reason) = other_side(position, role, men) {
        return reason;
    }
    let place = match (men.file, men.rank) {
        (Some(file), _) => format!("no {name} stands on the {}-file", file.char()),
        (_, Some(rank)) => format!("no {name} stands on rank {}", rank.char()),
        _ => return Reason::new(format!("{} has no {}", rules::side(turn), rules::role(role))),
    };
    if position.our(role).is_empty() {
        return Reason::new(format!("{} has no {}", rules::side(turn), rules::role(role)));
    }
    Reason::new(place)
}

/// The move would be the other side's.
fn other_side(position: &Chess, role: Role, men: &Men) -> Option<Reason> {
    let turn = position.turn();
    let to = inner_square(men.to);
    let theirs = position.board().by_piece(Piece { color: !turn, role });
    let meant = theirs.into_iter().find(|from| {
        let placed = men.file.is_none_or(|file| file == from.file()) && men.rank.is_none_or(|rank| rank == from.rank());
        placed
            && if role == Role::Pawn {
                attacks::pawn_attacks(!turn, *from).contains(to) && position.us().contains(to)
                    || (from.file() == to.file() && attacks::pawn_attacks(turn, to).intersects(neighbours(*from)))
            } else {
                reaches(position, role, *from, to)
            }
    })?;
    Some(their_move(turn, role, meant))
}

/// Whose move it is, where the man of the other side that is meant stands.
fn their_move(turn: Color, role: Role, meant: Square) -> Reason {
    let theirs = man(Piece { color: !turn, role });
    Reason::new(format!("it is {}'s move; the {theirs} stands on {meant}", rules::side(turn)))
}

/// The squares beside one on its rank.
fn neighbours(square: Square) -> Bitboard {
    attacks::king_attacks(square) & Bitboard::from_rank(square.rank())
}

/// Whether a piece attacks or reaches `to` with the men where they are.
fn reaches(position: &Chess, role: Role, from: Square, to: Square) -> bool {
    let color = position.board().color_at(from).unwrap_or(position.turn());
    attacks::attacks(from, Piece { color, role }, position.board().occupied()).contains(to)
}

/// `x` where the move itself would be legal without it.
fn idle_capture(position: &Chess, role: Role, men: &Men, movers: &[Square]) -> Option<Reason> {
    let to = inner_square(men.to);
    if !men.capture || position.board().occupied().contains(to) {
        return None;
    }
    let fact = format!("nothing stands on {to} to be taken");
    let quiet = position.san_candidates(role, to).into_iter().find(|chosen| movers.contains(&rules::origin(*chosen)));
    let reason = Reason::new(fact);
    Some(match quiet {
        Some(chosen) => reason.hint(format!("without the `x`: {}", rules::san(position, chosen))),
        None => reason,
    })
}

/// No piece of the role gets there: what blocks it, or that it does not move so.
fn unreached(position: &Chess, role: Role, men: &Men, movers: &[Square]) -> Reason {
    let to = inner_square(men.to);
    if let Some(reason) = other_side(position, role, men) {
        return reason;
    }
    let occupied = position.board().occupied();
    let blocked: Vec<String> = movers
        .iter()
        .filter(|from| attacks::attacks(**from, Piece { color: position.turn(), role }, Bitboard::EMPTY).contains(to))
        .filter_map(|from| {
            let between = attacks::between(*from, to) & occupied;
            let first = nearest_to(*from, between)?;
            let piece = position.board().piece_at(first)?;
            Some(format!("{} is blocked by the {} on {first}", man_on(position, *from), man(piece)))
        })
        .collect();
    if !blocked.is_empty() {
        return Reason::new(blocked.join("; "));
    }
    let name = man(Piece { color: position.turn(), role });
    if role == Role::King && attacks::king_attacks(movers[0]).is_disjoint(Bitboard::from_square(to)) {
        let castles = to.rank() == movers[0].rank() && movers[0].file().distance(to.file()) == 2;
        let reason = Reason::new(format!("the king on {} goes only one square", movers[0]));
        return if castles { reason.hint("castling is written `O-O` or `O-O-O`") } else { reason };
    }
    match movers {
        [only] => Reason::new(format!("the {name} on {only} does not reach {to}")),
        _ => Reason::new(format!("no {name} can reach {to}")),
    }
}

/// The one of `squares` that is nearest to `from`.
fn nearest_to(from: Square, squares: Bitboard) -> Option<Square> {
    squares.into_iter().min_by_key(|square| from.distance(*square))
}

/// Why a man that gets to `to` may not go: its king would stand in check. `taken` is where the captured man stands.
fn exposed(position: &Chess, from: Square, to: Square, taken: Square) -> String {
    let turn = position.turn();
    let board = position.board();
    let Some(king) = board.king_of(turn) else { return format!("{} may not go to {to}", man_on(position, from)) };
    if king == from {
        let seen = board.occupied().without(from);
        let attackers = board.attacks_to(to, !turn, seen);
        let by: Vec<String> = attackers.into_iter().map(|at| man_on(position, at)).collect();
        return if position.them().contains(to) {
            format!("{} is protected by {}", man_on(position, to), listed(&by, 3))
        } else {
            format!("the king would step into the attack of {}", listed(&by, 3))
        };
    }
    let checkers = position.checkers();
    if checkers.more_than_one() {
        let by: Vec<String> = checkers.into_iter().map(|at| man_on(position, at)).collect();
        return format!("the king on {king} is in double check from {}: only it can move", listed(&by, 4));
    }
    // What would attack the king once the man has gone, with what it takes off the board.
    let after = (board.occupied().without(from).without(taken)).with(to);
    let attackers = board.attacks_to(king, !turn, after).without(taken);
    let pinners = attackers & !checkers;
    if let Some(pinner) = pinners.first() {
        return format!("{} is pinned to the king on {king} by {}", man_on(position, from), man_on(position, pinner));
    }
    match checkers.first() {
        Some(checker) => {
            format!("the king on {king} stays in check from {}", man_on(position, checker))
        }
        None => format!("{} may not go to {to}", man_on(position, from)),
    }
}

/// `White` or `Black` of a colour.
fn name(color: Color) -> crate::units::Side {
    rules::side(color)
}
