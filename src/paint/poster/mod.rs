//! A still picture that announces a film: words set huge, a piece of the board, one slanting edge between them.
//!
//! What is shown is decided elsewhere ([`Poster`] is data); here it is fitted and painted. The words keep out of the
//! lower right corner, where hosts lay the running time.

mod sheet;
mod words;

pub use sheet::contact_sheet;
pub use words::{Misfit, misfits, word_cover};

use super::board::{BoardGeometry, paint_empty_board, paint_position};
use super::brush::Bounds;
use super::ground::ground;
use super::own;
use super::sprites::Sprites;
use super::theme::Theme;
use crate::film::{BoardPicture, Own};
use crate::timeline::ThemeName;
use crate::units::{Size, Square};
use tiny_skia::{Pixmap, PremultipliedColorU8};

/// Every poster's size in pixels.
pub const POSTER: Size = Size { width: 1280, height: 720 };

/// What a poster shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Poster {
    /// The colours.
    pub theme: ThemeName,
    /// What the film brings of its own.
    pub own: Own,
    /// The board with all that lies on it, at rest.
    pub board: BoardPicture,
    /// Where the board lies.
    pub crop: Crop,
    /// What of the picture the board has.
    pub panel: Panel,
    /// The words, in order.
    pub words: Vec<PosterWord>,
}

/// Where a board lies in a poster, in pixels: most of it outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Crop {
    /// The a-file's left edge.
    pub x: i32,
    /// The eighth rank's top edge.
    pub y: i32,
    /// A square's side.
    pub square: u32,
}

/// How words and board share a poster.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Panel {
    /// No words: the board has all of it.
    None,
    /// Words at the left of a cut from `top` (its column in the first row) to `bottom` (in the last).
    Left {
        /// The cut's column in the first row.
        top: f32,
        /// The cut's column in the last row.
        bottom: f32,
    },
    /// Words in a band above a cut from `left` (its row in the first column) to `right` (in the last).
    Above {
        /// The cut's row in the first column.
        left: f32,
        /// The cut's row in the last column.
        right: f32,
    },
    /// Words at the left, and at the right this one square.
    Portrait(Square),
}

/// One word of a poster.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PosterWord {
    /// The word with its punctuation.
    pub text: String,
    /// In the accent's colour.
    pub accented: bool,
}

/// The tile of a portrait: left, top and side in pixels.
pub const PORTRAIT: (u32, u32, u32) = (618, 50, 620);
/// The radius of its corners.
/// That of a frame round the square, so that no sliver of it is left outside.
const PORTRAIT_RADIUS: f32 = 62.0;
/// How wide the accent's edge along a cut is.
const EDGE: f32 = 12.0;

/// Paints a poster.
pub fn poster(poster: &Poster) -> Pixmap {
    let theme = Theme::laid(poster.theme, poster.own.colours);
    let mut frame = ground(POSTER, theme);
    match poster.panel {
        Panel::None => lay_board(&mut frame, poster, theme, |_, _| 1.0),
        Panel::Left { top, bottom } => {
            let cut = move |y: f32| top + (bottom - top) * y / POSTER.height as f32;
            // Distances are taken along the row; the cut is steep enough for that to soften it well.
            let cover = move |x: f32, y: f32| x - cut(y) + 0.5;
            lay_board(&mut frame, &uncovered(poster, cover), theme, cover);
            let edge = [(top, 0.0), (top + EDGE, 0.0), (bottom + EDGE, 720.0), (bottom, 720.0)];
            lay_edge(&mut frame, &edge, theme);
        }
        Panel::Above { left, right } => {
            let cut = move |x: f32| left + (right - left) * x / POSTER.width as f32;
            let cover = move |x: f32, y: f32| y - cut(x) + 0.5;
            lay_board(&mut frame, &uncovered(poster, cover), theme, cover);
            let edge = [(0.0, left), (1280.0, right), (1280.0, right + EDGE), (0.0, left + EDGE)];
            lay_edge(&mut frame, &edge, theme);
        }
        Panel::Portrait(square) => {
            let (left, top, side) = PORTRAIT;
            let bounds = Bounds::new(left as f32, top as f32, (left + side) as f32, (top + side) as f32);
            let alone = Poster { board: alone(&poster.board, square), ..poster.clone() };
            lay_board(&mut frame, &alone, theme, move |x, y| {
                let radius = PORTRAIT_RADIUS;
                let dx = (bounds.left + radius - x).max(x - bounds.right + radius).max(0.0);
                let dy = (bounds.top + radius - y).max(y - bounds.bottom + radius).max(0.0);
                radius + 0.5 - (dx * dx + dy * dy).sqrt()
            });
        }
    }
    words::draw(&mut frame, poster, theme);
    frame
}

/// The poster without the pieces of which less than half would be seen beside the cut: a lone foot puzzles.
fn uncovered(poster: &Poster, cover: impl Fn(f32, f32) -> f32) -> Poster {
    let Crop { x, y, square } = poster.crop;
    let is_seen = |at: Square| {
        let middle = |line: u8, start: i32| start as f32 + (f32::from(line) + 0.5) * square as f32;
        cover(middle(at.file(), x), middle(7 - at.rank(), y)) >= 1.0
    };
    let mut uncovered = poster.clone();
    uncovered.board.standing.retain(|standing| is_seen(standing.square));
    uncovered.board.ghosts.retain(|ghost| is_seen(ghost.square));
    uncovered
}

/// What stands or lies on one square.
fn alone(board: &BoardPicture, square: Square) -> BoardPicture {
    let mut alone =
        BoardPicture { king: board.king.filter(|moment| moment.square() == square), ..BoardPicture::default() };
    alone.standing = board.standing.iter().copied().filter(|standing| standing.square == square).collect();
    alone.marks = board.marks.iter().copied().filter(|mark| mark.square == square).collect();
    alone.ghosts = board.ghosts.iter().copied().filter(|ghost| ghost.square == square).collect();
    alone
}

/// Lays the board where `cover` (at a pixel's middle) is above 0; between 0 and 1 it shines through.
fn lay_board(frame: &mut Pixmap, poster: &Poster, theme: &Theme, cover: impl Fn(f32, f32) -> f32) {
    let Crop { x, y, square } = poster.crop;
    let geometry = BoardGeometry { x: x as f32, y: y as f32, square: square as f32 };
    let mut board = frame.clone();
    paint_empty_board(&mut board, geometry, theme);
    paint_position(&mut board, geometry, theme, &poster.board, &mut Sprites::of(own::pieces(&poster.own)));
    let width = frame.width() as usize;
    for (at, (pixel, over)) in frame.pixels_mut().iter_mut().zip(board.pixels()).enumerate() {
        let cover = cover((at % width) as f32 + 0.5, (at / width) as f32 + 0.5).clamp(0.0, 1.0);
        if cover >= 1.0 {
            *pixel = *over;
        } else if cover > 0.0 {
            *pixel = between(*pixel, *over, cover);
        }
    }
}

/// A pixel `t` of the way from one to another, both opaque.
fn between(from: PremultipliedColorU8, to: PremultipliedColorU8, t: f32) -> PremultipliedColorU8 {
    let mix = |from: u8, to: u8| (f32::from(from) + (f32::from(to) - f32::from(from)) * t).round() as u8;
    let (r, g, b) = (mix(from.red(), to.red()), mix(from.green(), to.green()), mix(from.blue(), to.blue()));
    PremultipliedColorU8::from_rgba(r, g, b, 255).expect("an opaque colour is its own premultiplied one")
}

fn lay_edge(frame: &mut Pixmap, corners: &[(f32, f32)], theme: &Theme) {
    let corners: Vec<super::outline::Point> = corners.iter().map(|&(x, y)| super::outline::Point::new(x, y)).collect();
    if let Some(path) = super::outline::polygon(&corners) {
        super::brush::fill(frame, &path, theme.accent, tiny_skia::Transform::identity());
    }
}
