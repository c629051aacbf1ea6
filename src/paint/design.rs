//! The designs: for every layout and shape of frame, where things go.
//!
//! A design is drawn on a grid whose shorter side is 1080, so that its figures are pixels of a 1080-line film; the other
//! side is as long as the frame asks for. The frame's shape chooses the design, its exact proportions the figures:
//!
//! | shape | width : height | panel | lower-third | overlay |
//! |---|---|---|---|---|
//! | wide | from 1.3 | words and list beside the board | a box under the board | board at the upper right |
//! | square | .72 to 1.3 | one line of words above, moves in one row | the same, the box full width | the same, smaller |
//! | tall | to .72 | words above in lines, moves in a row below | a box under the board | board in the lower half |
//!
//! Words keep out of the outer 5 % of every frame (EBU R 95, graphics safe area). In frames about as tall as a
//! telephone everything keeps out of what the platforms lay over a vertical film: about 10 % at the top, 21 % at the
//! foot, 13 % at the right. The sources of those figures differ; none is official.

use super::brush::Bounds;
use super::fit::Rule;
use crate::timeline::Layout;
use crate::units::Size;

/// A layout on its design grid. Lengths are in units of the grid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Design {
    /// Width and height of the grid.
    pub grid: (f32, f32),
    pub form: Form,
    /// Left, top, square.
    pub board: (f32, f32, f32),
    /// The words above or beside the board; in a panel the list too, down to the lower edge.
    pub head: Bounds,
    /// Kicker and credit, where they stand apart.
    pub aside: Bounds,
    /// Task and moves where they share a row; the move's place in a box.
    pub row: Bounds,
    pub caption: CaptionDesign,
    /// What stands on a plate of its own from beginning to end.
    pub plate: Option<Bounds>,
    pub type_sizes: TypeSizes,
}

/// How a scene's words are arranged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// A column beside the board: kicker, title, credit, task, list.
    Panel,
    /// Title and credit on one line over the board, task and moves in a row below them.
    Line,
    /// Task, title and credit one under the other over the board, the moves in a row below it.
    Stack,
    /// A box below the board: title, caption, the move.
    Lower,
    /// No words but captions.
    Bare,
}

/// How a caption stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CaptionForm {
    /// Beside a bar of its own.
    Bar,
    /// In the box, whose bar it shares.
    Boxed,
    /// On a plate as wide as its words, at the foot of its place.
    Plate,
    /// The same, at the top of its place.
    Hanging,
}

/// A caption's place and type.
#[derive(Clone, Copy, Debug)]
pub(super) struct CaptionDesign {
    pub form: CaptionForm,
    /// Bar or plate included.
    pub place: Bounds,
    pub em: f32,
    pub rule: Rule,
}

/// Sizes of type.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct TypeSizes {
    pub kicker: f32,
    pub title: f32,
    pub credit: f32,
    pub task: f32,
    pub moves: f32,
}

/// A frame as designs see it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub width: f32,
    pub height: f32,
    /// Where words may stand.
    pub clear: Bounds,
}

/// The shorter side of every grid.
const SHORT: f32 = 1080.0;
/// A frame longer than this is filled in the middle only.
const LONGEST: f32 = 2560.0;
/// From this ratio of height to width a film is taken for a telephone's, and platforms lay things over it.
const TELEPHONE: f32 = 1.6;

impl Frame {
    /// The frame of this size, no longer than `longest`.
    pub fn of(size: Size, longest: f32) -> Frame {
        let (width, height) = (size.width.max(1) as f32, size.height.max(1) as f32);
        let unit = width.min(height) / SHORT;
        // To a sixteenth, so that 1280 × 720 and 1920 × 1080 have the same grid to the last bit.
        let long = |side: f32| ((side / unit * 16.0).round() / 16.0).min(longest);
        let (width, height) = (long(width), long(height));
        let (right, bottom) = (width - width / 20.0, height - height / 20.0);
        let mut clear = Bounds::new(width / 20.0, height / 20.0, right, bottom);
        if height >= TELEPHONE * width {
            clear = Bounds::new(clear.left, height * 0.10, width * 0.87, height * 0.79);
        }
        Frame { width, height, clear }
    }

    /// Whether there is room beside a board.
    pub fn is_wide(self) -> bool {
        self.width >= 1.3 * self.height
    }

    /// Whether there is room above and below a board.
    pub fn is_tall(self) -> bool {
        self.width <= 0.72 * self.height
    }
}

/// The design of a layout for frames of this size.
pub(super) fn design(layout: Layout, size: Size) -> Design {
    let frame = Frame::of(size, LONGEST);
    match layout {
        Layout::Panel if frame.is_wide() => wide_panel(Frame::of(size, 2000.0)),
        Layout::Panel => over_and_under(frame),
        Layout::LowerThird if frame.is_wide() => wide_box(Frame::of(size, 2160.0)),
        Layout::LowerThird => tall_box(frame),
        Layout::Overlay => overlay(frame),
    }
}

/// Board at the left, words at the right, the caption below both.
fn wide_panel(frame: Frame) -> Design {
    const SQUARE: f32 = 97.0;
    /// What the words beside the board need at least.
    const PANEL: f32 = 560.0;
    let Bounds { left, right, .. } = frame.clear;
    let left = left + 40.0;
    let gap = 88.0 * frame.width / 1920.0;
    let square = ((right - PANEL - gap - left) / 8.0).floor().min(SQUARE);
    let top = 58.0 + 4.0 * (SQUARE - square);
    let panel = left + 8.0 * square + gap;
    Design {
        grid: (frame.width, frame.height),
        form: Form::Panel,
        board: (left, top, square),
        head: Bounds::new(panel, 54.0, right, 880.0),
        aside: NOWHERE,
        row: NOWHERE,
        caption: CaptionDesign {
            form: CaptionForm::Bar,
            place: Bounds::new(left, 948.0 - 0.94 * 46.0, right - 18.0, 1026.0),
            em: 46.0,
            rule: Rule::Caption,
        },
        plate: None,
        type_sizes: TypeSizes {
            kicker: 26.0,
            title: 84.0,
            credit: 36.0,
            task: 44.0,
            // So that the longest moves of both sides stand beside each other.
            moves: 42.0 * ((right - panel - 88.0) / 530.0).min(1.0),
        },
    }
}

/// A part that a design does not have.
const NOWHERE: Bounds = Bounds { left: 0.0, top: 0.0, right: 0.0, bottom: 0.0 };

/// What a board needs above it for its shadow, below it for its coordinates, and across, in squares.
pub(super) const BOARD_UP: f32 = 0.30;
pub(super) const BOARD_DOWN: f32 = 0.46;
const BOARD_ACROSS: f32 = 8.5;

/// A board as large as fits between two rows of the frame, in the middle; its left edge, top and square.
fn board_between(across: Bounds, most: f32) -> (f32, f32, f32) {
    const DOWN: f32 = BOARD_UP + 8.0 + BOARD_DOWN;
    let room = ((across.right - across.left) / BOARD_ACROSS).min((across.bottom - across.top) / DOWN);
    let square = room.floor().min(most);
    let left = f32::midpoint(across.left, across.right) - 4.0 * square + 0.14 * square;
    let spare = across.bottom - across.top - DOWN * square;
    (left, across.top + BOARD_UP * square + spare / 2.0, square)
}

/// Title and credit, a row of task and moves, the board, the caption, from top to bottom; in tall frames the moves stand
/// below the board.
fn over_and_under(frame: Frame) -> Design {
    let Bounds { left, top, right, bottom } = frame.clear;
    let is_tall = frame.is_tall();
    let (head, row, em) = if is_tall { (256.0, 60.0, 46.0) } else { (70.0, 54.0, 44.0) };
    // Two lines; in tall frames also three smaller ones.
    let caption = em * if is_tall { 2.74 } else { 2.54 };
    let caption_top = bottom - caption;
    let row_top = if is_tall { caption_top - 10.0 - row } else { top + head + 12.0 };
    let (board_top, board_bottom) = if is_tall { (top + head, row_top) } else { (row_top + row, caption_top - 6.0) };
    let board = board_between(Bounds::new(left, board_top, right, board_bottom), 140.0);
    let middle = f32::midpoint(left, right);
    let column = (9.0 * board.2).max(920.0).min(right - left) / 2.0;
    let (left, right) = (middle - column, middle + column);
    Design {
        grid: (frame.width, frame.height),
        form: if is_tall { Form::Stack } else { Form::Line },
        board,
        head: Bounds::new(left, top, right, top + head),
        aside: NOWHERE,
        row: Bounds::new(left, row_top, right, row_top + row),
        caption: CaptionDesign {
            form: CaptionForm::Bar,
            place: Bounds::new(left, caption_top, right, bottom),
            em,
            rule: Rule::Within { height: caption, least: 0.7, leading: 1.24 },
        },
        plate: None,
        type_sizes: TypeSizes {
            kicker: 30.0,
            title: if is_tall { 76.0 } else { 60.0 },
            credit: if is_tall { 36.0 } else { 34.0 },
            task: 34.0,
            moves: if is_tall { 40.0 } else { 36.0 },
        },
    }
}

/// The board in the middle over a box with title, caption and move; kicker and credit at the upper left.
fn wide_box(frame: Frame) -> Design {
    let Bounds { left, right, bottom, top } = frame.clear;
    let square = 90.0;
    let board = (frame.width / 2.0 - 4.0 * square + 14.0, 50.0, square);
    let plate = Bounds::new(left, bottom - 202.0, right, bottom);
    let chip = (right - left) * 0.235;
    let (inner, end) = (left + 44.0, right - 34.0);
    let words = end - chip - 36.0;
    Design {
        grid: (frame.width, frame.height),
        form: Form::Lower,
        board,
        head: Bounds::new(inner, plate.top + 20.0, words, plate.top + 88.0),
        aside: Bounds::new(left, top, board.0 - 72.0, 620.0),
        row: Bounds::new(end - chip, plate.top + 16.0, end, plate.bottom - 16.0),
        caption: CaptionDesign {
            form: CaptionForm::Boxed,
            place: Bounds::new(inner, plate.top + 89.0, words, plate.bottom - 14.0),
            em: 42.0,
            rule: Rule::Within { height: 100.0, least: 0.7, leading: 1.22 },
        },
        plate: Some(plate),
        type_sizes: TypeSizes { kicker: 26.0, title: 56.0, credit: 32.0, task: 42.0, moves: 54.0 },
    }
}

/// Kicker and credit above the board, the box below it, as wide as words may be.
fn tall_box(frame: Frame) -> Design {
    let Bounds { left, top, right, bottom } = frame.clear;
    let is_tall = frame.is_tall();
    let (aside, head, em) = if is_tall { (92.0, 96.0, 46.0) } else { (44.0, 62.0, 42.0) };
    let caption = em * if is_tall { 2.74 } else { 2.54 };
    let plate = Bounds::new(left, bottom - (18.0 + head + 10.0 + caption + 14.0), right, bottom);
    let (inner, end) = (left + 40.0, right - 30.0);
    let chip = (end - inner) * 0.36;
    Design {
        grid: (frame.width, frame.height),
        form: Form::Lower,
        board: board_between(Bounds::new(left, top + aside, right, plate.top - 8.0), 140.0),
        head: Bounds::new(inner, plate.top + 18.0, end - chip - 20.0, plate.top + 18.0 + head),
        aside: Bounds::new(left, top, right, top + aside),
        row: Bounds::new(end - chip, plate.top + 18.0, end, plate.top + 18.0 + head),
        caption: CaptionDesign {
            form: CaptionForm::Boxed,
            place: Bounds::new(inner, plate.top + 28.0 + head, end, plate.bottom - 14.0),
            em,
            rule: Rule::Within { height: caption, least: 0.7, leading: 1.24 },
        },
        plate: Some(plate),
        type_sizes: TypeSizes {
            kicker: 26.0,
            title: if is_tall { 58.0 } else { 50.0 },
            credit: if is_tall { 34.0 } else { 30.0 },
            task: em,
            moves: if is_tall { 50.0 } else { 46.0 },
        },
    }
}

/// How far a board's plate reaches out of the board: left, top, right, bottom, in squares. The coordinates, the
/// shadow and pieces on their way all lie on it.
pub(super) const PLATE: [f32; 4] = [0.58, 0.38, 0.40, 0.60];

/// Board and caption on plates, all else transparent. The board leaves the left, in tall frames the upper half, to whoever
/// speaks.
fn overlay(frame: Frame) -> Design {
    let Bounds { left, right, bottom, .. } = frame.clear;
    let [plate_left, plate_top, plate_right, plate_bottom] = PLATE;
    let is_tall = frame.is_tall();
    let em = if frame.is_wide() { 50.0 } else { 46.0 };
    let words = em * if is_tall { 2.74 } else { 2.42 };
    let caption_top = bottom - words - 2.0 * CAPTION_PLATE.1 * em;
    let board = if is_tall {
        let square = (((right - left) / 8.98).floor()).min((frame.height * 0.0406).floor());
        let middle = f32::midpoint(left, right) - 4.0 * square + f32::midpoint(plate_left, -plate_right) * square;
        (middle, caption_top - 22.0 - (8.0 + plate_bottom) * square, square)
    } else {
        let square = (frame.width * 0.0574).floor().min(86.0);
        let top = if frame.is_wide() { 40.0 } else { frame.clear.top };
        (right + 18.0 - (8.0 + plate_right) * square, top + plate_top * square, square)
    };
    let (x, y, square) = board;
    let plate = Bounds::new(
        x - plate_left * square,
        y - plate_top * square,
        x + (8.0 + plate_right) * square,
        y + (8.0 + plate_bottom) * square,
    );
    Design {
        grid: (frame.width, frame.height),
        form: Form::Bare,
        board,
        head: NOWHERE,
        aside: NOWHERE,
        row: NOWHERE,
        caption: CaptionDesign {
            form: if is_tall { CaptionForm::Hanging } else { CaptionForm::Plate },
            place: Bounds::new(if is_tall { plate.left } else { left }, caption_top, right, bottom),
            em,
            rule: Rule::Within { height: words, least: 0.7, leading: 1.24 },
        },
        plate: Some(plate),
        type_sizes: TypeSizes { kicker: 0.0, title: 0.0, credit: 0.0, task: 0.0, moves: 0.0 },
    }
}

/// How far a caption's plate reaches out of its words at the right and above, in ems of the caption.
pub(super) const CAPTION_PLATE: (f32, f32) = (0.72, 0.5);
