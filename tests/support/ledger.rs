//! A second account of a run, kept from what a watcher saw and from nothing else.

use marblewright::circuit::Circuit;
use marblewright::circuit::draw::Nanos;
use marblewright::engine::RunResult;
use marblewright::engine::watch::{TraceEvent, TraceRecord, Watcher};
use marblewright::findings::trace::Trace;

/// The account of one element; the maker's hand has one too, after the last element.
#[derive(Clone, Debug, Default)]
pub struct Account {
    pub entries: u64,
    pub exits: u64,
    pub held: u64,
    pub held_time: u128,
    pub full_time: Nanos,
    pub spills: u64,
    pub refused: u64,
    pub waiting: u32,
    pub waited_time: u128,
    held_since: Nanos,
    waiting_since: Nanos,
}

/// Keeps an [`Account`] of every element, and knows where every marble is.
#[derive(Debug)]
pub struct Ledger<'c> {
    circuit: &'c Circuit,
    pub accounts: Vec<Account>,
    /// Where each marble is; `None` once it is lost.
    place: Vec<Option<usize>>,
    /// Marbles that were refused and have not moved since.
    pub refused: Vec<bool>,
    /// Marble-nanoseconds since marbles were lost, as a sum of the instants.
    spilled_at: Vec<Nanos>,
    pub trace: Trace,
    pub scheduled: u64,
    /// For each event after the pouring in, 0, the event that caused it.
    pub causes: Vec<u64>,
    now: Nanos,
    most_events: u64,
}

impl<'c> Ledger<'c> {
    /// For one run of `circuit`, which may take `most_events` events.
    pub fn new(circuit: &'c Circuit, most_events: u64) -> Self {
        let hand = circuit.nodes.len();
        let mut accounts = vec![Account::default(); hand + 1];
        accounts[hand].held = u64::from(circuit.marbles);
        Ledger {
            circuit,
            accounts,
            place: vec![Some(hand); circuit.marbles as usize],
            refused: vec![false; circuit.marbles as usize],
            spilled_at: Vec::new(),
            trace: Trace::default(),
            scheduled: 0,
            causes: Vec::new(),
            now: 0,
            most_events,
        }
    }

    fn change(&mut self, n: usize, by: i64) {
        let room = self.circuit.nodes.get(n).map_or(u32::MAX, |plan| plan.room);
        let account = &mut self.accounts[n];
        let lasted = self.now - account.held_since;
        account.held_time += u128::from(lasted) * u128::from(account.held);
        if account.held == u64::from(room) {
            account.full_time += lasted;
        }
        account.held_since = self.now;
        account.held = account
            .held
            .checked_add_signed(by)
            .expect("no marble leaves an empty element");
        assert!(
            account.held <= u64::from(room),
            "element {n} is over its room"
        );
    }

    fn take(&mut self, marble: u32, from: usize) {
        let place = self.place[marble as usize].replace(usize::MAX);
        assert_eq!(
            place,
            Some(from),
            "marble {marble} leaves an element it is not in"
        );
        self.refused[marble as usize] = false;
        self.change(from, -1);
        self.accounts[from].exits += 1;
    }

    /// Closes the account at the end of the run and holds `result` to it.
    pub fn check(&mut self, result: &RunResult) {
        assert!(result.end >= self.now, "nothing happens after the end");
        self.now = result.end;
        for n in 0..self.accounts.len() {
            self.change(n, 0);
            let waiting = self.accounts[n].waiting;
            self.waiting(result.end, n, waiting);
        }
        for (n, (kept, text)) in self.accounts.iter().zip(&result.elements).enumerate() {
            let name = &self.circuit.nodes[n].name;
            assert_eq!(
                (kept.entries, kept.exits),
                (text.entries, text.exits),
                "`{name}`: entries and exits"
            );
            assert_eq!(
                kept.entries - kept.exits,
                kept.held,
                "`{name}`: what came in and not out is inside"
            );
            assert_eq!(
                kept.held_time, text.held_time,
                "`{name}`: marble-time inside"
            );
            assert_eq!(kept.full_time, text.full_time, "`{name}`: time full");
            assert_eq!(
                kept.waited_time,
                text.waited_time(),
                "`{name}`: marble-time waiting"
            );
            assert_eq!(
                text.waited.iter().sum::<Nanos>(),
                result.end,
                "`{name}`: all time is accounted for"
            );
            assert!(
                text.waited_time() <= text.held_time,
                "`{name}`: whoever waits is inside"
            );
            assert_eq!(
                (kept.spills, kept.refused),
                (text.spills, text.refused),
                "`{name}`: spills, refusals"
            );
        }
        self.check_marble_time(result);
    }

    /// Little's law to the last nanosecond: time inside the elements, in the hand and lost is the time of all marbles.
    fn check_marble_time(&self, result: &RunResult) {
        let hand = self.accounts.last().expect("the hand");
        assert_eq!(
            hand.held,
            u64::from(result.left_in_hand),
            "marbles left in the hand"
        );
        let inside: u128 = result
            .elements
            .iter()
            .map(|element| element.held_time)
            .sum();
        let lost: u128 = self
            .spilled_at
            .iter()
            .map(|&at| u128::from(result.end - at))
            .sum();
        let all = u128::from(self.circuit.marbles) * u128::from(result.end);
        assert_eq!(
            inside + hand.held_time + lost,
            all,
            "the marbles' time, all together"
        );
    }
}

impl Watcher for Ledger<'_> {
    fn see(&mut self, seen: TraceRecord) {
        assert!(seen.time >= self.now, "time never goes back");
        assert!(
            seen.event <= self.scheduled,
            "what happens belongs to an event that was scheduled"
        );
        self.now = seen.time;
        self.trace.see(seen);
        assert!(
            (self.trace.seen.len() as u64) < 8 * self.most_events,
            "one event goes on without end"
        );
        match seen.what {
            TraceEvent::Moved { marble, from, to } => {
                self.take(marble, from);
                self.place[marble as usize] = Some(to);
                self.change(to, 1);
                self.accounts[to].entries += 1;
            }
            TraceEvent::Spilled { marble, from, at } => {
                self.take(marble, from);
                self.place[marble as usize] = None;
                self.accounts[at].spills += 1;
                self.spilled_at.push(seen.time);
            }
            TraceEvent::Refused { marble, from, by } => {
                assert_eq!(
                    self.place[marble as usize],
                    Some(from),
                    "who is refused waits where it is"
                );
                self.refused[marble as usize] = true;
                // A hand that waits while it pours is not held back by the machine.
                self.accounts[by].refused += u64::from(from < self.circuit.nodes.len());
            }
            _ => {}
        }
    }

    fn scheduled(&mut self, event: u64, cause: u64) {
        assert_eq!(event, self.scheduled + 1, "events are numbered one by one");
        assert!(
            cause < event,
            "event {event} was caused by {cause}, which came no earlier"
        );
        assert!(event <= self.most_events, "the run goes on without end");
        self.scheduled = event;
        self.causes.push(cause);
        self.trace.scheduled(event, cause);
    }

    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32) {
        let account = &mut self.accounts[node];
        account.waited_time +=
            u128::from(time - account.waiting_since) * u128::from(account.waiting);
        account.waiting_since = time;
        account.waiting = waiting;
    }
}
