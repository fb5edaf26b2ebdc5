//! The kinds of element: the one list of them.

use super::fields::Fields;
use super::model::*;
use super::outline::Group;
use super::problem::Report;
use super::read_parts::DEFAULT_DROP_M;

/// A key of the machine file and what it means, as [`super::about`] has them.
pub type KeyMeaning = (&'static str, &'static str);

/// What the machine file says of a kind of element.
pub trait Description: Sized {
    /// What it is, in one sentence.
    const ABOUT: &'static str;
    /// What the keys mean that no other kind has.
    const KEYS: &'static [KeyMeaning] = &[];
    /// What other people call something that does the same.
    const ALSO_CALLED: &'static [&'static str] = &[];

    /// Its dimensions from the keys of the file.
    fn read(of: &mut Fields) -> Option<Self>;
}

/// Makes of the list the type [`Kind`], the kinds' names, and what asks something of a kind by its name: `kind_named`.
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

        $(impl From<$kind> for Kind {
            fn from(of: $kind) -> Self {
                Kind::$kind(<$held>::from(of))
            }
        })*

        /// An expression in which a name stands for the type of the kind called so; `None` for what is no kind.
        macro_rules! kind_named {
            ($d name:expr, $d Of:ident => $d asked:expr) => {
                match $d name {
                    $($name => {
                        type $d Of = $crate::machine::model::$kind;
                        Some($d asked)
                    })*
                    _ => None,
                }
            };
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

/// The kind called `name` from the keys of the file.
pub fn read(name: &str, of: &mut Fields) -> Option<Kind> {
    kind_named!(name, Of => Of::read(of).map(Kind::from)).flatten()
}

/// What may stand in the braces of a kind, as its reader asks for it.
pub fn outline(name: &str) -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    read(name, &mut of);
    of.into_group()
}

/// What a kind is, in one sentence.
pub fn about(name: &str) -> Option<&'static str> {
    kind_named!(name, Of => Of::ABOUT)
}

/// What the keys mean that the kind called `name` alone has.
pub fn keys(name: &str) -> &'static [KeyMeaning] {
    kind_named!(name, Of => Of::KEYS).unwrap_or_default()
}

/// The kind that other people call by this word.
pub fn also_called(word: &str) -> Option<&'static str> {
    let is_called = |name: &str| kind_named!(name, Of => Of::ALSO_CALLED.contains(&word));
    KINDS.into_iter().find(|name| is_called(name) == Some(true))
}

impl Kind {
    /// What stands in for a kind that could not be read.
    pub fn stand_in() -> Kind {
        let fall = Fall {
            drop_m: DEFAULT_DROP_M,
            time: None,
        };
        Weir { fall }.into()
    }
}
