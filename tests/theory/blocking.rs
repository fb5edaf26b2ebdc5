//! Lines of exponential gates without room between them: the head that is done waits in its gate until the next is free.
//!
//! Source: G. Hunt, "Sequential arrays of waiting lines", Operations Research 4(6), 674-683 (1956): two gates pass 2/3, three
//! 22/39 of what one alone would. Longer lines, and room between two gates, (b + 2) / (b + 3): the Markov chains of these
//! lines, solved below, which give Hunt's two fractions.

use crate::support::circuit;
use crate::support::steady::{Joint, replications};

/// Gates in a line, each working, blocked, or empty, fed without end; states are words over {0, 1, 2}.
struct Line {
    gates: usize,
}

const EMPTY: u8 = 0;
const WORKING: u8 = 1;
const BLOCKED: u8 = 2;

impl Line {
    /// Gate `k` is done: its marble goes on if it can, and those behind it move up.
    fn done(&self, state: &[u8], k: usize) -> Vec<u8> {
        let mut state = state.to_vec();
        if k + 1 < self.gates && state[k + 1] != EMPTY {
            state[k] = BLOCKED;
            return state;
        }
        let mut free = k;
        if k + 1 < self.gates {
            state[k + 1] = WORKING;
        }
        state[free] = EMPTY;
        while free > 0 && state[free - 1] == BLOCKED {
            state[free] = WORKING;
            free -= 1;
            state[free] = EMPTY;
        }
        if free == 0 {
            state[0] = WORKING;
        }
        state
    }

    /// Marbles a second out of the last gate, by power iteration of the chain seen at rate `gates`.
    fn throughput(&self) -> f64 {
        let mut states = vec![[vec![WORKING], vec![EMPTY; self.gates - 1]].concat()];
        let mut moves: Vec<Vec<(usize, usize)>> = Vec::new();
        let mut n = 0;
        while n < states.len() {
            let from = states[n].clone();
            let working = (0..self.gates).filter(|&k| from[k] == WORKING);
            let next = working.map(|k| {
                let to = self.done(&from, k);
                let at = states
                    .iter()
                    .position(|known| *known == to)
                    .unwrap_or(states.len());
                if at == states.len() {
                    states.push(to);
                }
                (k, at)
            });
            moves.push(next.collect());
            n += 1;
        }
        let mut share = vec![1.0 / states.len() as f64; states.len()];
        for _ in 0..20_000 {
            let mut next = vec![0.0; share.len()];
            for (from, to) in moves.iter().enumerate() {
                let rate = share[from] / self.gates as f64;
                next[from] += share[from] - rate * to.len() as f64;
                to.iter().for_each(|&(_, at)| next[at] += rate);
            }
            share = next;
        }
        let out = |from: usize| moves[from].iter().any(|&(k, _)| k + 1 == self.gates);
        (0..share.len())
            .filter(|&from| out(from))
            .map(|from| share[from])
            .sum()
    }
}

#[test]
fn the_chain_gives_the_known_fractions() {
    for (gates, known) in [
        (2, 2.0 / 3.0),
        (3, 22.0 / 39.0),
        (4, 0.5147754893),
        (5, 0.4857981216),
    ] {
        let throughput = Line { gates }.throughput();
        assert!(
            (throughput - known).abs() < 1e-9,
            "{gates} gates pass {throughput}"
        );
    }
}

/// The elements of a line whose gates have so many places each, fed from and drained to a floor with plenty.
fn line(places: &[u32]) -> String {
    let mut lines =
        String::from("floor: { return-floor: { time: 0 s, room: unlimited }, to: g0 }\n");
    for (k, places) in places.iter().enumerate() {
        let time = "{ exponential: { mean: 1 s } }";
        lines += &format!(
            "g{k}: {{ escapement: {{ time: {time}, places: {places} }}, to: g{} }}\n",
            k + 1
        );
    }
    let last = places.len();
    lines
        .replace(&format!("to: g{last} }}"), "to: floor }")
        .trim_end()
        .to_owned()
}

fn rates(places: &[u32]) -> Vec<f64> {
    let runs = replications(&circuit(60, &line(places)), 12, 200.0, 40_200.0);
    runs.iter().map(|spans| spans[1].rate()).collect()
}

#[test]
fn lines_without_room_between_the_gates() {
    let mut joint = Joint::default();
    for gates in 2..=6 {
        joint.add(
            format!("{gates} gates"),
            rates(&vec![1; gates]),
            Line { gates }.throughput(),
        );
    }
    joint.check(0.01);
}

#[test]
fn two_gates_with_room_between_them() {
    let mut joint = Joint::default();
    for room in 0..=4u32 {
        let b = f64::from(room);
        joint.add(
            format!("room for {room}"),
            rates(&[1, 1 + room]),
            (b + 2.0) / (b + 3.0),
        );
    }
    joint.check(0.01);
}
