//! MP4 (ISO/IEC 14496-12; AV1, Opus and AAC in it by their own bindings), index first.
//!
//! Order of a file: `ftyp`, `moov`, `mdat`. The chunks of the tracks lie interleaved in `mdat`, half a second each, so
//! that a player reading forward finds picture and sound together. The index tells where each chunk is, which depends on
//! the index's own length: it is built once to be measured and once to be written.

mod boxes;
mod chapters;
mod entries;
mod plan;
mod tables;

pub(super) use entries::colours;

use super::{Container, Movie, MuxError};
use crate::encode::Av1Config;
use crate::units::gcd;
use boxes::Boxes;
use chapters::ChapterTrack;
use plan::{Plan, Track};
use std::io::Write;

/// The movie's own clock, in ticks a second, on which the edit lists are written: every track's times are whole on it.
fn movie_scale(movie: &Movie) -> u32 {
    let video = plan::video_clock(movie.rate).scale;
    let sound = movie.sound.map_or(1, |sound| sound.rate);
    let common = u64::from(video / gcd(video, sound)) * u64::from(sound);
    // Never beyond 32 bits for the rates there are; if it were, a rounded edit is better than none.
    u32::try_from(common).unwrap_or(video)
}

pub(super) fn write(movie: &Movie, config: &Av1Config, out: &mut dyn Write) -> Result<(), MuxError> {
    let chapters = ChapterTrack::of(movie);
    let plan = Plan::of(movie, chapters.as_ref());
    let head = ftyp();
    let data = plan.bytes();
    // `mdat` needs the long form of its size from 4 GiB on (§4.2), and so do the chunks' places.
    let data_head: u64 = if data + 16 > u64::from(u32::MAX) { 16 } else { 8 };
    let measured = moov(movie, config, chapters.as_ref(), &plan, 0, false).len() as u64;
    let wide = head.len() as u64 + measured + data_head + data > u64::from(u32::MAX);
    let measured = if wide { moov(movie, config, chapters.as_ref(), &plan, 0, true).len() as u64 } else { measured };
    let base = head.len() as u64 + measured + data_head;
    let moov = moov(movie, config, chapters.as_ref(), &plan, base, wide);
    if u32::try_from(moov.len()).is_err() {
        return Err(MuxError::TooLong { container: Container::Mp4 });
    }

    out.write_all(&head)?;
    out.write_all(&moov)?;
    if data_head == 16 {
        out.write_all(&1u32.to_be_bytes())?;
        out.write_all(b"mdat")?;
        out.write_all(&(data + 16).to_be_bytes())?;
    } else {
        out.write_all(&((data + 8) as u32).to_be_bytes())?;
        out.write_all(b"mdat")?;
    }
    for chunk in plan.chunks() {
        if chunk.track == Track::Video {
            out.write_all(&movie.units.bytes(chunk.samples.clone())?)?;
            continue;
        }
        for sample in chunk.samples.clone() {
            out.write_all(match chunk.track {
                Track::Sound => movie.sound.and_then(|sound| sound.packets.get(sample)).unwrap_or_default(),
                Track::Video | Track::Chapters => chapters.as_ref().map_or(&[], |chapters| chapters.sample(sample)),
            })?;
        }
    }
    Ok(())
}

fn ftyp() -> Vec<u8> {
    let mut out = Vec::new();
    out.node(b"ftyp", |o| {
        o.extend(b"isom");
        o.u32(0x200);
        // iso6 for the version of the sample groups; av01 by the AV1 binding §2.1.
        o.extend(b"isomiso6av01mp41");
    });
    out
}

fn moov(
    movie: &Movie,
    config: &Av1Config,
    chapters: Option<&ChapterTrack>,
    plan: &Plan,
    base: u64,
    wide: bool,
) -> Vec<u8> {
    let scale = movie_scale(movie);
    let places = |track| plan.places(track, base);
    let mut out = Vec::new();
    out.node(b"moov", |o| {
        tables::mvhd(o, scale, plan::movie_length(movie, scale));
        tables::video_track(o, movie, config, scale, &places(Track::Video), chapters.is_some(), wide);
        if let Some(sound) = movie.sound {
            tables::sound_track(o, sound, scale, &places(Track::Sound), wide);
        }
        if let Some(chapters) = chapters {
            chapters.track(o, scale, &places(Track::Chapters), wide);
        }
        chapters::user_data(o, movie);
    });
    out
}
