//! The block, found by what a screen reader would say.

use crate::window::yard;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::engine::Engine;
use obliquity_exchange::chart::block_charts;
use obliquity_planning::{Depth, NoWatch, Outcome, SurfaceClass, Units};

fn block() -> (Harness<'static, App>, Outcome) {
    let mut window = yard();
    window.get_by_label("Block").click();
    window.run_ok();
    let scenario = window.state().document().scenario().clone();
    let focus = window.state().focus().expect("one is in focus");
    let outcome = Engine::aside().evaluate(&scenario, focus, Depth::Network, &NoWatch).expect("evaluated");
    (window, outcome)
}

/// Derived: what the screen says is what evaluating the strategy gives: whether the images hang together, and how precise every
/// class comes out; the same stands on the clipboard.
#[test]
fn the_screen_tells_the_block_of_the_strategy_in_focus() {
    let (window, outcome) = block();
    let network = outcome.network.as_deref().expect("worked out");
    assert_eq!(network.parts.len(), 1);
    let told = format!("All {} images that see enough hang together.", network.parts[0].images.len());
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
