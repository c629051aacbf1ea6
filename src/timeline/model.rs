//! What a timeline file says, with the place of every value. No chess: moves, squares and claims are still words.

use super::colours::ThemeSetting;
use crate::source::{Span, Spanned};
use crate::units::{FrameRate, Time};
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

/// The `[film]` table; `None` where the key is not given.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FilmSettings {
    /// The film's title.
    pub title: Option<Spanned<String>>,
    /// The series it belongs to.
    pub series: Option<Spanned<String>>,
    /// Its number in the series.
    pub number: Option<Spanned<u32>>,
    /// Who presents.
    pub presenter: Option<Spanned<String>>,
    /// Whose voice it is, if not the presenter's.
    pub voice: Option<Spanned<String>>,
    /// Whose music.
    pub music: Option<Spanned<String>>,
    /// The recording, a path relative to the timeline.
    pub narration: Option<Spanned<String>>,
    /// A TOML file with the series' own defaults, a path relative to the timeline.
    pub style: Option<Spanned<String>>,
    /// A folder of Syzygy tables for the claims, a path relative to the timeline.
    pub syzygy: Option<Spanned<String>>,
    /// The shape of the picture; wide if not given.
    pub frame: Option<Spanned<FrameShape>>,
    /// Lines (wide, square) or width (tall) in pixels; 1080 if not given.
    pub height: Option<Spanned<u32>>,
    /// Frames per second; 30 if not given.
    pub fps: Option<Spanned<FrameRate>>,
    /// The colours; dusk if not given.
    pub theme: Option<Spanned<ThemeSetting>>,
    /// A file with pieces of the film's own, a path relative to the timeline.
    pub pieces: Option<Spanned<String>>,
    /// A folder with fonts of the film's own, a path relative to the timeline.
    pub fonts: Option<Spanned<String>>,
    /// Where board and words stand; panel if not given.
    pub layout: Option<Spanned<Layout>>,
    /// How pieces are written in move lists; figurine if not given.
    pub notation: Option<Spanned<Notation>>,
    /// Whose limits for reading captions hold; only the widest if not given.
    pub captions: Option<Spanned<CaptionProfile>>,
    /// How much moves; all of it if not given.
    pub motion: Option<Spanned<Motion>>,
    /// The words that the program itself puts on cards and into the list of moves.
    pub words: CardWords,
    /// A file with the template of the description, a path relative to the timeline.
    pub description: Option<Spanned<String>>,
    /// Where the film ends, if neither with the narration nor with the last cue.
    pub ends: Option<Spanned<Time>>,
    /// What a cue without a time waits after the motion before it; 1.2 s if not given.
    pub rest: Option<Spanned<Duration>>,
}

/// The words that the program itself puts on cards and into the list of moves, for series in other languages or with a voice of their own.
/// `{n}` and `{count}` stand for numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CardWords {
    /// Above a position card: `Position {n} of {count}` if not given.
    pub position: Option<Spanned<String>>,
    /// Above a chapter card: `Chapter {n} of {count}` if not given.
    pub chapter: Option<Spanned<String>>,
    /// Beside the ring of a position card: `Pause and think` if not given.
    pub pause: Option<Spanned<String>>,
    /// Over a list of credits: `Credits` if not given.
    pub credits: Option<Spanned<String>>,
    /// What the presenter is called there: `Presented by` if not given.
    pub presenter: Option<Spanned<String>>,
    /// What the voice is called there: `Voice` if not given.
    pub voice: Option<Spanned<String>>,
    /// What the music is called there: `Music` if not given.
    pub music: Option<Spanned<String>>,
    /// Before a try in the list of moves: `TRY` if not given.
    pub r#try: Option<Spanned<String>>,
    /// Before another way there: `OR` if not given.
    pub or: Option<Spanned<String>>,
    /// After a line that ends in it: `stalemate` if not given.
    pub stalemate: Option<Spanned<String>>,
    /// For moves that the list has no room for, `{from}` and `{to}` being their numbers, `{tries}` and `{variations}`
    /// how many there are among them: `moves {from} – {to} · {tries} tries · {variations} variations`, in better
    /// English, if not given. A part between two `·` is left out where there is nothing of what it counts.
    pub fold: Option<Spanned<String>>,
    /// In the place of a task that is not given: `White to move`.
    pub white: Option<Spanned<String>>,
    /// The same with Black to move.
    pub black: Option<Spanned<String>>,
}

/// How much moves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Motion {
    /// Pieces glide, marks grow, lists scroll.
    #[default]
    Full,
    /// Cuts and short fades only, for viewers whom movement troubles.
    Calm,
}

/// The shape of the picture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum FrameShape {
    /// 16:9.
    #[default]
    Wide,
    /// 9:16; `height` is its width.
    Tall,
    /// 1:1.
    Square,
    /// A size of its own in pixels, both even; `height` is ignored.
    Free {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}

/// The themes that come with plyreel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum ThemeName {
    #[default]
    Dusk,
    Tide,
    Ink,
}

/// Where board and words stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Layout {
    /// Board at the left, words in a panel at the right.
    #[default]
    Panel,
    /// Board above, words in a box below.
    LowerThird,
    /// Board, marks and caption only, for camera footage.
    Overlay,
}

/// Whose limits for reading captions hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CaptionProfile {
    /// As on television: by words a minute and characters a line.
    Broadcast,
    /// A broadcaster's on the net: by words a minute and the width of the picture.
    Online,
    /// As at streaming houses: by characters a second and a line.
    Streaming,
}

/// How pieces are written (PGN standard 1994, §8.2.3.2, lists the languages' letters).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Notation {
    #[default]
    Figurine,
    Czech,
    Danish,
    Dutch,
    English,
    Estonian,
    Finnish,
    French,
    German,
    Hungarian,
    Icelandic,
    Italian,
    Norwegian,
    Polish,
    Portuguese,
    Romanian,
    Spanish,
    Swedish,
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
