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
    pub const ALL: [Font; 6] =
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
        has(self.face(), character)
    }

    /// What a file is called that takes its place.
    pub fn file_name(self) -> &'static str {
        match self {
            Font::Medium => "text",
            Font::Semibold => "text-semibold",
            Font::Bold => "text-bold",
            Font::Heavy => "text-heavy",
            Font::SerifMedium => "title-medium",
            Font::SerifSemibold => "title",
        }
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

/// Whether a font draws a character.
pub(super) fn has(face: &Face<'_>, character: char) -> bool {
    face.glyph_index(character).is_some_and(|glyph| glyph.0 != 0)
}

/// Whether a file's bytes are a font.
pub(super) fn is_font(bytes: &[u8]) -> bool {
    Face::from_slice(bytes, 0).is_some()
}

/// Fonts of a film's own, each in the place of a bundled one. Where one is not given, the nearest of its kind is.
#[derive(Default)]
pub(super) struct FontSet([Option<Face<'static>>; 6]);

impl FontSet {
    /// A set of fonts, kept until the program ends; bytes that are no font are passed over.
    pub fn of(fonts: Vec<(Font, Vec<u8>)>) -> FontSet {
        let mut set = FontSet::default();
        for (font, bytes) in fonts {
            #[cfg(test)]
            KEPT.with(|kept| kept.set(kept.get() + 1));
            set.0[font as usize] = Face::from_slice(Box::leak(bytes.into_boxed_slice()), 0);
        }
        set
    }

    /// The font in this one's place.
    pub fn own(&self, font: Font) -> Option<&Face<'static>> {
        let nearest: &[Font] = match font {
            Font::Medium => &[Font::Medium, Font::Semibold, Font::Bold, Font::Heavy],
            Font::Semibold => &[Font::Semibold, Font::Bold, Font::Medium, Font::Heavy],
            Font::Bold => &[Font::Bold, Font::Heavy, Font::Semibold, Font::Medium],
            Font::Heavy => &[Font::Heavy, Font::Bold, Font::Semibold, Font::Medium],
            Font::SerifMedium => &[Font::SerifMedium, Font::SerifSemibold],
            Font::SerifSemibold => &[Font::SerifSemibold, Font::SerifMedium],
        };
        nearest.iter().find_map(|font| self.0[*font as usize].as_ref())
    }
}

static FACES: LazyLock<[Face<'static>; 6]> =
    LazyLock::new(|| Font::ALL.map(|font| Face::from_slice(font.bytes(), 0).expect("a bundled font can be parsed")));

#[cfg(test)]
thread_local! {
    /// How many fonts this thread has kept until the program ends.
    pub(super) static KEPT: std::cell::Cell<usize> = const { std::cell::Cell::new(0) };
}

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

    /// The letters of the languages that are promised, by their alphabets.
    #[test]
    fn every_font_draws_latin_greek_and_cyrillic() {
        for (language, letters) in [
            ("French", "àâæçéèêëîïôœùûüÿÀÂÆÇÉÈÊËÎÏÔŒÙÛÜŸ«»"),
            ("Czech and Slovak", "áäčďéěíĺľňóôŕřšťúůýžÁÄČĎÉĚÍĹĽŇÓÔŔŘŠŤÚŮÝŽ"),
            ("Polish", "ąćęłńóśźżĄĆĘŁŃÓŚŹŻ"),
            ("Turkish", "âçğıİöşüÇĞÖŞÜ"),
            ("Hungarian", "áéíóöőúüűÁÉÍÓÖŐÚÜŰ"),
            ("Romanian", "ăâîșțşţĂÂÎȘȚŞŢ"),
            ("Icelandic and Danish", "ðþæøåÐÞÆØÅ"),
            ("Baltic", "āčēģīķļņšūžąęėįųĀČĒĢĪĶĻŅŠŪŽĄĘĖĮŲ"),
            ("Croatian", "čćđšžČĆĐŠŽ"),
            ("Greek", "αβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩΆΈΉΊΌΎΏΪΫ"),
            ("Russian", "абвгдеёжзийклмнопрстуфхцчшщъыьэюяАБВГДЕЁЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯ"),
            ("Ukrainian and Belarusian", "ґєіїўҐЄІЇЎ"),
            ("Serbian and Macedonian", "ђјљњћџѓѕќЂЈЉЊЋЏЃЅЌ"),
            ("signs", "–—…“”‘’„«»‹›½¼¾×°·†§€"),
        ] {
            for font in Font::ALL {
                let missing: String = letters.chars().filter(|letter| !font.has(*letter)).collect();
                assert!(missing.is_empty(), "{font:?} lacks {missing} of {language}");
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
