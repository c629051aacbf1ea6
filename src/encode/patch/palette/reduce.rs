//! The eight colours that come nearest to an 8×8 block with more of them.
//!
//! In luma they are the best there are: one-dimensional clusters of least squared error are intervals, and a dynamic
//! programme finds the best borders. In chroma (at most sixteen pairs of values) near pairs are merged, which leaves
//! the palette within a hair of the best.

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
        let [count, sum, squares] = self.between(from, to);
        let mean = u32::from(self.mean(from, to));
        // Σ (x − m)²; no product exceeds 64 · 255² · 2.
        squares + mean * mean * count - 2 * mean * sum
    }

    /// The rounded mean of values `from..to`.
    fn mean(&self, from: usize, to: usize) -> u8 {
        let [count, sum, _] = self.between(from, to);
        ((sum + count / 2) / count.max(1)) as u8
    }
}

/// The best eight luma values for an 8×8 block that has more, and the index of each sample.
pub(in crate::encode::patch) fn reduce_luma(samples: &[u8], map: &mut [u8]) -> Palette {
    let histogram = Histogram::new(samples);
    let borders = best_borders(&histogram);
    let mut palette = Palette::default();
    let mut index = [0u8; 256];
    for border in borders.windows(2) {
        let mean = histogram.mean(border[0], border[1]);
        // Neighbouring means may round to one value.
        if palette.len == 0 || palette.first[palette.len - 1] != mean {
            palette.first[palette.len] = mean;
            palette.len += 1;
        }
        for &value in &histogram.values[border[0]..border[1]] {
            index[usize::from(value)] = palette.len as u8 - 1;
        }
    }
    for (place, &sample) in map.iter_mut().zip(samples) {
        *place = index[usize::from(sample)];
    }
    palette.at_least_two(true)
}

/// Where the intervals of least total error begin and end: nine borders in the list of distinct values, of which
/// there are eight at least.
///
/// `least[i]` is the least error of the first i values in so many intervals. The best last border never moves back
/// as i grows, so each layer is filled by halving: the middle first, then both halves within the borders it allows.
fn best_borders(histogram: &Histogram) -> [usize; MOST + 1] {
    let n = histogram.len;
    let mut least = [u32::MAX; VALUES + 1];
    for (to, least) in least.iter_mut().enumerate().take(n + 1).skip(1) {
        *least = histogram.error(0, to);
    }
    let mut last_border = [[0u8; VALUES + 1]; MOST];
    for (layer, borders) in last_border.iter_mut().enumerate().skip(1) {
        let before = least;
        fill_layer(histogram, &before, &mut least, borders, (layer + 1, n), (layer, n - 1));
    }
    let mut borders = [0; MOST + 1];
    borders[MOST] = n;
    for layer in (1..MOST).rev() {
        borders[layer] = usize::from(last_border[layer][borders[layer + 1]]);
    }
    borders
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

/// Eight chroma pairs that come near to a 4×4 block with more, and the index of each.
pub(in crate::encode::patch) fn reduce_chroma(cb: &[u8], cr: &[u8], map: &mut [u8]) -> Palette {
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
    while len > MOST {
        let (mut least, mut nearest) = (f32::MAX, (0, 1));
        for i in 0..len {
            for j in i + 1..len {
                let cost = clusters[i].cost(clusters[j]);
                if cost < least {
                    (least, nearest) = (cost, (i, j));
                }
            }
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

    /// The plain dynamic programme, in whole numbers, with rounded means.
    fn least_error(samples: &[u8]) -> u32 {
        let mut sorted = samples.to_vec();
        sorted.sort_unstable();
        let cost = |part: &[u8]| {
            let (sum, n) = (part.iter().map(|&s| u32::from(s)).sum::<u32>(), part.len() as u32);
            let mean = (sum + n / 2) / n;
            part.iter().map(|&s| u32::from(s).abs_diff(mean).pow(2)).sum::<u32>()
        };
        let mut least: Vec<u32> = (0..=64).map(|to| if to == 0 { 0 } else { cost(&sorted[..to]) }).collect();
        for _ in 1..MOST {
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
                let palette = reduce_luma(&samples, &mut map);
                assert!(palette.first().is_sorted_by(|a, b| a < b));
                assert_eq!(error(&samples, &map, &palette), least_error(&samples), "spread {spread}");
            }
        }
    }

    #[test]
    fn chroma_pairs_near_each_other_become_one() {
        let cb: [u8; 16] = std::array::from_fn(|i| if i < 9 { 100 } else { (30 * i % 251) as u8 });
        let cr: [u8; 16] = std::array::from_fn(|i| if i < 9 { 120 + i as u8 % 2 } else { 7 * i as u8 });
        let mut map = [0; 16];
        let palette = reduce_chroma(&cb, &cr, &mut map);
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
}
