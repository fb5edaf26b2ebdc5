use super::*;
use crate::engine::outcome::{Jam, Lock};
use crate::findings::RunFigures;
use crate::findings::made_up::MadeUp;

/// What is said of four runs of an hour, each changed by its number.
fn said<T>(change: impl Fn(u32, &mut RunFigures), what: impl Fn(&FindingWriter) -> T) -> T {
    let made_up = MadeUp::new(1, "least-fill: 0.5");
    let runs = (0..4).map(|n| {
        let mut run = made_up.run(n, |_| 0.75);
        change(n, &mut run);
        run
    });
    made_up.said(&made_up.study(runs.collect()), what)
}

fn text(finding: Option<Finding>) -> Option<String> {
    finding.map(|finding| finding.text)
}

#[test]
fn a_wheel_is_told_of_by_its_fill() {
    let at = |fill: f64| {
        let change = |_: u32, run: &mut RunFigures| {
            run.elements[1].wheel.as_mut().expect("a wheel").fill = Some(fill);
        };
        said(change, |writer| {
            assert_eq!(writer.fill("wheel-0"), Some(fill));
            assert_eq!(writer.fill("slide-0"), None);
            assert_eq!(writer.filled_by(1), "");
            writer.filled_by(0)
        })
    };
    assert_eq!(
        at(0.75),
        "Yet `wheel-0` carries a marble in only 75 % of its pockets."
    );
    assert_eq!(
        at(0.98),
        "`wheel-0` fills every pocket and still takes fewer than come."
    );
}

/// Two of four: 6.76 to 93.24 % (Clopper & Pearson).
#[test]
fn a_part_that_locks_up_is_a_finding() {
    let lock = Lock {
        node: 0,
        time: 120_000_000_000,
        marbles: 3,
    };
    let locks = |runs: u32| {
        let change =
            move |n: u32, run: &mut RunFigures| run.locks.extend((n < runs).then_some(lock));
        text(said(change, |writer| writer.locks()))
    };
    assert_eq!(locks(0), None);
    assert_eq!(
        locks(2).expect("a finding"),
        "A part locks up for good while the rest goes on, in 50 % of runs (95 % sure: 6.8 % to 93.2 %). The earliest was \
         after 2 min at `ramp`, where 3 marbles can never move again (seed 1, run 0)."
    );
}

#[test]
fn runs_without_a_lap_are_named_where_others_have_some() {
    let none = |runs: u32| {
        let change = move |n: u32, run: &mut RunFigures| {
            run.lap_s = (n >= runs).then_some(9.0);
        };
        text(said(change, |writer| writer.no_laps()))
    };
    assert_eq!(none(0), None);
    assert_eq!(
        none(3).expect("a finding"),
        "No marble came round in 3 of 4 runs: the mean lap is that of the others."
    );
    assert_eq!(none(4), None);
}

/// One of four, 0.63 to 80.59 % (Clopper & Pearson), whatever else jams.
#[test]
fn a_jam_is_told_by_the_runs_that_have_it() {
    let jam = |cause, first| Jam {
        node: 1,
        cause,
        first,
        count: 1,
    };
    let change = |n: u32, run: &mut RunFigures| {
        if n == 2 {
            run.jams.push(jam(Cause::Pinch, 90_000_000_000));
        }
        if n < 2 {
            run.jams.push(jam(Cause::Arch, 5_000_000_000));
        }
    };
    assert_eq!(
        text(said(change, |writer| writer.jam(1, Cause::Pinch))).expect("a finding"),
        "A marble is pinched at `wheel-0` in 25 % of runs (95 % sure: 0.6 % to 81 %). The earliest was after 1 min 30 s \
         (seed 1, run 2)."
    );
    assert_eq!(
        text(said(change, |writer| writer.jam(0, Cause::Pinch))),
        None
    );
}

/// At 60 mA, what the motor draws with nothing to lift, cells of 1.2 Ah last 20 h.
#[test]
fn cells_are_told_how_long_they_last() {
    let battery = |cells: &str| {
        let made_up = MadeUp::of(&format!(
            "format: 1\nmarbles: {{ count: 5 }}\ndrive: {{ motor: {{ no-load-speed: 9 rpm, stall-torque: 1 N m, \
             no-load-current: 60 mA, stall-current: 0.9 A{cells} }} }}\nstart: ramp\ncircuit:\n  \
             ramp: {{ ramp: {{ time: 1 s, places: 20 }}, to: wheel }}\n  \
             wheel: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg }}, to: ramp }}\n"
        ));
        let study = made_up.study(vec![made_up.run(0, |_| 1.0)]);
        made_up.said(&study, |writer| writer.battery())
    };
    let finding =
        battery(", cells: { kind: nimh-aa, count: 4, capacity: 1200 mAh }").expect("cells");
    assert_eq!(
        (finding.good, finding.text.as_str()),
        (true, "On 4 NiMH AA cells in series it runs about 20.0 h.")
    );
    assert_eq!(battery(""), None);
}

#[test]
fn hours_and_ends_are_said_in_words() {
    assert_eq!([0.5, 1.2].map(hours), ["30 min", "1 h 12 min"]);
    assert_eq!(
        in_brackets(&Estimate::interval(3.0, 2.0, 4.0), figure),
        " (95 % sure: 2 to 4)"
    );
    assert_eq!(in_brackets(&Estimate::point(3.0), figure), "");
}
