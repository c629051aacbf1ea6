//! Painted pixels → planes: 8-bit Y′CbCr 4:2:0, BT.709 matrix, limited range.
//!
//! The painted sRGB values are taken as BT.709 R′G′B′ as they are: both are gamma-encoded, share primaries and white,
//! and every player shows them through one display curve, so nothing is ever made linear and mid grey stays mid grey.
//! Premultiplied colour over black is the premultiplied colour itself: alpha is left out.
//!
//! A chroma sample is the mean of its 2×2 pixels: it sits in their centre. AV1 has no code for that place, so the
//! streams say `chroma_sample_position` 0, unknown (AV1 specification §6.4.2). The two places that have a code need a
//! filter that reaches beyond the 2×2 block: it would smear the hard edges of squares and pieces, and a changed
//! rectangle would no longer change the chroma of that rectangle alone.

use crate::units::{PixelRect, Size};

/// Luma weights of red and blue, Rec. ITU-R BT.709-6 item 3.2; green has the rest.
const KR: f64 = 0.2126;
const KB: f64 = 0.0722;
const KG: f64 = 1.0 - KR - KB;
/// Levels between black and white, and between the ends of a colour difference, in 8-bit limited range (item 3.4).
const LUMA_LEVELS: f64 = 219.0;
const CHROMA_LEVELS: f64 = 224.0;

/// The weights of R′, G′, B′ (0 to 255 each) in a plane's value.
type Weights = [f32; 3];
const LUMA: Weights = weights([KR, KG, KB], LUMA_LEVELS / 255.0);
/// For sums of four pixels, hence a quarter.
const CB: Weights = weights([-KR, -KG, 1.0 - KB], CHROMA_LEVELS / (2.0 * (1.0 - KB)) / (4.0 * 255.0));
const CR: Weights = weights([1.0 - KR, -KG, -KB], CHROMA_LEVELS / (2.0 * (1.0 - KR)) / (4.0 * 255.0));

const fn weights(of: [f64; 3], scale: f64) -> Weights {
    [(of[0] * scale) as f32, (of[1] * scale) as f32, (of[2] * scale) as f32]
}

/// A picture in 8-bit Y′CbCr 4:2:0, BT.709, limited range. The planes have no padding: the luma stride is the width,
/// the chroma stride half of it. Both sides are even.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Yuv {
    size: Size,
    luma: Vec<u8>,
    cb: Vec<u8>,
    cr: Vec<u8>,
}

impl Yuv {
    /// A black picture. The sides must be even.
    pub fn black(size: Size) -> Yuv {
        assert!(size.width.is_multiple_of(2) && size.height.is_multiple_of(2), "the sides of a 4:2:0 picture are even");
        let pixels = size.width as usize * size.height as usize;
        Yuv { size, luma: vec![16; pixels], cb: vec![128; pixels / 4], cr: vec![128; pixels / 4] }
    }

    /// Its size in luma samples.
    pub fn size(&self) -> Size {
        self.size
    }

    /// Luma, row by row, 16 to 235.
    pub fn luma(&self) -> &[u8] {
        &self.luma
    }

    /// Blue difference, row by row, 16 to 240.
    pub fn cb(&self) -> &[u8] {
        &self.cb
    }

    /// Red difference, row by row, 16 to 240.
    pub fn cr(&self) -> &[u8] {
        &self.cr
    }

    /// Luma, blue difference, red difference.
    pub fn planes(&self) -> [&[u8]; 3] {
        [&self.luma, &self.cb, &self.cr]
    }

    /// The same, to be written.
    pub fn planes_mut(&mut self) -> [&mut [u8]; 3] {
        [&mut self.luma, &mut self.cb, &mut self.cr]
    }

    /// Takes over a whole picture of this size: premultiplied RGBA, four bytes a pixel, row by row.
    pub fn convert(&mut self, rgba: &[u8]) {
        let Size { width, height } = self.size;
        self.convert_rect(rgba, PixelRect { x: 0, y: 0, width, height });
    }

    /// Takes over the pixels in `rect` from a whole picture of this size. The rectangle's place and sides are even and
    /// it lies inside the picture: see [`even_rect`].
    pub fn convert_rect(&mut self, rgba: &[u8], rect: PixelRect) {
        let stride = self.size.width as usize;
        let (x, y) = (rect.x as usize, rect.y as usize);
        let (width, height) = (rect.width as usize, rect.height as usize);
        assert_eq!(rgba.len(), self.luma.len() * 4, "the painted picture has the size of the planes");
        assert!((x | y | width | height) % 2 == 0, "a rectangle of a 4:2:0 picture is even");
        assert!(x + width <= stride && y + height <= self.size.height as usize, "the rectangle lies inside");
        for row in (y..y + height).step_by(2) {
            let at = row * stride + x;
            let (upper, lower) = (&rgba[at * 4..][..width * 4], &rgba[(at + stride) * 4..][..width * 4]);
            luma_row(upper, &mut self.luma[at..][..width]);
            luma_row(lower, &mut self.luma[at + stride..][..width]);
            let at = row / 2 * (stride / 2) + x / 2;
            chroma_row(upper, lower, &mut self.cb[at..][..width / 2], &mut self.cr[at..][..width / 2]);
        }
    }
}

/// The smallest rectangle with even place and sides that covers `rect`: what [`Yuv::convert_rect`] takes.
pub fn even_rect(rect: PixelRect) -> PixelRect {
    let (x, y) = (rect.x & !1, rect.y & !1);
    let (right, bottom) = ((rect.x + rect.width).next_multiple_of(2), (rect.y + rect.height).next_multiple_of(2));
    PixelRect { x, y, width: right - x, height: bottom - y }
}

fn luma_row(rgba: &[u8], luma: &mut [u8]) {
    let (pixels, _) = rgba.as_chunks::<4>();
    for (luma, pixel) in luma.iter_mut().zip(pixels) {
        let pixel = u32::from_le_bytes(*pixel);
        let channel = |shift: u32| ((pixel >> shift) & 0xff) as i32;
        *luma = nearest(weighted(LUMA, [channel(0), channel(8), channel(16)]) + 16.0);
    }
}

/// Two pixels of each row are one word; red and blue, then green, are added in its 16-bit lanes. (Adding the bytes one
/// by one says the same, but is not compiled to vector code and takes a whole picture from 2.0 to 3.9 ms.)
fn chroma_row(upper: &[u8], lower: &[u8], cb: &mut [u8], cr: &mut [u8]) {
    const EVEN_BYTES: u64 = 0x00ff_00ff_00ff_00ff;
    let (upper, _) = upper.as_chunks::<8>();
    let (lower, _) = lower.as_chunks::<8>();
    for (((upper, lower), cb), cr) in upper.iter().zip(lower).zip(cb).zip(cr) {
        let (upper, lower) = (u64::from_le_bytes(*upper), u64::from_le_bytes(*lower));
        let red_blue = (upper & EVEN_BYTES) + (lower & EVEN_BYTES);
        let green = ((upper >> 8) & EVEN_BYTES) + ((lower >> 8) & EVEN_BYTES);
        let red_blue = red_blue as u32 + (red_blue >> 32) as u32;
        let green = green as u32 + (green >> 32) as u32;
        let sums = [(red_blue & 0xffff) as i32, (green & 0xffff) as i32, (red_blue >> 16) as i32];
        *cb = nearest(weighted(CB, sums) + 128.0);
        *cr = nearest(weighted(CR, sums) + 128.0);
    }
}

fn weighted(weights: Weights, rgb: [i32; 3]) -> f32 {
    weights[0] * rgb[0] as f32 + weights[1] * rgb[1] as f32 + weights[2] * rgb[2] as f32
}

/// The nearest whole number to `value`, which lies in 0 to 255.
///
/// Beside 2²³ a single-precision number has no fraction left: the sum is rounded, and its low bits are the number.
/// Unlike a conversion, which saturates, this stays in the vector unit.
fn nearest(value: f32) -> u8 {
    (value + 8_388_608.0).to_bits() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_colour(rgb: [u8; 3]) -> [u8; 3] {
        let mut yuv = Yuv::black(Size { width: 2, height: 2 });
        yuv.convert(&[rgb[0], rgb[1], rgb[2], 255].repeat(4));
        [yuv.luma[0], yuv.cb[0], yuv.cr[0]]
    }

    /// Colour bars in 8-bit limited range: white, yellow, cyan, green, magenta, red, blue, black. The 75 % column
    /// equals the published tables of BT.709 bars; the 100 % column was computed from the standard's formulas.
    #[test]
    fn colour_bars_have_their_levels() {
        let full = [
            [235, 128, 128],
            [219, 16, 138],
            [188, 154, 16],
            [173, 42, 26],
            [78, 214, 230],
            [63, 102, 240],
            [32, 240, 118],
            [16, 128, 128],
        ];
        let three_quarters = [
            [180, 128, 128],
            [168, 44, 136],
            [145, 147, 44],
            [133, 63, 52],
            [63, 193, 204],
            [51, 109, 212],
            [28, 212, 120],
            [16, 128, 128],
        ];
        for (bar, (full, three_quarters)) in full.into_iter().zip(three_quarters).enumerate() {
            let bits = 7 - bar;
            let rgb = |level: u8| [bits >> 1, bits >> 2, bits].map(|bit| if bit & 1 == 1 { level } else { 0 });
            assert_eq!(one_colour(rgb(255)), full, "100 % bar {bar}");
            assert_eq!(one_colour(rgb(191)), three_quarters, "75 % bar {bar}");
        }
    }

    #[test]
    fn mid_grey_is_not_made_linear() {
        assert_eq!(one_colour([128, 128, 128]), [126, 128, 128]);
    }

    /// Every 8-bit colour against the same formula in double precision: nothing is further from the true value than
    /// half a level and the least bit of single precision.
    #[test]
    fn every_colour_is_rounded_to_the_nearest_level() {
        let mut worst = 0.0f64;
        for colour in (0..1u32 << 24).step_by(7) {
            let [r, g, b, _] = colour.to_le_bytes();
            let [red, green, blue] = [r, g, b].map(|v| f64::from(v) / 255.0);
            let luma = KR * red + KG * green + KB * blue;
            let exact = [
                16.0 + 219.0 * luma,
                128.0 + 224.0 * (blue - luma) / (2.0 - 2.0 * KB),
                128.0 + 224.0 * (red - luma) / (2.0 - 2.0 * KR),
            ];
            let rgb = [r, g, b].map(i32::from);
            let four = rgb.map(|v| 4 * v);
            let ours = [
                nearest(weighted(LUMA, rgb) + 16.0),
                nearest(weighted(CB, four) + 128.0),
                nearest(weighted(CR, four) + 128.0),
            ];
            for (exact, ours) in exact.into_iter().zip(ours) {
                worst = worst.max((exact - f64::from(ours)).abs());
            }
        }
        assert!(worst < 0.500_05, "{worst}");
    }

    #[test]
    fn chroma_is_the_mean_of_four_pixels() {
        let mut yuv = Yuv::black(Size { width: 2, height: 2 });
        let (red, blue) = ([255, 0, 0, 255], [0, 0, 255, 255]);
        yuv.convert(&[red, blue, blue, red].concat());
        // Mean (127.5, 0, 127.5) is magenta at half strength: 128 + (214 − 128) / 2 and 128 + (230 − 128) / 2.
        assert_eq!((yuv.luma(), yuv.cb(), yuv.cr()), (&[63, 32, 32, 63][..], &[171][..], &[179][..]));
    }

    #[test]
    fn alpha_is_already_in_the_colour() {
        let mut yuv = Yuv::black(Size { width: 2, height: 2 });
        yuv.convert(&[128, 128, 128, 128].repeat(4));
        assert_eq!(yuv.luma(), &[126; 4]);
    }

    #[test]
    fn a_rectangle_changes_only_itself_and_equals_the_whole() {
        let size = Size { width: 48, height: 26 };
        let rgba: Vec<u8> = (0..48 * 26 * 4u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        let mut whole = Yuv::black(size);
        whole.convert(&rgba);
        let rect = even_rect(PixelRect { x: 5, y: 3, width: 20, height: 10 });
        assert_eq!(rect, PixelRect { x: 4, y: 2, width: 22, height: 12 });
        let mut part = Yuv::black(size);
        part.convert_rect(&rgba, rect);
        for y in 0..26u32 {
            for x in 0..48u32 {
                let inside = (4..26).contains(&x) && (2..14).contains(&y);
                let (luma, chroma) = ((y * 48 + x) as usize, (y / 2 * 24 + x / 2) as usize);
                let expected =
                    if inside { (whole.luma[luma], whole.cb[chroma], whole.cr[chroma]) } else { (16, 128, 128) };
                assert_eq!((part.luma[luma], part.cb[chroma], part.cr[chroma]), expected, "at {x}, {y}");
            }
        }
    }
}
