//! Pieces and fonts of a film's own, known by the digest of their content.
//!
//! A look holds the digests only, so that it stays a small value and that what is made from it can be named by it. What
//! is learned is kept until the program ends: it is a few hundred kilobytes, and a program sees few.

use super::font::{Font, FontSet, is_font};
use super::silhouette::{PieceFileError, PieceSet, parse};
use crate::film::Own;
use crate::units::Fnv;
use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{LazyLock, Mutex, PoisonError};

type Known<T> = LazyLock<Mutex<HashMap<u128, &'static T>>>;

static PIECES: Known<PieceSet> = LazyLock::new(Mutex::default);
static FONTS: Known<FontSet> = LazyLock::new(Mutex::default);

fn keep<K: Eq + Hash, T>(known: &Mutex<HashMap<K, &'static T>>, key: K, make: impl FnOnce() -> T) {
    let mut known = known.lock().unwrap_or_else(PoisonError::into_inner);
    known.entry(key).or_insert_with(|| Box::leak(Box::new(make())));
}

fn find<T>(known: &Mutex<HashMap<u128, &'static T>>, digest: Option<u128>) -> Option<&'static T> {
    known.lock().unwrap_or_else(PoisonError::into_inner).get(&digest?).copied()
}

/// Learns the pieces of a piece file (the format is told in the README), and gives the digest under which a look has
/// them. An error names the line.
pub fn learn_pieces(text: &str) -> Result<u128, PieceFileError> {
    let set = parse(text)?;
    let mut fnv = Fnv::default();
    fnv.bytes(text.as_bytes());
    keep(&PIECES, fnv.value(), || set);
    Ok(fnv.value())
}

/// Why a folder of fonts cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FontFolderError {
    /// A file that is no font.
    #[error("`{0}` is not a TrueType or OpenType font that can be read")]
    NotAFont(String),
    /// Nothing with one of the names.
    #[error("no file in it has one of the names {}", font_names().join(", "))]
    NoFont,
}

/// The names of the files that a folder of fonts may hold, without their endings (`.ttf` or `.otf`).
pub fn font_names() -> Vec<&'static str> {
    Font::ALL.iter().map(|font| font.file_name()).collect()
}

/// Learns fonts by the names of their files and their contents, and gives the digest under which a look has them.
/// Files with other names are passed over.
pub fn learn_fonts(files: Vec<(String, Vec<u8>)>) -> Result<u128, FontFolderError> {
    let mut fnv = Fnv::default();
    let mut files = files;
    files.sort();
    let mut fonts: Vec<(Font, Vec<u8>)> = Vec::new();
    for (name, bytes) in files {
        let stem = name.rsplit_once('.').filter(|(_, ending)| is_font_ending(ending)).map(|(stem, _)| stem);
        let Some(font) = Font::ALL.into_iter().find(|font| Some(font.file_name()) == stem) else { continue };
        fnv.bytes(&[font as u8]);
        fnv.bytes(&(bytes.len() as u64).to_le_bytes());
        fnv.bytes(&bytes);
        if !is_font(&bytes) {
            return Err(FontFolderError::NotAFont(name));
        }
        fonts.push((font, bytes));
    }
    if fonts.is_empty() {
        return Err(FontFolderError::NoFont);
    }
    // A film that is watched has its fonts read again with every change: only those not known yet are kept.
    keep(&FONTS, fnv.value(), || FontSet::of(fonts));
    Ok(fnv.value())
}

fn is_font_ending(ending: &str) -> bool {
    ending.eq_ignore_ascii_case("ttf") || ending.eq_ignore_ascii_case("otf")
}

/// The pieces of a look: its own, or those that come with plyreel.
pub(super) fn pieces(own: &Own) -> &'static PieceSet {
    find(&PIECES, own.pieces).unwrap_or_else(|| PieceSet::staunton())
}

/// The fonts of a look's own.
pub(super) fn fonts(own: &Own) -> Option<&'static FontSet> {
    find(&FONTS, own.fonts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Role;

    #[test]
    fn pieces_are_found_again_by_their_digest() {
        let text = include_str!("staunton.pieces").replace("piece rook\n", "piece rook\n# of my own\n");
        let digest = learn_pieces(&text).expect("a sound file");
        assert_eq!(learn_pieces(&text), Ok(digest));
        let own = Own { pieces: Some(digest), ..Own::default() };
        assert!(!std::ptr::eq(pieces(&own), PieceSet::staunton()));
        assert_eq!(pieces(&own).of(Role::Rook).hull, PieceSet::staunton().of(Role::Rook).hull);
        assert!(std::ptr::eq(pieces(&Own::default()), PieceSet::staunton()));
        assert_eq!(learn_pieces("grid 100\npiece earl\n").expect_err("a mistake").line, 2);
    }

    #[test]
    fn fonts_that_are_known_are_not_kept_again() {
        let kept = || crate::paint::font::KEPT.with(std::cell::Cell::get);
        let files = || vec![("title.ttf".to_owned(), include_bytes!("../../fonts/Vollkorn-Medium.ttf").to_vec())];
        let digest = learn_fonts(files());
        let before = kept();
        assert_eq!((learn_fonts(files()), kept()), (digest, before));
    }

    #[test]
    fn fonts_are_taken_by_the_names_of_their_files() {
        let lato = include_bytes!("../../fonts/Lato-Bold.ttf").to_vec();
        let digest =
            learn_fonts(vec![("title.TTF".into(), lato.clone()), ("notes.txt".into(), vec![1])]).expect("a font");
        let own = Own { fonts: Some(digest), ..Own::default() };
        assert!(fonts(&own).expect("learned").own(Font::SerifSemibold).is_some());
        assert!(fonts(&own).expect("learned").own(Font::Bold).is_none());
        assert_eq!(learn_fonts(vec![("title.txt".into(), lato)]), Err(FontFolderError::NoFont));
        let broken = learn_fonts(vec![("text.otf".into(), vec![0; 64])]);
        assert_eq!(broken, Err(FontFolderError::NotAFont("text.otf".into())));
    }
}
