//! What one frame shows, without pixels. Equal pictures have equal pixels: stillness is read off `==`.
//!
//! All progress values run from 0 to 1 and rest *exactly* at 0 or 1, so that a settled picture equals the next one.
//! They are eased already, and painted in proportion, unless their comment says that they are linear in time.
//! Board coordinates are in squares: x from the a-file's left edge, y from the eighth rank's top edge, downwards.

use super::line::Line;
use crate::timeline::{CardKind, LineKind, MarkRole};
use crate::units::{Piece, Role, Side, Square};
use std::sync::Arc;

/// All that one frame shows: one body, or one fading into the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// What is on screen.
    pub body: Body,
    /// While a scene or card comes in: what was there before, and how far the new one covers it (0 to 1, 1 excluded).
    pub beneath: Option<(Arc<Body>, f32)>,
}

/// A scene's picture.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// A board with its words.
    Scene(Box<ScenePicture>),
    /// A card.
    Card(Arc<CardPicture>),
}

/// A card's words, ready to set.
#[derive(Clone, Debug, PartialEq)]
pub struct CardPicture {
    /// Which card.
    pub kind: CardKind,
    /// Small capitals above: series and number.
    pub kicker: Option<String>,
    /// The large words.
    pub title: String,
    /// A line under them: the presenter, or the card's own text.
    pub line: Option<String>,
    /// A second, quieter line.
    pub second: Option<String>,
    /// The stipulation, with the side that begins.
    pub task: Option<(String, Side)>,
    /// The piece drawn large at the side.
    pub hero: Role,
    /// Chapter cards: which chapter (from 0) of how many.
    pub progress: Option<(usize, usize)>,
    /// The position left behind, for an end card; the coming one, for a position card.
    pub board: Option<BoardPicture>,
    /// The last moves that led to it, for an end card.
    pub moves: Vec<ListMove>,
    /// Credits cards: what each is for, and whom or what it names.
    pub rows: Vec<(String, String)>,
    /// Position cards: what the viewer is to do.
    pub pause: Option<String>,
    /// Position cards: the countdown.
    pub ring: Option<RingPicture>,
}

impl CardPicture {
    /// Whether another card is the same but for what its ring shows.
    pub fn is_but_for_ring(&self, other: &CardPicture) -> bool {
        // Taken apart, so that a new field is an error here; compared in place, as a countdown asks this every frame.
        let CardPicture { kind, kicker, title, line, second, task, hero, progress, board, moves, rows, pause, ring } =
            self;
        let words = (kicker, title, line, second, task, pause);
        std::ptr::eq(self, other)
            || ((kind, hero, progress) == (&other.kind, &other.hero, &other.progress)
                && words == (&other.kicker, &other.title, &other.line, &other.second, &other.task, &other.pause)
                && (board, moves, rows) == (&other.board, &other.moves, &other.rows)
                && ring.is_some() == other.ring.is_some())
    }
}

/// A countdown: one tick of a ring for each second, or, where they would be more than sixty, for each few of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RingPicture {
    /// How many ticks.
    pub ticks: u32,
    /// How many of them have gone out, the last of them perhaps in part.
    pub spent: f32,
    /// The seconds left, rounded up.
    pub left: u32,
    /// While the number changes: how far the new one covers the one before, which is larger by 1; 1 excluded.
    pub change: Option<f32>,
}

/// A board with its words.
#[derive(Clone, Debug, PartialEq)]
pub struct ScenePicture {
    /// The board.
    pub board: BoardPicture,
    /// Kicker, title, credit, stipulation; one value a scene.
    pub head: Arc<Head>,
    /// The line so far.
    pub list: Arc<MoveList>,
    /// While the current move changes: the list before, and how far the change has come (0 to 1, 1 excluded), linear
    /// in time over 240 ms: the scroll takes all of it, the old chip goes in the first half, the new one comes in
    /// the second.
    pub list_before: Option<(Arc<MoveList>, f32)>,
    /// The words below.
    pub caption: CaptionPicture,
}

/// The head of a scene.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// Small capitals: series and number; may be empty.
    pub kicker: String,
    /// The scene's name, or the film's title.
    pub title: String,
    /// Author, source, year; may be empty.
    pub credit: String,
    /// The stipulation; may be empty.
    pub task: String,
    /// Who begins.
    pub side: Option<Side>,
}

/// The moves shown in the list: those played so far (in a replay scene also those to come).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MoveList {
    /// The main line, in order.
    pub main: Line,
    /// The tries, each hanging from the main line, in order of the ply they branch from, then of playing; one that
    /// branches from another follows it.
    pub tries: Arc<[TryLine]>,
    /// What is on the board now.
    pub current: Current,
    /// What stands for moves that there is no room for, in the film's own words with places for numbers (`{from}`,
    /// `{to}`, `{tries}`, `{variations}`); else empty.
    pub fold: Arc<str>,
}

/// Which move is lit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Current {
    /// The start.
    #[default]
    None,
    /// An index into [`MoveList::main`].
    Main(usize),
    /// An index into [`MoveList::tries`] and one into its moves.
    Try(usize, usize),
}

/// One move in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListMove {
    /// Its number.
    pub number: u32,
    /// Whose move.
    pub side: Side,
    /// SAN in English letters with suffix: `c8=R!`. Figurines or letters are set when it is drawn.
    pub san: Arc<str>,
    /// Not yet played (replay scenes), or left behind by a return: set muted.
    pub muted: bool,
}

/// A line that branches off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TryLine {
    /// How many moves of the main line come before the branch.
    pub after: usize,
    /// The other try, by index, that this one branches from, if it does.
    pub within: Option<usize>,
    /// What it is: a try that fails, or another way of the solution.
    pub line: LineKind,
    /// The word that says so before its moves: `TRY`, or `OR` for another way and for a try that branches from a try.
    pub label: Arc<str>,
    /// Its moves.
    pub moves: Line,
    /// What it comes to, once played out, where its last move does not say it: `stalemate`, or empty.
    pub verdict: Arc<str>,
}

/// The caption and its change.
#[derive(Clone, Debug, PartialEq)]
pub struct CaptionPicture {
    /// The words; `None` if there are none.
    pub text: Option<Arc<str>>,
    /// How far they have come in, and risen to their line. 1 at rest.
    pub enter: f32,
    /// While they change: the words before and their opacity, which is 0 when they are gone and the bar still changes.
    pub leaving: Option<(Arc<str>, f32)>,
    /// How far the bar beside the words has grown from the old words' height to the new ones'. 1 at rest.
    pub bar: f32,
}

/// No words, at rest.
impl Default for CaptionPicture {
    fn default() -> CaptionPicture {
        CaptionPicture { text: None, enter: 1.0, leaving: None, bar: 1.0 }
    }
}

/// The board and all that lies on it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoardPicture {
    /// Pieces at rest, a1 first.
    pub standing: Vec<Standing>,
    /// Pieces on their way, drawn above the standing ones, the last on top.
    pub gliding: Vec<Gliding>,
    /// A taken piece falling apart.
    pub sliced: Vec<Sliced>,
    /// A pawn turning into a piece.
    pub promoting: Option<Promoting>,
    /// Where the last move came from.
    pub footprint: Option<Square>,
    /// Where it arrived.
    pub plinth: Option<Square>,
    /// Marks, in the order they came.
    pub marks: Vec<MarkPicture>,
    /// Lines of force.
    pub forces: Vec<ForcePicture>,
    /// Arrows, in the order they came; a later one bridges an earlier one.
    pub arrows: Vec<ArrowPicture>,
    /// Ghosts.
    pub ghosts: Vec<GhostPicture>,
    /// Check, mate or stalemate at a king.
    pub king: Option<KingMoment>,
    /// How much colour a take-back has drained, 0 to 0.4.
    pub drained: f32,
    /// How dark the ground of a slow replay is, 0 to 0.15; gliding pieces keep their light.
    pub dimmed: f32,
}

/// A piece at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Where.
    pub square: Square,
    /// What.
    pub piece: Piece,
    /// 1 but while it fades back in.
    pub opacity: f32,
}

/// A piece on its way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gliding {
    /// What.
    pub piece: Piece,
    /// The left edge of its square, in squares.
    pub x: f32,
    /// The top edge of its square, in squares.
    pub y: f32,
    /// How high it is lifted, 0 to 1 (1 is a scale of 1.03).
    pub lift: f32,
}

/// A taken piece falling apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sliced {
    /// What.
    pub piece: Piece,
    /// Where it stood.
    pub square: Square,
    /// 0 whole, 1 gone: how far the halves have parted.
    pub progress: f32,
}

/// A pawn turning into a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Promoting {
    /// Where.
    pub square: Square,
    /// Whose.
    pub side: Side,
    /// What it becomes.
    pub role: Role,
    /// How far the cut line has climbed from the foot.
    pub climbed: f32,
    /// Opacity of what is left of the pawn.
    pub pawn: f32,
}

/// A mark coming in, standing or going out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkPicture {
    /// Fixes colour and shape; never `Force`.
    pub role: MarkRole,
    /// Where.
    pub square: Square,
    /// How far it has come in: opacity and scale, or the wipe of a hatch.
    pub enter: f32,
    /// Opacity while it goes out; 1 else.
    pub opacity: f32,
}

/// A line of force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForcePicture {
    /// Where it begins.
    pub from: Square,
    /// Where it ends.
    pub to: Square,
    /// How far it has come in.
    pub enter: f32,
    /// Opacity while it goes out; 1 else.
    pub opacity: f32,
}

/// An arrow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArrowPicture {
    /// The tail's square.
    pub from: Square,
    /// The tip's square.
    pub to: Square,
    /// Whose colour it has.
    pub side: Side,
    /// Hollow: a plan.
    pub plan: bool,
    /// Whether it is a knight's, drawn as a rounded L, and on which corner square it turns.
    pub corner: Option<Square>,
    /// How much of the shaft is drawn, from the tail.
    pub drawn: f32,
    /// Opacity of the head.
    pub head: f32,
    /// Opacity while it goes out; 1 else.
    pub opacity: f32,
}

/// A move shown, not played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GhostPicture {
    /// What would stand there.
    pub piece: Piece,
    /// Where.
    pub square: Square,
    /// How far it has come in, 0 to 1.
    pub enter: f32,
    /// Opacity while it goes out; 1 else.
    pub opacity: f32,
}

impl KingMoment {
    /// The king's square.
    pub fn square(self) -> Square {
        match self {
            KingMoment::Check { square, .. }
            | KingMoment::Mate { square, .. }
            | KingMoment::Stalemate { square, .. } => square,
        }
    }
}

/// What happens to a king.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KingMoment {
    /// Two jaws; `enter` is their opacity.
    Check {
        /// The king's square.
        square: Square,
        /// How far they have come in.
        enter: f32,
    },
    /// The jaws shut and the king bows.
    Mate {
        /// The king's square.
        square: Square,
        /// How far the jaws are shut, 0 to 1; they appear with it.
        shut: f32,
        /// How far he has bowed: −1 (to the left) to 1 (to the right); may overshoot a little on the way.
        bow: f32,
    },
    /// A dashed frame.
    Stalemate {
        /// The king's square.
        square: Square,
        /// How far it has come in.
        enter: f32,
    },
}
