//! Where a text may be broken, into subtitles and into lines.
//!
//! BBC Subtitle Guidelines §3.4: at punctuation; never after an article, a preposition, a conjunction or a pronoun,
//! never inside what belongs together. Nor, in our trade, between a piece and its square.

use crate::film::Room;

/// Words after which a line does not end: what they belong to follows.
const LEADING: &[&str] = &[
    "a", "an", "the", "of", "in", "on", "at", "to", "by", "for", "with", "from", "into", "over", "under", "after",
    "before", "and", "or", "but", "nor", "so", "that", "which", "who", "if", "when", "while", "because", "as", "than",
    "i", "you", "he", "she", "it", "we", "they", "his", "her", "its", "our", "their", "my", "your", "this", "these",
    "is", "are", "was", "were", "will", "would", "can", "could", "may", "must", "has", "have", "had", "not", "no",
    "be", "takes", "white", "black",
];

/// Words that belong to the square behind them.
const PIECES: &[&str] = &["king", "queen", "rook", "bishop", "knight", "pawn", "takes", "to"];

/// Words before which a line may well end: they open a new group.
const OPENING: &[&str] = &[
    "and", "or", "but", "because", "that", "which", "who", "if", "when", "while", "after", "before", "with", "from",
    "to", "in", "on", "at", "for", "by", "into", "then",
];

/// Words that belong to the verb before them.
const PARTICLES: &[&str] = &["off", "up", "down", "out", "away", "back", "through"];

/// How bad a break between two words is, 0 (a sentence ends) to 6.
pub(super) fn badness(before: &str, after: &str) -> f64 {
    let closed = before.trim_end_matches(['"', '\'', '”', '’', ')', '»']);
    if closed.ends_with(['.', '!', '?', '…']) {
        return 0.0;
    }
    if closed.ends_with([',', ';', ':', '–', '—']) {
        return 0.4;
    }
    let plain = |word: &str| word.to_lowercase().trim_matches(|sign: char| !sign.is_alphanumeric()).to_owned();
    let (before, after) = (plain(before), plain(after));
    // `f3`, or `f three`.
    let place = after.len() <= 2 && after.starts_with(|file| ('a'..='h').contains(&file)) && after != "a";
    if LEADING.contains(&before.as_str()) || (place && PIECES.contains(&before.as_str())) {
        return 6.0;
    }
    if PARTICLES.contains(&after.as_str()) {
        return 5.0;
    }
    if OPENING.contains(&after.as_str()) { 1.0 } else { 2.0 }
}

/// A text in lines, as few as can be, of about the same length, broken where it reads well; `None` if it does not fit
/// into the room. A single word that is too long has a line of its own.
pub(super) fn lines(words: &[&str], room: Room) -> Option<Vec<String>> {
    (1..=room.lines).find_map(|count| best(words, count, room.characters)).map(|(_, lines)| lines)
}

/// The best way to set words in exactly `count` lines, and how bad it is.
fn best(words: &[&str], count: usize, characters: usize) -> Option<(f64, Vec<String>)> {
    let length = |words: &[&str]| words.iter().map(|word| word.chars().count() + 1).sum::<usize>().saturating_sub(1);
    if count == 1 {
        let fits = !words.is_empty() && (length(words) <= characters || words.len() == 1);
        return fits.then(|| (0.0, vec![words.join(" ")]));
    }
    let share = length(words) as f64 / count as f64;
    let mut found: Option<(f64, Vec<String>)> = None;
    for cut in 1..words.len() {
        let (first, rest) = words.split_at(cut);
        if length(first) > characters && first.len() > 1 {
            break;
        }
        let Some((worse, lines)) = best(rest, count - 1, characters) else { continue };
        let uneven = (length(first) as f64 - share).abs() / characters as f64 * 3.0;
        let cost = worse + badness(words[cut - 1], words[cut]) + uneven;
        if found.as_ref().is_none_or(|(least, _)| cost < *least) {
            let mut all = vec![first.join(" ")];
            all.extend(lines);
            found = Some((cost, all));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(text: &str, characters: usize, lines_at_once: usize) -> Option<Vec<String>> {
        lines(&text.split(' ').collect::<Vec<_>>(), Room { characters, lines: lines_at_once })
    }

    #[test]
    fn lines_end_where_the_sense_does() {
        assert_eq!(
            set("On the c-file the rook cuts off the king.", 34, 2).unwrap(),
            ["On the c-file the rook", "cuts off the king."]
        );
        assert_eq!(set("In front of everyone.", 34, 2).unwrap(), ["In front of everyone."]);
        let lines = set("He could have gone to the left, but the Knight f3 was in his way", 37, 2).unwrap();
        assert_eq!(lines, ["He could have gone to the left,", "but the Knight f3 was in his way"]);
    }

    #[test]
    fn what_does_not_fit_is_not_set() {
        assert_eq!(set("far too many words for so little room as this", 10, 2), None);
        assert_eq!(set("Donaudampfschifffahrt", 10, 2).unwrap(), ["Donaudampfschifffahrt"]);
    }
}
