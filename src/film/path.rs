//! The way of a piece over the board: straight, or a knight's rounded L.

use super::motion::{CORNER, GLIDE, KNIGHT, glide};
use crate::units::{Placement, Square};

/// A way from square to square.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Path {
    /// Straight from one to the other.
    Straight { from: Square, to: Square },
    /// Along a knight's L, turning at `corner`.
    Knight { from: Square, corner: Square, to: Square },
}

/// A square's left and top edge, in squares from the board's top left corner.
fn place(square: Square) -> (f64, f64) {
    (f64::from(square.file()), 7.0 - f64::from(square.rank()))
}

fn between(a: (f64, f64), b: (f64, f64), share: f64) -> (f64, f64) {
    (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share)
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    libm::hypot(b.0 - a.0, b.1 - a.1)
}

/// The square on which a knight's L turns: short leg first, but the way with fewer pieces on it. `None` if the two
/// squares are not a knight's move apart.
pub fn knight_corner(from: Square, to: Square, placement: &Placement) -> Option<Square> {
    let (across, up) = (to.file().abs_diff(from.file()), to.rank().abs_diff(from.rank()));
    let (short_first, long_first) = match (across, up) {
        (1, 2) => (Square::at(to.file(), from.rank())?, Square::at(from.file(), to.rank())?),
        (2, 1) => (Square::at(from.file(), to.rank())?, Square::at(to.file(), from.rank())?),
        _ => return None,
    };
    let middle = |a: Square, b: Square| Square::at(a.file().midpoint(b.file()), a.rank().midpoint(b.rank()));
    let pieces = |squares: [Option<Square>; 2]| {
        squares.into_iter().flatten().filter(|&square| placement.get(square).is_some()).count()
    };
    let short = pieces([Some(short_first), middle(short_first, to)]);
    let long = pieces([Some(long_first), middle(from, long_first)]);
    Some(if long < short { long_first } else { short_first })
}

impl Path {
    /// The way a piece takes; a knight's move is an L whatever makes it.
    pub(super) fn new(from: Square, to: Square, placement: &Placement) -> Path {
        match knight_corner(from, to, placement) {
            Some(corner) => Path::Knight { from, corner, to },
            None => Path::Straight { from, to },
        }
    }

    /// How long it takes, in milliseconds.
    pub(super) fn takes(self) -> f64 {
        match self {
            Path::Straight { from, to } => glide(distance(place(from), place(to))),
            Path::Knight { .. } => KNIGHT,
        }
    }

    /// Where the piece is after `time` (0 to 1) of the way: the left and top edge of its square, and its lift.
    pub(super) fn at(self, time: f64) -> (f64, f64, f64) {
        let way = GLIDE.at(time);
        let (x, y) = self.point(way);
        (x, y, libm::sin(std::f64::consts::PI * way).max(0.0))
    }

    /// Where it begins and ends.
    pub(super) fn ends(self) -> (Square, Square) {
        match self {
            Path::Straight { from, to } | Path::Knight { from, to, .. } => (from, to),
        }
    }

    /// The same way the other way round.
    pub(super) fn reversed(self) -> Path {
        match self {
            Path::Straight { from, to } => Path::Straight { from: to, to: from },
            Path::Knight { from, corner, to } => Path::Knight { from: to, corner, to: from },
        }
    }

    /// The point after a share of the way.
    fn point(self, way: f64) -> (f64, f64) {
        match self {
            Path::Straight { from, to } => between(place(from), place(to), way),
            Path::Knight { from, corner, to } => {
                let (from, corner, to) = (place(from), place(corner), place(to));
                rounded(from, corner, to, way)
            }
        }
    }
}

/// Two legs at a right angle whose corner is a quarter of a circle; constant speed along the whole.
fn rounded(from: (f64, f64), corner: (f64, f64), to: (f64, f64), way: f64) -> (f64, f64) {
    let first = distance(from, corner) - CORNER;
    let turn = CORNER * std::f64::consts::FRAC_PI_2;
    let second = distance(corner, to) - CORNER;
    let gone = way * (first + turn + second);
    let (into, out) =
        (between(corner, from, CORNER / (first + CORNER)), between(corner, to, CORNER / (second + CORNER)));
    if gone < first {
        between(from, into, gone / first)
    } else if gone < first + turn {
        let angle = (gone - first) / CORNER;
        let (ahead, aside) = (libm::sin(angle), 1.0 - libm::cos(angle));
        let forward = (corner.0 - into.0, corner.1 - into.1);
        let sideways = (out.0 - corner.0, out.1 - corner.1);
        (into.0 + forward.0 * ahead + sideways.0 * aside, into.1 + forward.1 * ahead + sideways.1 * aside)
    } else {
        between(out, to, (gone - first - turn) / second)
    }
}
