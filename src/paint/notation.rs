//! Moves and words as they are set: SAN's English letters become figurines or a language's own letters, and typed
//! stand-ins become the right characters.

use crate::film::ListMove;
use crate::timeline::Notation;
use crate::units::{Role, Side};

/// A move as it is set, without its number: `c8=♖!`, `O–O`, `Dxd5+`.
pub fn san(san: &str, notation: Notation) -> String {
    if san.starts_with("O-O") {
        return san.replace('-', "–");
    }
    san.chars()
        .map(|letter| match Role::ALL.into_iter().find(|role| *role != Role::Pawn && role.letter() == letter) {
            Some(role) => sign(role, notation),
            None => letter,
        })
        .collect()
}

/// A move with its number where it needs one: White's moves, and the first of a line: `6.c8=♕?`, `33…♖a3+?`, `♖c4+`.
pub(super) fn numbered(played: &ListMove, is_first: bool, notation: Notation) -> String {
    let text = san(&played.san, notation);
    match played.side {
        Side::White => format!("{}.{text}", played.number),
        Side::Black if is_first => format!("{}…{text}", played.number),
        Side::Black => text,
    }
}

/// Author's words with typed stand-ins put right: `...`, a straight apostrophe between letters, `--` and `---`, a hyphen
/// between spaces or between two numbers (years, moves, results, castling in figures), and halves and quarters.
pub fn prose(text: &str) -> String {
    let text = text.replace("...", "…").replace("---", "—").replace("--", "–").replace(" - ", " – ");
    let text = ranges(&fractions(&text));
    let mut quoted = false;
    let mut before = ' ';
    text.chars()
        .map(|letter| {
            let apostrophe = letter == '\'' && before.is_alphanumeric() && !quoted;
            // A word in straight quotation marks keeps them: which marks are right depends on the language.
            quoted ^= letter == '\'' && !apostrophe;
            before = letter;
            if apostrophe { '’' } else { letter }
        })
        .collect()
}

/// `1/2` becomes `½`, unless it is part of a date or of a longer number.
fn fractions(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let is_free = |at: Option<&char>| at.is_none_or(|letter| !letter.is_alphanumeric() && *letter != '/');
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < letters.len() {
        let fraction = match letters[at..] {
            ['1', '/', '2', ..] => Some('½'),
            ['1', '/', '4', ..] => Some('¼'),
            ['3', '/', '4', ..] => Some('¾'),
            _ => None,
        };
        let before = at.checked_sub(1).and_then(|before| letters.get(before));
        if let Some(fraction) = fraction.filter(|_| is_free(before) && is_free(letters.get(at + 3))) {
            out.push(fraction);
            at += 3;
        } else {
            out.push(letters[at]);
            at += 1;
        }
    }
    out
}

/// A hyphen between two numbers becomes a dash. Three numbers are a date, but for castling in figures; a number beside a
/// letter is part of a name.
fn ranges(text: &str) -> String {
    let is_number = |letter: char| letter.is_ascii_digit() || matches!(letter, '½' | '¼' | '¾');
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(is_number) {
        let end = rest[start..].find(|c| !is_number(c) && c != '-').map_or(rest.len(), |length| start + length);
        let run = rest[start..end].trim_end_matches('-');
        let end = start + run.len();
        let beside = |c: Option<char>| c.is_some_and(|c| c.is_alphabetic() || c == '-');
        let is_free = !beside(rest[..start].chars().next_back()) && !beside(rest[end..].chars().next());
        let hyphens = run.matches('-').count();
        out.push_str(&rest[..start]);
        if is_free && (hyphens == 1 || run == "0-0-0") {
            out.push_str(&run.replace('-', "–"));
        } else {
            out.push_str(run);
        }
        rest = &rest[end..];
    }
    out.push_str(rest);
    out
}

/// The sign of a piece: a figurine (U+2654 to U+2658; the outline of the sign says nothing about the side) or a letter.
fn sign(role: Role, notation: Notation) -> char {
    if notation == Notation::Figurine {
        return match role {
            Role::King => '♔',
            Role::Queen => '♕',
            Role::Rook => '♖',
            Role::Bishop => '♗',
            Role::Knight => '♘',
            Role::Pawn => '♙',
        };
    }
    let letters = letters(notation).as_bytes();
    letters[role as usize] as char
}

/// King, queen, rook, bishop, knight, pawn in a language (PGN standard 1994, §8.2.3.2, there in the opposite order).
fn letters(notation: Notation) -> &'static str {
    match notation {
        Notation::Figurine | Notation::English => "KQRBNP",
        Notation::Czech => "KDVSJP",
        Notation::Danish | Notation::German | Notation::Norwegian | Notation::Swedish => "KDTLSB",
        Notation::Dutch => "KDTLPO",
        Notation::Estonian => "KLVORP",
        Notation::Finnish => "KDTLRP",
        Notation::French => "RDTFCP",
        Notation::Hungarian => "KVBFHG",
        Notation::Icelandic => "KDHBRP",
        Notation::Italian | Notation::Spanish => "RDTACP",
        Notation::Polish => "KHWGSP",
        Notation::Portuguese => "RDTBCP",
        Notation::Romanian => "RDTNCP",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn played(number: u32, side: Side, san: &str) -> ListMove {
        ListMove { number, side, san: san.into(), muted: false }
    }

    #[test]
    fn signs_are_set_in_the_film_s_notation() {
        assert_eq!(san("Nbxd7+", Notation::Figurine), "♘bxd7+");
        assert_eq!(san("c8=R!", Notation::Figurine), "c8=♖!");
        assert_eq!(san("bxc8=Q#", Notation::German), "bxc8=D#");
        assert_eq!(san("Kb3", Notation::French), "Rb3");
        assert_eq!(san("Nf3", Notation::Polish), "Sf3");
        assert_eq!(san("O-O-O+", Notation::Figurine), "O–O–O+");
    }

    /// The table of the PGN standard (1994, §8.2.3.2), written down apart from the code, pawn first as it stands there.
    #[test]
    fn the_letters_are_those_of_the_standard_s_table() {
        for (word, letters) in [
            ("cs", "PJSVDK"),
            ("da", "BSLTDK"),
            ("nl", "OPLTDK"),
            ("en", "PNBRQK"),
            ("et", "PROVLK"),
            ("fi", "PRLTDK"),
            ("fr", "PCFTDR"),
            ("de", "BSLTDK"),
            ("hu", "GHFBVK"),
            ("is", "PRBHDK"),
            ("it", "PCATDR"),
            ("no", "BSLTDK"),
            ("pl", "PSGWHK"),
            ("pt", "PCBTDR"),
            ("ro", "PCNTDR"),
            ("es", "PCATDR"),
            ("sv", "BSLTDK"),
        ] {
            let notation: Notation = word.parse().expect("a notation");
            let set: String = Role::ALL.iter().rev().map(|role| sign(*role, notation)).collect();
            assert_eq!(set, letters, "{word}");
        }
    }

    #[test]
    fn only_white_and_the_first_black_move_carry_a_number() {
        assert_eq!(numbered(&played(33, Side::Black, "Ra3+?"), true, Notation::English), "33…Ra3+?");
        assert_eq!(numbered(&played(34, Side::White, "Rc3"), false, Notation::English), "34.Rc3");
        assert_eq!(numbered(&played(34, Side::Black, "Rxc3+"), false, Notation::English), "Rxc3+");
    }

    #[test]
    fn typed_stand_ins_become_characters() {
        assert_eq!(prose("And then... Black's king - it's 1/2-1/2"), "And then… Black’s king – it’s ½–½");
        assert_eq!(prose("1/2-1/2, 1-0, 2½-1½; moves 34-36, 1931-1935"), "½–½, 1–0, 2½–1½; moves 34–36, 1931–1935");
        assert_eq!(prose("on 1931-05-07, 1/2/1931, 11/2; 0-0-0; mp4-2"), "on 1931-05-07, 1/2/1931, 11/2; 0–0–0; mp4-2");
        assert_eq!(prose("no -- yes---or 33...Ra3; a half-open e-file"), "no – yes—or 33…Ra3; a half-open e-file");
        assert_eq!(prose("7- 3/4 -"), "7- ¾ -");
        assert_eq!(prose("the 'old' way; viewers' game"), "the 'old' way; viewers’ game");
    }
}
