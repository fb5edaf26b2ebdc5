//! A machine's marbles as a close look follows them.

use super::workshop::Workshop;
use crate::contact::law::Materials;
use crate::contact::place::MarbleProperties;

/// How far restitution scatters from hit to hit, on wood and between marbles. Assumed, no source.
const SCATTER: (f64, f64) = (0.1, 0.05);
/// A guide is sanded smooth: its friction at most, and its rolling resistance over that of rough wood. Assumed, no source.
const GUIDE: (f64, f64) = (0.2, 0.25);

/// The marbles, and what they are like on wood, on a guide and on each other; `None` where they are not known.
pub fn marbles(workshop: &Workshop) -> Option<MarbleProperties> {
    let marble = workshop.marble()?;
    let assume = &workshop.machine.assume;
    let on_wood = Materials {
        friction: assume.friction,
        restitution: assume.restitution,
        scatter: SCATTER.0,
        rolling_lever_m: assume.rolling_m,
    };
    Some(MarbleProperties {
        diameter_m: marble.diameter_m,
        diameter_sd_m: workshop.machine.marbles.spread_m,
        density_kg_m3: marble.density_kg_m3,
        on_wood,
        on_guide: Materials {
            friction: assume.friction.min(GUIDE.0),
            rolling_lever_m: assume.rolling_m * GUIDE.1,
            ..on_wood
        },
        on_marbles: Materials {
            friction: assume.marble_friction,
            restitution: assume.marble_restitution,
            scatter: SCATTER.1,
            rolling_lever_m: 0.0,
        },
    })
}
