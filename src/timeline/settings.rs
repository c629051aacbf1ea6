//! What `[film]` holds, as values: what all scenes have in common.

use super::colours::ThemeSetting;
use crate::source::Spanned;
use crate::units::{FrameRate, Side, Time};
use std::time::Duration;

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

/// The words that the program itself puts on cards and into the list of moves, for series in other languages or with a
/// voice of their own. In braces stand places for numbers: `{n}` and `{count}`, and in `fold` `{from}`, `{to}`, `{tries}` and
/// `{variations}`.
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

impl CardWords {
    /// What is said of this side's being to move, if it is given.
    pub fn to_move(&self, side: Side) -> Option<&Spanned<String>> {
        match side {
            Side::White => self.white.as_ref(),
            Side::Black => self.black.as_ref(),
        }
    }
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
