//! `fit` of a table of slopes: rolling resistance.

use std::io::Write;

use super::failure::Failure;
use super::fit::{FitArgs, TypedLength};
use super::source::Source;
use super::tables::{finish, table};
use super::{Answer, fit_into, terminal};
use crate::findings::words::{count, figure};
use crate::machine::Machine;
use crate::machine::units::{ANGLE, System};
use crate::machine::write_law::{millimetres, small};
use crate::physics::material::{ROLLING_LEVER_RANGE_M, SurfaceProperties};
use crate::physics::rolling::{Seat, least_slope_rad};
use crate::report;
use crate::study::rolling::{LeverArm, Roll, lever_arm};

/// Fits and prints the lever arm; writes it where a machine is given.
pub fn fit(
    args: &FitArgs,
    source: &Source,
    rolls: &[Roll],
    into: Option<&(Source, Machine)>,
) -> Result<Answer, Failure> {
    let Some(rolled) = diameter(args, into) else {
        let why = "the diameter of the marble that rolled is not known";
        return Err(refused(args, why, "state it, as in --marble 16mm"));
    };
    let diameter_m = rolled.metres;
    let reading_error = args.reading_error.filter(|error| *error > 0.0);
    let Some(found) = lever_arm(rolls, diameter_m / 2.0, reading_error) else {
        let why = "there is no slope in it";
        return Err(refused(args, why, "time a marble on a sloping board"));
    };
    let lever_m = found.lever_m.value.unwrap_or(0.0);
    let written = match into {
        Some(_) if found.none_found => {
            let help = "measure slope and length again, and let the marble go without a push";
            let why = "the marble was faster than one without any resistance would be";
            return Err(refused(args, why, help));
        }
        Some((machine_file, machine)) => Some(fit_into::rolling(machine_file, machine, lever_m)?),
        None => None,
    };
    let mut out = super::print::out();
    if args.output.json {
        writeln!(out, "{}", report::fit::lever_json(&found))?;
        return Ok(Answer::Given);
    }
    if !args.output.quiet {
        let system = args.units.system(rolled.system);
        let (rolled, diameter) = (count(rolls.len() as u64, "roll"), system.length(diameter_m));
        writeln!(
            out,
            "{}: {rolled} of a {diameter} marble on a flat board\n",
            source.name
        )?;
        writeln!(out, "{}\n", timed(rolls, &found, system))?;
        for sentence in says(&found, diameter_m / 2.0, system) {
            writeln!(out, "{}", terminal::sentence(sentence.0, &sentence.1))?;
        }
    }
    let line = format!("assume: {{ rolling-resistance: {} }}", millimetres(lever_m));
    match written {
        Some(change) => writeln!(out, "{change}")?,
        None if args.output.quiet => writeln!(out, "{line}")?,
        None => writeln!(
            out,
            "\nFor the machine file, or written there by `--into MACHINE`:\n  {line}"
        )?,
    }
    Ok(Answer::Given)
}

fn refused(args: &FitArgs, why: &str, help: &str) -> Failure {
    Failure::cannot("fit", &args.times, why, help)
}

/// Diameter of the marble that rolled: as typed, or else that of the machine.
fn diameter(args: &FitArgs, into: Option<&(Source, Machine)>) -> Option<TypedLength> {
    if args.marble.is_some() {
        return args.marble;
    }
    let (_, machine) = into?;
    Some(TypedLength {
        metres: machine.marbles.diameter_m?,
        system: machine.units,
    })
}

fn timed(rolls: &[Roll], found: &LeverArm, system: System) -> String {
    let mut rows = table(&["length", "slope", "timed", "fitted"]);
    for (roll, fitted_s) in rolls.iter().zip(&found.fitted_s) {
        let [timed, fitted] = [roll.time_s, *fitted_s].map(|time_s| format!("{time_s:.2} s"));
        rows.add_row([
            system.length(roll.length_m),
            ANGLE.show(roll.slope_rad),
            timed,
            fitted,
        ]);
    }
    finish(rows)
}

/// What to make of it; false where the maker may want to act.
fn says(found: &LeverArm, radius_m: f64, system: System) -> Vec<(bool, String)> {
    let lever_m = found.lever_m.value.unwrap_or(0.0);
    let sure = match (found.lever_m.low, found.lever_m.high) {
        (Some(low), Some(high)) => format!(
            " (95 % sure: {} to {})",
            small(low, system),
            small(high, system)
        ),
        _ => " (how sure is unknown: time several rolls, or state --reading-error)".to_owned(),
    };
    let least = least_slope_rad(
        Seat::PLANE,
        radius_m,
        &SurfaceProperties {
            rolling_lever_m: lever_m,
            ..SurfaceProperties::WOOD
        },
    );
    let mut says = Vec::new();
    if found.none_found {
        let faster = "The marble was faster than one without any resistance: measure slope and length again, and let it go without a push.";
        says.push((false, faster.to_owned()));
    } else {
        says.push((
            true,
            format!(
                "Lever arm of rolling resistance: {}{sure}.",
                small(lever_m, system)
            ),
        ));
        says.push((
            true,
            format!(
                "This marble keeps rolling on slopes above {} deg.",
                figure(least.to_degrees())
            ),
        ));
    }
    says.push((
        true,
        format!(
            "Slopes measured a tenth of a degree wrong move it by {}.",
            small(found.per_tenth_degree_m, system)
        ),
    ));
    let (low, high) = ROLLING_LEVER_RANGE_M;
    if !found.none_found && !(low..=high).contains(&lever_m) {
        let outside = format!(
            "That is outside what finished wood is assumed to give, {} to {}.",
            small(low, system),
            small(high, system)
        );
        says.push((false, outside));
    }
    says
}
