//! How the colours of a palette are written (`palette_mode_info`, AV1 specification §5.11.46).

use super::super::range_coder::RangeCoder;
use super::MOST;

/// Bits of a sample (`BitDepth`).
const BIT_DEPTH: u32 = 8;

/// The colours of the neighbours' palettes, from which a block may take some for a bit each.
pub(in crate::encode::patch) struct Cache {
    len: usize,
    colours: [u8; 2 * MOST],
}

impl Cache {
    /// `get_palette_cache` (§5.11.46): the sorted union of the palettes above and to the left.
    pub(in crate::encode::patch) fn new(above: &[u8], left: &[u8]) -> Cache {
        let mut cache = Cache { len: 0, colours: [0; 2 * MOST] };
        let (mut above, mut left) = (above.iter().peekable(), left.iter().peekable());
        loop {
            let next = match (above.peek(), left.peek()) {
                (Some(a), Some(l)) if l < a => left.next(),
                (Some(_), _) => above.next(),
                (None, _) => left.next(),
            };
            let Some(&colour) = next else { return cache };
            if cache.len == 0 || cache.colours[cache.len - 1] != colour {
                cache.colours[cache.len] = colour;
                cache.len += 1;
            }
        }
    }

    /// Its colours, ascending.
    pub(super) fn colours(&self) -> &[u8] {
        &self.colours[..self.len]
    }
}

/// CeilLog2(x), §4.7.
fn ceil_log2(x: u32) -> u32 {
    if x < 2 { 0 } else { u32::BITS - (x - 1).leading_zeros() }
}

/// Writes luma colours (`least_step` 1: no two are equal) or Cb colours (`least_step` 0), which ascend: first which of
/// the cache are taken, then the others as steps.
pub(in crate::encode::patch) fn write_ascending(rc: &mut RangeCoder, colours: &[u8], cache: &Cache, least_step: u8) {
    let mut taken = [false; MOST];
    let mut left = colours.len();
    for &cached in cache.colours() {
        if left == 0 {
            break;
        }
        let hit = (0..colours.len()).find(|&i| colours[i] == cached && !taken[i]);
        rc.literal(u32::from(hit.is_some()), 1); // use_palette_color_cache_y, _u
        if let Some(i) = hit {
            taken[i] = true;
            left -= 1;
        }
    }
    let mut rest = [0u8; MOST];
    let fresh = colours.iter().zip(taken).filter(|&(_, taken)| !taken).map(|(&colour, _)| colour);
    for (place, colour) in rest.iter_mut().zip(fresh) {
        *place = colour;
    }
    let rest = &rest[..left];
    let Some(&first) = rest.first() else { return };
    rc.literal(u32::from(first), BIT_DEPTH); // palette_colors_y[ idx ], palette_colors_u[ idx ]
    if rest.len() == 1 {
        return;
    }
    let step = |pair: &[u8]| u32::from(pair[1] - pair[0] - least_step);
    let widest = rest.windows(2).map(step).max().unwrap_or(0);
    let least_bits = BIT_DEPTH - 3;
    let mut bits = ceil_log2(widest + 1).max(least_bits);
    rc.literal(bits - least_bits, 2); // palette_num_extra_bits_y, _u
    for pair in rest.windows(2) {
        rc.literal(step(pair), bits); // palette_delta_y, _u
        // What is left above this colour needs no more bits than this.
        bits = bits.min(ceil_log2(256 - u32::from(pair[1]) - u32::from(least_step)));
    }
}

/// Writes Cr colours, which go up and down with the Cb ones: as they are, or as steps if that is shorter.
pub(in crate::encode::patch) fn write_cr(rc: &mut RangeCoder, colours: &[u8]) {
    // The decoder brings a sum that leaves 0 to 255 back by 256, so no step is longer than half the way round.
    let step = |pair: &[u8]| i32::from(pair[1].wrapping_sub(pair[0]) as i8);
    let longest = colours.windows(2).map(|pair| step(pair).unsigned_abs()).max().unwrap_or(0);
    let least_bits = BIT_DEPTH - 4;
    let bits = ceil_log2(longest + 1).max(least_bits);
    let signs = colours.windows(2).filter(|pair| step(pair) != 0).count() as u32;
    let as_steps = 2 + BIT_DEPTH + (colours.len() as u32 - 1) * bits + signs;
    // palette_num_extra_bits_v has two bits: steps have 4 to 7.
    if bits > least_bits + 3 || as_steps >= BIT_DEPTH * colours.len() as u32 {
        rc.literal(0, 1); // delta_encode_palette_colors_v
        for &colour in colours {
            rc.literal(u32::from(colour), BIT_DEPTH); // palette_colors_v[ idx ]
        }
        return;
    }
    rc.literal(1, 1); // delta_encode_palette_colors_v
    rc.literal(bits - least_bits, 2); // palette_num_extra_bits_v
    rc.literal(u32::from(colours[0]), BIT_DEPTH); // palette_colors_v[ 0 ]
    for pair in colours.windows(2) {
        rc.literal(step(pair).unsigned_abs(), bits); // palette_delta_v
        if step(pair) != 0 {
            rc.literal(u32::from(step(pair) < 0), 1); // palette_delta_sign_bit_v
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cache_is_a_sorted_union() {
        assert_eq!(Cache::new(&[1, 5, 9], &[2, 5, 10]).colours(), [1, 2, 5, 9, 10]);
        assert_eq!(Cache::new(&[], &[3, 3, 4]).colours(), [3, 4]);
        assert!(Cache::new(&[], &[]).colours().is_empty());
    }

    /// §4.7: the smallest i with 2^i at least x.
    #[test]
    fn ceil_log2_rounds_up() {
        assert_eq!([0, 1, 2, 3, 4, 5, 256].map(ceil_log2), [0, 0, 1, 2, 2, 3, 8]);
    }
}
