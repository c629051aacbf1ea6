//! Palettes that give a block exactly.

use super::{MOST, Palette};

/// The palette of a block with at most eight luma values, and the index of each sample in `map`.
pub(in crate::encode::patch) fn exact_luma(samples: &[u8], map: &mut [u8]) -> Option<Palette> {
    let mut seen = [0u64; 4];
    // A stretch at a time: a block of many colours is refused early.
    for stretch in samples.chunks(64) {
        for &sample in stretch {
            seen[usize::from(sample >> 6)] |= 1 << (sample & 63);
        }
        if seen.iter().map(|word| word.count_ones()).sum::<u32>() > MOST as u32 {
            return None;
        }
    }
    let mut palette = Palette::default();
    for (high, mut word) in (0u8..).zip(seen) {
        while word != 0 {
            palette.first[palette.len] = high * 64 + word.trailing_zeros() as u8;
            palette.len += 1;
            word &= word - 1;
        }
    }
    let palette = palette.at_least_two(true);
    let mut index = [0u8; 256];
    for (i, &colour) in (0u8..).zip(palette.first()) {
        index[usize::from(colour)] = i;
    }
    for (place, &sample) in map.iter_mut().zip(samples) {
        *place = index[usize::from(sample)];
    }
    Some(palette)
}

/// The palette of a block with at most eight pairs of chroma values, sorted by both, and the index of each pair.
pub(in crate::encode::patch) fn exact_chroma(cb: &[u8], cr: &[u8], map: &mut [u8]) -> Option<Palette> {
    let mut pairs = [[0u8; 2]; MOST];
    let mut len = 0;
    let mut last = 0;
    // Pairs are numbered as they come, and the numbers set right when all are known.
    for ((&b, &r), place) in cb.iter().zip(cr).zip(map.iter_mut()) {
        if len == 0 || pairs[last] != [b, r] {
            last = match pairs[..len].iter().position(|&pair| pair == [b, r]) {
                Some(i) => i,
                None if len == MOST => return None,
                None => {
                    pairs[len] = [b, r];
                    len += 1;
                    len - 1
                }
            };
        }
        *place = last as u8;
    }
    let mut order = [0usize, 1, 2, 3, 4, 5, 6, 7];
    order[..len].sort_unstable_by_key(|&i| pairs[i]);
    let mut palette = Palette { len, ..Palette::default() };
    let mut rank = [0u8; MOST];
    for (i, &from) in order[..len].iter().enumerate() {
        rank[from] = i as u8;
        palette.first[i] = pairs[from][0];
        palette.second[i] = pairs[from][1];
    }
    for place in &mut map[..cb.len()] {
        *place = rank[usize::from(*place) % MOST];
    }
    Some(palette.at_least_two(false))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn luma_colours_ascend_and_indices_find_them() {
        let samples = [200, 3, 3, 255, 70, 200];
        let mut map = [9; 6];
        let palette = exact_luma(&samples, &mut map).unwrap();
        assert_eq!(palette.first(), [3, 70, 200, 255]);
        assert_eq!(map, [2, 0, 0, 3, 1, 2]);
    }

    #[test]
    fn nine_colours_are_too_many() {
        let nine: Vec<u8> = (0..9).collect();
        let mut map = [0; 9];
        assert_eq!(exact_luma(&nine, &mut map), None);
        assert!(exact_luma(&nine[1..], &mut map).is_some());
        assert_eq!(exact_chroma(&nine, &[7; 9], &mut map), None);
        assert!(exact_chroma(&nine[1..], &[7; 8], &mut map).is_some());
    }

    #[test]
    fn a_single_colour_has_a_companion() {
        for only in [0, 100, 255] {
            let mut map = [9; 4];
            let palette = exact_luma(&[only; 4], &mut map).unwrap();
            assert_eq!(palette.len, 2);
            assert!(palette.first[0] < palette.first[1]);
            assert_eq!(map.map(|i| palette.first[usize::from(i)]), [only; 4]);
        }
    }

    #[test]
    fn chroma_pairs_are_sorted_and_found() {
        let (cb, cr) = ([9, 9, 1, 1, 9], [2, 1, 8, 8, 2]);
        let mut map = [9; 5];
        let palette = exact_chroma(&cb, &cr, &mut map).unwrap();
        assert_eq!((palette.first(), palette.second()), (&[1, 9, 9][..], &[8, 1, 2][..]));
        assert_eq!(map, [2, 1, 0, 0, 2]);
    }
}
