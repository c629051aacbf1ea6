//! The fewest colours that come near enough to an 8×8 block, or the eight that come nearest.
//!
//! In luma they are the best there are: one-dimensional clusters of least squared error are intervals, and a dynamic
//! programme finds the best borders. In chroma (at most sixteen pairs of values) near pairs are merged, which leaves
//! the palette within a hair of the best.

use super::syntax::Cache;
use super::{MOST, Palette};

/// Values in an 8×8 block, at most.
const VALUES: usize = 64;

/// Sums over the block's distinct values, in ascending order, so that any interval's error is a subtraction.
struct Histogram {
    len: usize,
    values: [u8; VALUES],
    /// Of the first i values: how many samples, their sum, the sum of their squares.
    sums: [[u32; 3]; VALUES + 1],
}

impl Histogram {
    /// Of at most 64 samples.
    fn new(samples: &[u8]) -> Histogram {
        let mut counts = [0u8; 256];
        for &sample in samples.iter().take(VALUES) {
            counts[usize::from(sample)] += 1;
        }
        let mut histogram = Histogram { len: 0, values: [0; VALUES], sums: [[0; 3]; VALUES + 1] };
        let mut sums = [0; 3];
        for (value, count) in (0u8..=255).zip(counts) {
            if count > 0 {
                let (value32, count) = (u32::from(value), u32::from(count));
                for (sum, add) in sums.iter_mut().zip([count, count * value32, count * value32 * value32]) {
                    *sum += add;
                }
                histogram.values[histogram.len] = value;
                histogram.len += 1;
                histogram.sums[histogram.len] = sums;
            }
        }
        histogram
    }

    fn between(&self, from: usize, to: usize) -> [u32; 3] {
        let (a, b) = (self.sums[from], self.sums[to]);
        [b[0] - a[0], b[1] - a[1], b[2] - a[2]]
    }

    /// The squared error if values `from..to` all become their rounded mean.
    fn error(&self, from: usize, to: usize) -> u32 {
        self.error_as(from, to, self.mean(from, to))
    }

    /// The squared error if values `from..to` all become `colour`.
    fn error_as(&self, from: usize, to: usize, colour: u8) -> u32 {
        let [count, sum, squares] = self.between(from, to);
        let colour = u32::from(colour);
        // Σ (x − c)²; no product exceeds 64 · 255² · 2.
        squares + colour * colour * count - 2 * colour * sum
    }

    /// The rounded mean of values `from..to`.
    fn mean(&self, from: usize, to: usize) -> u8 {
        let [count, sum, _] = self.between(from, to);
        ((sum + count / 2) / count.max(1)) as u8
    }
}

/// The more squared error for which a colour is taken from the cache: that costs a bit, and a new colour six or seven.
const CACHED_FOR: u32 = 12;

/// The fewest luma values that leave an 8×8 block with at most `allowed` squared error, or the best eight, and the
/// index of each sample. Where something is allowed, a colour of the cache may stand for a mean that it is near to.
pub(in crate::encode::patch) fn reduce_luma(samples: &[u8], map: &mut [u8], allowed: u32, cache: &Cache) -> Palette {
    let histogram = Histogram::new(samples);
    let (borders, len, error) = best_borders(&histogram, allowed);
    // What may still be lost; all that is left of a block beyond help is for its residual.
    let mut spare = if error <= allowed { allowed - error } else { u32::MAX };
    let mut palette = Palette { len, ..Palette::default() };
    let mut index = [0u8; 256];
    for (i, border) in borders[..=len].windows(2).enumerate() {
        let (from, to) = (border[0], border[1]);
        let mut colour = histogram.mean(from, to);
        if allowed > 0 {
            // Colours ascend: each stays above the one before, and below the next interval, so below its colour.
            let between = |other: u8| {
                (i == 0 || other > palette.first[i - 1]) && (to == histogram.len || other < histogram.values[to])
            };
            let exact = histogram.error(from, to);
            let more = |other: u8| histogram.error_as(from, to, other).saturating_sub(exact);
            let cached = cache.colours().iter().copied().filter(|&other| between(other));
            if let Some((other, more)) = cached.map(|other| (other, more(other))).min_by_key(|&(_, more)| more)
                && more <= CACHED_FOR.min(spare)
            {
                colour = other;
                spare -= more;
            }
        }
        palette.first[i] = colour;
        for &value in &histogram.values[from..to] {
            index[usize::from(value)] = i as u8;
        }
    }
    for (place, &sample) in map.iter_mut().zip(samples) {
        *place = index[usize::from(sample)];
    }
    palette.at_least_two(true)
}

/// Where the intervals of least total error begin and end, as borders in the list of distinct values; how many
/// intervals there are, the fewest that leave at most `allowed`, or eight; and their error.
///
/// `least[i]` is the least error of the first i values in so many intervals. The best last border never moves back
/// as i grows, so each layer is filled by halving: the middle first, then both halves within the borders it allows.
fn best_borders(histogram: &Histogram, allowed: u32) -> ([usize; MOST + 1], usize, u32) {
    let n = histogram.len;
    let mut least = [u32::MAX; VALUES + 1];
    for (to, least) in least.iter_mut().enumerate().take(n + 1).skip(1) {
        *least = histogram.error(0, to);
    }
    let mut last_border = [[0u8; VALUES + 1]; MOST];
    let mut len = 1;
    // As many intervals as values leave nothing, so there are never more.
    while least[n] > allowed && len < MOST {
        let before = least;
        fill_layer(histogram, &before, &mut least, &mut last_border[len], (len + 1, n), (len, n - 1));
        len += 1;
    }
    let mut borders = [0; MOST + 1];
    borders[len] = n;
    for layer in (1..len).rev() {
        borders[layer] = usize::from(last_border[layer][borders[layer + 1]]);
    }
    (borders, len, least[n])
}

/// Fills `least` and `borders` for interval ends `ends.0..=ends.1`, whose last borders lie in `allowed`.
fn fill_layer(
    histogram: &Histogram,
    before: &[u32; VALUES + 1],
    least: &mut [u32; VALUES + 1],
    borders: &mut [u8; VALUES + 1],
    ends: (usize, usize),
    allowed: (usize, usize),
) {
    if ends.0 > ends.1 {
        return;
    }
    let middle = usize::midpoint(ends.0, ends.1);
    let (mut best, mut at) = (u32::MAX, allowed.0);
    for (border, before) in before.iter().enumerate().take(allowed.1.min(middle - 1) + 1).skip(allowed.0) {
        let error = before.saturating_add(histogram.error(border, middle));
        if error < best {
            (best, at) = (error, border);
        }
    }
    least[middle] = best;
    borders[middle] = at as u8;
    fill_layer(histogram, before, least, borders, (ends.0, middle - 1), (allowed.0, at));
    fill_layer(histogram, before, least, borders, (middle + 1, ends.1), (at, allowed.1));
}

/// A cluster of chroma pairs: how many, their mean Cb and Cr.
#[derive(Clone, Copy, Default)]
struct Cluster {
    count: f32,
    cb: f32,
    cr: f32,
}

impl Cluster {
    /// By how much the squared error grows if the two become one (Ward's criterion).
    fn cost(self, other: Cluster) -> f32 {
        let (b, r) = (self.cb - other.cb, self.cr - other.cr);
        self.count * other.count / (self.count + other.count) * (b * b + r * r)
    }

    fn join(self, other: Cluster) -> Cluster {
        let count = self.count + other.count;
        let mean = |a: f32, b: f32| (self.count * a + other.count * b) / count;
        Cluster { count, cb: mean(self.cb, other.cb), cr: mean(self.cr, other.cr) }
    }
}

/// Pairs in an 8×8 block's chroma, at most.
const PAIRS: usize = 16;

/// Few chroma pairs that come near to a 4×4 block, and the index of each: eight at most, and fewer as long as merging
/// them leaves no more squared error than `allowed`, but for the rounding of the means.
pub(in crate::encode::patch) fn reduce_chroma(cb: &[u8], cr: &[u8], map: &mut [u8], allowed: u32) -> Palette {
    let mut clusters = [Cluster::default(); PAIRS];
    let mut len = 0;
    for (&b, &r) in cb.iter().zip(cr).take(PAIRS) {
        let one = Cluster { count: 1.0, cb: f32::from(b), cr: f32::from(r) };
        if let Some(cluster) = clusters[..len].iter_mut().find(|cluster| cluster.cb == one.cb && cluster.cr == one.cr) {
            cluster.count += 1.0;
        } else {
            clusters[len] = one;
            len += 1;
        }
    }
    let mut error = 0.0;
    while len > 1 {
        let (mut least, mut nearest) = (f32::MAX, (0, 1));
        for i in 0..len {
            for j in i + 1..len {
                let cost = clusters[i].cost(clusters[j]);
                if cost < least {
                    (least, nearest) = (cost, (i, j));
                }
            }
        }
        error += least;
        if len <= MOST && error > allowed as f32 {
            break;
        }
        clusters[nearest.0] = clusters[nearest.0].join(clusters[nearest.1]);
        clusters[nearest.1] = clusters[len - 1];
        len -= 1;
    }
    let mut pairs = [[0u8; 2]; MOST];
    for (pair, cluster) in pairs.iter_mut().zip(&clusters[..len]) {
        *pair = [(cluster.cb + 0.5) as u8, (cluster.cr + 0.5) as u8];
    }
    pairs[..len].sort_unstable();
    let mut palette = Palette { len, ..Palette::default() };
    for (i, &[b, r]) in pairs[..len].iter().enumerate() {
        palette.first[i] = b;
        palette.second[i] = r;
    }
    for ((&b, &r), place) in cb.iter().zip(cr).zip(map.iter_mut()) {
        let distance = |i: &usize| {
            let (db, dr) = (i32::from(pairs[*i][0]) - i32::from(b), i32::from(pairs[*i][1]) - i32::from(r));
            db * db + dr * dr
        };
        *place = (0..len).min_by_key(distance).unwrap_or(0) as u8;
    }
    palette.at_least_two(false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error(samples: &[u8], map: &[u8], palette: &Palette) -> u32 {
        samples.iter().zip(map).map(|(&s, &i)| u32::from(s.abs_diff(palette.first[usize::from(i)])).pow(2)).sum()
    }

    /// The plain dynamic programme for so many colours, in whole numbers, with rounded means.
    fn least_error(samples: &[u8], colours: usize) -> u32 {
        let mut sorted = samples.to_vec();
        sorted.sort_unstable();
        let cost = |part: &[u8]| {
            let (sum, n) = (part.iter().map(|&s| u32::from(s)).sum::<u32>(), part.len() as u32);
            let mean = (sum + n / 2) / n;
            part.iter().map(|&s| u32::from(s).abs_diff(mean).pow(2)).sum::<u32>()
        };
        let mut least: Vec<u32> = (0..=64).map(|to| if to == 0 { 0 } else { cost(&sorted[..to]) }).collect();
        for _ in 1..colours {
            least = (0..=64)
                .map(|to| (0..to).map(|from| least[from] + cost(&sorted[from..to])).min().unwrap_or(0).min(least[to]))
                .collect();
        }
        least[64]
    }

    #[test]
    fn luma_is_the_best_there_is() {
        let mut seed = 1u32;
        for spread in [12, 30, 60, 255] {
            for _ in 0..20 {
                let samples: [u8; 64] = std::array::from_fn(|_| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    ((seed >> 16) % spread) as u8
                });
                let mut map = [0; 64];
                let palette = reduce_luma(&samples, &mut map, 0, &Cache::new(&[], &[]));
                assert!(palette.first().is_sorted_by(|a, b| a < b));
                assert_eq!(error(&samples, &map, &palette), least_error(&samples, MOST), "spread {spread}");
                // The fewest for what is allowed: one colour less would leave more.
                let allowed = error(&samples, &map, &palette) * 3 + 5;
                let palette = reduce_luma(&samples, &mut map, allowed, &Cache::new(&[], &[]));
                assert_eq!(error(&samples, &map, &palette), least_error(&samples, palette.len), "spread {spread}");
                assert!(error(&samples, &map, &palette) <= allowed);
                assert!(least_error(&samples, palette.len - 1) > allowed, "spread {spread}");
                // With a cache, as many colours and no more error than is allowed.
                let (cached, len) = (palette.first[1] + 1, palette.len);
                let palette = reduce_luma(&samples, &mut map, allowed, &Cache::new(&[cached], &[0, 255]));
                assert!(palette.first().is_sorted_by(|a, b| a < b));
                assert_eq!(palette.len, len);
                assert!(error(&samples, &map, &palette) <= allowed);
            }
        }
    }

    #[test]
    fn chroma_pairs_near_each_other_become_one() {
        let cb: [u8; 16] = std::array::from_fn(|i| if i < 9 { 100 } else { (30 * i % 251) as u8 });
        let cr: [u8; 16] = std::array::from_fn(|i| if i < 9 { 120 + i as u8 % 2 } else { 7 * i as u8 });
        let mut map = [0; 16];
        let palette = reduce_chroma(&cb, &cr, &mut map, 0);
        assert_eq!(palette.len, 8);
        assert!(palette.first().is_sorted());
        for i in 0..16 {
            let found = usize::from(map[i]);
            assert!(
                palette.first[found].abs_diff(cb[i]) <= 1 && palette.second[found].abs_diff(cr[i]) <= 1,
                "pair {i}"
            );
        }
    }

    #[test]
    fn a_near_colour_of_the_cache_is_taken() {
        // Four samples of 24, sixty of 180: a level's difference costs 4 or 60.
        let samples: [u8; 64] = std::array::from_fn(|i| if i % 16 == 0 { 24 } else { 180 });
        let mut map = [0; 64];
        let mut reduced = |allowed, cached: &[u8]| {
            let palette = reduce_luma(&samples, &mut map, allowed, &Cache::new(cached, &[179]));
            [palette.first[0], palette.first[1]]
        };
        assert_eq!(reduced(80, &[23, 120]), [23, 180]);
        assert_eq!(reduced(80, &[22, 120]), [24, 180], "16 is more than five bits are worth");
        assert_eq!(reduced(3, &[23]), [24, 180], "no more than is allowed");
        assert_eq!(reduced(0, &[23]), [24, 180]);
    }

    #[test]
    fn few_pairs_are_enough_where_little_is_lost() {
        let cb: [u8; 16] = std::array::from_fn(|i| [100, 101, 140, 141][i % 4]);
        let cr = [128; 16];
        let mut map = [0; 16];
        // Each merger of two neighbours costs 8 · ½ · ½ = 2 in all 16 samples.
        for (allowed, pairs) in [(0, 4), (3, 3), (4, 2), (6000, 2), (7000, 2)] {
            let palette = reduce_chroma(&cb, &cr, &mut map, allowed);
            assert_eq!(palette.len, pairs, "{allowed}");
        }
        assert_eq!(map, [0; 16], "all one pair, and its companion");
    }
}
