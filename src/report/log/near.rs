//! Pockets of a wheel from near, beside the run to watch: what `near.js` draws.

use serde_json::{Value, json};

use crate::charts::close_up::{ACROSS, ALONG, SLOWER, UP, deed, marked};
use crate::charts::outline::outlines;
use crate::contact::passes::Still;
use crate::study::close_up::{CloseUp, Scene};

/// From still to still, s of the machine.
const APART_S: f64 = 0.012;

/// A wheel to look at from near.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NearWheel {
    /// Its name.
    pub wheel: String,
    /// What its pockets do, in words.
    pub deeds: Vec<String>,
    /// What the page draws, as JSON.
    pub data: String,
}

/// How many times slower than the machine it is shown.
pub fn slower() -> f64 {
    SLOWER
}

/// The wheel as the page carries it; `None` where the look saw nothing to show.
pub fn near(wheel: &str, close_up: &CloseUp) -> Option<NearWheel> {
    let place = &close_up.place;
    let d = place.marbles.diameter_m;
    let low_m = place.end_z_m() - UP.0 * d;
    let (side, face) = outlines(place);
    let scenes: Vec<Value> = close_up
        .scenes
        .iter()
        .filter(|scene| !scene.stills.is_empty())
        .map(|scene| self::scene(close_up, scene))
        .collect();
    if scenes.is_empty() {
        return None;
    }
    let data = json!({
        "diameter": mm(d),
        "bore": mm(place.wheel.bore_m),
        "depth": mm(place.wheel.depth_m),
        "tilt": place.wheel.tilt_rad,
        "pockets": place.wheel.pockets,
        "pitchRadius": mm(place.wheel.pitch_radius_m),
        "along": [mm(-ALONG.0 * d), mm(ALONG.1 * d)],
        "across": [mm(-ACROSS.0 * d), mm(ACROSS.1 * d)],
        "up": [mm(low_m), mm(low_m + (UP.0 + UP.1) * d)],
        "side": on_paper(&side),
        "face": on_paper(&face),
        "slower": SLOWER,
        "scenes": scenes,
    });
    let shown = close_up.scenes.iter().map(|scene| deed(scene.deed));
    Some(NearWheel {
        wheel: wheel.to_owned(),
        deeds: shown.map(str::to_owned).collect(),
        // Text within a script element ends at `</`.
        data: data.to_string().replace('<', "\\u003c"),
    })
}

fn scene(close_up: &CloseUp, scene: &Scene) -> Value {
    let mut next_s = f64::NEG_INFINITY;
    let mut stills: Vec<Value> = Vec::new();
    for (k, of) in scene.stills.iter().enumerate() {
        // The last one shows how it ends.
        if of.time_s >= next_s || k + 1 == scene.stills.len() {
            next_s = of.time_s + APART_S;
            stills.push(still(of, scene.led_s));
        }
    }
    json!({
        "deed": deed(scene.deed),
        "marked": marked(&close_up.place, scene),
        "stills": stills,
    })
}

fn still(of: &Still, led_s: f64) -> Value {
    let mut marbles: Vec<Value> = Vec::new();
    for marble in &of.marbles {
        let [x, y, z] = [marble.at.x, marble.at.y, marble.at.z].map(mm);
        marbles.push(json!([marble.number, x, y, z, mm(marble.radius)]));
    }
    json!({
        "ms": ((of.time_s - led_s) * 1e3).round(),
        "pocket": (of.pocket_rad * 1e4).round() / 1e4,
        "speed": (100.0 * of.wheel_speed.max(0.0)).round(),
        "marbles": marbles,
    })
}

/// Millimetres to a hundredth.
fn mm(metres: f64) -> f64 {
    (metres * 1e5).round() / 1e2
}

fn on_paper(outlines: &[Vec<(f64, f64)>]) -> Vec<Vec<[f64; 2]>> {
    let lines = outlines.iter();
    lines
        .map(|line| line.iter().map(|&(x, y)| [mm(x), mm(y)]).collect())
        .collect()
}
