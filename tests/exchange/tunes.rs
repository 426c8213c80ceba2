//! What a search found, in files and in words, is what it found.

use crate::sample;
use obliquity_exchange::chart::{CloudDot, Palette, TradeOf, front_chart, svg};
use obliquity_exchange::{Units, looked_text, setting_text, tune_csv, tune_json};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Free, ToSpare, TuneAsk, TuneResult, Tuned};
use obliquity_planning::*;
use std::sync::Arc;

/// A few settings of every strategy.
fn searched() -> (Scenario, Vec<(Id, Option<Tuned>)>) {
    let mut scenario = sample::with_every_pattern();
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(6.0);
    let by_gsd = Distance::Gsd { cm: 2.5, above: Above::MeanGround };
    scenario.strategies[0].passes.iter_mut().for_each(|pass| pass.distance = by_gsd);
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let tune = |strategy: Id| {
        let ids = [KnobId::HEIGHT, KnobId::GSD, KnobId::SIDELAP];
        let dials = ids.into_iter().filter_map(|id| Dial::of_strategy(&scenario, id, strategy));
        let lists = dials.map(|dial| {
            let present = dial.by_value(&scenario)[0].value(&scenario).expect("is set");
            let step = dial.knob().key_step();
            Free { values: vec![present, present + 2.0 * step], dial }
        });
        let free: Vec<Free> = lists.collect();
        if free.is_empty() {
            return (strategy, None);
        }
        let objective = MeasureId::TimeOnSite;
        let ask = TuneAsk { strategy, free, objective, to_spare: ToSpare::default() };
        (strategy, Some(evaluator.tune(&scenario, &ask, &|_| {}).expect("searched")))
    };
    let tuned = scenario.strategies.iter().map(|strategy| tune(strategy.id)).collect();
    (scenario, tuned)
}

/// Derived: every setting looked at is a row of the CSV with its own figures, and the JSON has the one that was found.
#[test]
fn csv_and_json_have_what_was_looked_at() {
    let (scenario, tuned) = searched();
    let csv = tune_csv(&scenario, &tuned);
    let mut lines = csv.lines();
    let head: Vec<&str> = lines.next().expect("a head").split(',').collect();
    // searches go no deeper than coverage
    assert_eq!(head.len(), 4 + swept_measures().count());
    let looked = tuned.iter().flat_map(|(_, tuned)| tuned).flat_map(|tuned| &tuned.looked);
    assert_eq!(lines.clone().count(), looked.clone().count());
    let of_images = MEASURES.iter().position(|row| row.id == MeasureId::ImageCount).expect("a row");
    for (line, looked) in lines.zip(looked) {
        // Names and settings may hold commas, figures do not.
        let fields: Vec<&str> = line.rsplit(',').collect();
        let told = fields[MEASURES.len() - 1 - of_images];
        let images = looked.tried.figure(MeasureId::ImageCount);
        assert_eq!(told.parse().ok(), images, "{line}");
    }
    let json = tune_json(&scenario, MeasureId::TimeOnSite, &tuned);
    for ((_, tuned), told) in tuned.iter().zip(json["strategies"].as_array().expect("a list")) {
        let Some(tuned) = tuned else {
            assert_eq!(told["found"], "nothing to set");
            continue;
        };
        assert_eq!(told["settings_looked_at"], tuned.looked.len());
        let set = told["setting"].as_array();
        let told_values = set.map(|set| set.iter().filter_map(|one| one["value"].as_f64()).collect());
        assert_eq!(told_values, tuned.foremost().map(|looked| looked.values.clone()));
        let text = looked_text(&scenario, tuned);
        assert!(text.starts_with(&format!("all {} settings", tuned.listed)), "{text}");
    }
}

/// Derived: by the definition; filled are those that meet, and the picture has a dot for every setting shown.
#[test]
fn the_trade_off_shows_every_setting_and_joins_what_nothing_betters() {
    let (scenario, tuned) = searched();
    let own = tuned.iter().filter_map(|(id, tuned)| Some((*id, tuned.as_ref()?)));
    let trades: Vec<TradeOf<'_>> =
        own.map(|(strategy, tuned)| TradeOf { strategy, looked: &tuned.looked, found: Some(0) }).collect();
    let axes = (MeasureId::TimeOnSite, MeasureId::Coverage(SurfaceClass::Wall));
    let front = front_chart(&scenario, &trades, axes, Units::Metric);
    let figures = |k: usize| {
        let tried = &trades[front.points[k].of].looked[front.points[k].setting].tried;
        (tried.figure(axes.0).expect("shown"), tried.figure(axes.1).expect("shown"))
    };
    assert!(front.points.len() > 4, "{}", front.points.len());
    for k in 0..front.points.len() {
        let (time, covered) = figures(k);
        let bettered = (0..front.points.len()).map(figures).any(|(other_time, other)| {
            other_time <= time && other >= covered && (other_time, other) != (time, covered)
        });
        let first = (0..k).all(|earlier| figures(earlier) != figures(k));
        assert_eq!(front.front.contains(&k), !bettered && first, "{k}");
    }
    let drawn: usize = front.chart.clouds.iter().map(|cloud| cloud.points.len()).sum();
    assert_eq!(drawn, front.points.len());
    let filled = front.chart.clouds.iter().filter(|cloud| cloud.dot == CloudDot::Full);
    let meets =
        front.points.iter().filter(|point| trades[point.of].looked[point.setting].tried.meets == Some(true));
    assert_eq!(filled.map(|cloud| cloud.points.len()).sum::<usize>(), meets.count());
    let grey = [128; 3];
    let palette = Palette {
        surface: [255; 3],
        rule: grey,
        ink: [0; 3],
        muted: grey,
        accent: grey,
        good: grey,
        bad: grey,
        strategies: [grey; 8],
    };
    let text = svg(std::slice::from_ref(&front.chart), (900, 560), &palette).expect("written");
    assert_eq!(text.matches("<circle ").count(), drawn);
    assert_eq!(text.matches("class=\"number\"").count(), 2 * front.chart.numbers.len());
}

/// Derived: by hand, of a GSD of two centimetres.
#[test]
fn a_gsd_is_told_as_it_is_keyed_in() {
    let (scenario, tuned) = searched();
    let (_, Some(tuned)) = &tuned[0] else { panic!("it has a GSD") };
    let is_gsd = |free: &&Free| free.knob().unit == Unit::GsdCentimetres;
    let ask = TuneAsk { free: tuned.ask.free.iter().filter(is_gsd).cloned().collect(), ..tuned.ask.clone() };
    assert_eq!(setting_text(&scenario, &ask, &[2.0], Units::Metric), "GSD 2.0 cm");
    assert_eq!(setting_text(&scenario, &ask, &[1.9], Units::Metric), "GSD 1.9 cm");
}

/// Cross-check: against adjusting the block at every setting. Where accuracy is asked for, what is found is the first in the order
/// of time that meets all of it, and its block was adjusted; blocks of settings that miss anything else were not. Asked for more
/// than any has, none is found though all else is met. Without it a cheaper setting would be taken.
#[test]
fn accuracy_is_verified_of_what_meets_all_else() {
    let mut drawn = accuracy_case();
    let strategy = drawn.strategies[0].id;
    let dial = Dial::of_strategy(&drawn, KnobId::GSD, strategy).expect("it has a GSD");
    let values = vec![1.5, 2.0, 2.5, 3.0];
    let free = vec![Free { dial, values: values.clone() }];
    let ask = TuneAsk { strategy, free, objective: MeasureId::TimeOnSite, to_spare: ToSpare::default() };
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let tune = |drawn: &Scenario| evaluator.tune(drawn, &ask, &|_| {}).expect("searched");
    let adjusted = |drawn: &Scenario, value: f64| {
        let mut set = drawn.clone();
        ask.set(&mut set, &[value]).expect("within range");
        let outcome = evaluator.evaluate(&set, strategy, Depth::Network).expect("evaluated");
        (measure(MeasureId::AccuracyVertical).read(&outcome).expect("held"), outcome.meets() == Some(true))
    };
    let without = tune(&drawn);
    let TuneResult::Best(cheapest) = &without.found else { panic!("{:?}", without.found) };
    assert_eq!((cheapest.values[0], without.adjusted()), (3.0, 0), "the coarsest takes least");

    // Between what two neighbours reach: the finer is the coarsest that meets.
    let figures: Vec<f64> = values.iter().map(|value| adjusted(&drawn, *value).0).collect();
    assert!(figures.is_sorted(), "{figures:?}");
    drawn.requirement.accuracy.vertical_m = Some(0.5e-3 * (figures[1] + figures[2]));
    let met: Vec<bool> = values.iter().map(|value| adjusted(&drawn, *value).1).collect();
    assert_eq!(met, [true, true, false, false]);
    let tuned = tune(&drawn);
    let TuneResult::Best(found) = &tuned.found else { panic!("{:?}", tuned.found) };
    assert_eq!((found.values[0], found.tried.depth), (2.0, Depth::Network));
    assert_eq!(tuned.adjusted(), 3, "the two coarser ones, and this");
    assert_eq!(tuned.binds, [MeasureId::AccuracyVertical]);

    drawn.requirement.accuracy.vertical_m = Some(0.5e-3 * figures[0]);
    let tuned = tune(&drawn);
    let TuneResult::Nearest(found) = &tuned.found else { panic!("{:?}", tuned.found) };
    assert_eq!(found.values[0], 1.5, "the finest comes nearest");
    assert_eq!(found.misses.iter().map(|miss| miss.of).collect::<Vec<_>>(), [MeasureId::AccuracyVertical]);

    let deep = TuneAsk { objective: MeasureId::AccuracyVertical, ..ask.clone() };
    let refused = evaluator.tune(&drawn, &deep, &|_| {}).expect_err("too deep").to_string();
    assert!(refused.contains("worked out last"), "{refused}");
}

/// The nadir block of the sample, of which only GSD and coverage of the ground are asked, both easily met.
fn accuracy_case() -> Scenario {
    let mut scenario = sample::scenario();
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(8.0);
    scenario.strategies.truncate(1);
    let by_gsd = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    scenario.strategies[0].passes.iter_mut().for_each(|pass| pass.distance = by_gsd);
    scenario.conditions.height_ceiling_m = 500.0;
    scenario.requirement = Requirement::default();
    scenario.requirement.gsd_cm = ByClass::from_fn(|_| 5.0);
    scenario.requirement.coverage = ByClass::from_fn(|class| (class == SurfaceClass::Ground).then_some(0.5));
    scenario.requirement.time_on_site_min = None;
    scenario
}
