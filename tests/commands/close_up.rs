//! Single pockets from near: what is shown is what the close look saw, and the files are whole.

use std::fs::File;
use std::io::BufReader;

use crate::program::program;
use crate::support::machine;
use marblewright::circuit::close_look::Effort;
use marblewright::contact::passes::follow;
use marblewright::contact::pick_up_chances::PickUpCounts;
use marblewright::contact::place::Fineness;
use marblewright::study::close_up::{CloseUp, Deed, close_up, place};

const STORM: &str = include_str!("../../scenarios/storm-wheel.yaml");

fn storm(settings: &[(&str, &str)]) -> CloseUp {
    close_up(place(&machine(STORM, settings), 1).expect("a wheel that can be looked at"))
}

fn scenes(of: &CloseUp) -> Vec<Deed> {
    of.scenes.iter().map(|scene| scene.deed).collect()
}

/// The storm wheel wedges; with its wall cut back far and a quarter of the speed nothing does.
#[test]
fn a_stall_is_shown_exactly_where_the_look_saw_one() {
    let settings = [
        ("circuit.wheel.wall", "relieved"),
        ("circuit.wheel.guide-edge", "lead-in"),
        ("rpm", "1"),
    ];
    for (settings, stalls) in [(&[][..], true), (&settings[..], false)] {
        let shown = storm(settings);
        let seen: Vec<_> = Effort::FULL
            .loops(1)
            .into_iter()
            .map(|task| follow(&shown.place, task, Fineness::FINE))
            .collect();
        let counts = PickUpCounts::gather(
            &shown.place,
            &seen.into_iter().flatten().collect::<Vec<_>>(),
        )
        .all();
        assert_eq!(
            (scenes(&shown).contains(&Deed::Stalls), counts.stalled > 0),
            (stalls, stalls),
            "{counts:?}"
        );
        assert!(scenes(&shown).contains(&Deed::Takes) && counts.taken > 0);
    }
}

/// At the end of a stall the wheel stands, half a marble in its pocket; before it, and in any other scene, it turns.
#[test]
fn a_stall_ends_with_a_wheel_that_stands() {
    let shown = storm(&[]);
    for scene in &shown.scenes {
        let last = scene.stills.last().expect("stills");
        assert_eq!(
            last.wheel_speed < 0.2,
            scene.deed == Deed::Stalls,
            "{:?}: {}",
            scene.deed,
            last.wheel_speed
        );
        assert!(
            scene
                .stills
                .first()
                .is_some_and(|first| first.time_s < scene.led_s && first.wheel_speed > 0.2)
        );
        // From one millisecond to the next no more than one goes away up the wheel or is put back, and who stays is where it was.
        for pair in scene.stills.windows(2) {
            let (before, after) = (&pair[0].marbles, &pair[1].marbles);
            assert!(before.len().abs_diff(after.len()) <= 1);
            for one in before {
                let same = after.iter().find(|marble| marble.number == one.number);
                assert!(same.is_none_or(|same| (same.at - one.at).length() < 0.005));
            }
        }
    }
}

#[test]
fn the_command_writes_a_film_and_a_strip_of_single_pockets() {
    let folder = tempfile::tempdir().expect("a directory");
    let out = folder.path().to_str().expect("text");
    let output = program(&[
        "film",
        "scenarios/storm-wheel.yaml",
        "--close-up",
        "wheel",
        "--json",
        "--out",
        out,
    ]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    assert_eq!(
        (json["element"].as_str(), json["files"][0].as_str()),
        (Some("wheel"), Some("close-up.png"))
    );
    let opened = |name: &str| {
        let file = File::open(folder.path().join(name)).expect("a file");
        png::Decoder::new(BufReader::new(file))
            .read_info()
            .expect("a picture")
    };
    let scenes = json["scenes"].as_array().expect("scenes").len() as u32;
    let frames = opened("close-up.png")
        .info()
        .animation_control
        .expect("it moves")
        .num_frames;
    assert!(frames > 40 * scenes, "{frames} frames of {scenes} scenes");
    let strip = opened("close-up-strip.png");
    assert!(strip.info().height > 250 * scenes);
}

#[test]
fn what_cannot_be_seen_from_near_is_refused_with_a_way_out() {
    for (args, says) in [
        (
            ["scenarios/storm-wheel.yaml", "--close-up", "ramp"],
            "name one of its wheels: wheel",
        ),
        (
            ["scenarios/harbour-weir.yaml", "--close-up", "crane"],
            "no measured pick-up",
        ),
        (
            ["scenarios/storm-wheel.yaml", "--close-up", ""],
            "no pocket wheel is called",
        ),
    ] {
        let output = program(&[&["film"], &args[..]].concat());
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{args:?}: {error}");
        assert!(
            error.contains(says) && output.stdout.is_empty(),
            "{args:?}: {error}"
        );
    }
}
