//! The kinds of file, and the endings that name them.

use crate::encode::{AacPackets, SoundCodec};
use std::fmt;
use std::path::Path;

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Container {
    /// ISO base media, `.mp4`: the form for uploads and cutting programs, with an exact constant frame rate.
    Mp4,
    /// `.webm`: for the web; times are rounded to the millisecond.
    WebM,
    /// `.mkv`: as WebM, and it takes AAC.
    Matroska,
    /// `.ivf`: the bare AV1 units, without sound, for tools and tests.
    Ivf,
}

impl Container {
    /// All of them with their endings.
    const ENDINGS: [(&'static str, Container); 4] =
        [("mp4", Container::Mp4), ("webm", Container::WebM), ("mkv", Container::Matroska), ("ivf", Container::Ivf)];

    /// The container a file's name asks for.
    pub fn from_path(path: &Path) -> Result<Container, UnknownEnding> {
        Container::from_extension(&path.extension().unwrap_or_default().to_string_lossy())
    }

    /// The container an ending asks for; capitals count as small letters.
    pub fn from_extension(ending: &str) -> Result<Container, UnknownEnding> {
        Container::ENDINGS
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(ending))
            .map(|&(_, container)| container)
            .ok_or_else(|| UnknownEnding { ending: ending.to_owned() })
    }

    /// Its ending, without the dot.
    pub fn extension(self) -> &'static str {
        match self {
            Container::Mp4 => "mp4",
            Container::WebM => "webm",
            Container::Matroska => "mkv",
            Container::Ivf => "ivf",
        }
    }

    /// Whether it has a place for any sound.
    pub fn carries_sound(self) -> bool {
        self != Container::Ivf
    }

    /// What becomes of a recording's AAC in it.
    pub fn aac(self) -> AacPackets {
        match self {
            Container::Mp4 | Container::Matroska => AacPackets::PassOn,
            Container::WebM | Container::Ivf => AacPackets::Recode,
        }
    }

    /// Whether sound coded so has a place in it.
    pub(super) fn carries(self, codec: &SoundCodec) -> bool {
        match codec {
            SoundCodec::Opus => self.carries_sound(),
            SoundCodec::Aac { .. } => self.aac() == AacPackets::PassOn,
        }
    }
}

impl fmt::Display for Container {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Container::Mp4 => "MP4",
            Container::WebM => "WebM",
            Container::Matroska => "Matroska",
            Container::Ivf => "IVF",
        })
    }
}

/// A name that asks for no known kind of file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}; a film's file ends in .mp4, .webm, .mkv or .ivf", said(ending))]
pub struct UnknownEnding {
    /// The ending, without the dot; empty if there is none.
    pub ending: String,
}

fn said(ending: &str) -> String {
    if ending.is_empty() { "the name has no ending".to_owned() } else { format!("`.{ending}` is no kind of film") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_name_containers() {
        for (ending, container) in Container::ENDINGS {
            assert_eq!(container.extension(), ending);
            assert_eq!(Container::from_path(Path::new(&format!("a.b/film.{}", ending.to_uppercase()))), Ok(container));
        }
        let refused = |name: &str| Container::from_path(Path::new(name)).unwrap_err().to_string();
        assert_eq!(refused("film.avi"), "`.avi` is no kind of film; a film's file ends in .mp4, .webm, .mkv or .ivf");
        assert_eq!(refused("film"), "the name has no ending; a film's file ends in .mp4, .webm, .mkv or .ivf");
    }
}
