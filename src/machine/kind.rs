//! The kinds of element: the one list of them.

use super::model::*;

/// Makes of the list the type [`Kind`], the kinds' names, and what asks something of a kind, whichever it is: [`each_kind`] and
/// [`kind_named`].
macro_rules! registry {
    ($d:tt $($(#[$about:meta])* $kind:ident($held:ty) = $name:literal,)*) => {
        /// What an element is, with its dimensions.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Kind {
            $($(#[$about])* $kind($held),)*
        }

        /// The kinds' names as the file writes them.
        pub const KINDS: [&str; [$($name),*].len()] = [$($name),*];

        impl Kind {
            /// The kind's name as the file writes it.
            pub fn name(&self) -> &'static str {
                match self {
                    $(Kind::$kind(_) => $name,)*
                }
            }
        }
    };
}

registry! { $
    /// The ramp whose foot stands at a pocket wheel.
    Ramp(Ramp) = "ramp",
    /// A slide that hands marbles on.
    Slide(Slide) = "slide",
    /// A module's track.
    Track(Track) = "track",
    /// A pocket wheel.
    PocketWheel(Box<PocketWheel>) = "pocket-wheel",
    /// A splitter bowl.
    Bowl(Box<Bowl>) = "bowl",
    /// A flip gate.
    FlipGate(FlipGate) = "flip-gate",
    /// A peg that marbles bounce off.
    Peg(Peg) = "peg",
    /// A weir: the next way takes what the first has no room for.
    Weir(Weir) = "weir",
    /// Lets marbles through one at a time.
    Escapement(Escapement) = "escapement",
    /// Gathers marbles and tips them all at once.
    TippingCup(TippingCup) = "tipping-cup",
    /// The floor that brings marbles home.
    ReturnFloor(Box<ReturnFloor>) = "return-floor",
}
