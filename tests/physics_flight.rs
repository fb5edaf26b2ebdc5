//! A marble off an edge, skidding, and back up to a backstop, against textbook mechanics and against its equations of motion
//! in small steps. Run with `--nocapture` to see the tables.

#[path = "truth/bench.rs"]
mod bench;

use bench::{SMOOTH, close, deg};
use marblewright::physics::G;
use marblewright::physics::bend::spin_left_m_s;
use marblewright::physics::flight::{Ball, Floor, Landing, SETTLED_M, Turn, land, over_edge};
use marblewright::physics::material::Surface;
use marblewright::physics::rolling::{Channel, Seat, acceleration};

const RADIUS_M: f64 = 0.008;

fn vee() -> Seat {
    Channel::Vee { angle_rad: deg(90.0) }.seat(RADIUS_M).expect("a seat")
}

fn floor(slope_rad: f64, seat: Seat) -> Floor {
    Floor { slope_rad, length_m: 2.0, seat, corner: None }
}

/// A marble on the floor, `at_m` along it.
fn on(floor: &Floor, at_m: f64, speed_m_s: f64, spin: f64) -> Ball {
    let (sin, cos) = floor.slope_rad.sin_cos();
    let h = RADIUS_M * floor.seat.radius_ratio;
    Ball {
        x_m: at_m * cos + h * sin,
        z_m: h * cos - at_m * sin,
        x_speed: speed_m_s * cos,
        z_speed: -speed_m_s * sin,
        spin,
    }
}

fn rolls(landing: Landing) -> (f64, f64) {
    match landing {
        Landing::Rolls { at_m, speed_m_s } => (at_m, speed_m_s),
        Landing::FliesOver(ball) => panic!("it flies: {ball:?}"),
    }
}

/// Textbook: a ball set down on a level plane without spin at v rolls after t = 2 v/(7 mu g), 12 v^2/(49 mu g) on, at 5/7 v;
/// a ball that rolled at once would be 2 v^2/(49 mu g) behind.
#[test]
fn set_down_without_spin() {
    let level = floor(0.0, Seat::PLANE);
    let surface = Surface { sliding_friction: 0.2, ..SMOOTH };
    let (at_m, speed) = rolls(land(on(&level, 0.05, 0.5, 0.0), &level, RADIUS_M, &surface).1);
    close("speed (m/s)", speed, 0.357142857, 1e-8);
    close("ahead of one that rolled at once (m)", at_m - 0.05, 0.031215802 - 0.357142857 * 0.072836872, 1e-6);
}

/// In a groove the flanks press harder and the marble turns faster: skidding step by step until the contact stands still.
#[test]
fn set_down_in_a_groove() {
    for (seat, slope, speed_m_s, spin) in
        [(vee(), 0.0, 0.5, 0.0), (vee(), 4.0, 0.3, 20.0), (Seat::PLANE, 6.0, 0.2, -10.0)]
    {
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
        close(&format!("ahead {what}"), at_m - 0.1, way_m - v * time_s, 1e-3);
    }
}

/// A marble rolling up a slope comes to rest after v/a and v^2/(2 a), its own speed once it rolls.
#[test]
fn uphill_it_comes_to_rest() {
    for seat in [Seat::PLANE, vee()] {
        let up = floor(deg(3.0), seat);
        let h = RADIUS_M * seat.radius_ratio;
        let (time_s, landing) = land(on(&up, 0.5, -0.3, -0.3 / h), &up, RADIUS_M, &Surface::WOOD);
        let a = -acceleration(deg(-3.0), seat, RADIUS_M, &Surface::WOOD);
        let (at_m, speed) = rolls(landing);
        close("time to rest uphill (s)", time_s, 0.3 / a, 1e-9);
        close("way to rest uphill (m)", 0.5 - at_m, 0.3 * 0.3 / (2.0 * a), 1e-9);
        assert_eq!(speed, 0.0);
    }
}

/// A marble that rolls square into an upright wall leaves it at e v, still turning the other way, and rolls at (5 e - 2)/7 v
/// once the floor has stopped the slip (a usual exercise; the wall is smooth).
#[test]
fn rolling_into_the_backstop() {
    let (u, e, mu) = (0.4, 0.9, 0.3);
    let turn = Turn { gap_m: 0.5, fall_m: 0.2, thickness_m: 0.01, slope_rad: 0.0, restitution: e };
    let floor = Floor { corner: Some(turn), ..floor(0.0, Seat::PLANE) };
    let surface = Surface { sliding_friction: mu, hit_grip: 0.0, ..SMOOTH };
    let (time_s, landing) = land(on(&floor, 0.1, -u, -u / RADIUS_M), &floor, RADIUS_M, &surface);
    let (at_m, speed) = rolls(landing);
    close("time to the wall (s)", time_s, (0.1 - RADIUS_M) / u, 1e-6);
    close("speed off the wall (m/s)", speed, (5.0 * e - 2.0) / 7.0 * u, 1e-6);
    let slip = (1.0 + e) * u;
    close("way off the wall (m)", at_m, RADIUS_M + 2.0 * slip * slip / (49.0 * mu * G), 1e-6);
}

/// On a slope it is slower at the wall by the work of the climb; a wall that takes all its speed leaves it there.
#[test]
fn uphill_into_the_backstop() {
    for (seat, slope) in [(Seat::PLANE, 3.0), (vee(), 8.0)] {
        let turn = Turn { gap_m: 0.5, fall_m: 0.2, thickness_m: 0.01, slope_rad: 0.0, restitution: 0.0 };
        let floor = Floor { corner: Some(turn), ..floor(deg(slope), seat) };
        // Without grip at the hit it does not climb the wall, and no hit takes any of its spin.
        let surface = Surface { restitution: 0.0, hit_grip: 0.0, ..SMOOTH };
        let h = RADIUS_M * seat.radius_ratio;
        let a = -acceleration(deg(-slope), seat, RADIUS_M, &surface);
        // The side of the marble meets the wall before its contact does.
        let room_m = 0.2 + (h * libm::sin(deg(slope)) - RADIUS_M) / libm::cos(deg(slope));
        for u in [1.01, 1.5].map(|over| over * (2.0 * a * room_m).sqrt()) {
            let (time_s, landing) = land(on(&floor, 0.2, -u, -u / h), &floor, RADIUS_M, &surface);
            let there = (u * u - 2.0 * a * room_m).sqrt();
            let (at_m, speed) = rolls(landing);
            assert!((0.2 - room_m - at_m).abs() < 0.02 * room_m && speed.abs() < 0.5 * there, "{at_m} m, {speed} m/s");
            // The wall takes the speed along the level, not the climb: it drops back, still turning, which sends it up again
            // at 1 - share (1 + sin^2) of the speed (momentum about the contact), until it no more than rolls.
            let (sin, cos) = deg(slope).sin_cos();
            let (mut climb, mut hops_s) = (there * sin, 0.0);
            while climb * climb * cos / (2.0 * G) >= SETTLED_M {
                hops_s += 2.0 * climb / G;
                climb *= 1.0 - seat.rolling_share() * (1.0 + sin * sin);
            }
            close(&format!("time to rest at the wall from {u:.3} m/s (s)"), time_s, (u - there) / a + hops_s, 1e-4);
        }
    }
}

/// A ball that drills at the contact is held by the couple p m g; its rim loses (couple / inertia) r a second, until it stands.
#[test]
fn drilling_friction_takes_the_side_spin() {
    let surface = Surface { drilling_lever_m: 2e-5, ..SMOOTH };
    let (mass_kg, inertia_kg_m2) = (0.0054, 0.4 * 0.0054 * RADIUS_M * RADIUS_M);
    let lost_m_s2 = 2e-5 * mass_kg * G / inertia_kg_m2 * RADIUS_M;
    close("rim speed left (m/s)", spin_left_m_s(0.3, 2.0, RADIUS_M, &surface), 0.3 - 2.0 * lost_m_s2, 1e-9);
    close("the other way round", spin_left_m_s(-0.3, 2.0, RADIUS_M, &surface), -0.3 + 2.0 * lost_m_s2, 1e-9);
    assert_eq!(spin_left_m_s(0.3, 100.0, RADIUS_M, &surface), 0.0);
}

/// Textbook: a solid sphere pivoting from rest about an edge parts from it at cos T = 10/17, at v^2 = (10/17) g r.
#[test]
fn creeping_over_an_edge() {
    let (_, ball) = over_edge(0.0, 0.0, Seat::PLANE, RADIUS_M);
    let lean = libm::atan(ball.x_m / ball.z_m);
    close("lean (cos)", libm::cos(lean), 10.0 / 17.0, 1e-4);
    let speed = ball.x_speed.hypot(ball.z_speed);
    close("speed (m/s)", speed, (10.0 / 17.0 * G * RADIUS_M).sqrt(), 1e-4);
    close("it moves square to the lean", -ball.z_speed / ball.x_speed, libm::tan(lean), 1e-9);
    close("spin (rad/s)", ball.spin, speed / RADIUS_M, 1e-9);
}

/// The pivot in small steps: lean'' = share g sin(lean)/h until the edge would have to pull, lean'^2 h > g cos(lean).
#[test]
fn the_pivot_takes_its_time() {
    for (seat, slope, entry) in
        [(Seat::PLANE, 0.0, 0.05), (Seat::PLANE, 5.0, 0.15), (vee(), 3.0, 0.02), (vee(), 10.0, 0.2)]
    {
        let h = RADIUS_M * seat.radius_ratio;
        let (mut lean, mut rate, mut steps) = (deg(slope), entry / h, 0);
        const STEP_S: f64 = 1e-7;
        while rate * rate * h < G * libm::cos(lean) {
            rate += seat.rolling_share() * G * libm::sin(lean) / h * STEP_S;
            lean += rate * STEP_S;
            steps += 1;
        }
        let (time_s, ball) = over_edge(entry, deg(slope), seat, RADIUS_M);
        close(&format!("time over the edge at {entry} m/s, {slope} degrees (s)"), time_s, steps as f64 * STEP_S, 2e-4);
        close("  x (m)", ball.x_m, h * libm::sin(lean), 2e-4);
        close("  z (m)", ball.z_m, h * libm::cos(lean), 2e-4);
        close("  along (m/s)", ball.x_speed, rate * h * libm::cos(lean), 2e-4);
        close("  down (m/s)", -ball.z_speed, rate * h * libm::sin(lean), 2e-4);
    }
    let (time_s, ball) = over_edge(1.0, 0.0, Seat::PLANE, RADIUS_M);
    assert_eq!((time_s, ball.x_m, ball.x_speed), (0.0, 0.0, 1.0), "a fast marble flies at once");
}
