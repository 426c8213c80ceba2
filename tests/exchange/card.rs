use crate::sample;
use obliquity_exchange::{Card, CardFigure, Units, set_up_card};
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    BeginAt, Depth, Evaluator, Id, NoWatch, Outcome, Pattern, Reported, Scenario, Store, Strips, Underside,
};
use std::sync::Arc;

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
/// leaves a base of 15.6 m, 70 % side a spacing of 31.2 m; both are evened out, so that what is flown is no more.
#[test]
fn values_to_key_in_follow_from_the_definitions() {
    let card = card(0);
    assert_eq!(value(&card, "height"), "72.8 m (239 ft), above the mean ground inside the boundary");
    assert!(value(&card, "forward overlap").starts_with("80 %, 8"), "{card}");
    assert!(value(&card, "sidelap").starts_with("70 %, 7"), "{card}");
    let metres = |label: &str| -> f64 { value(&card, label).split(' ').next().unwrap().parse().unwrap() };
    assert!(
        (12.0..=15.6).contains(&metres("air base")) && (25.0..=31.2).contains(&metres("strip spacing")),
        "{card}"
    );
    // 0.5 px of 2 cm less 9 m of roof in 1/1600 s: 0.5 × (63.8 + …)/3640 / 0.000625 > 10, so the airframe binds.
    assert_eq!(value(&card, "speed"), "10 m/s (22.3 mph), bound by the airframe's top speed");
    assert!(value(&card, "camera").starts_with("tilt 0° (gimbal −90°), looks "), "{card}");
    // The shed stands on a slope of 1 % around x = 65, the mean ground is at x = 100: 9 − 0.35.
    assert!(
        value(&card, "tallest structure").starts_with("8.6 m (28.4 ft), above the mean ground")
            || value(&card, "tallest structure").starts_with("8.7 m (28.4 ft), above the mean ground"),
        "{card}"
    );
    // No strip runs right over its highest edge: a little more than 72.8 − 8.65.
    let clearance = metres("clearance");
    assert!((64.1..64.6).contains(&clearance), "{card}");
    assert!(value(&card, "clearance").ends_with("pass 1 to Shed, the least of all"), "{card}");
}

/// Derived: strips along 030° and back have corners to the north-east of 075°, and so on: 345°, 165° and 255°; the sample's
/// take-off point lies beyond the south-west of them. The opposite corner is told as such.
#[test]
fn the_card_says_where_a_pass_begins() {
    let mut scenario = sample::scenario();
    let begun = |scenario: &Scenario| {
        let outcome = sample::quick_outcomes(scenario).remove(1);
        value(&set_up_card(scenario, &outcome), "begin at").to_owned()
    };
    let nearest = begun(&scenario);
    let Pattern::Strips(Strips { begin, .. }) = &mut scenario.strategies[1].passes[0].pattern else {
        panic!("strips")
    };
    *begin = BeginAt::OppositeCorner;
    let opposite = begun(&scenario);
    let corner = |text: &str| text.split(',').next().unwrap_or_default().to_owned();
    let corners = [corner(&nearest), corner(&opposite)];
    assert_eq!(corners, ["the west corner", "the east corner"], "{nearest}; {opposite}");
    assert!(nearest.contains(" m east, ") || nearest.contains(" m west, "), "{nearest}");
}

#[test]
fn a_cycle_lists_every_attitude_with_its_heading() {
    let card = card(1);
    assert!(value(&card, "forward overlap").starts_with("75 %, 7"), "{card}");
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
    let flight = Arc::make_mut(&mut outcome.timing.as_mut().unwrap().flight);
    let sortie = flight.sorties[0];
    flight.sorties = vec![sortie; 3];
    assert!(!set_up_card(&scenario, &outcome).contains("the quickest to fly"), "flown as listed");
    Arc::make_mut(&mut outcome.timing.as_mut().unwrap().flight).order = vec![2, 0, 1];
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
    assert!((parts - minutes("total")).abs() <= 0.3, "{card}");
    assert!((minutes("control points") - 18.0).abs() < 1e-9, "three points of 6 min each");
    let end = card.trim_end().replace('\n', " ");
    let decides = "Local rules and the remote pilot decide whether, where and how to fly.";
    assert!(end[end.len() - 200..].contains(decides), "{card}");
    assert!(card.lines().all(|line| line.chars().count() <= 140), "{card}");
}

#[test]
fn what_cannot_be_flown_says_so_first_and_a_lost_strategy_does_no_harm() {
    let mut scenario = sample::scenario();
    let mut lost = sample::quick_outcomes(&scenario).remove(0);
    let (timing, reasons) = (None, vec!["the gimbal stops at 30°".to_owned()]);
    let card = set_up_card(&scenario, &Outcome { timing, reasons, ..lost.clone() });
    assert_eq!(value(&card, "CANNOT BE FLOWN"), "the gimbal stops at 30°");
    for figure in ["air base", "GSD", "speed", "batteries", "farthest", "flight", "predicted here"] {
        assert!(!card.contains(figure), "{figure}: {card}");
    }
    scenario.strategies.clear();
    lost.strategy = Id(77);
    assert!(set_up_card(&scenario, &lost).contains("air base"));
}

/// Derived: 10 % and 50 images more than predicted; an empty card has room to write.
#[test]
fn what_the_controller_reports_stands_against_the_prediction() {
    let mut scenario = sample::scenario();
    let outcome = sample::quick_outcomes(&scenario).remove(0);
    let empty = Card::new(&scenario, &outcome, Units::Metric);
    assert!(empty.reports.iter().all(|row| row.reported.is_none() && row.difference.is_none()));
    assert!(empty.to_text().contains("flight time           ____"), "{}", empty.to_text());
    let flight_min = outcome.flight().unwrap().terms.flight_time_s() / 60.0;
    scenario.strategies[0].reported = Some(Reported {
        flight_time_min: Some(1.1 * flight_min),
        image_count: Some(outcome.load.as_ref().unwrap().image_count / 2),
    });
    let card = Card::new(&scenario, &outcome, Units::Metric);
    assert_eq!(card.reports[0].difference.as_deref(), Some("10.0 % more"));
    assert!(card.reports[1].difference.as_ref().unwrap().ends_with("% less"));
    assert!(card.to_text().contains("10.0 % more"));
    assert_eq!(card.passes, empty.passes, "a report changes no figure");
}

/// Derived: the card says of each pattern what has to be keyed in for it.
#[test]
fn every_pattern_has_its_lines() {
    let mut scenario = sample::with_every_pattern();
    let card = set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0]);
    // They are numbered as they are flown; where that is another place than in the list, it is said.
    let of = |listed: usize| {
        let blocks = card.split("\n\n").filter(|block| block.starts_with("Pass "));
        let is = |block: &&str| {
            if block.contains("listed as") {
                value(block, "listed as") == format!("pass {listed}")
            } else {
                block.starts_with(&format!("Pass {listed} of 6"))
            }
        };
        let found: Vec<&str> = blocks.filter(is).collect();
        assert_eq!(found.len(), 1, "{card}");
        found[0]
    };
    assert!(of(1).lines().next().unwrap().ends_with(" of 6: strips"));
    assert_eq!(value(of(1), "height"), "60.0 m (197 ft), above the take-off point");
    assert_eq!(value(of(2), "strips run"), "along the line, 30.0 m wide (98.4 ft), and back");
    assert!(value(of(2), "height").ends_with("above the ground below, followed"));
    // The shed is 30 by 20 m: 18.03 m from its middle to a corner.
    assert_eq!(value(of(3), "radius"), "33.0 m (108 ft), from the centre to the aircraft");
    assert_eq!(
        value(of(3), "stand-off"),
        "15.0 m (49.2 ft), beyond the circle of 18.0 m about what stands in the middle"
    );
    assert!(value(of(3), "centre").ends_with("65.0 m east, 60.0 m north of the site's origin"), "{card}");
    assert!(
        !of(3).contains("sidelap") && !of(4).contains("sidelap"),
        "rings are set by their heights: {card}"
    );
    assert_eq!(value(of(3), "around"), "Shed");
    assert!(value(of(3), "camera, ring 1").ends_with("looks inward at 4.0 m"), "{card}");
    assert_eq!(
        value(of(4), "ring heights"),
        "25.0 m, 30.0 m (82.0 ft, 98.4 ft), above the ground in the middle"
    );
    assert_eq!(value(of(5), "camera"), "tilt 85° (gimbal −5°), looks at the wall");
    assert_eq!(value(of(5), "clearance kept"), "4.0 m (13.1 ft), from every structure");
    assert_eq!(value(of(6), "below"), "Canopy");
    assert!(card.lines().all(|line| line.chars().count() <= 140), "{card}");
    if let Pattern::Underside(Underside { structure, .. }) = &mut scenario.strategies[0].passes[5].pattern {
        *structure = Id(1);
    }
    let refused = set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0]);
    let last = &refused[refused.find("Pass 6 of 6").unwrap()..];
    assert!(value(last, "LEFT OUT").contains("has no underside"), "{refused}");
    let figures = &refused;
    assert!(!figures.contains("stand-off  ") && !figures.contains("GSD"), "{refused}");
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
    assert!(value(&card, "GSD below").starts_with("0.84 cm to 2.15 cm, of a nadir camera"), "{card}");
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
    Arc::make_mut(&mut scenario.site).terrain = obliquity_planning::Terrain::default();
    set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0])
}

/// Derived: the card says the wind with the direction that the figures are for, and what one draw in ten comes to where that
/// is a battery more or more time than is allowed.
#[test]
fn the_card_says_the_wind_and_one_draw_in_ten() {
    let mut scenario = sample::scenario();
    let outcome = sample::quick_outcomes(&scenario).remove(0);
    let timing = outcome.timing.clone().unwrap();
    let from_deg = timing.flight.wind.from_deg.unwrap();
    let text = set_up_card(&scenario, &outcome);
    let said =
        format!("4 m/s (8.9 mph), at flying height, direction unknown, predicted from {from_deg:03.0}°");
    assert!(text.replace('\n', " ").contains(&said), "{text}");
    scenario.requirement.time_on_site_min = Some(timing.time.time_on_site_s() / 60.0 + 1.0);
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let mut drawn = evaluator.evaluate(&scenario, outcome.strategy, Depth::Spread).unwrap();
    let bands = Arc::make_mut(drawn.timing.as_mut().unwrap().bands.as_mut().unwrap());
    bands.sorties.p90 = timing.flight.sorties.len() as f64 + 1.0;
    let card = Card::new(&scenario, &drawn, Units::Metric);
    let note = |label: &str, of: &[CardFigure]| {
        of.iter()
            .find(|figure| figure.label == label)
            .and_then(|figure| figure.note.clone())
            .unwrap_or_default()
    };
    let batteries = note("batteries", &card.on_hand);
    assert!(
        batteries.starts_with(&format!("{} in one draw of ten", timing.flight.sorties.len() + 1)),
        "{batteries}"
    );
    let together = note("total", &card.time);
    assert!(together.contains("in one draw of ten, ") && together.ends_with("allowed"), "{together}");
    scenario.conditions.wind = Wind { speed_mps: 6.0, from_deg: Some(45.0) };
    let known = set_up_card(&scenario, &sample::quick_outcomes(&scenario)[0]);
    assert!(known.contains("from 045°") && !known.contains("unknown"), "{known}");
}
