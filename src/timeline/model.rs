//! What a timeline file says, with the place of every value. No chess: moves, squares and claims are still words.

use super::{FilmSettings, ThemeName};
use crate::source::{Span, Spanned};
use crate::units::Time;
use std::time::Duration;

/// A whole timeline file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Timeline {
    /// The `[film]` table.
    pub film: FilmSettings,
    /// Every `[[scene]]`, in the file's order.
    pub scenes: Vec<Scene>,
    /// Every `[[thumbnail]]`, in the file's order.
    pub thumbnails: Vec<Thumbnail>,
}

/// When something happens, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// A point on the film's clock.
    Clock(Time),
    /// `"+1.5"`: this long after the cue before began.
    After(Duration),
}

/// A `[[scene]]`.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The chapter's title.
    pub name: Option<Spanned<String>>,
    /// When it begins; after the scene before if not given.
    pub at: Option<Spanned<At>>,
    /// What is shown.
    pub body: SceneBody,
    /// The stipulation, such as `White to play and win`.
    pub task: Option<Spanned<String>>,
    /// Author, source and year.
    pub credit: Option<Spanned<String>>,
    /// The words of a card.
    pub text: Option<Spanned<String>>,
    /// How long the ring of a position card counts down to its end.
    pub ring: Option<Spanned<Duration>>,
    /// What happens, in order.
    pub cues: Vec<Cue>,
    /// The `[[scene]]` header.
    pub span: Span,
}

/// What a scene shows.
#[derive(Clone, Debug, PartialEq)]
pub enum SceneBody {
    /// A position. The initial array if no FEN is given.
    Position {
        /// The FEN as written.
        fen: Option<Spanned<String>>,
    },
    /// A game or study from a PGN file.
    Pgn {
        /// A path relative to the timeline.
        file: Spanned<String>,
        /// Which game of the file, from 1.
        game: Option<Spanned<u32>>,
    },
    /// An earlier scene's line again, slowly.
    Replay(Replay),
    /// A card without a board.
    Card(Spanned<CardKind>),
}

/// `replay = { scene = …, line = …, pace = … }`.
#[derive(Clone, Debug, PartialEq)]
pub struct Replay {
    /// The name of an earlier scene.
    pub scene: Spanned<String>,
    /// Which of its lines; `solution` if not given.
    pub line: Option<Spanned<String>>,
    /// Speed against the ordinary glide, 0.1 to 1; 0.35 if not given.
    pub pace: Option<Spanned<f64>>,
}

/// The cards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CardKind {
    /// Series, number, title, presenter.
    Title,
    /// The coming chapter.
    Chapter,
    /// The coming position, held while the viewer thinks.
    Position,
    /// The last words, room for two links.
    End,
    /// Who made what.
    Credits,
}

/// One entry of `cues`.
#[derive(Clone, Debug, Default)]
pub struct Cue {
    /// When.
    pub at: Option<Spanned<At>>,
    /// The moves to play, one word each, as written: `c8=R!`.
    pub play: Vec<Spanned<String>>,
    /// From one move's start to the next's; the motion's own length plus `rest` if not given.
    pub every: Option<Spanned<Duration>>,
    /// What the moves belong to from here on.
    pub line: Option<Spanned<LineKind>>,
    /// A name for the position after this cue's moves.
    pub label: Option<Spanned<String>>,
    /// Where to return to.
    pub back: Option<Spanned<Back>>,
    /// With `back`: jump instead of taking the moves back.
    pub cut: bool,
    /// Marks on squares.
    pub marks: Vec<Spanned<Mark>>,
    /// Arrows.
    pub arrows: Vec<Spanned<Arrow>>,
    /// A move shown but not played.
    pub ghost: Option<Spanned<Ghost>>,
    /// The caption from here on; empty clears it.
    pub text: Option<Spanned<String>>,
    /// What the film claims of the position after this cue's moves, each still a phrase.
    pub claims: Vec<Spanned<String>>,
    /// How long marks, arrows and ghost stay; until the next board action if not given.
    pub stay: Option<Spanned<Duration>>,
    /// What the next cue, if it has no time, waits after this one's motion.
    pub rest: Option<Spanned<Duration>>,
    /// The whole inline table.
    pub span: Span,
}

/// What a line of moves is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum LineKind {
    /// The solution, or the game.
    #[default]
    Solution,
    /// What fails.
    Try,
    /// The solution shown again.
    Replay,
}

/// Where `back` leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Back {
    /// The scene's first position.
    Start,
    /// A labelled position.
    Label(String),
    /// This many plies up the tree.
    Plies(u32),
}

/// One mark: a role and its squares, `guard d6 e6`; `force` has exactly two.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Fixes colour and shape.
    pub role: MarkRole,
    /// The squares as words, each of the form `e4`.
    pub squares: Vec<String>,
}

/// The mark roles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MarkRole {
    /// A ring with four sight ticks: what matters.
    Key,
    /// Four corner darts: what is attacked.
    Threat,
    /// Corner brackets: what is protected.
    Guard,
    /// A hatch: where not to go.
    Trap,
    /// Dashes from one square to another: a line of force.
    Force,
    /// A small diamond.
    Dot,
}

/// One arrow: `c7 c8`, `plan c7 c8` (hollow), `b c7 c8` (in Black's colour).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrow {
    /// Hollow: a plan, not a move.
    pub plan: bool,
    /// The side whose colour it has; the piece on `from`, else the side to move, decides if not given.
    pub side: Option<crate::units::Side>,
    /// The tail's square, of the form `e4`.
    pub from: String,
    /// The tip's square, of the form `e4`.
    pub to: String,
}

/// A ghost: `c8=Q`, or `b Qa7+` with the side named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ghost {
    /// Whose move; the side to move if not given.
    pub side: Option<crate::units::Side>,
    /// The move as written.
    pub san: String,
}

/// How a thumbnail's words and board share the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ThumbnailDesign {
    /// Words at the left, the board behind a slanting cut at the right.
    Split,
    /// Words in a column, one piece on its square.
    Portrait,
    /// One line of words in a band above, the board below.
    Band,
}

/// A `[[thumbnail]]`.
#[derive(Clone, Debug)]
pub struct Thumbnail {
    /// The scene's name.
    pub scene: Option<Spanned<String>>,
    /// A label in it.
    pub moment: Option<Spanned<String>>,
    /// Or a time.
    pub at: Option<Spanned<Time>>,
    /// The words, an accented one between asterisks.
    pub words: Option<Spanned<String>>,
    /// How words and board share the picture; chosen by what is shown if not given.
    pub design: Option<Spanned<ThumbnailDesign>>,
    /// Marks on squares.
    pub marks: Vec<Spanned<Mark>>,
    /// Arrows.
    pub arrows: Vec<Spanned<Arrow>>,
    /// A theme of its own.
    pub theme: Option<Spanned<ThemeName>>,
    /// The `[[thumbnail]]` header.
    pub span: Span,
}

/// Equality looks at the values, not at their places, so that a timeline equals its re-printed self.
impl PartialEq for Scene {
    fn eq(&self, other: &Self) -> bool {
        let Scene { name, at, body, task, credit, text, ring, cues, span: _ } = self;
        *name == other.name
            && *at == other.at
            && *body == other.body
            && *task == other.task
            && *credit == other.credit
            && *text == other.text
            && *ring == other.ring
            && *cues == other.cues
    }
}

/// Equality looks at the values, not at their places, so that a timeline equals its re-printed self.
impl PartialEq for Cue {
    fn eq(&self, other: &Self) -> bool {
        let Cue { at, play, every, line, label, back, cut, marks, arrows, ghost, text, claims, stay, rest, span: _ } =
            self;
        *at == other.at
            && *play == other.play
            && *every == other.every
            && *line == other.line
            && *label == other.label
            && *back == other.back
            && *cut == other.cut
            && *marks == other.marks
            && *arrows == other.arrows
            && *ghost == other.ghost
            && *text == other.text
            && *claims == other.claims
            && *stay == other.stay
            && *rest == other.rest
    }
}

/// Equality looks at the values, not at their places, so that a timeline equals its re-printed self.
impl PartialEq for Thumbnail {
    fn eq(&self, other: &Self) -> bool {
        let Thumbnail { scene, moment, at, words, design, marks, arrows, theme, span: _ } = self;
        *scene == other.scene
            && *moment == other.moment
            && *at == other.at
            && *words == other.words
            && *design == other.design
            && *marks == other.marks
            && *arrows == other.arrows
            && *theme == other.theme
    }
}
