//! Moves and words as they are set: SAN's English letters become figurines or a language's own letters, and typed
//! stand-ins become the right characters.

use crate::film::ListMove;
use crate::timeline::Notation;
use crate::units::{Role, Side};

/// A move as it is set, without its number: `c8=♖!`, `O–O`, `Dxd5+`.
pub(super) fn san(san: &str, notation: Notation) -> String {
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

/// Author's words with typed stand-ins put right: `...`, a straight apostrophe between letters, a hyphen between
/// spaces, and the results of a game.
pub(super) fn prose(text: &str) -> String {
    let text = text.replace("1/2-1/2", "½–½").replace("...", "…").replace(" - ", " – ").replace(" -- ", " – ");
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

    #[test]
    fn only_white_and_the_first_black_move_carry_a_number() {
        assert_eq!(numbered(&played(33, Side::Black, "Ra3+?"), true, Notation::English), "33…Ra3+?");
        assert_eq!(numbered(&played(34, Side::White, "Rc3"), false, Notation::English), "34.Rc3");
        assert_eq!(numbered(&played(34, Side::Black, "Rxc3+"), false, Notation::English), "Rxc3+");
    }

    #[test]
    fn typed_stand_ins_become_characters() {
        assert_eq!(prose("And then... Black's king - it's 1/2-1/2"), "And then… Black’s king – it’s ½–½");
        assert_eq!(prose("the 'old' way; viewers' game"), "the 'old' way; viewers’ game");
    }
}
