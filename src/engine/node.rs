//! One element while a run goes on: who travels, who waits, what is due.

use std::collections::VecDeque;

use super::event::Event;
use super::lane::Lane;
use super::statistics::NodeStatistics;
use super::streams::Streams;
use crate::circuit::draw::{Draw, Nanos};
use crate::circuit::plan::{Plan, Role, Way};

/// The changing part of an element; the unchanging one is its [`Plan`].
#[derive(Clone, Debug)]
pub struct Node {
    /// What of its plan every move needs, kept beside what it changes.
    pub fixed: Fixed,
    /// Its travel times, see [`Plan::travel`].
    pub travel: Box<[Draw]>,
    /// The earliest of its gates' events and its entrance's.
    pub side: Event,
    /// Marbles on their way through. For a wheel, in its drive's time.
    pub lane: Lane,
    /// Marbles carried over the top of a wheel, in its drive's time, by when they come to the top again.
    pub carried: VecDeque<Event>,
    /// Its gates.
    pub gates: Box<[Gate]>,
    /// Marbles inside: travelling and waiting.
    pub held: u32,
    /// When the entrance is open again after a marble left while the element was full.
    pub opens: Nanos,
    /// When waiting feeders are served next (for a wheel: when its drive starts again).
    pub entrance: Event,
    /// Gates that wait for a place here, in the order in which they are served.
    pub requests: VecDeque<Request>,
    /// Whether the maker's hand waits for a place here, after all who request.
    pub source_waits: bool,
    /// Whether it is part of a lock.
    pub lock: LockState,
    /// The last arrival at the exit, which none behind may precede.
    pub last_arrival: Nanos,
    /// Its random streams.
    pub streams: Streams,
    /// Pockets of a wheel that have missed the marble at its pick-up.
    pub missed: u32,
    /// Its role's own state.
    pub role: Role,
    /// Its account.
    pub statistics: NodeStatistics,
}

/// The part of a [`Plan`] that every move needs.
#[derive(Clone, Copy, Debug)]
pub struct Fixed {
    /// Room, see [`Plan::room`].
    pub room: u32,
    /// How many places count as taken while the entrance is shut: of a file the one on its way there, of a batch all.
    pub shut: u32,
    /// Whether marbles fall over its side.
    pub spills: bool,
    /// Whether it is a pocket wheel.
    pub is_wheel: bool,
    /// Whether only one way leads out of it, whatever its kind.
    pub one_way: bool,
    /// Whether it has a gate for each way.
    pub gate_a_way: bool,
    /// Whether marbles travel through it and come to its one gate, where nothing wedges.
    pub plain: bool,
    /// Whether a marble that comes alone to its gate has nothing to choose and nothing to fear, and leaves no place to the hand.
    pub straight: bool,
    /// Whether a marble that comes in has nothing to do but to set off.
    pub open_road: bool,
    /// Whether it draws for a marble after that has set off, by its number.
    pub numbers: bool,
    /// Whether marbles that come in trip gates elsewhere.
    pub trips: bool,
    /// Whether marbles overtake each other in it.
    pub overtaking: bool,
    /// Its first way, meaningless at a dead end.
    pub first_way: Way,
    /// From one marble leaving a gate until the next may follow.
    pub advance: Nanos,
    /// From a marble leaving while it was full until the entrance is free.
    pub entrance_delay: Nanos,
}

impl Fixed {
    fn new(plan: &Plan, lap_line: bool, source_waits: bool) -> Self {
        let gathers = matches!(plan.role, Role::Server(_) | Role::Batch(_) | Role::Trip(_));
        let through = !plan.stalls && !gathers && !matches!(plan.role, Role::RandomGate(_));
        let safe_alone = plan
            .blockage
            .as_ref()
            .is_none_or(|blockage| blockage.chance[0].never() && !blockage.by_crowd);
        let draws_later = match &plan.role {
            Role::RandomGate(_) | Role::RandomWay(_) | Role::Server(_) => true,
            Role::Carousel(wheel) => !wheel.release.happens(u64::MAX),
            _ => false,
        };
        Fixed {
            room: plan.room,
            shut: if matches!(plan.role, Role::Batch(_)) {
                plan.room
            } else {
                1
            },
            spills: plan.spills,
            is_wheel: plan.wheel().is_some(),
            one_way: plan.ways.len() == 1,
            gate_a_way: matches!(plan.role, Role::RandomGate(_)),
            plain: plan.blockage.is_none() && through,
            straight: through && safe_alone && plan.ways.len() == 1 && !source_waits,
            open_road: !plan.stalls
                && !gathers
                && !plan.by_crowd
                && plan.trips.is_empty()
                && plan.wheel().is_none()
                && !lap_line,
            numbers: plan.blockage.is_some() || plan.by_crowd || draws_later,
            trips: !plan.trips.is_empty(),
            overtaking: plan.overtaking,
            first_way: plan
                .ways
                .first()
                .copied()
                .unwrap_or(Way { to: 0, entry: 0 }),
            advance: plan.advance,
            entrance_delay: plan.entrance_delay,
        }
    }
}

/// A way through which marbles leave one at a time, and the marbles waiting at it.
#[derive(Clone, Debug)]
pub struct Gate {
    /// Marbles waiting, the head first.
    pub queue: VecDeque<u32>,
    /// What the gate is doing.
    pub state: GateState,
    /// When the next marble may leave.
    pub opens: Nanos,
    /// What is due at it.
    pub event: Event,
}

/// What a gate is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GateState {
    /// Nothing waits.
    Free,
    /// The head is offered when the gate's event is due.
    Due,
    /// The head was refused and waits for a place: on this way, or on any where the first with room is taken.
    Requesting(usize),
    /// Marbles are wedged until the gate's event is due.
    Blocked,
}

/// What is known of an element that locks up while others go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LockState {
    /// Nothing.
    None,
    /// A marble in it can never move again.
    Part,
    /// It can never take a marble again.
    Closed,
}

/// One of the gates of an element; the order is that of the file, then that of the ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct GateId {
    /// The element.
    pub node: usize,
    /// Index of its gate.
    pub gate: usize,
}

/// One of the ways out of an element.
#[derive(Clone, Copy, Debug)]
pub struct WayId {
    /// The element.
    pub node: usize,
    /// Index of its way.
    pub way: usize,
}

/// A request for a place; the order is that in which they are served: who asked first, then the element that comes first
/// in the file, then its first gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Request {
    /// When it asked; [`Nanos::MAX`] for the maker's hand.
    pub since: Nanos,
    /// The gate whose head waits.
    pub gate: GateId,
    /// The way it wants to take.
    pub way: usize,
}

impl Request {
    /// When it asked, less so long; `None`: from the beginning.
    #[inline]
    pub fn asked_less(&self, stood: Nanos) -> Option<Nanos> {
        self.since
            .checked_sub(stood)
            .filter(|_| self.since != Nanos::MAX)
    }
}

impl GateId {
    /// The first gate of an element, the only one unless each way has its own.
    #[inline]
    pub fn first(node: usize) -> Self {
        GateId { node, gate: 0 }
    }

    /// A way out of the gate's element.
    #[inline]
    pub fn way(self, way: usize) -> WayId {
        WayId {
            node: self.node,
            way,
        }
    }
}

impl WayId {
    /// The first way out of an element.
    #[inline]
    pub fn first(node: usize) -> Self {
        WayId { node, way: 0 }
    }
}

impl Node {
    /// The element of `plan` before anything happened; `lap_line` if laps begin where marbles enter it, `source_waits` if the
    /// maker's hand may have to wait for a place in it.
    pub fn new(plan: &Plan, lap_line: bool, source_waits: bool) -> Self {
        Node {
            streams: Streams::new(&plan.name),
            missed: 0,
            fixed: Fixed::new(plan, lap_line, source_waits),
            travel: plan.travel.clone().into(),
            side: Event::NEVER,
            lane: Lane::new(plan.overtaking),
            carried: VecDeque::new(),
            gates: (0..plan.gates()).map(|_| Gate::new()).collect(),
            held: 0,
            opens: 0,
            entrance: Event::NEVER,
            requests: VecDeque::new(),
            source_waits: false,
            lock: LockState::None,
            last_arrival: 0,
            role: plan.role.clone(),
            statistics: NodeStatistics::default(),
        }
    }

    /// Whether a marble could come in now without passing over somebody who waits; wheels take marbles by themselves.
    #[inline]
    pub fn takes(&self, now: Nanos) -> bool {
        self.is_open(now) && self.requests.is_empty() && !self.fixed.is_wheel
    }

    /// Whether a place is free and has come to the entrance.
    #[inline]
    pub fn is_open(&self, now: Nanos) -> bool {
        self.held < self.fixed.room && (self.opens <= now || self.has_spare())
    }

    /// Whether it has a free place beside those that count as taken while the entrance is shut.
    #[cold]
    fn has_spare(&self) -> bool {
        self.held + self.fixed.shut < self.fixed.room
    }

    /// When whoever waits outside is let in: now, or when the next place has come to the entrance.
    pub fn opens_at(&self, now: Nanos) -> Nanos {
        if self.is_open(now) {
            now
        } else {
            self.opens.max(now)
        }
    }

    /// Books a marble in.
    #[inline]
    pub fn take_in(&mut self, now: Nanos) {
        self.held += 1;
        debug_assert!(self.held <= self.fixed.room, "no element over its room");
        self.statistics.enter(now, self.held == self.fixed.room);
    }

    /// Books a marble out of gate `g`; `true` when somebody waits for its place.
    #[inline(always)]
    pub fn let_out(&mut self, g: usize, now: Nanos) -> bool {
        self.gates[g].opens = now + self.fixed.advance;
        self.put_out(now)
    }

    /// Books a marble out; `true` when somebody waits for its place.
    #[inline(always)]
    pub fn put_out(&mut self, now: Nanos) -> bool {
        let was_full = self.held == self.fixed.room;
        self.held -= 1;
        self.statistics.leave(now, was_full);
        if was_full || self.opens == now {
            self.shut_entrance(now, was_full);
        }
        self.is_awaited()
    }

    /// A marble has left while the element was full, or at the very instant at which its entrance opens.
    ///
    /// At such an instant it does not matter whether somebody has already taken the place that has come to the entrance: a
    /// full file opens one place an advance.
    fn shut_entrance(&mut self, now: Nanos, was_full: bool) {
        if was_full || (now > 0 && self.held + 2 == self.fixed.room) {
            self.opens = self.opens.max(now + self.fixed.entrance_delay);
        }
    }

    /// Whether anybody waits for a place.
    #[inline]
    pub fn is_awaited(&self) -> bool {
        !self.requests.is_empty() || self.source_waits
    }

    /// Puts `request` in its place among those who wait.
    #[inline]
    pub fn line_up(&mut self, request: Request) {
        if self
            .requests
            .back()
            .is_none_or(|last| last.since < request.since)
        {
            return self.requests.push_back(request);
        }
        let at = self
            .requests
            .iter()
            .rposition(|other| *other < request)
            .map_or(0, |before| before + 1);
        self.requests.insert(at, request);
    }

    /// When a marble arrives that would, by itself, at `time`: in single file not before the one ahead.
    #[inline]
    pub fn arrival(&mut self, time: Nanos) -> Nanos {
        if self.fixed.overtaking {
            return time;
        }
        self.last_arrival = self.last_arrival.max(time);
        self.last_arrival
    }

    /// Notes that an event of a gate or of the entrance has changed.
    #[inline]
    pub fn note_side(&mut self) {
        self.side = self
            .gates
            .iter()
            .fold(self.entrance, |first, gate| first.or(gate.event));
    }

    /// Whether it has a free place, at once or after a time of its own; while a batch leaves there is none.
    pub fn has_room(&self) -> bool {
        self.held < self.fixed.room && self.opens != Nanos::MAX
    }

    /// What is due first, for an element that is not a wheel.
    #[inline]
    pub fn head(&self) -> Event {
        self.lane.head().or(self.side)
    }
}

impl Gate {
    /// Whether a marble that comes now may go straight on.
    #[inline]
    pub fn is_open(&self, now: Nanos) -> bool {
        self.state == GateState::Free && self.opens <= now
    }

    /// A gate at which nothing waits.
    pub fn new() -> Self {
        Gate {
            queue: VecDeque::new(),
            state: GateState::Free,
            opens: 0,
            event: Event::NEVER,
        }
    }
}
