//! Marbles on their way through an element, in the order they will arrive.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

use super::event::Event;

/// The arrivals ahead at one element.
#[derive(Clone, Debug)]
pub enum Lane {
    /// No overtaking: arrivals are in the order of entry.
    File(VecDeque<Event>),
    /// Overtaking allowed.
    Crowd(BinaryHeap<Reverse<Event>>),
}

impl Lane {
    /// An empty lane.
    pub fn new(overtaking: bool) -> Self {
        if overtaking {
            Lane::Crowd(BinaryHeap::new())
        } else {
            Lane::File(VecDeque::new())
        }
    }

    /// The next arrival.
    #[inline]
    pub fn head(&self) -> Event {
        match self {
            Lane::File(file) => file.front().copied().unwrap_or(Event::NEVER),
            Lane::Crowd(crowd) => crowd.peek().map_or(Event::NEVER, |head| head.0),
        }
    }

    /// Adds an arrival, in single file never before the last one; `true` when it is the next of all.
    #[inline(always)]
    pub fn push(&mut self, arrival: Event) -> bool {
        match self {
            Lane::File(file) => {
                debug_assert!(
                    file.back().is_none_or(|last| *last < arrival),
                    "no overtaking in single file"
                );
                file.push_back(arrival);
                file.len() == 1
            }
            Lane::Crowd(crowd) => {
                crowd.push(Reverse(arrival));
                crowd.peek().is_some_and(|head| head.0 == arrival)
            }
        }
    }

    /// Takes the next arrival off.
    #[inline]
    pub fn pop(&mut self) -> Option<Event> {
        match self {
            Lane::File(file) => file.pop_front(),
            Lane::Crowd(crowd) => crowd.pop().map(|head| head.0),
        }
    }

    /// Number of marbles on their way.
    pub fn len(&self) -> usize {
        match self {
            Lane::File(file) => file.len(),
            Lane::Crowd(crowd) => crowd.len(),
        }
    }

    /// Whether no marble is on its way.
    #[inline]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The marbles on their way, in no particular order.
    pub fn marbles(&self) -> Vec<u32> {
        match self {
            Lane::File(file) => file.iter().map(|e| e.marble()).collect(),
            Lane::Crowd(crowd) => crowd.iter().map(|e| e.0.marble()).collect(),
        }
    }
}
