//! Time of legs, turns and gimbal cycles; motion blur.

use approx::assert_abs_diff_eq;
use obliquity_planning::motion::{
    Course, Trapezoid, angular_blur_px, banked_turn_radius_m, blur_px, blur_speed_mps, interval_speed_mps,
    rolling_shutter_shift_m, shortest_turning_path_m, standing_cycle_time_s, stop_and_go_time_s,
    trapezoid_time_s, turn_radius_m,
};
use std::f64::consts::PI;

const TOLERANCE: f64 = 1e-6; // values are printed to six decimals

/// Derived: d/v + v/a where the speed is reached, 2 sqrt(d/a) where it is not.
#[test]
fn legs_from_rest_to_rest_follow_the_closed_form() {
    let cases = [
        (20.0, 10.0, 2.0, 6.324555),
        (50.0, 10.0, 2.0, 10.0),
        (100.0, 10.0, 2.0, 15.0),
        (500.0, 10.0, 2.0, 55.0),
        (300.0, 15.0, 3.0, 25.0),
        (6.0, 5.0, 2.5, 3.098387),
    ];
    for (length_m, speed_mps, acceleration_mps2, time_s) in cases {
        let computed_s = trapezoid_time_s(length_m, speed_mps, acceleration_mps2);
        assert_abs_diff_eq!(computed_s, time_s, epsilon = TOLERANCE);
    }
    for (length_m, speed_mps, acceleration_mps2, peak_mps) in
        [(20.0, 10.0, 2.0, 6.324555), (6.0, 5.0, 2.5, 3.872983), (100.0, 10.0, 2.0, 10.0)]
    {
        let peak = Trapezoid::new(length_m, speed_mps, acceleration_mps2).peak_mps();
        assert_abs_diff_eq!(peak, peak_mps, epsilon = TOLERANCE);
    }
}

/// Derived: 26 stations 20 m apart with 1 s at each, against one run of 500 m.
#[test]
fn stopping_at_each_station_costs_what_the_closed_form_says() {
    assert_abs_diff_eq!(stop_and_go_time_s(26, 20.0, 10.0, 2.0, 1.0), 184.113883, epsilon = TOLERANCE);
    assert_abs_diff_eq!(trapezoid_time_s(500.0, 10.0, 2.0), 55.0, epsilon = TOLERANCE);
}

/// Derived: five attitudes at a standstill, settle 0.5 s and shot 0.3 s each, four slews of 90 degrees at 60 deg/s.
#[test]
fn a_gimbal_cycle_at_a_standstill_takes_ten_seconds() {
    let time_s = standing_cycle_time_s(&[PI / 2.0; 4], 60.0_f64.to_radians(), 0.5, 0.3);
    assert_abs_diff_eq!(time_s, 10.0, epsilon = 1e-9);
}

/// Derived: v^2 / a; v^2 / (g tan bank) with g = 9.80665 m/s2.
#[test]
fn turn_radii_follow_the_closed_form() {
    assert_abs_diff_eq!(turn_radius_m(10.0, 5.0), 20.0, epsilon = 1e-12);
    assert_abs_diff_eq!(banked_turn_radius_m(15.0, 30.0_f64.to_radians()), 39.739507, epsilon = TOLERANCE);
}

fn course(x_m: f64, y_m: f64, angle_deg: f64) -> Course {
    Course { x_m, y_m, angle_rad: angle_deg.to_radians() }
}

/// Derived: a half turn of radius 22.5 m at 10 m/s takes 7.068583 s.
#[test]
fn a_half_turn_is_a_semicircle() {
    let length_m = shortest_turning_path_m(course(0.0, 0.0, 90.0), course(45.0, 0.0, -90.0), 22.5);
    assert_abs_diff_eq!(length_m / 10.0, 7.068583, epsilon = TOLERANCE);
}

/// Source: the six words of Dubins, *American Journal of Mathematics* 79, 1957 (from memory); the values were computed
/// by trying all of them, radius 20 m.
#[test]
fn shortest_turning_paths_match_dubins_1957() {
    let cases = [
        (course(0.0, 0.0, 90.0), course(60.0, 0.0, -90.0), 82.831853),
        (course(0.0, 0.0, 90.0), course(40.0, 0.0, -90.0), 62.831853),
        (course(0.0, 0.0, 90.0), course(20.0, 0.0, -90.0), 120.650593),
        (course(0.0, 0.0, 0.0), course(100.0, 0.0, 0.0), 100.0),
        (course(0.0, 0.0, 0.0), course(100.0, 50.0, 90.0), 116.855964),
    ];
    for (from, to, length_m) in cases {
        let computed_m = shortest_turning_path_m(from, to, 20.0);
        assert_abs_diff_eq!(computed_m, length_m, epsilon = TOLERANCE);
        let back = |c: Course| Course { angle_rad: c.angle_rad + PI, ..c };
        let reversed_m = shortest_turning_path_m(back(to), back(from), 20.0);
        assert_abs_diff_eq!(reversed_m, length_m, epsilon = TOLERANCE); // flown backwards it is as long
    }
}

/// Derived: r [pi + 4 acos((2r + s) / 4r)] for strips closer than the turning circle is wide.
#[test]
fn turns_between_close_strips_follow_the_closed_form() {
    let radius_m = 20.0_f64;
    for spacing_m in [0.5_f64, 10.0, 20.0, 39.0] {
        let length_m =
            shortest_turning_path_m(course(0.0, 0.0, 90.0), course(spacing_m, 0.0, -90.0), radius_m);
        let angle = ((2.0 * radius_m + spacing_m) / (4.0 * radius_m)).acos();
        assert_abs_diff_eq!(length_m, radius_m * (PI + 4.0 * angle), epsilon = 1e-9);
    }
}

/// Source: image smear d = v t / scale number, as an engineering answer page gives it; the values are computed.
#[test]
fn blur_follows_speed_and_exposure_time() {
    let cases = [
        (10.0, 1.0 / 1000.0, 2.7412281, 0.364800),
        (10.0, 1.0 / 500.0, 1.0, 2.0),
        (5.0, 1.0 / 800.0, 0.5, 1.25),
        (15.0, 1.0 / 2000.0, 2.0, 0.375),
    ];
    for (speed_mps, exposure_s, gsd_cm, expected_px) in cases {
        assert_abs_diff_eq!(blur_px(speed_mps, exposure_s, gsd_cm / 100.0), expected_px, epsilon = TOLERANCE);
    }
}

/// Source: "0.8 cm" at 30 km/h and 1/1000 s in a published blog text; 8.333 mm by arithmetic.
#[test]
fn thirty_kilometres_an_hour_smear_eight_millimetres() {
    let smear_m = blur_px(30.0 / 3.6, 1.0 / 1000.0, 1.0);
    assert_abs_diff_eq!(smear_m * 1000.0, 8.333, epsilon = 1e-3);
}

/// Derived: the speed at which the blur reaches half a pixel.
#[test]
fn blur_limits_the_speed() {
    let speed_mps = blur_speed_mps(0.5, 0.027412281, 1.0 / 1000.0);
    assert_abs_diff_eq!(speed_mps, 13.706, epsilon = 5e-4); // printed to three decimals
    assert_abs_diff_eq!(blur_speed_mps(0.5, 0.005, 1.0 / 800.0), 2.0, epsilon = TOLERANCE);
}

/// Derived: 10 deg/s for 1/500 s behind 3648 pixels of focal length.
#[test]
fn turning_blurs_by_rate_time_and_focal_length() {
    let blur = angular_blur_px(10.0_f64.to_radians(), 1.0 / 500.0, 3648.0);
    assert_abs_diff_eq!(blur, 1.273392, epsilon = TOLERANCE);
}

/// Derived: 8 m/s and 1/30 s: 0.266667 m, 9.728 px at 2.7412281 cm; as a share of 100 m along the track 0.0026667.
#[test]
fn a_rolling_shutter_shifts_by_speed_times_read_out() {
    let shift_m = rolling_shutter_shift_m(8.0, 1.0 / 30.0);
    assert_abs_diff_eq!(shift_m, 0.266667, epsilon = TOLERANCE);
    assert_abs_diff_eq!(shift_m / 0.027412281, 9.728, epsilon = 5e-4); // printed to three decimals
    assert_abs_diff_eq!(shift_m / 100.0, 0.0026667, epsilon = 5e-8);
}

/// Derived: shots 2 s and 0.7 s apart on bases of 20 and 6 m.
#[test]
fn the_shot_interval_limits_the_speed() {
    assert_abs_diff_eq!(interval_speed_mps(20.0, 2.0), 10.0, epsilon = TOLERANCE);
    assert_abs_diff_eq!(interval_speed_mps(20.0, 0.7), 28.571, epsilon = 5e-4); // printed to three decimals
    assert_abs_diff_eq!(interval_speed_mps(6.0, 2.0), 3.0, epsilon = TOLERANCE);
}
