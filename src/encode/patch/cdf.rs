//! The adaptive chances of the symbols (AV1 specification §8.2.6 and §8.3) and the set of those that are written.

use super::cdf_tables as table;

/// Cumulative chances of `N` symbols in 32768ths, the last always 32768, and how often they were adapted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cdf<const N: usize> {
    cumulative: [u16; N],
    adapted: u16,
}

/// A CDF that has not been adapted yet.
pub(super) const fn cdf<const N: usize>(cumulative: [u16; N]) -> Cdf<N> {
    Cdf { cumulative, adapted: 0 }
}

impl<const N: usize> Cdf<N> {
    /// The cumulative chance before `symbol` and with it.
    #[inline]
    pub(super) fn bounds(&self, symbol: usize) -> (u32, u32) {
        let below = if symbol > 0 { self.cumulative[symbol - 1] } else { 0 };
        (u32::from(below), u32::from(self.cumulative[symbol]))
    }

    /// The cumulative chances.
    pub(super) fn cumulative(&self) -> &[u16; N] {
        &self.cumulative
    }

    /// Moves the chances towards `symbol` (§8.2.6, the process at its end): quickly at first, and more slowly for
    /// larger alphabets.
    #[inline]
    pub(super) fn learn(&mut self, symbol: usize) {
        // Min( FloorLog2( N ), 2 ); there is no alphabet of one.
        let alphabet = if N >= 4 { 2 } else { 1 };
        let rate = 3 + u16::from(self.adapted > 15) + u16::from(self.adapted > 31) + alphabet;
        for (i, chance) in self.cumulative[..N - 1].iter_mut().enumerate() {
            if i < symbol {
                *chance -= *chance >> rate;
            } else {
                *chance += (32768 - *chance) >> rate;
            }
        }
        self.adapted += u16::from(self.adapted < 32);
    }
}

/// Clears the counters of all CDFs in an array of any depth.
trait ClearCounters {
    fn clear_counters(&mut self);
}

impl<const N: usize> ClearCounters for Cdf<N> {
    fn clear_counters(&mut self) {
        self.adapted = 0;
    }
}

impl<T: ClearCounters, const N: usize> ClearCounters for [T; N] {
    fn clear_counters(&mut self) {
        self.iter_mut().for_each(T::clear_counters);
    }
}

macro_rules! set {
    ($($(#[$doc:meta])* $name:ident: $type:ty = $default:expr,)*) => {
        /// Every CDF that is written, with its defaults (§9.3). Symbols that never occur have none here.
        #[derive(Clone, Debug)]
        pub(super) struct Cdfs {
            $($(#[$doc])* pub(super) $name: $type,)*
        }

        impl Cdfs {
            /// `init_non_coeff_cdfs` and `init_coeff_cdfs` (§7.20), where `primary_ref_frame` is `PRIMARY_REF_NONE`.
            pub(super) fn new() -> Cdfs {
                Cdfs { $($name: $default,)* }
            }

            /// What a frame hands on to the next: its last chances, with the counters of adaptation at zero
            /// (§7.4, the frame end update, and §7.20, `load_cdfs`).
            pub(super) fn end_frame(&mut self) {
                $(self.$name.clear_counters();)*
            }
        }
    };
}

set! {
    partition8: [Cdf<4>; 4] = table::PARTITION_8,
    partition16: [Cdf<10>; 4] = table::PARTITION_16,
    partition32: [Cdf<10>; 4] = table::PARTITION_32,
    partition64: [Cdf<10>; 4] = table::PARTITION_64,
    skip: [Cdf<2>; 3] = table::SKIP,
    is_inter: [Cdf<2>; 4] = table::IS_INTER,
    single_ref: [[Cdf<2>; 3]; 3] = table::SINGLE_REF,
    new_mv: [Cdf<2>; 6] = table::NEW_MV,
    zero_mv: [Cdf<2>; 2] = table::ZERO_MV,
    key_y_mode: [[Cdf<13>; 4]; 4] = table::KEY_Y_MODE,
    y_mode: [Cdf<13>; 4] = table::Y_MODE,
    uv_mode_64: [Cdf<13>; 4] = table::UV_MODE_64,
    uv_mode: [Cdf<14>; 4] = table::UV_MODE,
    angle_delta: [Cdf<7>; 3] = table::ANGLE_DELTA,
    palette_y_mode: [[Cdf<2>; 3]; 7] = table::PALETTE_Y_MODE,
    palette_uv_mode: [Cdf<2>; 2] = table::PALETTE_UV_MODE,
    palette_y_size: [Cdf<7>; 7] = table::PALETTE_Y_SIZE,
    palette_uv_size: [Cdf<7>; 7] = table::PALETTE_UV_SIZE,
    /// The colour symbols of palettes of 2 to 8 colours: luma, chroma; then the colour context.
    colour2: [[Cdf<2>; 5]; 2] = table::COLOUR_2,
    colour3: [[Cdf<3>; 5]; 2] = table::COLOUR_3,
    colour4: [[Cdf<4>; 5]; 2] = table::COLOUR_4,
    colour5: [[Cdf<5>; 5]; 2] = table::COLOUR_5,
    colour6: [[Cdf<6>; 5]; 2] = table::COLOUR_6,
    colour7: [[Cdf<7>; 5]; 2] = table::COLOUR_7,
    colour8: [[Cdf<8>; 5]; 2] = table::COLOUR_8,
    /// Luma, then chroma.
    all_zero: [Cdf<2>; 2] = table::ALL_ZERO,
    intra_tx_type: Cdf<7> = table::INTRA_TX_TYPE,
    eob_64: Cdf<7> = table::EOB_64,
    eob_extra: [Cdf<2>; 9] = table::EOB_EXTRA,
    coeff_base_eob: [Cdf<3>; 4] = table::COEFF_BASE_EOB,
    coeff_base: [Cdf<4>; 42] = table::COEFF_BASE,
    coeff_br: [Cdf<4>; 21] = table::COEFF_BR,
    dc_sign: [Cdf<2>; 3] = table::DC_SIGN,
}
