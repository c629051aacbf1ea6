//! The AV1 level that a stream says a decoder must have.

use crate::units::{FrameRate, Size};

/// The levels of the AV1 specification, Annex A.3: `seq_level_idx`, then what a stream may ask of a decoder: samples in
/// a frame, samples across, samples down, and samples shown a second. Levels below 3.1 spare no one anything.
const LEVELS: [(u8, u64, u64, u64, u64); 6] = [
    (5, 1_065_024, 5504, 3096, 31_950_720),
    (8, 2_359_296, 6144, 3456, 70_778_880),
    (9, 2_359_296, 6144, 3456, 141_557_760),
    (12, 8_912_896, 8192, 4352, 267_386_880),
    (13, 8_912_896, 8192, 4352, 534_773_760),
    (14, 8_912_896, 8192, 4352, 1_069_547_520),
];

/// `seq_level_idx` of a stream that keeps no level.
const NO_LEVEL: u8 = 31;

/// The lowest level, as `seq_level_idx`, whose limits of size and display rate the stream keeps. Held frames count
/// as shown, not as decoded, so no frame counts twice.
pub fn level(size: Size, rate: FrameRate) -> u8 {
    let (width, height) = (u64::from(size.width), u64::from(size.height));
    let samples = width * height;
    let keeps = |&(_, most, across, down, a_second): &(u8, u64, u64, u64, u64)| {
        let shown = u128::from(samples) * u128::from(rate.num());
        samples <= most && width <= across && height <= down && shown <= u128::from(a_second) * u128::from(rate.den())
    };
    LEVELS.iter().find(|limits| keeps(limits)).map_or(NO_LEVEL, |limits| limits.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_level_is_named() {
        let of = |width, height, num, den| level(Size { width, height }, FrameRate::new(num, den).unwrap());
        assert_eq!(of(1280, 720, 30, 1), 5);
        assert_eq!(of(1280, 720, 60, 1), 8);
        assert_eq!(of(1920, 1080, 30, 1), 8);
        assert_eq!(of(1920, 1080, 30000, 1001), 8);
        assert_eq!(of(1920, 1080, 60, 1), 9);
        assert_eq!(of(1080, 1920, 60, 1), 9);
        assert_eq!(of(2560, 1440, 60, 1), 12);
        assert_eq!(of(3840, 2160, 30, 1), 12);
        assert_eq!(of(3840, 2160, 60, 1), 13);
        assert_eq!(of(2160, 3840, 60, 1), 13);
        assert_eq!(of(7680, 4320, 30, 1), NO_LEVEL);
    }
}
