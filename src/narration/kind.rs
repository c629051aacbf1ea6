//! What sort of sound file it is, by its first bytes: a name may lie, and a recording named wrongly is still read.

use super::NarrationError;
use std::fmt;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

/// A kind of sound file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// RIFF WAVE: integers, floating point, extensible.
    Wav,
    /// FLAC in its own stream.
    Flac,
    /// MPEG audio layer III.
    Mp3,
    /// AAC in an ADTS stream, which has neither edit list nor gapless data.
    Adts,
    /// Ogg with Vorbis, Opus or FLAC.
    Ogg,
    /// MP4 (`.m4a`) with AAC, ALAC, Opus or FLAC.
    Mp4,
    /// Matroska or WebM with Opus, Vorbis, FLAC, AAC or MP3.
    Matroska,
}

impl Kind {
    /// The kinds in words, for messages.
    pub const ACCEPTED: &'static str = "WAV, FLAC, MP3, Ogg Vorbis, Ogg Opus, M4A (AAC or ALAC), WebM and Matroska";

    /// Looks at the first bytes of the file.
    pub fn of(path: &Path) -> Result<Kind, NarrationError> {
        let failed = |source| NarrationError::Open { path: path.into(), source };
        let mut file = File::open(path).map_err(failed)?;
        let mut start = Vec::with_capacity(12);
        match file.by_ref().take(12).read_to_end(&mut start) {
            Ok(_) => {}
            // A folder opens on some systems, and only its reading fails.
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => return Err(failed(error)),
        }
        start.resize(12, 0);
        Kind::sniff(&start).ok_or_else(|| match Kind::foreign(&start) {
            Some(name) => NarrationError::Foreign { path: path.into(), name },
            None => NarrationError::UnknownKind { path: path.into() },
        })
    }

    /// Kinds that recorders and editors write and that are not read.
    fn foreign(start: &[u8]) -> Option<&'static str> {
        Some(match start {
            [b'R', b'F', b'6', b'4', ..] | [b'B', b'W', b'6', b'4', ..] => "RF64, the WAV of files beyond 4 GB",
            [b'r', b'i', b'f', b'f', ..] => "Wave64",
            [b'F', b'O', b'R', b'M', _, _, _, _, b'A', b'I', b'F', ..] => "AIFF",
            [b'c', b'a', b'f', b'f', ..] => "CAF",
            _ => return None,
        })
    }

    fn sniff(start: &[u8]) -> Option<Kind> {
        Some(match start {
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'A', b'V', b'E', ..] => Kind::Wav,
            [b'f', b'L', b'a', b'C', ..] => Kind::Flac,
            [b'O', b'g', b'g', b'S', ..] => Kind::Ogg,
            [_, _, _, _, b'f', b't', b'y', b'p', ..] => Kind::Mp4,
            [0x1A, 0x45, 0xDF, 0xA3, ..] => Kind::Matroska,
            // An ADTS syncword has layer 0, an MPEG layer III one has layer 01 (ISO/IEC 14496-3 Annex 1.A, 11172-3).
            [0xFF, second, ..] if second & 0xF6 == 0xF0 => Kind::Adts,
            [0xFF, second, ..] if second & 0xE6 == 0xE2 => Kind::Mp3,
            [b'I', b'D', b'3', ..] => Kind::Mp3,
            _ => return None,
        })
    }

    /// The usual ending of its name, a hint for the reader.
    pub(super) fn extension(self) -> &'static str {
        match self {
            Kind::Wav => "wav",
            Kind::Flac => "flac",
            Kind::Mp3 => "mp3",
            Kind::Adts => "aac",
            Kind::Ogg => "ogg",
            Kind::Mp4 => "m4a",
            Kind::Matroska => "mkv",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Kind::Wav => "WAV",
            Kind::Flac => "FLAC",
            Kind::Mp3 => "MP3",
            Kind::Adts => "AAC (ADTS)",
            Kind::Ogg => "Ogg",
            Kind::Mp4 => "MP4 (M4A)",
            Kind::Matroska => "Matroska or WebM",
        })
    }
}
