//! Words that are a move but for one slip.

use super::role_of;

/// A slip that is seen through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Slip {
    /// A piece's letter in lower case.
    SmallPiece,
    /// A piece's letter of another language.
    Foreign,
    /// Capitals where small letters belong.
    Letters,
}

impl Slip {
    /// The fact under the carets.
    pub(super) fn fact(self, text: &str) -> String {
        let first: String = text.chars().take(1).collect();
        match self {
            Slip::SmallPiece => "a piece's letter is a capital".into(),
            Slip::Foreign => format!("`{first}` is the letter of no piece in English"),
            Slip::Letters => "files are written in small letters".into(),
        }
    }
}

/// The move that is meant, if one slip has spoilt it.
pub(super) fn repaired(text: &str) -> Option<(Slip, String)> {
    let mut letters = text.chars();
    let first = letters.next()?;
    let rest = letters.as_str();
    let mut candidates = Vec::new();
    if first.is_ascii_lowercase() && role_of(first.to_ascii_uppercase()).is_some() {
        candidates.push((Slip::SmallPiece, format!("{}{rest}", first.to_ascii_uppercase())));
    }
    let english = match first {
        'D' => Some('Q'),
        'T' => Some('R'),
        'L' | 'F' | 'A' => Some('B'),
        'S' | 'C' => Some('N'),
        _ => None,
    };
    candidates.extend(english.map(|letter| (Slip::Foreign, format!("{letter}{rest}"))));
    candidates.push((Slip::Letters, text.to_ascii_lowercase()));
    candidates.push((Slip::Letters, format!("{first}{}", rest.to_ascii_lowercase())));
    candidates.into_iter().find(|(_, meant)| meant != text && is_plain_move(meant))
}

/// Whether a text is SAN without signs behind it, by its bare pattern.
fn is_plain_move(text: &str) -> bool {
    let mut letters = text.chars().peekable();
    let piece = letters.next_if(|sign| "KQRBN".contains(*sign)).is_some();
    let rest: Vec<char> = letters.filter(|sign| *sign != 'x').collect();
    let file = |sign: char| ('a'..='h').contains(&sign);
    let rank = |sign: char| ('1'..='8').contains(&sign);
    match rest.as_slice() {
        [f, r] => file(*f) && rank(*r),
        [f0, f, r] => file(*f) && rank(*r) && (file(*f0) || (piece && rank(*f0))),
        [f0, r0, f, r] => file(*f) && rank(*r) && file(*f0) && rank(*r0),
        _ => false,
    }
}
