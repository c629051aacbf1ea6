//! What happens to a king: check, mate, stalemate, coming in at the arrival of a move and going out with the next.

use super::motion::{BOW, ENTER, JAWS, MATE_BOW, MATE_JAWS, OUT, STALEMATE, Window};
use super::picture::KingMoment;
use crate::game::{Node, State};
use crate::units::{Placement, Role, Side, Square};

/// The moment of a position, ready to come in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Moment {
    state: State,
    square: Square,
    /// −1 or 1: the side to which a mated king bows.
    away: f64,
}

impl Moment {
    /// The moment of a position, if it has one.
    pub(super) fn of(node: &Node) -> Option<Moment> {
        if node.state == State::Quiet {
            return None;
        }
        let square = node.placement.king(node.turn)?;
        Some(Moment { state: node.state, square, away: away(square, node.turn, &node.placement) })
    }

    /// How long it takes to come in.
    pub(super) fn length(self) -> f64 {
        match self.state {
            State::Quiet => 0.0,
            State::Check => JAWS,
            State::Mate => MATE_BOW.end(),
            State::Stalemate => STALEMATE,
        }
    }

    /// The moment `ms` after it began; `None` before.
    pub(super) fn coming(self, ms: f64) -> Option<KingMoment> {
        (ms >= 0.0).then(|| {
            let enter = Window::new(0.0, self.length());
            self.shape(ENTER.at(enter.through(ms)), MATE_JAWS.through(ms), BOW.at(MATE_BOW.through(ms)))
        })
    }

    /// The moment at rest.
    pub(super) fn whole(self) -> KingMoment {
        self.shape(1.0, 1.0, 1.0)
    }

    /// The moment `ms` after the next move began; `None` once it is gone.
    pub(super) fn leaving(self, ms: f64) -> Option<KingMoment> {
        let left = 1.0 - Window::new(0.0, OUT).through(ms);
        (left > 0.0).then(|| self.shape(left, left, left))
    }

    fn shape(self, enter: f64, shut: f64, bow: f64) -> KingMoment {
        let square = self.square;
        match self.state {
            State::Mate => KingMoment::Mate { square, shut: shut as f32, bow: (bow * self.away) as f32 },
            State::Stalemate => KingMoment::Stalemate { square, enter: enter as f32 },
            State::Check | State::Quiet => KingMoment::Check { square, enter: enter as f32 },
        }
    }
}

/// To which side a mated king bows: away from the pieces that give mate; in a corner, or when they stand on his own
/// file, towards the middle of the board, where there is most air.
fn away(king: Square, side: Side, placement: &Placement) -> f64 {
    let inwards = if king.file() < 4 { 1.0 } else { -1.0 };
    let at_edge = |n: u8| n == 0 || n == 7;
    if at_edge(king.file()) && at_edge(king.rank()) {
        return inwards;
    }
    let from_left: i32 = attackers(king, side, placement)
        .map(|attacker| i32::from(king.file()).cmp(&i32::from(attacker.file())) as i32)
        .sum();
    match from_left {
        0 => inwards,
        n => f64::from(n.signum()),
    }
}

/// The pieces that attack the king of `side`.
fn attackers(king: Square, side: Side, placement: &Placement) -> impl Iterator<Item = Square> + '_ {
    let step = move |from: Square, across: i8, up: i8| {
        Square::at(from.file().checked_add_signed(across)?, from.rank().checked_add_signed(up)?)
    };
    let enemy = move |square: Square| placement.get(square).filter(|piece| piece.side != side).map(|piece| piece.role);
    // A black pawn attacks downwards, so a white king looks for it upwards.
    let pawns_from = if side == Side::White { 1 } else { -1 };
    let directions = (-1..=1).flat_map(|across| (-1..=1).map(move |up| (across, up))).filter(|&way| way != (0, 0));
    let along = directions.filter_map(move |(across, up)| {
        let mut at = step(king, across, up)?;
        let mut near = true;
        while placement.get(at).is_none() {
            at = step(at, across, up)?;
            near = false;
        }
        let straight = across == 0 || up == 0;
        let attacks = match enemy(at)? {
            Role::Queen => true,
            Role::Rook => straight,
            Role::Bishop => !straight,
            Role::Pawn => near && !straight && up == pawns_from,
            Role::King | Role::Knight => false,
        };
        attacks.then_some(at)
    });
    let leaps = [(1, 2), (2, 1), (-1, 2), (-2, 1), (1, -2), (2, -1), (-1, -2), (-2, -1)];
    let knights = leaps
        .into_iter()
        .filter_map(move |(across, up)| step(king, across, up))
        .filter(move |&square| enemy(square) == Some(Role::Knight));
    along.chain(knights)
}
