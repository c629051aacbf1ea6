//! Outlines on the piece grid: 100 × 100 units to a square, y downwards, the pieces' axis at x = 50.

use tiny_skia::{Path, PathBuilder};

/// A point or a direction, in whatever unit its holder says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub x: f32,
    pub y: f32,
}

impl Point {
    pub const fn new(x: f32, y: f32) -> Point {
        Point { x, y }
    }

    /// From this point (0) to `other` (1).
    pub fn towards(self, other: Point, t: f32) -> Point {
        Point::new(self.x + (other.x - self.x) * t, self.y + (other.y - self.y) * t)
    }

    /// This point moved by `distance` along `direction`.
    pub fn along(self, direction: Point, distance: f32) -> Point {
        Point::new(self.x + direction.x * distance, self.y + direction.y * distance)
    }

    pub fn distance(self, other: Point) -> f32 {
        let (dx, dy) = (other.x - self.x, other.y - self.y);
        (dx * dx + dy * dy).sqrt()
    }

    /// The unit vector from this point to `other`; to the right where the two coincide.
    pub fn direction(self, other: Point) -> Point {
        let length = self.distance(other);
        if length < 1e-6 {
            return Point::new(1.0, 0.0);
        }
        Point::new((other.x - self.x) / length, (other.y - self.y) / length)
    }

    /// A direction turned a quarter to its own right hand, as seen on the screen.
    pub fn right_hand(self) -> Point {
        Point::new(-self.y, self.x)
    }
}

/// One step of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Segment {
    Move(Point),
    Line(Point),
    Cubic(Point, Point, Point),
    Close,
}

/// The path tiny-skia draws. `None` for an outline without extent.
pub(super) fn to_path(outline: &[Segment]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for segment in outline {
        match *segment {
            Segment::Move(p) => path.move_to(p.x, p.y),
            Segment::Line(p) => path.line_to(p.x, p.y),
            Segment::Cubic(a, b, p) => path.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y),
            Segment::Close => path.close(),
        }
    }
    path.finish()
}

/// Takes the left half of a turned piece, from the axis at its top to the axis at its foot, and closes it with its
/// mirror image.
pub(super) fn turned(half: &[Segment]) -> Vec<Segment> {
    let mirror = |p: Point| Point::new(100.0 - p.x, p.y);
    let mut whole = half.to_vec();
    let mut from = Point::new(50.0, 0.0);
    let mut steps = Vec::new();
    for segment in half {
        match *segment {
            Segment::Move(p) => from = p,
            Segment::Line(p) | Segment::Cubic(_, _, p) => {
                steps.push((from, *segment));
                from = p;
            }
            Segment::Close => {}
        }
    }
    for (from, segment) in steps.into_iter().rev() {
        match segment {
            Segment::Cubic(a, b, _) => whole.push(Segment::Cubic(mirror(b), mirror(a), mirror(from))),
            _ => whole.push(Segment::Line(mirror(from))),
        }
    }
    whole.push(Segment::Close);
    whole
}

/// The outline as a polyline, `steps` points to each segment.
pub(super) fn flattened(outline: &[Segment], steps: usize) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    for segment in outline {
        let from = points.last().copied().unwrap_or(Point::new(0.0, 0.0));
        match *segment {
            Segment::Move(p) => points.push(p),
            Segment::Line(p) => points.extend((1..=steps).map(|i| from.towards(p, i as f32 / steps as f32))),
            Segment::Cubic(a, b, p) => points.extend((1..=steps).map(|i| {
                let t = i as f32 / steps as f32;
                let (ab, bc, cd) = (from.towards(a, t), a.towards(b, t), b.towards(p, t));
                ab.towards(bc, t).towards(bc.towards(cd, t), t)
            })),
            Segment::Close => {}
        }
    }
    points
}

/// Whether a point lies inside a closed polyline, by counting crossings to its right.
pub(super) fn is_inside(polygon: &[Point], p: Point) -> bool {
    let mut inside = false;
    let mut before = polygon.len().wrapping_sub(1);
    for i in 0..polygon.len() {
        let (a, b) = (polygon[i], polygon[before]);
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
        before = i;
    }
    inside
}

/// A stroke that swells: a fifth of `width` at both ends, `width` in the middle.
pub(super) fn swelling(outline: &[Segment], width: f32) -> Option<Path> {
    let points = flattened(outline, 14);
    let mut run = vec![0.0_f32];
    for pair in points.windows(2) {
        run.push(run[run.len() - 1] + pair[0].distance(pair[1]));
    }
    let whole = *run.last()?;
    let mut left = Vec::with_capacity(points.len());
    let mut right = Vec::with_capacity(points.len());
    for (i, p) in points.iter().enumerate() {
        let direction = points[i.saturating_sub(1)].direction(points[(i + 1).min(points.len() - 1)]);
        let swell = libm::sinf(std::f32::consts::PI * run[i] / whole).max(0.0);
        let half = width * 0.5 * (0.18 + 0.82 * libm::powf(swell, 0.6));
        left.push(p.along(direction.right_hand(), half));
        right.push(p.along(direction.right_hand(), -half));
    }
    right.reverse();
    polygon(&[left, right].concat())
}

/// A closed polygon through these points.
pub(super) fn polygon(points: &[Point]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (i, p) in points.iter().enumerate() {
        if i == 0 {
            path.move_to(p.x, p.y);
        } else {
            path.line_to(p.x, p.y);
        }
    }
    path.close();
    path.finish()
}

/// Bows an outline by `amount` (−1 to the left, 1 to the right). The foot stays flat; every point above it turns
/// about the axis by an angle growing with height^1.15 to 20° at the top, and the whole draws in to .91 so that the
/// king's cross keeps clear of a frame round the square.
pub(super) fn bowed(outline: &[Segment], amount: f32) -> Vec<Segment> {
    let bend = |p: Point| bow_point(p, amount);
    outline
        .iter()
        .map(|segment| match *segment {
            Segment::Move(p) => Segment::Move(bend(p)),
            Segment::Line(p) => Segment::Line(bend(p)),
            Segment::Cubic(a, b, p) => Segment::Cubic(bend(a), bend(b), bend(p)),
            Segment::Close => Segment::Close,
        })
        .collect()
}

/// Where the bend begins, in grid units from the top: the upper edge of the foot.
const BEND_FROM: f32 = 79.0;

fn bow_point(p: Point, amount: f32) -> Point {
    let turn = amount * 20.0_f32.to_radians();
    let height = (BEND_FROM - p.y).max(0.0);
    let share = height / 76.0;
    let (mut x, mut y) = (50.0_f32, p.y.max(BEND_FROM));
    // The axis itself bends: it is walked upwards in small steps, each turned a little further than the last.
    let steps = 24;
    let step = height / steps as f32;
    for i in 0..steps {
        let angle = turn * libm::powf((i as f32 + 0.5) / steps as f32 * share, 1.15);
        x += libm::sinf(angle) * step;
        y -= libm::cosf(angle) * step;
    }
    let angle = turn * libm::powf(share, 1.15);
    let (u, v) = (x + (p.x - 50.0) * libm::cosf(angle), y + (p.x - 50.0) * libm::sinf(angle));
    let draw_in = 1.0 - 0.09 * amount.abs().min(1.0);
    Point::new(50.0 + (u - 50.0) * draw_in - turn * 4.0, 91.0 + (v - 91.0) * draw_in)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turned_outline_is_its_own_mirror_image() {
        let half = [
            Segment::Move(Point::new(50.0, 10.0)),
            Segment::Cubic(Point::new(40.0, 10.0), Point::new(30.0, 20.0), Point::new(30.0, 40.0)),
            Segment::Line(Point::new(50.0, 90.0)),
        ];
        let whole = flattened(&turned(&half), 8);
        for p in &whole {
            let image = Point::new(100.0 - p.x, p.y);
            assert!(whole.iter().any(|q| q.distance(image) < 1e-3), "{p:?} has no mirror image");
        }
    }

    #[test]
    fn bowing_by_nothing_changes_nothing_and_leaves_the_foot_flat() {
        let p = Point::new(33.0, 20.0);
        assert!(bow_point(p, 0.0).distance(p) < 1e-3);
        let (left, right) = (bow_point(Point::new(20.0, 90.0), 1.0), bow_point(Point::new(80.0, 90.0), 1.0));
        assert!((left.y - right.y).abs() < 1e-3);
    }

    #[test]
    fn bows_to_both_sides_mirror_each_other() {
        let (left, right) = (bow_point(Point::new(42.0, 9.0), -1.0), bow_point(Point::new(58.0, 9.0), 1.0));
        assert!((left.x - (100.0 - right.x)).abs() < 1e-3 && (left.y - right.y).abs() < 1e-3);
    }
}
