//! Turns of speech as a language file writes them, and where they stand in what is said.
//!
//! A pattern is words in a row: `a|b` is either word, `..` up to three words of any kind, `#piece` a piece's name.

use super::language::Class;
use super::token::Token;
use std::ops::Range;

/// The most words that `..` passes over.
const GAP: usize = 3;

/// One turn of speech.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Pattern(Vec<Part>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Part {
    Either(Vec<String>),
    Gap,
    Piece,
}

/// Every turn of speech of a language, by what it says.
#[derive(Clone, Debug, Default)]
pub(super) struct Patterns {
    pub en_passant: Vec<Pattern>,
    pub start: Vec<Pattern>,
    pub again: Vec<Pattern>,
    pub undo: Vec<Pattern>,
    pub back: Vec<Pattern>,
    pub main: Vec<Pattern>,
    pub aside: Vec<Pattern>,
    pub turn: Vec<Pattern>,
    pub no_return: Vec<Pattern>,
    pub better: Vec<Pattern>,
    pub named: Vec<Pattern>,
    pub verdict: Vec<Pattern>,
    pub after: Vec<Pattern>,
    pub leave: Vec<Pattern>,
    pub scene: Vec<Pattern>,
    pub threat: Vec<Pattern>,
    pub never: Vec<Pattern>,
    pub reason: Vec<Pattern>,
    pub maybe: Vec<Pattern>,
    pub look: Vec<Pattern>,
    pub given: Vec<Pattern>,
    pub slip: Vec<Pattern>,
    pub unplayed: Vec<Pattern>,
    pub only_move: Vec<Pattern>,
    pub two_squares: Vec<Pattern>,
    pub failing: Vec<Pattern>,
    pub right: Vec<Pattern>,
}

impl Pattern {
    /// Compiles a line of a language file.
    pub fn new(line: &str) -> Pattern {
        let part = |word: &str| match word {
            ".." => Part::Gap,
            "#piece" => Part::Piece,
            // A word's own `'s` is cut off where no word is known with it: `let's` is heard as `let`.
            word => {
                let words = word.split('|').map(str::to_lowercase);
                let cut = |word: String| {
                    let bare = word.strip_suffix("'s").map(str::to_owned);
                    bare.into_iter().chain([word])
                };
                Part::Either(words.flat_map(cut).collect())
            }
        };
        Pattern(line.split_whitespace().map(part).collect())
    }

    /// The token after the turn of speech, if it begins at `at`.
    fn end(parts: &[Part], tokens: &[Token], at: usize) -> Option<usize> {
        let Some((first, rest)) = parts.split_first() else { return Some(at) };
        if *first == Part::Gap {
            return (0..=GAP).find_map(|gap| Pattern::end(rest, tokens, at + gap));
        }
        let token = tokens.get(at)?;
        let fits = match first {
            Part::Either(words) => words.contains(&token.text),
            Part::Piece => token.readings.iter().any(|reading| matches!(reading.class, Class::Piece(_))),
            Part::Gap => unreachable!("a gap was dealt with above"),
        };
        if fits { Pattern::end(rest, tokens, at + 1) } else { None }
    }
}

/// Everywhere that one of these turns of speech stands, in order; at one place the longest.
pub(super) fn places(patterns: &[Pattern], tokens: &[Token]) -> Vec<Range<usize>> {
    let at = |start: usize| {
        let ends = patterns.iter().filter_map(|pattern| Pattern::end(&pattern.0, tokens, start));
        ends.filter(|end| *end > start).max().map(|end| start..end)
    };
    (0..tokens.len()).filter_map(at).collect()
}
