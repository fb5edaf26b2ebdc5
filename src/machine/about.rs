//! What each key of the machine file means, in one sentence: what an editor shows beside it.

/// The sentences, by key, or by `group.key` where the same word means different things.
pub const ABOUT: &[(&str, &str)] = &[
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
    ("cells", "Number of AA alkaline cells in series."),
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
    (
        "allow",
        "Warnings that were read and need not be shown again, by their codes.",
    ),
    (
        "element.ramp",
        "The ramp whose foot stands at a pocket wheel.",
    ),
    ("element.slide", "A slide that hands marbles on."),
    ("element.track", "A module's track."),
    (
        "element.pocket-wheel",
        "A wheel that lifts one marble a pocket.",
    ),
    (
        "element.bowl",
        "A splitter bowl: marbles swirl and leave by one of its holes.",
    ),
    (
        "element.flip-gate",
        "A gate that sends marbles each way in turn.",
    ),
    (
        "element.peg",
        "A peg that marbles bounce off, to any way by its share.",
    ),
    (
        "element.weir",
        "A weir: the next way takes what the first has no room for.",
    ),
    ("element.escapement", "Lets marbles through one at a time."),
    (
        "element.tipping-cup",
        "Gathers marbles and tips them all at once.",
    ),
    (
        "element.return-floor",
        "The tilted floor that brings marbles home through its mouth.",
    ),
    (
        "element.to",
        "The next element, a list of them for a splitter, or `none` for a dead end.",
    ),
    ("length", "Length along the slope."),
    ("slope", "Slope, positive downhill."),
    (
        "segments",
        "The parts from top to bottom, instead of one length and slope.",
    ),
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
        "advance",
        "Measured time in which the file moves up one place.",
    ),
    (
        "when-full",
        "Whether a full element holds marbles back or lets them fall over its side.",
    ),
    ("pockets", "Number of pockets."),
    ("pitch-radius", "From the axle to the centre of a pocket."),
    ("bore", "Diameter of the pockets."),
    ("pocket-wheel.depth", "Depth of the pockets."),
    (
        "tilt",
        "How far the pockets' axis is out of square with the wheel's face.",
    ),
    ("guide", "Where the guide ends, past the lowest point."),
    (
        "mouth-ends",
        "Where the slide's mouth ends, past the lowest point.",
    ),
    (
        "pocket-wheel.channel",
        "Width of the channel that feeds the wheel.",
    ),
    (
        "wall",
        "Whether the channel's wall runs up to the wheel or is cut back and fenced.",
    ),
    (
        "cut-back",
        "How far the wall on the leaving side stops short of the wheel.",
    ),
    (
        "wall-ends",
        "Whether the walls' ends are cut upright or square to the ramp.",
    ),
    (
        "guide-from",
        "From the middle of the channel to where the guide starts.",
    ),
    (
        "guide-edge",
        "Whether the edge of a guide that does not start at the wall turns marbles back or leads them in.",
    ),
    (
        "fence",
        "Whether a fence stands on the open side where the wall is cut back.",
    ),
    ("torque", "Greatest torque of its drive, at the wheel."),
    (
        "inertia",
        "Moment of inertia of the wheel and what turns with it.",
    ),
    ("gap", "Gap between ramp and wheel face."),
    (
        "pitch-error",
        "Standard deviation of pocket centres off the pitch circle.",
    ),
    ("slope-error", "Standard deviation of the ramp's slope."),
    ("pocket-wheel.speed", "A motor of its own: turns a minute."),
    ("gear", "Turns of the wheel for one turn of the drive."),
    (
        "phase",
        "Angle the first pocket has to go to the pick-up at the start.",
    ),
    ("lift", "Measured arc, or time, from pick-up to release."),
    (
        "pick-up",
        "Measured chances of a waiting marble at each pocket.",
    ),
    ("take", "Chance that the pocket takes it."),
    ("pinch", "Chance that it is caught between ramp and wheel."),
    ("release", "Measured chance that a marble gets out in time."),
    ("swirl", "Measured time from entry to a hole."),
    ("bowl.width", "Across the rim."),
    ("bowl.depth", "Depth at the middle."),
    ("hole", "Diameter of the holes."),
    ("hole-circle", "Radius of the circle the holes stand on."),
    ("entry-speed", "Speed at which marbles come in."),
    ("shares", "Weight of each way out, as in [1, 1, 2]."),
    (
        "room",
        "How many marbles it has room for; computed where it is left out.",
    ),
    (
        "hole-time",
        "How long a marble that goes keeps its hole shut to the next one.",
    ),
    ("arch", "How marbles wedge in an opening."),
    (
        "chance",
        "Chance that a marble that meets others there wedges with them.",
    ),
    ("clears", "How long until it frees itself; left out: never."),
    ("throw", "How long the gate takes to go over."),
    ("stick", "How it sticks half-way."),
    ("escapement.time", "Time each marble takes."),
    ("gathers", "How many marbles make it tip."),
    ("tip", "From the last marble in to the marbles out."),
    ("reset", "From the marbles out until it takes the next."),
    ("return-floor.width", "Across the valley."),
    ("return-floor.depth", "Along the valley."),
    ("cross-pitch", "Pitch of each side towards the valley."),
    ("valley-pitch", "Pitch of the valley towards the mouth."),
    ("mouth", "Width of the mouth."),
    ("return-floor.fall", "Height of the fall onto it."),
    (
        "mouth-time",
        "Measured time between two marbles through the mouth.",
    ),
    (
        "landing.at",
        "Where marbles land: from the left edge, and from the back edge towards the mouth.",
    ),
    ("landing.spread", "Standard deviation of where they land."),
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
        if let Some((_, text)) = ABOUT.iter().find(|(known, _)| *known == place) {
            return Some(text);
        }
    }
    None
}
