//! Sentences on where marbles are poured in: whether the load overflows it then, while it runs, and when the motor stops.

use super::sentences::{Finding, FindingWriter};
use super::summary::MotorStop;
use super::words::{duration, paragraph, percent, share_of_runs, two_figures};
use crate::stats::Estimate;

impl FindingWriter<'_> {
    /// Whether the load overflows where it is poured in.
    pub(super) fn start(&self) -> Finding {
        let n = self.circuit.start;
        let name = &self.plan(n).name;
        let ask = format!("Will {} overflow `{name}`?", self.setting());
        let spilled = self.totals().elements[n].spilled.runs > 0;
        let stop = self.summary.motor_stop.as_ref();
        let lost = matches!(stop, Some(stop) if value(&stop.lost) > 0.0);
        let answer = if spilled || lost { "Yes" } else { "No" };
        let Some(places) = self.plan(n).places() else {
            return Self::say(
                name,
                true,
                format!("{ask} No: it has room for as many as come."),
            );
        };
        let mut parts = vec![self.poured_in(places), self.running(n)];
        parts.extend(stop.map(|stop| stopped(stop, places)));
        Self::say(
            name,
            !(spilled || lost),
            format!("{ask} {answer}. {}", paragraph(&parts)),
        )
    }

    /// What happens while the load is poured in.
    fn poured_in(&self, places: u32) -> String {
        let waited = self.totals().waited_in_hand;
        if waited == 0 {
            return format!("Pouring in: all fit on its {places} places at once.");
        }
        let fit = self.circuit.marbles - waited;
        let kept = self.totals().never_poured_in;
        let until = match (&self.summary.poured_in_s, self.totals().last_poured_s) {
            (mean, Some(latest)) if kept == 0 => {
                let mean = match mean.value {
                    Some(mean) => format!(" until {} on average", duration(mean)),
                    None => String::new(),
                };
                format!("{mean}, {} at most", duration(latest))
            }
            (_, Some(latest)) => {
                let share = percent(kept as f64 / self.runs.count() as f64);
                format!(
                    ", in the best case all until {}; in {share} of runs some never find room",
                    duration(latest)
                )
            }
            _ => " and never all find room".to_owned(),
        };
        format!(
            "Pouring in: {fit} fit on its {places} places at once, {waited} must wait in the hand{until}."
        )
    }

    fn running(&self, n: usize) -> String {
        let spilled = self.totals().share(self.totals().elements[n].spilled.runs);
        if value(&spilled) > 0.0 {
            let (share, first, why) = (
                share_of_runs(&spilled),
                self.first_spill(n),
                self.filled_by(n),
            );
            let spills = format!("While it runs: yes, in {share}.");
            return paragraph(&[spills, first, why]);
        }
        let share = self.totals().share(self.totals().elements[n].held.runs);
        if value(&share) == 0.0 {
            return "While it runs: it was never over-full.".to_owned();
        }
        let full = percent(value(&self.summary.elements.0[n].1.full_share));
        let full = format!(
            "While it runs: its side holds, but it is full {full} of the time and marbles wait before it in {}.",
            share_of_runs(&share)
        );
        paragraph(&[full, self.filled_by(n)])
    }
}

/// What happens when the motor stops.
fn stopped(stop: &MotorStop, places: u32) -> String {
    let (on, home) = (value(&stop.on_start), value(&stop.at_rest));
    let lie = if two_figures(on) == "1" {
        "lies"
    } else {
        "lie"
    };
    let begin = format!(
        "When the motor stops: {} {lie} on it, {} once all have come home",
        two_figures(on),
        two_figures(home)
    );
    let mut over = Vec::new();
    for (mean, what) in [
        (value(&stop.waiting_above), "wait above it"),
        (value(&stop.lost), "go over its side"),
    ] {
        if mean > 0.0 {
            over.push(format!("{} {what}", two_figures(mean)));
        }
    }
    if over.is_empty() {
        let most = stop.at_rest_max;
        return format!("{begin}, at most {most} of {places} places.");
    }
    format!(
        "{begin} on its {places} places, and {}.",
        over.join(" and ")
    )
}

fn value(of: &Estimate) -> f64 {
    of.value.unwrap_or(0.0)
}
