//! Chess words set right: what a recogniser hears as `night f three` is `Knight f3`, or `♘f3` by choice.

use crate::units::Role;

/// A word with its times, in whatever unit its holder says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Spoken<T> {
    pub text: String,
    pub start: T,
    pub end: T,
}

/// Puts moves right and leaves all other words as they are. Words that become one keep the first's start and the last's
/// end.
pub(super) fn set_right<T: Copy>(words: &[Spoken<T>], figurines: bool) -> Vec<Spoken<T>> {
    let mut set = Vec::with_capacity(words.len());
    let mut at = 0;
    while at < words.len() {
        let rest = &words[at..];
        let expected = at.checked_sub(1).is_some_and(|before| leads_to_square(&words[before].text, rest));
        let (taken, text) = moved(rest, figurines)
            .or_else(|| square(rest, expected).filter(|(taken, square)| *taken > 1 || bare(&rest[0].text) != *square))
            .map_or_else(
                || (1, rest[0].text.clone()),
                |(taken, text)| (taken, format!("{text}{}", trailing(&rest[taken - 1].text))),
            );
        set.push(Spoken { text, start: rest[0].start, end: rest[taken - 1].end });
        at += taken;
    }
    set
}

/// A piece with its square: how many words, and how they are written.
fn moved<T>(words: &[Spoken<T>], figurines: bool) -> Option<(usize, String)> {
    let role = role(&words[0].text)?;
    if !trailing(&words[0].text).is_empty() {
        return None;
    }
    let link = words.get(1).map(|word| bare(&word.text).to_lowercase()).unwrap_or_default();
    let (skipped, takes) = match link.as_str() {
        "takes" | "captures" | "x" => (1, true),
        "to" => (1, false),
        _ => (0, false),
    };
    if skipped == 1 && words.get(1).is_some_and(|word| !trailing(&word.text).is_empty()) {
        return None;
    }
    let (taken, square) = square(words.get(1 + skipped..)?, true)?;
    let text = match (figurines, takes) {
        (true, true) => format!("{}×{square}", figurine(role)),
        (true, false) => format!("{}{square}", figurine(role)),
        (_, true) => format!("{} takes {square}", capital(role)),
        _ if skipped == 1 => format!("{} to {square}", capital(role)),
        _ => format!("{} {square}", capital(role)),
    };
    Some((1 + skipped + taken, text))
}

/// A square in one word (`F3`) or two (`f 3`, `f three`): how many words, and how it is written. The article before a
/// number is no file, `a three piece ending` or `a 3 piece ending`, unless a square is `expected` or the number ends a
/// group of words: `why not a six, beside the pawn`.
fn square<T>(words: &[Spoken<T>], expected: bool) -> Option<(usize, String)> {
    let first = bare(&words.first()?.text).to_lowercase();
    let mut signs = first.chars();
    let file = signs.next().filter(|sign| ('a'..='h').contains(sign))?;
    let rest: String = signs.collect();
    if !rest.is_empty() {
        return Some((1, format!("{file}{}", rank(&rest)?)));
    }
    let second = words.get(1)?;
    let certain = expected || file != 'a' || !trailing(&second.text).is_empty();
    if !trailing(&words[0].text).is_empty() || !certain {
        return None;
    }
    Some((2, format!("{file}{}", rank(&bare(&second.text).to_lowercase())?)))
}

/// Words before a square.
const LEADING: &[&str] = &["to", "on", "at", "from", "takes", "captures"];

/// What is counted, so that `on a 3 piece ending` is no square.
const COUNTED: &[&str] = &[
    "piece", "pieces", "man", "men", "move", "moves", "mover", "pawn", "pawns", "rook", "rooks", "minute", "minutes",
    "second", "seconds", "hour", "hours", "day", "days", "year", "years", "part", "parts", "point", "points",
];

/// Whether a word says that `a` and a digit behind it are a square: `the king on a 7 is safe`. A number in letters has
/// more meanings.
fn leads_to_square<T>(before: &str, words: &[Spoken<T>]) -> bool {
    let is_counted = |word: &Spoken<T>| COUNTED.contains(&&*bare(&word.text).to_lowercase());
    LEADING.contains(&&*before.to_lowercase())
        && words.get(1).is_some_and(|number| bare(&number.text).bytes().all(|sign| sign.is_ascii_digit()))
        && !words.get(2).is_some_and(is_counted)
}

fn rank(word: &str) -> Option<u8> {
    const WORDS: [&str; 8] = ["one", "two", "three", "four", "five", "six", "seven", "eight"];
    let spoken = WORDS.iter().position(|known| *known == word).map(|index| index as u8 + 1);
    spoken.or_else(|| word.parse().ok()).filter(|rank| (1..=8).contains(rank))
}

/// `night` before a square can only be the piece.
fn role(word: &str) -> Option<Role> {
    let word = bare(word).to_lowercase();
    let heard = if word == "night" { "knight" } else { word.as_str() };
    Role::ALL.into_iter().find(|role| role.to_string() == heard)
}

fn capital(role: Role) -> &'static str {
    match role {
        Role::King => "King",
        Role::Queen => "Queen",
        Role::Rook => "Rook",
        Role::Bishop => "Bishop",
        Role::Knight => "Knight",
        Role::Pawn => "Pawn",
    }
}

/// The figurines of U+2654 to U+2658, as printed for both sides; a pawn has none in a move.
fn figurine(role: Role) -> &'static str {
    match role {
        Role::King => "♔",
        Role::Queen => "♕",
        Role::Rook => "♖",
        Role::Bishop => "♗",
        Role::Knight => "♘",
        Role::Pawn => "",
    }
}

/// A word without the punctuation after it.
fn bare(word: &str) -> &str {
    word.trim_end_matches(|sign: char| !sign.is_alphanumeric())
}

fn trailing(word: &str) -> &str {
    &word[bare(word).len()..]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn right(text: &str, figurines: bool) -> String {
        let words: Vec<Spoken<usize>> = text
            .split(' ')
            .enumerate()
            .map(|(at, word)| Spoken { text: word.to_owned(), start: at, end: at + 1 })
            .collect();
        let set = set_right(&words, figurines);
        assert!(set.windows(2).all(|pair| pair[0].end == pair[1].start), "no time is lost");
        set.into_iter().map(|word| word.text).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn moves_are_written_as_moves() {
        assert_eq!(right("then knight f3, and night f three.", false), "then Knight f3, and Knight f3.");
        assert_eq!(right("rook takes D 6 check", false), "Rook takes d6 check");
        assert_eq!(right("then knight f3, and rook takes d six.", true), "then ♘f3, and ♖×d6.");
        assert_eq!(right("pawn to b5", false), "Pawn to b5");
        assert_eq!(right("King to a seven, rook a one.", false), "King to a7, Rook a1.");
        assert_eq!(right("B five. Why not a six, beside the pawn?", false), "b5. Why not a6, beside the pawn?");
        assert_eq!(right("why not A6, beside the pawn?", false), "why not a6, beside the pawn?");
        assert_eq!(right("the king on A7", true), "the king on a7");
        assert_eq!(right("the king on a 7 is safe", false), "the king on a7 is safe");
    }

    #[test]
    fn other_words_stay() {
        for text in [
            "a knight in the night",
            "a three piece ending",
            "a 3 piece ending",
            "based on a 3 piece ending",
            "The knight walks out",
            "I saw a one",
            "e.g. this",
        ] {
            assert_eq!(right(text, false), text);
        }
    }
}
