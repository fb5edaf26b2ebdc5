//! Sentences on where marbles are poured in: whether the load overflows it then, while it runs, and when the motor stops.

use super::sentences::{Finding, FindingWriter};
use super::summary::MotorStop;
use super::words::{count, duration, figure, percent, share_of_runs};

impl FindingWriter<'_> {
    /// Whether the load overflows where it is poured in.
    pub(super) fn start(&self) -> Finding {
        let n = self.circuit.start;
        let name = &self.plan(n).name;
        let ask = format!("Will {} overflow `{name}`?", self.setting());
        let spilled = self.totals().elements[n].spilled.runs > 0;
        let stop = self.summary.motor_stop.as_ref();
        let lost = stop
            .and_then(|stop| stop.lost.value)
            .is_some_and(|lost| lost > 0.0);
        let answer = if spilled || lost { "Yes" } else { "No" };
        let Some(places) = self.plan(n).places() else {
            return Self::say(
                name,
                true,
                format!("{ask} No: it has room for as many as come."),
            );
        };
        let parts = [
            Some(self.poured_in(places)),
            Some(self.running(n)),
            stop.map(|stop| stopped(stop, places)),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        Self::say(
            name,
            !(spilled || lost),
            format!("{ask} {answer}. {}", parts.join(" ")),
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
                let mean = mean
                    .value
                    .map_or(String::new(), |mean| format!(" until {}", duration(mean)));
                format!("{mean} on average, the longest until {}", duration(latest))
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
        if spilled.value.is_some_and(|share| share > 0.0) {
            let (share, first, why) = (
                share_of_runs(&spilled),
                self.first_spill(n),
                self.filled_by(n),
            );
            return format!("While it runs: yes, in {share}; {first}{why}.");
        }
        let share = self.totals().share(self.totals().elements[n].held.runs);
        if share.value.is_none_or(|share| share == 0.0) {
            return format!("While it runs: no, it was over-full {}.", self.never());
        }
        let full = percent(self.summary.elements.0[n].1.full_share.value.unwrap_or(0.0));
        format!(
            "While it runs: its side holds, but it is full {full} of the time and marbles wait before it in {}{}.",
            share_of_runs(&share),
            self.filled_by(n)
        )
    }
}

/// What happens when the motor stops.
fn stopped(stop: &MotorStop, places: u32) -> String {
    let value = |of: &crate::stats::Estimate| of.value.unwrap_or(0.0);
    let (on, home) = (value(&stop.on_start), value(&stop.at_rest));
    let lie = |mean: f64| if mean == 1.0 { "lies" } else { "lie" };
    let begin = format!(
        "When the motor stops: {} {} on it, {} once the others have come home",
        figure(on),
        lie(on),
        figure(home)
    );
    let runs = count(stop.runs as u64, "run");
    let over = [
        (&stop.waiting_above, "wait above it"),
        (&stop.lost, "go over its side"),
    ];
    let over = over.into_iter().filter(|(of, _)| value(of) > 0.0);
    let over: Vec<String> = over
        .map(|(of, what)| format!("{} {what}", figure(value(of))))
        .collect();
    let most = stop.at_rest_max;
    match over.is_empty() {
        true => format!("{begin}, at most {most} of {places} places (mean of {runs})."),
        false => format!(
            "{begin} on its {places} places, and {} (mean of {runs}).",
            over.join(" and ")
        ),
    }
}
