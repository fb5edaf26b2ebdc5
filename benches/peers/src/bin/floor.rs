//! What the machine allows: one ChaCha8 `u64` drawn, the earliest of SIZE events popped off a four-way heap and one pushed.
//! Arguments: SIZE ROUNDS SEED.

use std::time::Instant;

use rand::{RngCore, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A heap of events (time in the high 64 bits), each parent before its four children.
struct Heap(Vec<u128>);

impl Heap {
    fn push(&mut self, event: u128) {
        let mut at = self.0.len();
        self.0.push(event);
        while at > 0 && self.0[(at - 1) / 4] > event {
            self.0[at] = self.0[(at - 1) / 4];
            at = (at - 1) / 4;
        }
        self.0[at] = event;
    }

    fn pop(&mut self) -> Option<u128> {
        let last = self.0.pop()?;
        let Some(&first) = self.0.first() else {
            return Some(last);
        };
        let mut at = 0;
        while 4 * at + 1 < self.0.len() {
            let children = 4 * at + 1..(4 * at + 5).min(self.0.len());
            let least =
                children.fold(4 * at + 1, |least, child| if self.0[child] < self.0[least] { child } else { least });
            if self.0[least] >= last {
                break;
            }
            self.0[at] = self.0[least];
            at = least;
        }
        self.0[at] = last;
        Some(first)
    }
}

fn main() {
    let number = |n: usize| std::env::args().nth(n).and_then(|text| text.parse::<u64>().ok()).expect("a whole number");
    let (size, rounds, mut draw) = (number(1), number(2), ChaCha8Rng::seed_from_u64(number(3)));
    let mut heap = Heap(Vec::new());
    (0..size).for_each(|n| heap.push(u128::from(draw.next_u64() >> 24) << 64 | u128::from(n)));
    let start = Instant::now();
    for _ in 0..rounds {
        if let Some(event) = heap.pop() {
            heap.push(event + (u128::from(draw.next_u64() >> 24) << 64));
        }
    }
    let seconds = start.elapsed().as_secs_f64();
    println!("{{\"moves\": {rounds}, \"seconds\": {seconds:.6}, \"last\": {}}}", heap.pop().unwrap_or(0) as u64);
}
