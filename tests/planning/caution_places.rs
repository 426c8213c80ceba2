//! Places of cautions on drawn scenarios: every stretch of the route that a caution is about is among them.

#![expect(clippy::expect_used, reason = "a test ends at the first surprise")]

use crate::generate;
use glam::DVec3;
use obliquity_planning::*;
use std::collections::BTreeSet;

const SEEDS: std::ops::Range<u64> = 0..60;

/// Every strategy of the drawn scenarios, with a pilot who sees far less than the site.
fn drawn(mut check: impl FnMut(&Scenario, &Outcome, &str)) {
    for seed in SEEDS {
        let mut scenario = generate::scenario(seed);
        scenario.conditions.pilot_distance_m = 120.0;
        let store = Store::new(1 << 20);
        for strategy in &scenario.strategies {
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let Ok(outcome) = evaluator.evaluate(&scenario, strategy.id, Depth::Spread) else { continue };
            check(&scenario, &outcome, &format!("seed {seed}, {}", strategy.name));
        }
    }
}

fn caution<'a>(outcome: &'a Outcome, id: &str) -> Option<&'a Caution> {
    outcome.cautions.iter().find(|caution| caution.id == id)
}

/// Whether a place lies on one of a caution's stretches.
fn is_marked(caution: &Caution, at_m: DVec3) -> bool {
    let near = |a: DVec3, b: DVec3| {
        let share = ((at_m - a).dot(b - a) / a.distance_squared(b).max(1e-12)).clamp(0.0, 1.0);
        a.lerp(b, share).distance(at_m) < 1e-6 // rounding
    };
    let lines = caution.places.iter().map(|place| &place.line_m);
    lines.into_iter().any(|line| near(line[0], line[0]) || line.windows(2).any(|pair| near(pair[0], pair[1])))
}

fn number_before(text: &str, word: &str) -> usize {
    let before = text.split(&format!(" {word}")).next().expect("the word is there");
    before.rsplit(' ').next().and_then(|number| number.parse().ok()).expect("a number before it")
}

/// Derived: a sentence that says how many stretches are hidden has as many places, the longest first and the others as
/// they are flown, none of them twice.
#[test]
fn as_many_hidden_stretches_are_marked_as_the_sentence_says() {
    let mut most = 0;
    drawn(|_, outcome, which| {
        let Some(hidden) = caution(outcome, "line-of-sight") else { return };
        if outcome.assumed && !hidden.text.contains("stretch") {
            assert!(hidden.places.is_empty(), "{which}: nothing that is only assumed stands anywhere");
            return;
        }
        let count = number_before(&hidden.text, "stretch");
        assert_eq!(hidden.places.len(), count, "{which}: {}", hidden.text);
        let longest_m = hidden.places.iter().map(Stretch::length_m).fold(0.0, f64::max);
        assert!(hidden.places[0].length_m() >= longest_m, "{which}");
        let apart = |pair: &[Stretch]| pair[0].to.flown_m <= pair[1].from.flown_m;
        assert!(hidden.places[1..].windows(2).all(apart), "{which}");
        most = most.max(count);
    });
    assert!(most > 5, "some are hidden more than once: {most}");
}

/// Derived: every corner of the route that lies beyond the pilot's distance is on a marked stretch, and no exposure within
/// it is.
#[test]
fn everything_beyond_the_pilot_is_marked() {
    let mut most = 0;
    drawn(|scenario, outcome, which| {
        let Some(far) = caution(outcome, "pilot-distance") else { return };
        let flight = outcome.flight().expect("it is there");
        let beyond = |sortie: u32, at_m: DVec3| {
            let home_m = flight.take_off_of_m(sortie).truncate();
            at_m.truncate().distance(home_m) > scenario.conditions.pilot_distance_m
        };
        for flown in &flight.legs {
            for at_m in flown.leg.corners_m().filter(|at_m| beyond(flown.sortie, *at_m)) {
                assert!(is_marked(far, at_m), "{which}: {at_m} is beyond and not marked");
            }
        }
        for place in &far.places {
            assert!(place.line_m.iter().all(|at_m| beyond(place.from.sortie, *at_m)), "{which}");
        }
        most = most.max(far.places.len());
    });
    assert!(most > 5, "some routes go beyond more than twice: {most}");
}

/// Derived: the middle of every level strip right above a structure that the sentence names is marked; each marked
/// stretch begins and ends over the edge of a structure or of a leg.
#[test]
fn every_place_above_a_structure_is_marked() {
    let mut most = 0;
    drawn(|scenario, outcome, which| {
        let Some(over) = caution(outcome, "over-structures") else { return };
        let stations =
            outcome.passes.iter().flat_map(|pass| &pass.laid().expect("it is there").stations.poses);
        for at_m in stations.map(|pose| pose.position_m) {
            let below = |s: &&Structure| {
                matches!(s.kind, StructureKind::Extrusion { .. })
                    && polygon::contains(&s.footprint_m, at_m.truncate())
            };
            if scenario.site.structures.iter().any(|s| below(&s)) {
                assert!(is_marked(over, at_m), "{which}: {at_m} is above a structure and not marked");
            }
        }
        most = most.max(over.places.len());
    });
    assert!(most > 5, "{most}");
}

/// Derived: as many strips are marked as the wind slows, the slowest first.
#[test]
fn every_slowed_strip_is_marked() {
    let mut most = 0;
    for seed in SEEDS {
        let mut scenario = generate::scenario(seed);
        scenario.conditions.wind = wind::Wind { speed_mps: 7.0, from_deg: Some(40.0) };
        let store = Store::new(0);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for strategy in &scenario.strategies {
            let Ok(outcome) = evaluator.evaluate(&scenario, strategy.id, Depth::Spread) else { continue };
            let Some(slowed) = caution(&outcome, "wind-slows") else { continue };
            assert_eq!(slowed.places.len(), number_before(&slowed.text, "strip"), "seed {seed}");
            most = most.max(slowed.places.len());
        }
    }
    assert!(most > 1, "{most}");
}

/// What is looked at along the route, and what draws tell of: not while a slider moves. What only the light of a day or a weak
/// battery brings is met by no drawn scenario.
const ALONG_THE_ROUTE: [&str; 10] = [
    "batteries-likely",
    "heading-held",
    "line-of-sight",
    "near-keep-out",
    "near-take-off",
    "near-walls",
    "over-structures",
    "satellite-below-deck",
    "unknown",
    "wind-slows",
];

/// Derived: what is looked at along the route comes with the spread and not before; every other caution is told at once, word
/// for word, and nothing else that the route gives differs. Coverage adds no caution.
#[test]
fn what_takes_a_walk_along_the_route_comes_with_the_spread() {
    let (mut late, mut early) = (BTreeSet::new(), BTreeSet::new());
    for seed in SEEDS {
        let mut scenario = generate::scenario(seed);
        scenario.conditions.pilot_distance_m = 120.0;
        scenario.conditions.wind = wind::Wind { speed_mps: 7.0, from_deg: Some(40.0) };
        let store = Store::new(1 << 20);
        for strategy in &scenario.strategies {
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let to = |depth: Depth| evaluator.evaluate(&scenario, strategy.id, depth);
            let (Ok(quick), Ok(spread)) = (to(Depth::Quick), to(Depth::Spread)) else { continue };
            let (later, at_once): (Vec<_>, Vec<_>) =
                spread.cautions.iter().cloned().partition(|caution| caution.depth() > Depth::Quick);
            let which = format!("seed {seed}, {}", strategy.name);
            assert_eq!(quick.cautions, at_once, "{which}");
            assert!(spread.cautions.is_sorted_by(|a, b| a.rank() < b.rank()), "{which}");
            assert_eq!(
                (&quick.passes, &quick.load, &quick.light),
                (&spread.passes, &spread.load, &spread.light)
            );
            assert_eq!((quick.flight(), &quick.exposure), (spread.flight(), &spread.exposure), "{which}");
            late.extend(later.iter().map(|caution| caution.id));
            early.extend(at_once.iter().map(|caution| caution.id));
        }
    }
    assert!(late.is_disjoint(&early), "{late:?}, {early:?}");
    let listed = BTreeSet::from(ALONG_THE_ROUTE);
    assert_eq!(late, listed, "each was met");
}
