//! Which pixel has which colour (`palette_tokens`, AV1 specification §5.11.49, and §5.11.50).
//!
//! Pixels go in diagonals from top right to bottom left. For each, the colours are ordered anew by the neighbours
//! left, above left and above, which are written already, and the pixel's rank in that order is the symbol.

use super::super::cdf::{Cdf, Cdfs};
use super::super::range_coder::RangeCoder;

/// Writes the map of a block: `rows` of `width` indices below `colours`; only what lies inside the picture's whole
/// cells (onscreenWidth, onscreenHeight). `plane` is 0 for luma, 1 for chroma.
pub(in crate::encode::patch) fn write(
    rc: &mut RangeCoder,
    cdfs: &mut Cdfs,
    plane: usize,
    colours: usize,
    map: &[u8],
    width: usize,
) {
    match colours {
        2 => diagonals(rc, &mut cdfs.colour2[plane], map, width),
        3 => diagonals(rc, &mut cdfs.colour3[plane], map, width),
        4 => diagonals(rc, &mut cdfs.colour4[plane], map, width),
        5 => diagonals(rc, &mut cdfs.colour5[plane], map, width),
        6 => diagonals(rc, &mut cdfs.colour6[plane], map, width),
        7 => diagonals(rc, &mut cdfs.colour7[plane], map, width),
        _ => diagonals(rc, &mut cdfs.colour8[plane], map, width),
    }
}

fn diagonals<const N: usize>(rc: &mut RangeCoder, cdfs: &mut [Cdf<N>; 5], map: &[u8], width: usize) {
    let height = map.len() / width;
    rc.below(u32::from(map[0]), N as u32); // color_index_map_y, _uv: NS(n)
    for diagonal in 1..width + height - 1 {
        let first = diagonal.min(width - 1);
        let last = (diagonal + 1).saturating_sub(height);
        for x in (last..=first).rev() {
            let at = (diagonal - x) * width + x;
            let (context, rank) = match (x > 0, at >= width) {
                (true, true) => ranked(map[at], map[at - 1], map[at - width - 1], map[at - width]),
                (true, false) => (0, behind(map[at], [map[at - 1]])),
                _ => (0, behind(map[at], [map[at - width]])),
            };
            rc.symbol(&mut cdfs[context], usize::from(rank)); // palette_color_idx_y, _uv
        }
    }
}

/// `get_palette_color_context` (§5.11.50) with all three neighbours: the context and the rank of `index`. Left and
/// above score 2, above left 1; only five sums occur, and a higher score, then a lower index, comes first.
#[inline]
fn ranked(index: u8, left: u8, above_left: u8, above: u8) -> (usize, u8) {
    match (left == above, left == above_left, above == above_left) {
        (true, true, _) => (4, behind(index, [left])),
        (true, false, _) => (3, behind(index, [left, above_left])),
        (false, true, _) => (2, behind(index, [left, above])),
        (false, false, true) => (2, behind(index, [above, left])),
        (false, false, false) => (1, behind(index, [left.min(above), left.max(above), above_left])),
    }
}

/// The rank of `index` when `first` stand in front and all others follow in ascending order.
#[inline]
fn behind<const K: usize>(index: u8, first: [u8; K]) -> u8 {
    match first.iter().position(|&other| other == index) {
        Some(rank) => rank as u8,
        None => index + first.iter().map(|&other| u8::from(other > index)).sum::<u8>(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// §5.11.50 as it is written: scores, a stable partial sort, and the hash of the three highest scores
    /// (`Palette_Color_Hash_Multipliers` 1, 2, 2; `Palette_Color_Context`).
    fn by_the_book(index: u8, neighbours: [(u8, u32); 3], colours: usize) -> (usize, u8) {
        let mut scores = [0u32; 8];
        for (colour, score) in neighbours {
            scores[usize::from(colour)] += score;
        }
        let mut order: Vec<u8> = (0..8).collect();
        for i in 0..3 {
            let (mut most, mut at) = (scores[i], i);
            for (j, &score) in scores.iter().enumerate().take(colours).skip(i + 1) {
                if score > most {
                    (most, at) = (score, j);
                }
            }
            order[i..=at].rotate_right(1);
            scores[i..=at].rotate_right(1);
        }
        let hash = scores[0] + 2 * scores[1] + 2 * scores[2];
        let context = [None, None, Some(0), None, None, Some(4), Some(3), Some(2), Some(1)][hash as usize];
        let rank = order.iter().position(|&colour| colour == index);
        (context.expect("a hash that occurs"), rank.expect("every colour is in the order") as u8)
    }

    #[test]
    fn ranks_and_contexts_are_those_of_the_book() {
        for colours in 2..=8u8 {
            for code in 0..u32::from(colours).pow(4) {
                let n = u32::from(colours);
                let [index, left, above_left, above] =
                    [code % n, code / n % n, code / n / n % n, code / n / n / n].map(|i| i as u8);
                let book = by_the_book(index, [(left, 2), (above_left, 1), (above, 2)], usize::from(colours));
                assert_eq!(ranked(index, left, above_left, above), book, "{index} by {left} {above_left} {above}");
                let book = by_the_book(index, [(left, 2), (0, 0), (0, 0)], usize::from(colours));
                assert_eq!((0, behind(index, [left])), book);
            }
        }
    }
}
