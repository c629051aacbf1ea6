//! How long everything takes and along which curve: motion as data.
//!
//! All lengths are milliseconds at ordinary speed. The figures were chosen by eye on the moving picture; nothing
//! here follows an outside standard but the curves, which are cubic Béziers from (0, 0) to (1, 1) as in CSS Easing
//! Functions Level 1, §2.2.

/// A cubic Bézier from (0, 0) to (1, 1): time goes in, the way covered comes out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Curve {
    x1: f64,
    y1: f64,
    x2: f64,
    y2: f64,
}

/// A glide: leaves gently, arrives without haste.
pub(super) const GLIDE: Curve = Curve { x1: 0.45, y1: 0.0, x2: 0.15, y2: 1.0 };
/// Marks, arrows and words coming in.
pub(super) const ENTER: Curve = Curve { x1: 0.2, y1: 0.0, x2: 0.0, y2: 1.0 };
/// The bow of a mated king; overshoots a little.
pub(super) const BOW: Curve = Curve { x1: 0.34, y1: 1.2, x2: 0.64, y2: 1.0 };
/// The halves of a taken piece: they hesitate, then part.
pub(super) const SLICE: Curve = Curve { x1: 0.3, y1: 0.0, x2: 0.8, y2: 0.15 };

impl Curve {
    /// The way covered at time `u`; exactly 0 up to 0 and exactly 1 from 1 on.
    pub(super) fn at(self, u: f64) -> f64 {
        if u <= 0.0 {
            return 0.0;
        }
        if u >= 1.0 {
            return 1.0;
        }
        let cubic = |s: f64, a: f64, b: f64| {
            let r = 1.0 - s;
            3.0 * r * r * s * a + 3.0 * r * s * s * b + s * s * s
        };
        // Bisection needs no slope, never leaves the unit interval, and gives the same bits on every machine;
        // 48 halvings are finer than what an f32 can tell apart.
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..48 {
            let middle = 0.5 * (low + high);
            if cubic(middle, self.x1, self.x2) < u {
                low = middle;
            } else {
                high = middle;
            }
        }
        cubic(0.5 * (low + high), self.y1, self.y2)
    }
}

/// A stretch of a motion, in milliseconds from the motion's start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Window {
    pub(super) start: f64,
    pub(super) length: f64,
}

impl Window {
    pub(super) const fn new(start: f64, length: f64) -> Window {
        Window { start, length }
    }

    pub(super) fn end(self) -> f64 {
        self.start + self.length
    }

    /// How much of it has passed at `ms`: exactly 0 up to its start, exactly 1 from its end on.
    pub(super) fn through(self, ms: f64) -> f64 {
        if ms >= self.end() {
            1.0
        } else if ms <= self.start {
            0.0
        } else {
            (ms - self.start) / self.length
        }
    }

    /// The same stretch at another speed: `factor` 0.6 is quicker, 2 slower.
    pub(super) fn times(self, factor: f64) -> Window {
        Window { start: self.start * factor, length: self.length * factor }
    }
}

/// The shortest and the longest glide, what every glide takes, and what each square adds.
const GLIDE_SHORTEST: f64 = 450.0;
const GLIDE_LONGEST: f64 = 900.0;
const GLIDE_BASE: f64 = 380.0;
const GLIDE_SQUARE: f64 = 70.0;

/// A straight glide over a distance in squares, to the nearest 10 ms: one square 450, one diagonal step 480,
/// two squares 520, the long diagonal 900.
pub(super) fn glide(squares: f64) -> f64 {
    (((GLIDE_BASE + GLIDE_SQUARE * squares) / 10.0).round() * 10.0).clamp(GLIDE_SHORTEST, GLIDE_LONGEST)
}

/// A knight's way along its L.
pub(super) const KNIGHT: f64 = 620.0;
/// The radius of the rounded corner of that L, in squares.
pub(super) const CORNER: f64 = 0.34;
/// Castling: the king, then the rook behind him, lifted less.
pub(super) const CASTLING_KING: Window = Window::new(0.0, 520.0);
pub(super) const CASTLING_ROOK: Window = Window::new(120.0, 520.0);
pub(super) const CASTLING_ROOK_LIFT: f64 = 0.4;
/// A taken piece falls apart for this long …
pub(super) const SLICING: f64 = 360.0;
/// … beginning when the taker is this far into a knight's way, or a pawn's.
pub(super) const SLICE_AT_KNIGHT: f64 = 280.0;
pub(super) const SLICE_AT_PAWN: f64 = 200.0;
/// For all others: the share of the time after which 70 % of the way is covered (the inverse of [`GLIDE`] at 0.7).
pub(super) const SLICE_AT_SHARE: f64 = 0.438;
/// The cut line of a promotion climbs from the shared base; at its top the pawn is half gone.
pub(super) const TURNING: f64 = 720.0;
pub(super) const TURNING_PAWN_LEFT: f64 = 0.5;

/// A take-back runs the same way in 60 % of the time …
pub(super) const BACK_SHARE: f64 = 0.6;
/// … several plies together in this at most …
pub(super) const BACK_LONGEST: f64 = 1200.0;
/// … and when less than this would be left for each, all pieces go home at once, in that time.
pub(super) const BACK_LEAST_PLY: f64 = 100.0;
pub(super) const GATHER: f64 = 900.0;
/// A promoted piece turns back into its pawn first; nobody needs to watch that as long as the promotion.
pub(super) const TURNING_BACK: f64 = 240.0;
/// The colour a take-back drains, and how long it takes to go and to return.
pub(super) const DRAIN: f64 = 0.4;
pub(super) const DRAINING: f64 = 90.0;
/// A taken piece returns in the last part of a take-back.
pub(super) const RETURNING: f64 = 160.0;

/// Check: the jaws come in at arrival.
pub(super) const JAWS: f64 = 150.0;
/// Mate: the jaws shut while the king begins to bow.
pub(super) const MATE_JAWS: Window = Window::new(0.0, 150.0);
pub(super) const MATE_BOW: Window = Window::new(60.0, 360.0);
/// Stalemate: the dashed frame.
pub(super) const STALEMATE: f64 = 200.0;

/// Marks and ghosts come in, each a little after the one before, and go out together.
pub(super) const MARK_IN: f64 = 200.0;
pub(super) const STAGGER: f64 = 60.0;
pub(super) const OUT: f64 = 140.0;
/// An arrow is drawn from its tail; the head comes in the last part.
pub(super) const ARROW: f64 = 320.0;
pub(super) const ARROW_HEAD: Window = Window::new(240.0, 80.0);

/// The words of a caption: the old ones go, the bar finds its height, the new ones come.
pub(super) const CAPTION_OUT: Window = Window::new(0.0, 120.0);
pub(super) const CAPTION_BAR: Window = Window::new(60.0, 200.0);
pub(super) const CAPTION_IN: Window = Window::new(160.0, 160.0);
pub(super) const CAPTION: f64 = 320.0;

/// The move list: a scroll, with the chip's two halves inside it.
pub(super) const LIST: f64 = 240.0;
/// Two changes of the list closer than this do not scroll: the second jumps.
pub(super) const LIST_APART: f64 = 300.0;

/// A card, or a board, coming in over what was there before.
pub(super) const CARD_IN: f64 = 500.0;
pub(super) const BOARD_IN: f64 = 400.0;

/// In a calm film nothing moves: whatever comes or goes does so by a fade of this length.
pub(super) const CALM: f64 = 200.0;

/// A countdown's number changes by a fade.
pub(super) const RING_NUMBER: f64 = 160.0;

/// The ground of a slow replay.
pub(super) const DIM: f64 = 0.15;
pub(super) const DIMMING: f64 = 160.0;

/// What comes and goes must not do so more than three times in a second (WCAG 2.2, 2.3.1). Nothing returns within
/// this of its last coming; a third of a second with a margin.
pub(super) const NO_FLASH: f64 = 340.0;

/// Fewer frames than this are no motion: the step is complete at once.
pub(super) const FEWEST_FRAMES: f64 = 3.0;

/// How long an untimed film holds, in milliseconds: after a move, after a key move, after anything else unless the
/// film says otherwise, on a card, and on a scene in which nothing happens.
pub(super) const HOLD_MOVE: f64 = 700.0;
pub(super) const HOLD_KEY: f64 = 1600.0;
pub(super) const REST: f64 = 1200.0;
pub(super) const HOLD_CARD: f64 = 4000.0;
/// A caption is on screen at least this long, and as long as it takes to read.
pub(super) const CAPTION_LEAST: f64 = 1500.0;
pub(super) const CAPTION_CHARACTERS_A_SECOND: f64 = 15.0;
/// Milliseconds to read a word, coming in and going out included: 180 words a minute with a little to spare (BBC
/// Subtitle Guidelines 1.2.5, §4.1, asks for 160 to 180).
pub(super) const CAPTION_WORD: f64 = 340.0;
