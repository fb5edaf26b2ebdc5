//! The one list of the kinds of element, and what is asked of a kind whichever it is.

use super::description::{Complaint, Description, KeyMeaning};
use super::fields::Fields;
use super::knobs::Knob;
use super::model::*;
use super::outline::Group;
use super::problem::Report;
use super::read_parts::DEFAULT_DROP_M;

/// Makes of the list the type [`Kind`], the kinds' names, and what asks something of a kind, whichever it is: `each_kind`, and by
/// its name: `kind_named`. `$d` is a dollar sign: macros made by a macro need one for their own parts.
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

        /// An expression in which a name stands for the dimensions of a kind, whichever it is.
        macro_rules! each_kind {
            ($d kind:expr, $d of:ident => $d asked:expr) => {
                match $d kind {
                    $($crate::machine::kind::Kind::$kind($d of) => $d asked,)*
                }
            };
        }
        pub(crate) use each_kind;

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
        pub(crate) use kind_named;
    };
}

registry! { $
    /// The ramp whose foot stands at a pocket wheel.
    StartRamp(StartRamp) = "ramp",
    /// A slide that hands marbles on.
    Slide(Slide) = "slide",
    /// A module's track.
    Track(Track) = "track",
    /// A pocket wheel.
    PocketWheel(Box<PocketWheel>) = "pocket-wheel",
    /// Cups on a chain.
    ChainLift(ChainLift) = "chain-lift",
    /// A screw beside a rail.
    ScrewLift(ScrewLift) = "screw-lift",
    /// A stair of two combs.
    StairLift(StairLift) = "stair-lift",
    /// A tray that goes up and down with one marble.
    StrokeLift(StrokeLift) = "stroke-lift",
    /// An arm that swings up with one marble.
    SwingArm(SwingArm) = "swing-arm",
    /// A splitter bowl.
    Bowl(Box<Bowl>) = "bowl",
    /// A flip gate.
    FlipGate(FlipGate) = "flip-gate",
    /// A peg that marbles bounce off.
    Peg(Peg) = "peg",
    /// A weir: the next way takes what the first has no room for.
    Weir(Weir) = "weir",
    /// A bell that marbles strike.
    Bell(Bell) = "bell",
    /// Lets marbles through one at a time.
    Escapement(Escapement) = "escapement",
    /// Opens when a marble comes by another place.
    TripGate(TripGate) = "trip-gate",
    /// Gathers marbles and tips them all at once.
    TippingCup(TippingCup) = "tipping-cup",
    /// Tips by the number of marbles, to each side in turn.
    SeeSaw(SeeSaw) = "see-saw",
    /// A loop that marbles roll through.
    UprightLoop(UprightLoop) = "loop",
    /// A gap that marbles fly over.
    Jump(Jump) = "jump",
    /// A cone in which marbles circle down.
    Funnel(Funnel) = "funnel",
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

/// What a maker can change in an element of the kind called `name`.
pub fn knobs(name: &str) -> &'static [Knob] {
    kind_named!(name, Of => Of::KNOBS).unwrap_or_default()
}

/// What is wrong with an element of the kind called `kind` that leads nowhere, and what to do; see [`Description::dead_end`].
pub fn dead_end(kind: &str, element: &str) -> Option<Complaint> {
    kind_named!(kind, Of => Of::dead_end(element)).flatten()
}

/// The key of the law that times of the kind called `name` follow, if they follow one.
pub fn time_key(name: &str) -> Option<&'static str> {
    kind_named!(name, Of => Of::TIME_KEY).flatten()
}

/// The dimensions of the kind called `name` where a design has it in place of another and none are given.
pub fn swapped_in(name: &str) -> Option<&'static str> {
    kind_named!(name, Of => Of::SWAPPED_IN).flatten()
}

/// The kind that other people call by this word, and how it is written.
pub fn also_called(word: &str) -> Option<(&'static str, &'static str)> {
    for kind in KINDS {
        let all = kind_named!(kind, Of => Of::ALSO_CALLED).unwrap_or_default();
        if let Some((_, written)) = all.iter().find(|(words, _)| words.contains(&word)) {
            return Some((kind, written));
        }
    }
    None
}

/// Whether elements of the kind called `name` share marbles out among several ways.
pub fn splits(name: &str) -> bool {
    kind_named!(name, Of => Of::SPLITS) == Some(true)
}

impl Kind {
    /// The single file that it is, if it is one.
    pub fn line(&self) -> Option<&Line> {
        each_kind!(self, of => of.line())
    }

    /// The pocket wheel that it is, if it is one.
    pub fn wheel(&self) -> Option<&PocketWheel> {
        each_kind!(self, of => of.wheel())
    }

    /// The return floor that it is, if it is one.
    pub fn floor(&self) -> Option<&ReturnFloor> {
        each_kind!(self, of => of.floor())
    }

    /// The same, to be changed.
    pub fn floor_mut(&mut self) -> Option<&mut ReturnFloor> {
        each_kind!(self, of => of.floor_mut())
    }

    /// Slope of the last part that marbles roll on in it, radians, where a dimension tells it.
    pub fn exit_slope_rad(&self) -> Option<f64> {
        each_kind!(self, of => of.exit_slope_rad())
    }

    /// How it carries, for marbles of this diameter (metres, where it is known), if it is a lift other than a wheel.
    pub fn lifting(&self, diameter_m: Option<f64>) -> Option<Lifting> {
        each_kind!(self, of => of.lifting(diameter_m))
    }

    /// What turns it, if it is a lift.
    pub fn turned_by(&self) -> Option<TurnedBy> {
        each_kind!(self, of => of.turned_by())
    }

    /// The same, to be changed.
    pub fn turned_by_mut(&mut self) -> Option<&mut TurnedBy> {
        each_kind!(self, of => of.turned_by_mut())
    }

    /// Takes the measured law of its times out of it; a place-holder stands in where it must have one.
    pub fn take_time(&mut self) -> Option<TimeLaw> {
        each_kind!(self, of => of.take_time())
    }

    /// Whether it is a lift.
    pub fn is_lift(&self) -> bool {
        self.turned_by().is_some()
    }

    /// Whether it is a lift that the machine's drive turns.
    pub fn is_on_drive(&self) -> bool {
        matches!(self.turned_by(), Some(TurnedBy::Drive { .. }))
    }

    /// What stands in for a kind that could not be read.
    pub fn stand_in() -> Kind {
        let fall = Fall {
            drop_m: DEFAULT_DROP_M,
            time: None,
        };
        Weir { fall }.into()
    }
}
