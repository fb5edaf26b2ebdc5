//! Where everything that moves is at one instant.

use super::Shot;
use super::stage::{Stage, along, length};
use crate::charts::layout::Layout;
use crate::circuit::Circuit;
use crate::circuit::carousel::CarouselState;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;
use crate::findings::replay::{MarblePlace, Replay, Stay};

/// How long a marble is seen on an arrow, which takes it no time; never longer than it is in the element.
const ON_ARROW: Nanos = 300_000_000;
/// How long a file takes to be seen moving up one place.
const MOVES_UP: Nanos = 200_000_000;

/// Everything that a frame is computed from.
pub struct FilmScene<'a> {
    shot: &'a Shot<'a>,
    layout: &'a Layout,
    /// The stage of each element.
    pub stages: Vec<Stage>,
    /// The longest known travel through each element.
    travel: Vec<Nanos>,
    /// When drives stood: drive, from, until.
    stands: Vec<(usize, Nanos, Nanos)>,
}

/// The longest known travel through each element.
pub fn longest_travels(circuit: &Circuit, replay: &Replay) -> Vec<Nanos> {
    let mut travel = vec![0; circuit.nodes.len()];
    for stay in &replay.stays {
        if let Some(reached) = stay.reach() {
            travel[stay.node] = travel[stay.node].max(reached - stay.enter);
        }
    }
    travel
}

/// When drives stood: drive, from, until.
pub fn standstills(circuit: &Circuit, replay: &Replay) -> Vec<(usize, Nanos, Nanos)> {
    let mut stands = Vec::new();
    for (begin, node, cause) in replay.blockages() {
        if let (Cause::Pinch, Some(wheel)) = (cause, circuit.nodes[node].wheel()) {
            let lasts = circuit.tending.unwrap_or(Nanos::MAX);
            stands.push((wheel.drive, begin, begin.saturating_add(lasts)));
        }
    }
    stands
}

/// One frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// When.
    pub time: Nanos,
    /// The marbles in elements.
    pub dots: Vec<Dot>,
    /// The middles of all pockets.
    pub pockets: Vec<(f64, f64)>,
    /// Marbles not yet poured in.
    pub in_hand: usize,
    /// Marbles over the side.
    pub lost: usize,
}

/// A marble in an element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dot {
    /// The marble.
    pub marble: usize,
    /// The element.
    pub node: usize,
    /// Where it is drawn.
    pub at: (f64, f64),
}

/// The marbles that wait in one element.
#[derive(Clone, Default)]
struct WaitingMarbles {
    /// In the order they came, the head first.
    marbles: Vec<u32>,
    /// When the last one left that had waited.
    last_left: Option<Nanos>,
}

impl<'a> FilmScene<'a> {
    /// The scene of `shot` on `layout`.
    pub fn new(shot: &'a Shot<'a>, layout: &'a Layout) -> Self {
        let nodes = &shot.circuit.nodes;
        let stage = |n: usize| Stage::new(&nodes[n], layout.boxes[n]);
        FilmScene {
            shot,
            layout,
            stages: (0..nodes.len()).map(stage).collect(),
            travel: longest_travels(shot.circuit, shot.replay),
            stands: standstills(shot.circuit, shot.replay),
        }
    }

    /// Whether the wheel `n` stands still.
    pub fn stands(&self, n: usize, time: Nanos) -> bool {
        let drive = self
            .shot
            .circuit
            .nodes
            .get(n)
            .and_then(|plan| plan.wheel())
            .map(|wheel| wheel.drive);
        self.stands
            .iter()
            .any(|&(d, from, until)| Some(d) == drive && (from..until).contains(&time))
    }

    /// What the clock of `wheel`'s drive shows, which stands while the drive does.
    fn drive_clock(&self, wheel: &CarouselState, time: Nanos) -> Nanos {
        let stood = self.stands.iter().filter(|stand| stand.0 == wheel.drive);
        time - stood
            .map(|&(_, from, until)| time.min(until).saturating_sub(from))
            .sum::<Nanos>()
    }

    /// The frame at `time`.
    pub fn frame(&self, time: Nanos) -> Frame {
        Frame {
            time,
            ..self.moment(time.min(self.shot.replay.result.end))
        }
    }

    fn moment(&self, time: Nanos) -> Frame {
        let queues = self.queues(time);
        let mut frame = Frame {
            time,
            dots: Vec::new(),
            pockets: self.pockets(time),
            in_hand: 0,
            lost: 0,
        };
        for marble in 0..self.shot.circuit.marbles as usize {
            match self.shot.replay.place(marble, time) {
                MarblePlace::In(stay) => {
                    let at = self.position(stay, &queues[stay.node], time);
                    frame.dots.push(Dot {
                        marble,
                        node: stay.node,
                        at,
                    });
                }
                MarblePlace::Hand => frame.in_hand += 1,
                MarblePlace::Lost => frame.lost += 1,
            }
        }
        frame
    }

    fn queues(&self, time: Nanos) -> Vec<WaitingMarbles> {
        let mut waiting: Vec<Vec<(Nanos, Nanos, u32)>> = vec![Vec::new(); self.stages.len()];
        let mut queues = vec![WaitingMarbles::default(); self.stages.len()];
        for marble in 0..self.shot.circuit.marbles as usize {
            if let MarblePlace::In(stay) = self.shot.replay.place(marble, time)
                && let Some(queued) = stay.queued.filter(|&queued| queued <= time)
            {
                waiting[stay.node].push((queued, stay.enter, stay.marble));
            }
            let begun = self.shot.replay.stays_of(marble).rev();
            for stay in begun.skip_while(|stay| stay.enter > time).take(4) {
                let queue = &mut queues[stay.node];
                if stay.queued.is_some() && stay.leave.is_some_and(|left| left <= time) {
                    queue.last_left = queue.last_left.max(stay.leave);
                }
            }
        }
        for (queue, mut all) in queues.iter_mut().zip(waiting) {
            all.sort();
            queue.marbles = all.into_iter().map(|(_, _, marble)| marble).collect();
        }
        queues
    }

    fn position(&self, stay: &Stay, queue: &WaitingMarbles, time: Nanos) -> (f64, f64) {
        let stage = &self.stages[stay.node];
        let here = time - stay.enter;
        let lasts = stay.leave.map_or(Nanos::MAX, |left| left - stay.enter);
        let on_arrow = if stay.queued.is_some() {
            ON_ARROW.min(lasts)
        } else {
            ON_ARROW.min(lasts / 2)
        };
        if here < on_arrow {
            let way = self.way(stay);
            return along(&way, length(&way) * here as f64 / on_arrow as f64);
        }
        if let Some(wheel) = self.shot.circuit.nodes[stay.node].wheel() {
            let since = self.drive_clock(wheel, stay.enter);
            let turned = self.drive_clock(wheel, time).saturating_sub(since);
            return stage.rim(turned as f64 / wheel.clock.turn() as f64);
        }
        if let Some(before) = queue.marbles.iter().position(|&m| m == stay.marble) {
            let moving = queue.last_left.map_or(0.0, |left| {
                1.0 - (time.saturating_sub(left) as f64 / MOVES_UP as f64).min(1.0)
            });
            return stage.waiting(before as f64 + moving, queue.marbles.len() + 1);
        }
        let arrives = stay
            .reach()
            .map_or(self.travel[stay.node], |reached| reached - stay.enter);
        let travel = arrives.saturating_sub(on_arrow).max(1);
        let part = ((here - on_arrow) as f64 / travel as f64).min(1.0);
        stage.travelling(part, queue.marbles.len(), stay.marble)
    }

    /// The way into the element of `stay`, from where the marble left the one before.
    fn way(&self, stay: &Stay) -> Vec<(f64, f64)> {
        let mut wires = self.layout.wires.iter();
        let wire = wires.find(|wire| wire.from == stay.from && wire.to == stay.node);
        let mut points = Vec::new();
        points.extend(self.stages.get(stay.from).map(|stage| stage.exit()));
        points.extend(wire.iter().flat_map(|wire| wire.points.iter().copied()));
        points.push(self.stages[stay.node].entry());
        points
    }

    fn pockets(&self, time: Nanos) -> Vec<(f64, f64)> {
        let mut pockets = Vec::new();
        for (plan, stage) in self.shot.circuit.nodes.iter().zip(&self.stages) {
            let Some(wheel) = plan.wheel() else { continue };
            let turn = wheel.clock.turn() as f64;
            let turned = (self.drive_clock(wheel, time) as f64 - wheel.clock.time(0) as f64) / turn;
            let n = wheel.clock.pockets();
            pockets.extend(
                (0..n).map(|k| stage.rim((turned - f64::from(k) / f64::from(n)).rem_euclid(1.0))),
            );
        }
        pockets
    }
}
