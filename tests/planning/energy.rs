//! Air, wind and power.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use obliquity_planning::atmosphere::{Air, geopotential_m};
use obliquity_planning::power::{Disc, PowerCurve, RotaryWing};
use obliquity_planning::wind::Wind;
use obliquity_planning::{Airframe, Energy};

/// Source: ISO 2533:1975 constants (g0 9.80665, R 287.05287, L 0.0065); the values were computed from them and are
/// printed to seven digits, hence 1e-6.
#[test]
fn the_standard_atmosphere_is_iso_2533() {
    let rows = [
        (0.0, 288.15, 101325.0, 1.2250000),
        (500.0, 284.90, 95460.8, 1.1672688),
        (1000.0, 281.65, 89874.6, 1.1116425),
        (1500.0, 278.40, 84556.0, 1.0580673),
        (2000.0, 275.15, 79495.2, 1.0064901),
        (3000.0, 268.65, 70108.5, 0.9091219),
        (4000.0, 262.15, 61640.2, 0.8191291),
        (5000.0, 255.65, 54019.9, 0.7361155),
    ];
    for (height_m, temperature_k, pressure_pa, density) in rows {
        let air = Air::standard(height_m);
        assert_relative_eq!(air.temperature_k, temperature_k, max_relative = 1e-6);
        assert_relative_eq!(air.pressure_pa, pressure_pa, max_relative = 1e-6);
        assert_relative_eq!(air.density_kgpm3(), density, max_relative = 1e-6);
    }
}

/// Source: US Standard Atmosphere 1976, geometric 3000 m, as an open test file prints it.
#[test]
fn geometric_height_becomes_geopotential_first() {
    let air = Air::standard(geopotential_m(3000.0));
    assert_relative_eq!(air.temperature_k, 268.659198, max_relative = 1e-6);
    assert_relative_eq!(air.pressure_pa, 70121.144, max_relative = 1e-6);
    assert_relative_eq!(air.density_kgpm3(), 0.90925435, max_relative = 1e-6);
}

/// Derived: 35 °C at the pressure of 1000 m (geopotential).
#[test]
fn a_hot_day_is_thin_air() {
    let air = Air { temperature_k: 35.0 + 273.15, ..Air::standard(1000.0) };
    assert_relative_eq!(air.density_kgpm3(), 1.0160445, max_relative = 1e-6);
    let altitude_m = 1000.0 * 6_356_766.0 / (6_356_766.0 - 1000.0);
    assert_relative_eq!(Air::on_the_day(altitude_m, 35.0).density_kgpm3(), 1.0160445, max_relative = 1e-6);
}

/// Derived: the wind triangle, (airspeed, track, wind, from) to speed over ground and crab to the right. Values are
/// printed to six decimals.
#[test]
fn tracks_are_held_by_the_wind_triangle() {
    let rows = [
        (15.0, 0.0, 5.0, 0.0, 10.0, 0.0),
        (15.0, 0.0, 5.0, 180.0, 20.0, 0.0),
        (15.0, 0.0, 5.0, 90.0, 14.142136, 19.471221),
        (15.0, 45.0, 5.0, 270.0, 18.112913, -13.633022),
        (12.0, 90.0, 8.0, 200.0, 12.089587, 38.789556),
    ];
    for (airspeed_mps, track_deg, speed_mps, from_deg, ground_mps, crab_deg) in rows {
        let wind = Wind { speed_mps, from_deg: Some(from_deg) };
        let track_rad = f64::to_radians(track_deg);
        let held = wind.held(airspeed_mps, track_rad).unwrap();
        assert_abs_diff_eq!(held.ground_mps, ground_mps, epsilon = 1e-6);
        assert_abs_diff_eq!(held.crab_rad.to_degrees(), crab_deg, epsilon = 1e-6);
        let over_ground = glam::DVec2::new(track_rad.sin(), track_rad.cos()) * held.ground_mps;
        let through_air = over_ground - wind.velocity_mps().unwrap();
        assert_abs_diff_eq!(through_air.length(), airspeed_mps, epsilon = 1e-9); // and back
    }
    assert_eq!(Wind { speed_mps: 12.0, from_deg: Some(90.0) }.held(10.0, 0.0), None);
    assert_eq!(Wind { speed_mps: 10.0, from_deg: Some(0.0) }.held(10.0, 0.0), None);
}

fn disc(mass_kg: f64, rotors: u32, diameter_m: f64, density_kgpm3: f64) -> Disc {
    Disc { mass_kg, area_m2: Disc::area_m2(rotors, diameter_m), density_kgpm3 }
}

/// Source: P = T^1.5 / √(2ρA), Leishman, *Principles of Helicopter Aerodynamics*, ch. 2 (from memory); values computed,
/// figure of merit 0.6 and 0.65, printed to six decimals (1e-5 in all).
#[test]
fn hover_power_is_that_of_the_actuator_disc() {
    let rows = [
        (disc(1.4, 4, 0.24, 1.225), 0.60, 5.564871, 76.401845, 127.336408),
        (disc(6.3, 4, 0.5334, 1.225), 0.65, 5.311530, 328.156377, 504.855964),
        (disc(9.0, 6, 0.40, 1.225), 0.65, 6.912227, 610.072120, 938.572492),
        (disc(1.4, 4, 0.24, 1.0065), 0.60, 6.139264, 84.287855, 140.479758),
    ];
    for (disc, merit, induced_mps, ideal_w, shaft_w) in rows {
        assert_abs_diff_eq!(disc.hover_induced_mps(), induced_mps, epsilon = 1e-5);
        assert_abs_diff_eq!(disc.hover_ideal_w(), ideal_w, epsilon = 1e-5);
        assert_abs_diff_eq!(disc.hover_ideal_w() / merit, shaft_w, epsilon = 1e-5);
    }
}

/// Derived: power goes with mass^1.5 and density^-0.5.
#[test]
fn hover_power_scales_with_mass_and_density() {
    let power = |mass_kg, density| disc(mass_kg, 4, 0.24, density).hover_ideal_w();
    assert_abs_diff_eq!(power(1.2, 1.225) / power(1.0, 1.225), 1.314534, epsilon = 1e-6);
    assert_abs_diff_eq!(power(1.0, 1.0065) / power(1.0, 1.225), 1.103218, epsilon = 1e-6);
}

/// Source: Glauert's forward flight with a level disc (from memory); values computed by root finding.
#[test]
fn induced_velocity_falls_with_airspeed() {
    let craft = disc(1.4, 4, 0.24, 1.225);
    for (airspeed_mps, induced_mps) in
        [(0.0, 5.564871), (2.0, 5.388164), (5.0, 4.571151), (10.0, 2.968720), (15.0, 2.045586)]
    {
        assert_abs_diff_eq!(craft.forward_induced_mps(airspeed_mps), induced_mps, epsilon = 1e-6);
    }
}

/// The example of the source: W 20 N, ρ 1.225, A 0.503, Ω 300, s 0.05, d0 0.6, k 0.1, δ 0.012.
fn example() -> RotaryWing {
    let (density, area_m2, solidity, radius_m, omega) = (1.225, 0.503, 0.05, 0.4, 300.0_f64);
    let profile_w = 0.012 / 8.0 * density * solidity * area_m2 * omega.powi(3) * f64::powi(radius_m, 3);
    let induced_w = 1.1 * 20.0_f64.powf(1.5) / f64::sqrt(2.0 * density * area_m2);
    RotaryWing {
        profile_w,
        induced_w,
        tip_mps: 120.0,
        hover_induced_mps: 4.03,
        parasite_w_per_mps3: 0.5 * 0.6 * density * solidity * area_m2,
    }
}

/// Source: Zeng, Xu & Zhang, *IEEE Trans. Wireless Commun.* 18(4), 2019, Eq. (12); the curve's values were computed from
/// it, printed to six decimals.
#[test]
fn the_power_curve_is_that_of_zeng_2019() {
    let craft = example();
    assert_abs_diff_eq!(craft.profile_w, 79.856280, epsilon = 1e-4);
    assert_abs_diff_eq!(craft.induced_w, 88.627938, epsilon = 1e-4);
    let rows = [
        (0.0, 168.484218),
        (5.0, 143.608304),
        (10.0, 126.029069),
        (15.0, 138.543303),
        (20.0, 178.295821),
        (25.0, 248.952254),
        (30.0, 356.283956),
    ];
    for (airspeed_mps, power_w) in rows {
        assert_abs_diff_eq!(craft.level_w(airspeed_mps), power_w, epsilon = 1e-4);
    }
    let speeds = || (0..300_000).map(|k| f64::from(k) * 1e-4);
    let least = speeds().min_by(|a, b| craft.level_w(*a).total_cmp(&craft.level_w(*b))).unwrap();
    assert_abs_diff_eq!(least, 10.212474, epsilon = 1e-3);
    assert_abs_diff_eq!(craft.level_w(least), 126.002716, epsilon = 1e-4);
    let per_metre = |v: f64| craft.level_w(v) / v;
    let farthest = speeds().skip(1).min_by(|a, b| per_metre(*a).total_cmp(&per_metre(*b))).unwrap();
    assert_abs_diff_eq!(farthest, 18.295133, epsilon = 1e-3);
    assert_abs_diff_eq!(per_metre(farthest), 8.828727, epsilon = 1e-4);
}

/// Derived: the common shape is the example's when the disc is the example's.
#[test]
fn the_common_shape_is_the_example_scaled() {
    let disc = Disc { mass_kg: 20.0 / 9.80665, area_m2: 0.503, density_kgpm3: 1.225 };
    let (common, example) = (RotaryWing::of_common_shape(&disc), example());
    for airspeed_mps in [0.0, 7.0, 16.0] {
        // the source rounds the induced velocity in hover to 4.03 m/s
        let (a, b) = (common.level_w(airspeed_mps), example.level_w(airspeed_mps));
        assert_relative_eq!(a, b, max_relative = 1e-3);
    }
}

/// Derived: 5.93 Ah × 15.4 V, 150 W and 20 % left: 91.322 Wh, 29.22304 min.
#[test]
fn an_energy_budget_by_hand() {
    let battery_wh = 5.93 * 15.4;
    assert_abs_diff_eq!(battery_wh, 91.322, epsilon = 1e-6);
    let energy = Energy {
        battery_wh,
        endurance_at_mps: 0.0,
        hover_min: None,
        top_speed_min: None,
        mass_kg: 1.4,
        rotors: 4,
        rotor_diameter_m: 0.24,
        health: 1.0,
        cold_loss_per_c: 0.0,
    };
    let scene = crate::scene::scenario(crate::scene::level_site(&[(0.0, 0.0), (9.0, 0.0), (0.0, 9.0)]), 50.0);
    let endurance_min = battery_wh / 150.0 * 60.0;
    let airframe = Airframe { endurance_min, energy: Some(energy), ..scene.equipment.aircraft[0].airframe };
    let curve = PowerCurve::new(&airframe, &Air::standard(0.0), 20.0);
    let minutes = 0.8 * curve.capacity_j() / curve.level_w(0.0) / 60.0;
    assert_abs_diff_eq!(minutes, 29.22304, epsilon = 5e-6); // printed to five decimals
}
