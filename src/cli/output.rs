//! Files that are whole or not there: written beside their name and renamed when done.

use super::failure::Failure;
use crate::encode::Reel;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// How the names of files on their way end.
const PART: &str = ".part";

/// A file on its way. Dropped before [`Output::keep`], it leaves nothing behind.
pub struct Output {
    path: PathBuf,
    target: Target,
}

enum Target {
    File(BufWriter<NamedTempFile>),
    Standard(BufWriter<io::Stdout>),
}

impl Output {
    /// Opens `path` for writing; `-` is standard output. The folder must be there.
    pub fn create(path: &Path) -> Result<Output, Failure> {
        if path == Path::new("-") {
            let target = Target::Standard(BufWriter::with_capacity(1 << 20, io::stdout()));
            return Ok(Output { path: path.to_owned(), target });
        }
        let folder = folder_of(path);
        let prefix = format!(".{}.", path.file_name().unwrap_or_default().to_string_lossy());
        let prefix = shortened(&prefix);
        sweep(folder, &prefix);
        let file = tempfile::Builder::new()
            .prefix(&prefix)
            .suffix(PART)
            .permissions_of_new_files()
            .tempfile_in(folder)
            .map_err(|error| Failure::write(path, error))?;
        // The lock says that somebody is still writing; where a file system knows none, nothing is ever swept.
        let _ = file.as_file().try_lock();
        Ok(Output { path: path.to_owned(), target: Target::File(BufWriter::with_capacity(1 << 20, file)) })
    }

    /// Flushes, and gives the file its name, replacing what bore it.
    pub fn keep(self) -> Result<(), Failure> {
        match self.target {
            Target::Standard(mut out) => out.flush().map_err(|error| Failure::write(&self.path, error)),
            Target::File(out) => {
                let file = out.into_inner().map_err(|error| Failure::write(&self.path, error.into_error()))?;
                file.as_file().sync_all().map_err(|error| Failure::write(&self.path, error))?;
                file.persist(&self.path).map_err(|error| Failure::write(&self.path, error.error))?;
                Ok(())
            }
        }
    }
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.target {
            Target::File(out) => out.write(bytes),
            Target::Standard(out) => out.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &mut self.target {
            Target::File(out) => out.flush(),
            Target::Standard(out) => out.flush(),
        }
    }
}

/// Gives several files their names, or none: what has got one is removed again if another cannot have its own.
pub fn keep_all(outputs: impl Iterator<Item = Output>) -> Result<(), Failure> {
    let mut kept: Vec<PathBuf> = Vec::new();
    for output in outputs {
        let path = output.path.clone();
        if let Err(failure) = output.keep() {
            for path in kept {
                // The failure that is told is the first one.
                let _ = fs::remove_file(path);
            }
            return Err(failure);
        }
        kept.push(path);
    }
    Ok(())
}

/// Removes what writers of the same file left behind who were killed: each writer holds a lock on its own.
fn sweep(folder: &Path, prefix: &str) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let letters = name.strip_prefix(prefix).and_then(|rest| rest.strip_suffix(PART));
        // The letters that the library puts between are six; another film's name would have a dot among them.
        let ours =
            letters.is_some_and(|letters| letters.len() == 6 && letters.bytes().all(|b| b.is_ascii_alphanumeric()));
        if ours && fs::File::options().write(true).open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
            // Another program may have been quicker.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// A reel for a film that goes to `path`: what does not fit into memory goes to a nameless file in the same folder, where
/// the film itself must fit too.
pub fn reel(path: &Path) -> Reel {
    let folder = if path == Path::new("-") { std::env::temp_dir() } else { folder_of(path).to_owned() };
    Reel::with_file(Box::new(move || tempfile::tempfile_in(folder)))
}

/// The folder a path lies in; `.` for a bare name.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Keeps the temporary name inside the 255 bytes a file name may have, at a character's end.
fn shortened(prefix: &str) -> String {
    let end = (0..=prefix.len().min(200)).rev().find(|&i| prefix.is_char_boundary(i)).unwrap_or(0);
    prefix[..end].to_owned()
}

/// Temporary files are made private by default; the kept file should have the permissions of any new file.
trait PermissionsOfNewFiles {
    fn permissions_of_new_files(&mut self) -> &mut Self;
}

impl PermissionsOfNewFiles for tempfile::Builder<'_, '_> {
    #[cfg(unix)]
    fn permissions_of_new_files(&mut self) -> &mut Self {
        use std::os::unix::fs::PermissionsExt;
        // The umask is applied to this mode when the file is opened.
        self.permissions(fs::Permissions::from_mode(0o666))
    }

    #[cfg(not(unix))]
    fn permissions_of_new_files(&mut self) -> &mut Self {
        self
    }
}
