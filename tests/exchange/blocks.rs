//! Blocks of the demo and the examples, adjusted before they are flown: how well each determines its camera, and what falls into
//! parts.

use crate::block_figures::{thinned, told_figures};
use obliquity_exchange::{ExportTo, Replace, ViewRows, comparison_json, export_strategy, parse_scenario};
use obliquity_planning::*;
use std::path::Path;

fn opened(path: &str) -> Scenario {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    parse_scenario(&std::fs::read_to_string(root.join(path)).unwrap(), path).unwrap()
}

fn named(scenario: &Scenario, name: &str) -> Id {
    scenario.strategies.iter().find(|strategy| strategy.name == name).unwrap().id
}

fn evaluated(scenario: &Scenario, strategy: Id) -> Outcome {
    let store = Store::new(256 << 20);
    Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, strategy, Depth::Network).unwrap()
}

fn caution<'a>(outcome: &'a Outcome, id: &str) -> Option<&'a Caution> {
    outcome.cautions.iter().find(|caution| caution.id == id)
}

fn figure(outcome: &Outcome, of: MeasureId) -> f64 {
    measure(of).read(outcome).unwrap()
}

/// Practice: nadir images over level ground leave the focal length open, tilted ones determine it, five directions best (the
/// order of the reference blocks A, D and C, tests/planning/network.rs).
#[test]
fn the_demos_strategies_rank_by_what_they_tell_of_the_camera() {
    let demo = opened("assets/demo.ron");
    let of = |name: &str| evaluated(&demo, named(&demo, name));
    let (nadir, crossed, five) = (of("Nadir block"), of("Crossed strips"), of("Five-direction oblique"));
    for strength in [MeasureId::FocalSigma, MeasureId::Doming] {
        let [nadir, crossed, five] = [&nadir, &crossed, &five].map(|outcome| figure(outcome, strength));
        assert!(nadir > crossed && crossed > five, "{strength:?}: {nadir} {crossed} {five}");
    }
    assert!(figure(&nadir, MeasureId::FocalSigma) > 100.0 * figure(&crossed, MeasureId::FocalSigma));
    let told = &caution(&nadir, "focal-length").unwrap().text;
    // 50 px of 3650 at 73 m are 1.0 m
    assert!(told.contains("heights may be off by 1.0 m as a whole"), "{told}");
    assert!(told.contains("known to 50 px before") && told.contains("Add oblique images"), "{told}");
    for outcome in [&crossed, &five] {
        assert!(caution(outcome, "focal-length").is_none() && caution(outcome, "block-in-parts").is_none());
    }
    // The constant part of positioning is in every point: 15 mm each way, 30 mm of height.
    for outcome in [&crossed, &five] {
        assert!(figure(outcome, MeasureId::PrecisionHorizontal) > 15.0 * 2_f64.sqrt());
        assert!((30.0..45.0).contains(&figure(outcome, MeasureId::PrecisionVertical)));
    }
    let one = caution(&nadir, "bending").unwrap();
    assert!(one.text.contains("for every pixel"), "{}", &*one.text);
}

/// Derived: a calibration that is held leaves no focal length open, and without satellites nothing holds the block.
#[test]
fn what_holds_a_block_is_told() {
    let mut tower = opened("examples/tower_facades.ron");
    let strategy = named(&tower, "Nadir block");
    let set = |scenario: &mut Scenario, change: &dyn Fn(&mut Aircraft)| {
        let mut equipment = (*scenario.equipment).clone();
        equipment.aircraft.iter_mut().for_each(change);
        scenario.equipment = equipment.into();
    };
    assert!(caution(&evaluated(&tower, strategy), "focal-length").is_some());
    set(&mut tower, &|aircraft| aircraft.camera.calibration = CameraCalibration::Fixed);
    let held = evaluated(&tower, strategy);
    assert!(caution(&held, "focal-length").is_none());
    assert_eq!(measure(MeasureId::FocalSigma).read(&held), None);
    assert!(figure(&held, MeasureId::PrecisionVertical) < 60.0);
    set(&mut tower, &|aircraft| aircraft.airframe.gnss = None);
    let open = evaluated(&tower, strategy);
    let told = &caution(&open, "block-not-held").unwrap().text;
    assert!(told.contains("place, turn and scale of the block"), "{told}");
    assert_eq!(measure(MeasureId::PrecisionVertical).read(&open), None);
    let at = [(-50.0, -45.0), (55.0, -45.0), (55.0, 45.0), (-48.0, 45.0)];
    let mut site = (*tower.site).clone();
    site.control_points =
        at.map(|at| ControlPoint { name: String::new(), at_m: at.into(), role: PointRole::Control }).to_vec();
    tower.site = site.into();
    let surveyed = evaluated(&tower, strategy);
    assert!(caution(&surveyed, "block-not-held").is_none());
    assert!(figure(&surveyed, MeasureId::PrecisionVertical) < 100.0);
}

/// Derived: the rays of strips that look there and of those that look back differ by twice the tilt less the frame, here by 40° and
/// more, so that nothing ties them. Level ground seen from one attitude alone leaves focal length, principal point and height open
/// together: what a height is off, the place is off by the tilt's tangent. Strips across them tie all and tell the focal length.
#[test]
fn strips_tilted_far_that_look_there_and_back_come_apart_until_others_cross_them() {
    let demo = opened("assets/demo.ron");
    let id = named(&demo, "Crossed strips");
    let tilted = |across_deg: f64| {
        let mut demo = demo.clone();
        let strategy = demo.strategies.iter_mut().find(|strategy| strategy.id == id).unwrap();
        for (pass, turned_deg) in strategy.passes.iter_mut().zip([0.0, across_deg]) {
            pass.attitudes[0].tilt_deg = 55.0;
            let Pattern::Strips(strips) = &mut pass.pattern else { panic!("strips") };
            strips.direction = StripDirection::Automatic { turned_deg };
        }
        evaluated(&demo, id)
    };
    let (apart, crossed) = (tilted(0.0), tilted(90.0));
    assert_eq!(apart.network.as_ref().unwrap().parts.len(), 2);
    assert!(caution(&apart, "block-in-parts").is_some());
    let told = &caution(&apart, "focal-length").unwrap().text;
    assert!(told.contains("Add images that look another way and are tied to these"), "{told}");
    let precision = apart.network.as_ref().unwrap().precision.ground.as_ref().unwrap();
    let slope = precision.horizontal.p50_m / precision.vertical.p50_m;
    // errors of positions, some centimetres of half a metre, are in both
    assert!((slope / 55_f64.to_radians().tan() - 1.0).abs() < 0.01, "{slope}");
    assert_eq!(crossed.network.as_ref().unwrap().parts.len(), 1);
    assert!(caution(&crossed, "focal-length").is_none() && caution(&crossed, "block-in-parts").is_none());
    let vertical = MeasureId::PrecisionVertical;
    assert!(figure(&apart, vertical) > 10.0 * figure(&crossed, vertical));
}

/// Derived: undersides that no tie holds to the rest are said to be apart, with the passes of each part.
#[test]
fn the_bridges_undersides_are_said_to_be_tied_or_not() {
    let bridge = opened("examples/bridge.ron");
    let sections = evaluated(&bridge, named(&bridge, "Underside sections"));
    let network = sections.network.as_ref().unwrap();
    assert!(network.parts.len() > 1);
    let told = &caution(&sections, "block-in-parts").unwrap().text;
    assert!(told.contains(&format!("fall into {} parts", network.parts.len())), "{told}");
    let nadir = evaluated(&bridge, named(&bridge, "Nadir block"));
    assert!(caution(&nadir, "block-in-parts").is_none());
    assert_eq!(nadir.network.as_ref().unwrap().parts.len(), 1);
}

/// Derived: rows that look squarely at four walls and a block that looks down see nothing alike within 40°; rows tilted half
/// way see both.
#[test]
fn the_towers_rows_come_apart_until_rows_at_45_degrees_are_added() {
    let mut tower = opened("examples/tower_facades.ron");
    let id = named(&tower, "Facade wrap");
    let apart = evaluated(&tower, id);
    let network = apart.network.as_ref().unwrap();
    assert_eq!(network.parts.len(), 6); // four walls of the tower, those of the car park with the nearest, and the block
    let told = &caution(&apart, "block-in-parts").unwrap().text;
    assert!(told.contains("rows in front of the walls once more, tilted by 45°"), "{told}");
    let wall = MeasureId::Coverage(SurfaceClass::Wall);
    assert!(figure(&apart, wall) > 0.99, "all images together cover the walls");
    let missed = apart.missed().find(|line| line.of() == wall).unwrap();
    assert!(matches!(missed, Judgement::Missed { why: Reason::InParts { parts: 6, .. }, .. }), "{missed:?}");
    assert_eq!(apart.meets(), Some(false));
    let strategy = tower.strategies.iter_mut().find(|strategy| strategy.id == id).unwrap();
    let rows = rows_that_tie(strategy, Id(900));
    assert_eq!(rows.len(), 2);
    strategy.passes.extend(rows);
    assert!(rows_that_tie(tower.strategy(id).unwrap(), Id(950)).is_empty());
    let tied = evaluated(&tower, id);
    assert_eq!(tied.network.as_ref().unwrap().parts.len(), 1);
    assert!(caution(&tied, "block-in-parts").is_none());
    assert!(tied.missed().all(|line| line.of() != wall), "{:?}", tied.judgements);
}

/// Derived: rows beside a deck that look squarely at its edges share nothing from alike with a block that looks down; the remedy that
/// is told ties all of it, and is told no more once it is taken.
#[test]
fn the_decks_rows_come_apart_until_rows_at_45_degrees_are_added() {
    let mut bridge = opened("examples/bridge.ron");
    let id = named(&bridge, "Nadir block and rows beside the deck");
    let apart = evaluated(&bridge, id);
    let count = |outcome: &Outcome| outcome.network.as_ref().unwrap().parts.len();
    assert_eq!(count(&apart), 3, "the block, and the rows on either side");
    let told = &caution(&apart, "block-in-parts").unwrap().text;
    assert!(told.contains("rows in front of the walls once more, tilted by 45°"), "{told}");
    let strategy = bridge.strategies.iter_mut().find(|strategy| strategy.id == id).unwrap();
    strategy.passes.extend(rows_that_tie(strategy, Id(900)));
    let tied = evaluated(&bridge, id);
    assert_eq!(count(&tied), 1);
    assert!(caution(&tied, "block-in-parts").is_none());
}

/// Derived: rows of any tilt beside a deck leave what looks up at its soffit apart from them, section from section: the remedy that is
/// told of such a block does not promise that they tie it.
#[test]
fn no_row_is_said_to_tie_what_looks_up_at_a_soffit() {
    let mut bridge = opened("examples/bridge.ron");
    let rows =
        bridge.strategy(named(&bridge, "Nadir block and rows beside the deck")).unwrap().passes[1].clone();
    let id = named(&bridge, "Underside sections");
    let strategy = bridge.strategies.iter_mut().find(|strategy| strategy.id == id).unwrap();
    assert!(rows_that_tie(strategy, Id(900)).is_empty());
    for (tilt_deg, number) in [(45.0, 900), (115.0, 901)] {
        let mut tilted = Pass { id: Id(number), ..rows.clone() };
        tilted.attitudes.iter_mut().for_each(|look| look.tilt_deg = tilt_deg);
        strategy.passes.push(tilted);
    }
    let outcome = evaluated(&bridge, id);
    assert!(outcome.network.as_ref().unwrap().parts.len() > 1);
    let told = &caution(&outcome, "block-in-parts").unwrap().text;
    assert!(told.contains("control points or more in the images of each") && !told.contains("45°"), "{told}");
}

/// What thinning may change.
const THINNED: f64 = 0.1;

/// A class of which less is covered has percentiles of a handful of samples.
const SEEN: f64 = 0.05;

/// Which strategies are held against denser choices of tie points; `OBLIQUITY_LONG` takes all that can be flown.
fn held_against_denser() -> Vec<(&'static str, Option<&'static str>)> {
    if std::env::var("OBLIQUITY_LONG").is_ok() {
        let files = [
            "tower_facades",
            "bridge",
            "quarry",
            "sandpit",
            "road_corridor",
            "suburb",
            "aircraft_at_equal_gsd",
        ];
        let paths = files.map(|name| format!("examples/{name}.ron").leak() as &'static str);
        return paths.into_iter().chain(["assets/demo.ron"]).map(|path| (path, None)).collect();
    }
    vec![
        ("assets/demo.ron", Some("Nadir block")),
        ("examples/tower_facades.ron", Some("Crossed strips")),
        ("examples/tower_facades.ron", Some("Facade wrap")),
        ("examples/road_corridor.ron", Some("Corridor tilted forward")),
        ("examples/road_corridor.ron", Some("Nadir block")),
        ("examples/quarry.ron", Some("Nadir block above the ground")),
    ]
}

/// Derived: three times as many tie points and the images' errors carried through for eight times as many samples leave the
/// figures within a tenth.
#[expect(clippy::print_stdout, reason = "a run by hand says what it found")]
#[test]
fn thinning_changes_no_figure_by_more_than_a_tenth() {
    let usual = Thinning::USUAL;
    let denser =
        Thinning { points_an_image: 3.0 * usual.points_an_image, ray_pairs: 8.0 * usual.ray_pairs, ..usual };
    let mut greatest = (0.0, String::new());
    for (path, only) in held_against_denser() {
        let scenario = opened(path);
        for strategy in
            scenario.strategies.iter().filter(|strategy| only.is_none_or(|name| strategy.name == name))
        {
            let outcome = evaluated(&scenario, strategy.id);
            let Some(usual) = outcome.network.as_deref() else { continue };
            let dense = thinned(&outcome, NetworkTerms { thinning: denser, ..usual.terms.clone() });
            let (change, what) = farthest(&outcome, usual, &dense);
            assert!(change < THINNED, "{path}, {}: {what}, denser", strategy.name);
            if change > greatest.0 {
                greatest = (change, format!("{path}, {}: {what}", strategy.name));
            }
        }
    }
    println!("thinning changes at most {:.1} %: {}", 100.0 * greatest.0, greatest.1);
}

/// The figure in which two networks of an outcome differ most, as a share of the second's; and what it is.
fn farthest(outcome: &Outcome, one: &NetworkFigures, other: &NetworkFigures) -> (f64, String) {
    let coverage = outcome.coverage();
    let much = |class: SurfaceClass| coverage[class].is_some_and(|ratio| ratio > SEEN);
    let change = |((name, a), (_, b)): ((String, Option<f64>), (String, Option<f64>))| {
        let change = match (a, b) {
            (Some(a), Some(b)) => (a / b - 1.0).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        };
        (change, format!("{name} {a:?}, {b:?}"))
    };
    let changes = told_figures(one, &much).into_iter().zip(told_figures(other, &much)).map(change);
    changes.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
}

/// What a preview's figures may lie from those of the whole.
const PREVIEWED: f64 = 0.25;

/// Derived: a preview rests on the same images, parts, ties and bridge as the whole, its figures lie within a quarter of the
/// whole's, it is marked, judges no accuracy, and is kept beside the whole.
#[expect(clippy::print_stdout, reason = "a run by hand says what it found")]
#[test]
fn a_preview_lies_near_the_whole_and_says_so() {
    let mut greatest = (0.0, String::new());
    for (path, only) in held_against_denser() {
        let mut scenario = opened(path);
        scenario.requirement.accuracy.vertical_m = Some(1.0);
        for strategy in
            scenario.strategies.iter().filter(|strategy| only.is_none_or(|name| strategy.name == name))
        {
            let store = Store::new(256 << 20);
            let at = |depth: Depth| {
                Evaluator { store: &store, watch: &NoWatch }.evaluate(&scenario, strategy.id, depth).unwrap()
            };
            let (preview, whole) = (at(Depth::Preview), at(Depth::Network));
            let (Some(first), Some(last)) = (preview.network.as_deref(), whole.network.as_deref()) else {
                assert_eq!(preview.network, whole.network);
                continue;
            };
            assert_eq!((first.is_preview(), last.is_preview()), (true, false));
            assert_eq!((&first.parts, &first.ties, first.bridge), (&last.parts, &last.ties, last.bridge));
            let line = |outcome: &Outcome| {
                let mut lines = outcome.judgements.iter();
                lines.find(|line| line.of() == MeasureId::AccuracyVertical).unwrap().clone()
            };
            assert!(matches!(line(&preview), Judgement::Unknown { .. }), "{:?}", line(&preview));
            assert!(preview.judgements.len() == whole.judgements.len());
            assert!(!matches!(line(&whole), Judgement::Unknown { .. } | Judgement::NotJudged { .. }));
            assert!(
                comparison_json(&scenario, std::slice::from_ref(&preview))["strategies"][0]["block"]
                    .is_null()
            );
            assert_eq!(at(Depth::Preview), preview);
            let (change, what) = farthest(&whole, first, last);
            assert!(change < PREVIEWED, "{path}, {}: {what}", strategy.name);
            if change > greatest.0 {
                greatest = (change, format!("{path}, {}: {what}", strategy.name));
            }
        }
    }
    println!("previews lie at most {:.1} % from the whole: {}", 100.0 * greatest.0, greatest.1);
}

/// Derived: an outcome that goes so deep fills every key of precision and calibration, and its samples carry σ.
#[test]
fn every_key_of_precision_and_calibration_is_filled() {
    let tower = opened("examples/tower_facades.ron");
    let outcome = evaluated(&tower, named(&tower, "Crossed strips"));
    let json = comparison_json(&tower, std::slice::from_ref(&outcome));
    let keys = &json["strategies"][0];
    for key in ["/precision_mm/horizontal/p50", "/precision_mm/horizontal/p95", "/precision_mm/vertical/p50"]
    {
        assert!(keys.pointer(key).unwrap().as_f64().unwrap() > 0.0, "{key}");
    }
    for key in [
        "/precision_mm/vertical/p95",
        "/calibration/focal_sigma_px",
        "/calibration/doming_mm",
        "/calibration/dome_per_px_mm",
    ] {
        assert!(keys.pointer(key).unwrap().as_f64().unwrap() > 0.0, "{key}");
    }
    assert_eq!(keys.pointer("/block/parts/0/passes").unwrap(), &serde_json::json!([1, 2]));
    let folder = tempfile::tempdir().unwrap();
    let to = ExportTo { folder: folder.path(), replace: Replace::Nothing, inputs: &[] };
    export_strategy(&to, &tower, &outcome, ViewRows::LeftOut, &NoWatch).unwrap();
    let table = std::fs::read_to_string(folder.path().join("samples.csv")).unwrap();
    let mut filled = 0;
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let covered = cells[12] == "1";
        let sigmas: Vec<f64> = cells[13..].iter().filter_map(|cell| cell.parse().ok()).collect();
        assert!(!covered || sigmas.len() == 3, "{line}");
        assert!(sigmas.iter().all(|sigma_mm| (1.0..10_000.0).contains(sigma_mm)), "{line}");
        filled += usize::from(sigmas.len() == 3);
    }
    assert!(filled > 10_000, "{filled} samples");
}
