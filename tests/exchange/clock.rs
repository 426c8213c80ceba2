//! Time and energy of every example: what its draws say of its prediction.

use crate::examples::scenarios;
use crate::sample;
use obliquity_planning::{Band, Cost, Evaluator, NoWatch, Outcome, Scenario, Spread, Store};

/// Every strategy of every example that can be flown, and of a sample with every pattern, under conditions changed.
fn each_flown(change: impl Fn(&mut Scenario), each: impl Fn(&str, &Scenario, &Outcome, &Evaluator<'_>)) {
    let mut everything = scenarios();
    everything.push(("every pattern".into(), sample::with_every_pattern()));
    for (path, mut scenario) in everything {
        change(&mut scenario);
        let store = Store::new(1 << 26);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for outcome in sample::quick_outcomes(&scenario).iter().filter(|outcome| outcome.feasible()) {
            let name = format!("{}, {}", path.display(), outcome.name);
            each(&name, &scenario, outcome, &evaluator);
        }
    }
}

/// Nothing may come out otherwise than planned.
fn certain(scenario: &mut Scenario) {
    scenario.conditions.spread = Spread {
        wind_mps: 0.0,
        wind_deg: 0.0,
        speed_ratio: 0.0,
        turn_ratio: 0.0,
        battery_ratio: 0.0,
        swap_ratio: 0.0,
        ..Spread::default()
    };
}

/// Derived: with nothing uncertain every draw is the prediction, to the rounding of sums of some thousand terms.
#[test]
fn draws_with_nothing_drawn_are_the_prediction() {
    each_flown(certain, |name, scenario, outcome, evaluator| {
        let bands = evaluator.bands(scenario, outcome).unwrap().unwrap();
        let Cost { flight, time, .. } = outcome.cost.as_ref().unwrap();
        let figures = [
            ("flight", bands.flight_s, time.flight_s),
            ("time on site", bands.time_on_site_s, time.time_on_site_s()),
            ("energy", bands.energy_j, flight.energy_j()),
            ("sorties", bands.sorties, flight.sorties.len() as f64),
        ];
        for (figure, Band { p10, p50, p90 }, planned) in figures {
            let near = [p10, p50, p90].iter().all(|drawn| (drawn - planned).abs() <= 1e-12 * planned);
            assert!(near, "{name}: {figure} {p10} to {p90}, planned {planned}");
        }
    });
}
