//! Service in batches: marbles gather, go on all at once, and none is taken until a while after.

use super::draw::Nanos;

/// What gathers marbles and sends them on together.
#[derive(Clone, Debug)]
pub struct BatchState {
    /// How many marbles make a batch.
    pub gathers: u32,
    /// From the last marble in to the first out.
    pub tip: Nanos,
    /// From the last marble out until it takes the next.
    pub reset: Nanos,
}
