//! Every key of the format, in one table: what the reader asks for, what messages list and what the schema says.
//!
//! The reader may only take keys that stand here and must take each of them ([`super::reader::Fields::close`]
//! checks both), and the schema is made from here, so that reader, messages and schema cannot differ.

use super::colours::THEME;
use super::forms::HEIGHT;
use super::words::{Meaning, Word};
use super::{CaptionProfile, CardKind, Layout, LineKind, Motion, Notation, ThemeName, ThumbnailDesign};

/// The keys of one kind of table.
pub(super) struct Keys {
    /// What the table is called in messages.
    pub(super) name: &'static str,
    /// What it is for.
    pub(super) doc: &'static str,
    /// Its keys in the order in which a person would write them.
    pub(super) list: &'static [Key],
    /// The keys without which it means nothing.
    pub(super) required: &'static [&'static str],
}

/// One key.
pub(super) struct Key {
    /// As written.
    pub(super) name: &'static str,
    /// What may stand behind it.
    pub(super) form: Form,
    /// What it is for.
    pub(super) doc: &'static str,
}

/// What may stand behind a key.
#[derive(Clone, Copy)]
pub(super) enum Form {
    /// Any text.
    Text,
    /// A text that says something.
    Filled,
    /// A whole number within bounds, both included.
    Count(u32, u32),
    /// An even whole number within bounds, both included.
    Even(u32, u32),
    /// A number within bounds, both included.
    Ratio(f64, f64),
    /// `true` or `false`.
    Flag,
    /// A point on the film's clock, or a length after the cue before.
    At,
    /// A point on the film's clock.
    Clock,
    /// A length of time.
    Length,
    /// Frames per second.
    Rate,
    /// The shape of the picture.
    Shape,
    /// One of a closed list of words: what it is called, and the list.
    Word(&'static str, &'static [Meaning]),
    /// Moves, spaced in one text or one text each.
    Moves,
    /// One text or several.
    Phrases,
    /// Marks: a role and its squares, one text or several.
    Marks,
    /// Arrows: two squares, one text or several.
    Arrows,
    /// A move with perhaps its side.
    Ghost,
    /// `start`, a label, or a number of plies.
    Back,
    /// A theme's name, a theme file, or a table of colours.
    Theme,
    /// `#RRGGBB`.
    Colour,
    /// A table.
    Table(&'static Keys),
    /// Any number of tables.
    Tables(&'static Keys),
}

impl Form {
    /// What the form accepts, as the object of "takes".
    pub(super) fn accepts(self) -> String {
        match self {
            Form::Text | Form::Filled => "a text in quotes".to_owned(),
            Form::Count(from, to) => format!("a whole number from {from} to {to}"),
            Form::Even(from, to) => format!("an even whole number from {from} to {to}"),
            Form::Ratio(from, to) => format!("a number from {from} to {to}"),
            Form::Flag => "`true` or `false`".to_owned(),
            Form::At => "a time such as `\"1:04.5\"` or `\"+1.5\"`".to_owned(),
            Form::Clock => "a time such as `\"1:04.5\"`".to_owned(),
            Form::Length => "a length of time such as `\"1.1s\"`".to_owned(),
            Form::Rate => "24, 25, 30, 50, 60, or a text such as `\"30000/1001\"`".to_owned(),
            Form::Shape => "`\"wide\"`, `\"tall\"`, `\"square\"`, or a size such as `\"1600x900\"`".to_owned(),
            Form::Word(kind, list) => {
                let words: Vec<String> = list.iter().map(|(word, _)| format!("`\"{word}\"`")).collect();
                format!("{kind}: {}", words.join(", "))
            }
            Form::Moves => "moves such as `\"c7 Rd6+\"`".to_owned(),
            Form::Phrases => "a text in quotes, or an array of them".to_owned(),
            Form::Marks => "a mark such as `\"guard d6\"`, or an array of them".to_owned(),
            Form::Arrows => "an arrow such as `\"c7 c8\"`, or an array of them".to_owned(),
            Form::Ghost => "a move such as `\"c8=Q\"` or `\"b Qa7+\"`".to_owned(),
            Form::Back => "`\"start\"`, a label, or a number of plies".to_owned(),
            Form::Theme => {
                let words: Vec<String> = ThemeName::LIST.iter().map(|(word, _)| format!("`\"{word}\"`")).collect();
                format!("a theme: {}; a file that ends in `.toml`; or a table of colours", words.join(", "))
            }
            Form::Colour => "a colour such as `\"#F7A99A\"`".to_owned(),
            Form::Table(keys) => format!("a table with the keys {}", keys.names()),
            Form::Tables(keys) => format!("tables with the keys {}", keys.names()),
        }
    }
}

impl Keys {
    /// The key of this name.
    pub(super) fn get(&self, name: &str) -> Option<&Key> {
        self.list.iter().find(|key| key.name == name)
    }

    /// All names, for a message.
    pub(super) fn names(&self) -> String {
        self.list.iter().map(|key| key.name).collect::<Vec<_>>().join(", ")
    }
}

pub(super) const fn word<T: Word>() -> Form {
    Form::Word(T::KIND, T::LIST)
}

pub(super) const fn key(name: &'static str, form: Form, doc: &'static str) -> Key {
    Key { name, form, doc }
}

/// Every kind of table, for telling where a misplaced key belongs.
pub(super) const ALL: &[&Keys] = &[&FILE, &FILM, &SCENE, &CUE, &REPLAY, &THUMBNAIL, &THEME, &WORDS];

/// The file itself.
pub(super) static FILE: Keys = Keys {
    name: "the timeline",
    doc: "A film: its settings, its scenes and its thumbnails.",
    list: &[
        key("film", Form::Table(&FILM), "What holds for the whole film."),
        key("scene", Form::Tables(&SCENE), "The scenes in order; each is a chapter."),
        key("thumbnail", Form::Tables(&THUMBNAIL), "Still pictures that announce the film."),
    ],
    required: &["scene"],
};

/// A style file.
pub(super) static STYLE: Keys = Keys {
    name: "the style file",
    doc: "A series' own defaults.",
    list: &[key("film", Form::Table(&STYLE_FILM), "What holds for every film of the series.")],
    required: &[],
};

macro_rules! film_keys {
    ($($own:expr,)*) => {
        &[
            key("title", Form::Text, "The film's title."),
            key("series", Form::Text, "The series it belongs to."),
            key("number", Form::Count(0, 9999), "Its number in the series."),
            key("presenter", Form::Text, "Who presents."),
            key("voice", Form::Text, "Whose voice it is, if not the presenter's."),
            key("music", Form::Text, "Whose music."),
            $($own,)*
            key("frame", Form::Shape, "The shape of the picture; wide if not given."),
            key(
                "height",
                Form::Even(HEIGHT.0, HEIGHT.1),
                "Lines (wide, square) or width (tall) in pixels; 1080 if not given.",
            ),
            key("fps", Form::Rate, "Frames per second; 30 if not given."),
            key("theme", Form::Theme, "The colours: a theme, a theme file, or colours of its own; dusk if not given."),
            key("pieces", Form::Filled, "A file with pieces of its own, a path relative to this file."),
            key("fonts", Form::Filled, "A folder with fonts of its own, a path relative to this file."),
            key("layout", word::<Layout>(), "Where board and words stand; panel if not given."),
            key("notation", word::<Notation>(), "How pieces are written in move lists; figurine if not given."),
            key("captions", word::<CaptionProfile>(), "Whose limits for reading captions hold."),
            key("motion", word::<Motion>(), "How much moves; full if not given."),
            key("words", Form::Table(&WORDS), "The words that plyreel itself puts on cards."),
            key("description", Form::Filled, "A file with the template of the description, a path relative to this file."),
            key("ends", Form::Clock, "Where the film ends, if neither with the narration nor with the last cue."),
            key("rest", Form::Length, "What a cue without a time waits after the motion before it; 1.2 s if not given."),
        ]
    };
}

/// `[film]`.
pub(super) static FILM: Keys = Keys {
    name: "[film]",
    doc: "What holds for the whole film.",
    list: film_keys![
        key("narration", Form::Filled, "The recording, a path relative to this file."),
        key("style", Form::Filled, "A file with the series' own defaults, a path relative to this file."),
        key("syzygy", Form::Filled, "A folder of Syzygy tables for the claims, a path relative to this file."),
    ],
    required: &[],
};

/// `[film]` in a style file: a film's own recording and the style itself have no place there.
pub(super) static STYLE_FILM: Keys = Keys {
    name: "[film] in a style file",
    doc: "What holds for every film of the series.",
    list: film_keys![],
    required: &[],
};

/// `[[scene]]`.
pub(super) static SCENE: Keys = Keys {
    name: "[[scene]]",
    doc: "One composition, game, replay or card.",
    list: &[
        key("name", Form::Filled, "The chapter's title."),
        key("at", Form::At, "When it begins; after the scene before if not given."),
        key("fen", Form::Filled, "The position; the initial array if neither `fen` nor `pgn` is given."),
        key("pgn", Form::Filled, "A PGN file, a path relative to this file."),
        key("game", Form::Count(1, 1_000_000), "Which game of the PGN file, from 1; the first if not given."),
        key("replay", Form::Table(&REPLAY), "An earlier scene's line again, slowly."),
        key("card", word::<CardKind>(), "A card instead of a scene with moves."),
        key("task", Form::Text, "The stipulation, such as `White to play and win`."),
        key("credit", Form::Text, "Author, source and year."),
        key("text", Form::Text, "The words of a card."),
        key("ring", Form::Length, "How long the ring of a position card counts down to its end."),
        key("cues", Form::Tables(&CUE), "What happens, in order."),
    ],
    required: &[],
};

/// `words = { … }` of `[film]`.
pub(super) static WORDS: Keys = Keys {
    name: "`words` of [film]",
    doc: "The words that plyreel itself puts on cards and into the list of moves; `{n}` and its like stand for numbers.",
    list: &[
        key("position", Form::Text, "Above a position card; `Position {n} of {count}` if not given."),
        key("chapter", Form::Text, "Above a chapter card; `Chapter {n} of {count}` if not given."),
        key("pause", Form::Text, "Beside the ring of a position card; `Pause and think` if not given."),
        key("credits", Form::Text, "Over a list of credits; `Credits` if not given."),
        key("presenter", Form::Text, "What the presenter is called there; `Presented by` if not given."),
        key("voice", Form::Text, "What the voice is called there; `Voice` if not given."),
        key("music", Form::Text, "What the music is called there; `Music` if not given."),
        key("try", Form::Text, "Before a try in the list of moves; `TRY` if not given."),
        key("or", Form::Text, "Before another way there; `OR` if not given."),
        key("stalemate", Form::Text, "After a line that ends in it; `stalemate` if not given."),
        key(
            "fold",
            Form::Text,
            "For what the list has no room for: `moves {from} – {to} · {tries} tries · {variations} variations` if not \
             given. A part between two `·` is left out where there is nothing of what it counts.",
        ),
        key("white", Form::Text, "Where a scene has no task; `White to move` if not given."),
        key("black", Form::Text, "The same with Black to move; `Black to move` if not given."),
    ],
    required: &[],
};

/// `replay = { … }`.
pub(super) static REPLAY: Keys = Keys {
    name: "a replay",
    doc: "An earlier scene's line again, slowly.",
    list: &[
        key("scene", Form::Filled, "The name of an earlier scene."),
        key("line", Form::Filled, "Which of its lines; `solution` if not given."),
        key("pace", Form::Ratio(0.1, 1.0), "Speed against the ordinary; 0.35 if not given."),
    ],
    required: &["scene"],
};

/// One entry of `cues`.
pub(super) static CUE: Keys = Keys {
    name: "a cue",
    doc: "Something that happens at a time.",
    list: &[
        key("at", Form::At, "When the piece starts to move or the mark to appear."),
        key("play", Form::Moves, "The moves to play, in SAN; `!` and `?` are welcome."),
        key("every", Form::Length, "From one move's start to the next's."),
        key("line", word::<LineKind>(), "What the moves belong to from here on."),
        key("label", Form::Filled, "A name for the position after this cue's moves."),
        key("back", Form::Back, "Where to return to: `start`, a label, or a number of plies."),
        key("cut", Form::Flag, "With `back`: jump instead of taking the moves back."),
        key("marks", Form::Marks, "Marks on squares, such as `guard d6 e6`."),
        key("arrows", Form::Arrows, "Arrows, such as `c7 c8`, `plan c7 c8` (hollow) or `b c7 c8` (Black's)."),
        key("ghost", Form::Ghost, "A move shown but not played, such as `c8=Q` or `b Qa7+`."),
        key("text", Form::Text, "The caption from here on; empty clears it."),
        key("claim", Form::Phrases, "What the film claims of the position after this cue's moves; it is proven."),
        key("for", Form::Length, "How long marks, arrows and ghost stay; until the next board action if not given."),
        key("rest", Form::Length, "What the next cue, if it has no time, waits after this one's motion."),
    ],
    required: &[],
};

/// `[[thumbnail]]`.
pub(super) static THUMBNAIL: Keys = Keys {
    name: "[[thumbnail]]",
    doc: "A still picture that announces the film.",
    list: &[
        key("scene", Form::Filled, "The name of a scene."),
        key("moment", Form::Filled, "A label in it."),
        key("at", Form::Clock, "Or a time."),
        key("words", Form::Text, "The words, an accented one between asterisks; the last one if none is."),
        key(
            "design",
            word::<ThumbnailDesign>(),
            "How words and board share the picture; chosen by what is shown if not given.",
        ),
        key("marks", Form::Marks, "Marks on squares."),
        key("arrows", Form::Arrows, "Arrows."),
        key("theme", word::<ThemeName>(), "A theme of its own."),
    ],
    required: &[],
};
