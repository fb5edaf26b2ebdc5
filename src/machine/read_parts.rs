//! What several kinds of element have, from the file's keys.

use std::ops::RangeInclusive;

use super::fields::Fields;
use super::limits;
use super::model::{Arch, Fall, Room, WhenFull};
use super::outline::Shape;
use super::units::LENGTH;
use super::yaml::Value;

/// What a chance may be.
pub const CHANCE: RangeInclusive<f64> = 0.0..=1.0;
/// Height of the drop through a gate, over a peg or a weir where none is given, metres.
pub const DEFAULT_DROP_M: f64 = 0.03;

impl Fields<'_> {
    /// What happens when the element is full.
    pub fn when_full(&mut self, default: WhenFull) -> WhenFull {
        self.choice(
            "when-full",
            &[("hold", WhenFull::Hold), ("spill", WhenFull::Spill)],
        )
        .unwrap_or(default)
    }

    /// A room: a number of places or `unlimited`.
    pub fn room(&mut self, key: &'static str) -> Option<Room> {
        self.note(key, || Shape::Shared("room"));
        match &self.get(key)?.value {
            Value::Text(word) if word == "unlimited" => Some(Room::Unlimited),
            Value::Text(word) => {
                let node = self.get(key)?;
                self.wrong(
                    key,
                    node,
                    format!("`{key}: {word}` is not a number of marbles"),
                    "write a number or `unlimited`",
                );
                None
            }
            _ => self.count(key, 1..=limits::PLACES).map(Room::Places),
        }
    }

    /// How marbles are shared among the ways out; nothing where all are equal.
    pub fn shares(&mut self) -> Vec<f64> {
        let shares = self.numbers("shares", 0.0..=1e6).unwrap_or_default();
        if !shares.is_empty()
            && shares.iter().sum::<f64>() <= 0.0
            && let Some(node) = self.get("shares")
        {
            self.wrong(
                "shares",
                node,
                "the shares sum to zero",
                "give at least one way a share above zero, as in `[1, 1]`",
            );
        }
        shares
    }

    /// How marbles wedge.
    pub fn arch(&mut self, key: &'static str) -> Option<Arch> {
        let mut of = self.map(key)?;
        let chance = of.number("chance", CHANCE);
        let chance = of.required("chance", "0.01", chance);
        let clears = of.law("clears");
        of.finish();
        chance.map(|chance| Arch { chance, clears })
    }

    /// A fall through a gate.
    pub fn fall(&mut self) -> Fall {
        Fall {
            drop_m: self
                .quantity("drop", &LENGTH, 0.0..=2.0)
                .unwrap_or(DEFAULT_DROP_M),
            time: self.law("time"),
        }
    }
}
