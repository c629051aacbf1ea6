//! Holes between the fragments of an MP4 file (ISO/IEC 14496-12 §8.8): each fragment may say when it begins, and the
//! reader lays it behind the one before all the same.

use super::boxes::{Outer, OuterBoxes, be32, be64, boxes, child};
use std::fs::File;
use std::io;

/// A `moof` box beyond this is no recording's: a fragment of an hour has some 170 000 packets at 16 bytes.
const LARGEST_MOOF: u64 = 16 << 20;
/// How many boxes are looked at: a day of fragments of a second, each with its data and its index.
const MOST_BOXES: usize = 400_000;

/// A place where the track's clock runs on without sound, in ticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Hole {
    /// When it begins, from the first fragment's beginning.
    pub(super) at: u64,
    /// How long it is.
    pub(super) length: u64,
}

/// The first hole of at least `least` ticks between the fragments of a track; `None` in a file without fragments.
pub(super) fn first_hole(file: &mut File, moov: &[u8], track: u32, least: u64) -> io::Result<Option<Hole>> {
    let usual = child(moov, *b"mvex").and_then(|extends| {
        boxes(extends)
            .filter(|(kind, trex)| kind == b"trex" && be32(trex, 4) == Some(track))
            .find_map(|(_, trex)| be32(trex, 12))
    });
    if usual.is_none() {
        return Ok(None);
    }
    let (mut first, mut due) = (None, 0_u64);
    let mut outer = OuterBoxes::of(file, MOST_BOXES)?;
    while let Some(found) = outer.next(file)?.filter(Outer::is_sound) {
        if &found.kind != b"moof" {
            continue;
        }
        let Some(moof) = found.body(file, LARGEST_MOOF)? else { continue };
        for (_, fragment) in boxes(&moof).filter(|(kind, _)| kind == b"traf") {
            let Some(Fragment { begins, length }) = Fragment::read(fragment, track, usual) else { continue };
            if let Some(begins) = begins {
                // What the first says is where the whole begins, as in a piece of a stream.
                let first = *first.get_or_insert(begins.saturating_sub(due));
                let hole = begins.saturating_sub(first).saturating_sub(due);
                if hole >= least.max(1) {
                    return Ok(Some(Hole { at: due, length: hole }));
                }
            }
            due = due.saturating_add(length);
        }
    }
    Ok(None)
}

/// A fragment's time and length, in ticks of its track.
struct Fragment {
    begins: Option<u64>,
    length: u64,
}

impl Fragment {
    /// Reads a `traf` box if it is this track's. `usual` is how long a sample lasts if nothing else is said.
    fn read(traf: &[u8], track: u32, usual: Option<u32>) -> Option<Fragment> {
        let header = child(traf, *b"tfhd")?;
        if be32(header, 4)? != track {
            return None;
        }
        let flags = be32(header, 0)?;
        // §8.8.7: a data offset of eight bytes and a description of four may stand before the duration.
        let before = 8 + if flags & 1 != 0 { 8 } else { 0 } + if flags & 2 != 0 { 4 } else { 0 };
        let usual = if flags & 8 != 0 { be32(header, before) } else { usual };
        let begins = child(traf, *b"tfdt").and_then(|tfdt| match tfdt.first()? {
            1 => be64(tfdt, 4),
            _ => be32(tfdt, 4).map(u64::from),
        });
        let runs = boxes(traf).filter(|(kind, _)| kind == b"trun").map(|(_, run)| length(run, usual));
        Some(Fragment { begins, length: runs.sum::<Option<u64>>()? })
    }
}

/// How long the samples of a `trun` box last (§8.8.8).
fn length(run: &[u8], usual: Option<u32>) -> Option<u64> {
    let (flags, count) = (be32(run, 0)?, be32(run, 4)?);
    if flags & 0x100 == 0 {
        return Some(u64::from(count) * u64::from(usual?));
    }
    let first = 8 + if flags & 1 != 0 { 4 } else { 0 } + if flags & 4 != 0 { 4 } else { 0 };
    let size = 4 * (flags >> 8 & 0xF).count_ones() as usize;
    let samples = run.get(first..)?.chunks_exact(size).take(count as usize);
    Some(samples.filter_map(|sample| be32(sample, 0)).map(u64::from).sum())
}
