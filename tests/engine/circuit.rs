//! What the words and dimensions of the file become in the circuit.

use crate::support::{circuit_of, file, index, machine, run};
use marblewright::circuit::draw::{nanos, seconds, share};
use marblewright::circuit::drive::{drive_rpm, lift_torque_nm};
use marblewright::circuit::plan::Cause;
use marblewright::circuit::wheel_place::slope_before;
use marblewright::circuit::workshop::Workshop;
use marblewright::physics::drive::mean_lift_torque_n_m;
use marblewright::physics::material::{GLASS_KG_M3, SurfaceProperties};
use marblewright::physics::queue_advance::{ARRIVED_SHARE, advance_time_s};
use marblewright::physics::rolling::{Seat, acceleration};

fn glass(head: &str, elements: &str) -> String {
    file(10, head, elements).replace("count: 10", "count: 10, diameter: 16 mm")
}

const WHEEL: &str =
    "pocket-wheel: { pockets: 16, pitch-radius: 120 mm, bore: 20 mm, depth: 15 mm, tilt: 8 deg";

/// Laps are counted at the first wheel on the way, wherever it stands in the file; without one, at the start.
#[test]
fn the_lap_line_is_the_first_wheel_on_the_way() {
    let wheel = "pocket-wheel: { pockets: 4, lift: 90 deg }";
    let lap_line = |elements: &str| {
        let circuit = circuit_of(&file(1, "drive: { speed: 7.5 rpm }", elements));
        circuit.nodes[circuit.lap_line].name.clone()
    };
    let late = format!(
        "ramp: {{ track: {{ time: 1 s }}, to: slide }}
         second: {{ {wheel}, to: ramp }}
         slide: {{ track: {{ time: 1 s }}, to: first }}
         first: {{ {wheel}, to: back }}
         back: {{ track: {{ time: 1 s }}, to: second }}"
    );
    assert_eq!(lap_line(&late), "first");
    assert_eq!(
        lap_line(
            "ramp: { track: { time: 1 s }, to: slide }\nslide: { track: { time: 1 s }, to: ramp }"
        ),
        "ramp"
    );
}

/// Every wheel with a motor of its own has a drive of its own, the first and the last element too.
#[test]
fn a_motor_of_its_own_is_a_drive_of_its_own() {
    let own = "pocket-wheel: { pockets: 4, lift: 90 deg, speed: 6 rpm }";
    let elements = format!(
        "one: {{ {own}, to: up }}
         up: {{ track: {{ time: 1 s }}, to: two }}
         two: {{ pocket-wheel: {{ pockets: 4, lift: 90 deg }}, to: down }}
         down: {{ track: {{ time: 1 s }}, to: three }}
         end: {{ track: {{ time: 1 s }}, to: none }}
         three: {{ {own}, to: end }}"
    );
    let circuit = circuit_of(&file(1, "drive: { speed: 7.5 rpm }", &elements));
    let drive = |n: usize| circuit.nodes[n].wheel().expect("a wheel").drive;
    assert!(drive(0) != drive(2) && drive(2) != drive(5) && drive(0) != drive(5));
    run(&circuit, 3600.0);
}

/// A file that was only timed moves up as on a plane of 4 degrees.
#[test]
fn a_timed_file_moves_up_as_on_four_degrees() {
    let circuit = circuit_of(&glass("", "track: { track: { time: 1 s }, to: none }"));
    let a = acceleration(
        4f64.to_radians(),
        Seat::PLANE,
        0.008,
        &SurfaceProperties::WOOD,
    );
    assert_eq!(
        circuit.nodes[0].advance,
        nanos(advance_time_s(ARRIVED_SHARE, 0.016, a).expect("it rolls"))
    );
}

/// What the file assumes about wood is what marbles roll, slide and bounce with.
#[test]
fn assumptions_of_the_file_are_rolled_with() {
    let travel = |assume: &str| {
        let elements = "track: { track: { segments: [ { length: 200 mm, slope: 3 deg }, { drop: 40 mm }, { length: 600 mm, slope: 3 deg } ] }, to: none }";
        circuit_of(&glass(assume, elements)).nodes[0].travel[0].quantile(0.5)
    };
    let usual = travel("");
    assert!(travel("assume: { rolling-resistance: 0.08 mm }") > usual);
    assert_ne!(travel("assume: { friction: 0.2 }"), usual);
    assert_ne!(travel("assume: { restitution: 0.65 }"), usual);
}

/// Without a guide a pocket is taken to carry its marble three eighths of a turn.
#[test]
fn lifting_without_a_guide_is_reckoned_to_three_eighths_of_a_turn() {
    let elements = format!(
        "lift: {{ {WHEEL} }}, to: slide }}\nslide: {{ slide: {{ length: 300 mm, slope: 3 deg }}, to: lift }}"
    );
    let machine = machine(&glass("drive: { speed: 9 rpm }", &elements), &[]);
    let mass_kg = GLASS_KG_M3 * std::f64::consts::PI * 0.016f64.powi(3) / 6.0;
    let expected = mean_lift_torque_n_m(16, 1.0, mass_kg, 0.12, 135f64.to_radians());
    assert!((lift_torque_nm(&machine) / expected - 1.0).abs() < 1e-12);
}

/// A speed given beside a motor is the speed; without one the motor's load decides.
#[test]
fn a_speed_that_is_given_goes_before_the_motor() {
    let elements = format!(
        "lift: {{ {WHEEL} }}, to: slide }}\nslide: {{ slide: {{ length: 300 mm, slope: 3 deg }}, to: lift }}"
    );
    let motor = "drive: { motor: { no-load-speed: 6 rpm, stall-torque: 6 kg cm, no-load-current: 60 mA, stall-current: 0.9 A, cells: 4 } }";
    let text = glass(motor, &elements);
    let loaded = drive_rpm(&machine(&text, &[]));
    assert!((4.0..6.0).contains(&loaded), "{loaded} rpm");
    assert_eq!(drive_rpm(&machine(&text, &[("drive.speed", "3 rpm")])), 3.0);
}

/// Speed in proportion to voltage (Mabuchi, "Basics of motor performance"): four NiMH cells of 1.2 V turn a motor for 6 V at
/// 80 % of its speed where it lifts nothing; a motor whose voltage is not told turns as told.
#[test]
fn a_motor_turns_by_the_voltage_of_its_supply() {
    let free = |motor: &str| {
        let text = glass(
            &format!(
                "drive: {{ motor: {{ no-load-speed: 6 rpm, stall-torque: 6 kg cm{motor} }} }}"
            ),
            "ramp: { track: { time: 1 s }, to: track }\ntrack: { track: { time: 1 s }, to: ramp }",
        );
        drive_rpm(&machine(&text, &[]))
    };
    let nimh = ", cells: { kind: nimh-aa, count: 4 }";
    assert!((free(&format!(", voltage: 6 V{nimh}")) / 4.8 - 1.0).abs() < 1e-12);
    assert!((free(nimh) / 6.0 - 1.0).abs() < 1e-12);
    let adapter = ", voltage: 6 V, cells: { kind: mains-adapter, voltage: 4.5 V, current: 1 A }";
    assert!((free(adapter) / 4.5 - 1.0).abs() < 1e-12);
    assert!((free(", voltage: 6 V, cells: 4") / 6.0 - 1.0).abs() < 1e-12);
}

/// Marbles on every pocket of a wheel that nobody takes them from: it is full from then on, to the end.
#[test]
fn a_wheel_is_full_while_every_pocket_is_taken() {
    let circuit = circuit_of(&file(
        9,
        "drive: { speed: 6 rpm }",
        "ramp: { track: { time: 0 s }, to: lift }
         lift: { pocket-wheel: { pockets: 4, lift: 180 deg }, to: gate }
         gate: { escapement: { time: 60 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    ));
    let lift = index(&circuit, "lift");
    let result = run(&circuit, 60.0);
    // Pockets take marbles at 0, 2.5, 5 and 7.5 s; the first lets go at 5 s, the others find the gate taken, and at 10 s its
    // pocket takes another.
    assert_eq!(result.elements[lift].full_time, nanos(50.0));
}

/// A wheel that stands at the floor itself picks up as from a ramp of the floor's pitch.
#[test]
fn marbles_wait_before_a_wheel_on_the_slope_of_what_feeds_it() {
    let slope = |before: &str| {
        let text = format!(
            "format: 1\nmarbles: {{ count: 20, diameter: 16 mm }}\ndrive: {{ speed: 9 rpm }}\nstart: before\ncircuit:\n  before: {{ {before}, to: lift }}\n  lift: {{ pocket-wheel: {{ pockets: 16, pitch-radius: 120 mm, bore: 20 mm, depth: 15 mm, tilt: 8 deg }}, to: before }}\n"
        );
        let machine = machine(&text, &[]);
        slope_before(&Workshop::new(&machine, &machine.elements[1]))
    };
    let floor = |pitch: &str| {
        slope(&format!(
            "return-floor: {{ width: 500 mm, depth: 400 mm, cross-pitch: 2 deg, valley-pitch: {pitch}, mouth: 20 mm }}"
        ))
    };
    let ramp = |pitch: &str| slope(&format!("ramp: {{ length: 400 mm, slope: {pitch} }}"));
    let (shallow, steep) = (floor("2 deg"), floor("7 deg"));
    assert!(shallow < steep, "{shallow} {steep}");
    assert_eq!((shallow, steep), (ramp("2 deg"), ramp("7 deg")));
    // Where nothing before the wheel slopes, as from 4 degrees.
    let flat = slope("escapement: { time: 1 s }");
    assert_eq!(flat, ramp("4 deg"));
}

/// A bowl holds marbles until they cover a quarter of it, (300/16)^2/4 of them; they swirl from the speed that its own
/// `entry-speed` says, else from that of the one slide before it, sqrt(2 a l) from rest, else from half a metre a second.
#[test]
fn a_bowl_by_dimensions_swirls_from_the_speed_that_marbles_bring() {
    let mean_s = |before: &str, more: &str| {
        let text = format!(
            "format: 1\nmarbles: {{ count: 20, diameter: 16 mm }}\nstart: before\ncircuit:\n  before: {{ {before}, to: bowl }}\n  \
             bowl: {{ bowl: {{ width: 300 mm, depth: 50 mm, hole: 22 mm, hole-circle: 40 mm{more} }}, to: [a, b] }}\n  \
             a: {{ track: {{ time: 1 s }}, to: none }}\n  b: {{ track: {{ time: 1 s }}, to: none }}\n"
        );
        let plan = circuit_of(&text).nodes[1].clone();
        assert_eq!(plan.room, 87);
        let of = |k: u32| seconds(plan.travel[0].quantile((f64::from(k) + 0.5) / 50.0));
        (0..50).map(of).sum::<f64>() / 50.0
    };
    let slide = "slide: { length: 300 mm, slope: 3 deg }";
    let a = acceleration(
        3f64.to_radians(),
        Seat::PLANE,
        0.008,
        &SurfaceProperties::WOOD,
    );
    let slid = (2.0 * a * 0.3).sqrt();
    let ramp = "ramp: { length: 300 mm, slope: 3 deg }";
    for (before, speed_m_s) in [(slide, slid), (ramp, 0.5)] {
        let said = format!(", entry-speed: {speed_m_s:.4} m/s");
        let (found, expected) = (mean_s(before, ""), mean_s(before, &said));
        assert!(
            (found / expected - 1.0).abs() < 0.04,
            "{before}: {found} s, not {expected} s"
        );
    }
    let slow = mean_s(slide, ", entry-speed: 0.25 m/s");
    let as_it_slides = mean_s(slide, "");
    assert!(
        as_it_slides > 1.2 * slow,
        "{slow} s from 0.25 m/s, {as_it_slides} s from {slid} m/s"
    );
}

/// A track that two slides lead to takes marbles of both for as long as they need from the speed they bring: from rest
/// l = a t^2 / 2, from v l = v t + a t^2 / 2, and v^2 = 2 a l' down a slide of l'. What was measured at the entrance counts
/// for all who come.
#[test]
fn a_line_takes_each_marble_at_the_speed_that_it_brings() {
    let times = |more: &str| {
        let elements = format!(
            "gate: {{ peg: {{ drop: 20 mm }}, to: [short, long] }}
             short: {{ slide: {{ length: 100 mm, slope: 3 deg }}, to: track }}
             long: {{ slide: {{ length: 400 mm, slope: 3 deg }}, to: track }}
             track: {{ track: {{ length: 500 mm, slope: 3 deg{more} }}, to: none }}"
        );
        let circuit = circuit_of(&glass("assume: { rolling-resistance: 0.04 mm }", &elements));
        let track = &circuit.nodes[3];
        let entries = [1, 2].map(|slide| circuit.nodes[slide].ways[0].entry);
        entries.map(|entry| seconds(track.travel[entry].quantile(0.5)))
    };
    let surface = SurfaceProperties {
        rolling_lever_m: 4e-5,
        ..SurfaceProperties::WOOD
    };
    let a = acceleration(3f64.to_radians(), Seat::PLANE, 0.008, &surface);
    let from = |v: f64| ((v * v + 2.0 * a * 0.5).sqrt() - v) / a;
    let brought = [0.1, 0.4].map(|length: f64| from((2.0 * a * length).sqrt()));
    for (found, expected) in times("").into_iter().zip(brought) {
        assert!(
            (found / expected - 1.0).abs() < 1e-3,
            "{found} s, not {expected} s"
        );
    }
    for found in times(", entry-speed: 0.3 m/s") {
        assert!((found / from(0.3) - 1.0).abs() < 1e-3, "{found} s");
    }
}

/// Onto a slide marbles come out of a wheel's pockets as fast as they roll out of them (tests/truth/e11_out_speed.csv: 0.13
/// m/s), onto a ramp out of a floor's mouth (tests/truth/e12_mouth_speed.csv: 0.05 m/s).
#[test]
fn wheels_and_floors_give_marbles_speed() {
    let elements = format!(
        "ramp: {{ ramp: {{ length: 300 mm, slope: 4 deg }}, to: wheel }}
         wheel: {{ {WHEEL}, guide: 150 deg }}, to: slide }}
         slide: {{ slide: {{ length: 300 mm, slope: 3 deg }}, to: floor }}
         floor: {{ return-floor: {{ width: 300 mm, depth: 400 mm, cross-pitch: 5 deg, valley-pitch: 1 deg, mouth: 20 mm }}, to: ramp }}"
    );
    let machine = machine(&glass("drive: { speed: 5 rpm }", &elements), &[]);
    let speed = |n: usize| Workshop::new(&machine, &machine.elements[n]).entry_speed_m_s();
    let (slide, ramp) = (speed(2), speed(0));
    assert!((0.11..0.16).contains(&slide), "{slide} m/s onto the slide");
    assert!((0.03..0.08).contains(&ramp), "{ramp} m/s onto the ramp");
}

/// A marble that swirls to rest before a hole takes it has to be pushed on: here on balls that hardly roll.
#[test]
fn a_bowl_too_flat_for_its_wood_holds_marbles_up() {
    let stalls = |rolling: &str| {
        let elements = "bowl: { bowl: { width: 300 mm, depth: 10 mm, hole: 22 mm, hole-circle: 40 mm }, to: [end] }
                        end: { track: { time: 1 s }, to: none }";
        let circuit = circuit_of(&glass(
            &format!("assume: {{ rolling-resistance: {rolling} }}"),
            elements,
        ));
        let stalled = run(&circuit, 60.0)
            .jams
            .iter()
            .any(|jam| (jam.node, jam.cause) == (0, Cause::Stall));
        assert_eq!(stalled, circuit.nodes[0].stalls);
        stalled
    };
    assert_eq!((stalls("0.05 mm"), stalls("1 mm")), (false, true));
}

/// Shares lie in the middle of 2^53 steps; the highest would round to one and is the next number below it.
#[test]
fn a_share_is_never_nought_nor_one() {
    assert_eq!(
        (share(0), share(1 << 63)),
        (2f64.powi(-54), 0.5 + 2f64.powi(-54))
    );
    assert_eq!(share(u64::MAX), 1f64.next_down());
}
