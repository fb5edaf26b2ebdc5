//! Drives in a run: clocks that stand while a pinched marble does.

use crate::circuit::draw::Nanos;

/// A drive's clock, which stands while the drive does.
#[derive(Clone, Copy, Debug, Default)]
pub struct DriveState {
    /// How long it stood so far.
    pub stood: Nanos,
    /// Since when it stands.
    pub stopped: Option<Nanos>,
}

impl DriveState {
    /// What the drive's clock shows at `now`.
    pub fn clock(&self, now: Nanos) -> Nanos {
        self.stopped.unwrap_or(now) - self.stood
    }
}
