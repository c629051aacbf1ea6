//! The closed lists of words a timeline may use, each word with what it means.
//!
//! One macro call makes the reader (`FromStr`), the printer (`Display`) and the list that messages and the schema
//! show, so that the three cannot differ.

use super::forms::FormError;
use super::{CaptionProfile, CardKind, Layout, LineKind, MarkRole, Motion, Notation, ThemeName, ThumbnailDesign};
use crate::diag::nearest;
use std::fmt;
use std::str::FromStr;

/// A word and what it means.
pub type Meaning = (&'static str, &'static str);

/// A type whose values are written as one word out of a closed list.
pub trait Word: FromStr<Err = FormError> + Copy + 'static {
    /// What such a word is called in messages, with its article.
    const KIND: &'static str;
    /// Every word with its meaning, in the order in which they are shown.
    const LIST: &'static [Meaning];
}

#[cfg(test)]
/// All words that a type's values are written as, in the order in which they are shown.
pub fn words_of<T: Word>() -> Vec<&'static str> {
    T::LIST.iter().map(|(word, _)| *word).collect()
}

macro_rules! words {
    ($type:ident, $kind:literal, { $($word:literal => $variant:ident, $meaning:literal;)* }) => {
        impl Word for $type {
            const KIND: &'static str = $kind;
            const LIST: &'static [Meaning] = &[$(($word, $meaning),)*];
        }

        impl FromStr for $type {
            type Err = FormError;

            fn from_str(text: &str) -> Result<$type, FormError> {
                match text {
                    $($word => Ok($type::$variant),)*
                    _ => Err(not_listed::<$type>(text)),
                }
            }
        }

        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(match self { $($type::$variant => $word,)* })
            }
        }
    };
}

words!(ThemeName, "a theme", {
    "dusk" => Dusk, "Violet evening grounds, warm accent.";
    "tide" => Tide, "Deep sea-glass with brass.";
    "ink" => Ink, "Print on paper.";
});

words!(Layout, "a layout", {
    "panel" => Panel, "Board at the left, words in a panel at the right.";
    "lower-third" => LowerThird, "Board above, words in a box below.";
    "overlay" => Overlay, "Board, marks and caption only, for camera footage.";
});

words!(Notation, "a notation", {
    "figurine" => Figurine, "Little pieces instead of letters.";
    "cs" => Czech, "Czech letters: K D V S J.";
    "da" => Danish, "Danish letters: K D T L S.";
    "de" => German, "German letters: K D T L S.";
    "en" => English, "English letters: K Q R B N.";
    "es" => Spanish, "Spanish letters: R D T A C.";
    "et" => Estonian, "Estonian letters: K L V O R.";
    "fi" => Finnish, "Finnish letters: K D T L R.";
    "fr" => French, "French letters: R D T F C.";
    "hu" => Hungarian, "Hungarian letters: K V B F H.";
    "is" => Icelandic, "Icelandic letters: K D H B R.";
    "it" => Italian, "Italian letters: R D T A C.";
    "nl" => Dutch, "Dutch letters: K D T L P.";
    "no" => Norwegian, "Norwegian letters: K D T L S.";
    "pl" => Polish, "Polish letters: K H W G S.";
    "pt" => Portuguese, "Portuguese letters: R D T B C.";
    "ro" => Romanian, "Romanian letters: R D T N C.";
    "sv" => Swedish, "Swedish letters: K D T L S.";
});

words!(CaptionProfile, "a caption profile", {
    "broadcast" => Broadcast, "At most 180 words a minute and 37 characters a line.";
    "online" => Online, "At most 180 words a minute and 68 % of the width.";
    "streaming" => Streaming, "At most 20 characters a second and 42 a line, 5/6 to 7 s.";
});

words!(CardKind, "a card", {
    "title" => Title, "Series, number, title, presenter.";
    "chapter" => Chapter, "The coming chapter.";
    "position" => Position, "The coming position, held while the viewer thinks.";
    "end" => End, "The last words, with room for two links.";
    "credits" => Credits, "Who made what.";
});

words!(Motion, "a kind of motion", {
    "full" => Full, "Pieces glide, marks grow, lists scroll.";
    "calm" => Calm, "Cuts and short fades only.";
});

words!(ThumbnailDesign, "a design", {
    "split" => Split, "Words at the left, the board behind a slanting cut at the right.";
    "portrait" => Portrait, "Words in a column, one piece on its square.";
    "band" => Band, "One line of words in a band above, the board below.";
});

words!(LineKind, "a kind of line", {
    "solution" => Solution, "The solution, or the game.";
    "try" => Try, "What fails.";
    "replay" => Replay, "The solution shown again.";
});

words!(MarkRole, "a mark", {
    "key" => Key, "What matters: a ring with four sight ticks.";
    "threat" => Threat, "What is attacked: four corner darts.";
    "guard" => Guard, "What is protected: corner brackets.";
    "trap" => Trap, "Where not to go: a hatch.";
    "force" => Force, "A line of force: dashes from one square to another.";
    "dot" => Dot, "A small diamond.";
});

/// Says that `text` is none of the words of `T`, and which comes nearest.
fn not_listed<T: Word>(text: &str) -> FormError {
    let known = T::LIST.iter().map(|(word, _)| *word);
    let hint = format!("{} is one of {}", T::KIND, known.clone().collect::<Vec<_>>().join(", "));
    none_of(text, known, format!("not {}", T::KIND)).hint(hint)
}

/// Says that `text` is none of the `known` words, and which comes nearest.
pub(super) fn none_of<'a>(text: &str, known: impl IntoIterator<Item = &'a str>, fact: String) -> FormError {
    match nearest(text, known) {
        Some(word) => FormError::new(fact).hint(format!("the nearest is `{word}`")),
        None => FormError::new(fact),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn each_word_reads_back<T: Word + fmt::Display>() {
        for (word, meaning) in T::LIST {
            assert_eq!(T::from_str(word).unwrap().to_string(), *word);
            assert!(meaning.ends_with('.'), "{word}: the meaning is a sentence");
        }
        assert!(T::from_str("").is_err());
    }

    #[test]
    fn each_word_is_printed_as_it_is_read() {
        each_word_reads_back::<ThemeName>();
        each_word_reads_back::<Layout>();
        each_word_reads_back::<Notation>();
        each_word_reads_back::<CaptionProfile>();
        each_word_reads_back::<CardKind>();
        each_word_reads_back::<ThumbnailDesign>();
        each_word_reads_back::<Motion>();
        each_word_reads_back::<LineKind>();
        each_word_reads_back::<MarkRole>();
    }

    #[test]
    fn a_misspelt_word_names_its_neighbour() {
        let error = Layout::from_str("pannel").unwrap_err();
        assert_eq!(error.fact, "not a layout");
        assert_eq!(error.hints, ["the nearest is `panel`", "a layout is one of panel, lower-third, overlay"]);
    }
}
