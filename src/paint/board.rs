//! The board and all that lies on it, from the sheet to the arrow heads.

use super::arrows::{paint_heads, paint_shafts};
use super::brush::{Bounds, Layer, fill, rounded};
use super::drawn::{Drawn, damage};
use super::king::paint_king;
use super::marks::{paint_footprint, paint_force, paint_mark, paint_plinth};
use super::moves::{paint_ghost, paint_gliding, paint_promoting, paint_sliced, paint_standing, paint_standing_shadow};
use super::own;
use super::sprites::Sprites;
use super::theme::{SquareFill, Theme};
use super::veil::{dim, dimmed, drain};
use crate::film::{BoardPicture, Own};
use crate::timeline::ThemeName;
use crate::units::{PixelRect, Square};
use tiny_skia::{FillRule, Mask, Path, PathBuilder, Pixmap, PremultipliedColorU8, Stroke, Transform};

/// Where a board lies in the frame. Whole numbers give the crispest pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BoardGeometry {
    /// The a-file's left edge, in pixels.
    pub x: f32,
    /// The eighth rank's top edge, in pixels.
    pub y: f32,
    /// A square's side, in pixels.
    pub square: f32,
}

impl BoardGeometry {
    /// Maps board squares to pixels.
    pub fn view(self) -> Transform {
        Transform::from_row(self.square, 0.0, 0.0, self.square, self.x, self.y)
    }

    /// A square's top left corner in pixels.
    pub fn corner(self, square: Square) -> (f32, f32) {
        let (x, y) = corner(square);
        (self.x + x * self.square, self.y + y * self.square)
    }
}

/// A square's top left corner in board squares.
pub(super) fn corner(square: Square) -> (f32, f32) {
    (f32::from(square.file()), f32::from(7 - square.rank()))
}

/// How far the dark edge reaches beyond the squares, as a fraction of a square.
pub(super) const EDGE: f32 = 0.075;
/// How far the soft shadow reaches beyond the squares, as a fraction of a square.
const DROP: f32 = 0.24;
/// The radius of the sheet's corners, as a fraction of a square.
pub(super) const SHEET_RADIUS: f32 = 0.12;
/// The gap round a dark square's inlay and the radius of its corners, as fractions of a square.
const INLAY_GAP: f32 = 0.016;
const INLAY_RADIUS: f32 = 0.055;

/// The eight by eight squares with the edge, in board squares.
pub(super) fn sheet() -> Bounds {
    Bounds::new(0.0, 0.0, 8.0, 8.0).grown(EDGE)
}

/// The whole board of a picture: [`paint_empty_board`], then [`paint_position`].
pub(super) fn paint_board(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    picture: &BoardPicture,
    sprites: &mut Sprites,
) {
    paint_empty_board(pixmap, geometry, theme);
    paint_position(pixmap, geometry, theme, picture, sprites);
}

/// A board alone, for diagrams: its squares `square` pixels wide, three tenths of a square of the theme's ground around
/// it; in the colours and with the pieces of the film's own.
pub fn board_alone(theme: ThemeName, own: &Own, picture: &BoardPicture, square: u32) -> Pixmap {
    let theme = Theme::laid(theme, own.colours);
    let square = square.clamp(8, 2048);
    let margin = (square * 3).div_ceil(10);
    let side = 8 * square + 2 * margin;
    let mut pixmap = Pixmap::new(side, side).expect("a board has a size");
    let [r, g, b, a] = theme.ground_edge.0;
    pixmap.fill(tiny_skia::Color::from_rgba8(r, g, b, a));
    let geometry = BoardGeometry { x: margin as f32, y: margin as f32, square: square as f32 };
    paint_board(&mut pixmap, geometry, theme, picture, &mut Sprites::of(own::pieces(own)));
    pixmap
}

/// The board without pieces or coordinates: soft shadow, edge, light sheet, dark inlays. Never changes in a scene.
pub(super) fn paint_empty_board(pixmap: &mut Pixmap, geometry: BoardGeometry, theme: &Theme) {
    let view = geometry.view();
    paint_drop(pixmap, geometry, theme);
    if let Some(edge) = rounded(sheet(), SHEET_RADIUS) {
        fill(pixmap, &edge, theme.edge, view);
    }
    if let Some(light) = rounded(Bounds::new(0.0, 0.0, 8.0, 8.0).grown(EDGE * 0.45), 0.085) {
        fill(pixmap, &light, theme.light_square, view);
    }
    let inlay = rounded(Bounds::new(0.0, 0.0, 1.0, 1.0).grown(-INLAY_GAP), INLAY_RADIUS);
    let Some(inlay) = inlay else { return };
    for square in Square::all().filter(|square| square.is_dark()) {
        let (x, y) = corner(square);
        let view = view.pre_translate(x, y);
        match theme.square_fill {
            SquareFill::Flat => fill(pixmap, &inlay, theme.dark_square, view),
            SquareFill::Hatched => paint_hatched(pixmap, &inlay, theme, view),
        }
    }
}

/// A dark square as in print: a tint under fine lines that rise to the right.
fn paint_hatched(pixmap: &mut Pixmap, inlay: &Path, theme: &Theme, view: Transform) {
    fill(pixmap, inlay, theme.dark_square.fade(0.42), view);
    let lines = 9;
    let mut hatch = PathBuilder::new();
    for i in 0..2 * lines {
        let reach = (i as f32 + 0.5) / lines as f32;
        hatch.move_to(0.0, reach);
        hatch.line_to(reach, 0.0);
    }
    let Some(hatch) = hatch.finish() else { return };
    masked(pixmap, inlay, view, |layer, view, mask| {
        let stroke = Stroke { width: 0.016, ..Stroke::default() };
        layer.stroke_path(&hatch, &theme.edge.fade(0.40).to_paint(), &stroke, view, Some(mask));
    });
}

/// Draws within a shape only, by way of a layer no larger than the shape.
pub(super) fn masked(
    pixmap: &mut Pixmap,
    shape: &Path,
    view: Transform,
    draw: impl FnOnce(&mut Pixmap, Transform, &mut Mask),
) {
    let Some(mut layer) = Layer::over(pixmap, Bounds::of(shape).seen(view).grown(1.0)) else { return };
    let Some(mut mask) = Mask::new(layer.pixmap.width(), layer.pixmap.height()) else { return };
    mask.fill_path(shape, FillRule::Winding, true, view);
    draw(&mut layer.pixmap, view, &mut mask);
    layer.put(pixmap, 1.0);
}

/// The soft shadow under the sheet: it falls off with the distance from a rounded rectangle a little below it.
fn paint_drop(pixmap: &mut Pixmap, geometry: BoardGeometry, theme: &Theme) {
    let darkest = match theme.square_fill {
        SquareFill::Flat => 0.34,
        SquareFill::Hatched => 0.17,
    };
    let square = geometry.square;
    let sheet = sheet().seen(geometry.view());
    let cast = Bounds::new(sheet.left, sheet.top + 0.07 * square, sheet.right, sheet.bottom + 0.07 * square);
    let reach = DROP * square;
    let Some(mut layer) = Layer::over(pixmap, cast.grown(reach)) else { return };
    let (columns, rows) = layer.used();
    let width = layer.pixmap.width();
    for (row, column) in rows.flat_map(|row| columns.clone().map(move |column| (row, column))) {
        let (x, y) = (column as f32 + 0.5, row as f32 + 0.5);
        // Measured from a rectangle drawn in by the radius, so that the corners are round.
        let radius = 0.10 * square;
        let dx = (cast.left + radius - x).max(x - cast.right + radius).max(0.0);
        let dy = (cast.top + radius - y).max(y - cast.bottom + radius).max(0.0);
        let away = ((dx * dx + dy * dy).sqrt() - radius).max(0.0) / reach;
        let alpha = (darkest * (1.0 - away).max(0.0).powi(2) * 255.0).round() as u8;
        if let Some(colour) = PremultipliedColorU8::from_rgba(0, 0, 0, alpha) {
            layer.pixmap.pixels_mut()[(row * width + column) as usize] = colour;
        }
    }
    layer.put(pixmap, 1.0);
}

/// All that lies on an empty board.
pub(super) fn paint_position(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    picture: &BoardPicture,
    sprites: &mut Sprites,
) {
    let whole = PixelRect { x: 0, y: 0, width: pixmap.width(), height: pixmap.height() };
    paint_drawn(pixmap, geometry, theme, picture, sprites, &[whole]);
}

/// Turns a painted board into another one by painting only where the two differ; the outcome is the same to the last
/// bit as painting it anew. `bed` is the empty board, of the same size.
pub(super) fn repaint_position(
    pixmap: &mut Pixmap,
    bed: &Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    (before, after): (&BoardPicture, &BoardPicture),
    sprites: &mut Sprites,
) {
    let (width, height) = (pixmap.width(), pixmap.height());
    assert!((bed.width(), bed.height()) == (width, height), "the empty board has the painted board's size");
    let mut rects = damage(before, after, geometry, sprites.set());
    rects.retain_mut(|rect| {
        rect.width = rect.width.min(width.saturating_sub(rect.x));
        rect.height = rect.height.min(height.saturating_sub(rect.y));
        rect.width > 0 && rect.height > 0
    });
    let Some(mut fresh) = Pixmap::new(width, height) else { return };
    for rect in &rects {
        copy_rect(&mut fresh, bed, *rect);
    }
    paint_drawn(&mut fresh, geometry, theme, after, sprites, &rects);
    for rect in &rects {
        copy_rect(pixmap, &fresh, *rect);
    }
}

fn copy_rect(to: &mut Pixmap, from: &Pixmap, rect: PixelRect) {
    let width = to.width() as usize;
    for row in rect.y..rect.y + rect.height {
        let start = row as usize * width + rect.x as usize;
        let stretch = start..start + rect.width as usize;
        to.pixels_mut()[stretch.clone()].copy_from_slice(&from.pixels()[stretch]);
    }
}

/// All that reaches into `rects`, in order from the bottom to the top.
fn paint_drawn(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    picture: &BoardPicture,
    sprites: &mut Sprites,
    rects: &[PixelRect],
) {
    let view = geometry.view();
    let standing_theme = dimmed(theme, picture.dimmed);
    dim(pixmap, geometry, picture.dimmed, rects);
    let mut drawn = Drawn::of(picture, sprites.set());
    drawn.retain(|item| {
        let bounds = item.bounds().seen(view).grown(2.0);
        rects.iter().any(|rect| bounds.touches(*rect))
    });
    for item in &drawn {
        match item {
            Drawn::Hatch(mark) | Drawn::Mark(mark) => paint_mark(pixmap, view, theme, mark),
            Drawn::Footprint(square) => paint_footprint(pixmap, view, theme, *square),
            Drawn::Plinth(square) => paint_plinth(pixmap, view, theme, *square),
            Drawn::King(moment) => paint_king(pixmap, view, theme, moment),
            Drawn::Force(force, men) => paint_force(pixmap, view, theme, force, *men),
            _ => {}
        }
    }
    paint_shafts(pixmap, view, theme, &drawn);
    for item in &drawn {
        if let Drawn::Standing(standing, bow) = item {
            paint_standing_shadow(pixmap, geometry, theme, *standing, *bow, sprites);
        }
    }
    for item in &drawn {
        match item {
            Drawn::Standing(standing, bow) => {
                paint_standing(pixmap, geometry, &standing_theme, *standing, *bow, sprites);
            }
            Drawn::Sliced(sliced) => paint_sliced(pixmap, geometry, &standing_theme, *sliced, sprites),
            Drawn::Promoting(promoting) => paint_promoting(pixmap, geometry, theme, promoting, sprites),
            Drawn::Gliding(gliding) => paint_gliding(pixmap, geometry, theme, gliding, sprites),
            Drawn::Ghost(ghost) => paint_ghost(pixmap, geometry, theme, *ghost, sprites.set()),
            Drawn::Threat(mark) => paint_mark(pixmap, view, theme, mark),
            _ => {}
        }
    }
    paint_heads(pixmap, view, theme, &drawn);
    drain(pixmap, geometry, picture.drained, rects);
}
