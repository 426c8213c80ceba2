//! The block, found by what a screen reader would say.

use crate::made_up;
use crate::window::{settle, settle_block, window, witness, yard};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::document::{Document, Edit};
use obliquity::strategies::Change;
use obliquity_exchange::chart::{block_charts, control_text};
use obliquity_planning::what_if::CONTROL_COUNTS;
use obliquity_planning::{Depth, NoWatch, Outcome, SiteTemplate, SurfaceClass, Units, wording};

fn block() -> (Harness<'static, App>, Outcome) {
    let mut window = yard();
    window.get_by_label("Block").click();
    settle_block(&mut window);
    let scenario = window.state().document().scenario().clone();
    let focus = window.state().focus().expect("one is in focus");
    let outcome = witness().evaluate(&scenario, focus, Depth::Network, &NoWatch).expect("evaluated");
    (window, outcome)
}

/// Derived: what the screen says is what evaluating the strategy gives: whether the images hang together, and how precise every
/// class comes out; the same stands on the clipboard.
#[test]
fn the_screen_tells_the_block_of_the_strategy_in_focus() {
    let (window, outcome) = block();
    let network = outcome.network.as_deref().expect("worked out");
    assert_eq!(network.parts.len(), 1);
    let images = wording::count(network.parts[0].images.len() as f64);
    let told = format!("All {images} images that see enough hang together.");
    assert!(window.query_by_label(&told).is_some(), "{told}");
    let table = window.state().table().expect("a table");
    let mut rows = 0;
    for class in SurfaceClass::ALL {
        let Some(own) = &network.precision[class] else { continue };
        let text = |p95_m: f64, p50_m: f64| {
            format!("{} ({})", Units::Metric.error(p95_m), Units::Metric.error(p50_m))
        };
        let cells = [own.horizontal, own.vertical, own.normal].map(|own| text(own.p95_m, own.p50_m));
        for cell in &cells {
            assert!(window.query_all_by_label(cell).next().is_some(), "{cell}");
        }
        assert!(table.contains(&format!("{}\t{}", class.plural(), cells.join("\t"))), "{table}");
        rows += 1;
    }
    assert!(rows >= 2, "{rows}");
    let spoken = format!("{} pairs that see a tenth or more", network.ties.len());
    assert!(window.query_all_by_label_contains(&spoken).next().is_some(), "{spoken}");
}

/// Derived: the dome's section is 0 at both ends and as high in the middle as the figure; bars end where the figures do.
#[test]
fn diagrams_end_where_the_figures_do() {
    let (window, outcome) = block();
    let camera = outcome.network.as_ref().expect("worked out").calibration.clone().expect("tied");
    let doming_mm = 1000.0 * camera.doming_m.expect("positions hold it");
    let charts = block_charts(&outcome, 0, 100.0, Units::Metric);
    let [bars, dome] = charts.as_slice() else { panic!("{}", charts.len()) };
    for (line, sign) in dome.series.iter().zip([1.0, -1.0]) {
        let (first, last) = (line.points[0], line.points[line.points.len() - 1]);
        assert_eq!((first, last), ([-100.0, 0.0], [100.0, 0.0]));
        let middle = line.points[line.points.len() / 2];
        assert!(middle[0] == 0.0 && (middle[1] - sign * doming_mm).abs() < 1e-9, "{middle:?}");
    }
    let longest = bars.bars.iter().find(|bar| bar.name.contains("dome")).expect("a bar");
    assert!((longest.across[1] - doming_mm).abs() < 1e-9);
    let names = |charts: &[obliquity_exchange::chart::Chart]| -> Vec<String> {
        charts.iter().map(|chart| chart.title.clone()).collect()
    };
    assert_eq!(names(&window.state().charts().expect("diagrams")), names(&charts));
}

/// Derived: rows that look squarely at walls and a block that looks down share nothing from alike: the screen says so, and its button
/// adds rows tilted half way, which tie them; one step back takes them away again.
#[test]
fn rows_that_tie_the_parts_are_added_by_a_button() {
    let mut scenario = made_up::scenario();
    scenario.strategies.clear();
    let mut document = Document::new(scenario, None);
    let wrap = Change::AddOnSite { template: SiteTemplate::FacadeWrap };
    document.edit(&Edit::Strategy(wrap)).expect("the shed has walls");
    let mut window = window(document);
    settle(&mut window);
    let passes =
        |window: &Harness<'static, App>| window.state().document().scenario().strategies[0].passes.len();
    let before = passes(&window);
    window.get_by_label("Block").click();
    settle_block(&mut window);
    let parts = "parts that no tie holds together";
    assert!(window.query_all_by_label_contains(parts).next().is_some());
    window.get_by_label("Add rows at 45° that tie the parts").click();
    settle_block(&mut window);
    assert!(passes(&window) > before);
    assert!(window.query_all_by_label_contains(parts).next().is_none());
    assert!(window.query_all_by_label_contains("images that see enough hang together.").next().is_some());
    assert!(window.query_by_label("Add rows at 45° that tie the parts").is_none());
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_ok();
    assert_eq!(passes(&window), before);
}

/// Derived: numbers of control points are tried when asked, the screen tells what they come to in the sentence that the diagram has, and
/// the diagram stands beside the others; what each takes on site is minutes of a point times their number.
#[test]
fn numbers_of_control_points_are_tried_when_asked() {
    // Ten blocks are adjusted.
    let mut scenario = made_up::sampled(10.0);
    scenario.strategies.truncate(1);
    scenario.requirement.accuracy.vertical_m = Some(0.05);
    let trials = witness()
        .control_trials(&scenario, made_up::NADIR, (&CONTROL_COUNTS, Depth::Network), &NoWatch)
        .expect("tried");
    let minutes = scenario.conditions.per_control_point_min;
    for trial in &trials {
        assert!((trial.on_site_s - 60.0 * minutes * f64::from(trial.points)).abs() < 1e-9);
    }
    let (none, four) =
        (trials[0].vertical_m.expect("positions hold it"), trials[1].vertical_m.expect("held"));
    assert!(four < none, "control makes heights no worse: {four} {none}");
    let told = control_text(&trials, &scenario.requirement.accuracy, Units::Metric);
    let mut window = window(Document::new(scenario, None));
    settle(&mut window);
    window.get_by_label("Block").click();
    settle_block(&mut window);
    let before = window.state().charts().expect("diagrams").len();
    // It may lie below what is in sight of the column.
    window.get_by_label("Try numbers of control points").click_accesskit();
    window.run_ok();
    assert!(window.query_by_label(&told).is_some(), "{told}");
    let charts = window.state().charts().expect("diagrams");
    assert_eq!(charts.len(), before + 1);
    assert!(charts[before].spoken.ends_with(&told), "{}", charts[before].spoken);
}
