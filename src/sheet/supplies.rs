//! What a motor runs on, on the bench sheet: whether its voltage suits the motor, how long cells last, what an adapter gives.

use super::{Row, RowVerdict};
use crate::machine::model::{Motor, Supply};

/// Shares of its voltage on which a motor runs well: common practice, no source.
const SUITS: [f64; 2] = [0.6, 1.25];

/// The rows of a motor that draws so much, A, while it lifts.
pub fn rows(motor: &Motor, current_a: f64) -> Vec<Row> {
    let Some(supply) = motor.supply else {
        return Vec::new();
    };
    let mut rows = vec![match supply {
        Supply::Cells { .. } => battery(supply, current_a),
        Supply::Adapter { volts, most_a } => adapter(motor, current_a, [volts, most_a]),
    }];
    rows.extend(voltage(motor, supply));
    rows
}

fn battery(supply: Supply, current_a: f64) -> Row {
    let hours = supply.lasts_h(current_a);
    let lasts = match hours {
        Some(hours) => format!("{hours:.1} h"),
        None => "an unknown time: more current than was tested".to_owned(),
    };
    let verb = match supply {
        Supply::Cells { count: 1, .. } => "lasts",
        _ => "last",
    };
    let row = Row::plain(
        "battery",
        format!("{} {verb} about {lasts}", supply.called()),
    );
    let voltage = ("voltage", supply.volts(), "V");
    match hours {
        Some(hours) => row.with([voltage, ("lasts", hours, "h")]),
        None => row.with([voltage]),
    }
}

fn adapter(motor: &Motor, current_a: f64, [volts, most_a]: [f64; 2]) -> Row {
    let stalled_a = motor.stalled_a();
    let verdict = if most_a >= stalled_a {
        RowVerdict::Fine
    } else if most_a >= current_a {
        RowVerdict::Tight
    } else {
        RowVerdict::WontWork
    };
    let value = format!("a mains adapter of {volts} V gives up to {most_a:.2} A");
    let help = format!("one that gives {stalled_a:.1} A, or it fails when a jam stalls the motor");
    let figures = [("voltage", volts, "V"), ("gives", most_a, "A")];
    Row::judged("supply", value, verdict, help).with(figures)
}

/// What its supply's voltage makes of a motor made for another.
fn voltage(motor: &Motor, supply: Supply) -> Option<Row> {
    let (volts, rated_v) = (supply.volts(), motor.rated_v?);
    let share = volts / rated_v;
    let spent = match supply {
        Supply::Cells { of, .. } => {
            let spent = share * of.spent_v / of.nominal_v;
            format!(", at {:.0} % when the cells are spent", spent * 100.0)
        }
        Supply::Adapter { .. } => String::new(),
    };
    let value = format!(
        "{volts:.1} V for a motor of {rated_v} V: it turns freely at {:.0} % of its speed{spent}",
        share * 100.0
    );
    let verdict = if (SUITS[0]..=SUITS[1]).contains(&share) {
        RowVerdict::Fine
    } else {
        RowVerdict::Tight
    };
    let help = "a supply nearer to the motor's own voltage";
    let row = Row::judged("motor's voltage", value, verdict, help);
    Some(row.with([("supply", volts, "V"), ("share", share, "1")]))
}
