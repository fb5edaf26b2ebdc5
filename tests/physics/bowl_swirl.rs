//! The stepped path of a marble in a bowl against a second integration in other coordinates and in finer steps, and what
//! happens at holes against closed forms.

use std::f64::consts::TAU;

use crate::support::bench::glass;
use marblewright::physics::G;
use marblewright::physics::bowl::{self, BowlEntry, BowlSurface, Dwell, Hole, Hollow, Swirl};
use marblewright::physics::bowl_crowd as crowd;
use marblewright::physics::bowl_hole::Crossing;
use marblewright::physics::material::{Marble, SurfaceProperties};
use marblewright::physics::mouth::fewest_in_dome;

/// Place and speed of the marble's centre on a surface of revolution: distance along the meridian, azimuth, and their
/// rates.
type State = [f64; 4];

/// The meridian of the offset surface, an arc of this radius.
struct Meridian {
    sphere_m: f64,
}

impl Meridian {
    /// Distance from the axis, and slope, at a distance along it.
    fn at(&self, along_m: f64) -> (f64, f64) {
        (
            self.sphere_m * libm::sin(along_m / self.sphere_m),
            along_m / self.sphere_m,
        )
    }

    fn speed(&self, [along, _, slide, turn]: State) -> f64 {
        libm::hypot(slide, self.at(along).0 * turn)
    }

    /// The weight across the slope, and what curves along the meridian and around the axis press, m/s2.
    fn press(&self, [along, _, slide, turn]: State) -> f64 {
        let (rho, slope) = self.at(along);
        G * libm::cos(slope) + slide * slide / self.sphere_m + rho * turn * turn * libm::sin(slope)
    }

    /// Lagrange's equations in these coordinates, gravity and resistance times 5/7 for the rolling ball.
    fn rates(&self, state: State, resistance: f64) -> State {
        let [along, _, slide, turn] = state;
        let (rho, slope) = self.at(along);
        let (sin, cos) = slope.sin_cos();
        let brake = 5.0 / 7.0 * resistance * self.press(state) / self.speed(state);
        let down = rho * turn * turn * cos - 5.0 / 7.0 * G * sin;
        [
            slide,
            turn,
            down - brake * slide,
            -2.0 * slide * cos * turn / rho - brake * turn,
        ]
    }

    fn step(&self, state: State, resistance: f64, step_s: f64) -> State {
        let plus = |scale: f64, rates: State| [0, 1, 2, 3].map(|k| state[k] + scale * rates[k]);
        let first = self.rates(state, resistance);
        let second = self.rates(plus(step_s / 2.0, first), resistance);
        let third = self.rates(plus(step_s / 2.0, second), resistance);
        let fourth = self.rates(plus(step_s, third), resistance);
        [0, 1, 2, 3].map(|k| {
            state[k] + step_s / 6.0 * (first[k] + 2.0 * (second[k] + third[k]) + fourth[k])
        })
    }
}

/// Twenty steps of Runge and Kutta for each of the model's.
const FINE_S: f64 = 5e-5;

/// What [`bowl::swirl`] should find: the rolling ball on the offset surface, the rule of the crossing at each hole whose
/// edge the contact passes inwards, and a marble that is over a hole for twice as long as a pass takes is in it.
fn expected(bowl: &BowlSurface, marble: &Marble, entry: BowlEntry, turn_rad: f64) -> Swirl {
    let radius = marble.diameter_m / 2.0;
    let Hollow { width_m, depth_m } = bowl.hollow;
    // Two chords that cross at right angles: half width squared is depth times the rest of the diameter.
    let sphere = (width_m * width_m / (4.0 * depth_m) + depth_m) / 2.0;
    let meridian = Meridian {
        sphere_m: sphere - radius,
    };
    let along = meridian.sphere_m * libm::asin((width_m / 2.0 - entry.inset_m) / sphere);
    let resistance = bowl.surface.rolling_lever_m / radius;
    let mut state = [along, 0.0, 0.0, entry.speed_m_s / meridian.at(along).0];
    let mut over: Option<(usize, f64)> = None;
    for step in 1..4_000_000 {
        let now = f64::from(step) * FINE_S;
        state = meridian.step(state, resistance, FINE_S);
        let (rho, slope) = meridian.at(state[0]);
        let contact = rho + radius * libm::sin(slope);
        let speed_m_s = meridian.speed(state);
        let away = |hole: &Hole| {
            let angle = hole.azimuth_rad + turn_rad - state[1];
            [
                contact - hole.circle_m * libm::cos(angle),
                -hole.circle_m * libm::sin(angle),
            ]
        };
        let under = |hole: &Hole| libm::hypot(away(hole)[0], away(hole)[1]) < hole.diameter_m / 2.0;
        if let Some((hole, leave_by)) = over {
            if !under(&bowl.holes[hole]) {
                over = None;
            } else if now > leave_by {
                return Swirl {
                    dwell_s: now,
                    speed_m_s,
                    hole,
                };
            }
            continue;
        }
        let Some((hole, place)) = bowl.holes.iter().enumerate().find(|(_, hole)| under(hole))
        else {
            continue;
        };
        let heading = libm::atan2(rho * state[3], state[2] * libm::cos(slope));
        let bearing = libm::atan2(-away(place)[1], -away(place)[0]);
        let distance = libm::hypot(away(place)[0], away(place)[1]);
        if libm::cos(bearing - heading) <= 0.0 {
            continue;
        }
        let offset_m = distance * libm::sin(bearing - heading).abs();
        let crossing = Crossing {
            speed_m_s,
            press_m_s2: meridian.press(state),
            offset_m,
            hole_m: place.diameter_m,
        };
        match crossing.outcome(radius, bowl.surface.restitution) {
            None => {
                return Swirl {
                    dwell_s: now,
                    speed_m_s,
                    hole,
                };
            }
            Some(left) => {
                over = Some((hole, now + 2.0 * crossing.time_s()));
                state[2] *= left / speed_m_s;
                state[3] *= left / speed_m_s;
            }
        }
    }
    panic!("no hole took the marble")
}

fn middle(diameter_m: f64) -> Vec<Hole> {
    vec![Hole {
        azimuth_rad: 0.0,
        circle_m: 0.0,
        diameter_m,
    }]
}

const WOOD: SurfaceProperties = SurfaceProperties {
    rolling_lever_m: 5e-5,
    ..SurfaceProperties::WOOD
};
const HOLLOW: Hollow = Hollow {
    width_m: 0.150,
    depth_m: 0.030,
};
const ENTRY: BowlEntry = BowlEntry {
    speed_m_s: 0.6,
    inset_m: 0.002,
};

/// The model notices a hole up to a step of 1 ms late, its midpoint rule is out by 0.3 ms after 20 s, and in that time the
/// marble gains or loses speed.
fn agrees(model: Swirl, fine: Swirl, late_s: f64) {
    println!("{model:?}, expected {fine:?}");
    assert_eq!(model.hole, fine.hole);
    assert!(
        (model.dwell_s - fine.dwell_s).abs() < late_s,
        "{} s",
        model.dwell_s - fine.dwell_s
    );
    // What a slope of 20 degrees gives or takes in that time.
    let gained = 5.0 / 7.0 * G * libm::sin(20f64.to_radians()) * late_s;
    assert!(
        (model.speed_m_s - fine.speed_m_s).abs() < gained,
        "{} m/s",
        model.speed_m_s - fine.speed_m_s
    );
}

#[test]
fn a_swirl_to_a_hole_in_the_middle_is_that_of_a_second_integration() {
    let cap = |width_m, depth_m| Hollow { width_m, depth_m };
    for (hollow, hole_m, diameter_m, speed_m_s, inset_m) in [
        (cap(0.150, 0.030), 0.050, 0.014, 0.6, 0.002),
        (cap(0.150, 0.060), 0.060, 0.020, 0.7, 0.010),
        (cap(0.300, 0.020), 0.080, 0.025, 0.4, 0.005),
        (cap(0.300, 0.060), 0.080, 0.016, 0.2, 0.000),
    ] {
        let bowl = BowlSurface {
            hollow,
            holes: middle(hole_m),
            surface: WOOD,
        };
        let entry = BowlEntry { speed_m_s, inset_m };
        let model = bowl::swirl(&bowl, &glass(diameter_m), entry, 0.0).unwrap();
        agrees(
            model,
            expected(&bowl, &glass(diameter_m), entry, 0.0),
            0.003,
        );
    }
}

/// Turns at which a path only grazes the edge of a hole are left out: there one step decides what becomes of the marble.
#[test]
fn a_swirl_over_holes_beside_the_middle_is_that_of_a_second_integration() {
    let mut two_and_one = bowl::even_holes(2, 0.045, 0.020);
    two_and_one.extend(middle(0.04));
    for (holes, turns) in [
        (bowl::even_holes(3, 0.013, 0.0182), 1..11),
        (two_and_one, 6..12),
    ] {
        let bowl = BowlSurface {
            hollow: HOLLOW,
            holes,
            surface: SurfaceProperties::WOOD,
        };
        for turn in turns {
            let turn_rad = TAU * f64::from(turn) / 36.0;
            let model = bowl::swirl(&bowl, &glass(0.014), ENTRY, turn_rad).unwrap();
            agrees(
                model,
                expected(&bowl, &glass(0.014), ENTRY, turn_rad),
                0.003,
            );
        }
    }
}

/// Over holes that are too narrow for it a marble rolls as if they were not there, and one that stands in its way takes it.
#[test]
fn a_hole_too_narrow_for_the_marble_changes_nothing() {
    let with = |narrow: Vec<Hole>| {
        let bowl = BowlSurface {
            hollow: HOLLOW,
            holes: [narrow, middle(0.05)].concat(),
            surface: WOOD,
        };
        bowl::swirl(&bowl, &glass(0.014), ENTRY, 0.3).unwrap()
    };
    let (narrow, plain) = (with(bowl::even_holes(5, 0.050, 0.0139)), with(Vec::new()));
    assert_eq!(narrow, Swirl { hole: 5, ..plain });
    assert!(with(bowl::even_holes(5, 0.050, 0.030)).dwell_s < plain.dwell_s);
}

/// On wood so soft that a marble stands by itself within a centimetre of the middle it still rolls into a hole there, and
/// comes to rest where there is none.
#[test]
fn a_marble_rests_only_where_it_has_stopped() {
    let soft = SurfaceProperties {
        rolling_lever_m: 4e-4,
        ..SurfaceProperties::WOOD
    };
    let with = |holes| {
        bowl::swirl(
            &BowlSurface {
                hollow: HOLLOW,
                holes,
                surface: soft,
            },
            &glass(0.010),
            ENTRY,
            0.0,
        )
    };
    let taken = with(middle(0.012)).expect("it rolls into the hole");
    assert!(taken.speed_m_s > 0.01, "{taken:?}");
    assert_eq!(
        with(vec![Hole {
            azimuth_rad: 0.0,
            circle_m: 0.070,
            diameter_m: 0.004
        }]),
        None
    );
}

/// However slowly it comes over the rim of a shallow bowl, it rolls down to the hole.
#[test]
fn a_marble_that_hardly_moves_on_a_slope_is_not_at_rest() {
    let surface = SurfaceProperties {
        rolling_lever_m: 1e-5,
        ..SurfaceProperties::WOOD
    };
    let bowl = BowlSurface {
        hollow: Hollow {
            width_m: 0.3,
            depth_m: 0.004,
        },
        holes: middle(0.06),
        surface,
    };
    let taken = bowl::swirl(
        &bowl,
        &glass(0.016),
        BowlEntry {
            speed_m_s: 1e-4,
            inset_m: 0.0,
        },
        0.0,
    )
    .expect("it rolls down");
    // From rest at the rim to the hole's edge it falls by the depth but that of the hole, as 7/10 v^2 = g h.
    let sphere_m = (0.3 * 0.3 / (4.0 * 0.004) + 0.004) / 2.0;
    let height = |radius: f64| radius * radius / (2.0 * sphere_m);
    let fallen = (height(0.15) - height(0.03)) * (sphere_m - 0.008) / sphere_m;
    let lost = 1e-5 / 0.008 * (0.15 - 0.03);
    let speed = (10.0 / 7.0 * G * (fallen - lost)).sqrt();
    assert!(
        (taken.speed_m_s / speed - 1.0).abs() < 0.005,
        "{} m/s, not {speed}",
        taken.speed_m_s
    );
}

/// The tangent at the rim and the chord to the middle of the cap: the rim is twice as steep as that chord (Euclid III.32).
#[test]
fn the_rim_of_a_cap_is_twice_as_steep_as_the_chord_to_its_middle() {
    for (width_m, depth_m) in [(0.150, 0.030), (0.300, 0.020), (0.200, 0.099)] {
        let rim = Hollow { width_m, depth_m }.slope_rad(width_m / 2.0);
        assert!((rim - 2.0 * libm::atan(2.0 * depth_m / width_m)).abs() < 1e-12);
        // Sines of the slope go as the distance from the axis.
        let half = Hollow { width_m, depth_m }.slope_rad(width_m / 4.0);
        assert!((libm::sin(half) - libm::sin(rim) / 2.0).abs() < 1e-12);
    }
}

/// Twenty-four entries, 15 degrees apart.
#[test]
fn marbles_enter_evenly_round_the_rim() {
    let bowl = BowlSurface {
        hollow: HOLLOW,
        holes: vec![Hole {
            azimuth_rad: 0.0,
            circle_m: 0.03,
            diameter_m: 0.03,
        }],
        surface: WOOD,
    };
    let each = |k: u32| {
        bowl::swirl(
            &bowl,
            &glass(0.014),
            ENTRY,
            (7.5 + 15.0 * f64::from(k)).to_radians(),
        )
        .unwrap()
    };
    let mut expected: Vec<f64> = (0..24).map(|k| each(k).dwell_s).collect();
    let mut swirls: Vec<f64> = bowl::swirls(&bowl, &glass(0.014), ENTRY)
        .iter()
        .map(|swirl| swirl.dwell_s)
        .collect();
    expected.sort_by(f64::total_cmp);
    swirls.sort_by(f64::total_cmp);
    assert_eq!(swirls, expected);
}

/// Gauss-Hermite quadrature, M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), table 25.10, n = 3:
/// nodes x and weights w of the integral of exp(-x^2) f(x); a normal law of speeds has them at mean + sqrt(2) sd x with
/// w / sqrt(pi) (read from memory, as digits of sqrt(3/2), 2 sqrt(pi)/3 and sqrt(pi)/6). A node below a millimetre a second
/// counts as that: marbles come in forwards.
#[test]
fn scatter_of_the_entry_speed_is_three_points_of_gauss_and_hermite() {
    let nodes = [
        (0.0, 1.181635900603677),
        (-1.224744871391589, 0.295408975150919),
        (1.224744871391589, 0.295408975150919),
    ];
    let wood = BowlSurface {
        hollow: HOLLOW,
        holes: bowl::even_holes(3, 0.013, 0.0182),
        surface: SurfaceProperties::WOOD,
    };
    let beside = vec![Hole {
        azimuth_rad: 0.0,
        circle_m: 0.025,
        diameter_m: 0.0182,
    }];
    let soft = BowlSurface {
        hollow: HOLLOW,
        holes: beside,
        surface: SurfaceProperties {
            rolling_lever_m: 5e-4,
            ..SurfaceProperties::WOOD
        },
    };
    // The slowest miss this one altogether, wherever it stands.
    let far = vec![Hole {
        azimuth_rad: 0.0,
        circle_m: 0.040,
        diameter_m: 0.009,
    }];
    let missed = BowlSurface {
        holes: far,
        ..soft.clone()
    };
    let cases = [
        (wood, 0.014, 0.5, 0.06),
        (soft.clone(), 0.014, 0.5, 0.1),
        (soft.clone(), 0.014, 0.4, 0.2),
        (soft, 0.014, 0.2, 0.2),
        (missed, 0.008, 0.3, 0.17),
    ];
    for (bowl, marble_m, mean_m_s, sd_m_s) in cases {
        let (mut moments, mut counts) = ([0.0; 3], Vec::new());
        for (x, weight) in nodes {
            let speed_m_s = (mean_m_s + 2f64.sqrt() * sd_m_s * x).max(1e-3);
            let swirls = bowl::swirls(
                &bowl,
                &glass(marble_m),
                BowlEntry {
                    speed_m_s,
                    inset_m: 0.002,
                },
            );
            counts.push(swirls.len());
            let each = weight / std::f64::consts::PI.sqrt() / swirls.len() as f64;
            for (power, moment) in moments.iter_mut().enumerate() {
                *moment += swirls
                    .iter()
                    .map(|swirl| each * swirl.dwell_s.powi(power as i32))
                    .sum::<f64>();
            }
        }
        println!("{counts:?} of 24 reach a hole");
        let (mean_s, square) = (moments[1] / moments[0], moments[2] / moments[0]);
        let entry = BowlEntry {
            speed_m_s: mean_m_s,
            inset_m: 0.002,
        };
        let Dwell { mean_s: mean, sd_s } =
            bowl::dwell(&bowl, &glass(marble_m), entry, sd_m_s).unwrap();
        assert!((mean / mean_s - 1.0).abs() < 1e-9, "{mean} s, not {mean_s}");
        let expected_sd_s = (square - mean_s * mean_s).sqrt();
        assert!(
            (sd_s / expected_sd_s - 1.0).abs() < 1e-6,
            "{sd_s} s, not {expected_sd_s}"
        );
    }
}

/// 3-4-5: a path 3 mm beside the middle of a hole of 10 mm is over it for 8 mm.
#[test]
fn time_over_a_hole_is_its_chord_over_the_speed() {
    let crossing = Crossing {
        speed_m_s: 0.4,
        press_m_s2: G,
        offset_m: 0.003,
        hole_m: 0.010,
    };
    assert!((crossing.time_s() - 0.020).abs() < 1e-15);
}

/// A marble that has sunk by its radius before it gets to the far edge meets that with its widest part: it is in, however
/// fast. Holmes' limit is (L - D/2) sqrt(g/D).
#[test]
fn a_marble_sunk_to_its_middle_is_in_however_fast() {
    let (radius_m, hole_m) = (0.005_f64, 0.100_f64);
    let limit = (hole_m - radius_m) * (G / (2.0 * radius_m)).sqrt();
    let crossing = |speed_m_s| Crossing {
        speed_m_s,
        press_m_s2: G,
        offset_m: 0.0,
        hole_m,
    };
    for restitution in [0.0, 0.2, 0.5] {
        assert_eq!(crossing(0.999 * limit).outcome(radius_m, restitution), None);
        assert!(crossing(1.05 * limit).outcome(radius_m, 0.0).is_some());
    }
}

/// What is left of a pass once the far edge has met a marble that sank by `sunk_m` and falls at `falling`, by turning vectors:
/// the speed along the normal goes back `restitution` times, the speed along the edge stays, and no slip at the end mixes 5/7 of
/// it with 2/7 of the old rolling (solid sphere). `None` where that does not lift it out again.
fn over_the_edge(
    pass: Crossing,
    falling: f64,
    sunk_m: f64,
    radius_m: f64,
    restitution: f64,
) -> Option<f64> {
    let before_edge = (radius_m * radius_m - (radius_m - sunk_m) * (radius_m - sunk_m)).sqrt();
    let normal = [-before_edge / radius_m, (radius_m - sunk_m) / radius_m];
    let velocity = [pass.speed_m_s, -falling];
    let into = -(velocity[0] * normal[0] + velocity[1] * normal[1]);
    let after = [0, 1].map(|k| velocity[k] + (1.0 + restitution) * into * normal[k]);
    let rolling = 5.0 / 7.0 * after[0] + 2.0 / 7.0 * pass.speed_m_s;
    let lift = 0.7 * rolling * rolling + 0.5 * after[1].max(0.0).powi(2);
    (lift >= pass.press_m_s2 * sunk_m).then_some(rolling)
}

/// A pass over the middle of a hole, built from its end: the marble falls freely for `fall_s`, then meets the far edge.
#[test]
fn a_hit_on_the_far_edge_leaves_what_the_impact_law_says() {
    let (radius_m, press_m_s2) = (0.008_f64, 9.81_f64);
    let mut taken = 0;
    for (speed_m_s, fall_s, restitution) in [
        (0.6_f64, 0.02_f64, 0.5_f64),
        (0.6, 0.02, 0.0),
        (1.2, 0.012, 0.3),
        (0.45, 0.025, 0.2),
    ] {
        let sunk_m = press_m_s2 * fall_s * fall_s / 2.0;
        let before_edge = (radius_m * radius_m - (radius_m - sunk_m) * (radius_m - sunk_m)).sqrt();
        let pass = Crossing {
            speed_m_s,
            press_m_s2,
            offset_m: 0.0,
            hole_m: speed_m_s * fall_s + before_edge,
        };
        let left = pass.outcome(radius_m, restitution);
        let expected = over_the_edge(pass, press_m_s2 * fall_s, sunk_m, radius_m, restitution);
        println!(
            "{speed_m_s} m/s, sunk {:.2} mm: {left:?} left, by vectors {expected:?}",
            1e3 * sunk_m
        );
        match (left, expected) {
            (Some(left), Some(expected)) => assert!((left / expected - 1.0).abs() < 1e-6),
            (left, expected) => assert_eq!(left, expected),
        }
        taken += u32::from(left.is_none());
    }
    assert!((1..4).contains(&taken), "{taken} of four are taken");
}

/// A path near the edge of a hole: the marble leans over that edge and tips ever faster, x'' = 5/7 (press/r) x with x the
/// contact's distance inside the edge, integrated here step by step; then the far edge hits it as on any pass.
#[test]
fn a_marble_that_grazes_a_hole_leans_on_its_edge() {
    let (radius_m, hole_m, restitution) = (0.008_f64, 0.022_f64, 0.5_f64);
    for (press_m_s2, offset_m, speed_m_s) in [
        (9.81_f64, 0.0095_f64, 0.6_f64),
        (9.81, 0.0105, 0.5),
        (12.0, 0.0100, 0.5),
        (9.81, 0.0090, 0.9),
        (9.81, 0.0106, 0.3),
    ] {
        let half = hole_m / 2.0;
        let chord = 2.0 * ((half - offset_m) * (half + offset_m)).sqrt();
        let steps = 100_000;
        let step_s = chord / speed_m_s / f64::from(steps);
        let (mut inside, mut rate) = (half - offset_m, 0.0);
        for _ in 0..steps {
            let middle = inside + rate * step_s / 2.0;
            rate += 5.0 / 7.0 * press_m_s2 / radius_m * middle * step_s;
            inside = middle + rate * step_s / 2.0;
        }
        let sunk_m = radius_m - (radius_m * radius_m - inside * inside).sqrt();
        let fall_s = (chord - inside) / speed_m_s;
        assert!(
            press_m_s2 * fall_s * fall_s / 2.0 > sunk_m,
            "the edge holds it up"
        );
        let pass = Crossing {
            speed_m_s,
            press_m_s2,
            offset_m,
            hole_m,
        };
        let left = pass.outcome(radius_m, restitution).expect("it gets over");
        let falling = (2.0 * press_m_s2 * sunk_m).sqrt();
        let expected =
            over_the_edge(pass, falling, sunk_m, radius_m, restitution).expect("it gets over");
        println!(
            "{speed_m_s} m/s, {offset_m} m off: sunk {:.3} mm, {left} left, by vectors {expected}",
            1e3 * sunk_m
        );
        assert!((left / expected - 1.0).abs() < 1e-6);
    }
}

/// Little's law with the shortened stay: T (1 + k cover rate T) = T alone; what the mean loses spreads; thrown out is one
/// less Poisson's chance of meeting nobody.
#[test]
fn company_shortens_by_what_it_covers() {
    let alone = Dwell {
        mean_s: 19.1,
        sd_s: 0.4,
    };
    let company = crowd::company(alone, 0.7, 0.016, 0.200);
    let cover = company.inside * (0.016f64 / 0.200).powi(2);
    assert!((company.inside - 0.7 * company.dwell.mean_s).abs() < 1e-12);
    assert!((company.dwell.mean_s * (1.0 + crowd::SHORTENING * cover) - alone.mean_s).abs() < 1e-9);
    let variance = company.dwell.sd_s.powi(2);
    assert!(
        (variance - alone.sd_s.powi(2) - (alone.mean_s - company.dwell.mean_s).powi(2)).abs()
            < 1e-9
    );
    assert!((libm::log(1.0 - company.over_rim) + crowd::OVER_RIM * cover).abs() < 1e-12);
}

/// A marble drops by its diameter: d = g t^2/2.
#[test]
fn a_marble_passes_a_hole_while_it_falls_by_its_diameter() {
    let passing_s = crowd::passing_s(0.016);
    assert!((G * passing_s * passing_s / 2.0 - 0.016).abs() < 1e-15);
}

/// The chance to find all but one of a dome's marbles there: one less the terms of Poisson's law below that.
#[test]
fn an_arch_needs_all_but_one_of_its_marbles_there_already() {
    let (hole_m, marble_m, rate_per_s) = (0.0182, 0.014, 12.0);
    let mean = rate_per_s * crowd::passing_s(marble_m);
    let others = fewest_in_dome(hole_m, marble_m) - 1;
    let factorial = |n: u32| (1..=n).map(f64::from).product::<f64>();
    let below: f64 = (0..others)
        .map(|n| libm::exp(-mean) * mean.powi(n as i32) / factorial(n))
        .sum();
    println!("{others} others, {mean} on average");
    assert!(others >= 2);
    assert!((crowd::arch_bound(hole_m, marble_m, rate_per_s) - (1.0 - below)).abs() < 1e-12);
}
