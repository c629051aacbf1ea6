//! Chess words set right: what a recogniser hears as `night f three` is `knight f3`, or `♘f3` by choice.

use super::tongue::{Tongue, bare, digit};
use crate::units::Role;

/// A word with its times, in whatever unit its holder says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Spoken<T> {
    pub text: String,
    pub start: T,
    pub end: T,
}

/// Puts moves right and leaves all other words as they are, capitals too: only the speaker knows where a sentence
/// begins. Words that become one keep the first's start and the last's end.
pub(super) fn set_right<T: Copy>(words: &[Spoken<T>], figurines: bool, tongue: &Tongue) -> Vec<Spoken<T>> {
    let mut set = Vec::with_capacity(words.len());
    let mut at = 0;
    while at < words.len() {
        let rest = &words[at..];
        let expected = at.checked_sub(1).is_some_and(|before| leads_to_square(&words[before].text, rest, tongue));
        let differs = |(taken, square): &(usize, String)| *taken > 1 || bare(&rest[0].text) != *square;
        let (taken, text) =
            moved(rest, figurines, tongue).or_else(|| square(rest, expected, tongue).filter(differs)).map_or_else(
                || (1, rest[0].text.clone()),
                |(taken, text)| (taken, format!("{text}{}", trailing(&rest[taken - 1].text))),
            );
        set.push(Spoken { text, start: rest[0].start, end: rest[taken - 1].end });
        at += taken;
    }
    set
}

/// A man with his square: how many words, and how they are written.
fn moved<T>(words: &[Spoken<T>], figurines: bool, tongue: &Tongue) -> Option<(usize, String)> {
    let first = &words[0].text;
    let (role, meant) = tongue.man(first)?;
    let link = |at: usize| words.get(at).map(|word| word.text.to_lowercase()).unwrap_or_default();
    let taking = link(1);
    let takes = taking == "x" || tongue.takes.contains(&&*taking);
    let before = 1 + usize::from(takes);
    let leads = link(before) == if takes { tongue.onto } else { tongue.to };
    let before = before + usize::from(leads);
    let (taken, square) = square(words.get(before..)?, true, tongue)?;
    let text = if figurines {
        format!("{}{}{square}", figurine(role), if takes { "×" } else { "" })
    } else {
        let name = meant.map_or_else(|| first.clone(), |meant| in_case_of(first, meant));
        let links = words[1..before].iter().map(|word| match word.text.as_str() {
            "x" | "X" => tongue.takes[0],
            said => said,
        });
        [name.as_str()].into_iter().chain(links).chain([square.as_str()]).collect::<Vec<_>>().join(" ")
    };
    Some((before + taken, text))
}

/// A square in one word (`F3`) or two (`f 3`, `f three`): how many words, and how it is written. The article before a
/// number is no file, `a three piece ending` or `a 3 piece ending`, unless a square is `expected` or the number ends a
/// group of words: `why not a six, beside the pawn`.
fn square<T>(words: &[Spoken<T>], expected: bool, tongue: &Tongue) -> Option<(usize, String)> {
    let first = bare(&words.first()?.text).to_lowercase();
    let mut signs = first.chars();
    let file = signs.next().filter(|sign| ('a'..='h').contains(sign))?;
    let rest = signs.as_str();
    if !rest.is_empty() {
        return Some((1, format!("{file}{}", digit(rest)?)));
    }
    let second = words.get(1)?;
    let certain = expected || tongue.article != Some(file) || !trailing(&second.text).is_empty();
    if !trailing(&words[0].text).is_empty() || !certain {
        return None;
    }
    Some((2, format!("{file}{}", tongue.rank(&bare(&second.text).to_lowercase())?)))
}

/// Whether a word says that `a` and a digit behind it are a square: `the king on a 7 is safe`. A number in letters has
/// more meanings.
fn leads_to_square<T>(before: &str, words: &[Spoken<T>], tongue: &Tongue) -> bool {
    let is_counted = |word: &Spoken<T>| tongue.counted.contains(&&*bare(&word.text).to_lowercase());
    tongue.leading.contains(&&*before.to_lowercase())
        && words.get(1).is_some_and(|number| bare(&number.text).bytes().all(|sign| sign.is_ascii_digit()))
        && !words.get(2).is_some_and(is_counted)
}

/// A word with a capital where what was said has one.
fn in_case_of(said: &str, word: &str) -> String {
    let mut signs = word.chars();
    match signs.next() {
        Some(first) if said.starts_with(char::is_uppercase) => first.to_uppercase().chain(signs).collect(),
        _ => word.to_owned(),
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

fn trailing(word: &str) -> &str {
    &word[bare(word).len()..]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn right(text: &str, figurines: bool) -> String {
        said("en", text, figurines)
    }

    fn said(language: &str, text: &str, figurines: bool) -> String {
        let words: Vec<Spoken<usize>> = text
            .split(' ')
            .enumerate()
            .map(|(at, word)| Spoken { text: word.to_owned(), start: at, end: at + 1 })
            .collect();
        let set = set_right(&words, figurines, Tongue::named(language));
        assert!(set.windows(2).all(|pair| pair[0].end == pair[1].start), "no time is lost");
        set.into_iter().map(|word| word.text).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn moves_are_written_as_moves() {
        assert_eq!(right("then knight f3, and night f three.", false), "then knight f3, and knight f3.");
        assert_eq!(right("Night f three. We begin with pawn to f 7.", false), "Knight f3. We begin with pawn to f7.");
        assert_eq!(right("If king x f 5, rook takes on g one", false), "If king takes f5, rook takes on g1");
        assert_eq!(right("rook takes D 6 check", false), "rook takes d6 check");
        assert_eq!(right("then knight f3, and rook takes d six.", true), "then ♘f3, and ♖×d6.");
        assert_eq!(right("pawn to b5", false), "pawn to b5");
        assert_eq!(right("King to a seven, rook a one.", false), "King to a7, rook a1.");
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

    #[test]
    fn german_moves_are_written_as_moves() {
        let german = |text, figurines| said("de", text, figurines);
        assert_eq!(german("Der Bauer geht nach f sieben.", false), "Der Bauer geht nach f7.");
        assert_eq!(german("Turm e sechs, König nach a acht, g fünf", false), "Turm e6, König nach a8, g5");
        assert_eq!(german("Springer schlägt auf e vier.", false), "Springer schlägt auf e4.");
        assert_eq!(german("Springer schlägt auf e vier, Läufer nach c zwo.", true), "♘×e4, ♗c2.");
        let talk = "Die Dame geht eins weiter, und der König ist nicht allein.";
        assert_eq!(german(talk, false), talk);
        let heard = Tongue::of(talk.split(' ')).unwrap();
        assert_eq!(heard.rank("sieben"), Some(7));
        assert!(Tongue::of("la dame prend la tour".split(' ')).is_none(), "neither");
        let heard = Tongue::of("the king is on his way".split(' ')).unwrap();
        assert_eq!((heard.rank("sieben"), heard.rank("seven")), (None, Some(7)));
    }

    /// Words that hold a file and a number in letters, and all that is said in the narrations.
    #[test]
    fn a_file_and_a_number_in_letters_are_no_square_in_one_word() {
        let mut words: Vec<String> = "gone done bone cone hone Gone, Well d1ne begone alone one-way dacht acht Macht \
             bacht hacht wacht beins feins fate gate date hate bate late ate for be see sea he eh B12 a9 +3 a+3 a03 g-one"
            .split_whitespace()
            .map(str::to_owned)
            .collect();
        let narrations = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/narrations");
        for folder in ["tuned", "untouched"] {
            for file in std::fs::read_dir(format!("{narrations}/{folder}")).unwrap() {
                let path = file.unwrap().path();
                if path.extension().is_some_and(|ending| ending == "txt") {
                    words.extend(std::fs::read_to_string(path).unwrap().split_whitespace().map(str::to_owned));
                }
            }
        }
        assert!(words.len() > 2000, "{}", words.len());
        let is_square = |word: &str| matches!(bare(word).as_bytes(), [b'a'..=b'h' | b'A'..=b'H', b'1'..=b'8']);
        for word in words.iter().filter(|word| !is_square(word)) {
            for language in ["en", "de"] {
                assert_eq!(said(language, word, true), *word);
            }
        }
    }
}
