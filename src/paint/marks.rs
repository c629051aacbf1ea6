//! Marks on squares: shape first, colour second. Each role is known by its shape alone.

use super::board::{corner, masked};
use super::brush::{Bounds, CASING, Cased, faded, fill, rounded};
use super::judge::has_rim;
use super::theme::{Rgba, SquareFill, Theme};
use crate::film::{ForcePicture, MarkPicture};
use crate::timeline::MarkRole;
use crate::units::Square;
use tiny_skia::{FillRule, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};

/// A mark grows in from this much more than its size.
const ENTER_SCALE: f32 = 0.14;

/// A mark on its square; never a line of force.
pub(super) fn paint_mark(pixmap: &mut Pixmap, view: Transform, theme: &Theme, mark: &MarkPicture) {
    let (x, y) = corner(mark.square);
    let view = view.pre_translate(x, y);
    if mark.role == MarkRole::Trap {
        faded(pixmap, view, Bounds::new(0.0, 0.0, 1.0, 1.0), mark.opacity, |pixmap, view| {
            paint_hatch(pixmap, view, theme.trap, mark.enter);
        });
        return;
    }
    let scale = 1.0 + ENTER_SCALE * (1.0 - mark.enter.clamp(0.0, 1.0));
    let view = view.pre_translate(0.5, 0.5).pre_scale(scale, scale).pre_translate(-0.5, -0.5);
    faded(pixmap, view, Bounds::new(0.0, 0.0, 1.0, 1.0), mark.opacity * mark.enter, |pixmap, view| match mark.role {
        MarkRole::Key => paint_sight(pixmap, view, theme),
        MarkRole::Threat => paint_darts(pixmap, view, theme),
        MarkRole::Guard => paint_brackets(pixmap, view, theme),
        MarkRole::Dot => paint_diamond(pixmap, view, theme),
        MarkRole::Trap | MarkRole::Force => {}
    });
}

fn cased(colour: Rgba, theme: &Theme) -> Cased {
    Cased { colour, casing: theme.casing, rim: None }
}

/// What threatens has a second, light edge outside its casing: to an eye without red the threat colour is as dark as
/// the dark squares (1.13 : 1 in dusk), and the casing alone would have to carry the shape. On paper it is the
/// darkest hue already.
pub(super) fn threatening(theme: &Theme) -> Cased {
    Cased { colour: theme.threat, casing: theme.casing, rim: has_rim(theme).then_some(theme.force) }
}

/// Key: a ring with four ticks, so that it is a sight and not a plain circle.
fn paint_sight(pixmap: &mut Pixmap, view: Transform, theme: &Theme) {
    let mut path = PathBuilder::new();
    path.push_circle(0.5, 0.5, 0.40);
    for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        path.move_to(0.5 + dx * 0.33, 0.5 + dy * 0.33);
        path.line_to(0.5 + dx * 0.46, 0.5 + dy * 0.46);
    }
    // On print the hatch of the dark squares comes up to the ring, which needs more body there.
    let width = if theme.square_fill == SquareFill::Hatched { 0.050 } else { 0.040 };
    draw_line(pixmap, path, width, cased(theme.key, theme), view);
}

/// The four corners of a square drawn in by `inset`, each with the signs that point into the square.
fn corners(inset: f32) -> [(f32, f32, f32, f32); 4] {
    let (near, far) = (inset, 1.0 - inset);
    [(near, near, 1.0, 1.0), (far, near, -1.0, 1.0), (near, far, 1.0, -1.0), (far, far, -1.0, -1.0)]
}

/// Threat: four darts that point in from the corners.
fn paint_darts(pixmap: &mut Pixmap, view: Transform, theme: &Theme) {
    let (base, reach) = (0.105, 0.255);
    let mut path = PathBuilder::new();
    for (x, y, dx, dy) in corners(0.05) {
        path.move_to(x + dx * base, y);
        path.line_to(x + dx * reach, y + dy * reach);
        path.line_to(x, y + dy * base);
        path.line_to(x, y);
        path.close();
    }
    if let Some(path) = path.finish() {
        threatening(theme).solid(pixmap, &path, view);
    }
}

/// Guard: corner brackets.
fn paint_brackets(pixmap: &mut Pixmap, view: Transform, theme: &Theme) {
    let arm = 0.17;
    let mut path = PathBuilder::new();
    for (x, y, dx, dy) in corners(0.05) {
        path.move_to(x + dx * arm, y);
        path.line_to(x, y);
        path.line_to(x, y + dy * arm);
    }
    draw_line(pixmap, path, 0.044, cased(theme.guard, theme), view);
}

/// A small diamond.
fn paint_diamond(pixmap: &mut Pixmap, view: Transform, theme: &Theme) {
    let reach = 0.12;
    let mut path = PathBuilder::new();
    path.move_to(0.5, 0.5 - reach);
    path.line_to(0.5 + reach, 0.5);
    path.line_to(0.5, 0.5 + reach);
    path.line_to(0.5 - reach, 0.5);
    path.close();
    if let Some(path) = path.finish() {
        cased(theme.guard, theme).solid(pixmap, &path, view);
    }
}

/// Trap: a hatch that falls to the right, wiped in from the top left corner. It needs no casing: it is dark on both
/// squares.
fn paint_hatch(pixmap: &mut Pixmap, view: Transform, colour: Rgba, enter: f32) {
    if enter <= 0.0 {
        return;
    }
    let Some(plate) = rounded(Bounds::new(0.05, 0.05, 0.95, 0.95), 0.05) else { return };
    let mut lines = PathBuilder::new();
    for i in 0..12 {
        let reach = (i as f32 + 0.5) / 6.0;
        lines.move_to(0.0, 1.0 - reach);
        lines.line_to(reach, 1.0);
    }
    let Some(lines) = lines.finish() else { return };
    let wipe = wipe(enter);
    masked(pixmap, &plate, view, |layer, view, mask| {
        if let Some(wipe) = &wipe {
            mask.intersect_path(wipe, FillRule::Winding, true, view);
        }
        if let Some(all) = Rect::from_ltrb(0.0, 0.0, 1.0, 1.0) {
            layer.fill_rect(all, &colour.fade(0.16).to_paint(), view, Some(mask));
        }
        let stroke = Stroke { width: 0.034, ..Stroke::default() };
        layer.stroke_path(&lines, &colour.fade(0.85).to_paint(), &stroke, view, Some(mask));
    });
}

/// The corner already wiped over; `None` when all of it is.
fn wipe(enter: f32) -> Option<Path> {
    if enter >= 1.0 {
        return None;
    }
    let mut path = PathBuilder::new();
    path.move_to(0.0, 0.0);
    path.line_to(2.0 * enter, 0.0);
    path.line_to(0.0, 2.0 * enter);
    path.close();
    path.finish()
}

/// Where the last move came from: an empty foot.
pub(super) fn paint_footprint(pixmap: &mut Pixmap, view: Transform, theme: &Theme, square: Square) {
    let (x, y) = corner(square);
    let mut path = PathBuilder::new();
    if let Some(oval) = Rect::from_xywh(0.19, 0.775, 0.62, 0.16) {
        path.push_oval(oval);
    }
    draw_line(pixmap, path, 0.032, cased(theme.accent, theme), view.pre_translate(x, y));
}

/// Where it arrived: a solid plate under the foot.
pub(super) fn paint_plinth(pixmap: &mut Pixmap, view: Transform, theme: &Theme, square: Square) {
    let (x, y) = corner(square);
    let mut path = PathBuilder::new();
    if let Some(oval) = Rect::from_xywh(0.085, 0.735, 0.83, 0.24) {
        path.push_oval(oval);
    }
    if let Some(path) = path.finish() {
        let Cased { colour, casing, .. } = cased(theme.accent, theme);
        let view = view.pre_translate(x, y);
        super::brush::stroke(pixmap, &path, casing, &super::brush::round(0.03), view);
        fill(pixmap, &path, colour, view);
    }
}

/// A line of force: dashes fitted to the length, drawn in from where it begins.
pub(super) fn paint_force(pixmap: &mut Pixmap, view: Transform, theme: &Theme, force: &ForcePicture, men: [bool; 2]) {
    let centre = |square| {
        let (x, y) = corner(square);
        super::outline::Point::new(x + 0.5, y + 0.5)
    };
    let (from, to) = (centre(force.from), centre(force.to));
    let direction = from.direction(to);
    let [before, behind] = men.map(|man| if man { FORCE_INSET } else { FORCE_REACH });
    let length = from.distance(to) - before - behind;
    if length <= 0.0 {
        return;
    }
    // The dashes are stretched so that one ends exactly where the line does.
    let (pitch, off) = (0.28, 0.12);
    let count = ((length + off) / pitch).round().max(1.0);
    let pitch = (length + off) / count;
    let shown = length * force.enter.min(1.0);
    let dashes: Vec<(f32, f32)> = (0..count as u32)
        .map(|n| (n as f32 * pitch, (n as f32 * pitch + pitch - off).min(shown)))
        .filter(|(start, end)| start < end)
        .collect();
    let line = |longer: f32| {
        let mut path = PathBuilder::new();
        for (start, end) in &dashes {
            let (start, end) =
                (from.along(direction, before + start - longer), from.along(direction, before + end + longer));
            path.move_to(start.x, start.y);
            path.line_to(end.x, end.y);
        }
        path.finish()
    };
    let (Some(path), Some(casing)) = (line(0.0), line(CASING)) else { return };
    let bounds = Bounds::of(&casing).grown(0.1);
    faded(pixmap, view, bounds, force.opacity * force.enter.min(1.0), |pixmap, view| {
        cased(theme.force, theme).blunt(pixmap, (&path, &casing), 0.055, view);
    });
}

/// From the middle of a man's square to where a line of force begins, in squares: clear of him.
const FORCE_INSET: f32 = 0.44;
/// The same where nobody stands: as far into the square as an arrow's tip.
const FORCE_REACH: f32 = 0.16;

fn draw_line(pixmap: &mut Pixmap, path: PathBuilder, width: f32, colours: Cased, view: Transform) {
    if let Some(path) = path.finish() {
        colours.line(pixmap, &path, width, view);
    }
}
