//! A composition's credit, taken apart: author, source, year; and whether it seems to have been published at all.

use super::material::Material;
use crate::diag::{Code, Diagnostic};

/// `A. Composer, Club Bulletin 1931` in its parts; what cannot be told is empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Credit {
    /// As PGN names people: `Composer, A.`, several joined by `:` (PGN standard 1994, §8.1.1.4).
    pub author: String,
    /// The other side, where two people played.
    pub opponent: Option<String>,
    /// Without the year.
    pub source: String,
    pub year: Option<u32>,
}

impl Credit {
    pub(super) fn read(text: &str) -> Credit {
        let text = text.trim();
        let year = year(text);
        let (people, rest) = match text.split_once(',') {
            Some((people, rest)) => (people.trim(), rest.trim()),
            None if is_name(text) => (text, ""),
            None => ("", text),
        };
        // `A – B` are two who played; `A and B` two who composed.
        let (author, opponent) = match people.split_once(" – ").or_else(|| people.split_once(" - ")) {
            Some((white, black)) => (pgn_names(white), Some(pgn_names(black))),
            None => (pgn_names(people), None),
        };
        let source = match year {
            Some(year) => {
                let year = year.to_string();
                rest.strip_suffix(&year).unwrap_or(rest).trim().trim_end_matches(',').trim()
            }
            None => rest,
        };
        // That it is an original says that it was printed nowhere.
        let source = if is_original(source) { "" } else { source };
        Credit { author, opponent, source: source.to_owned(), year }
    }
}

/// Whether these words say nothing but that a composition was never published.
fn is_original(source: &str) -> bool {
    ["original", "an original", "original composition", "urdruck"].contains(&&*source.to_lowercase())
}

/// The last number of four digits that can be a year of a printed composition.
fn year(text: &str) -> Option<u32> {
    let numbers = text.split(|sign: char| !sign.is_ascii_digit()).filter(|digits| digits.len() == 4);
    numbers.filter_map(|digits| digits.parse().ok()).rfind(|year| (1000..=2199).contains(year))
}

/// Whether these words alone can be a person's name: each begins with a capital, and there are two to four.
fn is_name(text: &str) -> bool {
    let words: Vec<&str> = text.split_whitespace().collect();
    (2..=4).contains(&words.len())
        && words.iter().all(|word| word.chars().next().is_some_and(char::is_uppercase))
        && !text.contains(char::is_numeric)
}

fn pgn_names(people: &str) -> String {
    people.replace(" & ", " and ").split(" and ").map(|name| pgn_name(name.trim())).collect::<Vec<_>>().join(":")
}

/// Small words that are part of a family's name.
const PARTICLES: &[&str] = &[
    "van", "von", "de", "der", "den", "del", "della", "di", "da", "dos", "du", "la", "le", "af", "av", "ten", "ter",
    "zu", "zum", "zur", "y", "e", "i", "bin", "ibn", "al", "dem", "vom", "do", "das", "el", "ben", "'t",
];

/// `A. Composer` as `Composer, A.`, where it is plain which is which; anything else stays as it is: `A. Composer after an
/// idea by a friend` is no name.
fn pgn_name(name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    let initials = words.iter().take_while(|word| word.ends_with('.')).count();
    let family = &words[initials..];
    let capital = |word: &str| word.chars().next().is_some_and(char::is_uppercase);
    // `d'Orville` too.
    let elided =
        |word: &str| word.split_once(['\'', '’']).is_some_and(|(article, name)| article.len() == 1 && capital(name));
    let named = |word: &&str| capital(word) || elided(word) || PARTICLES.contains(word);
    let is_family = family.len() <= 4
        && family.iter().all(named)
        && family.last().is_some_and(|word| word.chars().next().is_some_and(char::is_uppercase));
    let first = if initials > 0 && is_family {
        initials
    } else if words.len() == 2 && words.iter().all(|word| word.chars().next().is_some_and(char::is_uppercase)) {
        1
    } else {
        return name.to_owned();
    };
    format!("{}, {}", words[first..].join(" "), words[..first].join(" "))
}

/// Remarks on compositions that seem never to have been published: neither source with year, or called original.
/// Showing one counts as its publication (Codex for Chess Composition, art. 20(2)(c)).
pub(super) fn check(material: &Material, diagnostics: &mut Vec<Diagnostic>) {
    for position in material.positions().filter(|position| !position.is_game()) {
        let Some(words) = &position.board.credit else { continue };
        let credit = Credit::read(&words.text);
        let mut said = words.text.split(|sign: char| !sign.is_alphabetic()).map(str::to_lowercase);
        let original = said.any(|word| word == "original" || word == "urdruck");
        if credit.year.is_some() && !original {
            continue;
        }
        let fact = if original { "it is called an original" } else { "no year of publication in the credit" };
        let message =
            format!("`{}` may be an unpublished original: to show it is to publish it", position.chapter.name);
        diagnostics.push(
            Diagnostic::warning(Code::Unpublished, words.span, message)
                .label(fact)
                .hint("with the author's consent, or with source and year: `A. Composer, Club Bulletin 1931`"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_credit_is_taken_apart() {
        let credit = Credit::read("A. Composer and B. Second, Club Bulletin, 1931");
        assert_eq!(credit.author, "Composer, A.:Second, B.");
        assert_eq!((credit.source.as_str(), credit.year), ("Club Bulletin", Some(1931)));
        let played = Credit::read("Anna First – Max van Second, Club match 1988");
        assert_eq!(played.author, "First, Anna");
        assert_eq!(played.opponent.as_deref(), Some("Max van Second"));
        let words = Credit::read("Made for this lesson");
        assert_eq!((words.author.as_str(), words.source.as_str(), words.year), ("", "Made for this lesson", None));
        assert_eq!(Credit::read("Leonid Kubbel").author, "Kubbel, Leonid");
        assert_eq!(Credit::read("H. van der Lamp, Bulletin 1931").author, "van der Lamp, H.");
    }

    #[test]
    fn what_is_no_name_is_taken_as_it_is_written() {
        let credit = Credit::read("A. Zum-Ofen nach bekanntem Vorbild, Kaminrundschau 2026, 1. ehrende Erwähnung");
        assert_eq!(credit.author, "A. Zum-Ofen nach bekanntem Vorbild");
        assert_eq!(credit.source, "Kaminrundschau 2026, 1. ehrende Erwähnung");
        for text in ["A. Composer, original, 2026", "A. Composer, Urdruck 2026", "A. Composer, original"] {
            let credit = Credit::read(text);
            assert_eq!((credit.author.as_str(), credit.source.as_str()), ("Composer, A.", ""), "{text}");
        }
        assert_eq!(Credit::read("A. Composer, The Original Bulletin 2026").source, "The Original Bulletin");
    }
}
