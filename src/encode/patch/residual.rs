//! What eight colours leave over in an 8×8 luma block (`residual`, AV1 specification §5.11.34 and §5.11.39).
//!
//! The edge of a piece can have twenty shades in one block. There the palette is a prediction, and the difference
//! follows pixel by pixel: the identity transform (IDTX) leaves coefficients where they are and only scales them, so a
//! coefficient of level l moves its pixel by about 4·l. Small differences stay where the block may keep them.

use super::cdf::Cdfs;
use super::range_coder::RangeCoder;

/// Samples on a side, and in all.
const SIDE: usize = 8;
const SAMPLES: usize = SIDE * SIDE;

/// `dc_q( 25 )` and `ac_q( 25 )` (§7.12.2), the multipliers of the first coefficient and of the others at our
/// `base_q_idx`.
const DC_Q: i32 = 28;
const AC_Q: i32 = 32;

/// `Default_Scan_8x8` (§9.3): the order of coefficients.
const SCAN: [u8; SAMPLES] = [
    0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5, 12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13, 6, 7, 14, 21,
    28, 35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51, 58, 59, 52, 45, 38, 31, 39, 46, 53, 60, 61, 54,
    47, 55, 62, 63,
];

/// `Coeff_Base_Ctx_Offset` of 8×8 (§9.3), by row and column, each 4 at most.
const BASE_CONTEXT: [[usize; 5]; 5] =
    [[0, 1, 6, 6, 21], [1, 6, 6, 21, 21], [6, 6, 21, 21, 21], [6, 21, 21, 21, 21], [21, 21, 21, 21, 21]];

/// `Sig_Ref_Diff_Offset` of two-dimensional transforms (§9.3): rows down and columns right. The first three are
/// `Mag_Ref_Offset_With_Tx_Class`.
const NEAR: [(usize, usize); 5] = [(0, 1), (1, 0), (1, 1), (0, 2), (2, 0)];

/// The highest level without a Golomb code: `NUM_BASE_LEVELS` + `COEFF_BASE_RANGE`.
const HIGHEST: u32 = 14;

/// A residual with at least one level that is not 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Residual {
    levels: [i16; SAMPLES],
    /// `eob`: coefficients up to the last that is not 0, in scan order.
    end: usize,
}

impl Residual {
    /// The levels that come nearest to these differences, row by row, without those of the smallest ones: as many are
    /// left out as leave a squared error of at most `most`. `None` if all are 0.
    pub(super) fn new(differences: &[i16; SAMPLES], most: u32) -> Option<Residual> {
        let mut levels = [0; SAMPLES];
        let mut error = 0;
        let mut written = [0u8; SAMPLES];
        let mut len = 0;
        for (position, (level, &wanted)) in levels.iter_mut().zip(differences).enumerate() {
            *level = nearest_level(position, wanted);
            error += left(position, *level, wanted);
            if *level != 0 {
                written[len] = position as u8;
                len += 1;
            }
        }
        written[..len].sort_by_key(|&position| differences[usize::from(position)].unsigned_abs());
        for position in written[..len].iter().map(|&position| usize::from(position)) {
            let wanted = differences[position];
            error = error - left(position, levels[position], wanted) + left(position, 0, wanted);
            if error > most {
                break;
            }
            levels[position] = 0;
        }
        let last = SCAN.iter().rposition(|&position| levels[usize::from(position)] != 0)?;
        Some(Residual { levels, end: last + 1 })
    }

    /// Adds a row of the residual to the prediction (§7.12.3: the sum is clipped).
    pub(super) fn add(&self, row: usize, samples: &mut [u8]) {
        for (column, sample) in samples.iter_mut().enumerate().take(SIDE) {
            let position = row * SIDE + column;
            let sum = i32::from(*sample) + difference(position, self.levels[position]);
            *sample = sum.clamp(0, 255) as u8;
        }
    }

    /// The sign of the first coefficient: the part of it that later blocks' contexts know.
    pub(super) fn first_sign(&self) -> i8 {
        self.levels[0].signum() as i8
    }

    /// Writes the luma coefficients and that both chroma blocks have none. `signs` is the sum of the neighbours'
    /// first signs.
    pub(super) fn write(&self, rc: &mut RangeCoder, cdfs: &mut Cdfs, signs: i8) {
        // all_zero: its context is 0, as the transform is as large as the block (§8.3.2)
        rc.symbol(&mut cdfs.all_zero[0], 0);
        rc.symbol(&mut cdfs.intra_tx_type, 0); // intra_tx_type (§5.11.47) in TX_SET_INTRA_1: IDTX
        self.write_end(rc, cdfs);
        for at in (0..self.end).rev() {
            self.write_level(rc, cdfs, at);
        }
        for &position in &SCAN[..self.end] {
            self.write_sign(rc, cdfs, usize::from(position), signs);
        }
        // all_zero of Cb and Cr: context 7, as no chroma block has coefficients
        rc.symbol(&mut cdfs.all_zero[1], 1);
        rc.symbol(&mut cdfs.all_zero[1], 1);
    }

    /// `eob_pt_64`, `eob_extra` and `eob_extra_bit`: which power of two the end lies above, and how far.
    fn write_end(&self, rc: &mut RangeCoder, cdfs: &mut Cdfs) {
        // eobPt: 1, 2, 3-4, 5-8, 9-16, 17-32, 33-64 are 1 to 7
        let class = self.end.next_power_of_two().ilog2() as usize;
        rc.symbol(&mut cdfs.eob_64, class);
        if class >= 2 {
            let beyond = self.end - (1 << (class - 1)) - 1;
            let bits = class - 1;
            rc.symbol(&mut cdfs.eob_extra[class - 2], beyond >> (bits - 1));
            rc.literal(beyond as u32 & ((1 << (bits - 1)) - 1), bits as u32 - 1);
        }
    }

    /// The level of a coefficient below and right of `position`, 0 outside the block.
    fn near(&self, position: usize, (down, right): (usize, usize)) -> u32 {
        let (row, column) = (position / SIDE + down, position % SIDE + right);
        if row < SIDE && column < SIDE { u32::from(self.levels[row * SIDE + column].unsigned_abs()) } else { 0 }
    }

    /// `coeff_base_eob` or `coeff_base`, and `coeff_br`: the level up to 15.
    fn write_level(&self, rc: &mut RangeCoder, cdfs: &mut Cdfs, at: usize) {
        let position = usize::from(SCAN[at]);
        let (row, column) = (position / SIDE, position % SIDE);
        let level = u32::from(self.levels[position].unsigned_abs());
        if at == self.end - 1 {
            // The last one is not 0; its context is how far out it lies.
            let context = match at {
                0 => 0,
                1..=8 => 1,
                9..=16 => 2,
                _ => 3,
            };
            rc.symbol(&mut cdfs.coeff_base_eob[context], level.min(3) as usize - 1);
        } else {
            let sum: u32 = NEAR.iter().map(|&near| self.near(position, near).min(3)).sum();
            let context = match position {
                0 => 0,
                _ => BASE_CONTEXT[row.min(4)][column.min(4)] + sum.div_ceil(2).min(4) as usize,
            };
            rc.symbol(&mut cdfs.coeff_base[context], level.min(3) as usize);
        }
        if level < 3 {
            return;
        }
        let sum: u32 = NEAR[..3].iter().map(|&near| self.near(position, near).min(HIGHEST + 1)).sum();
        let place = match (position, row < 2 && column < 2) {
            (0, _) => 0,
            (_, true) => 7,
            (_, false) => 14,
        };
        let context = place + sum.div_ceil(2).min(6) as usize;
        let mut rest = level.min(HIGHEST + 1) - 3;
        for _ in 0..4 {
            let step = rest.min(3);
            rc.symbol(&mut cdfs.coeff_br[context], step as usize);
            rest -= step;
            if step < 3 {
                break;
            }
        }
    }

    /// `dc_sign` or `sign_bit`, and the Golomb code of a level above 14.
    fn write_sign(&self, rc: &mut RangeCoder, cdfs: &mut Cdfs, position: usize, signs: i8) {
        let level = self.levels[position];
        if level == 0 {
            return;
        }
        if position == 0 {
            let context = match signs.signum() {
                0 => 0,
                -1 => 1,
                _ => 2,
            };
            rc.symbol(&mut cdfs.dc_sign[context], usize::from(level < 0));
        } else {
            rc.literal(u32::from(level < 0), 1);
        }
        let level = u32::from(level.unsigned_abs());
        if level > HIGHEST {
            let beyond = level - HIGHEST;
            let bits = beyond.ilog2() + 1;
            rc.literal(0, bits - 1); // golomb_length_bit
            rc.literal(beyond, bits); // the last of them, and golomb_data_bit
        }
    }
}

/// By how much a level moves its sample: dequantisation (§7.12.3), then the identity transform of both directions
/// (§7.13.3), each of which doubles, with shifts by 1 and by 4.
fn difference(position: usize, level: i16) -> i32 {
    let q = if position == 0 { DC_Q } else { AC_Q };
    (2 * i32::from(level) * q + 8) >> 4
}

/// The squared error that a level leaves of what is wanted.
fn left(position: usize, level: i16, wanted: i16) -> u32 {
    (i32::from(wanted) - difference(position, level)).unsigned_abs().pow(2)
}

/// The level whose difference is nearest.
fn nearest_level(position: usize, wanted: i16) -> i16 {
    let q = if position == 0 { DC_Q } else { AC_Q };
    let guess = (i32::from(wanted) * 8 / q) as i16;
    [guess, guess - 1, guess + 1]
        .into_iter()
        .min_by_key(|&level| (difference(position, level) - i32::from(wanted)).abs())
        .unwrap_or(guess)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_sample_is_left_further_than_two() {
        for wanted in -255..=255i16 {
            for position in [0, 1, 63] {
                let left = i32::from(wanted) - difference(position, nearest_level(position, wanted));
                assert!(left.abs() <= 2, "{wanted} at {position}");
            }
        }
    }

    #[test]
    fn small_differences_need_no_residual() {
        assert_eq!(Residual::new(&[1; SAMPLES], 0), None);
        assert_eq!(Residual::new(&[5; SAMPLES], 25 * 64), None);
        let mut one = [0; SAMPLES];
        one[8] = -9;
        let residual = Residual::new(&one, 80).unwrap();
        assert_eq!((residual.end, residual.first_sign()), (3, 0));
        let mut row = [100; SIDE];
        residual.add(1, &mut row);
        assert_eq!(row, [92, 100, 100, 100, 100, 100, 100, 100]);
    }

    #[test]
    fn the_greatest_differences_are_written() {
        let differences: [i16; SAMPLES] = std::array::from_fn(|i| (i as i16 - 32) / 3);
        let mut before = SAMPLES + 1;
        for most in [100, 300, 900] {
            let residual = Residual::new(&differences, most).unwrap();
            let error: u32 = (0..SAMPLES).map(|at| left(at, residual.levels[at], differences[at])).sum();
            assert!(error <= most, "{error}");
            let written = |at: &usize| residual.levels[*at] != 0;
            let least = (0..SAMPLES).filter(written).map(|at| differences[at].abs()).min();
            let greatest = (0..SAMPLES).filter(|at| !written(at)).map(|at| differences[at].abs()).max();
            assert!(greatest <= least, "{greatest:?} is left out, {least:?} written");
            let count = (0..SAMPLES).filter(written).count();
            assert!(count < before, "{count} of {before}");
            before = count;
        }
    }
}
