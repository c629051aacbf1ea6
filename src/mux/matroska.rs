//! Matroska and WebM (RFC 9559; "AV1 Codec Mapping in Matroska/WebM").
//!
//! Order of a file: header, seek head, info, tracks, chapters, cues, clusters. The cues come first because every size is
//! known; their positions are written in eight bytes, so that their own size does not depend on where the clusters are.

#![allow(clippy::unreadable_literal)] // ids stand here as the specification prints them

use super::ebml::{Ebml, head_length, id_bytes};
use super::{Container, Movie, MuxError, frame_nanoseconds, nanoseconds};
use crate::encode::{Av1Config, SoundCodec, SoundTrack};
use std::io::Write;
use std::ops::Range;

/// One tick of the file's clock in ns: the millisecond, as WebM asks. `DefaultDuration` holds the exact frame rate.
const TICK: u64 = 1_000_000;

/// A cluster lasts at most this many ticks; block times are counted from its start in 16 bits with a sign.
const LONGEST_CLUSTER: u64 = 5_000;

/// A cluster holds at most about this many bytes, for a player reads whole ones.
const LARGEST_CLUSTER: u64 = 4 << 20;

/// How far before a place an Opus decoder must start to be in step: 80 ms (RFC 7845 §4.6).
const OPUS_PREROLL_NS: u64 = 80_000_000;

const VIDEO: u8 = 1;
const SOUND: u8 = 2;

// Element ids, RFC 9559 §5.1 and RFC 8794 §11.2.
const EBML: u32 = 0x1A45_DFA3;
const SEGMENT: u32 = 0x1853_8067;
const SEEK_HEAD: u32 = 0x114D_9B74;
const INFO: u32 = 0x1549_A966;
const TRACKS: u32 = 0x1654_AE6B;
const CHAPTERS: u32 = 0x1043_A770;
const CUES: u32 = 0x1C53_BB6B;
const CLUSTER: u32 = 0x1F43_B675;
const TIMESTAMP: u32 = 0xE7;
const SIMPLE_BLOCK: u32 = 0xA3;
const BLOCK_GROUP: u32 = 0xA0;
const BLOCK: u32 = 0xA1;
const DISCARD_PADDING: u32 = 0x75A2;

pub(super) fn write(
    container: Container,
    movie: &Movie,
    config: &Av1Config,
    out: &mut dyn Write,
) -> Result<(), MuxError> {
    let clusters = clusters(movie);
    let (info, tracks, chapters) = (info(movie), tracks(movie, config), chapters(movie));
    // Sizes do not depend on positions: a first, wrong seek head and cues have the right lengths.
    let seek_length = seek_head(&[0; 4], !chapters.is_empty()).len() as u64;
    let cues_length = cues(&clusters, 0).len() as u64;

    let info_at = seek_length;
    let tracks_at = info_at + info.len() as u64;
    let chapters_at = tracks_at + tracks.len() as u64;
    let cues_at = chapters_at + chapters.len() as u64;
    let clusters_at = cues_at + cues_length;
    let data: u64 = clusters.iter().map(Cluster::length).sum();

    let mut head = header(container);
    head.head(SEGMENT, clusters_at + data);
    head.extend(seek_head(&[info_at, tracks_at, cues_at, chapters_at], !chapters.is_empty()));
    head.extend(info);
    head.extend(tracks);
    head.extend(chapters);
    head.extend(cues(&clusters, clusters_at));
    out.write_all(&head)?;
    for cluster in &clusters {
        write_cluster(movie, cluster, out)?;
    }
    Ok(())
}

fn header(container: Container) -> Vec<u8> {
    let mut out = Vec::new();
    out.parent(EBML, |o| {
        o.unsigned(0x4286, 1); // EBMLVersion
        o.unsigned(0x42F7, 1); // EBMLReadVersion
        o.unsigned(0x42F2, 4); // EBMLMaxIDLength
        o.unsigned(0x42F3, 8); // EBMLMaxSizeLength
        o.text(0x4282, if container == Container::WebM { "webm" } else { "matroska" });
        o.unsigned(0x4287, 4); // DocTypeVersion
        o.unsigned(0x4285, 2); // DocTypeReadVersion
    });
    out
}

fn seek_head(positions: &[u64; 4], with_chapters: bool) -> Vec<u8> {
    let mut out = Vec::new();
    out.parent(SEEK_HEAD, |o| {
        for (id, &position) in [INFO, TRACKS, CUES, CHAPTERS].into_iter().zip(positions) {
            if id == CHAPTERS && !with_chapters {
                continue;
            }
            o.parent(0x4DBB, |o| {
                o.element(0x53AB, &id_bytes(id).collect::<Vec<u8>>());
                o.wide(0x53AC, position);
            });
        }
    });
    out
}

fn info(movie: &Movie) -> Vec<u8> {
    let mut out = Vec::new();
    out.parent(INFO, |o| {
        o.unsigned(0x2AD7B1, TICK);
        let sound = movie.sound.map_or(0, |sound| nanoseconds(sound.length.into(), sound.rate));
        o.float(0x4489, movie.nanoseconds().max(sound) as f64 / TICK as f64); // Duration
        if let Some(title) = movie.title {
            o.text(0x7BA9, title);
        }
        o.text(0x4D80, "plyreel"); // MuxingApp
        o.text(0x5741, "plyreel"); // WritingApp
    });
    out
}

fn tracks(movie: &Movie, config: &Av1Config) -> Vec<u8> {
    let mut out = Vec::new();
    out.parent(TRACKS, |o| {
        o.parent(0xAE, |o| video_track(movie, config, o));
        if let Some(sound) = movie.sound {
            o.parent(0xAE, |o| sound_track(sound, o));
        }
    });
    out
}

/// What both tracks begin with.
fn track(o: &mut Vec<u8>, number: u8, kind: u64, codec: &str) {
    o.unsigned(0xD7, number.into());
    o.unsigned(0x73C5, number.into()); // TrackUID: unique in the file is all that is asked
    o.unsigned(0x83, kind);
    o.unsigned(0x9C, 0); // FlagLacing
    o.text(0x22B59C, "und"); // Language
    o.text(0x86, codec);
}

fn video_track(movie: &Movie, config: &Av1Config, o: &mut Vec<u8>) {
    track(o, VIDEO, 1, "V_AV1");
    o.unsigned(0x23E383, frame_nanoseconds(movie.rate, 1)); // DefaultDuration
    let mut private = config.sequence.configuration().to_vec();
    private.extend_from_slice(&config.obu);
    o.element(0x63A2, &private);
    o.parent(0xE0, |o| {
        o.unsigned(0x9A, 2); // FlagInterlaced: progressive
        o.unsigned(0xB0, movie.size.width.into());
        o.unsigned(0xBA, movie.size.height.into());
        let (primaries, transfer, matrix) = super::mp4::colours(config);
        o.parent(0x55B0, |o| {
            o.unsigned(0x55B1, matrix.into());
            o.unsigned(0x55B9, if config.sequence.full_range { 2 } else { 1 });
            o.unsigned(0x55BA, transfer.into());
            o.unsigned(0x55BB, primaries.into());
        });
    });
}

fn sound_track(sound: &SoundTrack, o: &mut Vec<u8>) {
    let delay = nanoseconds(sound.delay.into(), sound.rate);
    match &sound.codec {
        SoundCodec::Opus => {
            track(o, SOUND, 2, "A_OPUS");
            o.unsigned(0x56AA, delay); // CodecDelay
            o.unsigned(0x56BB, OPUS_PREROLL_NS); // SeekPreRoll
            o.element(0x63A2, &opus_head(sound));
        }
        SoundCodec::Aac { config } => {
            track(o, SOUND, 2, "A_AAC");
            o.unsigned(0x56AA, delay);
            o.element(0x63A2, config);
        }
    }
    o.parent(0xE1, |o| {
        o.float(0xB5, sound.rate.into());
        o.unsigned(0x9F, sound.channels as u64);
    });
}

/// The identification header of RFC 7845 §5.1.
fn opus_head(sound: &SoundTrack) -> Vec<u8> {
    let mut head = b"OpusHead\x01".to_vec();
    head.push(sound.channels as u8);
    head.extend((sound.delay as u16).to_le_bytes());
    head.extend(sound.rate.to_le_bytes());
    head.extend([0, 0, 0]); // no gain, mapping family 0
    head
}

fn chapters(movie: &Movie) -> Vec<u8> {
    let list = movie.chapter_list();
    let mut out = Vec::new();
    if list.is_empty() {
        return out;
    }
    out.parent(CHAPTERS, |o| {
        o.parent(0x45B9, |o| {
            for (n, chapter) in list.iter().enumerate() {
                o.parent(0xB6, |o| {
                    o.unsigned(0x73C4, n as u64 + 1); // ChapterUID
                    o.unsigned(0x91, chapter.start * 1_000_000);
                    o.unsigned(0x92, chapter.end * 1_000_000);
                    o.parent(0x80, |o| {
                        o.text(0x85, &chapter.title);
                        o.text(0x437C, "und");
                    });
                });
            }
        });
    });
    out
}

fn cues(clusters: &[Cluster], clusters_at: u64) -> Vec<u8> {
    let mut out = Vec::new();
    out.parent(CUES, |o| {
        let mut at = clusters_at;
        for cluster in clusters {
            if cluster.begins_with_key() {
                o.parent(0xBB, |o| {
                    o.wide(0xB3, cluster.start); // CueTime
                    o.parent(0xB7, |o| {
                        o.unsigned(0xF7, VIDEO.into());
                        o.wide(0xF1, at); // CueClusterPosition
                    });
                });
            }
            at += cluster.length();
        }
    });
    out
}

/// One unit or packet in a cluster.
struct Block {
    track: u8,
    /// In its track, counted from 0.
    index: usize,
    /// In ticks from the start of the file.
    time: u64,
    key: bool,
    bytes: u64,
    /// Samples of the packet that are padding, in ns: they are told of in a group of their own.
    padding: u64,
}

impl Block {
    /// Track number, time and flags before the data (RFC 9559 §10.1).
    const HEAD: u64 = 4;

    /// The body of the group that a padded last packet needs, up to the data.
    fn group(&self) -> Option<(Vec<u8>, u64)> {
        if self.padding == 0 {
            return None;
        }
        let mut padding = Vec::new();
        padding.signed(DISCARD_PADDING, self.padding.cast_signed());
        let body = Block::HEAD + self.bytes;
        let size = padding.len() as u64 + head_length(BLOCK, body) + body;
        Some((padding, size))
    }

    fn length(&self) -> u64 {
        let body = Block::HEAD + self.bytes;
        self.group().map_or(head_length(SIMPLE_BLOCK, body) + body, |(_, size)| head_length(BLOCK_GROUP, size) + size)
    }
}

struct Cluster {
    /// In ticks.
    start: u64,
    blocks: Vec<Block>,
}

impl Cluster {
    fn begins_with_key(&self) -> bool {
        self.blocks.first().is_some_and(|block| block.track == VIDEO && block.key)
    }

    fn timestamp(&self) -> Vec<u8> {
        let mut out = Vec::new();
        out.unsigned(TIMESTAMP, self.start);
        out
    }

    /// The numbers of its pictures.
    fn pictures(&self) -> Range<usize> {
        let mut video = self.blocks.iter().filter(|block| block.track == VIDEO).map(|block| block.index);
        let Some(first) = video.next() else { return 0..0 };
        first..video.next_back().unwrap_or(first) + 1
    }

    fn body(&self) -> u64 {
        self.timestamp().len() as u64 + self.blocks.iter().map(Block::length).sum::<u64>()
    }

    fn length(&self) -> u64 {
        let body = self.body();
        head_length(CLUSTER, body) + body
    }
}

/// All blocks in the order of their times, pictures before sound, a new cluster at each key.
fn clusters(movie: &Movie) -> Vec<Cluster> {
    let ticks = |nanoseconds: u64| (nanoseconds + TICK / 2) / TICK;
    let video = (0..movie.units.len()).map(|index| Block {
        track: VIDEO,
        index,
        time: ticks(frame_nanoseconds(movie.rate, index as u64)),
        key: movie.units.is_key(index),
        bytes: movie.units.length(index) as u64,
        padding: 0,
    });
    let sound = movie.sound.into_iter().flat_map(|sound| {
        let heard = sound.delay + sound.length;
        sound.packets.iter().enumerate().map(move |(index, packet)| {
            let begins = index as u64 * sound.packet_length;
            let surplus = (begins + sound.packet_length).saturating_sub(heard).min(sound.packet_length);
            Block {
                track: SOUND,
                index,
                // The clock of the packets runs from the first decoded sample; `CodecDelay` is taken off by the reader.
                time: ticks(nanoseconds(begins.into(), sound.rate)),
                key: true,
                bytes: packet.len() as u64,
                padding: nanoseconds(surplus.into(), sound.rate),
            }
        })
    });
    let mut blocks: Vec<Block> = video.chain(sound).collect();
    blocks.sort_by_key(|block| (block.time, block.track)); // stable: each track keeps its order

    let mut clusters: Vec<Cluster> = Vec::new();
    let mut bytes = 0;
    for block in blocks {
        let begins = match clusters.last() {
            None => true,
            Some(cluster) => {
                (block.track == VIDEO && block.key)
                    || block.time - cluster.start >= LONGEST_CLUSTER
                    || bytes + block.bytes > LARGEST_CLUSTER
            }
        };
        if begins {
            clusters.push(Cluster { start: block.time, blocks: Vec::new() });
            bytes = 0;
        }
        bytes += block.bytes;
        if let Some(cluster) = clusters.last_mut() {
            cluster.blocks.push(block);
        }
    }
    clusters
}

fn write_cluster(movie: &Movie, cluster: &Cluster, out: &mut dyn Write) -> Result<(), MuxError> {
    let mut head = Vec::new();
    head.head(CLUSTER, cluster.body());
    head.extend(cluster.timestamp());
    // A cluster's pictures lie side by side: they are read at once.
    let pictures = cluster.pictures();
    let video = movie.units.bytes(pictures)?;
    let mut read = 0;
    for block in &cluster.blocks {
        let data = match block.track {
            VIDEO => {
                let start = read;
                read += block.bytes as usize;
                &video[start..read]
            }
            _ => movie.sound.and_then(|sound| sound.packets.get(block.index)).unwrap_or_default(),
        };
        let body = Block::HEAD + block.bytes;
        // In a group there is no key flag: a block without a reference is one.
        let flags = if block.padding == 0 && block.key { 0x80 } else { 0 };
        match block.group() {
            Some((padding, size)) => {
                head.head(BLOCK_GROUP, size);
                head.extend(padding);
                head.head(BLOCK, body);
            }
            None => head.head(SIMPLE_BLOCK, body),
        }
        head.push(0x80 | block.track);
        head.extend(((block.time - cluster.start) as i16).to_be_bytes());
        head.push(flags);
        out.write_all(&head)?;
        out.write_all(data)?;
        head.clear();
    }
    Ok(())
}
