//! Where a recording in an MP4 file (`.m4a`) begins and ends, which its packets do not say.
//!
//! A coder such as AAC puts priming samples before the first and padding after the last. The file tells of them in an
//! edit list (ISO/IEC 14496-12 §8.6.6) or, by the custom of one vendor's coder, in an `iTunSMPB` item of the metadata.

use super::boxes::{Outer, OuterBoxes, be32, be64, boxes, child};
use super::fragments::{Hole, first_hole};
use super::tape::HOLE_MS;
use std::fs::File;
use std::io;
use std::path::Path;

/// A `moov` box beyond this is no recording's: 24 h of AAC packets need about 20 MB.
const LARGEST_MOOV: u64 = 256 << 20;

/// How late a recording may begin, in seconds: what lies beyond a day is damage.
pub const LATEST_S: u64 = 24 * 60 * 60;

/// What the file says about one sound track.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edits {
    /// Ticks a second of the movie's clock, and of the track's.
    movie_scale: u64,
    media_scale: u64,
    /// The edit list: how long in movie ticks, and from where in media ticks (−1: nothing is heard).
    list: Vec<(u64, i64)>,
    /// Priming, padding and length, in samples.
    gapless: Option<(u64, u64, u64)>,
    /// Where fragments leave something out.
    hole: Option<Hole>,
}

/// Which decoded samples are the recording, at its own rate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Edges {
    /// Samples of silence that come first.
    pub lead: u64,
    /// Decoded samples to leave out at the start.
    pub skip: u64,
    /// Samples that are heard, `lead` not counted.
    pub length: u64,
}

impl Edits {
    /// Reads the file's boxes for the track with `track_id`. A file without edits gives an empty value.
    pub fn read(path: &Path, track_id: u32) -> io::Result<Edits> {
        let mut file = File::open(path)?;
        let Some(moov) = read_moov(&mut file)? else { return Ok(Edits::default()) };
        let mut edits = Edits::parse(&moov, track_id).unwrap_or_default();
        // A fragmented file that was cut is read as far as it goes.
        edits.hole = first_hole(&mut file, &moov, track_id, edits.media_scale * HOLE_MS / 1000).unwrap_or_default();
        Ok(edits)
    }

    fn parse(moov: &[u8], track_id: u32) -> Option<Edits> {
        let mut edits = Edits {
            movie_scale: u64::from(timescale(child(moov, *b"mvhd")?)?),
            gapless: gapless(moov),
            ..Edits::default()
        };
        let track = boxes(moov).filter(|(kind, _)| kind == b"trak").map(|(_, body)| body).find(|track| {
            child(track, *b"tkhd").and_then(|tkhd| be32(tkhd, if tkhd.first() == Some(&1) { 20 } else { 12 }))
                == Some(track_id)
        })?;
        edits.media_scale = u64::from(timescale(child(child(track, *b"mdia")?, *b"mdhd")?)?);
        if let Some(list) = child(track, *b"edts").and_then(|edts| child(edts, *b"elst")) {
            edits.list = edit_list(list)?;
        }
        Some(edits)
    }

    /// The edges of a track at `rate` Hz of which `decoded` samples come out of the decoder and `timed` are told of by
    /// the packets' own durations. Says in words what cannot be followed.
    pub fn edges(&self, rate: u32, decoded: u64, timed: u64) -> Result<Edges, String> {
        if let Some(Hole { at, length }) = self.hole {
            let seconds = |ticks: u64| ticks as f64 / self.media_scale.max(1) as f64;
            let (length, at) = (seconds(length), seconds(at));
            return Err(format!(
                "{length:.2} s are missing between its fragments, after {at:.2} s; export it as a plain M4A or WAV file"
            ));
        }
        if let Some((priming, padding, length)) = self.gapless
            && priming + length <= decoded
            && priming + padding + length >= timed.min(decoded)
        {
            return Ok(Edges { lead: 0, skip: priming, length });
        }
        let mut heard = None;
        let mut lead: u64 = 0;
        for &(ticks, from) in &self.list {
            match (u64::try_from(from), heard) {
                (Err(_), None) => lead = lead.saturating_add(scaled(ticks, rate, self.movie_scale)),
                (Err(_), Some(_)) => {}
                (Ok(from), None) => heard = Some((ticks, from)),
                (Ok(_), Some(_)) => return Err("its edit list joins several pieces".to_owned()),
            }
        }
        let hours = lead / u64::from(rate) / 3600;
        if lead > LATEST_S * u64::from(rate) {
            return Err(format!("its edit list begins after {hours} hours, and at most a day is taken for meant"));
        }
        let Some((ticks, from)) = heard else {
            return Ok(Edges { lead: 0, skip: 0, length: timed.min(decoded) });
        };
        let skip = scaled(from, rate, self.media_scale).min(decoded);
        let rest = timed.min(decoded) - skip.min(timed);
        // The movie's clock is often in milliseconds, coarser than a sample: the list shortens the track only where it
        // takes away more than its own rounding. A length of 0 means "to the end" (§8.6.6.1, for fragments).
        let listed = scaled(ticks, rate, self.movie_scale);
        let tick = u64::from(rate).div_ceil(self.movie_scale.max(1));
        let length = if ticks != 0 && listed + tick < rest { listed } else { rest };
        Ok(Edges { lead, skip, length })
    }
}

fn scaled(ticks: u64, rate: u32, scale: u64) -> u64 {
    if scale == 0 {
        return 0;
    }
    let samples = (u128::from(ticks) * u128::from(rate) + u128::from(scale) / 2) / u128::from(scale);
    u64::try_from(samples).unwrap_or(u64::MAX)
}

fn read_moov(file: &mut File) -> io::Result<Option<Vec<u8>>> {
    let mut outer = OuterBoxes::of(file, usize::MAX)?;
    while let Some(found) = outer.next(file)?.filter(Outer::is_sound) {
        if &found.kind == b"moov" {
            return found.body(file, LARGEST_MOOV);
        }
    }
    Ok(None)
}

/// `timescale` of an `mvhd` or `mdhd`, which begin alike (§8.2.2, §8.4.2).
fn timescale(header: &[u8]) -> Option<u32> {
    be32(header, if header.first()? == &1 { 20 } else { 12 })
}

fn edit_list(elst: &[u8]) -> Option<Vec<(u64, i64)>> {
    let wide = elst.first()? == &1;
    let size = if wide { 20 } else { 12 };
    let entries = elst.get(8..)?.chunks_exact(size).take(be32(elst, 4)? as usize);
    entries
        .map(|entry| {
            Some(if wide {
                (be64(entry, 0)?, be64(entry, 8)?.cast_signed())
            } else {
                (u64::from(be32(entry, 0)?), i64::from(be32(entry, 4)?.cast_signed()))
            })
        })
        .collect()
}

/// ` 00000000 00000840 000001CA 00000000003F31F6 …`: a zero, priming, padding, length, in hexadecimal.
fn gapless(moov: &[u8]) -> Option<(u64, u64, u64)> {
    let meta = child(child(moov, *b"udta")?, *b"meta")?;
    let list = child(meta.get(4..)?, *b"ilst")?;
    let item = boxes(list)
        .filter(|(kind, _)| kind == b"----")
        .map(|(_, item)| item)
        .find(|item| child(item, *b"name").and_then(|name| name.get(4..)) == Some(b"iTunSMPB"))?;
    let text = std::str::from_utf8(child(item, *b"data")?.get(8..)?).ok()?;
    let mut numbers = text.split_ascii_whitespace().map(|word| u64::from_str_radix(word, 16).ok());
    numbers.next()??;
    let (priming, padding, length) = (numbers.next()??, numbers.next()??, numbers.next()??);
    let plausible = priming < 1 << 20 && padding < 1 << 20 && length < 1 << 50;
    plausible.then_some((priming, padding, length))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edits(list: &[(u64, i64)]) -> Edits {
        Edits { movie_scale: 1000, media_scale: 44_100, list: list.to_vec(), ..Edits::default() }
    }

    #[test]
    fn priming_is_left_out_and_a_rounded_length_does_not_shorten() {
        // 100 packets of 1024, the last told to last 500: 101 876 samples, of which 1024 are priming.
        let edges = edits(&[(2286, 1024)]).edges(44_100, 102_400, 101_876).unwrap();
        assert_eq!(edges, Edges { lead: 0, skip: 1024, length: 100_852 });
    }

    #[test]
    fn an_empty_edit_is_silence_and_a_short_one_cuts() {
        let edges = edits(&[(500, -1), (1000, 2112)]).edges(44_100, 102_400, 102_400).unwrap();
        assert_eq!(edges, Edges { lead: 22_050, skip: 2112, length: 44_100 });
    }

    #[test]
    fn a_beginning_after_more_than_a_day_is_damage() {
        let hours = |hours: u64| edits(&[(hours * 3_600_000, -1), (1000, 2112)]).edges(44_100, 102_400, 102_400);
        assert_eq!(hours(24).unwrap().lead, 24 * 3600 * 44_100);
        assert!(hours(25).unwrap_err().contains("25 hours"));
        let damaged = edits(&[(u64::MAX >> 1, -1), (u64::MAX >> 1, -1), (1000, 0)]).edges(44_100, 102_400, 102_400);
        assert!(damaged.is_err());
    }

    #[test]
    fn several_pieces_are_refused() {
        assert!(edits(&[(500, 0), (1000, 90_000)]).edges(44_100, 102_400, 102_400).is_err());
    }

    #[test]
    fn the_gapless_item_wins_where_it_fits() {
        let mut with = edits(&[(2286, 1024)]);
        with.gapless = Some((2112, 460, 99_828));
        assert_eq!(with.edges(44_100, 102_400, 102_400), Ok(Edges { lead: 0, skip: 2112, length: 99_828 }));
        with.gapless = Some((2112, 460, 999_828));
        assert_eq!(with.edges(44_100, 102_400, 102_400).unwrap().skip, 1024);
    }

    #[test]
    fn damaged_boxes_give_nothing() {
        let mut moov = Vec::new();
        for size in [0u32, 1, 3, 7, 9, u32::MAX] {
            moov.extend(size.to_be_bytes());
            moov.extend(b"mvhd");
        }
        assert_eq!(Edits::parse(&moov, 1), None);
    }
}
