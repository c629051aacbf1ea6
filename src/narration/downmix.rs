//! More than two channels → left and right, by ITU-R BS.775.

use symphonia::core::audio::{ChannelLabel, Channels, Position};

/// −3 dB, the coefficient of BS.775-3 Table 2 for the centre and for each surround channel.
const MINUS_3_DB: f32 = std::f32::consts::FRAC_1_SQRT_2;

/// What each channel of a recording gives to left and right.
///
/// The coefficients are the Recommendation's own, not scaled down against overload: a sum beyond full scale stays a
/// number beyond 1. The low-frequency channel is left out, as Table 2 leaves it out.
#[derive(Clone, Debug, PartialEq)]
pub struct Downmix(Vec<[f32; 2]>);

impl Downmix {
    /// The downmix for a recording's channels; `None` where one or two channels pass as they are.
    pub fn of(channels: &Channels) -> Option<Downmix> {
        let count = channels.count();
        if count <= 2 {
            return None;
        }
        let sides = match channels {
            Channels::Positioned(set) => set.iter().map(sides).collect(),
            Channels::Custom(labels) => labels
                .iter()
                .map(|label| match label {
                    ChannelLabel::Positioned(position) => sides(*position),
                    _ => even(count),
                })
                .collect(),
            _ => vec![even(count); count],
        };
        Some(Downmix(sides))
    }

    /// Interleaved samples of all channels → interleaved left and right, appended to `out`.
    pub fn mix(&self, samples: &[f32], out: &mut Vec<f32>) {
        out.extend(samples.chunks_exact(self.0.len()).flat_map(|frame| {
            let side = |k: usize| frame.iter().zip(&self.0).map(|(sample, sides)| sample * sides[k]).sum::<f32>();
            [side(0), side(1)]
        }));
    }
}

/// Channels without a place are heard evenly from both sides.
fn even(count: usize) -> [f32; 2] {
    [1.0 / count as f32; 2]
}

fn sides(position: Position) -> [f32; 2] {
    const LEFT: Position = Position::FRONT_LEFT.union(Position::FRONT_LEFT_CENTER).union(Position::FRONT_LEFT_WIDE);
    const RIGHT: Position = Position::FRONT_RIGHT.union(Position::FRONT_RIGHT_CENTER).union(Position::FRONT_RIGHT_WIDE);
    const SURROUND_LEFT: Position = Position::REAR_LEFT
        .union(Position::SIDE_LEFT)
        .union(Position::TOP_FRONT_LEFT)
        .union(Position::TOP_REAR_LEFT)
        .union(Position::TOP_SIDE_LEFT)
        .union(Position::BOTTOM_FRONT_LEFT);
    const SURROUND_RIGHT: Position = Position::REAR_RIGHT
        .union(Position::SIDE_RIGHT)
        .union(Position::TOP_FRONT_RIGHT)
        .union(Position::TOP_REAR_RIGHT)
        .union(Position::TOP_SIDE_RIGHT)
        .union(Position::BOTTOM_FRONT_RIGHT);
    const LOW: Position = Position::LFE1.union(Position::LFE2);
    if LEFT.contains(position) {
        [1.0, 0.0]
    } else if RIGHT.contains(position) {
        [0.0, 1.0]
    } else if SURROUND_LEFT.contains(position) {
        [MINUS_3_DB, 0.0]
    } else if SURROUND_RIGHT.contains(position) {
        [0.0, MINUS_3_DB]
    } else if LOW.contains(position) {
        [0.0, 0.0]
    } else {
        [MINUS_3_DB, MINUS_3_DB] // centre, rear centre (the mono surround of Table 2) and what is above
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_one_by_the_table() {
        // WAVE order: L R C LFE Ls Rs.
        let mask = Position::FRONT_LEFT
            | Position::FRONT_RIGHT
            | Position::FRONT_CENTER
            | Position::LFE1
            | Position::REAR_LEFT
            | Position::REAR_RIGHT;
        let downmix = Downmix::of(&Channels::Positioned(mask)).unwrap();
        let mut out = Vec::new();
        for k in 0..6 {
            let mut frame = [0.0; 6];
            frame[k] = 1.0;
            downmix.mix(&frame, &mut out);
        }
        let r = MINUS_3_DB;
        assert_eq!(out, [1.0, 0.0, 0.0, 1.0, r, r, 0.0, 0.0, r, 0.0, 0.0, r]);
    }

    #[test]
    fn one_and_two_channels_pass() {
        assert_eq!(Downmix::of(&Channels::Positioned(Position::FRONT_LEFT)), None);
        assert_eq!(Downmix::of(&Channels::Discrete(2)), None);
        assert!(Downmix::of(&Channels::Discrete(3)).is_some());
    }
}
