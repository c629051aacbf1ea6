//! A thumbnail's words and which of them have the accent.

use crate::diag::{Code, Diagnostic};
use crate::paint::PosterWord;
use crate::source::Spanned;

/// The words of a thumbnail. Those between asterisks are accented, with the punctuation that clings to them; if none
/// is, the last one.
pub(super) fn read(words: Option<&Spanned<String>>, found: &mut Vec<Diagnostic>) -> Vec<PosterWord> {
    let Some(Spanned { value: text, span }) = words else { return Vec::new() };
    if text.matches('*').count() % 2 == 1 {
        found.push(
            Diagnostic::error(Code::BadValue, *span, format!("an asterisk of `{text}` has no partner"))
                .label("an accent begins and does not end")
                .hint("put one before and one after the accented words: `Not a *queen*!`"),
        );
    }
    let mut inside = false;
    let mut read: Vec<PosterWord> = Vec::new();
    for word in text.split_whitespace() {
        let mut accented = inside;
        let mut plain = String::new();
        for character in word.chars() {
            if character == '*' {
                inside = !inside;
            } else {
                accented |= inside;
                plain.push(character);
            }
        }
        if !plain.is_empty() {
            read.push(PosterWord { text: plain, accented });
        }
    }
    if read.iter().all(|word| !word.accented)
        && let Some(last) = read.last_mut()
    {
        last.accented = true;
    }
    read
}
