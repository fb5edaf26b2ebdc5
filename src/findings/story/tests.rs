use super::*;
use crate::findings::made_up::{MadeUp, RING, S, moved};

fn checked(effect: Incident, others: Option<(usize, usize)>) -> Checked {
    Checked {
        change: Change::LeaveOut(4, S),
        effect,
        then: None,
        next: None,
        end: (Outcome::Ran, 60 * S),
        others,
    }
}

/// What a story of `incident` tells of what was seen and who waited.
fn written(
    incident: Incident,
    seen: &[(Nanos, TraceEvent)],
    tell: impl Fn(&mut StoryWriter),
) -> Story {
    let circuit = MadeUp::of(RING).circuit;
    let replay = Replay::made_up(&circuit, seen, &[]);
    let mut writer = StoryWriter::new(&circuit, &replay, &incident);
    tell(&mut writer);
    writer.story
}

fn texts(story: &Story) -> Vec<&str> {
    story
        .sentences
        .iter()
        .map(|one| one.text.as_str())
        .collect()
}

#[test]
fn a_story_has_room_for_nine_sentences_and_its_end() {
    let spill = Incident::single(IncidentKind::Spill, 0, 2 * S);
    let length = |facts: usize| {
        let story = written(spill, &[], |writer| {
            for _ in 0..facts {
                writer.say("So it was.".to_owned());
            }
            assert!(writer.conclude("Because", checked(spill, None)));
            writer.say("And no more.".to_owned());
        });
        story.sentences.len()
    };
    assert_eq!([7, 8, 9, 12].map(length), [9, 9, 9, 9]);
    let cause = written(spill, &[], |writer| {
        for _ in 0..9 {
            writer.say("So it was.".to_owned());
        }
        writer.conclude("Because", checked(spill, None));
    });
    assert!(cause.sentences.iter().all(|one| one.checked.is_none()));
}

#[test]
fn a_story_without_a_cause_says_where_the_trail_ends() {
    let spill = Incident::single(IncidentKind::Spill, 0, 2 * S);
    let end = |incident, rejected: &[Checked]| {
        let story = written(incident, &[], |writer| {
            writer.story.rejected.extend(rejected);
            writer.close();
        });
        texts(&story).join(" ")
    };
    assert_eq!(
        end(spill, &[]),
        "Nothing further back explains it but the luck of times and ways."
    );
    assert_eq!(
        end(spill, &[checked(spill, Some((7, 1)))]),
        "So it is chance: the like happened in 7 of 8 other runs, and what would have changed it here changed nothing in the \
         long run."
    );
    let none = "No one cause can be named: with any single one taken away, it would have happened all the same.";
    assert_eq!(end(spill, &[checked(spill, Some((8, 8)))]), none);
    assert_eq!(end(spill, &[checked(spill, None)]), none);
    let other = Incident::single(IncidentKind::Backlog, 0, 2 * S);
    assert_eq!(end(spill, &[checked(other, Some((2, 2)))]), none);
    for kind in [
        IncidentKind::Gridlock,
        IncidentKind::Lock,
        IncidentKind::RanDry,
    ] {
        assert_eq!(end(Incident::single(kind, 0, 2 * S), &[]), "");
    }
    let named = written(spill, &[], |writer| {
        writer.conclude("Because", checked(spill, None));
        writer.close();
    });
    assert_eq!(named.sentences.len(), 1);
}

#[test]
fn an_overfull_element_is_told_with_how_often() {
    let first = |count: u64, kind| {
        let incident = Incident {
            at: Some(0),
            count,
            until: 40 * S,
            ..Incident::single(kind, 0, 2 * S)
        };
        let what = match kind {
            IncidentKind::Spill => TraceEvent::Spilled {
                marble: 1,
                from: 4,
                at: 0,
            },
            _ => TraceEvent::Refused {
                marble: 1,
                from: 4,
                by: 0,
            },
        };
        let story = written(incident, &[(2 * S, what)], |writer| writer.overfull());
        texts(&story)[0].to_owned()
    };
    let spilled =
        "At 0:02 marble 1, coming from `slide`, went over the side of `ramp` and was lost";
    assert_eq!(first(1, IncidentKind::Spill), format!("{spilled}."));
    assert_eq!(
        first(3, IncidentKind::Spill),
        format!("{spilled}, the first of 3 until 0:40.")
    );
    assert_eq!(
        first(1, IncidentKind::Held),
        "At 0:02 marble 1 came home to `ramp` and had to wait in `slide`."
    );
}

#[test]
fn a_backlog_is_told_by_its_depth() {
    let incident = Incident {
        count: 4,
        ..Incident::single(IncidentKind::Backlog, 4, 5 * S)
    };
    let story = written(incident, &[], |writer| writer.backlog());
    assert_eq!(
        texts(&story)[0],
        "At 0:05, 4 marbles waited at `slide`, the most of this run; on average 0 did."
    );
}

/// At 5 s two wait at the escapement; one is gone, one is still on its way, one waits elsewhere, one comes after.
#[test]
fn a_crowd_is_those_who_wait_there_then() {
    let queued = |time_s: u64, marble, node| (time_s * S, TraceEvent::Queued { marble, node });
    let seen = [
        moved(1, 0, (2, 3)),
        moved(1, 1, (2, 3)),
        moved(1, 2, (2, 3)),
        moved(1, 4, (3, 4)),
        queued(2, 0, 3),
        queued(2, 1, 3),
        queued(2, 2, 3),
        queued(2, 4, 4),
        moved(3, 2, (3, 4)),
        moved(4, 3, (2, 3)),
        queued(6, 3, 3),
        moved(10, 0, (3, 4)),
    ];
    let incident = Incident::single(IncidentKind::Backlog, 3, 5 * S);
    let story = written(incident, &seen, |writer| writer.crowd(3, 5 * S, &incident));
    assert_eq!(
        texts(&story)[0],
        "The 2 that were there then had come together: 2 from `cup`."
    );
    assert_eq!(story.marbles[..2], [0, 1]);
    let later = written(incident, &seen, |writer| writer.crowd(3, 6 * S, &incident));
    assert_eq!(
        texts(&later)[0],
        "The 3 that were there then had come within 3.0 s: 3 from `cup`."
    );
}

#[test]
fn whereabouts_are_where_marbles_are_but_for_one_place() {
    let seen = [
        moved(1, 0, (5, 0)),
        moved(1, 1, (5, 0)),
        moved(1, 2, (5, 0)),
        moved(2, 3, (5, 3)),
        moved(2, 4, (5, 4)),
        moved(2, 5, (5, 4)),
    ];
    let incident = Incident::single(IncidentKind::RanDry, 0, 5 * S);
    let story = written(incident, &seen, |writer| {
        writer.whereabouts("Most were", 5 * S, 0);
        writer.whereabouts("Most were", 5 * S, usize::MAX);
        writer.whereabouts("Most were", S, 0);
    });
    assert_eq!(
        texts(&story),
        [
            "Most were: 2 at `slide`, 1 at `gate`.",
            "Most were: 3 at `ramp`, 2 at `slide`, 1 at `gate`.",
        ]
    );
}
