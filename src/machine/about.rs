//! What each key of the machine file means, in one sentence: what an editor shows beside it. What one kind of element alone
//! has stands in the kind's file.

use super::description::KeyMeaning;
use super::kind::{KINDS, keys};

/// The sentences, by key, or by `group.key` where the same word means different things.
const ABOUT: &[KeyMeaning] = &[
    ("format", "Version of this file's layout: 1."),
    ("title", "What its maker calls the machine."),
    ("marbles", "The marbles that run in it."),
    ("marbles.count", "The load: how many marbles run."),
    ("marbles.diameter", "Diameter of a marble."),
    (
        "marbles.spread",
        "Standard deviation of the diameter from marble to marble.",
    ),
    ("material", "What the marbles are made of."),
    (
        "drive",
        "What turns the wheels that have no motor of their own.",
    ),
    ("drive.speed", "Turns of the drive a minute."),
    (
        "motor",
        "A geared direct-current motor, instead of a speed.",
    ),
    ("no-load-speed", "Speed of the gearbox shaft without load."),
    (
        "stall-torque",
        "Torque of the gearbox shaft at which the motor stalls.",
    ),
    ("no-load-current", "Current without load."),
    ("stall-current", "Current when stalled: the most it draws."),
    (
        "teeth",
        "Teeth of the motor's gear and of the drive's, as in [12, 48].",
    ),
    ("module", "Module of the gears: pitch diameter over teeth."),
    ("duty", "Share of full voltage, 0 to 1."),
    (
        "motor.voltage",
        "Voltage at which its speeds, torque and currents are as given; left out: that of its supply.",
    ),
    (
        "motor.cells",
        "What it runs on: so many alkaline AA cells in series, or a supply by its kind.",
    ),
    ("cells.kind", "What is sold under this name."),
    ("cells.count", "How many cells in series."),
    (
        "capacity",
        "What one cell holds, as printed on it; left out: as such cells usually do.",
    ),
    ("cells.voltage", "Voltage of the adapter."),
    ("cells.current", "The most current that the adapter gives."),
    ("start", "The element into which marbles are poured."),
    (
        "circuit",
        "The elements by name, each with one kind and where its ways out lead.",
    ),
    ("workable", "What its maker calls good enough."),
    (
        "least-fill",
        "Least share of passing pockets that carry a marble, for every wheel; left out: 0.8.",
    ),
    ("jams-per-8h", "Most jams in eight hours; left out: 1."),
    (
        "spills",
        "Most marbles lost over a side in a run; left out: 0.",
    ),
    (
        "backlog",
        "Most marbles waiting for 95 % of the time, by element; left out: any number.",
    ),
    (
        "tending",
        "Who clears a jam: `stop` for nobody, or `clear after 2 min`.",
    ),
    ("assume", "Workshop constants that no handbook settles."),
    ("rolling-resistance", "Lever arm of rolling resistance."),
    (
        "restitution",
        "Share of its speed with which a marble bounces off wood.",
    ),
    ("friction", "Sliding friction of a marble on wood."),
    (
        "drilling-resistance",
        "Lever arm of drilling friction, where a marble turns about its point of contact.",
    ),
    (
        "hit-grip",
        "Share of the slip between marble and wood that one hit stops.",
    ),
    (
        "gear-efficiency",
        "Share of the motor's work that passes a pair of gears.",
    ),
    (
        "entry-scatter",
        "Scatter of the speed at which marbles come into a bowl, as a share of it.",
    ),
    (
        "marble-friction",
        "Sliding friction of marbles on each other.",
    ),
    (
        "marble-restitution",
        "Restitution of marbles on each other.",
    ),
    (
        "assume.slope",
        "Slope on which marbles wait where no dimension tells it.",
    ),
    (
        "bend-loss",
        "Share of its energy of motion that a marble loses in a bend.",
    ),
    ("mend", "How changes are weighed when it is to be mended."),
    (
        "order",
        "What costs least to its maker first, of turn, reset, recut, redrill and rebuild; what is left out comes after in that order.",
    ),
    (
        "workshop",
        "How exactly your workshop works, as standard deviations from one build to the next.",
    ),
    (
        "workshop.marbles",
        "Of the mean diameter of a batch of marbles.",
    ),
    ("workshop.speed", "Of the drive's speed, as a share of it."),
    ("workshop.slope", "Of slopes set by hand."),
    ("workshop.length", "Of lengths, heights and widths sawn."),
    ("plywood", "Of the thickness of plywood."),
    (
        "workshop.bore",
        "Of the diameter of drilled pockets and holes.",
    ),
    (
        "circle",
        "Of the radius of the circle that pockets are drilled on.",
    ),
    ("workshop.depth", "Of the depth of pockets."),
    ("workshop.tilt", "Of the tilt of pockets."),
    ("workshop.gap", "Of the gap between a ramp and its wheel."),
    ("ramp-end", "Of the height of a ramp's end at its wheel."),
    (
        "allow",
        "Warnings that were read and need not be shown again, by their codes.",
    ),
    (
        "element.to",
        "The next element, a list of them for a splitter, or `none` for a dead end.",
    ),
    ("length", "Length along the slope."),
    ("slope", "Slope, positive downhill."),
    ("bend", "A bend in plan."),
    ("radius", "Radius in plan."),
    ("turn", "Angle turned in plan."),
    ("segment.drop", "A free fall of this height."),
    ("drop", "Height of the fall through it."),
    ("steps", "A flight of steps."),
    ("steps.count", "How many steps."),
    ("rise", "Height of each step."),
    ("run", "Tread of each step."),
    ("steps.slope", "Slope of the treads."),
    (
        "corner",
        "The end of a zig-zag leg: off its end, against a backstop, down onto the next.",
    ),
    ("corner.fall", "Height of the fall onto the next leg."),
    (
        "corner.gap",
        "Distance from the end of the leg to the backstop.",
    ),
    ("thickness", "Thickness of the leg's floor."),
    ("channel", "What the marble rolls in."),
    ("vee", "A V groove: the angle between its sides."),
    ("rails", "Sharp-edged rails: the gap between them."),
    ("rods", "Round rods."),
    ("rods.diameter", "Diameter of a rod."),
    ("spacing", "Distance of the rods from centre to centre."),
    ("time", "Measured time, used instead of the computed one."),
    (
        "places",
        "How many marbles it has room for; computed where it is left out.",
    ),
    (
        "when-full",
        "Whether a full element holds marbles back or lets them fall over its side.",
    ),
    ("entry-speed", "Speed at which marbles come in."),
    ("shares", "Weight of each way out, as in [1, 1, 2]."),
    (
        "room",
        "How many marbles it has room for; computed where it is left out.",
    ),
    ("speed", "A motor of its own: turns a minute."),
    ("gear", "Turns of it for one turn of the drive."),
    (
        "pick-up",
        "Measured chances of a waiting marble where it is picked up.",
    ),
    ("take", "Chance that it is taken."),
    ("pinch", "Chance that it is caught, which stops the drive."),
    ("release", "Measured chance that a marble gets out in time."),
    ("arch", "How marbles wedge in an opening."),
    (
        "chance",
        "Chance that a marble that meets others there wedges with them.",
    ),
    ("clears", "How long until it frees itself; left out: never."),
    (
        "landing.at",
        "Where marbles land: from the left edge, and from the back edge towards the mouth.",
    ),
    ("landing.spread", "Standard deviation of where they land."),
    (
        "landing.heading",
        "Which way they head there: 0 deg to the mouth, 90 deg to the right edge.",
    ),
    ("fixed", "Always the same time."),
    ("normal", "Normal law, cut at zero."),
    ("lognormal", "Lognormal law."),
    (
        "gamma",
        "Gamma law, by mean and spread or by shape and scale.",
    ),
    ("weibull", "Weibull law."),
    ("triangular", "Triangular law."),
    ("uniform", "Uniform law."),
    ("exponential", "Exponential law."),
    ("samples", "Stopwatch readings, drawn again at random."),
    ("mean", "Mean time."),
    ("sd", "Standard deviation."),
    ("cv", "Standard deviation as a share of the mean."),
    ("shape", "Shape of the law, no unit."),
    ("scale", "Scale of the law."),
    ("low", "Shortest time."),
    ("mode", "Most likely time."),
    ("high", "Longest time."),
];

/// What `key` in `group` means.
pub fn about(group: &str, key: &str) -> Option<&'static str> {
    let own = format!("{group}.{key}");
    for place in [own.as_str(), key] {
        if let Some((_, text)) = sentences().find(|(known, _)| *known == place) {
            return Some(text);
        }
    }
    None
}

/// All sentences, those of the kinds last.
pub fn sentences() -> impl Iterator<Item = KeyMeaning> {
    let of_kinds = KINDS.into_iter().flat_map(keys);
    ABOUT.iter().chain(of_kinds).copied()
}
