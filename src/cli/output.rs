//! Files that are whole or not there: written beside their name and renamed when done.

use super::failure::Failure;
use crate::encode::Reel;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, TempPath};

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

/// A file that is whole but has not got its name. Dropped before [`Whole::keep`], it leaves nothing behind.
pub struct Whole {
    path: PathBuf,
    /// None for standard output.
    written: Option<TempPath>,
}

/// A folder for many files, looked through once for what writers left behind who were killed: to look again for every
/// file would take time by the square of their number.
///
/// If it was made for them, it is taken away again when nothing has come of it.
pub struct Folder {
    path: PathBuf,
    made: bool,
}

impl Drop for Folder {
    fn drop(&mut self) {
        if self.made {
            // It stays where something lies in it.
            let _ = fs::remove_dir(&self.path);
        }
    }
}

impl Folder {
    /// Makes the folder if it is not there; `ours` are the names of files that will be written to it.
    pub fn open(path: &Path, ours: impl Fn(&str) -> bool) -> Result<Folder, Failure> {
        let made = !path.is_dir();
        fs::create_dir_all(path).map_err(|error| Failure::write(path, error))?;
        sweep(path, ours);
        Ok(Folder { path: path.to_owned(), made })
    }

    /// Opens a file of this name.
    pub fn create(&self, name: &str) -> Result<Output, Failure> {
        let path = self.path.join(name);
        let file = begun(&path)?;
        Ok(Output { path, target: Target::File(file) })
    }
}

impl Output {
    /// Opens `path` for writing; `-` is standard output. The folder must be there.
    pub fn create(path: &Path) -> Result<Output, Failure> {
        if path == Path::new("-") {
            let target = Target::Standard(BufWriter::with_capacity(1 << 20, io::stdout()));
            return Ok(Output { path: path.to_owned(), target });
        }
        let own = shortened(&path.file_name().unwrap_or_default().to_string_lossy()).to_owned();
        sweep(folder_of(path), |name| name == own);
        Ok(Output { path: path.to_owned(), target: Target::File(begun(path)?) })
    }

    /// Flushes, and gives the file its name, replacing what bore it.
    pub fn keep(self) -> Result<(), Failure> {
        self.close()?.keep()
    }

    /// The same for one picture of a sequence: the system writes it to the disk in its own time, for to wait for each
    /// takes far longer than to paint it. Should the power fail, the sequence is made again.
    pub fn keep_in_passing(self) -> Result<(), Failure> {
        self.finish(false)?.keep()
    }

    /// Writes all to the disk and closes the file, which has not got its name yet.
    pub fn close(self) -> Result<Whole, Failure> {
        self.finish(true)
    }

    fn finish(self, on_disk: bool) -> Result<Whole, Failure> {
        let Output { path, target } = self;
        let failed = |error| Failure::write(&path, error);
        let written = match target {
            Target::Standard(mut out) => {
                out.flush().map_err(failed)?;
                None
            }
            Target::File(out) => {
                let file = out.into_inner().map_err(|error| failed(error.into_error()))?;
                if on_disk {
                    file.as_file().sync_all().map_err(failed)?;
                }
                Some(file.into_temp_path())
            }
        };
        Ok(Whole { path, written })
    }
}

impl Whole {
    /// Gives the file its name, replacing what bore it.
    pub fn keep(self) -> Result<(), Failure> {
        let Some(written) = self.written else { return Ok(()) };
        written.persist(&self.path).map_err(|error| Failure::write(&self.path, error.error))
    }
}

/// A file beside `path`, locked while it is written to.
fn begun(path: &Path) -> Result<BufWriter<NamedTempFile>, Failure> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let file = tempfile::Builder::new()
        .prefix(&format!(".{}.", shortened(&name)))
        .suffix(PART)
        .permissions_of_new_files()
        .tempfile_in(folder_of(path))
        .map_err(|error| Failure::write(path, error))?;
    // The lock says that somebody is still writing; where a file system knows none, nothing is ever swept.
    let _ = file.as_file().try_lock();
    Ok(BufWriter::with_capacity(1 << 20, file))
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
pub fn keep_all(files: impl IntoIterator<Item = Whole>) -> Result<(), Failure> {
    let mut kept: Vec<PathBuf> = Vec::new();
    for file in files {
        let path = file.path.clone();
        if let Err(failure) = file.keep() {
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

/// Removes what writers of the same files left behind who were killed: each writer holds a lock on its own.
fn sweep(folder: &Path, ours: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        // The letters that the library puts between are six.
        let is_ours = name.strip_prefix('.').and_then(|rest| rest.strip_suffix(PART)).is_some_and(|rest| {
            rest.rsplit_once('.').is_some_and(|(name, letters)| {
                letters.len() == 6 && letters.bytes().all(|b| b.is_ascii_alphanumeric()) && ours(name)
            })
        });
        if is_ours && fs::File::options().write(true).open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
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
fn shortened(name: &str) -> &str {
    &name[..name.floor_char_boundary(200)]
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
