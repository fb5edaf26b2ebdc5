//! What a maker may regret without it being wrong: the codes of the warnings, by which each can be silenced.

/// A warning. Its code stands in messages, in the file's `allow: [code]` and in `--allow CODE`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Warning {
    /// A wheel so fast that too few marbles roll into its pockets.
    PickUpLimit,
    /// A wheel so fast that its marbles do not roll out in time.
    ReleaseLimit,
    /// A bore that takes too few marbles at any speed, or two at once.
    Bore,
    /// A pocket no deeper than a marble's radius.
    ShallowPocket,
    /// A wheel that carries less than the wheel that feeds it.
    SlowerWheel,
    /// A start ramp that has no place for the load.
    StartRoom,
    /// Cups that gather more marbles than the machine has.
    Gathers,
    /// A slope on which marbles come to rest.
    Stall,
    /// A supply that gives less than its motor draws.
    Supply,
    /// A loop or jump to which marbles come too slowly or too fast.
    RunUp,
}

impl Warning {
    /// All warnings.
    pub const ALL: [Warning; 10] = [
        Warning::PickUpLimit,
        Warning::ReleaseLimit,
        Warning::Bore,
        Warning::ShallowPocket,
        Warning::SlowerWheel,
        Warning::StartRoom,
        Warning::Gathers,
        Warning::Stall,
        Warning::Supply,
        Warning::RunUp,
    ];

    /// Its code.
    pub fn code(self) -> &'static str {
        match self {
            Warning::PickUpLimit => "pick-up-limit",
            Warning::ReleaseLimit => "release-limit",
            Warning::Bore => "bore",
            Warning::ShallowPocket => "shallow-pocket",
            Warning::SlowerWheel => "slower-wheel",
            Warning::StartRoom => "start-room",
            Warning::Gathers => "gathers",
            Warning::Stall => "stall",
            Warning::Supply => "supply",
            Warning::RunUp => "run-up",
        }
    }

    /// The warning with this code.
    pub fn with_code(code: &str) -> Option<Self> {
        Warning::ALL
            .into_iter()
            .find(|warning| warning.code() == code)
    }
}
