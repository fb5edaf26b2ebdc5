//! What is always true of a run, checked while it runs in debug builds and once at the end in release builds.

use super::run::Run;
use super::watch::Watcher;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// Checks that marbles in = marbles in the circuit + marbles spilled, that every marble is in exactly one place,
    /// and that no element is over its room.
    ///
    /// # Panics
    /// When the engine has broken one of these; no machine file can bring that about.
    pub fn audit(&self) {
        let mut found = vec![0u32; self.circuit.marbles as usize];
        for (n, node) in self.nodes.iter().enumerate() {
            let mut inside = node.lane.marbles();
            inside.extend(node.carried.iter().map(|event| event.marble()));
            inside.extend(node.gates.iter().flat_map(|gate| gate.queue.iter().copied()));
            assert_eq!(inside.len(), node.held as usize, "the count of `{}` is wrong", self.plan(n).name);
            assert!(node.held <= self.plan(n).room, "`{}` is over its room", self.plan(n).name);
            inside.into_iter().for_each(|marble| found[marble as usize] += 1);
        }
        let spilled: u64 = self.nodes.iter().map(|node| node.tally.spills).sum();
        let inside: u32 = found.iter().sum();
        assert!(found.iter().all(|&places| places <= 1), "a marble is in two places");
        assert_eq!(u64::from(inside) + spilled, u64::from(self.circuit.marbles), "a marble was lost or made");
    }
}
