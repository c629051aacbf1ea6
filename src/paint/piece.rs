//! One piece as pixels: fill, lathe shade, gleams, inner lines, outline.

use super::brush::{fill, round, stroke};
use super::outline::{Segment, bowed, swelling, to_path};
use super::silhouette::{FINE_FROM, Form, InnerLine, PieceSet, SMALL_UNDER};
use super::theme::PieceInk;
use crate::units::Role;
use tiny_skia::{FillRule, LineCap, Mask, Path, Pixmap, Rect, Transform};

/// A piece drawn for one size and place. Its square's corner lies at (`pad`, `pad`), give or take a part of a pixel.
pub(super) struct Sprite {
    pub pixmap: Pixmap,
    pub pad: i32,
}

/// How a piece is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pose {
    /// The square's side in pixels.
    pub size: f32,
    /// −1 (to the left) to 1 (to the right).
    pub bow: f32,
    /// The square's corner past a whole pixel, 0 to 1.
    pub offset: (f32, f32),
}

/// Line widths in grid units for a square of `size` pixels.
struct Weights {
    outline: f32,
    line: f32,
    /// On dark pieces each inner line stands in a gap this much wider than itself.
    gap: f32,
    gleam_least: f32,
}

impl Weights {
    /// Never thinner than a display can show: the least widths are in pixels.
    fn at(size: f32) -> Weights {
        let pixels = |least: f32| least * 100.0 / size;
        if size < SMALL_UNDER {
            Weights {
                outline: pixels(1.5).max(2.9).min(pixels(0.9).max(5.4)),
                line: pixels(1.12).max(2.3),
                gap: pixels(1.4).max(2.6),
                gleam_least: pixels(1.35),
            }
        } else {
            Weights {
                outline: pixels(1.4).max(2.5),
                line: pixels(1.12).max(1.9),
                gap: pixels(1.4).max(2.6),
                gleam_least: pixels(0.95),
            }
        }
    }
}

/// From this size on a line needs no gap to be told from shade and gleams; cut out of the shade of a piece that fills half
/// a frame, the gaps would be seen as bands of their own.
const GAPS_UNDER: f32 = 400.0;

/// How far the body is moved against itself to find its shaded side, in grid units: the light comes from the left.
const LATHE: (f32, f32) = (-8.5, -1.0);

/// Draws a piece. The sprite is a tenth of a square larger than the square on each side.
pub(super) fn draw(set: &PieceSet, role: Role, ink: &PieceInk, pose: Pose) -> Sprite {
    let size = pose.size.max(1.0);
    let pad = (size * 0.1).ceil() as i32 + 1;
    let side = size.ceil() as u32 + 2 * pad as u32 + 1;
    let mut pixmap = Pixmap::new(side, side).expect("a sprite has a size");
    let view = Transform::from_scale(size / 100.0, size / 100.0)
        .post_translate(pad as f32 + pose.offset.0, pad as f32 + pose.offset.1);
    let form = set.of(role).form(size);
    if pose.bow == 0.0 {
        draw_form(&mut pixmap, form, ink, size, view);
    } else {
        draw_form(&mut pixmap, &bowed_form(form, pose.bow), ink, size, view);
    }
    Sprite { pixmap, pad }
}

fn draw_form(pixmap: &mut Pixmap, form: &Form, ink: &PieceInk, size: f32, view: Transform) {
    let Some(body) = to_path(&form.body) else { return };
    let weights = Weights::at(size);
    let mut inside = Mask::new(pixmap.width(), pixmap.height()).expect("a sprite has a size");
    inside.fill_path(&body, FillRule::Winding, true, view);
    fill(pixmap, &body, ink.fill, view);
    draw_shade(pixmap, form, &body, ink, &inside, view);
    if ink.is_dark {
        draw_gleams(pixmap, form, ink, &weights, &inside, view);
    }
    draw_lines(pixmap, form, ink, &weights, size, &inside, view);
    stroke(pixmap, &body, ink.outline, &round(weights.outline), view);
}

/// The side away from the light: the body less the body moved towards the light, and the planes drawn by hand.
fn draw_shade(pixmap: &mut Pixmap, form: &Form, body: &Path, ink: &PieceInk, inside: &Mask, view: Transform) {
    let shade = ink.shade.to_paint();
    let mut turned_away = Mask::new(pixmap.width(), pixmap.height()).expect("a sprite has a size");
    turned_away.fill_path(body, FillRule::Winding, true, view.pre_translate(LATHE.0, LATHE.1));
    turned_away.invert();
    turned_away.intersect_path(body, FillRule::Winding, true, view);
    if let Some(below) =
        Rect::from_ltrb(-10.0, form.shade_below - 10.0 * f32::from(form.shade_below == 0.0), 110.0, 110.0)
    {
        pixmap.fill_rect(below, &shade, view, Some(&turned_away));
    }
    for plane in form.shades.iter().filter_map(|plane| to_path(plane)) {
        pixmap.fill_path(&plane, &shade, FillRule::Winding, view, Some(inside));
    }
}

fn draw_gleams(pixmap: &mut Pixmap, form: &Form, ink: &PieceInk, weights: &Weights, inside: &Mask, view: Transform) {
    let paint = ink.line.to_paint();
    for (width, path) in &form.gleams {
        if let Some(gleam) = swelling(path, width.max(weights.gleam_least) * 0.9) {
            pixmap.fill_path(&gleam, &paint, FillRule::Winding, view, Some(inside));
        }
    }
}

/// Inner lines and solid parts. On dark pieces they are bright, and while they are thin first knocked
/// out of shade and gleams.
fn draw_lines(
    pixmap: &mut Pixmap,
    form: &Form,
    ink: &PieceInk,
    weights: &Weights,
    size: f32,
    inside: &Mask,
    view: Transform,
) {
    let is_drawn = |line: &&InnerLine| !line.fine || size >= FINE_FROM;
    let lines: Vec<(f32, Path)> = form
        .lines
        .iter()
        .filter(is_drawn)
        .filter_map(|line| to_path(&line.path).map(|path| (line.weight * weights.line, path)))
        .collect();
    let solids: Vec<Path> = form.fills.iter().filter_map(|solid| to_path(solid)).collect();
    if ink.is_dark && size < GAPS_UNDER {
        let ground = ink.fill.to_paint();
        for (width, path) in &lines {
            let mut gap = round(width + weights.gap);
            gap.line_cap = LineCap::Butt;
            pixmap.stroke_path(path, &ground, &gap, view, Some(inside));
        }
        for solid in &solids {
            pixmap.stroke_path(solid, &ground, &round(weights.gap), view, Some(inside));
        }
    }
    let paint = ink.line.to_paint();
    for (width, path) in &lines {
        pixmap.stroke_path(path, &paint, &round(*width), view, Some(inside));
    }
    for solid in &solids {
        fill(pixmap, solid, ink.line, view);
    }
}

fn bowed_form(form: &Form, amount: f32) -> Form {
    let bend = |paths: &[Vec<Segment>]| paths.iter().map(|path| bowed(path, amount)).collect();
    Form {
        body: bowed(&form.body, amount),
        lines: form.lines.iter().map(|line| InnerLine { path: bowed(&line.path, amount), ..line.clone() }).collect(),
        fills: bend(&form.fills),
        shades: bend(&form.shades),
        gleams: form.gleams.iter().map(|(width, path)| (*width, bowed(path, amount))).collect(),
        shade_below: form.shade_below,
    }
}
