//! The one place that writes files: whole or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::args::OutputArgs;
use super::failure::Failure;
use super::source::Source;

/// How the names of files begin that are still being written.
const UNFINISHED: &str = ".unfinished-";
/// The name of a file that only shows that the directory can be written.
const TRIAL: &str = "trial";

/// A directory for the files of one answer, made before the work so that a long study is not lost to a typing error.
pub struct OutDir(PathBuf);

impl OutDir {
    /// The directory that was asked for, or `reports/` and the name of the machine's file; none where no files are wanted.
    ///
    /// # Errors
    /// When it cannot be made or written.
    pub fn of(output: &OutputArgs, source: &Source) -> Result<Option<Self>, Failure> {
        if output.no_files {
            return Ok(None);
        }
        let default = Path::new("reports").join(&source.stem);
        OutDir::make(output.out.as_deref().unwrap_or(&default)).map(Some)
    }

    /// Makes the directory and proves that it can be written.
    ///
    /// # Errors
    /// When it cannot.
    pub fn make(path: &Path) -> Result<Self, Failure> {
        std::fs::create_dir_all(path).map_err(|error| Failure::file("make the directory", path, &error))?;
        let out = OutDir(path.to_owned());
        out.sweep(TRIAL);
        out.unfinished(TRIAL).map_err(|error| Failure::file("write into", path, &error))?;
        Ok(out)
    }

    /// Writes `bytes` as `name`: first beside it, then moved into place.
    ///
    /// # Errors
    /// When that fails; then an earlier file of that name is as it was.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        let path = self.0.join(name);
        let failed = |error: std::io::Error| Failure::file("write", &path, &error);
        let mut file = self.unfinished(name).map_err(failed)?;
        file.write_all(bytes).map_err(failed)?;
        readable(&file).map_err(failed)?;
        file.persist(&path).map_err(|error| failed(error.error))?;
        Ok(())
    }

    /// Writes all files, each as [`OutDir::write`] does, and says where they are.
    ///
    /// # Errors
    /// At the first that fails.
    pub fn write_all(&self, files: &[(impl AsRef<str>, impl AsRef<[u8]>)]) -> Result<String, Failure> {
        for (name, bytes) in files {
            self.write(name.as_ref(), bytes.as_ref())?;
        }
        let names: Vec<&str> = files.iter().map(|(name, _)| name.as_ref()).collect();
        Ok(format!("Written to {}: {}", self.0.display(), names.join(", ")))
    }

    /// A file that will be called `name` when it is finished.
    fn unfinished(&self, name: &str) -> std::io::Result<NamedTempFile> {
        tempfile::Builder::new().prefix(&format!("{UNFINISHED}{name}-")).tempfile_in(&self.0)
    }

    /// Removes what was left of `name` where somebody killed the program while it wrote it.
    pub fn sweep(&self, name: &str) {
        let unfinished = format!("{UNFINISHED}{name}-");
        let entries = std::fs::read_dir(&self.0).into_iter().flatten().flatten();
        for entry in entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(&unfinished)) {
            // Whether it goes or stays, the answer is whole.
            let _ = std::fs::remove_file(entry.path());
        }
    }

    /// The directory.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

/// Whether a new file may be written at `path`.
///
/// # Errors
/// When there is one already and it is not to be replaced.
pub fn is_free(path: &Path, replace: bool) -> Result<(), Failure> {
    if replace || std::fs::symlink_metadata(path).is_err() {
        return Ok(());
    }
    let mend = "choose another name, or replace it with --force".to_owned();
    Err(Failure::File { doing: "write", path: path.to_owned(), why: "it is there already".to_owned(), mend })
}

/// Writes a new file, whole or not at all; one that is there is only replaced where that was asked for.
///
/// # Errors
/// When it is there already or cannot be written.
pub fn create(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Failure> {
    is_free(path, replace)?;
    let failed = |error: std::io::Error| Failure::file("write", path, &error);
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = NamedTempFile::new_in(folder).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    readable(&file).map_err(failed)?;
    let moved = if replace { file.persist(path) } else { file.persist_noclobber(path) };
    moved.map(|_| ()).map_err(|error| failed(error.error))
}

/// Puts `new` in the place of the file at `path`, which has to hold `old` still (but for a byte order mark, which is kept):
/// first beside it, then moved into place, with the same permissions. A link is followed.
///
/// # Errors
/// When it has changed meanwhile or cannot be written; then it is as it was.
pub fn replace(path: &Path, old: &str, new: &str) -> Result<(), Failure> {
    let failed = |error: std::io::Error| Failure::file("write", path, &error);
    let real = std::fs::canonicalize(path).map_err(failed)?;
    let now = std::fs::read(&real).map_err(failed)?;
    let mark = now.strip_suffix(old.as_bytes()).filter(|mark| [&b""[..], "\u{feff}".as_bytes()].contains(mark));
    let Some(mark) = mark else {
        let (why, mend) = ("it has changed meanwhile".to_owned(), "try again".to_owned());
        return Err(Failure::File { doing: "write", path: path.to_owned(), why, mend });
    };
    let permissions = std::fs::metadata(&real).map_err(failed)?.permissions();
    if permissions.readonly() {
        return Err(failed(std::io::ErrorKind::PermissionDenied.into()));
    }
    let mut file = NamedTempFile::new_in(real.parent().unwrap_or(Path::new("."))).map_err(failed)?;
    file.write_all(mark).and_then(|()| file.write_all(new.as_bytes())).map_err(failed)?;
    file.as_file().set_permissions(permissions).map_err(failed)?;
    file.persist(&real).map_err(|error| failed(error.error))?;
    Ok(())
}

/// Temporary files are private to their owner; finished ones are as readable as any.
#[cfg(unix)]
fn readable(file: &NamedTempFile) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &NamedTempFile) -> std::io::Result<()> {
    Ok(())
}
