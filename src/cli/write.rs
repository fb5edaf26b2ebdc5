//! The one place that writes files: whole or not at all.

use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use tempfile::NamedTempFile;

use super::args::OutputArgs;
use super::failure::{Failure, shown};
use super::source::Source;

/// How the names of files begin that are still being written.
const UNFINISHED: &str = ".unfinished-";
/// The name of a file that only shows that the directory can be written.
const TRIAL: &str = "trial";
/// The files that were begun; those that are finished are there no more under these names.
static BEGUN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Removes the files that are being written, if any are.
pub fn remove_unfinished() {
    if let Ok(begun) = BEGUN.lock() {
        for path in begun.iter() {
            let _ = std::fs::remove_file(path);
        }
    }
}

/// From now on a limit on the size of files is an error to be reported, and not the end of the program.
pub fn outlive_size_limits() {
    #[cfg(unix)]
    {
        let noted = std::sync::Arc::default();
        // Where no handler can be had, the signal ends the program as it always did.
        let _ = signal_hook::flag::register(SIZE_LIMIT, noted);
    }
}

/// The signal of a limit on the size of files, the same number on every common Unix.
#[cfg(unix)]
const SIZE_LIMIT: i32 = 25;

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
        std::fs::create_dir_all(path)
            .map_err(|error| Failure::file("make the directory", path, &error))?;
        let out = OutDir(path.to_owned());
        sweep(path);
        unfinished(path, TRIAL).map_err(|error| Failure::file("write into", path, &error))?;
        Ok(out)
    }

    /// Writes `bytes` as `name`: first beside it, then moved into place.
    ///
    /// # Errors
    /// When that fails; then an earlier file of that name is as it was.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        let mut file = self.begin(name)?;
        file.write(bytes);
        file.finish()
    }

    /// Begins the file `name`, beside which it stands until it is finished.
    ///
    /// # Errors
    /// When that fails.
    pub fn begin(&self, name: &str) -> Result<Unfinished, Failure> {
        let path = self.0.join(name);
        let file =
            unfinished(&self.0, name).map_err(|error| Failure::file("write", &path, &error))?;
        Ok(Unfinished {
            file: BufWriter::new(file),
            name: name.to_owned(),
            path,
            error: None,
        })
    }

    /// Writes all files, each as [`OutDir::write`] does, and says where they are.
    ///
    /// # Errors
    /// At the first that fails.
    pub fn write_all(
        &self,
        files: &[(impl AsRef<str>, impl AsRef<[u8]>)],
    ) -> Result<String, Failure> {
        self.write_before(files, || Ok(Vec::<(String, Vec<u8>)>::new()))
    }

    /// Writes the results, and only then makes and writes the pictures.
    ///
    /// # Errors
    /// At the first that fails.
    pub fn write_before<N: AsRef<str>>(
        &self,
        results: &[(impl AsRef<str>, impl AsRef<[u8]>)],
        pictures: impl FnOnce() -> Result<Vec<(N, Vec<u8>)>, Failure>,
    ) -> Result<String, Failure> {
        self.finish_before(results, Vec::new(), pictures)
    }

    /// Writes the results and finishes the tables, and only then makes and writes the pictures, so that no picture can cost
    /// the results; says where all of them are.
    ///
    /// # Errors
    /// At the first that fails.
    pub fn finish_before<N: AsRef<str>>(
        &self,
        results: &[(impl AsRef<str>, impl AsRef<[u8]>)],
        tables: Vec<Unfinished>,
        pictures: impl FnOnce() -> Result<Vec<(N, Vec<u8>)>, Failure>,
    ) -> Result<String, Failure> {
        let mut names = Vec::new();
        for (name, bytes) in results {
            self.write(name.as_ref(), bytes.as_ref())
                .map_err(Failure::unwritten)?;
            names.push(name.as_ref().to_owned());
        }
        for table in tables {
            names.push(table.name.clone());
            table.finish().map_err(Failure::unwritten)?;
        }
        for (name, bytes) in pictures()? {
            self.write(name.as_ref(), &bytes)
                .map_err(Failure::unwritten)?;
            names.push(name.as_ref().to_owned());
        }
        Ok(format!("Written to {}: {}", self.place(), names.join(", ")))
    }

    /// The directory as it is told.
    pub fn place(&self) -> String {
        shown(&self.0)
    }

    /// The directory.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

/// A file that is written bit by bit.
pub struct Unfinished {
    file: BufWriter<NamedTempFile>,
    name: String,
    path: PathBuf,
    error: Option<std::io::Error>,
}

impl Unfinished {
    /// Writes more of it; what fails is reported when it is finished.
    pub fn write(&mut self, bytes: impl AsRef<[u8]>) {
        if self.error.is_none() {
            self.error = self.file.write_all(bytes.as_ref()).err();
        }
    }

    /// Moves it into place.
    ///
    /// # Errors
    /// When that or any writing failed; then an earlier file of that name is as it was.
    pub fn finish(self) -> Result<(), Failure> {
        let path = self.path.clone();
        self.persist()
            .map_err(|error| Failure::file("write", &path, &error))
    }

    fn persist(self) -> std::io::Result<()> {
        if let Some(error) = self.error {
            return Err(error);
        }
        let file = self.file.into_inner()?;
        readable(&file)?;
        file.persist(&self.path)?;
        Ok(())
    }
}

/// A file in `folder` that will be called `name` when it is finished; locked, so that nobody takes it for a leftover.
fn unfinished(folder: &Path, name: &str) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    let prefix = format!("{UNFINISHED}{name}-");
    loop {
        let file = builder.prefix(&prefix).tempfile_in(folder)?;
        if let Ok(mut begun) = BEGUN.lock() {
            begun.push(file.path().to_owned());
        }
        // A file system without locks is no reason not to work. Swept between the two lines, it is made again.
        let _ = file.as_file().try_lock();
        if file.path().exists() {
            return Ok(file);
        }
    }
}

/// Removes from `folder` what was left where somebody killed the program while it wrote; a file that is being written is
/// locked and stays.
fn sweep(folder: &Path) {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(UNFINISHED))
    {
        if let Ok(file) = std::fs::File::open(entry.path())
            && file.try_lock().is_ok()
        {
            // Whether it goes or stays, the answer is whole.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// The directory that a file lies in; the current one where its path names none.
pub fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// Whether a new file may be written at `path`.
///
/// # Errors
/// When there is one already and it is not to be replaced.
pub fn is_free(path: &Path, replace: bool) -> Result<(), Failure> {
    if replace || std::fs::symlink_metadata(path).is_err() {
        return Ok(());
    }
    let help = "choose another name, or replace it with --force";
    Err(Failure::cannot("write", path, "it is there already", help))
}

/// Writes a new file, whole or not at all; one that is there is only replaced where that was asked for.
///
/// # Errors
/// When it is there already or cannot be written.
pub fn create(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Failure> {
    is_free(path, replace)?;
    write_new(path, bytes, replace).map_err(|error| Failure::file("write", path, &error))
}

fn write_new(path: &Path, bytes: &[u8], replace: bool) -> std::io::Result<()> {
    let folder = folder_of(path);
    sweep(folder);
    let mut file = unfinished(folder, "new")?;
    file.write_all(bytes)?;
    readable(&file)?;
    if replace {
        file.persist(path)?;
    } else {
        file.persist_noclobber(path)?;
    }
    Ok(())
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
    let mark = now
        .strip_suffix(old.as_bytes())
        .filter(|mark| [&b""[..], "\u{feff}".as_bytes()].contains(mark));
    let Some(mark) = mark else {
        let why = "it has changed meanwhile";
        return Err(Failure::cannot("write", path, why, "try again"));
    };
    rewrite(&real, &[mark, new.as_bytes()].concat()).map_err(failed)
}

/// Keeps the file at `path` as it is under its name with `.before` behind it, in the place of an older one; returns that name.
///
/// # Errors
/// When it cannot be read or written.
pub fn keep_before(path: &Path) -> Result<String, Failure> {
    let mut name = path.as_os_str().to_owned();
    name.push(".before");
    let kept = Path::new(&name);
    let bytes = std::fs::read(path).map_err(|error| Failure::file("read", path, &error))?;
    write_new(kept, &bytes, true).map_err(|error| Failure::file("write", kept, &error))?;
    Ok(shown(kept))
}

/// Puts `bytes` in the place of the file at `real`, with the same permissions.
fn rewrite(real: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let permissions = std::fs::metadata(real)?.permissions();
    if permissions.readonly() {
        return Err(std::io::ErrorKind::PermissionDenied.into());
    }
    let folder = real.parent().unwrap_or(Path::new("."));
    sweep(folder);
    let mut file = unfinished(folder, "new")?;
    file.write_all(bytes)?;
    file.as_file().set_permissions(permissions)?;
    file.persist(real)?;
    Ok(())
}

/// Temporary files are private to their owner; finished ones are as readable as any.
#[cfg(unix)]
fn readable(file: &NamedTempFile) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file()
        .set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &NamedTempFile) -> std::io::Result<()> {
    Ok(())
}
