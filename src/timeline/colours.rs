//! Colours of a film's own: which there are, and what each is for.

use super::ThemeName;
use super::forms::FormError;
use super::keys::{Form, Keys, key, word};
use super::reader::{Fields, Reader};
use crate::source::{Span, Spanned};

macro_rules! colours {
    ($($word:literal => $variant:ident, $meaning:literal;)*) => {
        /// A colour of a theme, as it may be given in `[film.theme]`.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[allow(missing_docs)]
        pub enum Colour { $($variant,)* }

        impl Colour {
            /// Every colour, in the order in which they are shown.
            pub const ALL: &'static [Colour] = &[$(Colour::$variant,)*];

            /// How many there are.
            pub const COUNT: usize = Colour::ALL.len();

            /// The key under which it is given.
            pub fn word(self) -> &'static str {
                match self { $(Colour::$variant => $word,)* }
            }

            /// What it is for: a sentence.
            pub fn meaning(self) -> &'static str {
                match self { $(Colour::$variant => $meaning,)* }
            }
        }

        /// `[film.theme]`, and a theme file.
        pub(super) static THEME: Keys = Keys {
            name: "a theme",
            doc: "Colours of the film's own, laid over one of the themes.",
            list: &[
                key("base", word::<ThemeName>(), "The theme they are laid over; dusk if not given."),
                $(key($word, Form::Colour, $meaning),)*
            ],
            required: &[],
        };
    };
}

colours! {
    "ground" => Ground, "The ground behind the words.";
    "ground-edge" => GroundEdge, "The ground at the frame's edge.";
    "light-square" => LightSquare, "The light squares.";
    "dark-square" => DarkSquare, "The dark squares.";
    "edge" => Edge, "The board's edge and hairlines.";
    "coordinates" => Coordinates, "The letters and figures round the board.";
    "text" => Text, "Titles, tasks, captions, the moves.";
    "muted" => Muted, "Credits and moves left behind.";
    "accent" => Accent, "The kicker, the lit move, footprint and plinth.";
    "text-on-accent" => TextOnAccent, "The lit move's letters.";
    "white-fill" => WhiteFill, "White's pieces.";
    "white-shade" => WhiteShade, "Their shaded side.";
    "white-outline" => WhiteOutline, "Their outline.";
    "white-line" => WhiteLine, "Their inner lines.";
    "black-fill" => BlackFill, "Black's pieces.";
    "black-shade" => BlackShade, "Their shaded side.";
    "black-outline" => BlackOutline, "Their outline.";
    "black-line" => BlackLine, "Their inner lines and highlights.";
    "key" => Key, "The mark on what matters.";
    "threat" => Threat, "The mark on what is attacked; check and mate.";
    "guard" => Guard, "The mark on what is protected.";
    "force" => Force, "Lines of force, and the stalemate frame.";
    "trap" => Trap, "The hatch where not to go.";
    "casing" => Casing, "The edge round every mark but the hatch.";
    "white-arrow" => WhiteArrow, "White's arrows.";
    "black-arrow" => BlackArrow, "Black's arrows.";
}

/// The colours of a film, as given under `theme`.
#[derive(Clone, Debug, PartialEq)]
pub enum ThemeSetting {
    /// One that comes with plyreel.
    Named(ThemeName),
    /// A TOML file with the film's own, a path relative to the timeline.
    File(String),
    /// The film's own.
    Own(OwnTheme),
}

/// Colours laid over a theme.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OwnTheme {
    /// The theme beneath.
    pub base: Option<Spanned<ThemeName>>,
    /// The colours that are given, each with its place.
    pub colours: Vec<(Colour, Spanned<Rgb>)>,
}

impl OwnTheme {
    /// The colours without their places.
    pub fn colours(&self) -> OwnColours {
        let mut own = OwnColours::default();
        for (colour, value) in &self.colours {
            own.set(*colour, value.value);
        }
        own
    }

    /// The place of a colour, if it is given.
    pub fn place(&self, colour: Colour) -> Option<Span> {
        self.colours.iter().find(|(own, _)| *own == colour).map(|(_, value)| value.span)
    }
}

impl ThemeSetting {
    /// The theme beneath; the usual one of a file that has not been read.
    pub fn base(&self) -> ThemeName {
        match self {
            ThemeSetting::Named(name) => *name,
            ThemeSetting::File(_) => ThemeName::default(),
            ThemeSetting::Own(own) => own.base.map(|base| base.value).unwrap_or_default(),
        }
    }

    /// The colours laid over it.
    pub fn colours(&self) -> OwnColours {
        match self {
            ThemeSetting::Own(own) => own.colours(),
            ThemeSetting::Named(_) | ThemeSetting::File(_) => OwnColours::default(),
        }
    }
}

/// Reads `[film.theme]` or a theme file.
pub(super) fn own_theme<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> OwnTheme {
    let base = reader.word(fields.take("base"));
    let mut colours = Vec::new();
    for &colour in Colour::ALL {
        colours.extend(reader.colour(fields.take(colour.word())).map(|value| (colour, value)));
    }
    fields.close();
    OwnTheme { base, colours }
}

/// An opaque sRGB colour: red, green, blue.
pub type Rgb = [u8; 3];

/// Reads `#RRGGBB`.
pub(super) fn rgb(text: &str) -> Result<Rgb, FormError> {
    let hint = "write a colour as `#` and six hexadecimal digits: `#F7A99A`";
    let digits = text.strip_prefix('#').ok_or_else(|| FormError::new("no `#` in front").hint(hint))?;
    if digits.len() != 6 || !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(FormError::new("not six hexadecimal digits").hint(hint));
    }
    let number = u32::from_str_radix(digits, 16).map_err(|_| FormError::new("not a number").hint(hint))?;
    Ok([(number >> 16) as u8, (number >> 8) as u8, number as u8])
}

/// Colours that stand in for those of the theme a film is based on; none by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct OwnColours([Option<Rgb>; Colour::COUNT]);

impl OwnColours {
    /// The film's own value of a colour, if it has one.
    pub fn get(&self, colour: Colour) -> Option<Rgb> {
        self.0[colour as usize]
    }

    /// Gives a colour a value.
    pub fn set(&mut self, colour: Colour, value: Rgb) {
        self.0[colour as usize] = Some(value);
    }

    /// Those that are given.
    pub fn given(&self) -> impl Iterator<Item = (Colour, Rgb)> + '_ {
        Colour::ALL.iter().filter_map(|&colour| Some((colour, self.get(colour)?)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_given_is_the_one_that_comes_back() {
        let mut own = OwnColours::default();
        assert_eq!(own.given().count(), 0);
        own.set(Colour::Trap, [1, 2, 3]);
        assert_eq!(own.given().collect::<Vec<_>>(), [(Colour::Trap, [1, 2, 3])]);
        assert_eq!((own.get(Colour::Trap), own.get(Colour::Key)), (Some([1, 2, 3]), None));
    }
}
