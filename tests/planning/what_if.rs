//! What would come of other settings: held against evaluating them one by one.

use crate::generate::{Dice, scenario};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    Free, Looked, SampleDensity, SweepPoint, ToSpare, Tried, TuneAsk, TuneNews, TuneResult, meeting_ranges,
    nearer_edges, nearest_miss, sweep_values, with_present,
};
use obliquity_planning::*;
use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

fn evaluator(store: &Store) -> Evaluator<'_> {
    Evaluator { store, watch: &NoWatch }
}

/// A drawn scenario with samples so far apart that every setting is looked at with all of them.
fn small(seed: u64) -> Scenario {
    let mut drawn = scenario(seed);
    let area_m2 = obliquity_planning::polygon::signed_area_m2(&drawn.site.boundary_m).abs();
    Arc::make_mut(&mut drawn.site).sample_spacing_m = Some((area_m2 / 600.0).sqrt());
    drawn
}

/// A few values about the present one, of what a strategy has.
fn free(scenario: &Scenario, strategy: Id, dice: &mut Dice) -> Vec<Free> {
    let ids = [KnobId::GSD, KnobId::HEIGHT, KnobId::SIDELAP, KnobId::TILT];
    let dials = ids.into_iter().filter_map(|id| Dial::of_strategy(scenario, id, strategy));
    let lists = dials.filter_map(|dial| {
        let (least, most) = dial.bounds(scenario);
        let row = dial.knob();
        let present = dial.by_value(scenario)[0].value(scenario)?;
        let step = row.key_step() * f64::from(dice.whole(2, 8));
        let values = (-1..2).map(|k| present + f64::from(k) * step).filter(|v| (least..=most).contains(v));
        Some(Free { values: values.collect(), dial })
    });
    lists.filter(|free| !free.values.is_empty()).collect()
}

fn with(scenario: &Scenario, free: &[Free], values: &[f64]) -> Scenario {
    let mut set = scenario.clone();
    for (free, value) in free.iter().zip(values) {
        free.dial.set(&mut set, *value).expect("within range");
    }
    set
}

/// All combinations of some lists, the last fastest.
fn combinations(free: &[Free]) -> Vec<Vec<f64>> {
    free.iter().fold(vec![Vec::new()], |found, list| {
        let longer = |values: &Vec<f64>| {
            list.values.iter().map(|value| [values.as_slice(), &[*value]].concat()).collect::<Vec<_>>()
        };
        found.iter().flat_map(longer).collect()
    })
}

/// What a line asks with the margin, and whether a figure reaches that; told here once more.
fn lack(line: &Judgement, to_spare: ToSpare) -> f64 {
    let (Judgement::Met { of, value, required } | Judgement::Missed { of, value, required, .. }) = line
    else {
        return 0.0;
    };
    let short = match of {
        MeasureId::Coverage(_) => {
            let asked = required + to_spare.coverage.min((1.0 - required) / 2.0);
            (asked - value) / asked
        }
        MeasureId::GsdP95(_) => value / (required * (1.0 - to_spare.gsd)) - 1.0,
        _ => value / required - 1.0,
    };
    if short > 1e-12 { short } else { 0.0 }
}

/// The values with the least objective of those that meet by the margin, by trying every one; nothing where none does.
fn exhaustive(scenario: &Scenario, ask: &TuneAsk) -> (Option<Vec<f64>>, Option<(usize, f64)>) {
    let store = Store::new(1 << 30);
    let mut best: Option<((f64, f64), Vec<f64>)> = None;
    let mut nearest: Option<(usize, f64)> = None;
    for values in combinations(&ask.free) {
        let set = with(scenario, &ask.free, &values);
        let outcome = evaluator(&store).evaluate(&set, ask.strategy, Depth::Views).expect("evaluated");
        if !outcome.feasible() {
            continue;
        }
        let lacks: Vec<f64> = outcome
            .judgements
            .iter()
            .map(|line| lack(line, ask.to_spare))
            .filter(|lack| *lack > 0.0)
            .collect();
        let near = (lacks.len(), lacks.iter().sum());
        if nearest.is_none_or(|known| near < known) {
            nearest = Some(near);
        }
        let read = |of: MeasureId| measure(of).read(&outcome).expect("is known");
        let rank = (read(ask.objective), read(MeasureId::ImageCount));
        if lacks.is_empty() && best.as_ref().is_none_or(|(known, _)| rank < *known) {
            best = Some((rank, values));
        }
    }
    (best.map(|(_, values)| values), nearest)
}

/// Cross-check: against trying every combination. The best setting is the same to the value; where none meets, what comes
/// nearest misses as few lines by as small a sum. Both happen.
#[test]
fn a_search_finds_what_trying_everything_finds() {
    let (mut met, mut missed) = (0, 0);
    for seed in 0..8 {
        let drawn = small(seed);
        let mut dice = Dice::new(seed);
        let strategy = drawn.strategies[0].id;
        let free = free(&drawn, strategy, &mut dice);
        let objective =
            [MeasureId::TimeOnSite, MeasureId::ImageCount, MeasureId::ImagePairs][seed as usize % 3];
        let ask = TuneAsk { strategy, free, objective, to_spare: ToSpare::default() };
        let store = Store::new(1 << 30);
        let heard = RefCell::new(Vec::new());
        let tuned = evaluator(&store)
            .tune(&drawn, &ask, &|news| match news {
                TuneNews::Foremost(looked) => heard.borrow_mut().push(looked.clone()),
                TuneNews::Count(count) => {
                    assert!(count.seen <= count.looked && count.looked <= count.listed, "{count:?}");
                }
            })
            .expect("searched");
        let (best, nearest) = exhaustive(&drawn, &ask);
        match &tuned.found {
            TuneResult::Best(looked) => {
                assert_eq!(Some(&looked.values), best.as_ref(), "seed {seed}");
                assert_eq!(heard.borrow().last(), Some(looked), "what is found was told");
                assert!(!tuned.binds.is_empty());
                met += 1;
            }
            TuneResult::Nearest(looked) => {
                assert_eq!(best, None, "seed {seed}");
                let last = heard.borrow().last().map(|last| last.misses.len());
                assert_eq!(last, Some(looked.misses.len()), "the last one told comes as near");
                let sum: f64 = looked.tried.judgements.iter().map(|line| lack(line, ask.to_spare)).sum();
                let (count, least) = nearest.expect("some can be flown");
                assert_eq!(looked.misses.len(), count, "seed {seed}");
                assert!((sum - least).abs() <= 1e-9 * least, "seed {seed}: {sum} for {least}");
                missed += 1;
            }
            TuneResult::Nothing(reasons) => {
                assert!(nearest.is_none() && !reasons.is_empty());
            }
        }
        assert_eq!(tuned.looked.len(), tuned.listed, "all was looked at");
        if seed < 2 {
            let again = evaluator(&Store::new(0)).tune(&drawn, &ask, &|_| {}).expect("searched");
            assert_eq!(tuned, again, "equal runs give equal answers");
        }
    }
    assert!(met >= 2 && missed >= 2, "{met} met, {missed} missed");
}

/// Derived: whatever is searched, something is told once 24 settings at most, of 29,791 listed, have coverage worked out; of
/// searches that look at hundreds that is early. What is told first is looked at with all samples, and each one told stands before
/// the one before it: it comes nearer, until one meets, and from then on it takes less.
#[test]
fn something_is_told_early_and_every_next_one_is_better() {
    let (mut long, mut told) = (0, 0);
    for seed in 0..6 {
        let drawn = small(seed);
        let strategy = drawn.strategies[0].id;
        let usual = TuneAsk::usual(&drawn, strategy, MeasureId::TimeOnSite, ToSpare::default());
        let Some(ask) = usual else { continue };
        let news: RefCell<(usize, Vec<(usize, Looked)>)> = RefCell::default();
        let store = Store::new(1 << 28);
        let hear = |heard: TuneNews<'_>| match heard {
            TuneNews::Count(count) => news.borrow_mut().0 = count.seen,
            TuneNews::Foremost(looked) => {
                let seen = news.borrow().0;
                news.borrow_mut().1.push((seen, looked.clone()));
            }
        };
        let tuned = evaluator(&store).tune(&drawn, &ask, &hear).expect("searched");
        let (_, heard) = news.into_inner();
        let Some((seen, first)) = heard.first() else { continue };
        assert_eq!(first.tried.depth, Depth::Views, "seed {seed}");
        assert!(*seen <= 24, "seed {seed}: {seen} with coverage before anything is told");
        long += usize::from(tuned.seen() > 100);
        for pair in heard.windows(2) {
            let [before, after] = [&pair[0].1, &pair[1].1];
            let sum = |looked: &Looked| -> f64 {
                looked.tried.judgements.iter().map(|line| lack(line, ask.to_spare)).sum()
            };
            let misses = (before.misses.len(), after.misses.len());
            let s = |looked: &Looked| looked.tried.figure(MeasureId::TimeOnSite).expect("flown");
            match misses {
                (0, 0) => assert!(s(after) <= s(before), "seed {seed}"),
                (0, _) => panic!("seed {seed}: what meets is followed by what does not"),
                (a, b) if a == b => assert!(sum(after) < sum(before), "seed {seed}"),
                (a, b) => assert!(b < a, "seed {seed}"),
            }
            told += 1;
        }
    }
    assert!(long >= 2 && told >= 5, "{long} long searches, {told} told after the first");
}

/// Derived: a search that is called off ends with the next step that it asks about, wherever it is.
#[test]
fn a_search_is_called_off_wherever_it_is() {
    let drawn = small(1);
    let ask = TuneAsk::usual(&drawn, drawn.strategies[0].id, MeasureId::TimeOnSite, ToSpare::default());
    let ask = ask.expect("it has something to set");
    for steps in [1, 40, 400, 4000] {
        let watch = Until { left: AtomicI64::new(steps) };
        let store = Store::new(1 << 28);
        let stopped = Evaluator { store: &store, watch: &watch }.tune(&drawn, &ask, &|_| {});
        assert_eq!(stopped, Err(Stopped::Cancelled(Cancelled)), "{steps}");
        let more = -watch.left.load(Ordering::SeqCst);
        assert!(more <= 64, "{more} more steps after the call, of work that went on side by side");
    }
}

/// Calls off after some steps.
struct Until {
    left: AtomicI64,
}

impl Watch for Until {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        if self.left.fetch_sub(1, Ordering::SeqCst) > 0 { Ok(()) } else { Err(Cancelled) }
    }
}

/// Cross-check: the same where there are so many samples that settings are first looked at with a ninth of them.
#[test]
fn looking_with_fewer_samples_first_changes_nothing() {
    let mut met = 0;
    for seed in [1, 5, 6] {
        let drawn = scenario(seed);
        let strategy = drawn.strategies[0].id;
        let mut free = free(&drawn, strategy, &mut Dice::new(seed));
        free.truncate(2);
        let ask = TuneAsk { strategy, free, objective: MeasureId::TimeOnSite, to_spare: ToSpare::default() };
        let store = Store::new(1 << 30);
        let tuned = evaluator(&store).tune(&drawn, &ask, &|_| {}).expect("searched");
        let (best, _) = exhaustive(&drawn, &ask);
        if let TuneResult::Best(looked) = &tuned.found {
            assert_eq!(Some(&looked.values), best.as_ref(), "seed {seed}");
            met += 1;
        } else {
            assert_eq!(best, None, "seed {seed}");
        }
    }
    assert!(met > 0);
}

/// Derived: the points of a sweep are what evaluating a scenario with that value gives, figure by figure.
#[test]
fn a_sweep_is_one_evaluation_after_the_other() {
    let ids = [KnobId::GSD, KnobId::SIDELAP, KnobId::TILT, KnobId("conditions.wind.speed_mps")];
    let mut held = 0;
    for seed in 0..6 {
        let drawn = small(seed);
        for dial in ids.into_iter().filter_map(|id| Dial::everywhere(&drawn, id)) {
            let (least, most) = dial.bounds(&drawn);
            let middle = f64::midpoint(least.max(0.3), most.min(3.0));
            let values = sweep_values(&drawn, &dial, (middle, 1.2 * middle), 2).expect("within range");
            for value in values {
                let store = Store::new(1 << 30);
                let point =
                    evaluator(&store).sweep_point(&drawn, &dial, value, Depth::Quick).expect("evaluated");
                let mut set = drawn.clone();
                dial.set(&mut set, value).expect("within range");
                let fresh = Store::new(0);
                let outcomes = evaluator(&fresh).evaluate_all(&set, Depth::Quick).expect("evaluated");
                for (tried, outcome) in point.tried.expect("sound").iter().zip(&outcomes) {
                    for row in MEASURES {
                        assert_eq!(tried.figure(row.id), row.read(outcome), "{} at {value}", row.key);
                    }
                    assert_eq!(tried.meets, outcome.meets());
                    held += 1;
                }
            }
        }
    }
    assert!(held > 60, "{held}");
}

/// Derived: side by side or one after the other, with coverage or without, a sweep gives the same points in the order of its
/// values; and they are what evaluating such a scenario gives, pairs of images and hours included.
#[test]
fn a_sweep_side_by_side_is_the_same() {
    let drawn = small(2);
    let dial = Dial::everywhere(&drawn, KnobId::SIDELAP).expect("strips have one");
    let values = sweep_values(&drawn, &dial, (0.55, 0.75), 4).expect("within range");
    for depth in [Depth::Quick, Depth::Views] {
        let swept = evaluator(&Store::new(1 << 28)).sweep(&drawn, &dial, &values, depth).expect("evaluated");
        assert_eq!(swept.iter().map(|point| point.value).collect::<Vec<_>>(), values);
        for point in swept {
            let store = Store::new(0);
            let alone = evaluator(&store).sweep_point(&drawn, &dial, point.value, depth).expect("evaluated");
            assert_eq!(point, alone);
            let mut set = drawn.clone();
            dial.set(&mut set, point.value).expect("within range");
            let outcomes = evaluator(&store).evaluate_all(&set, depth).expect("evaluated");
            let outcomes: Vec<Tried> = outcomes.iter().map(Tried::of).collect();
            assert_eq!(point.tried, Ok(outcomes));
        }
    }
}

/// Derived: a first look has what rests on no sample as it is and coverage nearly as the sweep has it, and judges nothing; a
/// site with few samples is looked at as it is. Tolerance: with a ninth of 10,000 samples a share moves by its sampling error,
/// at most 1.6 % at one standard deviation, of which six are allowed.
#[test]
fn a_first_look_is_near_and_judges_nothing() {
    let few = small(2);
    let dial = Dial::everywhere(&few, KnobId::SIDELAP).expect("strips have one");
    let store = Store::new(1 << 28);
    let sweep = |drawn: &Scenario| evaluator(&store).sweep(drawn, &dial, &[0.6, 0.7], Depth::Views);
    let look = |drawn: &Scenario| evaluator(&store).first_look(drawn, &dial, &[0.6, 0.7]);
    assert_eq!(look(&few), sweep(&few));

    let mut many = few.clone();
    let site = evaluator(&store).evaluate(&few, few.strategies[0].id, Depth::Views).expect("evaluated").site;
    let site = site.expect("it can be flown");
    let closer = (f64::from(site.sample_count) / 10_000.0).sqrt();
    Arc::make_mut(&mut many.site).sample_spacing_m = Some(site.spacing_m * closer);
    let (full, first) = (sweep(&many).expect("evaluated"), look(&many).expect("evaluated"));
    let mut compared = 0;
    for (full, first) in full.iter().zip(&first) {
        assert_eq!((full.value, first.samples), (first.value, SampleDensity::Fewer));
        let (full, first) = (full.tried.as_ref().expect("sound"), first.tried.as_ref().expect("sound"));
        for (full, first) in full.iter().zip(first) {
            assert_eq!((first.meets, &first.caps, first.strips), (None, &full.caps, full.strips));
            assert_eq!(first.figure(MeasureId::TimeOnSite), full.figure(MeasureId::TimeOnSite));
            for class in SurfaceClass::ALL {
                let coverage = |tried: &Tried| tried.figure(MeasureId::Coverage(class));
                let (Some(full), Some(first)) = (coverage(full), coverage(first)) else { continue };
                assert!((full - first).abs() < 0.1, "{}: {first} for {full}", class.name());
                compared += 1;
            }
        }
    }
    assert!(compared >= 4, "{compared}");
}

/// Derived: by hand.
#[test]
fn sweep_values_are_round_and_refused_out_of_range() {
    let drawn = scenario(3);
    let sidelap = Dial::everywhere(&drawn, KnobId::SIDELAP).expect("strips have one");
    assert_eq!(sweep_values(&drawn, &sidelap, (0.5, 0.8), 4).expect("within"), [0.5, 0.6, 0.7, 0.8]);
    let error = sweep_values(&drawn, &sidelap, (50.0, 80.0), 4).expect_err("per cent");
    assert!(error.to_string().contains("write 0.7 for 70 %"), "{error}");
}

/// Derived: by hand on a made-up row. Between 20 and 30, of which a strategy meets at one only, 25 is looked at; between what
/// is not known, and between neighbours with nothing to key in between, nothing is.
#[test]
fn edges_of_what_meets_are_looked_at_more_nearly() {
    let drawn = small(1);
    let store = Store::new(1 << 30);
    let dial = Dial::everywhere(&drawn, KnobId::SIDELAP).expect("strips have one");
    let quick = evaluator(&store).sweep_point(&drawn, &dial, 0.7, Depth::Quick);
    let row = |meets: &[(f64, Option<bool>)]| -> Vec<SweepPoint> {
        let of = |(value, meets): &(f64, Option<bool>)| {
            let mut tried = quick.as_ref().expect("evaluated").tried.clone().expect("sound");
            tried.truncate(1);
            tried[0].meets = *meets;
            SweepPoint { value: *value, tried: Ok(tried), samples: SampleDensity::AsSet }
        };
        meets.iter().map(of).collect()
    };
    let (yes, no) = (Some(true), Some(false));
    assert_eq!(
        nearer_edges(&row(&[(10.0, no), (20.0, no), (30.0, yes), (40.0, yes)]), &knob(KnobId::TILT)),
        [25.0]
    );
    assert_eq!(
        nearer_edges(&row(&[(0.7, no), (0.75, yes), (0.8, no)]), &knob(KnobId::SIDELAP)),
        [0.73, 0.78]
    );
    assert_eq!(
        nearer_edges(&row(&[(20.0, None), (30.0, yes), (31.0, no)]), &knob(KnobId::TILT)),
        [] as [f64; 0]
    );
}

/// Derived: halved again and again, the edges come to stand a keyable step apart, and every range that is told then meets at
/// both its ends and at neither value a step beyond; values where strategies stand now are among those looked at.
#[test]
fn ranges_are_told_to_the_step_that_can_be_keyed_in() {
    let mut edges = 0;
    for seed in 0..10 {
        let mut drawn = small(seed);
        drawn.strategies.truncate(2);
        let store = Store::new(1 << 30);
        let Some(dial) = Dial::everywhere(&drawn, KnobId::SIDELAP) else { continue };
        let point = |drawn: &Scenario, value: f64| {
            evaluator(&store).sweep_point(drawn, &dial, value, Depth::Views).expect("evaluated")
        };
        let images = |value: f64| -> Vec<Option<f64>> {
            let tried = point(&drawn, value).tried.unwrap_or_default();
            tried.iter().map(|tried| tried.figure(MeasureId::ImageCount)).collect()
        };
        let (few, many) = (images(0.4), images(0.8));
        let grows = few.iter().zip(&many).filter_map(|(few, many)| Some(((*few)?, (*many)?)));
        let Some((few, many)) = grows.max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))) else { continue };
        // Of the images alone it depends whether it is met: between the fewest and the most of what is swept.
        drawn.requirement.coverage = ByClass::from_fn(|_| None);
        drawn.requirement.gsd_cm = ByClass::from_fn(|_| 20.0);
        drawn.requirement.time_on_site_min = None;
        drawn.requirement.images = Some(f64::midpoint(few, many) as u32);
        let step = dial.knob().key_step();
        let values = with_present(&drawn, &dial, sweep_values(&drawn, &dial, (0.4, 0.8), 3).expect("within"));
        for strategy in &drawn.strategies {
            let now = dial.on(&drawn, strategy.id).and_then(|own| own.value(&drawn));
            assert!(now.is_none_or(|now| !(0.4..=0.8).contains(&now) || values.contains(&now)));
        }
        let mut points: Vec<SweepPoint> = values.into_iter().map(|value| point(&drawn, value)).collect();
        loop {
            let nearer = nearer_edges(&points, &dial.knob());
            if nearer.is_empty() {
                break;
            }
            points.extend(nearer.into_iter().map(|value| point(&drawn, value)));
            points.sort_by(|a, b| a.value.total_cmp(&b.value));
        }
        for place in 0..drawn.strategies.len() {
            for (from, to) in meeting_ranges(&points, place) {
                let meets = |value: f64| point(&drawn, value).tried.expect("sound")[place].meets;
                assert_eq!((meets(from), meets(to)), (Some(true), Some(true)));
                for (end, beyond) in [(from, from - step), (to, to + step)] {
                    let ends_here = 0.4 < end && end < 0.8;
                    edges += u32::from(ends_here);
                    let on_grid = (end / step - (end / step).round()).abs() < 1e-9;
                    assert!(!ends_here || !on_grid || meets(beyond) == Some(false), "{seed} {place} {end}");
                }
            }
        }
    }
    assert!(edges > 3, "{edges}");
}

/// Derived: of what meets nowhere the nearest is told, and no other value misses fewer lines, or as many by less.
#[test]
fn what_comes_nearest_misses_least() {
    let mut misses = 0;
    for seed in 0..6 {
        let mut drawn = small(seed);
        drawn.requirement.images = Some(1);
        let store = Store::new(1 << 30);
        let Some(dial) = Dial::everywhere(&drawn, KnobId::SIDELAP) else { continue };
        let point = |value: f64| evaluator(&store).sweep_point(&drawn, &dial, value, Depth::Views);
        let points: Vec<SweepPoint> =
            [0.4, 0.6, 0.8].into_iter().map(|value| point(value).expect("evaluated")).collect();
        for place in 0..drawn.strategies.len() {
            let Some((value, nearest)) = nearest_miss(&points, place) else { continue };
            let flown = points.iter().map(|point| &point.tried.as_ref().expect("sound")[place]);
            for tried in flown.filter(|tried| tried.is_flown()) {
                assert!(nearest.lacks() <= tried.lacks(), "{value} is not nearest");
                misses += 1;
            }
        }
    }
    assert!(misses > 10, "{misses}");
}

/// The whole number before a word, thousands set apart or not.
fn number_before(text: &str, word: &str) -> Option<f64> {
    let before = text[..text.find(word)?].trim_end();
    let number = before.rsplit(' ').next()?;
    number.chars().filter(|c| c.is_ascii_digit() || *c == '.').collect::<String>().parse().ok()
}

/// What stands before each pair of brackets, and the seconds in them with their sign: "1 more battery (+2 min 30 s)".
fn causes_told(text: &str) -> Vec<(String, f64)> {
    let mut told = Vec::new();
    let mut rest = text.split_once(": ").map_or("", |(_, rest)| rest);
    while let Some((what, after)) = rest.split_once(" (") {
        let (length, after) = after.split_once(')').expect("brackets are closed");
        let (sign, length) = match length.strip_prefix('+') {
            Some(length) => (1.0, length),
            None => (-1.0, length.strip_prefix('−').expect("a sign")),
        };
        let parts: Vec<&str> = length.split(' ').collect();
        let seconds = parts.chunks(2).map(|part| match part {
            [number, "min"] => 60.0 * number.parse::<f64>().expect("minutes"),
            [number, "s"] => number.parse::<f64>().expect("seconds"),
            _ => panic!("{length} is no length of time"),
        });
        told.push((what.to_owned(), sign * seconds.sum::<f64>()));
        rest = after.trim_start_matches([',', ' ', '.']);
    }
    told
}

/// Derived: what is in brackets is a part of the two times on site, its count and the speed along strips are theirs, and all
/// brackets add up to the difference.
fn assert_causes(sentence: &str, a: &Outcome, b: &Outcome) {
    let budget = |outcome: &Outcome| outcome.timing.as_ref().expect("flown").time_budget();
    let due = |part: TimePart| budget(b).of(part) as f64 - budget(a).of(part) as f64;
    let told = causes_told(sentence);
    let sum: f64 = told.iter().map(|(_, seconds)| seconds).sum();
    assert_eq!(sum, budget(b).total_s as f64 - budget(a).total_s as f64, "{sentence}");
    let strips = |outcome: &Outcome| outcome.plans().map(|plan| f64::from(plan.layout.strips)).sum::<f64>();
    let sorties = |outcome: &Outcome| outcome.flight().expect("flown").sorties.len() as f64;
    let speed_mps = |outcome: &Outcome| {
        let length_m: f64 = outcome.plans().map(|plan| plan.layout.strips_length_m).sum();
        length_m / outcome.flight().expect("flown").terms.strips_s
    };
    for (what, seconds) in &told {
        let words = [
            ("strip", TimePart::Strips),
            ("turn", TimePart::Turns),
            ("batter", TimePart::Swaps),
            ("control", TimePart::ControlPoints),
            ("set-up", TimePart::SetUp),
            ("pack-up", TimePart::PackUp),
            ("climbs", TimePart::Vertical),
            ("waits", TimePart::Waits),
            ("take-off moves", TimePart::Moves),
        ];
        let words = [("links", TimePart::Links), ("transits", TimePart::Transits)].into_iter().chain(words);
        let Some((word, part)) = words.into_iter().find(|(word, _)| what.contains(word)) else {
            assert!(what.ends_with("the rest") || what.ends_with("many small parts"), "{what}: {sentence}");
            continue;
        };
        assert_eq!(*seconds, due(part), "{what}: {sentence}");
        let count = |word: &str, more: f64| {
            let told = number_before(what, &format!("more {word}"));
            let told = told.or_else(|| Some(-number_before(what, &format!("fewer {word}"))?));
            assert_eq!(told.unwrap_or(0.0), more, "{what}: {sentence}");
        };
        match part {
            TimePart::Strips => count(word, strips(b) - strips(a)),
            TimePart::Swaps => count(word, sorties(b) - sorties(a)),
            _ => {}
        }
        if let Some(percent) = number_before(what, " % of the speed") {
            assert!((percent - 100.0 * speed_mps(b) / speed_mps(a)).abs() <= 0.5 + 1e-9, "{sentence}");
        }
    }
}

/// Derived: what is said of two outcomes is read back and found in their figures: the time to the second with its parts,
/// strips, batteries and images counted, coverage and GSD to the rounding of what is shown, and what meets.
#[test]
fn what_is_said_of_a_difference_is_in_the_figures() {
    let mut clauses = 0;
    for seed in 0..12 {
        let drawn = small(seed);
        let store = Store::new(1 << 30);
        let outcomes = evaluator(&store).evaluate_all(&drawn, Depth::Views).expect("evaluated");
        let pairs = outcomes.iter().flat_map(|a| outcomes.iter().map(move |b| (a, b)));
        for (a, b) in pairs.filter(|(a, b)| a.strategy != b.strategy && a.feasible() && b.feasible()) {
            let total =
                |outcome: &Outcome| outcome.timing.as_ref().expect("flown").time_budget().total_s as f64;
            let images = |outcome: &Outcome| f64::from(outcome.load.as_ref().expect("flown").image_count);
            for sentence in in_words(a, b, GsdUnit::Centimetres) {
                clauses += 1;
                let signed = |word: &str| {
                    let more = number_before(&sentence, &format!("more {word}"));
                    more.or_else(|| Some(-number_before(&sentence, &format!("fewer {word}"))?))
                };
                if sentence.contains(" takes ") && !sentence.starts_with("It ") {
                    let length = sentence.split(" than ").next().expect("a part");
                    let minutes = number_before(length, " min").unwrap_or(0.0);
                    let seconds = number_before(length, " s ").unwrap_or(0.0);
                    let sign = if sentence.contains(" longer than ") { 1.0 } else { -1.0 };
                    if !sentence.contains("as long as") {
                        assert_eq!(sign * (60.0 * minutes + seconds), total(b) - total(a), "{sentence}");
                    }
                    assert_causes(&sentence, a, b);
                } else if sentence.starts_with("It takes ") {
                    assert_eq!(signed("image"), Some(images(b) - images(a)), "{sentence}");
                } else if sentence.starts_with("It ") {
                    let class = SurfaceClass::ALL.into_iter().find(|class| sentence.contains(class.plural()));
                    let class = class.expect("names what it is about");
                    let old = number_before(&sentence, " to ").expect("says from where");
                    let new = number_before(&sentence, " %").expect("says to where");
                    for (shown, outcome) in [(old, a), (new, b)] {
                        let covered = 100.0 * outcome.coverage()[class].expect("is known");
                        assert!((shown - covered).abs() <= 0.5 + 1e-9, "{sentence}: {covered}");
                    }
                    assert_eq!(new > old, sentence.contains("brings"), "{sentence}");
                } else if sentence.starts_with("GSD of ") {
                    let class = SurfaceClass::ALL.into_iter().find(|class| sentence.contains(class.plural()));
                    let gsd =
                        |outcome: &Outcome| 100.0 * outcome.gsd(class.expect("named")).expect("known").p95_m;
                    let new = number_before(&sentence, " instead").expect("a number");
                    assert!((new - gsd(b)).abs() <= 0.05 + 1e-9, "{sentence}");
                    assert_eq!(gsd(b) < gsd(a), sentence.contains("finer"), "{sentence}");
                } else if let Some((meets, misses)) = sentence.split_once(" meets the requirement; ") {
                    let of = |name: &str| if name.starts_with(&a.name) { a.meets() } else { b.meets() };
                    assert_eq!((of(meets), of(misses)), (Some(true), Some(false)), "{sentence}");
                } else {
                    assert!(sentence.contains("come to the same"), "nothing else is said: {sentence}");
                }
            }
        }
    }
    assert!(clauses > 60, "{clauses}");
}

/// Derived: where the requirement is held, each strategy stands at what its own search finds: evaluated anew it meets with the
/// margin, or it is named as out of reach; and equal runs give equal answers.
#[test]
fn each_at_its_best_meets_or_is_out_of_reach() {
    let (mut met, mut out) = (0, 0);
    for seed in 0..4 {
        let mut drawn = small(seed);
        drawn.strategies.truncate(2);
        let lead = drawn.strategies[0].id;
        let store = Store::new(1 << 30);
        let held = evaluator(&store).hold_equal(&drawn, lead, Hold::Requirement).expect("searched");
        for strategy in &held.scenario.strategies {
            let outcome =
                evaluator(&store).evaluate(&held.scenario, strategy.id, Depth::Views).expect("evaluated");
            let to_spare = ToSpare::default();
            let lacks: f64 = outcome.judgements.iter().map(|line| lack(line, to_spare)).sum();
            let is_out = held.out_of_reach.contains(&strategy.id);
            assert_eq!(is_out, !outcome.feasible() || lacks > 0.0, "seed {seed}: {lacks}");
            *if is_out { &mut out } else { &mut met } += 1;
        }
        if seed == 0 {
            let again = evaluator(&Store::new(0)).hold_equal(&drawn, lead, Hold::Requirement);
            assert_eq!(again.expect("searched"), held);
        }
    }
    assert!(met > 0 && out > 0, "{met} met, {out} out of reach");
}
