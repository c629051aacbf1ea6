//! Arrows that share a line step aside into lanes, so that each can be followed.

use crate::film::ArrowPicture;
use crate::units::{Square, gcd};

/// The distance between two lanes, in squares: wide enough for two heads side by side.
const PITCH: f32 = 0.34;
/// All lanes of a line together are no wider than this.
const WIDEST: f32 = 0.72;

/// A straight arrow's line and its stretch on it.
#[derive(Clone, Copy)]
struct Stretch {
    /// A step along the line, its first non-zero part positive.
    step: (i32, i32),
    /// Tells parallel lines apart.
    line: i32,
    /// From and to, as steps along the line, the lesser first.
    span: (i32, i32),
    /// Whether the arrow points along the step or against it.
    along: bool,
}

/// How far each arrow steps to its own right hand, in squares; `None` for one that has its line to itself.
pub(super) fn lanes(arrows: &[ArrowPicture]) -> Vec<Option<f32>> {
    let stretches: Vec<Option<Stretch>> = arrows.iter().map(stretch).collect();
    let groups = groups(&stretches);
    let mut lanes = vec![None; arrows.len()];
    for group in 0..arrows.len() {
        // Those that point against the step take the lanes at the left of it: that is their own right hand.
        let mut members: Vec<(bool, usize)> =
            (0..arrows.len()).filter(|&i| groups[i] == group).filter_map(|i| Some((stretches[i]?.along, i))).collect();
        if members.len() < 2 {
            continue;
        }
        members.sort_unstable();
        let pitch = PITCH.min(WIDEST / (members.len() - 1) as f32);
        for (rank, (along, i)) in members.iter().enumerate() {
            let right_of_step = (rank as f32 - (members.len() - 1) as f32 / 2.0) * pitch;
            lanes[*i] = Some(if *along { right_of_step } else { -right_of_step });
        }
    }
    lanes
}

fn stretch(arrow: &ArrowPicture) -> Option<Stretch> {
    if arrow.corner.is_some() || arrow.from == arrow.to {
        return None;
    }
    let place = |square: Square| (i32::from(square.file()), 7 - i32::from(square.rank()));
    let ((x0, y0), (x1, y1)) = (place(arrow.from), place(arrow.to));
    let (dx, dy) = (x1 - x0, y1 - y0);
    let whole = gcd(dx.unsigned_abs(), dy.unsigned_abs()).cast_signed();
    let (dx, dy) = (dx / whole, dy / whole);
    let along = dx > 0 || (dx == 0 && dy > 0);
    let step = if along { (dx, dy) } else { (-dx, -dy) };
    let steps = |x: i32, y: i32| if step.0 == 0 { y / step.1 } else { x.div_euclid(step.0) };
    let (a, b) = (steps(x0, y0), steps(x1, y1));
    Some(Stretch { step, line: x0 * step.1 - y0 * step.0, span: (a.min(b), a.max(b)), along })
}

/// For each arrow, the least index among those it overlaps, directly or by way of others.
fn groups(stretches: &[Option<Stretch>]) -> Vec<usize> {
    let overlap = |i: usize, j: usize| match (stretches[i], stretches[j]) {
        (Some(a), Some(b)) => a.step == b.step && a.line == b.line && a.span.0 < b.span.1 && b.span.0 < a.span.1,
        _ => false,
    };
    let mut groups: Vec<usize> = (0..stretches.len()).collect();
    for i in 0..stretches.len() {
        for j in 0..i {
            if overlap(i, j) && groups[i] != groups[j] {
                let (keep, drop) = (groups[i].min(groups[j]), groups[i].max(groups[j]));
                for group in groups.iter_mut().filter(|group| **group == drop) {
                    *group = keep;
                }
            }
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Side;

    fn arrow(text: &str) -> ArrowPicture {
        let (from, to) = text.split_at(2);
        let square = |name| Square::parse(name).expect("a square");
        ArrowPicture {
            from: square(from),
            to: square(to),
            side: Side::White,
            plan: false,
            corner: None,
            drawn: 1.0,
            head: 1.0,
            opacity: 1.0,
        }
    }

    fn of(arrows: &[&str]) -> Vec<Option<f32>> {
        lanes(&arrows.iter().map(|text| arrow(text)).collect::<Vec<_>>())
    }

    #[test]
    fn an_arrow_alone_on_its_line_stays_in_the_middle() {
        assert_eq!(of(&["a1a8", "b1b8", "a1h8", "a1h1", "a2b4"]), vec![None; 5]);
    }

    #[test]
    fn arrows_that_only_meet_at_a_square_stay_in_the_middle() {
        assert_eq!(of(&["a1a4", "a4a8", "e4b1"]), vec![None; 3]);
    }

    #[test]
    fn opposite_arrows_both_keep_to_their_right() {
        let lanes = of(&["d1d8", "d8d4"]);
        assert_eq!(lanes, [Some(PITCH / 2.0), Some(PITCH / 2.0)]);
    }

    #[test]
    fn arrows_the_same_way_both_step_aside_to_different_sides() {
        for pair in [["d1d8", "d1d5"], ["a1e5", "c3h8"], ["h4a4", "f4b4"]] {
            let lanes = of(&pair);
            assert_eq!(lanes[0].map(|lane| -lane), lanes[1], "{pair:?}");
            assert_eq!(lanes[0].map(f32::abs), Some(PITCH / 2.0), "{pair:?}");
        }
    }

    #[test]
    fn three_on_a_line_take_three_lanes() {
        let lanes = of(&["a1h1", "a1d1", "h1c1"]);
        // Seen along the rank, the arrow that points left keeps to its own right, which is the other side.
        let mut across: Vec<f32> = vec![lanes[0].unwrap_or(9.0), lanes[1].unwrap_or(9.0), -lanes[2].unwrap_or(9.0)];
        across.sort_by(f32::total_cmp);
        assert!(across[1] - across[0] > 0.3 && across[2] - across[1] > 0.3, "{across:?}");
        assert!(across[2] <= WIDEST / 2.0);
    }
}
