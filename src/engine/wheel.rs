//! Pocket wheels in a run: picking up, letting go at the top, and drives that stop.

use super::event::{Event, Turn};
use super::node::{Node, Request, WayId};
use super::run::Run;
use super::streams::{DrawId, Purpose};
use super::watch::{TraceEvent, Watcher};
use crate::circuit::carousel::CarouselState;
use crate::circuit::draw::{Chance, Nanos};
use crate::circuit::pick_up::Waiting;
use crate::circuit::plan::{Cause, Role};

/// The draw of a pocket that passes a marble.
fn take(number: u64, attempt: u32) -> DrawId {
    DrawId {
        purpose: Purpose::Take,
        number,
        attempt,
    }
}

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    fn wheel(&mut self, n: usize) -> Option<&mut CarouselState> {
        match &mut self.nodes[n].role {
            Role::Carousel(wheel) => Some(wheel),
            _ => None,
        }
    }

    /// What is due first at a wheel, in machine time.
    #[inline]
    pub fn wheel_head(&self, node: &Node) -> Event {
        let Role::Carousel(wheel) = &node.role else {
            return Event::NEVER;
        };
        let drive = &self.drives[wheel.drive];
        if drive.stopped.is_some() {
            return node.entrance;
        }
        let top = node
            .lane
            .head()
            .or(node.carried.front().copied().unwrap_or(Event::NEVER));
        top.delayed(drive.stood).or(node.side)
    }

    /// A gate's head stands at the wheel and waits for a pocket.
    #[inline]
    pub fn request_pocket(&mut self, n: usize, request: Request) {
        self.nodes[n].line_up(request);
        self.await_pocket(n);
    }

    /// Schedules the next pick-up, if a marble waits and the drive turns.
    fn await_pocket(&mut self, n: usize) {
        let node = &mut self.nodes[n];
        let Role::Carousel(wheel) = &mut node.role else {
            return;
        };
        let drive = &self.drives[wheel.drive];
        if node.requests.is_empty()
            || node.gates[0].event != Event::NEVER
            || drive.stopped.is_some()
        {
            return;
        }
        let time = wheel.next_free_pocket(self.now - drive.stood).time + drive.stood;
        self.nodes[n].gates[0].event = self.schedule(time, n, Turn::Gate, 0);
        self.refresh(n);
    }

    /// A pocket passes the pick-up where a marble waits.
    pub fn pick_up(&mut self, n: usize) {
        let now = self.now;
        self.nodes[n].gates[0].event = Event::NEVER;
        let Some(&request) = self.nodes[n].requests.front() else {
            return;
        };
        let Ok([node, feeder]) = self.nodes.get_disjoint_mut([n, request.gate.node]) else {
            return;
        };
        let (
            Node {
                role,
                streams,
                missed,
                statistics,
                ..
            },
            feeder,
        ) = (node, &feeder.gates[request.gate.gate]);
        let Role::Carousel(wheel) = role else {
            return;
        };
        let clock = now - self.drives[wheel.drive].stood;
        let pocket = wheel.next_free_pocket(clock);
        if pocket.time != clock {
            return self.await_pocket(n);
        }
        wheel.pass_pocket();
        let stood = now - clock;
        let (line, emptied) = (&mut wheel.line, wheel.emptied);
        let waiting = || {
            let in_line = u32::try_from(feeder.queue.len()).unwrap_or(u32::MAX);
            Waiting {
                since: request.asked_less(stood),
                in_line,
                left: line.is_met_with(in_line),
                moved_up: request.since == emptied,
            }
        };
        let odds = wheel.pick_up.odds(waiting, clock);
        let mut random = 0;
        let (number, attempt) = (statistics.entries, *missed);
        if !odds.take.happens(u64::MAX) {
            // The marble that waits will be the next to enter.
            let drawn = take(number, attempt);
            *missed += 1;
            random = streams.at(&mut self.generator, drawn);
            self.watcher.drew(n, drawn, random);
        }
        if odds.take.happens(random) {
            wheel.note_carrying(pocket.tick);
            let top = clock + wheel.lift;
            self.load(n, request, top);
        } else if odds.take_or_pinch.happens(random) && wheel.counterfactual != Some(now) {
            wheel.count.pinched += 1;
            wheel.line.one_is_gone();
            self.pinch(n);
        } else {
            wheel.count.missed += 1;
            self.see(TraceEvent::Missed { wheel: n });
            self.await_pocket(n);
        }
        if !odds.spill.never() {
            self.throw_off_by_chance(n, odds.spill, number, attempt);
        }
    }

    fn throw_off_by_chance(&mut self, n: usize, spill: Chance, number: u64, attempt: u32) {
        let drawn = DrawId {
            purpose: Purpose::Spill,
            number,
            attempt,
        };
        if spill.happens(self.random_at(n, drawn)) {
            self.throw_off(n);
        }
    }

    /// The marble that waits next goes over the side of the ramp.
    fn throw_off(&mut self, n: usize) {
        let Some(&request) = self.nodes[n]
            .requests
            .front()
            .filter(|request| request.gate.node < self.circuit.nodes.len())
        else {
            return;
        };
        self.nodes[n].requests.pop_front();
        let Some(marble) = self.grant(request, n) else {
            return;
        };
        self.emptied(n);
        let way = self.plan(request.gate.node).ways[request.way];
        self.spill(request.gate, marble, way);
        self.after_batch(request.gate);
        self.retry(request.gate);
        self.await_pocket(n);
    }

    /// The waiting marble goes into the pocket, and comes to the top at `top` by the drive's clock.
    fn load(&mut self, n: usize, request: Request, top: Nanos) {
        self.nodes[n].requests.pop_front();
        let Some(marble) = self.grant(request, n) else {
            return;
        };
        self.let_out(request.gate);
        self.see(TraceEvent::Moved {
            marble,
            from: request.gate.node,
            to: n,
        });
        self.take_in(n, marble);
        self.emptied(n);
        let due = self.schedule(top, n, Turn::Arrival, marble);
        self.nodes[n].lane.push(due);
        self.after_batch(request.gate);
        self.retry(request.gate);
        self.await_pocket(n);
    }

    /// The marble that waited at `n` is gone: who requests at this instant has moved up behind it.
    fn emptied(&mut self, n: usize) {
        let now = self.now;
        self.nodes[n].missed = 0;
        if let Some(wheel) = self.wheel(n) {
            wheel.emptied = now;
            wheel.line.one_is_gone();
        }
    }

    /// A marble is caught between ramp and wheel: the drive and all its wheels stop.
    fn pinch(&mut self, n: usize) {
        let cleared = self.jam(n, Cause::Pinch);
        let Some(drive) = self.wheel(n).map(|wheel| wheel.drive) else {
            return;
        };
        self.drives[drive].stopped = Some(self.now);
        for other in 0..self.circuit.nodes.len() {
            if self.circuit.nodes[other]
                .wheel()
                .is_some_and(|wheel| wheel.drive == drive)
            {
                self.nodes[other].gates[0].event = Event::NEVER;
                self.refresh(other);
            }
        }
        if let Some(after) = cleared {
            self.nodes[n].entrance = self.schedule(self.now + after, n, Turn::Entrance, 0);
            self.refresh(n);
        }
    }

    pub fn start_drive(&mut self, n: usize) {
        let Some(drive) = self.wheel(n).map(|wheel| wheel.drive) else {
            return;
        };
        let state = &mut self.drives[drive];
        state.stood += self.now - state.stopped.take().unwrap_or(self.now);
        for other in 0..self.circuit.nodes.len() {
            if self.circuit.nodes[other]
                .wheel()
                .is_some_and(|wheel| wheel.drive == drive)
            {
                self.await_pocket(other);
                self.refresh(other);
            }
        }
    }

    /// A marble comes to the top: out onto the slide, over its side, or round again.
    pub fn top(&mut self, n: usize) {
        let circuit = self.circuit;
        let node = &mut self.nodes[n];
        let from_lane = node
            .carried
            .front()
            .is_none_or(|carried| node.lane.head() < *carried);
        let Some(event) = (if from_lane {
            node.lane.pop()
        } else {
            node.carried.pop_front()
        }) else {
            return;
        };
        let marble = event.marble();
        let Role::Carousel(wheel) = &node.role else {
            return;
        };
        let release = wheel.release;
        let in_time = release.happens(u64::MAX) || release.happens(self.random_at_top(n, marble));
        let way = circuit.nodes[n].ways[0];
        if in_time && self.admits(way.to) {
            self.put_down(n, marble, !from_lane);
            self.see(TraceEvent::Moved {
                marble,
                from: n,
                to: way.to,
            });
            self.enter(way, marble);
        } else if in_time && circuit.nodes[way.to].spills {
            self.put_down(n, marble, !from_lane);
            self.lose(n, marble, way);
        } else {
            self.carry_over(n, event);
        }
    }

    /// The number that decides whether a marble at the top of `n` gets out in time.
    fn random_at_top(&mut self, n: usize, marble: u32) -> u64 {
        let (number, attempt) = (
            self.numbers[marble as usize],
            self.carried_over[marble as usize],
        );
        self.random_at(
            n,
            DrawId {
                purpose: Purpose::Release,
                number,
                attempt,
            },
        )
    }

    /// Books a marble out of the wheel, which may have `carried` it over.
    fn put_down(&mut self, n: usize, marble: u32, carried: bool) {
        if carried {
            self.carried_over[marble as usize] = 0;
        }
        let node = &mut self.nodes[n];
        let was_full = node.held == self.circuit.nodes[n].room;
        node.held -= 1;
        node.statistics.leave(self.now, was_full);
    }

    fn carry_over(&mut self, n: usize, event: Event) {
        let due = event.time();
        let marble = event.marble();
        let Some(wheel) = self.wheel(n) else { return };
        wheel.carry_over(due);
        let next = due + wheel.clock.turn();
        self.carried_over[marble as usize] += 1;
        let next = self.schedule(next, n, Turn::Arrival, marble);
        self.nodes[n].carried.push_back(next);
        self.see(TraceEvent::CarriedOver { marble, wheel: n });
        let to = self.circuit.nodes[n].ways[0].to;
        if !self.admits(to) && !self.circuit.nodes[to].spills {
            self.check_stuck(WayId::first(n));
        }
    }
}
