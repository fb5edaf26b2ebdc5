//! Spheres in contact held to closed forms. Impacts after Y. C. Chung, J. Y. Ooi, "Benchmark tests for verifying discrete
//! element modelling codes at particle impact level", Granular Matter 13 (2011) 643: the figures are those of a rigid
//! impulse with Coulomb friction and no tangential rebound, worked out anew. Run with `--nocapture` to see the tables.

use marblewright::contact::law::{Law, Materials};
use marblewright::contact::pocket_wheel::{TorqueLine, TurningWheel, WheelDimensions};
use marblewright::contact::surface::{Block, Plane, Surface};
use marblewright::contact::vector::{Vector, vector};
use marblewright::contact::world::{FixedSurface, Sphere, Surroundings, World};
use marblewright::physics::G;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

const R: f64 = 0.007;
const SMOOTH: Materials = Materials {
    friction: 0.0,
    restitution: 0.5,
    scatter: 0.0,
    rolling_lever_m: 0.0,
};
const NO_GRAVITY: Vector = Vector::ZERO;
const EARTH: Vector = vector(0.0, 0.0, -G);

fn plane(at: Vector, out: Vector) -> FixedSurface {
    FixedSurface {
        surface: Surface::Plane(Plane { at, out }),
        law: 0,
    }
}

fn floor() -> FixedSurface {
    plane(Vector::ZERO, vector(0.0, 0.0, 1.0))
}

fn world(
    materials: Materials,
    fixed: Vec<FixedSurface>,
    gravity: Vector,
    spheres: Vec<Sphere>,
) -> World {
    stepped(materials, fixed, gravity, spheres, (4e7, 1e-5))
}

fn stepped(
    materials: Materials,
    fixed: Vec<FixedSurface>,
    gravity: Vector,
    spheres: Vec<Sphere>,
    by: (f64, f64),
) -> World {
    let laws = vec![Law::new(materials, by.0, by.1)];
    let setting = Surroundings {
        fixed,
        laws,
        between: 0,
        at_wheel: 0,
        gravity,
        step_s: by.1,
    };
    World::new(setting, spheres, None, ChaCha8Rng::seed_from_u64(1))
}

fn sphere(at: Vector) -> Sphere {
    Sphere::new(R, 2500.0, at)
}

fn run(world: &mut World, seconds: f64) {
    for _ in 0..(seconds / world.setting.step_s).round() as u64 {
        world.step();
    }
}

fn tell(what: &str, model: f64, truth: f64, share: f64) {
    let off = if truth == 0.0 {
        model.abs()
    } else {
        (model / truth - 1.0).abs()
    };
    println!("{what:60} {model:12.6} {truth:12.6} {:8.3} %", 100.0 * off);
    assert!(off <= share, "{what}: {model} where {truth} is true");
}

/// A ball that meets the floor at 1 m/s with a sliding speed and a spin about y; afterwards: (speed, R w, bounce).
fn meets_floor(
    materials: Materials,
    sliding: f64,
    turning: f64,
    by: (f64, f64),
) -> (f64, f64, f64) {
    let mut ball = sphere(vector(0.0, 0.0, R + 1e-7));
    ball.velocity = vector(sliding, 0.0, -1.0);
    ball.spin = vector(0.0, turning / R, 0.0);
    let mut world = stepped(materials, vec![floor()], NO_GRAVITY, vec![ball], by);
    run(&mut world, 0.004);
    let ball = &world.spheres[0];
    (ball.velocity.x, ball.spin.y * R, ball.velocity.z)
}

/// Linear spring and dashpot: e = exp(-pi z / sqrt(1 - z^2)), contact time pi / (w sqrt(1 - z^2)): e = 0.5 gives
/// z = 0.215454 and, with 4e7 /s2, 0.508676 ms.
#[test]
fn a_square_hit_gives_back_the_restitution_asked_for() {
    for (restitution, step) in [
        (0.3, 5e-5),
        (0.5, 5e-5),
        (0.5, 2.5e-5),
        (0.85, 5e-5),
        (0.97, 5e-5),
        (1.0, 1e-5),
    ] {
        let mut sum = 0.0;
        for start in 0..40 {
            let mut ball = sphere(vector(0.0, 0.0, R + f64::from(start) / 40.0 * step));
            ball.velocity = vector(0.0, 0.0, -1.0);
            let of = Materials {
                restitution,
                ..SMOOTH
            };
            let mut world = stepped(of, vec![floor()], NO_GRAVITY, vec![ball], (4e7, step));
            run(&mut world, 0.002);
            sum += world.spheres[0].velocity.z / 40.0;
        }
        tell(
            &format!("restitution at a step of {:.0} us", step * 1e6),
            sum,
            restitution,
            0.005,
        );
    }
    let mut ball = sphere(vector(0.0, 0.0, R));
    ball.velocity = vector(0.0, 0.0, -1.0);
    let mut world = stepped(SMOOTH, vec![floor()], NO_GRAVITY, vec![ball], (4e7, 1e-6));
    let mut lasts = 0.0;
    loop {
        world.step();
        lasts += 1e-6;
        if world.spheres[0].at.z >= R {
            break;
        }
    }
    tell("contact time, ms", lasts * 1e3, 0.508676, 0.004);
}

/// A ball that comes at 0.5 m/s is followed at a coarse step until it would press in too deep, and finely from then on: it
/// gives back what was asked for, wherever in a step it comes.
#[test]
fn a_hit_gives_back_the_same_where_the_step_becomes_finer_for_it() {
    let (finer, starts) = (4.0, 40);
    let back = (0..starts).map(|start| {
        let mut ball = sphere(vector(
            0.0,
            0.0,
            R + 1e-3 + 1e-4 * f64::from(start) / f64::from(starts),
        ));
        ball.velocity = vector(0.0, 0.0, -0.5);
        let mut world = stepped(
            SMOOTH,
            vec![floor()],
            NO_GRAVITY,
            vec![ball],
            (4e7 / (finer * finer), 5e-5 * finer),
        );
        world.deepest_hit = 0.04;
        while world.time < 0.006 {
            world.step();
            if world.hit_waits {
                world.refine(finer);
                world.deepest_hit = f64::INFINITY;
            }
        }
        assert_eq!(world.setting.step_s, 5e-5, "the hit was seen to come");
        world.spheres[0].velocity.z
    });
    tell(
        "speed after a hit at 0.5 m/s, m/s",
        back.sum::<f64>() / f64::from(starts),
        0.25,
        0.04,
    );
}

/// Followed finely from the middle of its hit on, because something else is squeezed, a ball rebounds as it would have, whatever
/// its springs hold at that moment.
#[test]
fn a_hit_gives_back_the_same_where_the_step_becomes_finer_within_it() {
    let finer = 4.0;
    let rebound = |coarse_steps: u32| {
        let mut ball = sphere(vector(0.0, 0.0, R + 1e-6));
        ball.velocity = vector(0.0, 0.0, -0.2);
        let coarse = (4e7 / (finer * finer), 5e-5 * finer);
        let mut world = stepped(SMOOTH, vec![floor()], NO_GRAVITY, vec![ball], coarse);
        let mut steps = 0;
        while world.spheres[0].velocity.z < 0.0 || world.spheres[0].at.z < R {
            world.step();
            steps += 1;
            if steps == coarse_steps {
                assert!(world.spheres[0].at.z < R, "it still touches");
                world.refine(finer);
            }
        }
        world.spheres[0].velocity.z
    };
    let coarse = rebound(u32::MAX);
    for coarse_steps in 2..9 {
        let what = format!("speed back where {coarse_steps} steps were coarse, m/s");
        tell(&what, rebound(coarse_steps), coarse, 0.01);
    }
}

/// A spring that is damped critically turns a slip round by at most (pi - 1) exp(-pi) of it in the time of a hit; the
/// figures are those without such a rebound.
fn rebound() -> f64 {
    (std::f64::consts::PI - 1.0) * libm::exp(-std::f64::consts::PI)
}

/// Holds a figure to the truth within its share of the slip that came back.
fn tell_slip(what: &str, (model, truth): (f64, f64), room: f64) {
    println!(
        "{what:60} {model:12.6} {truth:12.6} {:8.6} of {room:.6}",
        (model - truth).abs()
    );
    assert!(
        (model - truth).abs() < room,
        "{what}: {model} where {truth} is true"
    );
}

/// Oblique impact: sticks where vt < 3.5 mu (1 + e) vn, leaving v = R w = (5/7) vt; else v = vt - mu (1 + e) vn and
/// R w = 2.5 mu (1 + e) vn. mu = 0.2, e = 0.8: limit 1.26.
#[test]
fn an_oblique_hit_slides_or_sticks() {
    let of = Materials {
        friction: 0.2,
        restitution: 0.8,
        ..SMOOTH
    };
    let cases = [
        (0.5, 0.357143, 0.357143),
        (1.0, 0.714286, 0.714286),
        (2.0, 1.64, 0.9),
        (4.0, 3.64, 0.9),
    ];
    for (sliding, speed, spin) in cases {
        let (v, w, bounce) = meets_floor(of, sliding, 0.0, (4e7, 5e-6));
        let slip: f64 = if sliding < 1.26 {
            sliding * rebound()
        } else {
            0.03
        };
        tell_slip(
            &format!("speed after a hit at {sliding} m/s"),
            (v, speed),
            slip * 2.0 / 7.0,
        );
        tell_slip(
            &format!("spin after a hit at {sliding} m/s"),
            (w, spin),
            slip * 5.0 / 7.0,
        );
        tell("bounce", bounce, 0.8, 0.005);
    }
}

/// Spin alone: sticks where R w0 < 3.5 mu (1 + e) vn, leaving v = R w = (2/7) R w0; else v = mu (1 + e) vn.
#[test]
fn a_spinning_ball_takes_speed_from_its_spin() {
    let of = Materials {
        friction: 0.2,
        restitution: 0.8,
        ..SMOOTH
    };
    for (turning, speed, spin) in [(0.7, 0.2, 0.2), (2.0, 0.36, 1.1), (3.0, 0.36, 2.1)] {
        let (v, w, _) = meets_floor(of, 0.0, turning, (4e7, 5e-6));
        let slip: f64 = if turning < 1.26 {
            turning * rebound()
        } else {
            0.03
        };
        tell_slip(
            &format!("speed after a hit with {turning} m/s of spin"),
            (v, speed),
            slip * 2.0 / 7.0,
        );
        tell_slip(
            &format!("spin after a hit with {turning} m/s of spin"),
            (w, spin),
            slip * 5.0 / 7.0,
        );
    }
}

fn pair(second_radius: f64, first: Vector, spins: (f64, f64)) -> World {
    let mut a = sphere(vector(0.0, 0.0, 0.0));
    let mut b = Sphere::new(
        second_radius,
        2500.0,
        vector(R + second_radius + 1e-7, 0.0, 0.0),
    );
    (a.velocity, b.velocity) = (first * 0.5, first * -0.5);
    (a.spin, b.spin) = (vector(0.3, -spins.0, spins.0), vector(-2.0, spins.1, 1.0));
    let of = Materials {
        friction: 0.2,
        restitution: 0.8,
        rolling_lever_m: 1e-5,
        ..SMOOTH
    };
    world(of, Vec::new(), NO_GRAVITY, vec![a, b])
}

/// Two equal balls: the same limits on their relative speed, half the change each.
#[test]
fn two_equal_balls_share_the_change() {
    for (sliding, change) in [(1.0, 1.0 / 7.0), (2.0, 0.18)] {
        let of = Materials {
            friction: 0.2,
            restitution: 0.8,
            ..SMOOTH
        };
        let mut a = sphere(Vector::ZERO);
        let mut b = sphere(vector(2.0 * R + 1e-7, 0.0, 0.0));
        (a.velocity, b.velocity) = (
            vector(0.5, sliding / 2.0, 0.0),
            vector(-0.5, -sliding / 2.0, 0.0),
        );
        // So hard that their line of centres does not turn while they touch.
        let mut world = stepped(of, Vec::new(), NO_GRAVITY, vec![a, b], (4e10, 2e-7));
        run(&mut world, 0.0002);
        let (a, b) = (&world.spheres[0], &world.spheres[1]);
        tell("speed apart", b.velocity.x - a.velocity.x, 0.8, 0.01);
        let room = if sliding < 1.26 {
            sliding * rebound() / 7.0
        } else {
            0.005
        };
        tell_slip(
            &format!("sideways after {sliding} m/s"),
            (a.velocity.y, sliding / 2.0 - change),
            room,
        );
        tell_slip(
            "and its partner",
            (b.velocity.y, change - sliding / 2.0),
            room,
        );
    }
}

/// Momentum of a pair is exact to rounding, and so is its angular momentum, spin included: the force acts on each at the
/// radius less half the overlap.
#[test]
fn a_pair_keeps_its_momentum() {
    for (radius, first, spins) in [
        (R, vector(1.0, 0.4, -0.2), (50.0, 80.0)),
        (0.011, vector(0.6, 2.0, 0.1), (200.0, -90.0)),
    ] {
        let mut world = pair(radius, first, spins);
        let mut deepest = 0.0f64;
        let sums = |world: &World| {
            let mut sums = (Vector::ZERO, Vector::ZERO);
            for ball in &world.spheres {
                let inertia = 0.4 * ball.mass * ball.radius * ball.radius;
                sums.0 += ball.velocity * ball.mass;
                sums.1 += ball.at.cross(ball.velocity) * ball.mass + ball.spin * inertia;
            }
            sums
        };
        let before = sums(&world);
        let energy = |world: &World| {
            world
                .spheres
                .iter()
                .map(Sphere::energy_of_motion)
                .sum::<f64>()
        };
        let had = energy(&world);
        for _ in 0..300 {
            world.step();
            deepest = deepest.max(world.deepest);
        }
        let after = sums(&world);
        assert!(deepest > 1e-3, "they never met");
        assert!(
            (after.0 - before.0).length() < 1e-15,
            "momentum {before:?} {after:?}"
        );
        assert!(
            (after.1 - before.1).length() < 1e-16,
            "angular momentum {before:?} {after:?}"
        );
        assert!(energy(&world) < had);
    }
}

/// Three equal balls between frictionless walls, one on two that touch: each contact below the upper one carries
/// W / sqrt(3) = 0.577350 W, each wall 0.288675 W. In a V of 60 degrees each side carries W / (2 sin 30) = W.
#[test]
fn balls_at_rest_carry_what_statics_says() {
    let wall = |x: f64, out: f64| plane(vector(x, 0.0, 0.0), vector(out, 0.0, 0.0));
    let fixed = vec![floor(), wall(-2.0 * R, 1.0), wall(2.0 * R, -1.0)];
    let top = R + 3f64.sqrt() * R;
    let places = [vector(-R, 0.0, R), vector(R, 0.0, R), vector(0.0, 0.0, top)];
    let mut heap = world(SMOOTH, fixed, EARTH, places.map(sphere).to_vec());
    run(&mut heap, 0.5);
    let balls = &heap.spheres;
    let gap = |a: &Sphere, b: &Sphere| 2.0 * R - (a.at - b.at).length();
    // Force over weight: K times overlap over g, with half the mass between two balls.
    tell(
        "upper ball on the left one",
        gap(&balls[2], &balls[0]) * 2e7 / G,
        1.0 / 3f64.sqrt(),
        1e-3,
    );
    tell(
        "upper ball on the right one",
        gap(&balls[2], &balls[1]) * 2e7 / G,
        1.0 / 3f64.sqrt(),
        1e-3,
    );
    tell(
        "left wall",
        (-R - balls[0].at.x) * 4e7 / G,
        0.5 / 3f64.sqrt(),
        1e-3,
    );
    tell(
        "right wall",
        (balls[1].at.x - R) * 4e7 / G,
        0.5 / 3f64.sqrt(),
        1e-3,
    );
    for (half, carries) in [(30f64, 1.0), (45.0, 0.5f64.sqrt())] {
        let (s, c) = half.to_radians().sin_cos();
        let sides = [1.0, -1.0].map(|sign| plane(Vector::ZERO, vector(sign * c, 0.0, s)));
        let mut groove = world(
            SMOOTH,
            sides.to_vec(),
            EARTH,
            vec![sphere(vector(0.0, 0.0, R / s))],
        );
        run(&mut groove, 0.5);
        let ball = &groove.spheres[0];
        tell(
            "side of a V",
            ball.pressed_by_fixed / (ball.mass * G),
            carries,
            1e-3,
        );
    }
}

/// Rolling down: a = (5/7) g (sin t - c cos t) on a plane, c lever arm over radius; in a V of included angle 2b without
/// rolling resistance g sin t / (1 + 0.4 / sin^2 b) (any mechanics text).
#[test]
fn a_ball_rolls_down_a_plane_and_a_groove() {
    let of = |lever| Materials {
        friction: 0.35,
        rolling_lever_m: lever,
        ..SMOOTH
    };
    let down = |t: f64| {
        vector(
            G * libm::sin(t.to_radians()),
            0.0,
            -G * libm::cos(t.to_radians()),
        )
    };
    for (slope, lever) in [(1.0, 0.0), (3.0, 0.0), (10.0, 0.0), (4.0, 4e-5)] {
        let mut world = stepped(
            of(lever),
            vec![floor()],
            down(slope),
            vec![sphere(vector(0.0, 0.0, R))],
            (4e7, 5e-5),
        );
        run(&mut world, 0.5);
        let pull = libm::sin(slope.to_radians()) - lever / R * libm::cos(slope.to_radians());
        tell(
            &format!("m/s after 0.5 s at {slope} degrees"),
            world.spheres[0].velocity.x,
            5.0 / 14.0 * G * pull,
            2e-3,
        );
    }
    for half in [30f64, 45.0, 60.0] {
        let (s, c) = half.to_radians().sin_cos();
        let sides = [1.0, -1.0].map(|sign| plane(Vector::ZERO, vector(0.0, sign * c, s)));
        let balls = vec![sphere(vector(0.0, 0.0, R / s))];
        let mut world = stepped(of(0.0), sides.to_vec(), down(3.0), balls, (4e7, 5e-5));
        run(&mut world, 0.5);
        let truth = 0.5 * G * libm::sin(3f64.to_radians()) / (1.0 + 0.4 / (s * s));
        tell(
            &format!("m/s after 0.5 s in a V of {} degrees", 2.0 * half),
            world.spheres[0].velocity.x,
            truth,
            5e-3,
        );
    }
}

/// A ball set down without spin at v0 ends rolling at (5/7) v0 after 2 v0 / (7 mu g), 12 v0^2 / (49 mu g) on (textbook):
/// v0 = 0.5, mu = 0.2: 0.357142857 m/s, 0.072836872 s, 0.031215802 m with g = 9.80665.
#[test]
fn skidding_turns_into_rolling() {
    let mut ball = sphere(vector(0.0, 0.0, R));
    ball.velocity = vector(0.5, 0.0, 0.0);
    let of = Materials {
        friction: 0.2,
        ..SMOOTH
    };
    let mut world = stepped(of, vec![floor()], EARTH, vec![ball], (4e7, 5e-5));
    while world.spheres[0].velocity.x - world.spheres[0].spin.y * R > 1e-3 {
        world.step();
    }
    tell(
        "rolls after, s",
        world.time,
        2.0 * 0.5 / (7.0 * 0.2 * G),
        0.01,
    );
    tell(
        "rolls from, m",
        world.spheres[0].at.x,
        12.0 * 0.25 / (49.0 * 0.2 * G),
        0.01,
    );
    run(&mut world, 0.05);
    tell(
        "rolls at, m/s",
        world.spheres[0].velocity.x,
        0.357142857,
        0.003,
    );
}

/// Where tan t is below lever arm over radius, rolling resistance holds a ball: no creep over 10 s. A little steeper, and
/// it goes.
#[test]
fn rolling_resistance_holds_without_creep() {
    let of = Materials {
        friction: 0.35,
        rolling_lever_m: 7e-5,
        ..SMOOTH
    };
    for (tangent, holds) in [(0.0095, true), (0.0105, false)] {
        let pull = vector(G * tangent, 0.0, -G);
        let mut world = stepped(
            of,
            vec![floor()],
            pull,
            vec![sphere(vector(0.0, 0.0, R))],
            (4e7, 5e-5),
        );
        run(&mut world, 1.0);
        let settled = world.spheres[0].at.x;
        run(&mut world, 10.0);
        let crept = world.spheres[0].at.x - settled;
        println!("slope {tangent}: {crept:.3e} m in 10 s");
        assert_eq!(crept.abs() < 1e-9, holds, "{crept} m at {tangent}");
    }
}

/// Nothing drives balls in a box, so their energy, springs aside, never exceeds what it was; without losses it stays.
#[test]
fn energy_never_grows_in_a_box() {
    for (restitution, friction) in [(1.0, 0.0), (0.9, 0.3), (0.5, 0.35)] {
        let side = 0.05;
        let walls = [
            (1.0, 0.0, 0.0),
            (-1.0, 0.0, 0.0),
            (0.0, 1.0, 0.0),
            (0.0, -1.0, 0.0),
            (0.0, 0.0, 1.0),
            (0.0, 0.0, -1.0),
        ];
        let fixed = walls.map(|(x, y, z)| plane(vector(x, y, z) * -side, vector(x, y, z)));
        let mut balls = Vec::new();
        for i in 0..12 {
            let (a, b, c) = (
                f64::from(i % 3) - 1.0,
                f64::from(i / 3 % 2) - 0.5,
                f64::from(i / 6) - 0.5,
            );
            let mut ball = sphere(vector(a, b, c) * 0.03);
            ball.velocity = vector(0.3 * b + 0.1, 0.5 * a - c, 0.7 * c + 0.2 * a);
            balls.push(ball);
        }
        let of = Materials {
            friction,
            restitution,
            rolling_lever_m: 1e-5,
            ..SMOOTH
        };
        let mut world = stepped(of, fixed.to_vec(), EARTH, balls, (4e7, 2.5e-5));
        let energy = |world: &World| {
            world
                .spheres
                .iter()
                .map(|ball| ball.energy_of_motion() + ball.mass * G * (ball.at.z + side))
                .sum::<f64>()
        };
        let start = energy(&world);
        let (mut least, mut worst, mut last) = (start, 0.0f64, 0.0f64);
        for sample in 0..400 {
            run(&mut world, 0.005);
            worst = worst.max(energy(&world) - least);
            least = least.min(energy(&world));
            if sample >= 360 {
                last = last.max(energy(&world));
            }
        }
        println!(
            "restitution {restitution}: {start:.6} J to {least:.6} J, at most {worst:.2e} J up again"
        );
        // Energy that lies in springs for a moment comes back: a ball at rest holds under a millionth, a hit all of it.
        if restitution == 1.0 {
            assert!((last / start - 1.0).abs() < 0.05, "{last} of {start}");
        } else {
            assert!(least < 0.5 * start && energy(&world) < start && worst < 0.1 * start);
        }
    }
}

/// A sphere over a block meets its nearest point: faces, edges, corners and the way out from inside, against a search over
/// points of the block.
#[test]
fn a_block_is_met_where_it_is_nearest() {
    let (s, c) = 0.3f64.sin_cos();
    let along = [vector(c, 0.0, -s), vector(0.0, 1.0, 0.0), vector(s, 0.0, c)];
    let (middle, half) = (vector(0.1, -0.2, 0.3), [0.03, 0.02, 0.01]);
    let block = Block {
        middle,
        along,
        half,
    };
    let point = |u: f64, v: f64, w: f64| middle + along[0] * u + along[1] * v + along[2] * w;
    for (u, v, w) in [
        (0.01, 0.0, 0.02),
        (0.05, 0.0, 0.0),
        (0.04, 0.03, 0.0),
        (0.04, 0.03, 0.03),
        (-0.04, -0.01, -0.02),
    ] {
        let place = point(u, v, w);
        let near = Surface::Block(block).near(place);
        let mut least = f64::INFINITY;
        let steps = |k: usize| (0..=60).map(move |i| (f64::from(i) / 30.0 - 1.0) * half[k]);
        for a in steps(0) {
            for b in steps(1) {
                for h in steps(2) {
                    least = least.min((point(a, b, h) - place).length());
                }
            }
        }
        assert!(
            near.distance <= least + 1e-12 && near.distance > least - 1e-3,
            "{near:?} {least}"
        );
        assert!((near.normal.length() - 1.0).abs() < 1e-12);
        let foot = place - near.normal * near.distance;
        let from = foot - middle;
        for k in 0..3 {
            assert!(
                from.dot(along[k]).abs() <= half[k] + 1e-12,
                "the foot lies off the block"
            );
        }
    }
    let inside = Surface::Block(block).near(point(0.0, 0.0, 0.008));
    assert!((inside.distance + 0.002).abs() < 1e-12 && inside.normal.dot(along[2]) > 0.999);
}

/// Distance of a place from the wheel's surface by a search over its points: face, bore and bottom.
fn searched(shape: &WheelDimensions, place: Vector) -> f64 {
    let (s, c) = shape.tilt_rad.sin_cos();
    let bore = shape.bore_m / 2.0;
    let pitch = std::f64::consts::TAU / f64::from(shape.pockets);
    let mut least = f64::INFINITY;
    for j in 0..shape.pockets {
        let (sn, cs) = (pitch * f64::from(j)).sin_cos();
        let outward = vector(0.0, cs, sn);
        let (aside, mouth) = (vector(0.0, -sn, cs), outward * shape.pitch_radius_m);
        if (mouth - place).length() > 0.05 {
            continue;
        }
        let axis = vector(c, 0.0, 0.0) + outward * s;
        let across = vector(-s, 0.0, 0.0) + outward * c;
        for i in 0..720 {
            let (su, cu) = (f64::from(i) * std::f64::consts::PI / 360.0).sin_cos();
            let round = across * cu + aside * su;
            for k in -100..=400 {
                let point = mouth + round * bore + axis * (f64::from(k) / 400.0 * shape.depth_m);
                if point.x >= 0.0 {
                    least = least.min((point - place).length());
                }
                // The bottom, and the face along rays from the mouth's edge.
                if k >= 0 {
                    let bottom =
                        mouth + round * (bore * f64::from(k) / 400.0) + axis * shape.depth_m;
                    let face = mouth
                        + (outward * (cu / c) + aside * su) * (bore * (1.0 + f64::from(k) / 400.0));
                    least = least
                        .min((bottom - place).length())
                        .min((face - place).length());
                }
            }
        }
    }
    least
}

/// A sphere meets the face, the mouth's edge, the bore or the bottom of a tilted pocket, whichever is nearest, in whatever
/// place the wheel stands.
#[test]
fn a_pocket_is_met_where_it_is_nearest() {
    let shape = WheelDimensions {
        pitch_radius_m: 0.08,
        pockets: 16,
        bore_m: 0.018,
        depth_m: 0.014,
        tilt_rad: 0.2,
    };
    let drive = TorqueLine {
        speed_rad_s: 1.0,
        torque_n_m: 1.0,
        gain_n_m_s: 1.0,
        inertia_kg_m2: 0.01,
    };
    let places = [
        (-0.004, 0.013, 0.002),
        (-0.003, 0.004, 0.005),
        (0.002, -0.003, 0.002),
        (0.008, 0.001, -0.001),
    ];
    for turned in [0.0, 0.7, 4.0] {
        let mut wheel = TurningWheel::new(shape, drive);
        wheel.turn_to(turned);
        for (x, outward, aside) in places
            .into_iter()
            .chain([(-0.002, -0.0088, 0.001), (0.001, 0.0, -0.0085)])
        {
            let at = |angle: f64| {
                let (s, c) = angle.sin_cos();
                let radial = shape.pitch_radius_m + outward;
                vector(x, radial * c - aside * s, radial * s + aside * c)
            };
            let place = at(turned + 3.0 * std::f64::consts::TAU / 16.0);
            let pocket = wheel.at_pocket(place, 9);
            assert_eq!(pocket.pocket, 3);
            let (side, bottom) = wheel.near(&pocket);
            let near = bottom
                .filter(|bottom| bottom.distance < side.distance)
                .unwrap_or(side);
            let truth = searched(&shape, at(3.0 * std::f64::consts::TAU / 16.0));
            println!("{:9.6} {truth:9.6}", near.distance);
            assert!(
                (near.distance - truth).abs() < 5e-5,
                "{x} {outward} {aside}: {} {truth}",
                near.distance
            );
            assert!((near.normal.length() - 1.0).abs() < 1e-12);
        }
    }
}

/// A drive brings its wheel to its speed along its torque's line, and a torque it cannot give stops it.
#[test]
fn a_drive_follows_its_torque_line() {
    let shape = WheelDimensions {
        pitch_radius_m: 0.08,
        pockets: 16,
        bore_m: 0.018,
        depth_m: 0.014,
        tilt_rad: 0.2,
    };
    let drive = TorqueLine {
        speed_rad_s: 1.0,
        torque_n_m: 0.5,
        gain_n_m_s: 1.0,
        inertia_kg_m2: 0.01,
    };
    let after = |load: f64, seconds: f64, speed: f64| {
        let mut wheel = TurningWheel::new(shape, drive);
        wheel.speed = speed;
        (0..(seconds / 1e-5).round() as u32).for_each(|_| wheel.step(load, 1e-5));
        wheel.speed
    };
    tell(
        "speeds up at 50 rad/s2, rad/s",
        after(0.0, 0.005, 0.0),
        0.25,
        1e-3,
    );
    tell("settles, rad/s", after(0.0, 1.0, 0.0), 1.0, 1e-6);
    tell(
        "loaded with 0.2 N m, rad/s",
        after(-0.2, 1.0, 1.0),
        0.8,
        1e-3,
    );
    tell(
        "loaded with 0.6 N m after 0.1 s, rad/s",
        after(-0.6, 0.1, 0.0),
        -1.0,
        1e-2,
    );
}

/// Per unit of mass the law is one for marbles of every size.
#[test]
fn the_law_is_the_same_for_every_size() {
    let bounce = |radius: f64| {
        let mut ball = Sphere::new(radius, 2500.0, vector(0.0, 0.0, radius));
        ball.velocity = vector(0.4, 0.0, -1.0);
        let of = Materials {
            friction: 0.2,
            restitution: 0.8,
            ..SMOOTH
        };
        let mut world = stepped(of, vec![floor()], NO_GRAVITY, vec![ball], (4e7, 1e-5));
        run(&mut world, 0.003);
        (world.spheres[0].velocity.x, world.spheres[0].velocity.z)
    };
    let (small, large) = (bounce(0.004), bounce(0.0125));
    assert!(
        (small.0 - large.0).abs() < 2e-3 && (small.1 - large.1).abs() < 1e-9,
        "{small:?} {large:?}"
    );
}
