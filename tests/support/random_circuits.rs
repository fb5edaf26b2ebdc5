//! Random machine files: all element kinds, merges, loops, branches, dead ends, tiny rooms and high jam rates.
//!
//! A file is read off a list of numbers, so that a property test can shrink it and a soak can draw it: zeros give the
//! plainest machine, and every list gives a file that the reader accepts.

use std::fmt::Write as _;

use marblewright::machine;
use proptest::prelude::*;

/// Numbers that one element, or the head of the file, is read off.
pub type Gene = [u16; 24];

/// What a random machine is read off.
#[derive(Clone)]
pub struct Genes {
    pub head: Gene,
    pub elements: Vec<Gene>,
}

/// Shown as the machine file, which is what one wants to see when a test fails.
impl std::fmt::Debug for Genes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "\n{}", text(self))
    }
}

/// A proptest strategy for machines of up to `most` elements.
pub fn genes(most: usize) -> impl Strategy<Value = Genes> {
    (
        any::<Gene>(),
        prop::collection::vec(any::<Gene>(), 1..=most),
    )
        .prop_map(|(head, elements)| Genes { head, elements })
}

/// The text of the machine file that `genes` stand for.
pub fn text(genes: &Genes) -> String {
    let zeros = render(genes, true);
    if machine::read(&zeros, &[]).is_ok() {
        zeros
    } else {
        render(genes, false)
    }
}

/// Numbers used up one by one; zeros when there are none left.
struct Dice<'g> {
    rolls: std::slice::Iter<'g, u16>,
    zeros: bool,
}

impl<'g> Dice<'g> {
    fn new(gene: &'g Gene, zeros: bool) -> Self {
        Dice {
            rolls: gene.iter(),
            zeros,
        }
    }

    fn below(&mut self, n: usize) -> usize {
        usize::from(*self.rolls.next().unwrap_or(&0)) % n
    }

    fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }

    /// A duration in seconds, now and then none at all.
    fn duration(&mut self) -> f64 {
        let time = self.one_of(&[1.0, 0.0, 0.1, 0.25, 0.7, 1.5, 3.0, 0.333]);
        if time == 0.0 && !self.zeros {
            0.5
        } else {
            time
        }
    }

    fn law(&mut self) -> String {
        let form = self.below(9);
        let t = self.duration();
        match form {
            _ if t == 0.0 => "0 s".to_owned(),
            0 => format!("{t} s"),
            1 => format!("{{ exponential: {{ mean: {t} s }} }}"),
            2 => format!("{{ uniform: {{ low: 0 s, high: {t} s }} }}"),
            3 => format!("{{ normal: {{ mean: {t} s, cv: 1 }} }}"),
            4 => format!("{{ lognormal: {{ mean: {t} s, cv: 3 }} }}"),
            5 => format!("{{ gamma: {{ mean: {t} s, sd: {t} s }} }}"),
            6 => format!("{{ weibull: {{ shape: 0.7, scale: {t} s }} }}"),
            7 => format!(
                "{{ triangular: {{ low: 0 s, mode: {t} s, high: {} s }} }}",
                2.0 * t
            ),
            _ => format!("{{ samples: [0 s, {t} s, 0.2 s] }}"),
        }
    }

    fn places(&mut self) -> &'static str {
        self.one_of(&["unlimited", "1", "2", "3", "7", "20"])
    }

    fn when_full(&mut self) -> &'static str {
        self.one_of(&["hold", "hold", "hold", "spill"])
    }

    /// Marbles wedging: often not at all, else with or without getting free.
    fn wedging(&mut self, key: &str) -> String {
        let chance = self.one_of(&[0.0, 0.0, 0.02, 0.3, 1.0]);
        let clears = if self.below(3) == 0 {
            String::new()
        } else {
            format!(", clears: {}", self.law())
        };
        if chance == 0.0 {
            String::new()
        } else {
            format!(", {key}: {{ chance: {chance}{clears} }}")
        }
    }
}

const KINDS: [&str; 22] = [
    "slide",
    "track",
    "escapement",
    "pocket-wheel",
    "peg",
    "weir",
    "flip-gate",
    "bowl",
    "tipping-cup",
    "return-floor",
    "ramp",
    "chain-lift",
    "screw-lift",
    "stair-lift",
    "stroke-lift",
    "bell",
    "trip-gate",
    "see-saw",
    "loop",
    "jump",
    "funnel",
    "swing-arm",
];

fn splits(kind: &str) -> bool {
    matches!(kind, "peg" | "weir" | "flip-gate" | "bowl" | "see-saw")
}

fn lifts(kind: &str) -> bool {
    kind == "pocket-wheel" || kind == "swing-arm" || kind.ends_with("-lift")
}

/// One element while the circuit is laid out.
struct Part {
    kind: &'static str,
    most_ways: usize,
    to: Vec<usize>,
}

impl Part {
    fn new(gene: &Gene) -> Self {
        let kind = KINDS[usize::from(gene[23]) % KINDS.len()];
        Part {
            kind,
            most_ways: if splits(kind) {
                1 + usize::from(gene[22]) % if kind == "see-saw" { 2 } else { 4 }
            } else {
                1
            },
            to: Vec::new(),
        }
    }

    fn spare(&self) -> bool {
        self.to.len() < self.most_ways
    }
}

/// Every element is reached from an earlier one; ways left over lead anywhere or nowhere.
fn layout(genes: &Genes) -> Vec<Part> {
    let mut parts: Vec<Part> = genes.elements.iter().map(Part::new).collect();
    for n in 1..parts.len() {
        let both_lift = |m: usize, parts: &[Part]| lifts(parts[m].kind) && lifts(parts[n].kind);
        let mut from: Vec<usize> = (0..n)
            .filter(|&m| parts[m].spare() && !both_lift(m, &parts))
            .collect();
        if from.is_empty() {
            parts[n].kind = "slide";
            from = (0..n).filter(|&m| parts[m].spare()).collect();
        }
        // The latest comes first, so that zeros give a plain chain.
        let pick = from.len() - 1 - usize::from(genes.elements[n][21]) % from.len();
        parts[from[pick]].to.push(n);
    }
    for n in 0..parts.len() {
        loose_ends(n, &genes.elements[n], &mut parts);
    }
    parts
}

fn loose_ends(n: usize, gene: &Gene, parts: &mut [Part]) {
    let lift = lifts(parts[n].kind);
    let may: Vec<usize> = (0..parts.len())
        .filter(|&m| m != n && !(lift && lifts(parts[m].kind)))
        .collect();
    if may.is_empty() {
        parts[n].kind = if parts[n].to.is_empty() {
            "slide"
        } else {
            parts[n].kind
        };
        return;
    }
    let leads = lift || splits(parts[n].kind) || parts[n].kind == "funnel";
    let ends = !leads || !parts[n].to.is_empty();
    let dead_end = ends && gene[20] % 8 == 7;
    for k in 0..parts[n].most_ways - parts[n].to.len() {
        if !dead_end {
            parts[n]
                .to
                .push(may[usize::from(gene[19].rotate_left(5 * k as u32)) % may.len()]);
        }
    }
    let turn = usize::from(gene[18]) % parts[n].to.len().max(1);
    parts[n].to.rotate_left(turn);
}

/// Jams that somebody clears in no time.
const AT_ONCE: &str = "clear after 0 s";

fn render(genes: &Genes, zeros: bool) -> String {
    let parts = layout(genes);
    let mut dice = Dice::new(&genes.head, zeros);
    let marbles = 1 + dice.below(60);
    let rpm = dice.one_of(&[7.5, 2.0, 13.0, 40.0]);
    let tending = dice.one_of(&[
        "stop",
        "clear after 1.5 s",
        AT_ONCE,
        "clear after 0.3333333 s",
    ]);
    let mut text = format!(
        "format: 1\nmarbles: {{ count: {marbles}, diameter: 16 mm }}\ndrive: {{ speed: {rpm} rpm }}\n"
    );
    let _ = write!(text, "tending: {tending}\nstart: e0\ncircuit:\n");
    for (n, (part, gene)) in parts.iter().zip(&genes.elements).enumerate() {
        let mut dice = Dice::new(gene, zeros);
        let dimensions = match part.kind {
            "trip-gate" => trip(parts.len(), &mut dice),
            "loop" | "jump" if tending == AT_ONCE => timed_stunt(part.kind, &mut dice),
            _ => dimensions(part, &mut dice),
        };
        let _ = writeln!(
            text,
            "  e{n}: {{ {}: {{ {dimensions} }}, to: {} }}",
            part.kind,
            ways(part, &parts, gene)
        );
    }
    text
}

fn ways(part: &Part, parts: &[Part], gene: &Gene) -> String {
    let way = |&to: &usize| match parts[to].kind {
        "return-floor" if gene[17] % 3 == 1 => {
            format!(
                "{{ e{to}: {{ at: [{} mm, 100 mm], spread: 20 mm }} }}",
                gene[16] % 300
            )
        }
        _ => format!("e{to}"),
    };
    let list: Vec<String> = part.to.iter().map(way).collect();
    match list.as_slice() {
        [] => "none".to_owned(),
        [one] => one.clone(),
        _ => format!("[{}]", list.join(", ")),
    }
}

fn dimensions(part: &Part, dice: &mut Dice) -> String {
    match part.kind {
        "slide" | "track" | "ramp" => line(dice),
        "escapement" => {
            format!(
                "time: {}, places: {}, when-full: {}",
                dice.law(),
                dice.places(),
                dice.when_full()
            )
        }
        "pocket-wheel" => wheel(dice),
        "chain-lift" => chain(dice),
        "screw-lift" => {
            let turns = dice.one_of(&["4", "0.5", "12", "7.3"]);
            let thread = dice.one_of(&["", ", thread: 3 mm"]);
            format!("turns: {turns}, pitch: 30 mm{thread}, {}", turned(dice))
        }
        "stair-lift" => {
            let steps = 1 + dice.below(9);
            let slope = dice.one_of(&["6 deg", "20 deg", "0 deg"]);
            format!(
                "steps: {steps}, step: 40 mm, stroke: 60 mm, tread: 20 mm, slope: {slope}, {}",
                turned(dice)
            )
        }
        "stroke-lift" => {
            let dwell = dice.one_of(&["", ", dwell: 0", ", dwell: 0.9"]);
            format!("stroke: 300 mm{dwell}, {}", turned(dice))
        }
        "peg" => format!("time: {}, {}", dice.law(), shares(part, dice)),
        "weir" => format!("time: {}", dice.law()),
        "bell" => match dice.below(2) {
            0 => format!("time: {}", dice.law()),
            _ => "drop: 30 mm, angle: 30 deg".to_owned(),
        },
        "flip-gate" => format!(
            "time: {}, throw: {} s{}",
            dice.law(),
            dice.duration(),
            dice.wedging("stick")
        ),
        "funnel" => {
            let times = match dice.below(2) {
                0 => format!("swirl: {}", dice.law()),
                _ => format!(
                    "width: {} mm, hole: 24 mm, slope: 15 deg",
                    120 + 60 * dice.below(3)
                ),
            };
            format!(
                "{times}, room: {}, hole-time: {} s, when-full: {}",
                dice.places(),
                dice.duration(),
                dice.when_full()
            )
        }
        "swing-arm" => {
            let dwell = dice.one_of(&["", ", dwell: 0", ", dwell: 0.9"]);
            format!("arm: 200 mm, up: 60 deg{dwell}, {}", turned(dice))
        }
        "loop" => match dice.below(2) {
            0 => timed_stunt(part.kind, dice),
            _ => format!("radius: {} mm", dice.one_of(&[20, 60])),
        },
        "jump" => match dice.below(2) {
            0 => timed_stunt(part.kind, dice),
            _ => format!(
                "gap: 5 mm, landing: 500 mm, fall: {} mm",
                dice.one_of(&[10, 200])
            ),
        },
        "bowl" => bowl(part, dice),
        "see-saw" => {
            let gathers = 1 + dice.below(6);
            let tip = match dice.below(2) {
                0 => format!("tip: {} s", dice.duration()),
                _ => "arm: 120 mm, swing: 24 deg, beam: 60 g".to_owned(),
            };
            format!("gathers: {gathers}, {tip}, when-full: {}", dice.when_full())
        }
        "tipping-cup" => format!(
            "gathers: {}, tip: {} s, reset: {} s, when-full: {}",
            1 + dice.below(6),
            dice.duration(),
            dice.duration(),
            dice.when_full()
        ),
        _ => format!(
            "time: {}, room: {}, mouth-time: {} s, when-full: {}{}",
            dice.law(),
            dice.places(),
            dice.duration(),
            dice.when_full(),
            dice.wedging("arch")
        ),
    }
}

fn line(dice: &mut Dice) -> String {
    let rolled = [
        "length: 300 mm, slope: 4 deg",
        "length: 900 mm, slope: 1 in 12",
        "length: 200 mm, slope: 0.1 deg",
    ];
    let passage = match dice.below(8) {
        7 => rolled[dice.below(3)].to_owned(),
        _ => format!("time: {}", dice.law()),
    };
    let advance = dice.one_of(&[0.0, 0.05, 0.2, 1.0]);
    format!(
        "{passage}, places: {}, advance: {advance} s, when-full: {}",
        dice.places(),
        dice.when_full()
    )
}

fn wheel(dice: &mut Dice) -> String {
    let pockets = 1 + dice.below(12);
    let turned = dice.one_of(&["gear: 1", "gear: 1.7", "gear: 0.5", "speed: 9 rpm"]);
    let phase = dice.one_of(&[0, 90, 7, -30]);
    let lift = dice.one_of(&["180 deg", "100 deg", "345 deg", "10 deg", "0.5 s", "0 s"]);
    let chances = chances(dice);
    format!("pockets: {pockets}, {turned}, phase: {phase} deg, lift: {lift}, {chances}")
}

/// Measured chances of a lift.
fn chances(dice: &mut Dice) -> String {
    let (take, pinch) = dice.one_of(&[
        (1.0, 0.0),
        (0.9, 0.0),
        (0.5, 0.1),
        (0.0, 0.5),
        (0.97, 0.03),
        (0.1, 0.0),
    ]);
    let release = dice.one_of(&[1.0, 0.9, 0.3, 0.0]);
    format!("pick-up: {{ take: {take}, pinch: {pinch} }}, release: {release}")
}

/// What turns a lift, and its chances where they are measured.
fn turned(dice: &mut Dice) -> String {
    let turned = dice.one_of(&["gear: 1", "gear: 3.7", "speed: 20 rpm", "speed: 61 rpm"]);
    let measured = dice.below(3) > 0;
    let chances = chances(dice);
    if measured {
        format!("{turned}, {chances}")
    } else {
        turned.to_owned()
    }
}

/// A loop or jump of measured time, from which nobody falls. Where who falls is put back at once, a marble takes a millisecond
/// for a ring of nothing else that takes time, and a run of many such marbles is as good as without end.
fn timed_stunt(kind: &str, dice: &mut Dice) -> String {
    let dimensions = match kind {
        "loop" => "radius: 60 mm",
        _ => "gap: 60 mm, landing: 80 mm, fall: 20 mm",
    };
    format!("{dimensions}, time: {}", dice.law())
}

/// A gate that any element may trip; it lets some go at first, since else it might never open, which the reader refuses.
fn trip(elements: usize, dice: &mut Dice) -> String {
    let by = dice.below(elements);
    let lets = 1 + dice.below(3);
    let keeps = lets + dice.below(4);
    let first = 1 + dice.below(5);
    let shut = dice.duration();
    let (places, when_full) = (dice.places(), dice.when_full());
    format!(
        "trip: e{by}, lets: {lets}, keeps: {keeps}, first: {first}, shut: {shut} s, places: {places}, when-full: {when_full}"
    )
}

fn chain(dice: &mut Dice) -> String {
    let pitch = dice.one_of(&[60, 33, 20]);
    let mouth = dice.one_of(&["", ", mouth: 19 mm"]);
    let holds = dice.one_of(&[1, 1, 2, 3, 7]);
    let cups = 1 + dice.below(20);
    let rise = dice.one_of(&[0.1, 0.37, 0.5]) * f64::from(pitch) * cups as f64;
    let turned = turned(dice);
    format!(
        "cups: {cups}, pitch: {pitch} mm, rise: {:.3} mm, sprocket: 90 mm, holds: {holds}{mouth}, {turned}",
        rise
    )
}

fn shares(part: &Part, dice: &mut Dice) -> String {
    let shares: Vec<String> = part
        .to
        .iter()
        .map(|_| (1 + dice.below(3)).to_string())
        .collect();
    format!("shares: [{}]", shares.join(", "))
}

fn bowl(part: &Part, dice: &mut Dice) -> String {
    format!(
        "swirl: {}, {}, room: {}, hole-time: {} s, when-full: {}{}",
        dice.law(),
        shares(part, dice),
        dice.places(),
        dice.duration(),
        dice.when_full(),
        dice.wedging("arch")
    )
}
