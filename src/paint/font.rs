//! The bundled fonts (`fonts/`, both under the SIL Open Font License 1.1, unmodified): Lato for text, Vollkorn for
//! titles. No system font is ever looked up, so the same film has the same pixels everywhere.

use rustybuzz::Face;
use std::sync::LazyLock;

/// One bundled font.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Font {
    /// Lato Medium: running text.
    Medium,
    /// Lato Semibold: captions, kickers, coordinates.
    Semibold,
    /// Lato Bold: the lit move.
    Bold,
    /// Lato Heavy: words on a thumbnail.
    Heavy,
    /// Vollkorn Medium: quiet display lines.
    SerifMedium,
    /// Vollkorn Semibold: titles.
    SerifSemibold,
}

impl Font {
    /// Every bundled font, in the order of [`FACES`].
    const ALL: [Font; 6] =
        [Font::Medium, Font::Semibold, Font::Bold, Font::Heavy, Font::SerifMedium, Font::SerifSemibold];

    /// The parsed font.
    pub fn face(self) -> &'static Face<'static> {
        &FACES[self as usize]
    }

    /// The font of the other family that stands in where this one lacks a character.
    pub fn stand_in(self) -> Font {
        match self {
            Font::Medium => Font::SerifMedium,
            Font::Semibold | Font::Bold | Font::Heavy => Font::SerifSemibold,
            Font::SerifMedium => Font::Medium,
            Font::SerifSemibold => Font::Semibold,
        }
    }

    /// Whether this very font draws the character.
    pub fn has(self, character: char) -> bool {
        self.face().glyph_index(character).is_some()
    }

    fn bytes(self) -> &'static [u8] {
        match self {
            Font::Medium => include_bytes!("../../fonts/Lato-Medium.ttf"),
            Font::Semibold => include_bytes!("../../fonts/Lato-Semibold.ttf"),
            Font::Bold => include_bytes!("../../fonts/Lato-Bold.ttf"),
            Font::Heavy => include_bytes!("../../fonts/Lato-Heavy.ttf"),
            Font::SerifMedium => include_bytes!("../../fonts/Vollkorn-Medium.ttf"),
            Font::SerifSemibold => include_bytes!("../../fonts/Vollkorn-SemiBold.ttf"),
        }
    }
}

static FACES: LazyLock<[Face<'static>; 6]> =
    LazyLock::new(|| Font::ALL.map(|font| Face::from_slice(font.bytes(), 0).expect("a bundled font can be parsed")));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_font_draws_the_characters_of_chess_and_of_western_names() {
        for font in Font::ALL {
            for character in "abcdefgh12345678KQRBNOx+#=!?–…½·’“”—éèöüßñåøłšžčćőűţşğıÁÆ".chars()
            {
                assert!(font.has(character), "{font:?} lacks {character}");
            }
        }
    }

    #[test]
    fn the_array_keeps_the_order_of_the_names() {
        for (index, font) in Font::ALL.into_iter().enumerate() {
            assert_eq!(index, font as usize);
        }
    }
}
