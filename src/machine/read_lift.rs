//! What all lifts have, from the file's keys.

use super::fields::Fields;
use super::limits;
use super::model::{DrivenLift, PickUp, TurnedBy};
use super::read_parts::CHANCE;
use super::units::{SPEED, plain};

impl Fields<'_> {
    /// A lift that carries so, as its own keys say.
    pub fn lift<T>(&mut self, carries: Option<T>) -> Option<DrivenLift<T>> {
        let turned_by = self.turned_by();
        let pick_up = self.pick_up();
        let release = self.number("release", CHANCE);
        Some(DrivenLift {
            carries: carries?,
            turned_by,
            pick_up,
            release,
        })
    }

    /// What turns a lift.
    pub fn turned_by(&mut self) -> TurnedBy {
        let own = self.quantity("speed", &SPEED, 0.01..=limits::FASTEST_RPM);
        let ratio = self.number("gear", 0.001..=1000.0);
        if self.get("speed").is_some()
            && let Some(node) = self.get("gear")
        {
            self.wrong(
                "gear",
                node,
                "this lift has both a motor of its own (`speed`) and gears from the drive (`gear`)",
                "take one of the two away",
            );
        }
        match own {
            Some(rpm) => TurnedBy::OwnMotor { rpm },
            None => TurnedBy::Drive {
                ratio: ratio.unwrap_or(1.0),
            },
        }
    }

    /// Measured chances where a lift takes marbles.
    pub fn pick_up(&mut self) -> Option<PickUp> {
        let mut inside = self.map("pick-up")?;
        let take = inside.number("take", CHANCE).unwrap_or(1.0);
        let pinch = inside.number("pinch", CHANCE).unwrap_or(0.0);
        let place = inside.place;
        let path = inside.path.clone();
        inside.finish();
        if take + pinch > 1.0 {
            let what = format!(
                "`take` and `pinch` together are {}, more than 1",
                plain(take + pinch)
            );
            self.report().add(
                Some(place),
                &path,
                what,
                "lower one: what is left over is the chance of a miss",
            );
            return None;
        }
        Some(PickUp { take, pinch })
    }
}
