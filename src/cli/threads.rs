//! How many cores work.

use super::failure::Failure;

/// Does `work` on so many threads; 0 for one a core.
pub fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> Result<T, Failure> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    let pool = pool.map_err(|error| {
        let threads = format!("{threads} threads");
        let help = "ask for fewer with --threads";
        Failure::cannot("start", threads, error.to_string(), help)
    })?;
    Ok(pool.install(work))
}

/// As [`on_threads`], where it is wanted.
pub fn on_threads_if<T: Send>(
    wanted: bool,
    threads: usize,
    work: impl FnOnce() -> T + Send,
) -> Result<Option<T>, Failure> {
    if wanted {
        on_threads(threads, work).map(Some)
    } else {
        Ok(None)
    }
}
