//! The themes: colours as data. Contrast figures were computed by WCAG 2.x relative luminance.

use crate::film::Look;
use crate::timeline::{Colour, OwnColours, ThemeName};
use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

/// A straight (not premultiplied) sRGB colour with alpha, 8 bits each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rgba(pub [u8; 4]);

impl Rgba {
    /// An opaque colour from `0xRRGGBB`.
    pub const fn hex(rgb: u32) -> Rgba {
        Rgba([(rgb >> 16) as u8, (rgb >> 8) as u8, rgb as u8, 255])
    }

    /// The same colour with its alpha scaled by `opacity` (0 to 1).
    #[must_use]
    pub fn fade(self, opacity: f32) -> Rgba {
        let [r, g, b, a] = self.0;
        Rgba([r, g, b, (f32::from(a) * opacity.clamp(0.0, 1.0)).round() as u8])
    }

    /// From this colour (0) to `other` (1), channel by channel in sRGB.
    #[must_use]
    pub fn mix(self, other: Rgba, t: f32) -> Rgba {
        let mut out = [0; 4];
        for (i, channel) in out.iter_mut().enumerate() {
            let (a, b) = (f32::from(self.0[i]), f32::from(other.0[i]));
            *channel = (a + (b - a) * t).round() as u8;
        }
        Rgba(out)
    }

    /// For tiny-skia.
    pub fn to_paint(self) -> tiny_skia::Paint<'static> {
        let [r, g, b, a] = self.0;
        let mut paint = tiny_skia::Paint::default();
        paint.set_color_rgba8(r, g, b, a);
        paint.anti_alias = true;
        paint
    }
}

/// The four colours of one side's pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub struct PieceInk {
    pub fill: Rgba,
    pub shade: Rgba,
    pub outline: Rgba,
    pub line: Rgba,
    /// Dark pieces: highlights are drawn and inner lines knocked out.
    pub is_dark: bool,
}

/// How the dark squares are filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SquareFill {
    /// Flat.
    Flat,
    /// A tint with fine 45° hatching, as in print.
    Hatched,
}

/// All colours of a theme.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub struct Theme {
    pub ground_centre: Rgba,
    pub ground_edge: Rgba,
    pub light_square: Rgba,
    pub dark_square: Rgba,
    pub square_fill: SquareFill,
    pub edge: Rgba,
    pub coordinates: Rgba,
    pub text: Rgba,
    pub muted: Rgba,
    pub accent: Rgba,
    pub text_on_accent: Rgba,
    pub light: PieceInk,
    pub dark: PieceInk,
    pub key: Rgba,
    pub threat: Rgba,
    pub guard: Rgba,
    pub force: Rgba,
    pub trap: Rgba,
    /// Round every mark but the hatch; carries the contrast against both square colours.
    pub casing: Rgba,
    pub white_arrow: Rgba,
    pub black_arrow: Rgba,
}

impl Theme {
    /// The theme of this name.
    pub fn named(name: ThemeName) -> &'static Theme {
        match name {
            ThemeName::Dusk => &DUSK,
            ThemeName::Tide => &TIDE,
            ThemeName::Ink => &INK,
        }
    }

    /// The theme of a look: the named one, with the film's own colours laid over it.
    ///
    /// A theme of a film's own is kept until the program ends, so that whoever paints can hold on to it; it is a few
    /// hundred bytes, and a program sees few.
    pub fn of(look: &Look) -> &'static Theme {
        Theme::laid(look.theme, look.own.colours)
    }

    /// A theme with a film's own colours laid over it.
    pub fn laid(base: ThemeName, colours: OwnColours) -> &'static Theme {
        static OWN: LazyLock<Mutex<HashMap<(ThemeName, OwnColours), &'static Theme>>> = LazyLock::new(Mutex::default);
        if colours == OwnColours::default() {
            return Theme::named(base);
        }
        let mut own = OWN.lock().unwrap_or_else(PoisonError::into_inner);
        own.entry((base, colours)).or_insert_with(|| Box::leak(Box::new(Theme::with(base, &colours))))
    }

    /// A theme with other colours laid over it.
    pub fn with(base: ThemeName, colours: &OwnColours) -> Theme {
        let mut theme = *Theme::named(base);
        for (colour, [r, g, b]) in colours.given() {
            *theme.colour_mut(colour) = Rgba([r, g, b, 255]);
        }
        theme
    }

    /// One of its colours.
    pub fn colour(&self, colour: Colour) -> Rgba {
        let mut theme = *self;
        *theme.colour_mut(colour)
    }

    /// One of its colours, to be changed.
    pub fn colour_mut(&mut self, colour: Colour) -> &mut Rgba {
        match colour {
            Colour::Ground => &mut self.ground_centre,
            Colour::GroundEdge => &mut self.ground_edge,
            Colour::LightSquare => &mut self.light_square,
            Colour::DarkSquare => &mut self.dark_square,
            Colour::Edge => &mut self.edge,
            Colour::Coordinates => &mut self.coordinates,
            Colour::Text => &mut self.text,
            Colour::Muted => &mut self.muted,
            Colour::Accent => &mut self.accent,
            Colour::TextOnAccent => &mut self.text_on_accent,
            Colour::WhiteFill => &mut self.light.fill,
            Colour::WhiteShade => &mut self.light.shade,
            Colour::WhiteOutline => &mut self.light.outline,
            Colour::WhiteLine => &mut self.light.line,
            Colour::BlackFill => &mut self.dark.fill,
            Colour::BlackShade => &mut self.dark.shade,
            Colour::BlackOutline => &mut self.dark.outline,
            Colour::BlackLine => &mut self.dark.line,
            Colour::Key => &mut self.key,
            Colour::Threat => &mut self.threat,
            Colour::Guard => &mut self.guard,
            Colour::Force => &mut self.force,
            Colour::Trap => &mut self.trap,
            Colour::Casing => &mut self.casing,
            Colour::WhiteArrow => &mut self.white_arrow,
            Colour::BlackArrow => &mut self.black_arrow,
        }
    }
}

const fn ink(fill: u32, shade: u32, outline: u32, line: u32, is_dark: bool) -> PieceInk {
    PieceInk {
        fill: Rgba::hex(fill),
        shade: Rgba::hex(shade),
        outline: Rgba::hex(outline),
        line: Rgba::hex(line),
        is_dark,
    }
}

/// Evening: violet ground, rose and lilac squares. The default.
pub const DUSK: Theme = Theme {
    ground_centre: Rgba::hex(0x29_253F),
    ground_edge: Rgba::hex(0x1D_1A2E),
    light_square: Rgba::hex(0xE0_C3B8),
    dark_square: Rgba::hex(0x72_6F9A),
    square_fill: SquareFill::Flat,
    edge: Rgba::hex(0x48_426A),
    coordinates: Rgba::hex(0xB9_AFCB),
    text: Rgba::hex(0xFA_F1EC),
    muted: Rgba::hex(0xBD_B3CE),
    accent: Rgba::hex(0xF7_A99A),
    text_on_accent: Rgba::hex(0x1D_1A2E),
    light: ink(0xFF_F8F2, 0xDC_CBC6, 0x1A_1528, 0x1A_1528, false),
    dark: ink(0x2A_2342, 0x17_1228, 0x10_0C1E, 0xF6_E4DB, true),
    key: Rgba::hex(0xFF_E0A8),
    threat: Rgba::hex(0xF2_588F),
    guard: Rgba::hex(0x56_CFC4),
    force: Rgba::hex(0xFF_F8F2),
    trap: Rgba::hex(0x1B_1440),
    casing: Rgba::hex(0x15_1026),
    white_arrow: Rgba::hex(0xFF_F8F2),
    black_arrow: Rgba::hex(0x1A_1528),
};

/// Deep sea-glass: petrol ground, aqua squares, brass.
pub const TIDE: Theme = Theme {
    ground_centre: Rgba::hex(0x0E_3233),
    ground_edge: Rgba::hex(0x08_201F),
    light_square: Rgba::hex(0xBF_DCDA),
    dark_square: Rgba::hex(0x3E_838A),
    square_fill: SquareFill::Flat,
    edge: Rgba::hex(0x1E_5156),
    coordinates: Rgba::hex(0x9F_C4C3),
    text: Rgba::hex(0xF4_F8F2),
    muted: Rgba::hex(0xA7_C8C6),
    accent: Rgba::hex(0xF0_BC62),
    text_on_accent: Rgba::hex(0x08_201F),
    light: ink(0xFB_FCF4, 0xCB_DAD3, 0x06_191B, 0x06_191B, false),
    dark: ink(0x12_272E, 0x07_161B, 0x04_0E12, 0xF2_CE8A, true),
    key: Rgba::hex(0xFF_EFA6),
    threat: Rgba::hex(0xFF_5A78),
    guard: Rgba::hex(0xD6_C2FF),
    force: Rgba::hex(0xFB_FCF4),
    trap: Rgba::hex(0x2B_0F3E),
    casing: Rgba::hex(0x05_171A),
    white_arrow: Rgba::hex(0xFB_FCF4),
    black_arrow: Rgba::hex(0x06_191B),
};

/// Paper: black on white with hatched squares, as a printed diagram.
pub const INK: Theme = Theme {
    ground_centre: Rgba::hex(0xE3_DFD5),
    ground_edge: Rgba::hex(0xEF_ECE5),
    light_square: Rgba::hex(0xF8_F6F1),
    dark_square: Rgba::hex(0xC9_C6C0),
    square_fill: SquareFill::Hatched,
    edge: Rgba::hex(0x23_262B),
    coordinates: Rgba::hex(0x4A_4E55),
    text: Rgba::hex(0x1A_1D22),
    muted: Rgba::hex(0x53_575E),
    accent: Rgba::hex(0xA8_1E4D),
    text_on_accent: Rgba::hex(0xFF_FFFF),
    light: ink(0xFF_FFFF, 0xDA_D7D0, 0x17_1B22, 0x17_1B22, false),
    dark: ink(0x1C_2027, 0x0C_0E12, 0x0E_1116, 0xF8_F6F1, true),
    key: Rgba::hex(0x95_5500),
    threat: Rgba::hex(0xA8_1E4D),
    guard: Rgba::hex(0x00_727A),
    force: Rgba::hex(0x1A_1D22),
    trap: Rgba::hex(0x3D_2C7A),
    casing: Rgba::hex(0xF8_F6F1),
    white_arrow: Rgba::hex(0xFF_FFFF),
    black_arrow: Rgba::hex(0x1C_2027),
};
