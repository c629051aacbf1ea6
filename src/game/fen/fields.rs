//! The six fields, each by its own rule.

use super::{Fault, Fields};
use crate::diag::nearest;
use crate::game::rules;
use shakmaty::{Bitboard, Color, File, Piece, Rank, Setup, Square};
use std::num::NonZeroU32;
use std::ops::Range;

const NAMES: [&str; 6] =
    ["placement", "side to move", "castling rights", "en passant square", "half-move clock", "move number"];

/// Longer clocks and move numbers than this are slips of the keyboard.
const MOST: u32 = 9999;

/// Reads all fields and reports every one that is wrong; `None` if the text has too few of them.
pub(super) fn read<'a>(text: &'a str, faults: &mut Vec<Fault>) -> Option<Fields<'a>> {
    let words = words(text);
    if words.len() < 4 {
        faults.push(too_short(text, &words));
        if let Some(placement) = words.first() {
            self::placement(text, placement.clone(), &mut Setup::empty(), &mut [None; 64], faults);
        }
        return None;
    }
    let mut setup = Setup::empty();
    let mut letters = [None; 64];
    placement(text, words[0].clone(), &mut setup, &mut letters, faults);
    side(text, words[1].clone(), &mut setup, faults);
    castling(text, words[2].clone(), &mut setup, faults);
    en_passant(text, words[3].clone(), &mut setup, faults);
    if let Some(place) = words.get(4) {
        setup.halfmoves = number(text, place.clone(), NAMES[4], 0, faults);
    }
    if let Some(place) = words.get(5) {
        setup.fullmoves = NonZeroU32::new(number(text, place.clone(), NAMES[5], 1, faults)).unwrap_or(NonZeroU32::MIN);
    }
    if let Some(extra) = words.get(6) {
        let fault = Fault::new(extra.start..text.trim_end().len(), "has text after the move number", "a seventh field")
            .hint("a FEN has six fields: placement, side, castling, en passant, half-move clock, move number");
        faults.push(fault);
    }
    let ranges = [words[0].clone(), words[1].clone(), words[2].clone(), words[3].clone()];
    Some(Fields { text, setup, letters, ranges })
}

fn words(text: &str) -> Vec<Range<usize>> {
    let base = text.as_ptr() as usize;
    text.split_whitespace()
        .map(|word| {
            let start = word.as_ptr() as usize - base;
            start..start + word.len()
        })
        .collect()
}

fn too_short(text: &str, words: &[Range<usize>]) -> Fault {
    let Some(last) = words.last() else {
        return Fault::new(0..text.len(), "is empty", "no position").hint(
            "leave `fen` out for the initial array, or give placement, side, castling rights and en passant square",
        );
    };
    let missing: Vec<String> = NAMES[words.len()..4].iter().map(ToString::to_string).collect();
    let message = format!("ends after the {}", NAMES[words.len() - 1]);
    let rest = ["w", "-", "-"][words.len() - 1..].join(" ");
    let means = match missing.len() {
        1 => "if no capture en passant is possible",
        2 => "for no castling and no capture en passant",
        _ => "for White to move, no castling and no capture en passant; with `b` for Black to move",
    };
    Fault::new(last.clone(), message, format!("missing: {}", rules::listed(&missing, 4)))
        .hint(format!("add ` {rest}` {means}"))
}

fn placement(
    text: &str,
    place: Range<usize>,
    setup: &mut Setup,
    letters: &mut [Option<usize>; 64],
    faults: &mut Vec<Fault>,
) {
    let ranks: Vec<&str> = text[place.clone()].split('/').collect();
    if ranks.len() != 8 {
        let label = format!("{} of 8 ranks", ranks.len());
        let message = format!("has {} instead of 8", counted(ranks.len(), "rank"));
        faults.push(Fault::new(place.clone(), message, label).hint("ranks go from the 8th to the 1st, parted by `/`"));
    }
    let numbered = ranks.len() == 8;
    let mut start = place.start;
    for (row, rank) in ranks.iter().enumerate() {
        let number = 8usize.saturating_sub(row);
        let mut width = 0u32;
        let mut known = true;
        for (offset, letter) in rank.char_indices() {
            let at = start + offset;
            if let Some(count) = letter.to_digit(10).filter(|count| (1..=8).contains(count)) {
                width += count;
                continue;
            }
            let Some(piece) = Piece::from_char(letter).filter(|_| letter.is_ascii_alphabetic()) else {
                known = false;
                faults.push(unknown_letter(at, letter));
                continue;
            };
            if numbered && width < 8 {
                let square = Square::from_coords(File::new(width), Rank::new(7 - row as u32));
                setup.board.set_piece_at(square, piece);
                letters[usize::from(square)] = Some(at);
            }
            width += 1;
        }
        if numbered && known && width != 8 {
            let message = format!("has {} on rank {number}", counted(width as usize, "square"));
            let label = if width < 8 { format!("{} short of 8", 8 - width) } else { format!("{} over 8", width - 8) };
            let end = start + rank.len();
            let shown = if rank.is_empty() { start.saturating_sub(1)..(end + 1).min(place.end) } else { start..end };
            faults.push(Fault::new(shown, message, label).hint("men and empty squares of a rank add up to 8"));
        }
        start += rank.len() + 1;
    }
}

fn unknown_letter(at: usize, letter: char) -> Fault {
    let place = at..at + letter.len_utf8();
    let fault = Fault::new(place, format!("has `{letter}` in its placement"), "no man and no count of squares");
    match letter {
        '0' | '9' => fault.hint("counts of empty squares go from 1 to 8"),
        's' | 'S' => fault.hint("the knight's letter in FEN is `N`, `n` for Black"),
        _ => fault.hint("White's men are KQRBNP, Black's kqrbnp; digits count empty squares"),
    }
}

fn side(text: &str, place: Range<usize>, setup: &mut Setup, faults: &mut Vec<Fault>) {
    match &text[place.clone()] {
        "w" => setup.turn = Color::White,
        "b" => setup.turn = Color::Black,
        other => {
            let fault = Fault::new(place, format!("has `{other}` as its side to move"), "neither `w` nor `b`");
            let meant = match other.to_lowercase().as_str() {
                "w" => Some("w"),
                "b" | "s" => Some("b"),
                word => nearest(word, ["white", "black"]).map(|name| &name[..1]),
            };
            faults.push(match meant {
                Some(letter) => fault.hint(format!("write `{letter}`")),
                None => fault.hint("write `w` if White is to move, `b` if Black is"),
            });
        }
    }
}

/// The corner whose rook a right belongs to.
pub(super) fn corner(letter: char) -> Option<Square> {
    match letter {
        'K' => Some(Square::H1),
        'Q' => Some(Square::A1),
        'k' => Some(Square::H8),
        'q' => Some(Square::A8),
        _ => None,
    }
}

fn castling(text: &str, place: Range<usize>, setup: &mut Setup, faults: &mut Vec<Fault>) {
    let field = &text[place.clone()];
    if field == "-" {
        return;
    }
    for (offset, letter) in field.char_indices() {
        let at = place.start + offset;
        let here = at..at + letter.len_utf8();
        let Some(rook) = corner(letter) else {
            let fault = Fault::new(here, format!("has `{letter}` in its castling rights"), "no castling right");
            faults.push(fault.hint("the rights are `K`, `Q`, `k`, `q`, in this order, or `-` for none"));
            continue;
        };
        if setup.castling_rights.contains(rook) {
            faults.push(Fault::new(here, format!("has the castling right `{letter}` twice"), "the second time"));
        }
        setup.castling_rights |= Bitboard::from_square(rook);
    }
}

fn en_passant(text: &str, place: Range<usize>, setup: &mut Setup, faults: &mut Vec<Fault>) {
    let field = &text[place.clone()];
    if field == "-" {
        return;
    }
    setup.ep_square = field.parse().ok();
    if setup.ep_square.is_none() {
        let message = format!("has `{field}` as its en passant square");
        let fault = Fault::new(place, message, "neither a square nor `-`");
        faults.push(fault.hint("write the square the pawn passed over, such as `e3`, or `-`"));
    }
}

fn number(text: &str, place: Range<usize>, name: &str, least: u32, faults: &mut Vec<Fault>) -> u32 {
    let field = &text[place.clone()];
    match field.parse::<u32>().ok().filter(|_| field.bytes().all(|byte| byte.is_ascii_digit())) {
        Some(value) if (least..=MOST).contains(&value) => value,
        _ => {
            let fault = Fault::new(place, format!("has `{field}` as its {name}"), format!("not a {name}"));
            faults.push(fault.hint(format!("a whole number from {least} to {MOST}; the usual one is {least}")));
            least
        }
    }
}

/// `1 rank`, `7 ranks`.
pub(super) fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
