//! Arrows: quills with a tapered shaft and a loose swallowtail head.
//!
//! Colour says the side, a hollow one is a plan, a knight's turns a rounded corner. Each erases a moat through those
//! beneath it, so that crossings read as bridges. Arrows on one line step aside, each to its own right hand.
//! All lengths are fractions of a square.

use super::board::corner;
use super::brush::{Bounds, Layer, eraser, fill, round, stroke};
use super::drawn::Drawn;
use super::lanes::lanes;
use super::outline::{Point, is_inside, polygon};
use super::silhouette::PieceSet;
use super::theme::{Rgba, Theme};
use crate::film::{ArrowPicture, BoardPicture};
use crate::units::{Role, Side, Square};
use tiny_skia::{FillRule, Path, Pixmap, Transform};

/// Half the shaft's width at the tail and at its end.
const SHAFT: (f32, f32) = (0.026, 0.084);
/// The head's length and half its width, and how much of the length the notch leaves.
const HEAD: f32 = 0.36;
const HEAD_HALF: f32 = 0.189;
const NOTCH: f32 = 0.66;
/// The casing and the moat round it, both measured across the outline.
const CASING: f32 = 0.050;
const MOAT: f32 = 0.108;
/// The radius of a knight's corner.
const TURN: f32 = 0.34;
/// Gaps at an empty square: tail, tip; and the air left before a silhouette.
const EMPTY: (f32, f32) = (0.10, 0.16);
const AIR: f32 = 0.07;
/// No arrow is shorter than this; what is missing comes off the gap at the tail, then off the one at the tip.
const SHORTEST: f32 = 0.40;
/// A shorter arrow has a smaller head.
const FULL_HEAD_FROM: f32 = 0.54;
const LEAST_GAP: (f32, f32) = (0.18, 0.20);
/// Shorter than this, the shaft is a stub of even width.
const STUB_UNDER: f32 = 0.62;

/// An arrow's shape, worked out for its picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Quill {
    /// From tail to tip, in board squares.
    spine: Vec<Point>,
    side: Side,
    plan: bool,
    /// Scales of shaft width and of head.
    shaft: f32,
    head: f32,
    /// How much of the shaft is drawn, and how visible the head and the whole are.
    drawn: f32,
    head_opacity: f32,
    opacity: f32,
}

/// The shapes of all arrows of a picture, in order.
pub(super) fn quills(picture: &BoardPicture, set: &PieceSet) -> Vec<Quill> {
    let crowded = picture.arrows.len() > 3;
    let lanes = lanes(&picture.arrows);
    let shape = |(arrow, lane): (&ArrowPicture, &Option<f32>)| {
        let aside = lane.unwrap_or(0.0);
        let (mut shaft, mut head) = if crowded { (0.80, 0.86) } else { (1.0, 1.0) };
        if lane.is_some() {
            (shaft, head) = (0.80, 0.76);
        }
        Quill {
            spine: spine(picture, set, arrow, aside),
            side: arrow.side,
            plan: arrow.plan,
            shaft,
            head,
            drawn: arrow.drawn.clamp(0.0, 1.0),
            head_opacity: arrow.head.clamp(0.0, 1.0),
            opacity: arrow.opacity.clamp(0.0, 1.0),
        }
    };
    picture.arrows.iter().zip(&lanes).filter(|(arrow, _)| arrow.from != arrow.to).map(shape).collect()
}

/// The line an arrow follows, from just off the piece at its tail to just off the one at its tip.
fn spine(picture: &BoardPicture, set: &PieceSet, arrow: &ArrowPicture, aside: f32) -> Vec<Point> {
    let centre = |square: Square| {
        let (x, y) = corner(square);
        Point::new(x + 0.5, y + 0.5)
    };
    let mut stations = vec![centre(arrow.from)];
    stations.extend(arrow.corner.filter(|corner| *corner != arrow.from && *corner != arrow.to).map(centre));
    stations.push(centre(arrow.to));
    let last = stations.len() - 1;
    let (out, home) = (stations[0].direction(stations[1]), stations[last - 1].direction(stations[last]));
    let length: f32 = stations.windows(2).map(|leg| leg[0].distance(leg[1])).sum();
    let back = Point::new(-out.x, -out.y);
    let tail = occupant(picture, arrow.from).map_or(EMPTY.0, |role| clearance(set, role, back, -aside).min(0.46));
    let tip = occupant(picture, arrow.to).map_or(EMPTY.1, |role| clearance(set, role, home, aside));
    let (tail, tip) = stretched(length, tail, tip);
    for station in &mut stations {
        *station = station.along(out.right_hand(), aside);
    }
    stations[0] = stations[0].along(out, tail);
    stations[last] = stations[last].along(home, -tip);
    rounded_corner(&stations)
}

/// The gaps at tail and tip of an arrow `length` long, taken back where they would leave too little of it.
fn stretched(length: f32, tail: f32, tip: f32) -> (f32, f32) {
    let missing = (SHORTEST - (length - tail - tip)).max(0.0);
    let from_tail = missing.min((tail - LEAST_GAP.0).max(0.0));
    let from_tip = (missing - from_tail).min((tip - LEAST_GAP.1).max(0.0));
    (tail - from_tail, tip - from_tip)
}

/// The piece an arrow has to keep clear of. A ghost counts; a piece just gone or going still does, so that an arrow
/// keeps its shape while it fades.
pub(super) fn occupant(picture: &BoardPicture, square: Square) -> Option<Role> {
    let standing = picture.standing.iter().find(|s| s.square == square).map(|s| s.piece.role);
    let ghost = || picture.ghosts.iter().find(|g| g.square == square).map(|g| g.piece.role);
    let sliced = || picture.sliced.iter().find(|s| s.square == square).map(|s| s.piece.role);
    let promoting = || picture.promoting.filter(|p| p.square == square).map(|p| p.role);
    let leaving = || picture.gliding.first().filter(|_| picture.footprint == Some(square)).map(|g| g.piece.role);
    standing.or_else(ghost).or_else(sliced).or_else(promoting).or_else(leaving)
}

/// How far from a square's middle an arrow that comes in along `direction`, `aside` to its own right, must stop to
/// leave some air before the silhouette.
fn clearance(set: &PieceSet, role: Role, direction: Point, aside: f32) -> f32 {
    let hull = &set.of(role).hull;
    let middle = Point::new(50.0, 50.0).along(direction.right_hand(), aside * 100.0);
    let mut distance = 60.0;
    while distance > 12.0 && !is_inside(hull, middle.along(direction, -distance)) {
        distance -= 0.5;
    }
    (distance / 100.0 + AIR).clamp(0.26, 0.50)
}

/// Samples the legs; two legs are joined by a quarter circle.
fn rounded_corner(stations: &[Point]) -> Vec<Point> {
    let sampled =
        |from: Point, to: Point, count: usize| (0..count).map(move |i| from.towards(to, i as f32 / count as f32));
    let mut spine: Vec<Point> = Vec::new();
    if let [tail, turn, tip] = *stations {
        let radius = TURN.min(turn.distance(tail) * 0.9).min(turn.distance(tip) * 0.9);
        let (back, on) = (turn.direction(tail), turn.direction(tip));
        let (begin, end) = (turn.along(back, radius), turn.along(on, radius));
        let hub = begin.along(on, radius);
        spine.extend(sampled(tail, begin, 8));
        let steps = 14;
        spine.extend((0..steps).map(|i| {
            let angle = std::f32::consts::FRAC_PI_2 * i as f32 / steps as f32;
            hub.along(on, -radius * libm::cosf(angle)).along(back, -radius * libm::sinf(angle))
        }));
        spine.extend(sampled(end, tip, 8));
        spine.push(tip);
    } else {
        let (tail, tip) = (stations[0], stations[stations.len() - 1]);
        spine.extend(sampled(tail, tip, 16));
        spine.push(tip);
    }
    spine
}

impl Quill {
    /// The rectangle, in board squares, that neither it nor its moat leaves.
    pub fn bounds(&self) -> Bounds {
        let start = Bounds::new(f32::MAX, f32::MAX, f32::MIN, f32::MIN);
        let spine = self.spine.iter().fold(start, |b, p| b.joined(Bounds::new(p.x, p.y, p.x, p.y)));
        spine.grown(HEAD_HALF + MOAT / 2.0 + 0.02)
    }

    fn length(&self) -> f32 {
        self.spine.windows(2).map(|step| step[0].distance(step[1])).sum()
    }

    /// Where there is little room the head draws in, so that it never covers the piece it comes from.
    fn head_length(&self) -> f32 {
        HEAD * self.head * (self.length() / FULL_HEAD_FROM).min(1.0)
    }

    /// The shaft as far as it is drawn: a quill that swells towards the head and ends in a blunt point before it.
    fn shaft_path(&self) -> Option<Path> {
        let whole = self.length();
        let end = (whole - self.head_length() * 0.72 - 0.125).max(whole * 0.04);
        let shown = end * self.drawn;
        if shown <= 0.0 {
            return None;
        }
        let half = |run: f32| {
            if whole < STUB_UNDER {
                return SHAFT.1 * self.shaft * 0.8;
            }
            let swell = libm::powf((run / end).clamp(0.0, 1.0), 0.8);
            (SHAFT.0 + (SHAFT.1 - SHAFT.0) * swell) * self.shaft
        };
        let (mut left, mut right) = (Vec::new(), Vec::new());
        let mut run = 0.0;
        let mut nose = self.spine[0];
        for step in self.spine.windows(2) {
            let (direction, length) = (step[0].direction(step[1]), step[0].distance(step[1]));
            let mut edge = |p: Point, run: f32| {
                left.push(p.along(direction.right_hand(), half(run)));
                right.push(p.along(direction.right_hand(), -half(run)));
            };
            edge(step[0], run);
            if run + length >= shown {
                let p = step[0].along(direction, shown - run);
                edge(p, shown);
                nose = p.along(direction, 0.055);
                break;
            }
            run += length;
        }
        left.push(nose);
        right.reverse();
        polygon(&[left, right].concat())
    }

    fn head_path(&self) -> Option<Path> {
        let [.., before, tip] = *self.spine else { return None };
        let direction = before.direction(tip);
        let length = self.head_length();
        let half = HEAD_HALF * self.head * (length / (HEAD * self.head)).max(0.8);
        let back = tip.along(direction, -length);
        let notch = tip.along(direction, -length * NOTCH);
        let (right, left) = (back.along(direction.right_hand(), half), back.along(direction.right_hand(), -half));
        polygon(&[tip, right, notch, left])
    }

    /// Its own colour and its casing's.
    fn colours(&self, theme: &Theme) -> (Rgba, Rgba) {
        match self.side {
            Side::White => (theme.white_arrow, theme.black_arrow),
            Side::Black => (theme.black_arrow, theme.white_arrow),
        }
    }

    fn draw(&self, pixmap: &mut Pixmap, path: &Path, theme: &Theme, view: Transform) {
        let (colour, casing) = self.colours(theme);
        stroke(pixmap, path, casing, &round(CASING), view);
        if self.plan {
            stroke(pixmap, path, colour, &round(0.030), view);
            pixmap.fill_path(path, &eraser(1.0), FillRule::Winding, view, None);
            fill(pixmap, path, colour.fade(0.30), view);
            stroke(pixmap, path, colour, &round(0.022), view);
        } else {
            fill(pixmap, path, colour, view);
        }
    }
}

/// Draws one part of an arrow on a layer of its kind: first the moat, through whatever is there already, then the part.
fn lay(layer: &mut Layer, path: &Path, quill: &Quill, opacity: f32, theme: &Theme, view: Transform) {
    if opacity <= 0.0 {
        return;
    }
    moat(layer, path, opacity, view);
    if opacity >= 1.0 {
        quill.draw(&mut layer.pixmap, path, theme, view);
    } else if let Some(mut part) = Layer::over(&layer.pixmap, Bounds::of(path).grown(MOAT).seen(view)) {
        quill.draw(&mut part.pixmap, path, theme, view);
        part.put(&mut layer.pixmap, opacity);
    }
}

fn moat(layer: &mut Layer, path: &Path, strength: f32, view: Transform) {
    layer.pixmap.fill_path(path, &eraser(strength), FillRule::Winding, view, None);
    layer.pixmap.stroke_path(path, &eraser(strength), &round(MOAT), view, None);
}

fn quills_of(drawn: &[Drawn]) -> impl Iterator<Item = &Quill> {
    drawn.iter().filter_map(|item| match item {
        Drawn::Quill(quill) => Some(&**quill),
        _ => None,
    })
}

/// A layer over these parts.
fn layer_over(pixmap: &Pixmap, parts: &[(&Quill, Path)], view: Transform) -> Option<Layer> {
    let bounds = parts.iter().map(|(_, path)| Bounds::of(path)).reduce(Bounds::joined)?;
    Layer::over(pixmap, bounds.grown(MOAT).seen(view))
}

/// All shafts, later ones bridging earlier ones, and all opened for every head.
pub(super) fn paint_shafts(pixmap: &mut Pixmap, view: Transform, theme: &Theme, drawn: &[Drawn]) {
    let shafts: Vec<(&Quill, Path)> = quills_of(drawn).filter_map(|quill| Some((quill, quill.shaft_path()?))).collect();
    let Some(mut layer) = layer_over(pixmap, &shafts, view) else { return };
    for (quill, path) in &shafts {
        lay(&mut layer, path, quill, quill.opacity, theme, view);
    }
    for quill in quills_of(drawn) {
        if let Some(head) = quill.head_path() {
            moat(&mut layer, &head, quill.opacity * quill.head_opacity, view);
        }
    }
    layer.put(pixmap, 1.0);
}

/// All heads, above the pieces.
pub(super) fn paint_heads(pixmap: &mut Pixmap, view: Transform, theme: &Theme, drawn: &[Drawn]) {
    let heads: Vec<(&Quill, Path)> = quills_of(drawn)
        .filter(|quill| quill.opacity * quill.head_opacity > 0.0)
        .filter_map(|quill| Some((quill, quill.head_path()?)))
        .collect();
    let Some(mut layer) = layer_over(pixmap, &heads, view) else { return };
    for (quill, path) in &heads {
        lay(&mut layer, path, quill, quill.opacity * quill.head_opacity, theme, view);
    }
    layer.put(pixmap, 1.0);
}
