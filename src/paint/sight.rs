//! How colours look to other eyes, and how far apart two colours are.
//!
//! The simulation is that of G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A Physiologically-based Model for
//! Simulation of Color Vision Deficiency" (IEEE TVCG 15(6), 2009): one matrix on linear sRGB for each deficiency, here
//! at severity 1.0. The matrices were written down from memory and then held against those in the Python packages
//! colorspacious 1.1.2 and colour-science 0.4, which agree with them in every digit.

use super::contrast::linear_of;
use std::fmt;

/// An eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Eye {
    /// Sees all three.
    Usual,
    /// Without the long-wave cones: reds are dark.
    Protanopia,
    /// Without the middle-wave cones.
    Deuteranopia,
    /// Without the short-wave cones: blue and green, yellow and white fall together.
    Tritanopia,
}

impl fmt::Display for Eye {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Eye::Usual => "seen with all colours",
            Eye::Protanopia => "seen with protanopia",
            Eye::Deuteranopia => "seen with deuteranopia",
            Eye::Tritanopia => "seen with tritanopia",
        })
    }
}

impl Eye {
    /// Every eye, in the order in which figures are shown.
    pub const ALL: [Eye; 4] = [Eye::Usual, Eye::Protanopia, Eye::Deuteranopia, Eye::Tritanopia];

    fn matrix(self) -> [[f64; 3]; 3] {
        match self {
            Eye::Usual => [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            Eye::Protanopia => [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
            Eye::Deuteranopia => [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
            Eye::Tritanopia => [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        }
    }

    /// What this eye makes of a colour, in linear light.
    fn seen(self, rgb: [u8; 3]) -> [f64; 3] {
        let linear = rgb.map(|channel| linear_of(f64::from(channel) / 255.0));
        self.matrix()
            .map(|row| row.iter().zip(linear).map(|(weight, channel)| weight * channel).sum::<f64>().clamp(0.0, 1.0))
    }

    /// The contrast ratio of two colours for this eye (WCAG 2.2).
    pub fn contrast(self, a: [u8; 3], b: [u8; 3]) -> f64 {
        let luminance = |rgb| {
            let [r, g, b] = self.seen(rgb);
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// How different two colours look to this eye: CIEDE2000 (CIE 142), in which 1 can just be told apart side by side.
    pub fn difference(self, a: [u8; 3], b: [u8; 3]) -> f64 {
        ciede2000(lab(self.seen(a)), lab(self.seen(b)))
    }
}

/// CIE 1976 L*, a*, b* under D65 of a colour in linear sRGB.
fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
    let x = 0.412_456_4 * r + 0.357_576_1 * g + 0.180_437_5 * b;
    let y = 0.212_672_9 * r + 0.715_152_2 * g + 0.072_175 * b;
    let z = 0.019_333_9 * r + 0.119_192 * g + 0.950_304_1 * b;
    let f = |t: f64| if t > 216.0 / 24389.0 { libm::cbrt(t) } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
    let (fx, fy, fz) = (f(x / 0.950_47), f(y), f(z / 1.088_83));
    [116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)]
}

/// The colour difference CIEDE2000, all weights 1, by the formulas of G. Sharma, W. Wu and E. N. Dalal (2005).
fn ciede2000([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> f64 {
    let seventh = |c: f64| libm::sqrt(libm::pow(c, 7.0) / (libm::pow(c, 7.0) + libm::pow(25.0, 7.0)));
    let mean_chroma = f64::midpoint(libm::hypot(a1, b1), libm::hypot(a2, b2));
    let stretch = 1.0 + 0.5 * (1.0 - seventh(mean_chroma));
    let (a1, a2) = (a1 * stretch, a2 * stretch);
    let (c1, c2) = (libm::hypot(a1, b1), libm::hypot(a2, b2));
    let hue = |a: f64, b: f64| {
        let degrees = if a == 0.0 && b == 0.0 { 0.0 } else { libm::atan2(b, a).to_degrees() };
        if degrees < 0.0 { degrees + 360.0 } else { degrees }
    };
    let (h1, h2) = (hue(a1, b1), hue(a2, b2));
    let is_grey = c1 * c2 == 0.0;
    let turn = match h2 - h1 {
        _ if is_grey => 0.0,
        turn if turn > 180.0 => turn - 360.0,
        turn if turn < -180.0 => turn + 360.0,
        turn => turn,
    };
    let sine = |degrees: f64| libm::sin(degrees.to_radians());
    let cosine = |degrees: f64| libm::cos(degrees.to_radians());
    let (dl, dc) = (l2 - l1, c2 - c1);
    let dh = 2.0 * libm::sqrt(c1 * c2) * sine(turn / 2.0);
    let (l, c) = (f64::midpoint(l1, l2), f64::midpoint(c1, c2));
    let h = match h1 + h2 {
        sum if is_grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => sum / 2.0,
        sum if sum < 360.0 => f64::midpoint(sum, 360.0),
        sum => (sum - 360.0) / 2.0,
    };
    let t = 1.0 - 0.17 * cosine(h - 30.0) + 0.24 * cosine(2.0 * h) + 0.32 * cosine(3.0 * h + 6.0)
        - 0.20 * cosine(4.0 * h - 63.0);
    let off = (l - 50.0) * (l - 50.0);
    let sl = 1.0 + 0.015 * off / libm::sqrt(20.0 + off);
    let sc = 1.0 + 0.045 * c;
    let sh = 1.0 + 0.015 * c * t;
    let around_blue = (h - 275.0) / 25.0;
    let rotation = -sine(60.0 * libm::exp(-around_blue * around_blue)) * 2.0 * seventh(c);
    let (l, c, h) = (dl / sl, dc / sc, dh / sh);
    libm::sqrt(l * l + c * c + h * h + rotation * c * h)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pairs out of table 1 of Sharma, Wu and Dalal (2005), written down from memory and confirmed with the Python
    /// package colour-science.
    #[test]
    fn differences_are_those_of_the_published_pairs() {
        for (a, b, expected) in [
            ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
            ([50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
            ([50.0, 2.8361, -74.02], [50.0, 0.0, -82.7485], 3.4412),
            ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
            ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
            ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0011], 7.2195),
            ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
            ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
            ([50.0, 2.5, 0.0], [50.0, 3.1736, 0.5854], 1.0),
            ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
            ([22.7233, 20.0904, -46.694], [23.0331, 14.973, -42.5619], 2.0373),
            ([90.8027, -2.0831, 1.441], [91.1528, -1.6435, 0.0447], 1.4441),
            ([2.0776, 0.0795, -1.135], [0.9033, -0.0636, -0.5514], 0.9082),
        ] {
            for got in [ciede2000(a, b), ciede2000(b, a)] {
                assert!((got - expected).abs() < 5e-5, "{a:?} {b:?}: {got}");
            }
        }
    }

    #[test]
    fn white_is_white_to_every_eye_and_red_is_dark_to_one() {
        for eye in Eye::ALL {
            assert!(eye.difference([255; 3], [255; 3]) == 0.0);
            let white = eye.seen([255; 3]);
            assert!(white.iter().all(|channel| (channel - 1.0).abs() < 1e-4), "{eye:?}: {white:?}");
        }
        let red = |eye: Eye| eye.contrast([255, 0, 0], [0; 3]);
        assert!((red(Eye::Usual) - 5.252).abs() < 1e-3);
        assert!(red(Eye::Protanopia) < 3.5 && red(Eye::Tritanopia) > 5.0, "{}", red(Eye::Protanopia));
    }
}
