//! The boxes of `moov` and its tracks (ISO/IEC 14496-12 §8).
#![allow(clippy::trivially_copy_pass_by_ref)] // as in `boxes`

use super::boxes::Boxes;
use super::entries;
use super::plan::{Places, rescaled, video_clock, video_length};
use crate::encode::{Av1Config, SoundCodec, SoundTrack};
use crate::mux::Movie;

/// Track numbers, in the order they are written.
pub(super) const VIDEO_ID: u32 = 1;
const SOUND_ID: u32 = 2;
pub(super) const CHAPTERS_ID: u32 = 3;

/// "und", five bits a letter (§8.4.2.3).
const UNDETERMINED: u16 = 0x55C4;

/// `tkhd` flags: shown, and part of the movie; a chapter track is only the latter.
const ENABLED_IN_MOVIE: u32 = 3;
pub(super) const IN_MOVIE: u32 = 2;

/// No rotation, no shift: a 3×3 matrix in 16.16 and 2.30 fixed point.
pub(super) fn upright(o: &mut Vec<u8>) {
    for entry in [0x1_0000, 0, 0, 0, 0x1_0000, 0, 0, 0, 0x4000_0000] {
        o.u32(entry);
    }
}

pub(super) fn mvhd(o: &mut Vec<u8>, scale: u32, length: u64) {
    o.full_node(b"mvhd", 1, 0, |o| {
        o.zeros(16); // never made, never changed: the same film is the same file
        o.u32(scale);
        o.u64(length);
        o.u32(0x1_0000); // rate 1
        o.u16(0x100); // volume 1
        o.zeros(10);
        upright(o);
        o.zeros(24);
        o.u32(CHAPTERS_ID + 1); // next_track_ID
    });
}

/// A track header on the movie's clock.
pub(super) fn tkhd(o: &mut Vec<u8>, id: u32, flags: u32, length: u64, volume: u16, size: (u32, u32)) {
    o.full_node(b"tkhd", 1, flags, |o| {
        o.zeros(16);
        o.u32(id);
        o.zeros(4);
        o.u64(length);
        o.zeros(12); // reserved, layer, alternate_group
        o.u16(volume);
        o.zeros(2);
        upright(o);
        o.u32(size.0 << 16);
        o.u32(size.1 << 16);
    });
}

/// An edit list of one piece, after `empty` ticks of nothing: `length` and `empty` on the movie's clock, `from` on the
/// track's.
pub(super) fn edits(o: &mut Vec<u8>, empty: u64, length: u64, from: u64) {
    o.node(b"edts", |o| {
        o.full_node(b"elst", 1, 0, |o| {
            let entry = |o: &mut Vec<u8>, length: u64, from: u64| {
                o.u64(length);
                o.u64(from);
                o.u32(0x1_0000); // at rate 1
            };
            o.u32(1 + u32::from(empty > 0));
            if empty > 0 {
                entry(o, empty, u64::MAX); // −1: nothing is shown
            }
            entry(o, length, from);
        });
    });
}

pub(super) fn mdhd(o: &mut Vec<u8>, scale: u32, length: u64) {
    o.full_node(b"mdhd", 1, 0, |o| {
        o.zeros(16);
        o.u32(scale);
        o.u64(length);
        o.u16(UNDETERMINED);
        o.zeros(2);
    });
}

pub(super) fn hdlr(o: &mut Vec<u8>, kind: &[u8; 4], name: &str) {
    o.full_node(b"hdlr", 0, 0, |o| {
        o.zeros(4);
        o.extend(kind);
        o.zeros(12);
        o.extend(name.as_bytes());
        o.push(0);
    });
}

/// `dinf`: the data is in this file.
pub(super) fn dinf(o: &mut Vec<u8>) {
    o.node(b"dinf", |o| {
        o.full_node(b"dref", 0, 0, |o| {
            o.u32(1);
            o.full_node(b"url ", 0, 1, |_| {});
        });
    });
}

/// `stsd` with one entry.
pub(super) fn stsd(o: &mut Vec<u8>, entry: impl FnOnce(&mut Vec<u8>)) {
    o.full_node(b"stsd", 0, 0, |o| {
        o.u32(1);
        entry(o);
    });
}

/// Times, sizes and places of a track's samples. `durations` are runs: how many samples, how many ticks each.
pub(super) fn samples(
    o: &mut Vec<u8>,
    durations: &[(u32, u32)],
    sizes: impl ExactSizeIterator<Item = usize>,
    places: &Places,
    wide: bool,
) {
    o.full_node(b"stts", 0, 0, |o| {
        o.u32(durations.len() as u32);
        for &(count, ticks) in durations {
            o.u32(count);
            o.u32(ticks);
        }
    });
    o.full_node(b"stsc", 0, 0, |o| {
        // Runs of chunks with as many samples each; chunks count from 1.
        let starts: Vec<usize> = (0..places.len()).filter(|&n| n == 0 || places[n].1 != places[n - 1].1).collect();
        o.u32(starts.len() as u32);
        for n in starts {
            o.u32(n as u32 + 1);
            o.u32(places[n].1);
            o.u32(1);
        }
    });
    o.full_node(b"stsz", 0, 0, |o| {
        o.u32(0);
        o.u32(sizes.len() as u32);
        for size in sizes {
            o.u32(size as u32);
        }
    });
    if wide {
        o.full_node(b"co64", 0, 0, |o| {
            o.u32(places.len() as u32);
            for &(at, _) in places {
                o.u64(at);
            }
        });
    } else {
        o.full_node(b"stco", 0, 0, |o| {
            o.u32(places.len() as u32);
            for &(at, _) in places {
                o.u32(at as u32);
            }
        });
    }
}

pub(super) fn video_track(
    o: &mut Vec<u8>,
    movie: &Movie,
    config: &Av1Config,
    scale: u32,
    places: &Places,
    has_chapters: bool,
    wide: bool,
) {
    let clock = video_clock(movie.rate);
    let frames = movie.units.len() as u32;
    let length = video_length(movie, scale);
    o.node(b"trak", |o| {
        tkhd(o, VIDEO_ID, ENABLED_IN_MOVIE, length, 0, (movie.size.width, movie.size.height));
        edits(o, 0, length, 0);
        if has_chapters {
            o.node(b"tref", |o| o.node(b"chap", |o| o.u32(CHAPTERS_ID)));
        }
        o.node(b"mdia", |o| {
            mdhd(o, clock.scale, u64::from(frames) * u64::from(clock.frame));
            hdlr(o, b"vide", "Pictures");
            o.node(b"minf", |o| {
                o.full_node(b"vmhd", 0, 1, |o| o.zeros(8));
                dinf(o);
                o.node(b"stbl", |o| {
                    stsd(o, |o| entries::av01(o, movie, config));
                    let sizes = movie.units.lengths();
                    samples(o, &[(frames, clock.frame)], sizes, places, wide);
                    sync_samples(o, movie);
                });
            });
        });
    });
}

/// `stss`: the keys, counted from 1. Left out where every sample is one.
fn sync_samples(o: &mut Vec<u8>, movie: &Movie) {
    let keys: Vec<u32> = (0..movie.units.len()).filter(|&n| movie.units.is_key(n)).map(|n| n as u32 + 1).collect();
    if keys.len() < movie.units.len() {
        o.full_node(b"stss", 0, 0, |o| {
            o.u32(keys.len() as u32);
            for key in keys {
                o.u32(key);
            }
        });
    }
}

pub(super) fn sound_track(o: &mut Vec<u8>, sound: &SoundTrack, scale: u32, places: &Places, wide: bool) {
    let packets = sound.packets.len() as u32;
    // The last packet is told to last only as long as it is heard, which readers without edit lists need.
    let whole = sound.delay + sound.length;
    let before_last = u64::from(packets.saturating_sub(1)) * sound.packet_length;
    let last = whole.saturating_sub(before_last).clamp(1, sound.packet_length);
    let length = rescaled(sound.length, sound.rate, scale);
    o.node(b"trak", |o| {
        tkhd(o, SOUND_ID, ENABLED_IN_MOVIE, length, 0x100, (0, 0));
        edits(o, 0, length, sound.delay);
        o.node(b"mdia", |o| {
            mdhd(o, sound.rate, before_last + last);
            hdlr(o, b"soun", "Narration");
            o.node(b"minf", |o| {
                o.full_node(b"smhd", 0, 0, |o| o.zeros(4));
                dinf(o);
                o.node(b"stbl", |o| {
                    stsd(o, |o| entries::sound(o, sound));
                    let durations = [(packets.saturating_sub(1), sound.packet_length as u32), (1, last as u32)];
                    let runs = if packets > 1 { &durations[..] } else { &durations[1..] };
                    samples(o, runs, sound.packets.iter().map(<[u8]>::len), places, wide);
                    roll(o, sound, packets);
                });
            });
        });
    });
}

/// How many packets a decoder must start early to be in step (§10.1): 80 ms for Opus (Opus in ISOBMFF §4.3.6.2), one
/// packet for AAC, whose blocks overlap.
fn roll(o: &mut Vec<u8>, sound: &SoundTrack, packets: u32) {
    let distance: i16 = match sound.codec {
        SoundCodec::Opus => -(3840u64.div_ceil(sound.packet_length) as i16),
        SoundCodec::Aac { .. } => -1,
    };
    o.full_node(b"sgpd", 1, 0, |o| {
        o.extend(b"roll");
        o.u32(2); // bytes of an entry
        o.u32(1);
        o.u16(distance.cast_unsigned());
    });
    o.full_node(b"sbgp", 0, 0, |o| {
        o.extend(b"roll");
        o.u32(1);
        o.u32(packets);
        o.u32(1); // all of them are in the one group
    });
}
