//! A picture's digest: one number that names what is on screen, the same on every machine and in every run.
//!
//! The hash is [`Fnv`]; floats have no `Hash`, so what is fed to it is written out here. Every value is fed in the order
//! of its declaration, floats as their bits with −0 taken for 0, so that equal pictures have equal digests; texts and
//! lists with their length, so that no two neighbours can be mistaken for each other. Whatever changes the order or
//! the fields of a picture changes the digests: a cache keyed by them starts anew.

use super::line::Line;
use super::picture::{
    ArrowPicture, BoardPicture, Body, CaptionPicture, CardPicture, Current, ForcePicture, GhostPicture, Gliding, Head,
    KingMoment, ListMove, MarkPicture, MoveList, Picture, Promoting, RingPicture, ScenePicture, Sliced, Standing,
    TryLine,
};
use crate::timeline::{CardKind, LineKind, MarkRole};
use crate::units::{Fnv, Piece, Role, Side, Square};
use std::sync::Arc;

/// Something that can be fed to the hash, wholly and without ambiguity.
trait Feed {
    fn feed(&self, fnv: &mut Fnv);
}

impl Picture {
    /// A number that names this picture: equal pictures have equal ones, different ones (almost surely) not.
    ///
    /// Stable across machines, runs and compilers; see the module for the hash.
    pub fn digest(&self) -> u128 {
        let mut fnv = Fnv::default();
        self.feed(&mut fnv);
        fnv.value()
    }
}

/// Feeds every field. Taking the value apart makes a new field an error here, not a stale cache.
macro_rules! fields {
    ($($type:ident { $($field:ident),* $(,)? })*) => {$(
        impl Feed for $type {
            fn feed(&self, fnv: &mut Fnv) {
                let $type { $($field),* } = self;
                $($field.feed(fnv);)*
            }
        }
    )*};
}

fields! {
    Picture { body, beneath }
    CardPicture { kind, kicker, title, line, second, task, hero, progress, board, moves, rows, pause, ring }
    RingPicture { ticks, spent, left, change }
    ScenePicture { board, head, list, list_before, caption }
    Head { kicker, title, credit, task, side }
    MoveList { main, tries, current, fold }
    ListMove { number, side, san, muted }
    TryLine { after, within, line, label, moves, verdict }
    CaptionPicture { text, enter, leaving, bar }
    BoardPicture {
        standing, gliding, sliced, promoting, footprint, plinth, marks, forces, arrows, ghosts, king, drained, dimmed,
    }
    Standing { square, piece, opacity }
    Gliding { piece, x, y, lift }
    Sliced { piece, square, progress }
    Promoting { square, side, role, climbed, pawn }
    MarkPicture { role, square, enter, opacity }
    ForcePicture { from, to, enter, opacity }
    ArrowPicture { from, to, side, plan, corner, drawn, head, opacity }
    GhostPicture { piece, square, enter, opacity }
    Piece { side, role }
}

impl Feed for Body {
    fn feed(&self, fnv: &mut Fnv) {
        match self {
            Body::Scene(scene) => (0u8, &**scene).feed(fnv),
            Body::Card(card) => (1u8, &**card).feed(fnv),
        }
    }
}

impl Feed for Current {
    fn feed(&self, fnv: &mut Fnv) {
        match self {
            Current::None => 0u8.feed(fnv),
            Current::Main(index) => (1u8, index).feed(fnv),
            Current::Try(index, at) => (2u8, &(*index, *at)).feed(fnv),
        }
    }
}

impl Feed for KingMoment {
    fn feed(&self, fnv: &mut Fnv) {
        match self {
            KingMoment::Check { square, enter } => (0u8, &(*square, *enter)).feed(fnv),
            KingMoment::Mate { square, shut, bow } => (1u8, &(*square, (*shut, *bow))).feed(fnv),
            KingMoment::Stalemate { square, enter } => (2u8, &(*square, *enter)).feed(fnv),
        }
    }
}

/// The values of an enumeration, each as a number of its own.
macro_rules! named {
    ($($type:ident: $($variant:ident = $number:literal),*;)*) => {$(
        impl Feed for $type {
            fn feed(&self, fnv: &mut Fnv) {
                match self { $($type::$variant => $number as u8,)* }.feed(fnv);
            }
        }
    )*};
}

named! {
    Side: White = 0, Black = 1;
    Role: King = 0, Queen = 1, Rook = 2, Bishop = 3, Knight = 4, Pawn = 5;
    MarkRole: Key = 0, Threat = 1, Guard = 2, Trap = 3, Force = 4, Dot = 5;
    LineKind: Solution = 0, Try = 1, Replay = 2;
    CardKind: Title = 0, Chapter = 1, End = 2, Credits = 3, Position = 4;
}

impl Feed for u8 {
    fn feed(&self, fnv: &mut Fnv) {
        fnv.bytes(&[*self]);
    }
}

impl Feed for bool {
    fn feed(&self, fnv: &mut Fnv) {
        u8::from(*self).feed(fnv);
    }
}

impl Feed for u32 {
    fn feed(&self, fnv: &mut Fnv) {
        fnv.bytes(&self.to_le_bytes());
    }
}

impl Feed for usize {
    fn feed(&self, fnv: &mut Fnv) {
        fnv.bytes(&(*self as u64).to_le_bytes());
    }
}

impl Feed for f32 {
    fn feed(&self, fnv: &mut Fnv) {
        let bits = if *self == 0.0 { 0 } else { self.to_bits() };
        bits.feed(fnv);
    }
}

impl Feed for str {
    fn feed(&self, fnv: &mut Fnv) {
        self.len().feed(fnv);
        fnv.bytes(self.as_bytes());
    }
}

impl Feed for String {
    fn feed(&self, fnv: &mut Fnv) {
        self.as_str().feed(fnv);
    }
}

impl Feed for Square {
    fn feed(&self, fnv: &mut Fnv) {
        (self.index() as u8).feed(fnv);
    }
}

impl<T: Feed + ?Sized> Feed for &T {
    fn feed(&self, fnv: &mut Fnv) {
        (**self).feed(fnv);
    }
}

impl<T: Feed + ?Sized> Feed for Arc<T> {
    fn feed(&self, fnv: &mut Fnv) {
        (**self).feed(fnv);
    }
}

impl<A: Feed, B: Feed> Feed for (A, B) {
    fn feed(&self, fnv: &mut Fnv) {
        self.0.feed(fnv);
        self.1.feed(fnv);
    }
}

impl<T: Feed> Feed for Option<T> {
    fn feed(&self, fnv: &mut Fnv) {
        match self {
            None => 0u8.feed(fnv),
            Some(value) => (1u8, value).feed(fnv),
        }
    }
}

impl<T: Feed> Feed for [T] {
    fn feed(&self, fnv: &mut Fnv) {
        self.len().feed(fnv);
        for value in self {
            value.feed(fnv);
        }
    }
}

impl<T: Feed> Feed for Vec<T> {
    fn feed(&self, fnv: &mut Fnv) {
        self.as_slice().feed(fnv);
    }
}

impl Feed for Line {
    fn feed(&self, fnv: &mut Fnv) {
        self.len().feed(fnv);
        for played in self.iter() {
            played.feed(fnv);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Feed, Fnv};

    fn fnv(text: &str) -> u128 {
        let mut fnv = Fnv::default();
        fnv.bytes(text.as_bytes());
        fnv.value()
    }

    #[test]
    fn the_hash_is_fnv_1a() {
        // Test vectors of draft-eastlake-fnv, §6 (FNV-1a, 128 bits), for "", "a" and "foobar".
        assert_eq!(fnv(""), 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d);
        assert_eq!(fnv("a"), 0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964);
        assert_eq!(fnv("foobar"), 0x343e_1662_793c_64bf_6f0d_3597_ba44_6f18);
    }

    #[test]
    fn minus_nothing_is_nothing() {
        let of = |value: f32| {
            let mut fnv = Fnv::default();
            value.feed(&mut fnv);
            fnv.value()
        };
        assert_eq!(of(-0.0), of(0.0));
        assert_ne!(of(f32::MIN_POSITIVE), of(0.0));
    }
}
