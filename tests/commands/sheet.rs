//! The bench sheet of every scenario, and the directions a maker expects of dimensions.

use crate::support::{machine, scenarios};
use marblewright::circuit::draw::seconds;
use marblewright::circuit::{self, Circuit};
use marblewright::sheet::face::faces;
use marblewright::sheet::{Row, RowVerdict, Section, Units, sheet};

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

fn starter(settings: &[(&str, &str)]) -> Circuit {
    circuit::circuit(&machine(STARTER, settings))
}

fn travel_s(circuit: &Circuit, name: &str) -> f64 {
    let plan = circuit
        .nodes
        .iter()
        .find(|plan| plan.name == name)
        .expect("an element");
    seconds(plan.travel[0].quantile(0.5))
}

/// Share of a line that passing pockets take, as a close look sees it.
fn take(settings: &[(&str, &str)]) -> f64 {
    let circuit = starter(settings);
    circuit.nodes[1]
        .looked()
        .expect("a wheel that is looked at")
        .counts
        .line()
        .shares()
        .take
}

#[test]
fn a_steeper_slope_is_quicker() {
    let gentle = starter(&[("circuit.ramp.slope", "3 deg")]);
    let steep = starter(&[("circuit.ramp.slope", "6 deg")]);
    assert!(travel_s(&steep, "ramp") < 0.8 * travel_s(&gentle, "ramp"));
    assert!(
        steep.nodes[0].entrance_delay < gentle.nodes[0].entrance_delay,
        "its file moves up sooner, too"
    );
}

#[test]
fn a_slope_too_shallow_stalls() {
    assert!(starter(&[("circuit.ramp.slope", "0.1 deg")]).nodes[0].stalls);
    assert!(!starter(&[]).nodes[0].stalls);
}

/// A third of the floor covered by circles of the marble's width, at the packing that common practice gives.
#[test]
fn a_floor_holds_what_its_area_allows() {
    let floor = |settings: &[(&str, &str)]| {
        let circuit = starter(settings);
        circuit
            .nodes
            .iter()
            .find(|plan| plan.kind == "return-floor")
            .expect("a floor")
            .places()
            .expect("a room")
    };
    let settings = [
        ("circuit.floor.width", "600 mm"),
        ("circuit.floor.depth", "400 mm"),
        ("marbles.diameter", "14 mm"),
    ];
    // 600 * 400 / 3 * 0.8 = 64,000 mm2, over 49 pi = 153.94 mm2 a marble.
    assert_eq!(floor(&settings), 415);
}

/// Two slides lead to one track: out of the long one marbles come faster, and are through sooner.
#[test]
fn a_line_that_several_feed_is_told_with_all_their_times() {
    let text = "format: 1\nmarbles: { count: 4, diameter: 16 mm }\nstart: gate\ncircuit:\n  \
                gate: { peg: { drop: 20 mm }, to: [short, long] }\n  \
                short: { slide: { length: 100 mm, slope: 3 deg }, to: track }\n  \
                long: { slide: { length: 400 mm, slope: 3 deg }, to: track }\n  \
                track: { track: { length: 500 mm, slope: 3 deg }, to: none }\n";
    let all = sheet(&machine(text, &[]), Units::Millimetres);
    let track = all
        .iter()
        .find(|section| section.title.starts_with("track"))
        .expect("a track");
    let row = track
        .rows
        .iter()
        .find(|row| row.label == "rolls through in")
        .expect("a time");
    assert!(row.value.ends_with("s, by where they come from"), "{row:?}");
    let [least, most] = [0, 1].map(|n| row.figures[n].value);
    assert!(least < most && most < 2.0, "{row:?}");
}

#[test]
fn who_lands_in_the_valley_is_home_before_who_lands_beside_it() {
    let home_s = |across: &str| {
        let to = format!("{{ floor: {{ at: [{across}, 125 mm], spread: 5 mm, heading: 0 deg }} }}");
        travel_s(&starter(&[("circuit.zig-zag.to", &to)]), "floor")
    };
    let (left, middle, right) = (home_s("30 mm"), home_s("150 mm"), home_s("270 mm"));
    assert!(
        middle < 0.9 * left && middle < 0.9 * right,
        "{left} s, {middle} s, {right} s"
    );
}

/// With the speed of the track's end, half a metre a second and more, they go straight to the mouth or by the back wall first.
#[test]
fn who_heads_for_the_mouth_is_home_before_who_heads_away() {
    let home_s = |heading: &str| {
        let to = format!("{{ floor: {{ at: [150 mm, 125 mm], spread: 5 mm{heading} }} }}");
        travel_s(&starter(&[("circuit.zig-zag.to", &to)]), "floor")
    };
    let (to_it, away) = (home_s(", heading: 0 deg"), home_s(", heading: 180 deg"));
    let silent = home_s("");
    assert!(to_it < 0.7 * away, "{to_it} s, {away} s");
    assert_eq!(silent, away);
}

#[test]
fn a_faster_wheel_takes_less_and_a_larger_bore_more() {
    let (slow, fast) = (take(&[("rpm", "5")]), take(&[("rpm", "12")]));
    assert!(slow > fast + 0.2, "{slow} at 5 rpm, {fast} at 12 rpm");
    let wide = take(&[("rpm", "7"), ("circuit.wheel.bore", "23 mm")]);
    let narrow = take(&[("rpm", "7"), ("circuit.wheel.bore", "19 mm")]);
    assert!(
        wide > narrow + 0.2,
        "{wide} in a wide bore, {narrow} in a narrow one"
    );
}

#[test]
fn more_tilt_lets_go_lower() {
    let lift = |tilt: &str| {
        starter(&[("circuit.wheel.tilt", tilt)]).nodes[1]
            .wheel()
            .expect("a wheel")
            .lift
    };
    assert!(lift("10 deg") < lift("5 deg"));
}

#[test]
fn pockets_off_their_circle_take_less() {
    let (true_, rough) = (
        take(&[("rpm", "6"), ("circuit.wheel.pitch-error", "0 mm")]),
        take(&[("rpm", "6"), ("circuit.wheel.pitch-error", "4 mm")]),
    );
    assert!(
        true_ > rough + 0.05,
        "{true_} on the circle, {rough} off it"
    );
}

const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");
const TIDE_CLOCK: &str = include_str!("../../scenarios/tide-clock.yaml");

/// The row of a label in the section of a title.
fn row(sections: &[Section], title: &str, label: &str) -> Row {
    let section = sections
        .iter()
        .find(|section| section.title.starts_with(title))
        .expect("the section");
    section
        .rows
        .iter()
        .find(|row| row.label == label)
        .unwrap_or_else(|| panic!("{title}: no {label}"))
        .clone()
}

/// Rows that tell of close looks.
const LOOKED: [&str; 4] = [
    "each pocket at the ramp",
    "takes of a line at",
    "fill, marbles waiting",
    "wedges marbles",
];
/// Saves the close looks where none of their rows is asked for.
const MEASURED: (&str, &str) = ("circuit.wheel.pick-up", "{ take: 1 }");

/// That row of the starter machine with settings.
fn starter_row(settings: &[(&str, &str)], title: &str, label: &str) -> Row {
    let settings = [
        settings,
        if LOOKED.contains(&label) {
            &[]
        } else {
            &[MEASURED]
        },
    ]
    .concat();
    row(
        &sheet(&machine(STARTER, &settings), Units::Millimetres),
        title,
        label,
    )
}

/// The first number of a text.
fn number(text: &str) -> f64 {
    let from = text.find(|c: char| c.is_ascii_digit()).expect("a number");
    let start = if from > 0 && text.as_bytes()[from - 1] == b'-' {
        from - 1
    } else {
        from
    };
    let end = text[from..]
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .map_or(text.len(), |n| from + n);
    text[start..end]
        .trim_end_matches('.')
        .parse()
        .expect("a number")
}

/// What a wheel of 14 pockets on a circle of 95 mm radius is by plain geometry: 2 x 95 x sin(180/14) = 42.28 mm from
/// centre to centre, 21.28 mm of web beside a bore of 21 mm, 360/14 = 25.7 degrees, 2 pi 95 / 20 s = 29.8 mm/s at 3 rpm.
#[test]
fn pockets_are_where_geometry_puts_them() {
    for (label, value) in [
        ("pocket spacing", "42.3 mm"),
        ("web between pockets", "21.3 mm"),
        ("indexing angle", "25.7 deg"),
        ("rim speed", "30 mm/s"),
    ] {
        assert_eq!(starter_row(&[], "wheel", label).value, value);
    }
}

/// One value that is fine, one that is tight, one that won't work.
#[test]
fn verdicts_turn_at_their_margins() {
    let cases = [
        (
            "circuit.wheel.pockets",
            ["14", "24", "27"],
            "wheel",
            "web between pockets",
        ),
        (
            "circuit.wheel.bore",
            ["21 mm", "18 mm", "16.5 mm"],
            "wheel",
            "bore of a pocket",
        ),
        (
            "circuit.wheel.depth",
            ["17 mm", "10 mm", "7.9 mm"],
            "wheel",
            "depth of a pocket",
        ),
        (
            "circuit.ramp.slope",
            ["4 deg", "0.6 deg", "0.2 deg"],
            "ramp",
            "shallowest slope",
        ),
        (
            "circuit.floor.mouth",
            ["36 mm", "24 mm", "18 mm"],
            "floor",
            "mouth",
        ),
        (
            "circuit.floor.fall",
            ["30 mm", "45 mm", "80 mm"],
            "heights",
            "height left over",
        ),
    ];
    for (key, values, title, label) in cases {
        for (value, verdict) in
            values
                .iter()
                .zip([RowVerdict::Fine, RowVerdict::Tight, RowVerdict::WontWork])
        {
            // With what they bring from the floor marbles roll on where it is too shallow.
            let settings = [(key, *value), ("circuit.ramp.entry-speed", "0 m/s")];
            let row = starter_row(&settings, title, label);
            assert_eq!(row.verdict, verdict, "{key} {value}: {row:?}");
            assert_eq!(row.help.is_empty(), verdict == RowVerdict::Fine, "{row:?}");
        }
    }
}

/// A wall that stops half a marble short holds marbles against the guide.
#[test]
fn a_short_cut_wedges_marbles_and_a_long_one_does_not() {
    let row = |cut: &str| {
        starter_row(
            &[("circuit.wheel.cut-back", cut)],
            "wheel",
            "wedges marbles",
        )
    };
    let (short, long) = (row("8 mm"), row("24 mm"));
    assert_eq!(
        (short.verdict, long.verdict),
        (RowVerdict::WontWork, RowVerdict::Fine),
        "{short:?} {long:?}"
    );
}

#[test]
fn figures_move_the_way_a_maker_expects() {
    let value = |settings: &[(&str, &str)], title: &str, label: &str| {
        number(&starter_row(settings, title, label).value)
    };
    let release = |settings: &[(&str, &str)]| value(settings, "wheel", "release");
    assert!(
        release(&[("circuit.wheel.guide", "150 deg")])
            > release(&[("circuit.wheel.guide", "130 deg")])
    );
    let lifted = |guide: &str| {
        value(
            &[("circuit.wheel.guide", guide)],
            "heights",
            "lifted in a lap",
        )
    };
    assert!(lifted("150 deg") > lifted("130 deg") + 5.0);
    let falls = |slope: &str| {
        value(
            &[("circuit.ramp.slope", slope)],
            "heights",
            "falls in a lap",
        )
    };
    // 300 mm at 6 degrees fall 10.4 mm more than at 4.
    assert!((falls("6 deg") - falls("4 deg") - 10.4).abs() < 0.11);
    let top = |tilt: &str| {
        let row = starter_row(&[("circuit.wheel.tilt", tilt)], "wheel", "leaves");
        number(row.value.trim_start_matches("in time up to "))
    };
    assert!(
        top("9 deg") > top("5 deg"),
        "more tilt lets a wheel turn faster"
    );
    let torque = |pockets: &str| {
        value(
            &[("circuit.wheel.pockets", pockets)],
            "wheel",
            "torque to lift",
        )
    };
    assert!(torque("20") > torque("10"));
}

/// A mouth that ends too early loses marbles, and says up to which speed it would not.
#[test]
fn the_slides_mouth_must_not_end_before_marbles_are_out() {
    let with =
        |end: &str, label: &str| starter_row(&[("circuit.wheel.mouth-ends", end)], "wheel", label);
    assert_eq!(with("160 deg", "in time").verdict, RowVerdict::Fine);
    assert_eq!(with("146 deg", "in time").verdict, RowVerdict::WontWork);
    assert_eq!(with("146 deg", "leaves").verdict, RowVerdict::WontWork);
}

/// What the demo machine's slide falls is what its lower wheel's exit stands above the upper wheel's entry: 210 mm at 5
/// degrees are 18.3 mm, and 2 mm for workmanship.
#[test]
fn the_exit_stands_above_the_next_entry_by_the_fall_between() {
    let sections = sheet(&machine(DEMO, &[]), Units::Millimetres);
    let step = row(&sections, "lower-wheel", "exit must stand at least");
    assert!(
        step.value
            .starts_with("20.3 mm above where `upper-wheel` picks up"),
        "{step:?}"
    );
    // Lower exit 95.7 mm over its axle, down 20.3 mm, up 110 + 10.5 mm to the next axle.
    assert!(
        step.value
            .contains("its axle at most 195.9 mm above this one"),
        "{step:?}"
    );
}

/// Drilled twice the same way is drawn once.
#[test]
fn wheels_drilled_alike_have_one_face() {
    let alike = [
        ("circuit.upper-wheel.pitch-radius", "130 mm"),
        ("circuit.upper-wheel.gear", "1"),
    ];
    let names = |settings: &[(&str, &str)]| -> Vec<Vec<String>> {
        faces(&machine(DEMO, settings))
            .into_iter()
            .map(|face| face.names)
            .collect()
    };
    assert_eq!(names(&alike), [["lower-wheel", "upper-wheel"]]);
    assert_eq!(names(&[]).len(), 2);
    assert!(
        faces(&machine(
            include_str!("../../scenarios/harbour-weir.yaml"),
            &[]
        ))
        .is_empty(),
        "no dimensions, no face"
    );
}

#[test]
fn inches_are_told_as_on_a_tape_and_both_systems_agree() {
    let sections = |units| sheet(&machine(TIDE_CLOCK, &[MEASURED]), units);
    assert_eq!(
        row(&sections(Units::Inches), "marbles", "diameter").value,
        "5/8 in"
    );
    assert_eq!(
        row(&sections(Units::Inches), "wheel", "pocket spacing").value,
        "1.658 in (1 21/32)"
    );
    assert_eq!(
        row(&sections(Units::Both), "wheel", "pocket spacing").value,
        "42.1 mm = 1.658 in (1 21/32)"
    );
}

/// Common practice, no source: a tilt of about seven degrees lets an unguided marble out between half and three quarters of
/// the height, about 60 % up at slow speed.
#[test]
fn seven_degrees_let_go_about_sixty_per_cent_up() {
    let unguided = |rpm: &str| {
        let text = STARTER.replace(", guide: 140 deg", "");
        let sections = sheet(
            &machine(&text, &[("rpm", rpm), MEASURED]),
            Units::Millimetres,
        );
        let text = row(&sections, "wheel", "release").value;
        number(text.split("up, ").nth(1).expect("a share"))
    };
    assert!((57.0..65.0).contains(&unguided("3")), "{}", unguided("3"));
    assert!(
        ["2", "6", "10"]
            .iter()
            .all(|rpm| (50.0..75.0).contains(&unguided(rpm)))
    );
}

/// Common practice, no source: a bore of 1.2 to 1.45 marbles works, a pocket off its circle skips or jams, and a floor that
/// falls 6 to 13 mm over its width brings marbles home.
#[test]
fn the_sheet_keeps_the_facts_of_the_craft() {
    let pick_up = |bore| {
        let set = [("circuit.wheel.bore", bore)];
        starter_row(&set, "wheel", "each pocket at the ramp")
    };
    for bore in ["19.2 mm", "21 mm"] {
        assert_eq!(pick_up(bore).verdict, RowVerdict::Fine, "{bore}");
    }
    // At the very end of the range a pocket in some thousand wedges a marble (2 of 3,192).
    let widest = pick_up("23.2 mm");
    assert_ne!(widest.verdict, RowVerdict::WontWork);
    assert!(
        widest.value.starts_with("takes 100 % of a line"),
        "{}",
        widest.value
    );
    let rough = starter_row(
        &[("circuit.wheel.pitch-error", "3 mm"), ("rpm", "6")],
        "wheel",
        "each pocket at the ramp",
    );
    assert_ne!(rough.verdict, RowVerdict::Fine, "{rough:?}");
    for fall_mm in [6.0, 13.0] {
        let pitch = format!("{} deg", libm::atan(fall_mm / 150.0_f64).to_degrees());
        let text = starter_row(
            &[("circuit.floor.cross-pitch", &pitch)],
            "floor",
            "cross pitch",
        );
        assert_eq!(text.verdict, RowVerdict::Fine, "{text:?}");
    }
    let flat = starter_row(
        &[("circuit.floor.cross-pitch", "0.3 deg")],
        "floor",
        "cross pitch",
    );
    assert_ne!(flat.verdict, RowVerdict::Fine, "{flat:?}");
}

/// A motor that cannot turn its wheel says so.
#[test]
fn a_motor_too_weak_does_not_turn() {
    let weak = [("drive.motor.stall-torque", "0.3 kg cm"), MEASURED];
    let sections = sheet(&machine(TIDE_CLOCK, &weak), Units::Millimetres);
    assert_eq!(
        row(&sections, "drive", "load of lifting").verdict,
        RowVerdict::WontWork
    );
    assert_eq!(
        row(&sections, "wheel", "speed").verdict,
        RowVerdict::WontWork
    );
}

/// Gears by the textbook: module 2, 12 on 48 teeth are 60 mm apart and 4 to 1; 12 teeth are undercut.
#[test]
fn gears_are_sized_and_judged() {
    let geared = [
        ("drive.motor.teeth", "[12, 48]"),
        ("drive.motor.module", "2 mm"),
    ];
    let sections = sheet(&machine(TIDE_CLOCK, &geared), Units::Millimetres);
    let gears = row(&sections, "drive", "motor's gears");
    assert_eq!(
        (gears.value.as_str(), gears.verdict),
        ("12 on 48 teeth, 4.000 to 1", RowVerdict::Tight)
    );
    assert!(
        row(&sections, "drive", "gears' sizes")
            .value
            .starts_with("axles 60.0 mm apart; 28.0 mm over the tips (24.0 mm pitch)")
    );
    assert!(row(&sections, "drive", "module").value.contains("ISO 54"));
}

/// A bowl by dimensions: how fast marbles circle it, how crowded it gets, and whether its holes arch.
#[test]
fn a_bowl_by_dimensions_tells_how_crowded_it_gets() {
    let text = DEMO.replace(
        "bowl: { swirl: { lognormal: { mean: 3.2 s, cv: 0.35 } }, shares: [2, 2, 1], room: 16, hole-time: 0.15 s }",
        "bowl: { width: 200 mm, depth: 40 mm, hole: 22 mm, hole-circle: 30 mm }",
    );
    let rows = |hole: &str| {
        let sections = sheet(
            &machine(&text.replace("hole: 22 mm", hole), &[]),
            Units::Millimetres,
        );
        (
            row(&sections, "bowl", "lifts full"),
            row(&sections, "bowl", "holes"),
        )
    };
    let (crowd, holes) = rows("hole: 22 mm");
    assert!(
        number(&crowd.value) > 1.0 && holes.value.contains("1.47 marbles"),
        "{crowd:?} {holes:?}"
    );
}

#[test]
fn every_scenario_has_a_sheet_without_holes() {
    for path in scenarios() {
        let machine = machine(&std::fs::read_to_string(&path).expect("text"), &[]);
        for units in [Units::Millimetres, Units::Inches, Units::Both] {
            let sections = sheet(&machine, units);
            assert!(sections.len() > 2, "{}", path.display());
            for row in sections.iter().flat_map(|section| &section.rows) {
                let holes = ["NaN", "inf", "None"]
                    .iter()
                    .any(|hole| row.value.contains(hole));
                assert!(
                    !holes && !row.value.is_empty(),
                    "{}: {row:?}",
                    path.display()
                );
            }
        }
    }
}
