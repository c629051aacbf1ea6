//! Everything that ends a command early, with its exit code.

use crate::encode::EncodeError;
use crate::mux::MuxError;
use std::io;
use std::path::{Path, PathBuf};

/// Why a command made nothing.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The input has mistakes, already reported.
    #[error("the input has mistakes")]
    Mistakes,
    /// The command line asks for what cannot be.
    #[error("{0}")]
    Usage(String),
    /// A file could not be read.
    #[error("cannot read {}: {}", .path.display(), reason(.source))]
    Read {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file could not be written.
    #[error("cannot write {}: {}", .path.display(), reason(.source))]
    Write {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Parts that do not make the film.
    #[error("{0}")]
    Parts(String),
    /// The coder failed.
    #[error(transparent)]
    Encode(EncodeError),
    /// The user asked to stop.
    #[error("stopped; nothing unfinished was left behind")]
    Stopped,
    /// The reader of our output went away, which is no error.
    #[error("the output was closed")]
    Closed,
}

impl Failure {
    /// A file that could not be read.
    pub fn read(path: &Path, source: io::Error) -> Failure {
        Failure::Read { path: path.to_owned(), source }
    }

    /// A file that could not be written; a closed pipe is told apart.
    pub fn write(path: &Path, source: io::Error) -> Failure {
        if source.kind() == io::ErrorKind::BrokenPipe && path == Path::new("-") {
            return Failure::Closed;
        }
        Failure::Write { path: path.to_owned(), source }
    }

    /// What the muxer reports of writing to `path`.
    pub fn mux(path: &Path, error: MuxError) -> Failure {
        match error {
            MuxError::Write(source) => Failure::write(path, source),
            other => Failure::Write { path: path.to_owned(), source: io::Error::other(other.to_string()) },
        }
    }

    /// The exit code: 1 mistakes, 2 usage, 3 the world, 130 stopped (128 + SIGINT, common practice).
    pub fn exit_code(&self) -> u8 {
        match self {
            Failure::Closed => 0,
            Failure::Mistakes | Failure::Parts(_) => 1,
            Failure::Usage(_) => 2,
            Failure::Read { .. } | Failure::Write { .. } | Failure::Encode(_) => 3,
            Failure::Stopped => 130,
        }
    }
}

impl From<EncodeError> for Failure {
    fn from(error: EncodeError) -> Failure {
        match error {
            EncodeError::Stopped => Failure::Stopped,
            other => Failure::Encode(other),
        }
    }
}

/// The system's words without its number.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the file system is read-only".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::AlreadyExists => "a file is there, where a folder is needed".to_owned(),
        io::ErrorKind::NotADirectory => "a part of the way there is a file, no folder".to_owned(),
        // Its words are our own: see `load::read_text`.
        io::ErrorKind::InvalidData => error.to_string(),
        _ => {
            let text = error.to_string();
            text.split(" (os error").next().unwrap_or_default().to_lowercase()
        }
    }
}
