//! Dimensions of a line that do not go together, or not with the marbles.

use crate::machine::check_shapes::ElementCheck;
use crate::machine::model::{Channel, Line, Segment};
use crate::machine::units::LENGTH;

/// Whether a line's dimensions go together, and with the marbles.
pub fn line(line: &Line, at: &ElementCheck) {
    let Some(diameter_m) = at.diameter_m else {
        return;
    };
    channel(line.channel, diameter_m, at);
    for (n, segment) in line.segments.iter().enumerate() {
        if let Segment::Corner { fall_m, gap_m, .. } = *segment {
            let key = format!("segments.{n}.corner");
            at.passes(&format!("{key}.gap"), "gap", gap_m);
            if fall_m < diameter_m {
                let (fall, marble) = (LENGTH.show(fall_m), LENGTH.show(diameter_m));
                let what = format!(
                    "a {marble} marble does not get under a leg that is only {fall} above the next"
                );
                at.wrong(
                    &format!("{key}.fall"),
                    what,
                    format!("make the fall {marble} or more"),
                );
            }
        }
    }
}

fn channel(channel: Channel, diameter_m: f64, at: &ElementCheck) {
    let marble = LENGTH.show(diameter_m);
    match channel {
        Channel::SharpRails { gap_m } if gap_m >= diameter_m => {
            let what = format!(
                "a {marble} marble falls between rails {} apart",
                LENGTH.show(gap_m)
            );
            at.wrong("channel.rails", what, "set the rails closer");
        }
        Channel::RoundRails {
            rod_radius_m,
            spacing_m,
        } if spacing_m >= 2.0 * rod_radius_m + diameter_m => {
            let what = format!(
                "a {marble} marble falls between rods {} apart",
                LENGTH.show(spacing_m)
            );
            at.wrong("channel.rods.spacing", what, "set the rods closer");
        }
        Channel::RoundRails {
            rod_radius_m,
            spacing_m,
        } if spacing_m < 2.0 * rod_radius_m => {
            let what = format!(
                "rods of {} do not fit {} apart",
                LENGTH.show(2.0 * rod_radius_m),
                LENGTH.show(spacing_m)
            );
            at.wrong(
                "channel.rods.spacing",
                what,
                "`spacing` is from centre to centre: make it larger",
            );
        }
        _ => {}
    }
}
