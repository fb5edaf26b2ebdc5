//! The tipping cup: gathers marbles, tips them all at once, then takes a while to come back.

use super::draw::Nanos;

/// A tipping cup.
#[derive(Clone, Debug)]
pub struct TippingCupState {
    /// How many marbles make it tip.
    pub gathers: u32,
    /// From the last marble in to the first out.
    pub tip: Nanos,
    /// From the last marble out until it takes the next.
    pub reset: Nanos,
}
