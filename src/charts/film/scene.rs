//! Where everything that moves is at one instant.

use super::Shot;
use super::stage::{Stage, along, length};
use crate::charts::layout::Layout;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;
use crate::circuit::pocket_wheel::PocketWheelState;
use crate::findings::visits::{MarblePlace, Visit};

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
    marbles: Vec<usize>,
    /// When the last one left that had waited.
    last_left: Option<Nanos>,
}

impl<'a> FilmScene<'a> {
    /// The scene of `shot` on `layout`.
    pub fn new(shot: &'a Shot<'a>, layout: &'a Layout) -> Self {
        let nodes = &shot.circuit.nodes;
        let stage = |n: usize| Stage::new(&nodes[n], layout.boxes[n], layout.rising[n]);
        let mut travel = vec![0; nodes.len() + 1];
        for visit in shot.visits.marbles.iter().flatten() {
            if let Some(arrived) = visit.queued.or(visit.left) {
                travel[visit.node] = travel[visit.node].max(arrived - visit.entered);
            }
        }
        let pinches = shot
            .visits
            .blockages
            .iter()
            .filter(|blockage| blockage.cause == Cause::Pinch);
        let stand = |blockage: &crate::findings::visits::BlockageStart| {
            let wheel = nodes.get(blockage.node)?.wheel()?;
            let until = shot
                .circuit
                .tending
                .map_or(Nanos::MAX, |after| blockage.time.saturating_add(after));
            Some((wheel.drive, blockage.time, until))
        };
        FilmScene {
            shot,
            layout,
            stages: (0..nodes.len()).map(stage).collect(),
            travel,
            stands: pinches.filter_map(stand).collect(),
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
    fn drive_clock(&self, wheel: &PocketWheelState, time: Nanos) -> Nanos {
        let stood = self.stands.iter().filter(|stand| stand.0 == wheel.drive);
        time - stood
            .map(|&(_, from, until)| time.min(until).saturating_sub(from))
            .sum::<Nanos>()
    }

    /// The frame at `time`.
    pub fn frame(&self, time: Nanos) -> Frame {
        Frame {
            time,
            ..self.moment(time.min(self.shot.ended))
        }
    }

    fn moment(&self, time: Nanos) -> Frame {
        let hand = self.stages.len();
        let queues = self.queues(time);
        let mut frame = Frame {
            time,
            dots: Vec::new(),
            pockets: self.pockets(time),
            in_hand: 0,
            lost: 0,
        };
        for marble in 0..self.shot.visits.marbles.len() {
            match self.shot.visits.place(marble, time) {
                Some(MarblePlace::In(visit)) if visit.node < hand => {
                    let at = self.position(marble, visit, &queues[visit.node], time);
                    frame.dots.push(Dot {
                        marble,
                        node: visit.node,
                        at,
                    });
                }
                Some(MarblePlace::In(_)) => frame.in_hand += 1,
                Some(MarblePlace::Lost) => frame.lost += 1,
                None => {}
            }
        }
        frame
    }

    fn queues(&self, time: Nanos) -> Vec<WaitingMarbles> {
        let mut waiting: Vec<Vec<(Nanos, Nanos, usize)>> = vec![Vec::new(); self.stages.len() + 1];
        let mut last_left: Vec<Option<Nanos>> = vec![None; self.stages.len() + 1];
        for (marble, stays) in self.shot.visits.marbles.iter().enumerate() {
            if let Some(MarblePlace::In(visit)) = self.shot.visits.place(marble, time)
                && let Some(queued) = visit.queued.filter(|&queued| queued <= time)
            {
                waiting[visit.node].push((queued, visit.entered, marble));
            }
            let recent = |visit: &&Visit| {
                visit.queued.is_some() && visit.left.is_some_and(|left| left <= time)
            };
            let end = stays.partition_point(|visit| visit.entered <= time);
            for visit in stays[..end].iter().rev().take(4).filter(recent) {
                last_left[visit.node] = last_left[visit.node].max(visit.left);
            }
        }
        let queue = |(mut all, last_left): (Vec<(Nanos, Nanos, usize)>, Option<Nanos>)| {
            all.sort();
            WaitingMarbles {
                marbles: all.into_iter().map(|(_, _, marble)| marble).collect(),
                last_left,
            }
        };
        waiting.into_iter().zip(last_left).map(queue).collect()
    }

    fn position(
        &self,
        marble: usize,
        visit: &Visit,
        queue: &WaitingMarbles,
        time: Nanos,
    ) -> (f64, f64) {
        let stage = &self.stages[visit.node];
        let here = time - visit.entered;
        let stay = visit.left.map_or(Nanos::MAX, |left| left - visit.entered);
        let on_arrow = if visit.queued.is_some() {
            ON_ARROW.min(stay)
        } else {
            ON_ARROW.min(stay / 2)
        };
        if here < on_arrow {
            let way = self.way(visit);
            return along(&way, length(&way) * here as f64 / on_arrow as f64);
        }
        if let Some(wheel) = self.shot.circuit.nodes[visit.node].wheel() {
            let turned = self
                .drive_clock(wheel, time)
                .saturating_sub(self.drive_clock(wheel, visit.entered));
            return stage.rim(turned as f64 / wheel.clock.turn() as f64);
        }
        if let Some(before) = queue.marbles.iter().position(|&m| m == marble) {
            let moving = queue.last_left.map_or(0.0, |left| {
                1.0 - (time.saturating_sub(left) as f64 / MOVES_UP as f64).min(1.0)
            });
            return stage.waiting(before as f64 + moving, queue.marbles.len() + 1);
        }
        let arrives = visit
            .queued
            .or(visit.left)
            .map_or(self.travel[visit.node], |arrived| arrived - visit.entered);
        let travel = arrives.saturating_sub(on_arrow).max(1);
        let part = ((here - on_arrow) as f64 / travel as f64).min(1.0);
        stage.travelling(part, queue.marbles.len(), marble)
    }

    /// The way into the element of `visit`, from where the marble left the one before.
    fn way(&self, visit: &Visit) -> Vec<(f64, f64)> {
        let wire = self
            .layout
            .wires
            .iter()
            .find(|wire| wire.from == visit.from && wire.to == visit.node);
        let exit = self.stages.get(visit.from).map(|stage| stage.exit());
        let points = wire.map_or(&[][..], |wire| wire.points.as_slice());
        exit.into_iter()
            .chain(points.iter().copied())
            .chain([self.stages[visit.node].entry()])
            .collect()
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
