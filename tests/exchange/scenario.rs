use crate::sample;
use obliquity_exchange::{FileErrorKind, parse_scenario, read_scenario, save_scenario, write_scenario};
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    BeginAt, Distance, Id, LightLevel, LocalClock, LocalDate, Metering, Mission, Pattern, Pier, Scenario,
    SiteZone, Sky, Strips, Structure, StructureKind, Terrain, TerrainGrid,
};
use proptest::prelude::*;
use std::sync::Arc;

#[test]
fn a_scenario_written_by_hand_is_understood() {
    let scenario = sample::scenario();
    assert_eq!(scenario.name, "Yard \"north\"");
    assert_eq!(scenario.strategies[1].passes[0].margin_m, Some(12.0));
    assert_eq!(scenario.strategies[0].passes[0].margin_m, None);
    assert_eq!(scenario.strategies[1].reported.and_then(|reported| reported.image_count), Some(1204));
    assert_eq!(scenario.strategies[0].reported, None);
    assert_eq!(scenario.reference, Some(Id(1)));
    assert!((scenario.site.take_off_m.y - 5.0).abs() < f64::EPSILON, "a whole number needs no point");
    assert_eq!(scenario.requirement, obliquity_planning::Requirement::default(), "left out");
}

#[test]
fn writing_and_reading_give_the_same_scenario_and_the_same_text() {
    let scenario = sample::scenario();
    let text = write_scenario(&scenario);
    assert!(text.trim_start_matches(['(', '\n', ' ']).starts_with("format: 1,"), "{text}");
    let again = parse_scenario(&text, "again.ron").unwrap();
    assert_eq!(again, scenario);
    assert_eq!(write_scenario(&again), text);
}

/// Derived: the mission and the light survive; a file without them reads as before and is written without them.
#[test]
fn mission_and_light_survive_a_round_trip() {
    let mut scenario = sample::scenario();
    let text = write_scenario(&scenario);
    assert!(!text.contains("mission") && !text.contains("light:") && !text.contains("metering"), "{text}");
    let zones = [SiteZone::Named { name: "Europe/Berlin".to_owned() }, SiteZone::Offset { minutes: -210 }];
    let levels = [LightLevel::Metered { ev100: 13.5 }, LightLevel::BySun { sky: Sky::Overcast }];
    for (zone, light) in zones.into_iter().zip(levels) {
        let date = LocalDate { year: 2024, month: 2, day: 29 };
        let mission = Mission { date, arrival: LocalClock { hour: 8, minute: 5 }, zone };
        scenario.conditions.mission = Some(mission);
        scenario.conditions.light = Some(light);
        let metering = Metering { f_number: 5.6, iso: 200.0, shortest_s: 0.000125 };
        Arc::make_mut(&mut scenario.equipment).aircraft[0].camera.metering = Some(metering);
        let text = write_scenario(&scenario);
        assert_eq!(parse_scenario(&text, "again.ron").unwrap(), scenario, "{text}");
    }
    let wrong = write_scenario(&scenario).replace("day: 29", "day: 30");
    let error = parse_scenario(&wrong, "wrong.ron").unwrap_err().to_string();
    assert!(error.contains("at most 29 in month 2 of 2024"), "{error}");
}

/// Derived: the corner that strips are begun at survives; the nearest one is left out, and none that is unknown is read.
#[test]
fn the_corner_to_begin_at_survives_a_round_trip() {
    let mut scenario = sample::scenario();
    let text = write_scenario(&scenario);
    assert!(!text.contains("begin"), "{text}");
    for corner in BeginAt::ALL {
        let pattern = &mut scenario.strategies[0].passes[0].pattern;
        let Pattern::Strips(Strips { begin, .. }) = pattern else { panic!("strips") };
        *begin = corner;
        let text = write_scenario(&scenario);
        assert_eq!(parse_scenario(&text, "again.ron").unwrap(), scenario, "{text}");
        let wrong = text.replace("OppositeCorner", "FarCorner");
        assert_eq!(parse_scenario(&wrong, "wrong.ron").is_err(), corner == BeginAt::OppositeCorner);
    }
}

/// Derived: a direction is a number, as it always was, or left out, which says that it is unknown; without a wind the common
/// one blows. All of it comes back.
#[test]
fn the_winds_direction_may_be_left_out() {
    let read = |wind: &str| {
        let text = sample::TEXT.replace("battery_sets: 4,", &format!("battery_sets: 4, {wind}"));
        let scenario = parse_scenario(&text, "wind.ron").unwrap();
        assert_eq!(parse_scenario(&write_scenario(&scenario), "again").unwrap(), scenario);
        scenario.conditions.wind
    };
    assert_eq!(
        read("wind: (speed_mps: 2.0, from_deg: 45.0),"),
        Wind { speed_mps: 2.0, from_deg: Some(45.0) }
    );
    assert_eq!(read("wind: (speed_mps: 2.0),"), Wind { speed_mps: 2.0, from_deg: None });
    assert_eq!(read(""), Wind { speed_mps: 4.0, from_deg: None });
    let text =
        sample::TEXT.replace("battery_sets: 4,", "battery_sets: 4, wind: (speed_mps: 2.0, from_deg: 700.0),");
    let refused = parse_scenario(&text, "wind.ron").unwrap_err().to_string();
    assert!(refused.contains("direction"), "{refused}");
}

/// Derived: every pattern and its settings survive, those left out at their defaults; an older file needs none of them.
#[test]
fn every_pattern_survives_a_round_trip() {
    let scenario = sample::with_every_pattern();
    let text = write_scenario(&scenario);
    assert_eq!(parse_scenario(&text, "again.ron").unwrap(), scenario);
    let kinds: Vec<&str> = scenario.strategies[0].passes.iter().map(|p| p.pattern.kind().name()).collect();
    assert_eq!(kinds, ["strips", "corridor", "orbit", "orbit", "facade", "underside"]);
    assert!((sample::scenario().conditions.clearance_m - 10.0).abs() < f64::EPSILON, "left out");
}

#[test]
fn a_fault_inside_a_pattern_is_told_with_its_place() {
    let text = write_scenario(&sample::with_every_pattern()).replace("width_m: 30.0", "width_m: 0.0");
    let told = parse_scenario(&text, "road.ron").unwrap_err().to_string();
    let line = text.lines().position(|line| line.contains("width_m: 0.0")).unwrap() + 1;
    assert!(told.starts_with(&format!("road.ron:{line}:")), "{told}");
    assert!(told.contains("corridor width must be at least 1"), "{told}");
}

/// The sample on uneven ground, with a bridge on a pier.
pub(crate) fn uneven() -> Scenario {
    let mut scenario = sample::scenario();
    let site = Arc::make_mut(&mut scenario.site);
    let heights: Vec<f64> = (0..30 * 25)
        .map(|k| 80.0 + 9.0 * (f64::from(k % 30) * 0.4).sin() + f64::from(k / 30) * 0.77)
        .collect();
    let (from, step) = (glam::DVec2::new(-30.0, -20.0), glam::DVec2::new(9.0, 8.0));
    let grid = TerrainGrid::from_heights_m(from, step, (30, 25), &heights).unwrap();
    site.terrain = Terrain::Grid(Arc::new(grid));
    let rectangle = |low: (f64, f64), high: (f64, f64)| {
        [low, (high.0, low.1), high, (low.0, high.1)].map(glam::DVec2::from).to_vec()
    };
    site.structures.push(Structure {
        id: Id(90),
        name: "Bridge".to_owned(),
        footprint_m: rectangle((100.0, 90.0), (140.0, 100.0)),
        kind: StructureKind::Deck {
            soffit_m: 7.5,
            top_m: 9.0,
            piers: vec![Pier { footprint_m: rectangle((118.0, 92.0), (121.0, 98.0)) }],
        },
    });
    scenario
}

#[test]
fn decks_and_terrain_come_back_to_the_millimetre() {
    let scenario = uneven();
    assert_eq!(scenario.faults(), []);
    let text = write_scenario(&scenario);
    assert_eq!(parse_scenario(&text, "again.ron").unwrap(), scenario);
    assert!(text.contains("columns: 30") && text.contains("soffit_m: 7.5"), "readable");
    assert!(text.lines().all(|line| line.len() < 160), "no line that an editor chokes on");
}

#[test]
fn broken_terrain_is_refused_with_its_place_and_mend() {
    let text = write_scenario(&uneven());
    let change = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        parse_scenario(&text.replacen(from, to, 1), "bad.ron").unwrap_err().to_string()
    };
    let packed = text.lines().skip_while(|line| !line.contains("packed_heights_mm")).nth(1).unwrap().trim();
    let cases = [
        (change("columns: 30", "columns: 31"), "the stored terrain heights are fewer"),
        (change("columns: 30", "columns: 29"), "the stored terrain heights are more"),
        (change("columns: 30", "columns: 4000000000"), "terrain must have at least 2 columns"),
        (change("columns: 30", "columns: 1"), "terrain must have at least 2 columns"),
        (change(packed, "\"AAAA\","), "the stored terrain heights are cut, changed"),
        (change(packed, "\"no base\","), "the stored terrain heights are no base 64"),
        (
            change("spacing_m: (9.0", "spacing_m: (-9.0"),
            "terrain spacing must be from 0.01 to 1000 m, but it is -9 m",
        ),
        (change("spacing_m: (9.0", "spacing_m: (1.0"), "the terrain must lie under the whole boundary"),
        (change("south_west_m: (-30.0", "south_west_m: (NaN"), "the south-west node of the terrain must lie"),
    ];
    for (told, expected) in cases {
        let place = told.strip_prefix("bad.ron:").and_then(|rest| rest.split(':').next());
        let line: usize =
            place.and_then(|line| line.parse().ok()).unwrap_or_else(|| panic!("no place: {told}"));
        let near = text.lines().position(|l| l.contains("terrain: Grid")).unwrap();
        assert!(told.contains(expected) && told.contains("; "), "{expected}: {told}");
        assert!(line >= near && line < near + 60, "line {line}, terrain at {near}: {told}");
    }
}

#[test]
fn a_struct_may_carry_its_name_and_a_byte_order_mark_is_passed_over() {
    let named = sample::TEXT.replacen("(\n  format", "Scenario(\n  format", 1);
    assert!(parse_scenario(&named, "named.ron").is_ok());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bom.ron");
    std::fs::write(&path, format!("\u{feff}{}", sample::TEXT)).unwrap();
    assert!(read_scenario(&path).is_ok());
}

#[test]
fn every_fault_is_told_with_its_place() {
    let text = sample::TEXT
        .replace("forward_overlap: 0.8,", "forward_overlap: 1.2,")
        .replace("Height(m: 73.0", "Height(m: 7300.0")
        .replace(
            "aircraft: 1,\n      passes: [\n        (\n          id: 4",
            "aircraft: 9,\n      passes: [\n        (\n          id: 2",
        );
    let error = parse_scenario(&text, "harbour.ron").unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Invalid);
    let line_of = |part: &str| text.lines().position(|line| line.contains(part)).unwrap() + 1;
    let told = error.to_string();
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines.len(), 4, "{told}");
    let overlap = format!(
        "harbour.ron:{}:28: forward overlap must be at least 0 and at most 0.98, but it is 1.2; write 0.8 for 80 %",
        line_of("1.2,")
    );
    assert!(lines.contains(&overlap.as_str()), "{told}\n{overlap}");
    assert!(
        told.contains(&format!("harbour.ron:{}:17: the aircraft must be", line_of("aircraft: 9"))),
        "{told}"
    );
    assert!(told.contains("every pass must have its own id"), "{told}");
    assert!(told.contains(&format!("harbour.ron:{}:31: height must be", line_of("7300"))), "{told}");
}

/// Derived: the colours are numbered from 1 to 8; what is not said stays unsaid.
#[test]
fn a_colour_comes_back_and_one_that_nobody_has_is_refused_in_its_place() {
    assert!(!write_scenario(&parse_scenario(sample::TEXT, "yard.ron").unwrap()).contains("colour"));
    let with = |number: &str| sample::TEXT.replace("reported: (", &format!("colour: {number}, reported: ("));
    let read = parse_scenario(&with("8"), "yard.ron").unwrap();
    assert_eq!(read.strategies[1].colour.map(obliquity_planning::Colour::slot), Some(7));
    assert_eq!(parse_scenario(&write_scenario(&read), "yard.ron").unwrap(), read);
    for number in ["0", "9"] {
        let text = with(number);
        let error = parse_scenario(&text, "yard.ron").unwrap_err().to_string();
        assert!(error.contains(&format!("a colour must be 1 to 8, but it is {number}")), "{error}");
        let line = text.lines().position(|line| line.contains("colour")).unwrap() + 1;
        assert!(error.contains(&format!("yard.ron:{line}:")), "{error}");
    }
}

#[test]
fn an_absurd_report_is_refused_in_its_place() {
    let text = sample::TEXT.replace("flight_time_min: 31.5", "flight_time_min: -31.5");
    let error = parse_scenario(&text, "yard.ron").unwrap_err().to_string();
    assert!(error.contains("reported flight time must be at least 0"), "{error}");
    let line = text.lines().position(|line| line.contains("-31.5")).unwrap() + 1;
    assert!(error.contains(&format!("yard.ron:{line}:")), "{error}");
}

#[test]
fn saving_keeps_the_version_before_and_leaves_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    let mut scenario = sample::scenario();
    save_scenario(&path, &scenario).unwrap();
    for name in ["second", "third"] {
        scenario.name = name.to_owned();
        save_scenario(&path, &scenario).unwrap();
    }
    assert_eq!(read_scenario(&path).unwrap().name, "third");
    assert_eq!(read_scenario(&folder.path().join("yard.ron.previous")).unwrap().name, "second");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn a_scenario_that_could_not_be_read_back_is_not_saved() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    let mut scenario = sample::scenario();
    scenario.strategies[0].passes[0].sidelap = f64::NAN;
    let error = save_scenario(&path, &scenario).unwrap_err().to_string();
    assert!(error.contains("strategies[0].passes[0].sidelap") && error.contains("NaN"), "{error}");
    assert!(!path.exists());
}

#[test]
fn a_save_into_no_folder_says_so() {
    let error = save_scenario("/nowhere/at/all/yard.ron".as_ref(), &sample::scenario()).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Unwritable);
    let error = read_scenario("/nowhere/at/all/yard.ron".as_ref()).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Unreadable);
    assert!(error.to_string().ends_with("; check its name and folder"), "{error}");
}

/// Text and back, without asking whether the values make sense: the numbers are what is tested.
fn numbers_after_a_round_trip(numbers: [f64; 4]) -> [f64; 4] {
    let text = write_scenario(&with_numbers(numbers));
    // The parser behind `parse_scenario` reads the site alone as well; faults of sense do not matter here.
    let start = text.find("site: ").unwrap() + 6;
    let site: obliquity_planning::Site = ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .from_str(&closed(&text[start..]))
        .unwrap();
    let origin = site.origin.unwrap();
    [site.boundary_m[0].x, site.boundary_m[0].y, origin.latitude_deg, site.sample_spacing_m.unwrap()]
}

/// The text up to the bracket that closes the first one.
fn closed(text: &str) -> String {
    let mut depth = 0;
    let end = text.find(|c| {
        depth += i32::from(c == '(') - i32::from(c == ')');
        c == ')' && depth == 0
    });
    text[..=end.unwrap()].to_owned()
}

fn with_numbers([x, y, latitude_deg, spacing_m]: [f64; 4]) -> Scenario {
    let mut scenario = sample::scenario();
    let site = Arc::make_mut(&mut scenario.site);
    site.boundary_m[0] = glam::DVec2::new(x, y);
    site.origin = Some(obliquity_planning::GeoPoint { latitude_deg, longitude_deg: 0.0 });
    site.sample_spacing_m = Some(spacing_m);
    scenario
}

/// Derived: the shortest digits that name a number read back as that number, down to the sign of zero.
#[test]
fn odd_numbers_survive_exactly() {
    let odd = [-0.0, 5e-324, 1e300, f64::MAX];
    let more = [f64::MIN_POSITIVE / 3.0, -1.0 / 3.0, 0.1 + 0.2, -1e-300];
    for numbers in [odd, more] {
        assert_eq!(numbers_after_a_round_trip(numbers).map(f64::to_bits), numbers.map(f64::to_bits));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_numbers_survive_exactly(numbers in prop::array::uniform4(prop::num::f64::ANY.prop_filter("finite", |x| x.is_finite()))) {
        prop_assert_eq!(numbers_after_a_round_trip(numbers).map(f64::to_bits), numbers.map(f64::to_bits));
    }

    #[test]
    fn sensible_scenarios_survive_whole(
        height_m in 5.0..500.0,
        forward in 0.0..0.98,
        speed in prop::option::of(0.5..40.0),
        name in "[a-zA-Z\"\\\\äß() ,{}#]{1,30}x",
        note in ".{0,40}",
    ) {
        let mut scenario = sample::scenario();
        scenario.note = note;
        scenario.strategies[0].name = name;
        let pass = &mut scenario.strategies[0].passes[0];
        pass.distance = Distance::Height { m: height_m, above: obliquity_planning::Above::MeanGround };
        pass.forward_overlap = forward;
        pass.speed_mps = speed;
        let text = write_scenario(&scenario);
        prop_assert_eq!(parse_scenario(&text, "t.ron").unwrap(), scenario);
    }
}
