//! A marble off an edge, skidding, and back up to a backstop, against textbook mechanics and against its equations of motion
//! in small steps. Run with `--nocapture` to see the tables.

use crate::support::bench::{SMOOTH, close, deg};
use marblewright::physics::G;
use marblewright::physics::bend::spin_left_m_s;
use marblewright::physics::flight::{
    CornerGeometry, FallingMarble, ImpactFloor, LandingOutcome, SETTLED_M, land, over_edge,
};
use marblewright::physics::material::SurfaceProperties;
use marblewright::physics::rolling::{Channel, Seat, acceleration};

const RADIUS_M: f64 = 0.008;

fn vee() -> Seat {
    Channel::Vee {
        angle_rad: deg(90.0),
    }
    .seat(RADIUS_M)
    .expect("a seat")
}

fn floor(slope_rad: f64, seat: Seat) -> ImpactFloor {
    ImpactFloor {
        slope_rad,
        length_m: 2.0,
        seat,
        corner: None,
    }
}

/// A marble on the floor, `at_m` along it.
fn on(floor: &ImpactFloor, at_m: f64, speed_m_s: f64, spin: f64) -> FallingMarble {
    let (sin, cos) = floor.slope_rad.sin_cos();
    let h = RADIUS_M * floor.seat.radius_ratio;
    FallingMarble {
        x_m: at_m * cos + h * sin,
        z_m: h * cos - at_m * sin,
        x_speed: speed_m_s * cos,
        z_speed: -speed_m_s * sin,
        spin,
    }
}

fn rolls(landing: LandingOutcome) -> (f64, f64) {
    match landing {
        LandingOutcome::Rolls { at_m, speed_m_s } => (at_m, speed_m_s),
        LandingOutcome::FliesOver(ball) => panic!("it flies: {ball:?}"),
    }
}

/// Textbook: a ball set down on a level plane without spin at v rolls after t = 2 v/(7 mu g), 12 v^2/(49 mu g) on, at 5/7 v;
/// a ball that rolled at once would be 2 v^2/(49 mu g) behind.
#[test]
fn set_down_without_spin() {
    let level = floor(0.0, Seat::PLANE);
    let surface = SurfaceProperties {
        sliding_friction: 0.2,
        ..SMOOTH
    };
    let (at_m, speed) = rolls(land(on(&level, 0.05, 0.5, 0.0), &level, RADIUS_M, &surface).1);
    close("speed (m/s)", speed, 0.357142857, 1e-8);
    close(
        "ahead of one that rolled at once (m)",
        at_m - 0.05,
        0.031215802 - 0.357142857 * 0.072836872,
        1e-6,
    );
}

/// In a groove the flanks press harder and the marble turns faster: skidding step by step until the contact stands still.
#[test]
fn set_down_in_a_groove() {
    for (seat, slope, speed_m_s, spin) in [
        (vee(), 0.0, 0.5, 0.0),
        (vee(), 4.0, 0.3, 20.0),
        (Seat::PLANE, 6.0, 0.2, -10.0),
    ] {
        let slope_rad = deg(slope);
        let groove = floor(slope_rad, seat);
        let (rho, r) = (seat.radius_ratio, RADIUS_M);
        let grip = SMOOTH.sliding_friction * seat.load_ratio * G * libm::cos(slope_rad);
        let (mut v, mut w, mut way_m, mut time_s) = (speed_m_s, spin, 0.0, 0.0);
        const STEP_S: f64 = 1e-7;
        while v - rho * r * w > 0.0 {
            v -= grip * STEP_S;
            w += 2.5 * rho / r * grip * STEP_S;
            way_m += v * STEP_S;
            time_s += STEP_S;
        }
        let (at_m, rolling) = rolls(land(on(&groove, 0.1, speed_m_s, spin), &groove, r, &SMOOTH).1);
        let what = format!("at {slope} degrees, {spin} rad/s");
        close(&format!("speed {what}"), rolling, v, 1e-4);
        close(
            &format!("ahead {what}"),
            at_m - 0.1,
            way_m - v * time_s,
            1e-3,
        );
    }
}

/// A marble rolling up a slope comes to rest after v/a and v^2/(2 a), its own speed once it rolls.
#[test]
fn uphill_it_comes_to_rest() {
    for seat in [Seat::PLANE, vee()] {
        let up = floor(deg(3.0), seat);
        let h = RADIUS_M * seat.radius_ratio;
        let (time_s, landing) = land(
            on(&up, 0.5, -0.3, -0.3 / h),
            &up,
            RADIUS_M,
            &SurfaceProperties::WOOD,
        );
        let a = -acceleration(deg(-3.0), seat, RADIUS_M, &SurfaceProperties::WOOD);
        let (at_m, speed) = rolls(landing);
        close("time to rest uphill (s)", time_s, 0.3 / a, 1e-9);
        close(
            "way to rest uphill (m)",
            0.5 - at_m,
            0.3 * 0.3 / (2.0 * a),
            1e-9,
        );
        assert_eq!(speed, 0.0);
    }
}

/// A marble that rolls square into an upright wall leaves it at e v, still turning the other way, and rolls at (5 e - 2)/7 v
/// once the floor has stopped the slip (a usual exercise; the wall is smooth).
#[test]
fn rolling_into_the_backstop() {
    let (u, e, mu) = (0.4, 0.9, 0.3);
    let turn = CornerGeometry {
        gap_m: 0.5,
        fall_m: 0.2,
        thickness_m: 0.01,
        slope_rad: 0.0,
        restitution: e,
    };
    let floor = ImpactFloor {
        corner: Some(turn),
        ..floor(0.0, Seat::PLANE)
    };
    let surface = SurfaceProperties {
        sliding_friction: mu,
        hit_grip: 0.0,
        ..SMOOTH
    };
    let (time_s, landing) = land(
        on(&floor, 0.1, -u, -u / RADIUS_M),
        &floor,
        RADIUS_M,
        &surface,
    );
    let (at_m, speed) = rolls(landing);
    close("time to the wall (s)", time_s, (0.1 - RADIUS_M) / u, 1e-6);
    close(
        "speed off the wall (m/s)",
        speed,
        (5.0 * e - 2.0) / 7.0 * u,
        1e-6,
    );
    let slip = (1.0 + e) * u;
    close(
        "way off the wall (m)",
        at_m,
        RADIUS_M + 2.0 * slip * slip / (49.0 * mu * G),
        1e-6,
    );
}

/// On a slope it is slower at the wall by the work of the climb; a wall that takes all its speed leaves it there.
#[test]
fn uphill_into_the_backstop() {
    for (seat, slope) in [(Seat::PLANE, 3.0), (vee(), 8.0)] {
        let turn = CornerGeometry {
            gap_m: 0.5,
            fall_m: 0.2,
            thickness_m: 0.01,
            slope_rad: 0.0,
            restitution: 0.0,
        };
        let floor = ImpactFloor {
            corner: Some(turn),
            ..floor(deg(slope), seat)
        };
        // Without grip at the hit it does not climb the wall, and no hit takes any of its spin.
        let surface = SurfaceProperties {
            restitution: 0.0,
            hit_grip: 0.0,
            ..SMOOTH
        };
        let h = RADIUS_M * seat.radius_ratio;
        let a = -acceleration(deg(-slope), seat, RADIUS_M, &surface);
        // The side of the marble meets the wall before its contact does.
        let room_m = 0.2 + (h * libm::sin(deg(slope)) - RADIUS_M) / libm::cos(deg(slope));
        for u in [1.01, 1.5].map(|over| over * (2.0 * a * room_m).sqrt()) {
            let (time_s, landing) = land(on(&floor, 0.2, -u, -u / h), &floor, RADIUS_M, &surface);
            let there = (u * u - 2.0 * a * room_m).sqrt();
            let (at_m, speed) = rolls(landing);
            assert!(
                (0.2 - room_m - at_m).abs() < 0.02 * room_m && speed.abs() < 0.5 * there,
                "{at_m} m, {speed} m/s"
            );
            // The wall takes the speed along the level, not the climb: it drops back, still turning, which sends it up again
            // at 1 - share (1 + sin^2) of the speed (momentum about the contact), until it no more than rolls.
            let (sin, cos) = deg(slope).sin_cos();
            let (mut climb, mut hops_s) = (there * sin, 0.0);
            while climb * climb * cos / (2.0 * G) >= SETTLED_M {
                hops_s += 2.0 * climb / G;
                climb *= 1.0 - seat.rolling_share() * (1.0 + sin * sin);
            }
            close(
                &format!("time to rest at the wall from {u:.3} m/s (s)"),
                time_s,
                (u - there) / a + hops_s,
                1e-4,
            );
        }
    }
}

/// A ball that drills at the contact is held by the couple p m g; its rim loses (couple / inertia) r a second, until it stands.
#[test]
fn drilling_friction_takes_the_side_spin() {
    let surface = SurfaceProperties {
        drilling_lever_m: 2e-5,
        ..SMOOTH
    };
    let (mass_kg, inertia_kg_m2) = (0.0054, 0.4 * 0.0054 * RADIUS_M * RADIUS_M);
    let lost_m_s2 = 2e-5 * mass_kg * G / inertia_kg_m2 * RADIUS_M;
    close(
        "rim speed left (m/s)",
        spin_left_m_s(0.3, 2.0, RADIUS_M, &surface),
        0.3 - 2.0 * lost_m_s2,
        1e-9,
    );
    close(
        "the other way round",
        spin_left_m_s(-0.3, 2.0, RADIUS_M, &surface),
        -0.3 + 2.0 * lost_m_s2,
        1e-9,
    );
    assert_eq!(spin_left_m_s(0.3, 100.0, RADIUS_M, &surface), 0.0);
}

/// Textbook: a solid sphere pivoting from rest about an edge parts from it at cos T = 10/17, at v^2 = (10/17) g r.
#[test]
fn creeping_over_an_edge() {
    let (_, ball) = over_edge(0.0, 0.0, Seat::PLANE, RADIUS_M);
    let lean = libm::atan(ball.x_m / ball.z_m);
    close("lean (cos)", libm::cos(lean), 10.0 / 17.0, 1e-4);
    let speed = ball.x_speed.hypot(ball.z_speed);
    close(
        "speed (m/s)",
        speed,
        (10.0 / 17.0 * G * RADIUS_M).sqrt(),
        1e-4,
    );
    close(
        "it moves square to the lean",
        -ball.z_speed / ball.x_speed,
        libm::tan(lean),
        1e-9,
    );
    close("spin (rad/s)", ball.spin, speed / RADIUS_M, 1e-9);
}

/// The pivot in small steps: lean'' = share g sin(lean)/h until the edge would have to pull, lean'^2 h > g cos(lean).
#[test]
fn the_pivot_takes_its_time() {
    for (seat, slope, entry) in [
        (Seat::PLANE, 0.0, 0.05),
        (Seat::PLANE, 5.0, 0.15),
        (vee(), 3.0, 0.02),
        (vee(), 10.0, 0.2),
    ] {
        let h = RADIUS_M * seat.radius_ratio;
        let (mut lean, mut rate, mut steps) = (deg(slope), entry / h, 0);
        const STEP_S: f64 = 1e-7;
        while rate * rate * h < G * libm::cos(lean) {
            rate += seat.rolling_share() * G * libm::sin(lean) / h * STEP_S;
            lean += rate * STEP_S;
            steps += 1;
        }
        let (time_s, ball) = over_edge(entry, deg(slope), seat, RADIUS_M);
        close(
            &format!("time over the edge at {entry} m/s, {slope} degrees (s)"),
            time_s,
            steps as f64 * STEP_S,
            2e-4,
        );
        close("  x (m)", ball.x_m, h * libm::sin(lean), 2e-4);
        close("  z (m)", ball.z_m, h * libm::cos(lean), 2e-4);
        close(
            "  along (m/s)",
            ball.x_speed,
            rate * h * libm::cos(lean),
            2e-4,
        );
        close(
            "  down (m/s)",
            -ball.z_speed,
            rate * h * libm::sin(lean),
            2e-4,
        );
    }
    let (time_s, ball) = over_edge(1.0, 0.0, Seat::PLANE, RADIUS_M);
    assert_eq!(
        (time_s, ball.x_m, ball.x_speed),
        (0.0, 0.0, 1.0),
        "a fast marble flies at once"
    );
}

/// A marble that rolled uphill into a springy wall on a smooth slope hops off it: along the level it goes back by the
/// restitution, its climb it keeps, and the next touch of the floor takes what is square to that.
#[test]
fn uphill_off_a_springy_backstop() {
    let (slope_rad, e, u) = (deg(20.0), 0.9, 1.6);
    let turn = CornerGeometry {
        gap_m: 0.5,
        fall_m: 0.3,
        thickness_m: 0.01,
        slope_rad: 0.0,
        restitution: e,
    };
    let floor = ImpactFloor {
        corner: Some(turn),
        ..floor(slope_rad, Seat::PLANE)
    };
    let surface = SurfaceProperties {
        restitution: 0.0,
        sliding_friction: 0.0,
        ..SMOOTH
    };
    let (_, landing) = land(
        on(&floor, 0.2, -u, -u / RADIUS_M),
        &floor,
        RADIUS_M,
        &surface,
    );
    let (sin, cos) = slope_rad.sin_cos();
    let room_m = 0.2 + (RADIUS_M * sin - RADIUS_M) / cos;
    let there = (u * u - 2.0 * 5.0 / 7.0 * G * sin * room_m).sqrt();
    let (level, up) = (e * there * cos, there * sin);
    let hop_s = 2.0 * (level * sin + up * cos) / (G * cos);
    let along = level * cos - up * sin + G * sin * hop_s;
    let expected = 5.0 / 7.0 * (along - 0.4 * there);
    close(
        "speed once it rolls (m/s)",
        rolls(landing).1,
        expected,
        1e-9,
    );
}

/// Thrown up from a slope of 30 degrees, u along it and w away from it: it is back after t = 2 w/(g cos), and then
/// u t + g sin t^2/2 further down (a usual exercise). A floor that ends before that is flown over.
#[test]
fn a_throw_comes_down_where_the_exercise_says() {
    let (sin, cos) = deg(30.0).sin_cos();
    let (u, w) = (0.3, 0.9);
    let time_s = 2.0 * w / (G * cos);
    let way_m = u * time_s + G * sin * time_s * time_s / 2.0;
    let thrown = |length_m: f64| {
        let slope = ImpactFloor {
            length_m,
            ..floor(deg(30.0), Seat::PLANE)
        };
        let ball = on(&slope, 0.0, u, 0.0);
        let ball = FallingMarble {
            x_speed: ball.x_speed + w * sin,
            z_speed: ball.z_speed + w * cos,
            ..ball
        };
        land(
            ball,
            &slope,
            RADIUS_M,
            &SurfaceProperties {
                restitution: 0.0,
                ..SMOOTH
            },
        )
    };
    // It is told of before it is let fly.
    assert!(matches!(
        thrown(way_m * 0.9999),
        (0.0, LandingOutcome::FliesOver(_))
    ));
    let (landed_s, landing) = thrown(way_m * 1.0001);
    close("time in the air (s)", landed_s, time_s, 1e-9);
    assert!(rolls(landing).0 > way_m * 0.9999);
}

/// A marble that lies past the floor's end has left it.
#[test]
fn past_the_end_there_is_no_floor() {
    let level = floor(0.0, Seat::PLANE);
    let (time_s, landing) = land(on(&level, 2.001, 0.3, 0.0), &level, RADIUS_M, &SMOOTH);
    assert!(
        time_s == 0.0 && matches!(landing, LandingOutcome::FliesOver(_)),
        "{landing:?}"
    );
}

/// A bounce rises by w^2/(2 g cos) square to a slope of 60 degrees: just under the limit it rolls, just over it flies once more.
#[test]
fn a_bounce_counts_from_a_hundredth_of_a_millimetre() {
    let slope = floor(deg(60.0), Seat::PLANE);
    let (sin, cos) = deg(60.0).sin_cos();
    let after = |bounce_m: f64| {
        let w = (2.0 * G * cos * bounce_m).sqrt();
        let ball = on(&slope, 0.1, 0.2, 0.2 / RADIUS_M);
        land(
            FallingMarble {
                x_speed: ball.x_speed + w * sin,
                z_speed: ball.z_speed + w * cos,
                ..ball
            },
            &slope,
            RADIUS_M,
            &SMOOTH,
        )
        .0
    };
    assert_eq!(after(0.98 * SETTLED_M), 0.0);
    assert!(after(1.02 * SETTLED_M) > 0.0);
}

/// On a slope without friction that gives every bounce back it never settles; it gains g sin t along the slope, and when its
/// bounces are broken off it rolls on with 5/7 of that (momentum about the contact, no spin).
#[test]
fn a_marble_that_never_settles_keeps_its_speed_along_the_slope() {
    for degrees in [2.0, 40.0] {
        let slope = ImpactFloor {
            length_m: 1e4,
            ..floor(deg(degrees), Seat::PLANE)
        };
        let surface = SurfaceProperties {
            restitution: 1.0,
            sliding_friction: 0.0,
            ..SMOOTH
        };
        let (sin, cos) = slope.slope_rad.sin_cos();
        let ball = on(&slope, 0.0, 0.1, 0.0);
        let ball = FallingMarble {
            x_m: ball.x_m + 0.002 * sin,
            z_m: ball.z_m + 0.002 * cos,
            ..ball
        };
        let (time_s, landing) = land(ball, &slope, RADIUS_M, &surface);
        assert!(time_s > 10.0, "{time_s} s of bouncing");
        let expected = 5.0 / 7.0 * (0.1 + G * sin * time_s);
        close(
            &format!("speed after {time_s:.1} s at {degrees} degrees (m/s)"),
            rolls(landing).1,
            expected,
            1e-6,
        );
    }
}

/// One hit by w square to a level groove or plane, without sliding friction: rolling resistance c takes the moment of its
/// impulse, c w h, from the spin of a solid ball, 2/5 r^2; of what is left it rolls.
#[test]
fn a_hit_takes_spin_by_the_moment_of_rolling_resistance() {
    for seat in [Seat::PLANE, vee()] {
        let level = floor(0.0, seat);
        let surface = SurfaceProperties {
            restitution: 0.0,
            sliding_friction: 0.0,
            rolling_lever_m: 3e-4,
            ..SMOOTH
        };
        let (h, share) = (RADIUS_M * seat.radius_ratio, seat.rolling_share());
        // On the level rolling is slowed by c times its share of g.
        let c = -acceleration(0.0, seat, RADIUS_M, &surface) / (share * G);
        let (spin, w) = (60.0, 0.8);
        let ball = FallingMarble {
            z_speed: -w,
            ..on(&level, 0.5, 0.0, spin)
        };
        let (_, landing) = land(ball, &level, RADIUS_M, &surface);
        let left = spin - c * w * h / (0.4 * RADIUS_M * RADIUS_M);
        assert!(left > 0.3 * spin && left < 0.9 * spin, "{left} rad/s");
        close(
            "speed of what is left (m/s)",
            rolls(landing).1,
            share * 0.4 * RADIUS_M * RADIUS_M / h * left,
            1e-9,
        );
    }
}

/// Set down at w in a square groove at v without spin: the flanks press sqrt(2) times as hard, and friction takes mu of their
/// impulse from the speed and gives it to the spin; how far it skids from there is as far as from any such slip.
#[test]
fn a_hit_in_a_groove_rubs_by_the_press_of_its_flanks() {
    let groove = floor(0.0, vee());
    let (v, w, mu) = (0.6, 0.25, 0.2);
    let surface = SurfaceProperties {
        restitution: 0.0,
        sliding_friction: mu,
        ..SMOOTH
    };
    let landed = |ball| rolls(land(ball, &groove, RADIUS_M, &surface).1);
    let (at_m, speed) = landed(FallingMarble {
        z_speed: -w,
        ..on(&groove, 0.1, v, 0.0)
    });
    let rub = mu * w * 2f64.sqrt();
    let spin = rub * RADIUS_M / 2f64.sqrt() / (0.4 * RADIUS_M * RADIUS_M);
    let (as_from_m, as_speed) = landed(on(&groove, 0.1, v - rub, spin));
    close("way with the hit (m)", at_m, as_from_m, 1e-9);
    close("speed with the hit (m/s)", speed, as_speed, 1e-9);
    assert!(at_m > 0.101, "{at_m}");
}
