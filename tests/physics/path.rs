//! A marble's way along slides and tracks against curves measured in a general 3-D rigid-body engine (tests/truth/README.md)
//! and simple cases. Run with `--nocapture` to see the tables.

use crate::support::bench::{SMOOTH, close, deg, glass, line};
use crate::support::rows::Rows;
use marblewright::physics::G;
use marblewright::physics::bend::tip_off_speed_m_s;
use marblewright::physics::material::SurfaceProperties;
use marblewright::physics::path::{Halt, Passage, PathSegment, travel};
use marblewright::physics::rolling::Channel;

fn straight(length_m: f64, slope_deg: f64) -> PathSegment {
    PathSegment::Straight {
        length_m,
        slope_rad: deg(slope_deg),
    }
}

fn go(path: &[PathSegment], entry: f64) -> Result<Passage, Halt> {
    travel(
        path,
        entry,
        &Channel::Plane,
        &glass(0.014),
        &SurfaceProperties::WOOD,
    )
}

/// Passage of a row of corner_drop.csv with a backstop of this restitution.
fn fall_of(curve: &Rows, row: usize, restitution: f64) -> Passage {
    let mm = |name| curve.number(row, name) / 1e3;
    let fall = if curve.text(row, "kind") == "corner" {
        PathSegment::Corner {
            fall_m: mm("fall_mm"),
            gap_m: mm("gap_mm"),
            thickness_m: mm("thick_mm"),
            restitution,
        }
    } else {
        PathSegment::Drop {
            height_m: mm("fall_mm"),
        }
    };
    let path = [
        straight(
            curve.number(row, "upper_m"),
            curve.number(row, "slope1_deg"),
        ),
        fall,
        straight(
            curve.number(row, "lower_m"),
            curve.number(row, "slope2_deg"),
        ),
    ];
    let marble = glass(mm("dia_mm"));
    travel(
        &path,
        0.0,
        &Channel::Plane,
        &marble,
        &SurfaceProperties::WOOD,
    )
    .unwrap()
}

fn after_the_first(passage: &Passage) -> f64 {
    passage.time_s - passage.segment_times_s[0]
}

/// A drop within 1 % of the time after the edge. A corner within 10 %, and within 4 % on the average: the marble may rattle
/// between backstop and upper floor. Where it just clears the upper floor or just touches it, no single time holds: the
/// times over 10 % of the backstop's restitution bracket the curve.
#[test]
fn corners_and_drops_of_the_engine() {
    let curve = Rows::read(include_str!("../truth/corner_drop.csv"));
    println!("what (time after the edge)                               model     truth difference");
    let (mut drops, mut corners, mut grazing): (f64, Vec<f64>, usize) = (0.0, Vec::new(), 0);
    for row in 0..curve.rows.len() {
        let passage = fall_of(&curve, row, 0.5);
        let truth = curve.number(row, "t_end") - curve.number(row, "t_edge");
        let off = line(
            &curve.rows[row][..9].join(" "),
            after_the_first(&passage),
            truth,
        );
        if curve.text(row, "kind") == "drop" {
            drops = drops.max(off.abs());
            continue;
        }
        let times =
            [0.45, 0.475, 0.5, 0.525, 0.55].map(|e| after_the_first(&fall_of(&curve, row, e)));
        let low = times.iter().copied().fold(f64::INFINITY, f64::min);
        let high = times.iter().copied().fold(0.0, f64::max);
        if off.abs() > 10.0 {
            println!("    grazes: {low:.3} to {high:.3} s over the restitution");
            assert!(high > 1.3 * low && (0.96 * low..1.04 * high).contains(&truth));
            grazing += 1;
        } else {
            corners.push(off.abs());
        }
    }
    let worst = corners.iter().copied().fold(0.0, f64::max);
    let mean = corners.iter().sum::<f64>() / corners.len() as f64;
    println!(
        "drops: worst {drops:.2} %; corners: worst {worst:.2} %, mean {mean:.2} %, grazing {grazing}"
    );
    assert!(drops < 1.0 && mean < 4.0 && grazing <= 1);
}

/// Steps, over which a quick marble flies: within 2 % of the time after the edge.
#[test]
fn steps_of_the_engine() {
    let curve = Rows::read(include_str!("../truth/steps.csv"));
    println!("what (time after the edge)                               model     truth difference");
    for row in 0..curve.rows.len() {
        let steps = PathSegment::Steps {
            count: curve.number(row, "count") as usize,
            height_m: curve.number(row, "height_mm") / 1e3,
            run_m: curve.number(row, "run_m"),
            slope_rad: deg(curve.number(row, "slope2_deg")),
        };
        let upper = straight(
            curve.number(row, "upper_m"),
            curve.number(row, "slope1_deg"),
        );
        let marble = glass(curve.number(row, "dia_mm") / 1e3);
        let path = [upper, steps];
        let passage = travel(
            &path,
            0.0,
            &Channel::Plane,
            &marble,
            &SurfaceProperties::WOOD,
        )
        .unwrap();
        let truth = curve.number(row, "t_end") - curve.number(row, "t_edge");
        let off = line(
            &curve.rows[row][..7].join(" "),
            after_the_first(&passage),
            truth,
        );
        assert!(off.abs() < 2.0);
    }
}

/// An outer wall, within 5 % in time and 6 % in speed: a bend shorter than 65 degrees is over before the rubbing is.
#[test]
fn bends_of_the_engine() {
    let curve = Rows::read(include_str!("../truth/bend.csv"));
    println!("what                                                     model     truth difference");
    for row in 0..curve.rows.len() {
        let bend = PathSegment::Bend {
            radius_m: curve.number(row, "radius_mm") / 1e3,
            angle_rad: 0.995 * deg(curve.number(row, "angle_deg")),
            slope_rad: 0.0,
            energy_loss: None,
        };
        let marble = glass(curve.number(row, "dia_mm") / 1e3);
        let entry = curve.number(row, "v_in");
        let passage = travel(
            &[bend],
            entry,
            &Channel::Plane,
            &marble,
            &SurfaceProperties::WOOD,
        )
        .unwrap();
        let what = curve.rows[row][..4].join(" ");
        let time_off = line(
            &format!("{what}, time"),
            passage.time_s,
            curve.number(row, "time_s"),
        );
        let speed = passage.exit_speed_m_s;
        let speed_off = line(&format!("{what}, speed"), speed, curve.number(row, "v_out"));
        assert!(time_off.abs() < 5.0 && speed_off.abs() < 6.0);
    }
}

/// v^2 / (g R) <= tan of the contact angle: 16 mm on a 10 mm gap in a bend of 100 mm (quasi-static, recomputed).
#[test]
fn tip_off() {
    let rails = Channel::SharpRails { gap_m: 0.010 };
    let limit = tip_off_speed_m_s(rails.seat(0.008).unwrap(), 0.10);
    close("tip-off speed (m/s)", limit, 0.886092760, 1e-9);
    let bend = [PathSegment::Bend {
        radius_m: 0.10,
        angle_rad: 1.0,
        slope_rad: deg(1.0),
        energy_loss: None,
    }];
    let run = |entry| {
        travel(
            &bend,
            entry,
            &rails,
            &glass(0.016),
            &SurfaceProperties::WOOD,
        )
    };
    assert!(run(0.8).is_ok());
    assert!(matches!(run(0.95), Err(Halt::TipsOff { segment: 0, .. })));
}

#[test]
fn a_measured_bend_loss_is_kept() {
    let passage = travel(
        &[bend(0.1, 1.5, Some(0.36))],
        0.5,
        &Channel::Plane,
        &glass(0.014),
        &SMOOTH,
    )
    .unwrap();
    close(
        "0.5 m/s less 36 % of its energy (m/s)",
        passage.exit_speed_m_s,
        0.4,
        1e-9,
    );
}

#[test]
fn speed_is_carried_over() {
    let whole = go(&[straight(0.6, 4.0)], 0.0).unwrap();
    let halves = go(&[straight(0.2, 4.0), straight(0.4, 4.0)], 0.0).unwrap();
    close(
        "two straights as one (s)",
        halves.time_s,
        whole.time_s,
        1e-12,
    );
    let fresh = 2.0 * go(&[straight(0.3, 4.0)], 0.0).unwrap().time_s;
    assert!(fresh > 1.3 * whole.time_s);
}

#[test]
fn a_stall_is_found_where_it_is() {
    let path = [straight(0.3, 3.0), straight(8.0, 0.2)];
    let Err(Halt::Stall { segment, at_m }) = go(&path, 0.0) else {
        panic!("0.2 degrees is less than rolling resistance")
    };
    assert_eq!(segment, 1);
    // v^2/2a with v^2 = 2 x 0.3 x 7.0048 (sin 3 - c cos 3), a = 7.0048 (c cos 0.2 - sin 0.2), c = 0.04/7.
    close(
        "stalls at (m)",
        at_m,
        0.3 * (0.052336 - 0.0057064) / (0.0057142 - 0.0034907),
        1e-3,
    );
    assert!(matches!(
        go(&[straight(0.3, 0.2)], 0.0),
        Err(Halt::Stall {
            segment: 0,
            at_m: 0.0
        })
    ));
}

#[test]
fn steps_are_drops_and_treads() {
    let steps = PathSegment::Steps {
        count: 3,
        height_m: 0.010,
        run_m: 0.060,
        slope_rad: deg(2.0),
    };
    let drop = PathSegment::Drop { height_m: 0.010 };
    let tread = straight(0.060, 2.0);
    let as_steps = go(&[straight(0.1, 4.0), steps], 0.0).unwrap();
    let one_by_one = [straight(0.1, 4.0), drop, tread, drop, tread, drop, tread];
    let spelled = go(&one_by_one, 0.0).unwrap();
    close("three steps (s)", as_steps.time_s, spelled.time_s, 1e-12);
    assert!(as_steps.exit_speed_m_s > 0.1);
}

/// A last drop: the fall sqrt(2 h/g) after the marble has left the edge, fast enough to fly at once. Off a slope it has begun to
/// fall by then: h = v t + g t^2/2, from where its lowest point is, r (1 - cos) below the upright through the edge.
#[test]
fn a_last_drop_is_a_fall() {
    let passage = go(&[PathSegment::Drop { height_m: 0.05 }], 0.6).unwrap();
    close(
        "falls 50 mm (s)",
        passage.time_s,
        (2.0 * 0.05 / G).sqrt(),
        1e-9,
    );
    close(
        "keeps its speed along (m/s)",
        passage.exit_speed_m_s,
        0.6,
        1e-9,
    );
    for slope_deg in [0.0, 20.0] {
        let slope = [
            straight(0.1, slope_deg),
            PathSegment::Drop { height_m: 0.2 },
        ];
        let passage = travel(&slope, 1.0, &Channel::Plane, &glass(0.014), &SMOOTH).unwrap();
        let (sin, cos) = deg(slope_deg).sin_cos();
        let down = (1.0 + 2.0 * 5.0 / 7.0 * G * sin * 0.1).sqrt() * sin;
        let time_s = passage.segment_times_s[1];
        let fallen_m = down * time_s + G * time_s * time_s / 2.0;
        close(
            &format!("fall off {slope_deg} deg (m)"),
            fallen_m,
            0.2 - 0.007 * (1.0 - cos),
            1e-9,
        );
    }
}

#[test]
fn a_corner_too_narrow_is_refused() {
    let corner = |gap_m, fall_m| PathSegment::Corner {
        fall_m,
        gap_m,
        thickness_m: 0.006,
        restitution: 0.5,
    };
    let run = |c| go(&[straight(0.3, 4.0), c, straight(0.3, 4.0)], 0.0);
    assert!(run(corner(0.022, 0.030)).is_ok());
    assert!(matches!(
        run(corner(0.012, 0.030)),
        Err(Halt::Misfit { segment: 1, .. })
    ));
    assert!(matches!(
        run(corner(0.022, 0.018)),
        Err(Halt::Misfit { segment: 1, .. })
    ));
}

/// Past the slip limit a marble slides, faster than rolling would allow: g (sin - mu cos), and mu sqrt(2) between the flanks of a
/// square groove.
#[test]
fn steep_slopes_slide() {
    let ice = SurfaceProperties {
        sliding_friction: 0.05,
        ..SMOOTH
    };
    let square = Channel::Vee {
        angle_rad: deg(90.0),
    };
    let cases = [
        (Channel::Plane, 45.0, ice, 1.0),
        (Channel::Plane, 60.0, SurfaceProperties::WOOD, 1.0),
        (square, 60.0, SurfaceProperties::WOOD, 2f64.sqrt()),
    ];
    for (channel, slope_deg, surface, press) in cases {
        let passage = travel(
            &[straight(1.0, slope_deg)],
            0.0,
            &channel,
            &glass(0.014),
            &surface,
        )
        .unwrap();
        let (sin, cos) = deg(slope_deg).sin_cos();
        let a = G * (sin - press * surface.sliding_friction * cos);
        close(
            &format!("1 m at {slope_deg} deg in {channel:?} (s)"),
            passage.time_s,
            (2.0 / a).sqrt(),
            1e-9,
        );
    }
}

fn bend(radius_m: f64, angle_rad: f64, energy_loss: Option<f64>) -> PathSegment {
    PathSegment::Bend {
        radius_m,
        angle_rad,
        slope_rad: 0.0,
        energy_loss,
    }
}

/// A level bend that loses nothing takes the time of as long a straight, also where the marble falls into it.
#[test]
fn a_bend_without_loss_is_as_long_as_it_is() {
    let drop = PathSegment::Drop { height_m: 0.15 };
    let go = |middle: PathSegment| {
        travel(
            &[straight(0.1, 0.0), drop, middle, straight(0.5, 0.0)],
            0.8,
            &Channel::Plane,
            &glass(0.014),
            &SMOOTH,
        )
        .unwrap()
    };
    let (bent, plain) = (go(bend(0.5, 1.5, Some(0.0))), go(straight(0.75, 0.0)));
    let landing_s = plain.segment_times_s[2];
    assert!(landing_s > 0.2, "{landing_s} s with the fall");
    close("time with a bend (s)", bent.time_s, plain.time_s, 1e-9);
    close(
        "speed with a bend (m/s)",
        bent.exit_speed_m_s,
        plain.exit_speed_m_s,
        1e-9,
    );
}

/// Up a bend a marble stops where it has spent its energy, 7/10 v^2 = g h, the part of the bend it fell over included.
#[test]
fn a_stall_in_a_bend_is_where_the_energy_is_spent() {
    let rise_rad = deg(4.0);
    let up = |drop_m: f64, straight_too: bool| {
        let climb = if straight_too {
            PathSegment::Straight {
                length_m: 2.0,
                slope_rad: -rise_rad,
            }
        } else {
            PathSegment::Bend {
                radius_m: 1.0,
                angle_rad: 2.0,
                slope_rad: -rise_rad,
                energy_loss: Some(0.0),
            }
        };
        let path = [
            straight(0.1, 0.0),
            PathSegment::Drop { height_m: drop_m },
            climb,
        ];
        match travel(&path, 0.6, &Channel::Plane, &glass(0.014), &SMOOTH) {
            Err(Halt::Stall { segment: 2, at_m }) => at_m,
            other => panic!("{other:?}"),
        }
    };
    let spent_m = 0.7 * 0.6 * 0.6 / (G * libm::sin(rise_rad));
    // Known to one of the hundred parts in which a bend is gone through.
    assert!(
        (up(0.0, false) - spent_m).abs() < 0.021,
        "{} m, not {spent_m}",
        up(0.0, false)
    );
    let (bent, plain) = (up(0.15, false), up(0.15, true));
    assert!(
        (bent - plain).abs() < 0.021,
        "{bent} m in the bend, {plain} m on the straight"
    );
    assert!(plain > 0.2);
}

/// A wall's spin goes with the marble: two bends one way are one as long, either way round alike; turned back it is slower.
#[test]
fn bends_one_after_the_other_are_one_bend() {
    let out = |angles: &[f64]| {
        let path: Vec<PathSegment> = angles
            .iter()
            .map(|&angle_rad| bend(0.15, angle_rad, None))
            .collect();
        travel(&path, 0.9, &Channel::Plane, &glass(0.014), &SMOOTH).unwrap()
    };
    for side in [1.0, -1.0] {
        let (two, one) = (out(&[side * 0.4, side * 0.4]), out(&[side * 0.8]));
        close(
            "speed after two bends (m/s)",
            two.exit_speed_m_s,
            one.exit_speed_m_s,
            2e-3,
        );
        close("time in two bends (s)", two.time_s, one.time_s, 2e-3);
        assert_eq!(
            out(&[side * 0.8, side * 0.8]).exit_speed_m_s,
            out(&[0.8, 0.8]).exit_speed_m_s
        );
    }
    assert!(out(&[0.8, -0.8]).exit_speed_m_s < 0.99 * out(&[0.8, 0.8]).exit_speed_m_s);
}

#[test]
fn a_bend_without_a_radius_is_refused() {
    for radius_m in [0.0, -0.1, f64::INFINITY, f64::NAN] {
        let halt = go(&[bend(radius_m, 1.0, None)], 0.5);
        assert!(
            matches!(halt, Err(Halt::Misfit { segment: 0, .. })),
            "{radius_m}: {halt:?}"
        );
    }
}
