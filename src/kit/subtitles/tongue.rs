//! The words of spoken moves, language by language, as far as subtitles need them to set squares right.

use crate::units::Role;

/// The words of one language. All are in small letters.
pub(in crate::kit) struct Tongue {
    /// Its name, as ISO 639-1 has it.
    pub name: &'static str,
    /// What the men are called; behind the name what a recogniser writes in its place.
    men: [(Role, &'static [&'static str]); 6],
    /// What the ranks are called, from the first.
    ranks: [&'static [&'static str]; 8],
    /// What takes, the usual word first.
    pub takes: &'static [&'static str],
    /// Stands between the taking and the square, as in `takes on e4`.
    pub onto: &'static str,
    /// Stands between a man and the square he goes to.
    pub to: &'static str,
    /// Words before a square.
    pub leading: &'static [&'static str],
    /// What is counted, so that `on a 3 piece ending` is no square.
    pub counted: &'static [&'static str],
    /// The article that is also a file.
    pub article: Option<char>,
    /// Frequent words by which the language is known.
    marks: &'static [&'static str],
}

/// The languages there are; where they are heard alike, the first.
const TONGUES: &[Tongue] = &[
    Tongue {
        name: "en",
        men: [
            (Role::King, &["king"]),
            (Role::Queen, &["queen"]),
            (Role::Rook, &["rook"]),
            (Role::Bishop, &["bishop"]),
            // Before a square, `night` can only be the man.
            (Role::Knight, &["knight", "night"]),
            (Role::Pawn, &["pawn"]),
        ],
        ranks: [&["one"], &["two"], &["three"], &["four"], &["five"], &["six"], &["seven"], &["eight"]],
        takes: &["takes", "captures"],
        onto: "on",
        to: "to",
        leading: &["to", "on", "at", "from", "takes", "captures"],
        counted: &[
            "piece", "pieces", "man", "men", "move", "moves", "mover", "pawn", "pawns", "rook", "rooks", "minute",
            "minutes", "second", "seconds", "hour", "hours", "day", "days", "year", "years", "part", "parts", "point",
            "points",
        ],
        article: Some('a'),
        marks: &["the", "and", "is", "of", "to", "with", "king", "queen", "rook", "bishop", "knight", "takes"],
    },
    Tongue {
        name: "de",
        men: [
            (Role::King, &["könig"]),
            (Role::Queen, &["dame"]),
            (Role::Rook, &["turm"]),
            (Role::Bishop, &["läufer"]),
            (Role::Knight, &["springer"]),
            (Role::Pawn, &["bauer"]),
        ],
        ranks: [
            &["eins"],
            &["zwei", "zwo"],
            &["drei"],
            &["vier"],
            &["fünf", "fuenf"],
            &["sechs"],
            &["sieben"],
            &["acht"],
        ],
        takes: &["schlägt", "nimmt"],
        onto: "auf",
        to: "nach",
        leading: &["nach", "auf", "von", "schlägt", "nimmt"],
        counted: &[],
        article: None,
        marks: &["der", "die", "das", "und", "ist", "nicht", "nach", "könig", "turm", "läufer", "springer"],
    },
];

impl Tongue {
    /// The language whose words are heard most; `None` if none is heard.
    pub(in crate::kit) fn of<'a>(words: impl Iterator<Item = &'a str>) -> Option<&'static Tongue> {
        let mut heard = [0_usize; TONGUES.len()];
        for word in words {
            let word = bare(word).to_lowercase();
            for (count, tongue) in heard.iter_mut().zip(TONGUES) {
                *count += usize::from(tongue.marks.contains(&word.as_str()));
            }
        }
        let most = heard.iter().copied().max().filter(|most| *most > 0)?;
        heard.iter().position(|count| *count == most).map(|at| &TONGUES[at])
    }

    /// The one to begin with where nothing tells them apart.
    pub(in crate::kit) fn usual() -> &'static Tongue {
        &TONGUES[0]
    }

    /// A man, and what he is to be called where the recogniser heard something else.
    pub fn man(&self, word: &str) -> Option<(Role, Option<&'static str>)> {
        let word = word.to_lowercase();
        let (role, names) = self.men.iter().find(|(_, names)| names.contains(&word.as_str()))?;
        Some((*role, names.first().copied().filter(|name| *name != word)))
    }

    /// A rank, as a digit or in letters.
    pub fn rank(&self, word: &str) -> Option<u8> {
        let spoken = self.ranks.iter().position(|names| names.contains(&word)).map(|index| index as u8 + 1);
        spoken.or_else(|| digit(word))
    }
}

#[cfg(test)]
impl Tongue {
    pub fn named(name: &str) -> &'static Tongue {
        TONGUES.iter().find(|tongue| tongue.name == name).unwrap()
    }
}

/// A rank as a digit, which is all that may be run together with its file: `gone` is no square.
pub(super) fn digit(word: &str) -> Option<u8> {
    match word.as_bytes() {
        [rank @ b'1'..=b'8'] => Some(rank - b'0'),
        _ => None,
    }
}

/// A word without the punctuation after it.
pub(super) fn bare(word: &str) -> &str {
    word.trim_end_matches(|sign: char| !sign.is_alphanumeric())
}
