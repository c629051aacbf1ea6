//! Films made up at random: sizes, keys, holds, copies, rectangles, patterns, splits.

use plyreel::encode::patch::{Choices, PatchCoder, Splits, Tally};
use plyreel::encode::{Unit, Yuv};
use plyreel::units::{FrameRate, PixelRect, Size};

/// xorshift, 64 bits: the same films from the same seed everywhere.
pub struct Random(u64);

impl Random {
    /// A generator with this seed.
    pub fn new(seed: u64) -> Random {
        Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// A number below `n`.
    pub fn below(&mut self, n: u32) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 32) % u64::from(n.max(1))) as u32
    }

    /// True once in `n` times.
    pub fn once_in(&mut self, n: u32) -> bool {
        self.below(n) == 0
    }
}

/// Sizes worth trying by name; others are drawn.
const SIZES: [(u32, u32); 18] = [
    (66, 2),
    (2, 66),
    (64, 64),
    (256, 256),
    (250, 130),
    (72, 88),
    (130, 66),
    (16, 16),
    (8, 200),
    (334, 218),
    (198, 70),
    (640, 360),
    (854, 480),
    (1278, 718),
    (1366, 768),
    (1080, 1920),
    (1920, 1080),
    (3840, 2160),
];

/// The sizes of [`SIZES`] that are small enough for a quick run.
const QUICK: usize = 11;

/// A coded film and what a decoder must show.
pub struct Coded {
    pub size: Size,
    pub units: Vec<Unit>,
    pub hashes: Vec<u64>,
    /// What all blocks became.
    pub tally: Tally,
}

/// Film number `number` of a seed. `all_sizes`: large ones, too.
pub fn film(seed: u64, number: u32, all_sizes: bool) -> Coded {
    let mut random = Random::new(seed.wrapping_mul(1_000_003).wrapping_add(u64::from(number)));
    let named = if all_sizes { SIZES.len() } else { QUICK };
    let (width, height) = match number as usize {
        n if n < named => SIZES[n],
        _ if random.once_in(3) => SIZES[random.below(named as u32 - 3) as usize],
        _ => (2 * (1 + random.below(200)), 2 * (1 + random.below(150))),
    };
    let frames = match width * height {
        0..=200_000 => 60,
        200_001..=2_500_000 => 16,
        _ => 6,
    };
    let size = Size { width, height };
    let rate = FrameRate::new(30, 1).expect("a rate");
    let mut coder = PatchCoder::new(size, rate).expect("a size that fits");
    let mut film = Coded { size, units: Vec::new(), hashes: Vec::new(), tally: Tally::default() };
    let mut picture = Yuv::black(size);
    let mut at_key = picture.clone();
    for frame in 0..frames {
        coder.choose(choices(&mut random));
        let unit = if frame > 0 && random.once_in(6) {
            coder.hold()
        } else if frame > 0 && random.once_in(9) {
            coder.copy()
        } else {
            let full = frame == 0 || random.once_in(12);
            let mut rects = draw(&mut random, &mut picture, full);
            if frame > 0 && random.once_in(2) {
                rects.push(restore(&mut random, &mut picture, &at_key));
            }
            let unit = if frame == 0 || random.once_in(15) {
                at_key = picture.clone();
                coder.key(&picture)
            } else {
                coder.change(&picture, &rects)
            };
            add(&mut film.tally, coder.tally());
            unit
        };
        film.units.push(unit);
        film.hashes.push(super::judges::hash(&coder.reconstruction().planes().concat()));
    }
    film
}

fn choices(random: &mut Random) -> Choices {
    let scattered = random.below(3) > 0;
    Choices {
        predict: random.below(4) > 0,
        plate: random.below(4) > 0,
        inherit: random.below(4) > 0,
        whole_share: random.below(65) as u8,
        most_whole: 2 + random.below(7) as usize,
        steep: if random.once_in(4) { u8::MAX } else { random.below(40) as u8 },
        most_error: if random.once_in(4) { u32::MAX } else { random.below(300) },
        most_chroma_error: if random.once_in(4) { random.below(5000) } else { random.below(300) },
        splits: if scattered { Splits::Scattered(random.below(u32::MAX)) } else { Splits::Needed },
    }
}

/// Adds up what blocks became.
pub fn add(sum: &mut Tally, tally: Tally) {
    sum.copied += tally.copied;
    sum.plate += tally.plate;
    sum.reduced_luma += tally.reduced_luma;
    sum.residual += tally.residual;
    sum.reduced_chroma += tally.reduced_chroma;
    sum.near_luma += tally.near_luma;
    sum.near_chroma += tally.near_chroma;
    sum.diagonal += tally.diagonal;
    for (sum, n) in sum.carried.iter_mut().zip(tally.carried) {
        *sum += n;
    }
}

/// A rectangle inside the picture; at times of whole superblocks, so that others beside it stay whole.
fn rectangle(random: &mut Random, size: Size) -> PixelRect {
    let (mut x, mut y) = (random.below(size.width), random.below(size.height));
    let (mut right, mut bottom) = (x + 1 + random.below(size.width - x), y + 1 + random.below(size.height - y));
    if random.once_in(3) {
        (x, y) = (x / 64 * 64, y / 64 * 64);
        (right, bottom) = (right.next_multiple_of(64).min(size.width), bottom.next_multiple_of(64).min(size.height));
    }
    PixelRect { x, y, width: right - x, height: bottom - y }
}

/// Draws noise, flats, few colours, gradients, stripes into one to four rectangles; gives those.
fn draw(random: &mut Random, picture: &mut Yuv, full: bool) -> Vec<PixelRect> {
    let Size { width, height } = picture.size();
    let whole = PixelRect { x: 0, y: 0, width, height };
    let mut rects = Vec::new();
    for i in 0..if full { 1 + random.below(3) } else { 1 + random.below(4) } {
        let rect = if full && i == 0 { whole } else { rectangle(random, picture.size()) };
        // Only some cells of 8×8: patterns of new and old neighbours, or a few new or old ones here and there.
        let lattice = (!full && random.once_in(2)).then(|| [random.below(256), random.below(256), random.below(4)]);
        let scatter = (!full && random.once_in(3)).then(|| [random.below(u32::MAX), 1 + random.below(15)]);
        let kind = random.below(7);
        let (base, few, shift) = (random.below(256), 1 + random.below(8), random.below(5));
        for plane in 0..3 {
            let half = u32::from(plane > 0);
            let stride = (width >> half) as usize;
            let samples = &mut *picture.planes_mut()[plane];
            for y in rect.y >> half..(rect.y + rect.height).div_ceil(1 + half) {
                for x in rect.x >> half..(rect.x + rect.width).div_ceil(1 + half) {
                    let (column, row) = ((x << half) / 8, (y << half) / 8);
                    let drawn = match (lattice, scatter) {
                        (_, Some([salt, share])) => {
                            let mixed =
                                (column.wrapping_mul(0x9e37).wrapping_add(row.wrapping_mul(0x0100_0193))) ^ salt;
                            mixed.wrapping_mul(0x85eb_ca6b) >> 28 < share
                        }
                        (Some([across, down, slant]), None) => {
                            across >> ((column + slant * row) & 7) & 1 == 1 && down >> (row & 7) & 1 == 1
                        }
                        (None, None) => true,
                    };
                    if !drawn {
                        continue;
                    }
                    let sample = match kind {
                        0 => random.below(256),
                        1 => base + plane as u32 * 3,
                        2 => base + (x >> shift) * 5 % few * 9 + (y >> shift) * 3 % few,
                        3 => base + random.below(few) * 7,
                        4 => base + x / 3 + y / 5,
                        5 => base + (x + y) / 16 + (x * 5 + y * 3) % 8 / (4 + shift),
                        _ if (x + y) >> shift & 1 == 0 => base,
                        _ => 255 - base / 2,
                    };
                    samples[y as usize * stride + x as usize] = sample as u8;
                }
            }
        }
        rects.push(rect);
    }
    rects
}

/// Puts a part of the last key frame back, so that the plate serves; gives the rectangle.
fn restore(random: &mut Random, picture: &mut Yuv, key: &Yuv) -> PixelRect {
    let size = picture.size();
    let rect = rectangle(random, size);
    for (plane, (samples, from)) in picture.planes_mut().into_iter().zip(key.planes()).enumerate() {
        let half = u32::from(plane > 0);
        let stride = (size.width >> half) as usize;
        let columns = (rect.x >> half) as usize..(rect.x + rect.width).div_ceil(1 + half) as usize;
        for y in rect.y >> half..(rect.y + rect.height).div_ceil(1 + half) {
            let row = y as usize * stride;
            samples[row..][columns.clone()].copy_from_slice(&from[row..][columns.clone()]);
        }
    }
    rect
}
