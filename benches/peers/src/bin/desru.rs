//! Circuit A in desru: every event a boxed closure. Arguments: MARBLES HOURS SEED.
use desru::{Event, EventScheduler};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::{cell::RefCell, collections::VecDeque, rc::Rc, time::Instant};
struct W {
    r: ChaCha8Rng,
    ramp: VecDeque<u32>,
    last: [f64; 3],
    moves: u64,
    picks: u64,
    area: f64,
    lt: f64,
    tick: f64,
    head: f64,
    mu: f64,
    sg: f64,
}
impl W {
    fn q(&mut self, t: f64) {
        self.area += (t - self.lt) * self.ramp.len() as f64;
        self.lt = t
    }
    fn z(&mut self) -> f64 {
        StandardNormal.sample(&mut self.r)
    }
}
type S = Rc<RefCell<W>>;
const TM: [f64; 3] = [5.0, 7.5, 11.0];
fn at(s: &mut EventScheduler, t: f64, f: impl FnMut(&mut EventScheduler) + 'static) {
    let mut f = f;
    s.schedule(Event::new(
        t,
        Some(Box::new(move |s| {
            f(s);
            None
        })),
        None,
    ))
}
fn tick(s: &mut EventScheduler, w: &S, k: u64) {
    let t = s.current_time;
    let m = {
        let mut g = w.borrow_mut();
        if g.ramp.is_empty() {
            None
        } else {
            g.q(t);
            g.picks += 1;
            g.moves += 1;
            g.ramp.pop_front()
        }
    };
    if let Some(m) = m {
        let w = w.clone();
        at(s, t + 4.0, move |s| slide(s, &w, m));
    }
    let n = (k + 1) as f64 * w.borrow().tick;
    let w = w.clone();
    at(s, n, move |s| tick(s, &w, k + 1));
}
fn slide(s: &mut EventScheduler, w: &S, m: u32) {
    w.borrow_mut().moves += 1;
    let w = w.clone();
    at(s, s.current_time + 0.8, move |s| bowl(s, &w, m))
}
fn bowl(s: &mut EventScheduler, w: &S, m: u32) {
    let (d, k) = {
        let mut g = w.borrow_mut();
        g.moves += 1;
        let z = g.z();
        ((g.mu + g.sg * z).exp(), ((g.r.random::<u32>() as u64 * 3) >> 32) as usize)
    };
    let w = w.clone();
    at(s, s.current_time + d, move |s| track(s, &w, m, k))
}
fn track(s: &mut EventScheduler, w: &S, m: u32, k: usize) {
    let x = {
        let mut g = w.borrow_mut();
        g.moves += 1;
        let d = loop {
            let x = TM[k] * (1.0 + 0.03 * g.z());
            if x > 0.0 {
                break x;
            }
        };
        let x = (s.current_time + d).max(g.last[k] + g.head);
        g.last[k] = x;
        x
    };
    let w = w.clone();
    at(s, x, move |s| floor(s, &w, m))
}
fn floor(s: &mut EventScheduler, w: &S, m: u32) {
    let d = {
        let mut g = w.borrow_mut();
        g.moves += 1;
        g.r.random_range(1.0..4.0)
    };
    let w = w.clone();
    at(s, s.current_time + d, move |s| {
        let mut g = w.borrow_mut();
        g.moves += 1;
        g.q(s.current_time);
        g.ramp.push_back(m)
    })
}
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: u32 = a[1].parse().unwrap();
    let hours: f64 = a[2].parse().unwrap();
    let sc = n as f64 / 40.0;
    let sg2 = 1.16f64.ln();
    let w: S = Rc::new(RefCell::new(W {
        r: ChaCha8Rng::seed_from_u64(a[3].parse().unwrap()),
        ramp: (0..n).collect(),
        last: [0.0; 3],
        moves: 0,
        picks: 0,
        area: 0.0,
        lt: 0.0,
        tick: 0.4 / sc,
        head: 0.1 / sc,
        mu: 2f64.ln() - sg2 / 2.0,
        sg: sg2.sqrt(),
    }));
    let hz = hours * 3600.0;
    let t0 = Instant::now();
    let mut s = EventScheduler::new();
    {
        let w = w.clone();
        at(&mut s, 0.0, move |s| tick(s, &w, 0));
    }
    // the log keeps every event unless filtered out: filter all
    s.run(
        Box::new(move |s: &EventScheduler| s.event_queue.peek().map_or(true, |e| e.time > hz)),
        Some(Box::new(|_, _| false)),
    );
    let wall = t0.elapsed().as_secs_f64();
    let mut g = w.borrow_mut();
    g.q(hz);
    println!(
        "{{\"moves\": {}, \"seconds\": {wall:.6}, \"picked_per_s\": {:.5}, \"ramp_mean\": {:.4}}}",
        g.moves,
        g.picks as f64 / hz,
        g.area / hz
    );
}
