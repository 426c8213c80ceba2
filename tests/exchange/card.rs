use crate::sample;
use obliquity_exchange::{Card, set_up_card};
use obliquity_planning::{Id, Reported};

fn card(strategy: usize) -> String {
    let scenario = sample::scenario();
    set_up_card(&scenario, &sample::quick_outcomes(&scenario)[strategy])
}

/// What stands behind a label, the first time.
fn value<'a>(card: &'a str, label: &str) -> &'a str {
    let line = card.lines().find(|line| line.trim_start().starts_with(label));
    line.unwrap_or_else(|| panic!("no {label} in\n{card}")).trim_start()[label.len()..].trim()
}

/// Derived: at 2 cm a camera of f = 9.1 mm / 2.5 µm = 3640 px flies at 72.8 m and covers 104 by 78 m; 80 % forward
/// leaves a base of 15.6 m, 70 % side a spacing of 31.2 m.
#[test]
fn values_to_key_in_follow_from_the_definitions() {
    let card = card(0);
    assert_eq!(value(&card, "height"), "72.8 m (239 ft), above the mean ground inside the boundary");
    assert_eq!(value(&card, "forward overlap"), "80 %");
    assert_eq!(value(&card, "sidelap"), "70 %");
    assert_eq!(value(&card, "air base"), "15.6 m (51 ft), between exposures");
    assert_eq!(value(&card, "strip spacing"), "31.2 m (102 ft)");
    // 0.5 px of 2 cm less 9 m of roof in 1/1600 s: 0.5 × (63.8 + …)/3640 / 0.000625 > 10, so the airframe binds.
    assert_eq!(value(&card, "speed"), "10.0 m/s (22.3 mph), bound by the airframe's top speed");
    assert!(value(&card, "camera").starts_with("tilt 0° (gimbal −90°), looks "), "{card}");
    // The shed stands on a slope of 1 % around x = 65, the mean ground is at x = 100: 9 − 0.35.
    assert!(
        value(&card, "tallest structure").starts_with("8.6 m (28 ft), above the mean ground")
            || value(&card, "tallest structure").starts_with("8.7 m (28 ft), above the mean ground"),
        "{card}"
    );
    assert!(
        value(&card, "clearance").starts_with("64.1 m") || value(&card, "clearance").starts_with("64.2 m"),
        "{card}"
    );
}

#[test]
fn a_cycle_lists_every_attitude_with_its_heading() {
    let card = card(1);
    assert_eq!(value(&card, "forward overlap"), "75 %");
    assert_eq!(value(&card, "strips run"), "030°, and back 210°");
    assert_eq!(value(&card, "camera 1"), "tilt 0° (gimbal −90°), looks 030°, on return strips 210°");
    assert_eq!(value(&card, "camera 2"), "tilt 45° (gimbal −45°), looks 345° on all strips");
    assert_eq!(value(&card, "camera 3"), "tilt 45° (gimbal −45°), looks 135° on all strips");
    assert!(value(&card, "air base").contains("between cycles of 3 exposures"), "{card}");
}

#[test]
fn what_is_on_hand_stands_against_what_is_needed() {
    let mut scenario = sample::scenario();
    scenario.conditions.battery_sets = 1;
    scenario.conditions.card_gb = 0.1;
    let mut outcome = sample::quick_outcomes(&scenario).remove(0);
    let flight = std::sync::Arc::make_mut(&mut outcome.flight);
    let sortie = flight.sorties[0];
    flight.sorties = vec![sortie; 3];
    assert!(!set_up_card(&scenario, &outcome).contains("the quickest to fly"), "flown as listed");
    std::sync::Arc::make_mut(&mut outcome.flight).order = vec![2, 0, 1];
    let card = set_up_card(&scenario, &outcome);
    assert!(value(&card, "order  ").starts_with("pass 3, 1, 2"), "{card}");
    assert_eq!(
        value(&card, "batteries"),
        "3 needed (one a sortie), 1 on hand: 2 short: charge on site or bring more"
    );
    assert!(value(&card, "card space").ends_with("0.1 GB on hand: too little: bring more"), "{card}");
}

#[test]
fn the_card_adds_up_and_ends_with_who_decides() {
    let card = card(0);
    let minutes = |label: &str| -> f64 { value(&card, label).trim_end_matches(" min").parse().unwrap() };
    let parts = ["set-up  ", "flight  ", "battery changes", "control points", "pack-up"]
        .map(minutes)
        .iter()
        .sum::<f64>();
    // Six figures rounded to a tenth of a minute each.
    assert!((parts - minutes("together")).abs() <= 0.3, "{card}");
    assert!((minutes("control points") - 18.0).abs() < 1e-9, "three points of 6 min each");
    let end = card.trim_end().replace('\n', " ");
    assert!(
        end.ends_with("Local rules and the remote pilot decide whether, where and how to fly."),
        "{card}"
    );
    assert!(card.lines().all(|line| line.chars().count() <= 140), "{card}");
}

#[test]
fn what_cannot_be_flown_says_so_first_and_a_lost_strategy_does_no_harm() {
    let mut scenario = sample::scenario();
    let mut outcome = sample::quick_outcomes(&scenario).remove(0);
    outcome.reasons = vec!["the gimbal stops at 30°".to_owned()];
    assert_eq!(value(&set_up_card(&scenario, &outcome), "CANNOT BE FLOWN"), "the gimbal stops at 30°");
    scenario.strategies.clear();
    outcome.strategy = Id(77);
    assert!(set_up_card(&scenario, &outcome).contains("air base"));
}

/// Derived: 10 % and 50 images more than predicted; an empty card has room to write.
#[test]
fn what_the_controller_reports_stands_against_the_prediction() {
    let mut scenario = sample::scenario();
    let outcome = sample::quick_outcomes(&scenario).remove(0);
    let empty = Card::new(&scenario, &outcome);
    assert!(empty.reports.iter().all(|row| row.reported.is_none() && row.difference.is_none()));
    assert!(empty.to_text().contains("flight time       ____"), "{}", empty.to_text());
    let flight_min = outcome.flight.terms.flight_time_s() / 60.0;
    scenario.strategies[0].reported = Some(Reported {
        flight_time_min: Some(1.1 * flight_min),
        image_count: Some(outcome.image_count / 2),
    });
    let card = Card::new(&scenario, &outcome);
    assert_eq!(card.reports[0].difference.as_deref(), Some("10.0 % more"));
    assert!(card.reports[1].difference.as_ref().unwrap().ends_with("% less"));
    assert!(card.to_text().contains("10.0 % more"));
    assert_eq!(card.passes, empty.passes, "a report changes no figure");
}

/// Derived: the card says of each pattern what has to be keyed in for it.
#[test]
fn every_pattern_has_its_lines() {
    let scenario = sample::with_every_pattern();
    let card = set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0]);
    let of = |number: usize| {
        let start = card.find(&format!("Pass {number} of 6")).unwrap();
        card[start..].split("\n\n").next().unwrap()
    };
    assert!(of(1).starts_with("Pass 1 of 6: strips"));
    assert_eq!(value(of(1), "height"), "60.0 m (197 ft), above the take-off point");
    assert_eq!(value(of(2), "strips run"), "along the line, 30.0 m wide (98 ft), and back");
    assert!(value(of(2), "height").ends_with("above the ground below, followed"));
    assert_eq!(value(of(3), "stand-off"), "15.0 m (49 ft)");
    assert_eq!(value(of(3), "around"), "Shed");
    assert!(value(of(3), "camera, ring 1").ends_with("looks inward at 4.0 m"), "{card}");
    assert_eq!(value(of(4), "ring heights"), "25.0 m, 30.0 m (82 ft, 98 ft), above the ground in the middle");
    assert_eq!(value(of(5), "camera"), "tilt 85° (gimbal −5°), looks at the wall");
    assert_eq!(value(of(5), "clearance"), "4.0 m (13 ft), from every structure");
    assert!(value(of(6), "LEFT OUT").contains("has no underside"), "{card}");
    assert!(card.lines().all(|line| line.chars().count() <= 140), "{card}");
}

/// Derived: the quarry's block at one height flies 58.56 m above the mean ground and 80/70 % there; over ground that comes
/// to 30.9 m below it the overlaps are 1 − 0.2 × 58.56/30.9 and 1 − 0.3 × 58.56/30.9.
#[test]
fn uneven_ground_is_told_by_its_highest_and_lowest() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/quarry.ron");
    let scenario = obliquity_exchange::read_scenario(&path).unwrap();
    let outcomes = sample::quick_outcomes(&scenario);
    let card = set_up_card(&scenario, &outcomes[0]);
    assert_eq!(
        value(&card, "above the ground"),
        "30.9 m to 78.8 m (101 ft to 259 ft), right below the exposures"
    );
    assert!(value(&card, "GSD below").starts_with("0.84 to 2.15 cm, of a level camera"), "{card}");
    assert!(value(&card, "overlap, highest").starts_with("62 % / 43.1 %, forward / side"), "{card}");
    assert!(value(&card, "overlap, lowest").starts_with("85.1 % / 77.7 %"), "{card}");
    let tilted = set_up_card(&scenario, &outcomes[2]);
    assert!(value(&tilted, "overlap, tilted").contains("on the tilted axis over level ground"), "{tilted}");
    // level ground has one height
    let level = card_of_level_ground();
    assert!(!level.contains("above the ground  ") && !level.contains("overlap, highest"), "{level}");
}

fn card_of_level_ground() -> String {
    let mut scenario = sample::scenario();
    std::sync::Arc::make_mut(&mut scenario.site).terrain = obliquity_planning::Terrain::default();
    set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0])
}
