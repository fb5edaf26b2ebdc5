//! How many cores work.

use super::failure::Failure;

/// Does `work` on so many threads; 0 for one a core.
pub fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> Result<T, Failure> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    let pool = pool.map_err(|error| Failure::File {
        doing: "start",
        path: format!("{threads} threads").into(),
        why: error.to_string(),
        help: "ask for fewer with --threads".to_owned(),
    })?;
    Ok(pool.install(work))
}
