//! Circuit A in nexosim: one model an element, marbles are messages. Arguments: MARBLES HOURS SEED.
use nexosim::model::{Context, Model, schedulable};
use nexosim::ports::Output;
use nexosim::simulation::{Mailbox, SimInit};
use nexosim::time::MonotonicTime;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::time::{Duration, Instant};

static MOVES: AtomicU64 = AtomicU64::new(0);
static PICKS: AtomicU64 = AtomicU64::new(0);
static AREA: AtomicU64 = AtomicU64::new(0); // in microsecond * marbles
fn ns(t: MonotonicTime) -> u64 {
    t.duration_since(MonotonicTime::EPOCH).as_nanos() as u64
}

#[derive(Serialize, Deserialize)]
struct Ramp {
    q: VecDeque<u32>,
    tick: Duration,
    last: u64,
    out: Output<u32>,
}
#[Model]
impl Ramp {
    #[nexosim(init)]
    async fn init(&mut self, cx: &Context<Self>) {
        cx.schedule_periodic_event(self.tick, self.tick, schedulable!(Self::tick), ()).unwrap();
        self.tick((), cx).await;
    }
    fn acc(&mut self, t: u64) {
        AREA.fetch_add((t - self.last) / 1000 * self.q.len() as u64, Relaxed);
        self.last = t;
    }
    pub async fn arrive(&mut self, m: u32, cx: &Context<Self>) {
        MOVES.fetch_add(1, Relaxed);
        self.acc(ns(cx.time()));
        self.q.push_back(m);
    }
    #[nexosim(schedulable)]
    async fn tick(&mut self, _: (), cx: &Context<Self>) {
        if !self.q.is_empty() {
            self.acc(ns(cx.time()));
            let m = self.q.pop_front().unwrap();
            PICKS.fetch_add(1, Relaxed);
            self.out.send(m).await;
        }
    }
}
#[derive(Serialize, Deserialize)]
struct Delay {
    d: Duration,
    out: Output<u32>,
}
#[Model]
impl Delay {
    pub async fn enter(&mut self, m: u32, cx: &Context<Self>) {
        MOVES.fetch_add(1, Relaxed);
        cx.schedule_event(self.d, schedulable!(Self::leave), m).unwrap();
    }
    #[nexosim(schedulable)]
    async fn leave(&mut self, m: u32) {
        self.out.send(m).await;
    }
}
#[derive(Serialize, Deserialize)]
struct Bowl {
    r: ChaCha8Rng,
    mu: f64,
    sg: f64,
    out0: Output<u32>,
    out1: Output<u32>,
    out2: Output<u32>,
}
#[Model]
impl Bowl {
    pub async fn enter(&mut self, m: u32, cx: &Context<Self>) {
        MOVES.fetch_add(1, Relaxed);
        let z: f64 = StandardNormal.sample(&mut self.r);
        let d = Duration::from_nanos((self.mu + self.sg * z).exp() as u64);
        let k = ((self.r.random::<u32>() as u64 * 3) >> 32) as u32;
        cx.schedule_event(d, schedulable!(Self::leave), k << 29 | m).unwrap();
    }
    #[nexosim(schedulable)]
    async fn leave(&mut self, v: u32) {
        let m = v & 0x1fff_ffff;
        match v >> 29 {
            0 => self.out0.send(m).await,
            1 => self.out1.send(m).await,
            _ => self.out2.send(m).await,
        }
    }
}
#[derive(Serialize, Deserialize)]
struct Track {
    r: ChaCha8Rng,
    mean: f64,
    last: u64,
    head: u64,
    out: Output<u32>,
}
#[Model]
impl Track {
    pub async fn enter(&mut self, m: u32, cx: &Context<Self>) {
        MOVES.fetch_add(1, Relaxed);
        let t = ns(cx.time());
        let d = loop {
            let z: f64 = StandardNormal.sample(&mut self.r);
            let x = self.mean * (1.0 + 0.03 * z);
            if x > 0.0 {
                break x as u64;
            }
        };
        let x = (t + d).max(self.last + self.head);
        self.last = x;
        cx.schedule_event(Duration::from_nanos(x - t), schedulable!(Self::leave), m).unwrap();
    }
    #[nexosim(schedulable)]
    async fn leave(&mut self, m: u32) {
        self.out.send(m).await;
    }
}
#[derive(Serialize, Deserialize)]
struct Floor {
    r: ChaCha8Rng,
    out: Output<u32>,
}
#[Model]
impl Floor {
    pub async fn enter(&mut self, m: u32, cx: &Context<Self>) {
        MOVES.fetch_add(1, Relaxed);
        let d = 1_000_000_000 + ((self.r.random::<u32>() as u64 * 3_000_000_000) >> 32);
        cx.schedule_event(Duration::from_nanos(d), schedulable!(Self::leave), m).unwrap();
    }
    #[nexosim(schedulable)]
    async fn leave(&mut self, m: u32) {
        self.out.send(m).await;
    }
}

fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: u32 = a[1].parse().unwrap();
    let hours: f64 = a[2].parse().unwrap();
    let seed: u64 = a[3].parse().unwrap();
    let th = 1;
    let s = n as u64 / 40;
    let tick = 400_000_000 / s;
    let head = 100_000_000 / s;
    let rng = |k: u64| {
        let mut r = ChaCha8Rng::seed_from_u64(seed);
        r.set_stream(k);
        r
    };
    let sg2 = 1.16f64.ln();
    let mut ramp = Ramp { q: (0..n).collect(), tick: Duration::from_nanos(tick), last: 0, out: Output::default() };
    let mut wheel = Delay { d: Duration::from_secs(4), out: Output::default() };
    let mut slide = Delay { d: Duration::from_millis(800), out: Output::default() };
    let mut bowl = Bowl {
        r: rng(1),
        mu: 2.0e9f64.ln() - sg2 / 2.0,
        sg: sg2.sqrt(),
        out0: Output::default(),
        out1: Output::default(),
        out2: Output::default(),
    };
    let mut tr: Vec<Track> = [5.0e9, 7.5e9, 11.0e9]
        .iter()
        .enumerate()
        .map(|(i, &mean)| Track { r: rng(2 + i as u64), mean, last: 0, head, out: Output::default() })
        .collect();
    let mut floor = Floor { r: rng(9), out: Output::default() };
    let (bm, wm, sm, rm, fm) = (Mailbox::new(), Mailbox::new(), Mailbox::new(), Mailbox::new(), Mailbox::new());
    let tm: Vec<Mailbox<Track>> = (0..3).map(|_| Mailbox::new()).collect();
    ramp.out.connect(Delay::enter, &wm);
    wheel.out.connect(Delay::enter, &sm);
    slide.out.connect(Bowl::enter, &bm);
    bowl.out0.connect(Track::enter, &tm[0]);
    bowl.out1.connect(Track::enter, &tm[1]);
    bowl.out2.connect(Track::enter, &tm[2]);
    for t in tr.iter_mut() {
        t.out.connect(Floor::enter, &fm);
    }
    floor.out.connect(Ramp::arrive, &rm);
    let mut b = SimInit::with_num_threads(th)
        .add_model(ramp, rm, "ramp")
        .add_model(wheel, wm, "wheel")
        .add_model(slide, sm, "slide")
        .add_model(bowl, bm, "bowl")
        .add_model(floor, fm, "floor");
    for (i, (t, m)) in tr.into_iter().zip(tm).enumerate() {
        b = b.add_model(t, m, &format!("t{i}"));
    }
    let t0 = Instant::now();
    let mut sim = b.init(MonotonicTime::EPOCH).unwrap();
    let hz = (hours * 3600.0 * 1e9) as u64;
    sim.step_until(Duration::from_nanos(hz)).unwrap();
    let w = t0.elapsed().as_secs_f64();
    let mv = MOVES.load(Relaxed);
    let pk = PICKS.load(Relaxed);
    let h = hz as f64 / 1e9;
    println!(
        "{{\"moves\": {mv}, \"seconds\": {w:.6}, \"picked_per_s\": {:.5}, \"ramp_mean\": {:.4}}}",
        pk as f64 / h,
        AREA.load(Relaxed) as f64 * 1e3 / hz as f64
    );
}
