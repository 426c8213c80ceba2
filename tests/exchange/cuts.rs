//! Cuts as diagrams and as CSV: what they say is what was worked out.

use crate::chart::PALETTE;
use crate::sample;
use obliquity_exchange::chart::{Tone, cut_charts, svg};
use obliquity_exchange::{Units, cut_csv};
use obliquity_planning::cross_section::{CrossSection, Cut};
use obliquity_planning::*;

/// Strategy and pass, and the cut.
type CutOf = ((Id, Id), CrossSection);

/// Cuts along the first strip of every pass that has one to cut along.
fn cuts() -> (Scenario, Vec<CutOf>) {
    let scenario = sample::with_every_pattern();
    let store = Store::new(1 << 28);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let passes = scenario.strategies.iter().flat_map(|own| own.passes.iter().map(|pass| (own.id, pass.id)));
    let cut = |which: (Id, Id)| {
        let found = evaluator.cross_section(&scenario, which, Cut::Strip(0)).expect("evaluated");
        Some((which, found.ok()?))
    };
    let found: Vec<_> = passes.filter_map(cut).collect();
    assert!(found.len() >= 3, "{} passes can be cut", found.len());
    (scenario, found)
}

/// Derived: one row for each place and way of flying, with the very numbers; GSD in centimetres.
#[test]
fn the_table_has_every_place() {
    for (_, found) in cuts().1 {
        let csv = cut_csv(&found);
        let mut rows = csv.lines().skip(1);
        for below in found.flown.iter().flat_map(|one| &one.below) {
            let fields: Vec<&str> = rows.next().expect("a row for each place").split(',').collect();
            let number = |k: usize| fields[k].parse::<f64>().ok();
            assert_eq!(number(1), Some(below.along_m));
            assert_eq!(number(2), Some(below.surface_m));
            assert_eq!(number(3), Some(below.above_m));
            assert_eq!(number(4), Some(below.gsd_m * 100.0));
            assert_eq!(number(5).zip(number(6)), below.overlaps);
        }
        assert!(rows.next().is_none());
    }
}

/// Derived: heights and GSD are drawn in the units chosen (a foot is 0.3048 m exactly, an inch 2.54 cm), the pass as set in its
/// strategy's colour; each diagram can be written as SVG.
#[test]
fn diagrams_hold_what_was_worked_out() {
    let (scenario, found) = cuts();
    for (which, section) in found {
        for (units, metre, gsd_metre) in
            [(Units::Metric, 1.0, 100.0), (Units::UsInches, 1.0 / 0.3048, 100.0 / 2.54)]
        {
            let charts = cut_charts(&scenario, which, &section, units);
            let set = charts[0].series.iter().find(|series| matches!(series.tone, Tone::Strategy(_)));
            let line = &set.expect("the pass as set is drawn").points;
            for (point, place) in line.iter().zip(&section.flown[0].line_m) {
                // one rounding each
                assert!(
                    (point[0] - place[0] * metre).abs() < 1e-9 && (point[1] - place[1] * metre).abs() < 1e-9
                );
            }
            for (point, below) in charts[1].series[0].points.iter().zip(&section.flown[0].below) {
                assert!(below.above_m <= 0.0 || (point[1] - below.gsd_m * gsd_metre).abs() < 1e-9);
            }
            let expected = if section.flown[0].below[0].overlaps.is_some() { 4 } else { 2 };
            assert_eq!(charts.len(), expected);
            let text = svg(&charts, (900, 900), &PALETTE).expect("written");
            assert!(charts.iter().all(|chart| text.contains(&chart.title)), "{text}");
        }
    }
}
