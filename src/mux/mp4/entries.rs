//! Sample entries: what a decoder must be told before the first sample.

use super::boxes::Boxes;
use crate::encode::{Av1Config, SoundCodec, SoundTrack};
use crate::mux::Movie;

/// Primaries, transfer and matrix of the pictures (ITU-T H.273). A stream that does not say holds what every picture
/// here is: BT.709, 1 in all three.
pub(in crate::mux) fn colours(config: &Av1Config) -> (u8, u8, u8) {
    match config.sequence.colour {
        (2, 2, 2) => (1, 1, 1),
        said => said,
    }
}

/// What every sample entry begins with (ISO/IEC 14496-12 §8.5.2).
fn entry(o: &mut Vec<u8>) {
    o.zeros(6);
    o.u16(1); // data_reference_index
}

/// `av01` (AV1 in ISOBMFF §2.2).
pub(super) fn av01(o: &mut Vec<u8>, movie: &Movie, config: &Av1Config) {
    const COMPRESSOR: &[u8; 11] = b"\x0aAOM Coding"; // as §2.2.4 recommends, its length before it
    o.node(b"av01", |o| {
        entry(o);
        o.zeros(16);
        o.u16(movie.size.width as u16);
        o.u16(movie.size.height as u16);
        o.u32(0x0048_0000); // 72 dots an inch, both ways
        o.u32(0x0048_0000);
        o.zeros(4);
        o.u16(1); // frame_count
        o.extend(COMPRESSOR);
        o.zeros(32 - COMPRESSOR.len());
        o.u16(0x18); // depth: colour without alpha
        o.u16(0xffff);
        o.node(b"av1C", |o| {
            o.extend(config.sequence.configuration());
            o.extend(&config.obu);
        });
        let (primaries, transfer, matrix) = colours(config);
        o.node(b"colr", |o| {
            o.extend(b"nclx");
            o.u16(primaries.into());
            o.u16(transfer.into());
            o.u16(matrix.into());
            o.push(u8::from(config.sequence.full_range) << 7);
        });
        o.node(b"pasp", |o| {
            o.u32(1);
            o.u32(1);
        });
    });
}

/// `Opus` (Opus in ISOBMFF §4.3.1) or `mp4a` (ISO/IEC 14496-14 §6.7.2).
pub(super) fn sound(o: &mut Vec<u8>, track: &SoundTrack) {
    let kind = match track.codec {
        SoundCodec::Opus => b"Opus",
        SoundCodec::Aac { .. } => b"mp4a",
    };
    o.node(kind, |o| {
        entry(o);
        o.zeros(8);
        o.u16(track.channels as u16);
        o.u16(16); // samplesize
        o.zeros(4);
        // 16.16 fixed point: a rate beyond its whole part is said by the decoder's own configuration alone.
        o.u16(u16::try_from(track.rate).unwrap_or(0));
        o.u16(0);
        match &track.codec {
            SoundCodec::Opus => dops(o, track),
            SoundCodec::Aac { config } => esds(o, config),
        }
    });
}

/// `OpusSpecificBox`: the identification header, but big-endian (§4.3.2).
fn dops(o: &mut Vec<u8>, track: &SoundTrack) {
    o.node(b"dOps", |o| {
        o.push(0); // Version
        o.push(track.channels as u8);
        o.u16(track.delay as u16); // PreSkip
        o.u32(track.rate);
        o.u16(0); // OutputGain
        o.push(0); // ChannelMappingFamily
    });
}

/// The descriptors of ISO/IEC 14496-1 §7.2.6 around an `AudioSpecificConfig`.
fn esds(o: &mut Vec<u8>, config: &[u8]) {
    let descriptor = |tag: u8, body: Vec<u8>| {
        let mut out = vec![tag];
        // §8.3.3: seven bits a byte; four of them always, so that nothing depends on the length.
        out.extend((0..4).rev().map(|k| {
            let bits = (body.len() >> (7 * k)) as u8 & 0x7f;
            if k > 0 { bits | 0x80 } else { bits }
        }));
        out.extend(body);
        out
    };
    let mut decoder = vec![0x40, 5 << 2 | 1]; // objectTypeIndication MPEG-4 audio; streamType audio, reserved bit 1
    decoder.zeros(11); // buffer size and bit rates: not said
    decoder.extend(descriptor(5, config.to_vec()));
    let mut stream = vec![0, 0, 0]; // ES_ID and flags: none
    stream.extend(descriptor(4, decoder));
    stream.extend(descriptor(6, vec![2])); // SLConfigDescriptor: as in MP4 files
    o.full_node(b"esds", 0, 0, |o| o.extend(descriptor(3, stream)));
}
