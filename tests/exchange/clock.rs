//! Time and energy of every example: what its draws say of its prediction.

use crate::examples::scenarios;
use crate::sample;
use obliquity_planning::{Band, Depth, Evaluator, NoWatch, Outcome, Scenario, Spread, Store, Timing};

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

/// Nothing may come out otherwise than planned, and it is known where the wind comes from.
fn certain(scenario: &mut Scenario) {
    scenario.conditions.wind.from_deg = Some(250.0);
    scenario.conditions.spread = Spread {
        wind_mps: 0.0,
        wind_deg: 0.0,
        speed_ratio: 0.0,
        turn_ratio: 0.0,
        battery_ratio: 0.0,
        swap_ratio: 0.0,
        crew_ratio: 0.0,
        ..Spread::default()
    };
}

/// Derived: with nothing uncertain every draw is the prediction, to the rounding of sums of some thousand terms.
#[test]
fn draws_with_nothing_drawn_are_the_prediction() {
    each_flown(certain, |name, scenario, outcome, evaluator| {
        let drawn = evaluator.evaluate(scenario, outcome.strategy, Depth::Spread).unwrap();
        let bands = drawn.bands().unwrap();
        let Timing { flight, time, .. } = outcome.timing.as_ref().unwrap();
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

/// Derived: a prediction lies inside its own band, or the band is wrong.
#[test]
fn predictions_lie_within_their_bands() {
    each_flown(
        |_| (),
        |name, scenario, outcome, evaluator| {
            let drawn = evaluator.evaluate(scenario, outcome.strategy, Depth::Spread).unwrap();
            let bands = drawn.bands().unwrap();
            let Timing { flight, time, .. } = outcome.timing.as_ref().unwrap();
            for (figure, Band { p10, p90, .. }, planned) in [
                ("flight", bands.flight_s, time.flight_s),
                ("time on site", bands.time_on_site_s, time.time_on_site_s()),
                ("energy", bands.energy_j, flight.energy_j()),
                ("sorties", bands.sorties, flight.sorties.len() as f64),
            ] {
                let inside = p10 <= planned && planned <= p90;
                assert!(inside, "{name}: {figure} {p10} to {p90}, planned {planned}");
            }
        },
    );
}

/// Derived: every leg of a draw in which nothing is drawn takes what it takes in the prediction, to 1e-9 s; no two draws take
/// the same.
#[test]
fn a_draw_with_nothing_drawn_reproduces_every_leg() {
    each_flown(
        |_| (),
        |name, scenario, outcome, evaluator| {
            let drawn = |number| evaluator.draw(scenario, outcome, number).unwrap().unwrap();
            let (planned, nothing) = (outcome.flight().unwrap(), drawn(None));
            assert_eq!(nothing.legs.len(), planned.legs.len(), "{name}");
            for (k, (leg, plan)) in nothing.legs.iter().zip(&planned.legs).enumerate() {
                assert_eq!(
                    (&*leg.leg, leg.pass, leg.sortie),
                    (&*plan.leg, plan.pass, plan.sortie),
                    "{name}, leg {k}"
                );
                for (drawn_s, planned_s) in
                    [(leg.start_s, plan.start_s), (leg.turn_s, plan.turn_s), (leg.moving_s, plan.moving_s)]
                {
                    assert!((drawn_s - planned_s).abs() < 1e-9, "{name}, leg {k}: {drawn_s} {planned_s}");
                }
                assert!(
                    (leg.energy_j - plan.energy_j).abs() < 1e-9 * plan.energy_j.max(1.0),
                    "{name}, leg {k}"
                );
            }
            assert_eq!(nothing.station_time_s, planned.station_time_s, "{name}");
            let [first, second] = [0, 1].map(|number| drawn(Some(number)).terms.flight_time_s());
            assert!((first - second).abs() > 1e-6, "{name}: {first} {second}");
        },
    );
}
