//! Drawing in a run: which number of which stream, reported to the watcher.

use super::run::Run;
use super::streams::{DrawId, Purpose};
use super::watch::Watcher;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// A uniform 64-bit number for the first draw for `purpose` of `marble`, which is in `n`.
    #[inline]
    pub fn random(&mut self, n: usize, purpose: Purpose, marble: u32) -> u64 {
        self.random_at(n, DrawId::first(purpose, self.numbers[marble as usize]))
    }

    /// The uniform 64-bit number of a draw at `n`.
    #[inline]
    pub fn random_at(&mut self, n: usize, drawn: DrawId) -> u64 {
        let number = self.nodes[n].streams.at(&mut self.generator, drawn);
        self.watcher.drew(n, drawn, number);
        number
    }
}
