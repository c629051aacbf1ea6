//! Luminance, contrast and chromaticity of sRGB colours, as WCAG 2.2 defines them.

use std::sync::LazyLock;

/// A colour in linear light: red, green, blue, each 0 to 1 (IEC 61966-2-1 primaries).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Linear(pub [f32; 3]);

/// From an 8-bit sRGB channel to linear light (WCAG 2.2, "relative luminance"; the threshold is the one since May 2021,
/// which changes no 8-bit value).
pub(super) static LINEAR: LazyLock<[f32; 256]> = LazyLock::new(|| {
    let mut table = [0.0; 256];
    for (code, linear) in table.iter_mut().enumerate() {
        *linear = linear_of(code as f64 / 255.0) as f32;
    }
    table
});

/// The same for any value from 0 to 1.
pub(super) fn linear_of(channel: f64) -> f64 {
    if channel <= 0.04045 { channel / 12.92 } else { libm::pow((channel + 0.055) / 1.055, 2.4) }
}

impl Linear {
    /// A colour of three 8-bit sRGB channels.
    #[cfg(test)]
    pub fn of(rgb: [u8; 3]) -> Linear {
        Linear(rgb.map(|channel| LINEAR[usize::from(channel)]))
    }

    /// Relative luminance: 0 for black, 1 for white.
    pub fn luminance(self) -> f32 {
        let [r, g, b] = self.0;
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// How much of the light is red: R / (R + G + B); 0 for black.
    pub fn red_share(self) -> f32 {
        let [r, g, b] = self.0;
        let sum = r + g + b;
        if sum > 0.0 { r / sum } else { 0.0 }
    }

    /// Its place in the CIE 1976 UCS diagram (u′, v′). Black has none (0/0); it is taken for neutral, so that red that
    /// comes and goes on black counts as red coming and going.
    pub fn chromaticity(self) -> [f32; 2] {
        let [r, g, b] = self.0;
        let x = 0.412_456_4 * r + 0.357_576_1 * g + 0.180_437_5 * b;
        let y = 0.212_672_9 * r + 0.715_152_2 * g + 0.072_175 * b;
        let z = 0.019_333_9 * r + 0.119_192 * g + 0.950_304_1 * b;
        let sum = x + 15.0 * y + 3.0 * z;
        if sum > 0.0 { [4.0 * x / sum, 9.0 * y / sum] } else { WHITE_POINT }
    }
}

/// u′, v′ of white, R = G = B.
const WHITE_POINT: [f32; 2] = [0.197_84, 0.468_34];

/// Contrast ratio of two sRGB colours, 1 to 21, whichever is lighter.
pub(super) fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Relative luminance of an sRGB colour, in double precision: limits are compared unrounded.
pub(super) fn luminance(rgb: [u8; 3]) -> f64 {
    let [r, g, b] = rgb.map(|channel| linear_of(f64::from(channel) / 255.0));
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rgb(hex: u32) -> [u8; 3] {
        [(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]
    }

    /// Computed apart from this code, from the definitions in WCAG 2.2; the first and the pairs about the limits are
    /// also in common use.
    #[test]
    fn ratios_are_those_of_the_definition() {
        for (a, b, ratio) in [
            (0xFF_FFFF, 0x00_0000, 21.0),
            (0x77_7777, 0xFF_FFFF, 4.4781),
            (0x76_7676, 0xFF_FFFF, 4.5422),
            (0x95_9595, 0xFF_FFFF, 2.9953),
            (0x94_9494, 0xFF_FFFF, 3.0335),
            (0x59_5959, 0xFF_FFFF, 7.0047),
            (0xFF_0000, 0xFF_FFFF, 3.9985),
            (0x00_00FF, 0xFF_FFFF, 8.5925),
            (0x00_8000, 0xFF_FFFF, 5.1374),
            (0xFF_FF00, 0x00_0000, 19.5560),
            (0xFF_FF00, 0xFF_FFFF, 1.0738),
            (0x80_8080, 0x00_0000, 5.3172),
        ] {
            for (a, b) in [(a, b), (b, a)] {
                let got = contrast(rgb(a), rgb(b));
                assert!((got - ratio).abs() < 5e-5, "{a:06x} / {b:06x}: {got}");
            }
        }
    }

    #[test]
    fn luminances_are_those_of_the_definition() {
        for (colour, expected) in [
            (0xFF_0000, 0.212_600),
            (0x00_FF00, 0.715_200),
            (0x00_00FF, 0.072_200),
            (0x80_8080, 0.215_861),
            (0xC0_C0C0, 0.527_115),
        ] {
            assert!((luminance(rgb(colour)) - expected).abs() < 1e-6, "{colour:06x}");
            assert!((f64::from(Linear::of(rgb(colour)).luminance()) - expected).abs() < 1e-6, "{colour:06x}");
        }
    }

    #[test]
    fn chromaticities_are_those_of_the_definition() {
        for (colour, [u, v]) in [(0xFF_FFFF, [0.197_84, 0.468_34]), (0xFF_0000, [0.450_70, 0.522_89])] {
            let got = Linear::of(rgb(colour)).chromaticity();
            assert!((got[0] - u).abs() < 2e-5 && (got[1] - v).abs() < 2e-5, "{colour:06x}: {got:?}");
        }
        assert_eq!(Linear::of([0; 3]).chromaticity(), WHITE_POINT);
        assert_eq!(Linear::of([0; 3]).red_share(), 0.0);
    }
}
