//! Marbles that arch across a mouth, held to curves of a general 3-D rigid-body engine (tests/truth/README.md): dimensions,
//! friction and restitution go in, nothing is fitted.
//!
//! All trials: `cargo test --release --test contact mouths:: -- --include-ignored --nocapture`

use marblewright::contact::crowd::{CrowdPlace, FINENESS};
use marblewright::contact::floor_place::FloorPlace;
use marblewright::contact::scatter::{normal, uniform};
use marblewright::contact::vector::{Vector, vector};
use marblewright::contact::world::{Sphere, World};
use marblewright::stats::proportion::clopper_pearson;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rayon::prelude::*;

use crate::floors::floor;
use crate::support::rows::Rows;

const ARCHES: &str = include_str!("../truth/e14_arch.csv");
const CLOGS: &str = include_str!("../truth/e5_clog.csv");

/// The bench of the curves: marbles roll at 0.25 m/s onto a board 120 mm wide, 30 mm before its funnel begins, at random
/// places and times within a window.
struct Bench {
    board: FloorPlace,
    from_x_m: f64,
    marbles: usize,
    window_s: f64,
}

const HALF_WIDTH_M: f64 = 0.06;
const SPEED_M_S: f64 = 0.25;
/// How far past the mouth a marble counts as gone, m.
const GONE_M: f64 = 0.03;
/// So long nothing moves faster than this before marbles count as arched, s and m/s; and that is looked for so often, s.
const STILL: (f64, f64) = (1.0, 0.002);
const LOOK_S: f64 = 0.002;
/// Marbles not gone by then count as arched, s.
const LONGEST_S: f64 = 20.0;

fn bench(rows: &Rows, row: usize) -> Bench {
    let number = |name: &str| rows.number(row, name);
    let mut board = floor(number("cross_deg"), number("slope_deg"));
    (board.length_m, board.width_m) = (0.6, 2.0 * HALF_WIDTH_M);
    board.mouth_m = number("mouth_over_d") * 0.014;
    board.funnel_rad = number("half_angle_deg").to_radians();
    board.marbles.on_wood.friction = number("mu_wall");
    board.marbles.on_marbles.friction = number("mu_glass");
    let funnel_m = if number("half_angle_deg") < 89.0 {
        (HALF_WIDTH_M - board.mouth_m / 2.0) / libm::tan(board.funnel_rad)
    } else {
        0.0
    };
    Bench {
        from_x_m: board.length_m - funnel_m - 0.03,
        board,
        marbles: number("n") as usize,
        window_s: number("window_s"),
    }
}

impl Bench {
    /// When and where across marbles come, the first first.
    fn coming(&self, chance: &mut ChaCha8Rng) -> Vec<(f64, f64)> {
        let mut coming = Vec::new();
        for _ in 0..self.marbles {
            let across = (2.0 * uniform(chance) - 1.0) * (HALF_WIDTH_M - 0.0084);
            coming.push((uniform(chance) * self.window_s, across));
        }
        coming.sort_by(|a, b| a.0.total_cmp(&b.0));
        coming
    }

    fn comes(&self, world: &mut World, y: f64, chance: &mut ChaCha8Rng) -> bool {
        let marbles = &self.board.marbles;
        let radius = (marbles.diameter_m + normal(chance, marbles.diameter_sd_m)) / 2.0;
        let z = self.board.board_z_m(self.from_x_m, y) + radius * 1.01;
        let at = vector(self.from_x_m, y, z);
        let in_the_way = |sphere: &Sphere| (sphere.at - at).square() < 4.84 * radius * radius;
        if world.spheres.iter().any(in_the_way) {
            return false;
        }
        let mut sphere = Sphere::new(radius, marbles.density_kg_m3, at);
        sphere.velocity = vector(SPEED_M_S, normal(chance, 0.03), 0.0);
        sphere.spin = vector(0.0, SPEED_M_S / radius, 0.0);
        world.add(sphere);
        true
    }

    /// Whether marbles stay behind an arch.
    fn arches(&self, seed: u64) -> bool {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let mut coming = self.coming(&mut chance).into_iter().peekable();
        let mut hits = chance.clone();
        hits.set_stream(1);
        let mut world = World::new(self.board.setting(FINENESS), Vec::new(), None, hits);
        let mut still_s = 0.0;
        while world.time < LONGEST_S && still_s < STILL.0 {
            if let Some(&(time, y)) = coming.peek()
                && world.time >= time
                && self.comes(&mut world, y, &mut chance)
            {
                coming.next();
            }
            let until = world.time + LOOK_S;
            while world.time < until - 1e-9 {
                world.step();
            }
            for i in (0..world.spheres.len()).rev() {
                if world.spheres[i].at.x > self.board.length_m + GONE_M {
                    world.take_out(i);
                }
            }
            if coming.peek().is_none() && world.spheres.is_empty() {
                return false;
            }
            let moves = |sphere: &Sphere| fastest(sphere.velocity) > STILL.1;
            let still = coming.peek().is_none() && !world.spheres.iter().any(moves);
            still_s = if still { still_s + LOOK_S } else { 0.0 };
        }
        true
    }

    /// How often marbles arch in so many trials.
    fn arched(&self, trials: u64) -> usize {
        let arches = |seed: &u64| self.arches(*seed);
        (1..=trials).into_par_iter().filter(arches).count()
    }
}

fn fastest(velocity: Vector) -> f64 {
    velocity.x.abs().max(velocity.y.abs()).max(velocity.z.abs())
}

/// A row: what, the model's share and the truth's, and the truth's 95 % interval.
struct Row {
    what: String,
    model: f64,
    truth: f64,
    interval: [f64; 2],
}

impl Row {
    fn is_inside(&self) -> bool {
        (self.interval[0]..=self.interval[1]).contains(&self.model)
    }
}

fn rows(text: &'static str, trials: u64) -> Vec<Row> {
    let curve = Rows::read(text);
    let mut rows = Vec::new();
    for row in 0..curve.rows.len() {
        let (hits, of) = (curve.number(row, "clogs"), curve.number(row, "trials"));
        let truth = clopper_pearson(hits as u64, of as u64, 0.95);
        rows.push(Row {
            what: curve.rows[row][..8].join(" "),
            model: bench(&curve, row).arched(trials) as f64 / trials as f64,
            truth: hits / of,
            interval: [truth.low.unwrap_or(0.0), truth.high.unwrap_or(1.0)],
        });
    }
    for row in &rows {
        println!(
            "{:40} {:.3}, truth {:.3} ({:.3} to {:.3}) {}",
            row.what,
            row.model,
            row.truth,
            row.interval[0],
            row.interval[1],
            if row.is_inside() { "" } else { "outside" }
        );
    }
    rows
}

/// Inside nine of ten intervals but for two rows, which are named; what the model's trials add to the width is left out.
#[test]
fn marbles_arch_as_often_as_in_the_engine() {
    hold(rows(ARCHES, 100));
}

#[test]
#[ignore = "minutes of marbles followed"]
fn marbles_arch_as_often_as_in_the_engine_in_many_trials() {
    hold(rows(ARCHES, 1000));
}

/// A wide mouth and rough marbles arch more often than in the engine.
const ABOVE: [&str; 2] = ["45 0.0 8 3.0 1.6 0.35 0.15 1", "45 0.0 4 5.0 1.3 0.5 0.3 1"];

fn hold(rows: Vec<Row>) {
    let (mut outside, mut above) = (Vec::new(), 0);
    for row in &rows {
        if ABOVE.contains(&row.what.as_str()) {
            above += 1;
            assert!(row.model - row.truth < 0.2, "{} is far off", row.what);
        } else if !row.is_inside() {
            outside.push(&row.what);
        }
    }
    println!("outside beside the two that lie above: {outside:?}");
    assert!(above == ABOVE.len() && outside.len() * 10 <= rows.len());
}

/// The older rows, sixteen trials each, in an engine in which slip between marbles did not end within a hit (see
/// tests/truth/README.md): there marbles slipped past each other that friction holds, and arched less often. The model stays
/// on the safe side of every interval.
#[test]
fn marbles_arch_no_less_than_where_they_slip() {
    for row in rows(CLOGS, 48) {
        assert!(
            row.model >= row.interval[0],
            "{} arches too seldom",
            row.what
        );
    }
}
