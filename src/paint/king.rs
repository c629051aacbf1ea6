//! What happens to a king: jaws in check, a shut frame in mate, a dashed frame in stalemate.

use super::board::corner;
use super::brush::{Bounds, Cased, faded, rounded};
use super::marks::threatening;
use super::theme::Theme;
use crate::film::KingMoment;
use tiny_skia::{Path, PathBuilder, Pixmap, Transform};

/// The frame's middle line from the square's edge, its width and the radius of its corners, as fractions of a square.
const INSET: f32 = 0.058;
const WIDTH: f32 = 0.050;
const RADIUS: f32 = 0.055;
/// How far open jaws reach over the half side of the frame.
const OPEN: f32 = 0.36;
/// The jaws of a mate are fully there once they are shut this far.
const SHOWN_AT: f32 = 0.3;

/// The frame round a king.
pub(super) fn paint_king(pixmap: &mut Pixmap, view: Transform, theme: &Theme, moment: &KingMoment) {
    let square = Bounds::new(0.0, 0.0, 1.0, 1.0).grown(0.02);
    let (place, opacity, frame, width, colours) = match *moment {
        KingMoment::Check { square, enter } => (square, enter, jaws(0.0), WIDTH, threatening(theme)),
        KingMoment::Mate { square, shut, .. } => {
            (square, (shut / SHOWN_AT).min(1.0), jaws(shut), WIDTH, threatening(theme))
        }
        KingMoment::Stalemate { square, enter } => {
            let colours = Cased { colour: theme.force, casing: theme.casing, rim: None };
            (square, enter, dashes(), 0.046, colours)
        }
    };
    let (x, y) = corner(place);
    if let Some(frame) = frame {
        faded(pixmap, view.pre_translate(x, y), square, opacity, |pixmap, view| {
            colours.line(pixmap, &frame, width, view);
        });
    }
}

/// Two jaws, open above and below; `shut` 1 closes them to a frame.
fn jaws(shut: f32) -> Option<Path> {
    if shut >= 1.0 {
        return rounded(Bounds::new(0.0, 0.0, 1.0, 1.0).grown(-INSET), RADIUS);
    }
    let reach = (0.5 - INSET) * (OPEN + (1.0 - OPEN) * shut.max(0.0));
    let (near, far, curve) = (INSET, 1.0 - INSET, RADIUS * (1.0 - 0.5523));
    let mut path = PathBuilder::new();
    // Each jaw is walked down its side; `out` mirrors the left one to the right.
    for (side, out) in [(near, 1.0), (far, -1.0)] {
        path.move_to(side + out * reach, near);
        path.line_to(side + out * RADIUS, near);
        path.cubic_to(side + out * curve, near, side, near + curve, side, near + RADIUS);
        path.line_to(side, far - RADIUS);
        path.cubic_to(side, far - curve, side + out * curve, far, side + out * RADIUS, far);
        path.line_to(side + out * reach, far);
    }
    path.finish()
}

/// Ten round dashes: two above, two below, three on each side, so that the cross and the foot hide none.
fn dashes() -> Option<Path> {
    let (near, far) = (0.055, 1.0 - 0.055);
    let mut path = PathBuilder::new();
    let mut dash = |x0: f32, y0: f32, x1: f32, y1: f32| {
        path.move_to(x0, y0);
        path.line_to(x1, y1);
    };
    for share in [0.15_f32, 0.5, 0.85] {
        let middle = near + share * (far - near);
        let (from, to) = (middle - 0.05, middle + 0.05);
        if share != 0.5 {
            dash(from, near, to, near);
            dash(from, far, to, far);
        }
        dash(near, from, near, to);
        dash(far, from, far, to);
    }
    path.finish()
}
