//! Loops and jumps in a run: whether marbles get through, from the height they come from.

use crate::support::{circuit_of, traced};
use marblewright::engine::Outcome;

const SMOOTH: &str = "assume: { rolling-resistance: 0 mm, drilling-resistance: 0 mm }";

/// What becomes of a marble that rolls down so many millimetres, on a slope a metre long and without resistance, into `part`.
fn outcome(down_mm: f64, part: &str) -> Outcome {
    let slope = libm::asin(down_mm / 1000.0).to_degrees();
    let text = format!(
        "format: 1
marbles: {{ count: 1, diameter: 16 mm, spread: 0 mm }}
{SMOOTH}
start: run-up
circuit:
  run-up: {{ track: {{ length: 1 m, slope: {slope:.9} deg }}, to: part }}
  part: {{ {part}, to: end }}
  end: {{ track: {{ time: 0 s }}, to: none }}
"
    );
    traced(&circuit_of(&text), 60.0).0.outcome
}

/// A 16 mm marble in a loop of 60 mm: its centre goes round at 52 mm, and 2.7 times that is 140.4 mm.
#[test]
fn a_marble_stays_on_a_loop_from_2_7_radii_up() {
    let through = |down_mm| outcome(down_mm, "loop: { radius: 60 mm }");
    assert_eq!(through(140.3), Outcome::Jammed);
    assert_eq!(through(140.5), Outcome::RanDry);
}

/// Off a level lip 50 mm down it lands at v sqrt(2 f / g), and v^2 = (10/7) g h: 200 mm is reached from 280 mm up, 250 mm from
/// 437.5 mm: h = (7/20) x^2 / f.
#[test]
fn a_marble_lands_where_its_height_carries_it() {
    let over = |down_mm| {
        outcome(
            down_mm,
            "jump: { gap: 200 mm, landing: 50 mm, fall: 50 mm }",
        )
    };
    let height = |reach_mm: f64| 0.35 * reach_mm * reach_mm / 50.0;
    assert_eq!(over(279.9), Outcome::Jammed);
    assert_eq!(over(280.1), Outcome::RanDry);
    assert_eq!(over(height(250.0) - 0.1), Outcome::RanDry);
    assert_eq!(over(height(250.0) + 0.1), Outcome::Jammed);
}

/// Two loops one behind the other, and a jump: without resistance the speed is the same behind each as before.
#[test]
fn speed_is_carried_through() {
    let of = |height_mm: f64| {
        let text = format!(
            "format: 1
marbles: {{ count: 1, diameter: 16 mm, spread: 0 mm }}
{SMOOTH}
start: run-up
circuit:
  run-up: {{ track: {{ length: 1 m, slope: {:.9} deg }}, to: first }}
  first: {{ loop: {{ radius: 40 mm }}, to: second }}
  second: {{ loop: {{ radius: 60 mm }}, to: end }}
  end: {{ track: {{ time: 0 s }}, to: none }}
",
            libm::asin(height_mm / 1000.0).to_degrees()
        );
        traced(&circuit_of(&text), 60.0).0.outcome
    };
    assert_eq!(of(140.3), Outcome::Jammed);
    assert_eq!(of(140.5), Outcome::RanDry);
}
