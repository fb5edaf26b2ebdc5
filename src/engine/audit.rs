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
            inside.extend(
                node.gates
                    .iter()
                    .flat_map(|gate| gate.queue.iter().copied()),
            );
            assert_eq!(
                inside.len(),
                node.held as usize,
                "the count of `{}` is wrong",
                self.plan(n).name
            );
            assert!(
                node.held <= self.plan(n).room,
                "`{}` is over its room",
                self.plan(n).name
            );
            inside
                .into_iter()
                .for_each(|marble| found[marble as usize] += 1);
        }
        let spilled: u64 = self.nodes.iter().map(|node| node.statistics.spills).sum();
        let inside: u32 = found.iter().sum();
        assert!(
            found.iter().all(|&places| places <= 1),
            "a marble is in two places"
        );
        assert_eq!(
            u64::from(inside) + spilled,
            u64::from(self.circuit.marbles),
            "a marble was lost or made"
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::node::Node;
    use crate::{circuit, machine};

    /// Audits a machine of three marbles, one in its only place and two still at the source, after `tamper` with both.
    fn audit_after(tamper: impl Fn(&mut Node, &mut Node)) {
        let text = "format: 1\nmarbles: { count: 3 }\nstart: a\n\
                    circuit: { a: { track: { time: 5 s, places: 1, when-full: hold }, to: none } }\n";
        let circuit = circuit::circuit(&machine::read(text, &[]).expect("sound"));
        let mut unwatched = ();
        let mut run = Run::<(), 3>::new(&circuit, 1, 0, &mut unwatched);
        run.pour();
        let [track, source] = run.nodes.as_mut_slice() else {
            panic!("a track and the hand")
        };
        tamper(track, source);
        run.audit();
    }

    #[test]
    fn a_sound_run_passes() {
        audit_after(|_, source| assert_eq!((source.held, source.gates[0].queue.len()), (2, 2)));
    }

    #[test]
    #[should_panic(expected = "the count of `a` is wrong")]
    fn a_wrong_count_is_found() {
        audit_after(|track, _| track.held -= 1);
    }

    #[test]
    #[should_panic(expected = "a marble was lost or made")]
    fn a_lost_marble_is_found() {
        audit_after(|_, source| {
            source.gates[0].queue.pop_front();
            source.held -= 1;
        });
    }

    #[test]
    #[should_panic(expected = "a marble is in two places")]
    fn a_marble_in_two_places_is_found() {
        audit_after(|_, source| source.gates[0].queue[1] = source.gates[0].queue[0]);
    }

    #[test]
    #[should_panic(expected = "`a` is over its room")]
    fn too_many_in_one_place_are_found() {
        audit_after(|track, source| {
            track.gates[0]
                .queue
                .extend(source.gates[0].queue.pop_front());
            (track.held, source.held) = (track.held + 1, source.held - 1);
        });
    }
}
