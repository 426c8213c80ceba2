//! An invented scenario that uses every kind of field.

use obliquity_exchange::parse_scenario;
use obliquity_planning::{Depth, Evaluator, NoWatch, Outcome, Scenario, Store};

/// The scenario as someone might write it by hand.
pub(crate) const TEXT: &str = r#"// A yard with one shed.
(
  format: 1,
  name: "Yard \"north\"",
  site: (
    name: "Yard",
    origin: (latitude_deg: 51.0, longitude_deg: 7.0),
    boundary_m: [(0.0, 0.0), (200.0, 0.0), (200.0, 150.0), (0.0, 150.0)],
    take_off_m: (-10.0, 5),
    terrain: Plane(at_origin_m: 12.5, slope_east: 0.01, slope_north: 0.0),
    structures: [
      (id: 1, name: "Shed", footprint_m: [(50.0, 50.0), (80.0, 50.0), (80.0, 70.0), (50.0, 70.0)], kind: Extrusion(height_m: 9.0)),
    ],
    keep_outs: [(name: "Pond", outline_m: [(150.0, 20.0), (180.0, 20.0), (165.0, 50.0)])],
  ),
  equipment: (
    aircraft: [
      (
        id: 1,
        name: "Small quad",
        camera: (
          width_px: 5200,
          height_px: 3900,
          sensor: PixelPitch(um: 2.5),
          focal_length_mm: 9.1,
          shortest_interval_s: 0.6,
          exposure_s: 0.000625,
          image_mb: 9.0,
          shutter: Rolling(readout_s: 0.03),
        ),
        gimbal: (tilt_min_deg: -30.0, tilt_max_deg: 110.0, pan_min_deg: -320.0, pan_max_deg: 320.0, slew_dps: 120.0, settle_s: 0.2),
        airframe: (
          top_speed_mps: 10.0,
          climb_mps: 4.0,
          descent_mps: 3.0,
          acceleration_mps2: 2.0,
          endurance_min: 28.0,
          reserve: 0.25,
          swap_min: 3.0,
          gnss: (random_horizontal_m: 0.01, random_vertical_m: 0.02, constant_horizontal_m: 0.015, constant_vertical_m: 0.03),
        ),
      ),
    ],
  ),
  strategies: [
    (
      id: 1,
      name: "Nadir block",
      aircraft: 1,
      passes: [
        (
          id: 2,
          pattern: Strips(direction: Automatic(turned_deg: 0.0)),
          attitudes: [(tilt_deg: 0.0, aim: FromTrack(deg: 0.0))],
          distance: Gsd(cm: 2.0),
          forward_overlap: 0.8,
          sidelap: 0.7,
        ),
      ],
    ),
    (
      id: 3,
      name: "Cycled gimbal",
      aircraft: 1,
      passes: [
        (
          id: 4,
          pattern: Strips(direction: FromNorth(deg: 30.0), counting: FootprintCover),
          attitudes: [
            (tilt_deg: 0.0, aim: FromTrack(deg: 0.0)),
            (tilt_deg: 45.0, aim: FromStrips(deg: -45.0)),
            (tilt_deg: 45.0, aim: FromNorth(deg: 135.0)),
          ],
          distance: Height(m: 73.0, above: MeanGround),
          forward_overlap: 0.75,
          sidelap: 0.7,
          speed_mps: 6.5,
          margin_m: 12.0,
        ),
      ], reported: (flight_time_min: 31.5, image_count: 1204),
    ),
  ],
  reference: 1,
  conditions: (
    height_rule: Custom(limit_m: 90.0),
    height_ceiling_m: 85.0,
    pilot_distance_m: 500.0,
    blur_px: 0.5,
    set_up_min: 15.0,
    pack_up_min: 10.0,
    control_points: 3,
    per_control_point_min: 6.0,
    battery_sets: 4,
    card_gb: 64.0,
  ),
)
"#;

/// The scenario of [`TEXT`].
pub(crate) fn scenario() -> Scenario {
    parse_scenario(TEXT, "yard.ron").unwrap_or_else(|error| panic!("{error}"))
}

/// The outcomes of a scenario's strategies, without samples.
pub(crate) fn quick_outcomes(scenario: &Scenario) -> Vec<Outcome> {
    outcomes(scenario, Depth::Quick)
}

/// As [`quick_outcomes`], with samples and views.
pub(crate) fn sampled_outcomes(scenario: &Scenario) -> Vec<Outcome> {
    outcomes(scenario, Depth::Views)
}

fn outcomes(scenario: &Scenario, depth: Depth) -> Vec<Outcome> {
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate_all(scenario, depth).unwrap_or_else(|error| panic!("{error}"))
}

/// The sample with a strategy of one pass of each pattern, as someone might write it by hand.
pub(crate) fn with_every_pattern() -> Scenario {
    let passes = r"
        (id: 51, pattern: Strips(direction: FromNorth(deg: 0.0)), attitudes: [(tilt_deg: 0.0, aim: FromTrack(deg: 0.0))],
         distance: Height(m: 60.0, above: TakeOff), forward_overlap: 0.8, sidelap: 0.7),
        (id: 52, pattern: Corridor(line_m: [(10.0, 10.0), (100.0, 20.0), (190.0, 120.0)], width_m: 30.0, counting: EdgeToEdge),
         attitudes: [(tilt_deg: 0.0, aim: FromTrack(deg: 0.0))],
         distance: Gsd(cm: 1.5, above: Ground), forward_overlap: 0.8, sidelap: 0.7),
        (id: 53, pattern: Orbit(around: Structure(1), rings: At(heights_m: [14.0, 20.0]), target_height_m: 4.0),
         attitudes: [(tilt_deg: 90.0, aim: AtSubject(deg: 0.0))],
         distance: StandOff(m: 15.0), forward_overlap: 0.8, sidelap: 0.6),
        (id: 54, pattern: Orbit(around: Point(x_m: 120.0, y_m: 100.0), radius: Set(m: 20.0),
                                rings: Evenly(count: 2, lowest_m: 25.0, step_m: 5.0), target_height_m: 0.0),
         attitudes: [(tilt_deg: 90.0, aim: AtSubject(deg: 0.0))],
         distance: Gsd(cm: 1.0), forward_overlap: 0.8, sidelap: 0.6),
        (id: 55, pattern: Facade(structure: 1, walls: [0, 2], clearance_m: 4.0, lowest_m: 3.0),
         attitudes: [(tilt_deg: 85.0, aim: AtSubject(deg: 0.0))],
         distance: StandOff(m: 8.0), forward_overlap: 0.8, sidelap: 0.7),
        (id: 56, pattern: Underside(structure: 1, sections: 2, soffit_clearance_m: 3.0, ground_clearance_m: 3.0),
         attitudes: [(tilt_deg: 150.0, aim: FromTrack(deg: 0.0))],
         distance: StandOff(m: 4.0), forward_overlap: 0.8, sidelap: 0.7),";
    let start = TEXT.find("  strategies: [").unwrap() + "  strategies: [".len();
    let strategy = format!("\n(id: 50, name: \"Every pattern\", aircraft: 1, passes: [{passes}]),");
    let text = format!("{}{strategy}{}", &TEXT[..start], &TEXT[start..]);
    parse_scenario(&text, "patterns.ron").unwrap_or_else(|error| panic!("{error}"))
}
