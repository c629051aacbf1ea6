//! Files that are whole or not there: written beside their name and renamed when done.

use super::failure::Failure;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

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
        let file = tempfile::Builder::new()
            .prefix(&shortened(&prefix))
            .suffix(".part")
            .permissions_of_new_files()
            .tempfile_in(folder)
            .map_err(|error| Failure::write(path, error))?;
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
        self.permissions(std::fs::Permissions::from_mode(0o666))
    }

    #[cfg(not(unix))]
    fn permissions_of_new_files(&mut self) -> &mut Self {
        self
    }
}
