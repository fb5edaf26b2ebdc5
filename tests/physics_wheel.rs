//! What a wheel does to marbles, where it follows from closed forms to the last digits.

use std::f64::consts::{FRAC_PI_3, PI};

use marblewright::physics::G;
use marblewright::physics::drive::{ALKALINE_AA_TESTED, peak_lift_torque_n_m};
use marblewright::physics::hand_over::{Lift, Spread, bore_floor_m};
use marblewright::physics::material::{GLASS_KG_M3, Marble, ROLLING_LEVER_RANGE_M, Surface};
use marblewright::physics::pick_up::{PLAY_DIAMETERS, PickUp, RECOIL_S2, Wall};
use marblewright::physics::release::{Pocket, release};

fn wheel() -> PickUp {
    PickUp {
        marble_m: 0.014,
        marble_sd_m: 0.00015,
        bore_m: 0.018,
        depth_m: 0.014,
        pitch_radius_m: 0.120,
        pockets: 24,
        slope_rad: 4f64.to_radians(),
        slope_sd_rad: 0.0,
        surface: Surface::WOOD,
        gap_m: 0.001,
        channel_m: 0.016,
        wall: Wall::Square,
        off_circle_sd_m: 0.0,
        height_misfit_m: 0.0,
        recoil_s2: RECOIL_S2,
    }
}

/// On 60 degrees: 5/7 g (sqrt(3)/2 - c/2), c lever arm over radius.
#[test]
fn resistance_holds_by_the_cosine_of_the_slope() {
    let steep = PickUp { slope_rad: FRAC_PI_3, surface: Surface { rolling_lever_m: 7e-4, ..Surface::WOOD }, ..wheel() };
    let expected = 5.0 / 7.0 * G * (3f64.sqrt() / 2.0 - 0.1 / 2.0);
    assert!((steep.acceleration_m_s2() - expected).abs() < 1e-9);
}

/// 24 pockets at 10 rpm: one each quarter of a second.
#[test]
fn pockets_pass_at_even_times() {
    let rim_m_s = 10.0 / 60.0 * 2.0 * PI * 0.120;
    assert!((wheel().interval_s(rim_m_s) - 0.25).abs() < 1e-12);
}

/// A limit is where the chance is the one asked for, and the band of jams is where it is 0.3, on both sides.
#[test]
fn limits_of_speed_are_where_the_chances_say() {
    let scattered = PickUp { slope_sd_rad: 0.005, off_circle_sd_m: 0.0004, ..wheel() };
    for wheel in [wheel(), scattered, PickUp { recoil_s2: 0.0, ..scattered }] {
        for target in [0.4, 0.7, 0.95] {
            let speed = wheel.speed_for_take(target).expect("it takes");
            assert!((wheel.chances(speed).take - target).abs() < 1e-6, "{:?}", wheel.chances(speed));
        }
        let (low, high) = wheel.jam_band_m_s().expect("it jams");
        assert!(low < high);
        for edge in [low, high] {
            assert!((wheel.chances(edge).pinch - 0.3).abs() < 1e-10, "{edge}: {:?}", wheel.chances(edge));
        }
        assert!(wheel.chances(low * 0.98).pinch < 0.3 && wheel.chances(high * 1.02).pinch < 0.3);
        assert!(wheel.chances(low * 1.02).pinch > 0.3 && wheel.chances(high * 0.98).pinch > 0.3);
    }
}

/// Pockets that stand so low that a marble gets in far enough to lock and no further jam at the slowest speed, too.
#[test]
fn pockets_far_off_their_height_jam_however_slow_the_wheel() {
    let low = PickUp { height_misfit_m: -0.003, marble_sd_m: 0.0, ..wheel() };
    assert!(low.chances(1e-6).pinch > 0.99, "{:?}", low.chances(1e-6));
    let (from, to) = low.jam_band_m_s().expect("it jams");
    assert!(from < 1e-9 && to > 0.01, "{from} to {to}");
}

/// Without recoils speeds go with the root of the acceleration, down to a slope that hardly moves a marble.
#[test]
fn speeds_go_with_the_root_of_the_acceleration() {
    let smooth = Surface { rolling_lever_m: 0.0, ..Surface::WOOD };
    let on = |slope_rad| PickUp { slope_rad, surface: smooth, recoil_s2: 0.0, ..wheel() };
    let limit = |slope_rad: f64| {
        let wheel = on(slope_rad);
        wheel.speed_for_take(0.7).expect("it takes") / wheel.acceleration_m_s2().sqrt()
    };
    let usual = limit(0.07);
    for slope_rad in [1e-3, 1e-5, 1e-6, 1e-7] {
        assert!((limit(slope_rad) / usual - 1.0).abs() < 1e-6, "{slope_rad} rad: {} for {usual}", limit(slope_rad));
    }
}

/// More play than counts is as good as what counts; a channel narrower than the marble takes none.
#[test]
fn a_channel_counts_between_the_marble_and_its_most_play() {
    let channel = |diameters: f64| PickUp { channel_m: diameters * 0.014, marble_sd_m: 0.0, ..wheel() };
    let half = |diameters: f64| channel(diameters).speed_for_take(0.5).expect("it takes");
    let most = half(1.0 + PLAY_DIAMETERS);
    assert!(half(1.25) < most);
    assert!((half(1.5) / most - 1.0).abs() < 1e-9 && (half(3.0) / most - 1.0).abs() < 1e-9);
    let narrow = channel(0.98).chances(0.01);
    assert_eq!((narrow.take, narrow.miss, narrow.pinch), (0.0, 1.0, 0.0));
}

/// With friction of 1 the nutcracker locks at any depth, sin 2 lambda = 1: nothing is kicked back, and a third of what is
/// locked is pulled in. Without friction it never locks.
#[test]
fn full_friction_locks_every_marble_and_none_locks_nothing() {
    let with = |sliding_friction| PickUp { surface: Surface { sliding_friction, ..Surface::WOOD }, ..wheel() };
    let mut locked = 0.0_f64;
    for speed in (1..40).map(|step| 0.005 * f64::from(step)) {
        let (full, none) = (with(1.0).chances(speed), with(0.0).chances(speed));
        locked = locked.max(full.pinch);
        assert!(full.miss.abs() < 1e-12, "{speed} m/s: {full:?}");
        assert_eq!(none.pinch, 0.0);
    }
    assert!((locked - 2.0 / 3.0).abs() < 1e-9, "{locked}");
}

/// Pockets evenly round the wheel, all of a half turn filled: an even number n has arms of 1/sin(pi/n) radii at worst, the
/// sum of n/2 sines spaced by 2 pi/n with their middle abeam.
#[test]
fn the_worst_torque_is_the_sum_of_the_arms() {
    let arms = |pockets| peak_lift_torque_n_m(pockets, 0.1, 0.2, PI) / (0.1 * G * 0.2);
    for pockets in [2, 4, 6, 8, 12, 24] {
        let expected = 1.0 / libm::sin(PI / f64::from(pockets));
        assert!((arms(pockets) / expected - 1.0).abs() < 1e-9, "{pockets}: {} for {expected}", arms(pockets));
    }
    assert!((arms(1) - 1.0).abs() < 1e-12);
}

#[test]
fn a_cell_promises_nothing_without_a_current_or_beyond_its_test() {
    for current_a in [0.0, -0.1, 2.001, f64::NAN] {
        assert_eq!(ALKALINE_AA_TESTED.capacity_ah(current_a), None, "{current_a} A");
    }
    assert_eq!(ALKALINE_AA_TESTED.capacity_ah(0.01), Some(2.20));
}

const MARBLE: Marble = Marble { diameter_m: 0.014, density_kg_m3: GLASS_KG_M3 };

fn lift(tilt_rad: f64) -> Lift {
    Lift {
        pocket: Pocket { pitch_radius_m: 0.120, bore_m: 0.018, depth_m: 0.014, tilt_rad },
        marble: MARBLE,
        surface: Surface::WOOD,
        guide: None,
    }
}

/// The bound of a search is the speed from which it was set, to one part in a thousand, at slow wheels too.
#[test]
fn the_top_speed_is_found_to_a_thousandth() {
    let lift = lift(7f64.to_radians());
    for speed in [0.08, 0.3, 1.0, 3.0] {
        // Half a step of the angle later, so that the speed itself is surely in time.
        let end = lift.out_rad(speed).unwrap() + 0.5e-4 * speed;
        let top = lift.top_speed_rad_s(end, 0.01, 6.0).unwrap().expect("it is out in time");
        assert!((top / speed - 1.0).abs() < 3e-3, "{top} rad/s, not {speed}");
    }
}

/// Where marbles leave later by themselves no guide helps.
#[test]
fn no_guide_lets_marbles_leave_before_they_would() {
    let lift = lift(7f64.to_radians());
    let alone = lift.leave_rad(0.6).unwrap();
    assert_eq!(lift.guide_arc(alone - 0.05, 0.6, 0.001, 0.1).unwrap(), None);
    assert!(lift.guide_arc(alone + 0.1, 0.6, 0.001, 0.1).unwrap().is_some());
}

/// A pocket square to the face never lets go: its marble is carried over three quarters of the way round.
#[test]
fn without_tilt_marbles_are_carried_over_at_three_quarters() {
    let (leave, out) = (lift(0.0).leave_rad(0.6).unwrap(), lift(0.0).out_rad(0.6).unwrap());
    assert!((leave.to_degrees() - 270.0).abs() < 1e-9 && (out.to_degrees() - 270.0).abs() < 1e-9);
}

/// Spread by one cause is what that cause alone moves, and two causes add by Pythagoras.
#[test]
fn the_spread_of_the_out_angle_is_what_tilt_and_resistance_move() {
    let tilt_rad = 7f64.to_radians();
    let (lift, speed) = (lift(tilt_rad), 0.6);
    let spread = |tilt_sd_rad, rolling_lever_sd_m| {
        lift.out_sd_rad(speed, &Spread { tilt_sd_rad, rolling_lever_sd_m }).unwrap().expect("it comes out")
    };
    let out = lift.out_rad(speed).unwrap();
    let tilted = self::lift(tilt_rad + 0.01).out_rad(speed).unwrap() - out;
    let surface = Surface { rolling_lever_m: Surface::WOOD.rolling_lever_m + 5e-5, ..Surface::WOOD };
    let dragged = Lift { surface, ..lift }.out_rad(speed).unwrap() - out;
    assert!(tilted < -0.01 && dragged > 0.001, "{tilted} {dragged}");
    assert!((spread(0.01, 0.0) + tilted).abs() < 1e-12);
    assert!((spread(0.0, 5e-5) - dragged).abs() < 1e-12);
    assert!((spread(0.01, 5e-5) - libm::hypot(tilted, dragged)).abs() < 1e-12);
}

/// Normal table: 0.841345 below one standard deviation over the mean, 0.977250 below two.
#[test]
fn chances_are_those_of_the_normal_table() {
    let (lift, speed) = (lift(7f64.to_radians()), 0.6);
    let spread = Spread { tilt_sd_rad: 0.01, rolling_lever_sd_m: 0.0 };
    let (out, sd) = (lift.out_rad(speed).unwrap(), lift.out_sd_rad(speed, &spread).unwrap().unwrap());
    for (z, share) in [(1.0, 0.841344746), (2.0, 0.977249868), (-1.0, 0.158655254)] {
        let chance = lift.chance_out_before(out + z * sd, speed, &spread).unwrap().unwrap();
        assert!((chance - share).abs() < 1e-8, "{z}: {chance}");
    }
}

/// Half a bore below the pocket's centre, wherever that stands.
#[test]
fn a_bores_floor_is_half_a_bore_below_its_centre() {
    let pocket = Pocket { pitch_radius_m: 0.100, bore_m: 0.018, depth_m: 0.014, tilt_rad: 0.1 };
    for (degrees, height_m) in [(0.0, -0.109), (60.0, -0.059), (90.0, -0.009), (180.0, 0.091)] {
        assert!((bore_floor_m(&pocket, f64::to_radians(degrees)) - height_m).abs() < 1e-12, "{degrees}");
    }
}

/// Pockets that would reach over the axle, or are tilted by more than an eighth of a turn, are no pockets.
#[test]
fn a_pocket_ends_at_the_axle_and_at_an_eighth_of_a_turn() {
    let works = |pitch_radius_m, tilt_deg: f64| {
        let pocket = Pocket { pitch_radius_m, bore_m: 0.018, depth_m: 0.014, tilt_rad: tilt_deg.to_radians() };
        release(&pocket, &MARBLE, &Surface::WOOD, 1.0, None).is_ok()
    };
    assert!(works(0.012, 7.0) && works(0.030, 7.0) && !works(0.0089, 7.0));
    assert!(works(0.120, 44.9) && !works(0.120, 45.1) && !works(0.120, 170.0));
}

/// What the workshop is taken to scatter by: half a degree of tilt, and a quarter of the range of the lever arm.
#[test]
fn a_workshop_scatters_by_half_a_degree_and_a_quarter_of_the_range() {
    let Spread { tilt_sd_rad, rolling_lever_sd_m } = Spread::WORKSHOP;
    assert!((tilt_sd_rad.to_degrees() - 0.5).abs() < 1e-12);
    let (least, most) = ROLLING_LEVER_RANGE_M;
    assert!((least + 4.0 * rolling_lever_sd_m - most).abs() < 1e-12);
}
