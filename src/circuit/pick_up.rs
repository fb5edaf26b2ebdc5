//! What a passing pocket does with the marble it meets: always by the same odds, or by who stands there and how they came.

use std::sync::Arc;

use super::draw::{Chance, Nanos, seconds};
use crate::contact::pick_up_chances::{
    COMPANIES, Encounter, MEETINGS, PassClass, PassShares, PickUpCounts, company,
};

/// Odds of one pocket that meets a marble.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Odds {
    /// It takes it.
    pub take: Chance,
    /// It takes it, or pinches it.
    pub take_or_pinch: Chance,
    /// A marble goes over the side meanwhile.
    pub spill: Chance,
}

impl Odds {
    fn are_certain(&self) -> bool {
        self.take.is_certain() && self.take_or_pinch.is_certain() && self.spill.is_certain()
    }

    fn new(shares: PassShares) -> Self {
        Odds {
            take: Chance::new(shares.take),
            take_or_pinch: Chance::new(shares.take + shares.stall),
            spill: Chance::new(shares.lost),
        }
    }

    /// Of those that were taken a share is missed instead.
    fn with_misses(self, share: f64) -> Self {
        let missed = self.take.share() * share;
        Odds {
            take: Chance::new(self.take.share() - missed),
            take_or_pinch: Chance::new(self.take_or_pinch.share() - missed),
            ..self
        }
    }

    /// Of those that were taken a share is pinched instead.
    fn with_pinches(self, share: f64) -> Self {
        Odds {
            take: Chance::new(self.take.share() * (1.0 - share)),
            ..self
        }
    }

    /// As often pinched as before, and taken otherwise.
    fn without_misses(self) -> Self {
        let pinched = self.take_or_pinch.share() - self.take.share();
        Odds {
            take: Chance::new(1.0 - pinched),
            take_or_pinch: Chance::new(1.0),
            ..self
        }
    }
}

/// How the marble that waits came to the wheel, and with whom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Waiting {
    /// Since when it waits, by the drive's clock; `None`: from the beginning.
    pub since: Option<Nanos>,
    /// Marbles in its line, itself among them.
    pub in_line: u32,
    /// Whether it moved up behind one that was just taken.
    pub moved_up: bool,
    /// How it was met where the pocket before had left somebody.
    pub left: Option<Encounter>,
}

/// The odds at a wheel.
#[derive(Clone, Debug)]
pub enum PickUpOdds {
    /// The same for all.
    Alike(Odds),
    /// As a close look at the wheel's place saw it.
    Looked(Arc<Looked>),
}

/// Odds by company and meeting, as a close look saw them.
#[derive(Clone, Debug)]
pub struct Looked {
    odds: [[Odds; MEETINGS]; COMPANIES],
    /// What was seen.
    pub counts: PickUpCounts,
    /// How long a pocket's mouth takes to pass the lowest point.
    pub open: Nanos,
}

impl PickUpOdds {
    /// Measured: so often taken and pinched.
    pub fn alike(take: f64, pinch: f64) -> Self {
        PickUpOdds::Alike(Odds::new(PassShares {
            take,
            stall: pinch,
            lost: 0.0,
        }))
    }

    /// Looked at closely.
    pub fn looked(counts: PickUpCounts, open: Nanos) -> Self {
        let odds = |company: usize| {
            std::array::from_fn(|meeting| Odds::new(counts.of(PassClass { company, meeting })))
        };
        PickUpOdds::Looked(Arc::new(Looked {
            odds: std::array::from_fn(odds),
            counts,
            open,
        }))
    }

    /// The odds of a pocket whose mouth has just passed, by the drive's clock.
    #[inline]
    pub fn odds(&self, waiting: impl FnOnce() -> Waiting, now: Nanos) -> Odds {
        match self {
            PickUpOdds::Alike(odds) => *odds,
            PickUpOdds::Looked(looked) => looked.odds(waiting(), now),
        }
    }

    /// Whether chance decides nothing.
    pub fn is_certain(&self) -> bool {
        match self {
            PickUpOdds::Alike(odds) => odds.are_certain(),
            PickUpOdds::Looked(looked) => looked.odds.iter().flatten().all(Odds::are_certain),
        }
    }

    /// Shares of all pockets that meet a marble: pinched, missed. Of a look, of those that it followed.
    pub fn pinched_and_missed(&self) -> (f64, f64) {
        match self {
            PickUpOdds::Alike(odds) => {
                let (take, either) = (odds.take.share(), odds.take_or_pinch.share());
                (either - take, 1.0 - either)
            }
            PickUpOdds::Looked(looked) => {
                let shares = looked.counts.all().shares();
                (shares.stall, 1.0 - shares.take - shares.stall)
            }
        }
    }

    /// As often pinched as before, and taken otherwise.
    pub fn without_misses(&self) -> Self {
        self.changed(Odds::without_misses)
    }

    /// Of the marbles that pockets took, such a share is missed instead.
    pub fn with_misses(&self, share: f64) -> Self {
        self.changed(|odds| odds.with_misses(share))
    }

    /// Of the marbles that pockets took, such a share is pinched instead.
    pub fn with_pinches(&self, share: f64) -> Self {
        self.changed(|odds| odds.with_pinches(share))
    }

    fn changed(&self, change: impl Fn(Odds) -> Odds) -> Self {
        match self {
            PickUpOdds::Alike(odds) => PickUpOdds::Alike(change(*odds)),
            PickUpOdds::Looked(looked) => PickUpOdds::Looked(Arc::new(Looked {
                odds: looked.odds.map(|meetings| meetings.map(&change)),
                ..Looked::clone(looked)
            })),
        }
    }
}

impl Looked {
    fn odds(&self, waiting: Waiting, now: Nanos) -> Odds {
        let meeting = match (waiting.left, waiting.since) {
            (Some(meeting), _) => meeting,
            (None, _) if waiting.moved_up => Encounter::MovedUp,
            (None, None) => Encounter::RolledIn(f64::INFINITY),
            (None, Some(since)) => {
                Encounter::RolledIn(seconds(now) - seconds(self.open) - seconds(since))
            }
        };
        self.odds[company(waiting.in_line)][meeting.class()]
    }
}
