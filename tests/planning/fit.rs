//! Rates fitted to processed jobs that are made up from known ones.

use obliquity_planning::{
    CountedWork, FitError, FittedFactor, ProcessedJob, ProcessingStage, StageRates, fit_rates,
    processing_hours, robust_centre,
};
use rand_distr::{Distribution, StandardNormal, Uniform};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;

/// Unlike what is assumed, in every stage by another factor.
fn known() -> StageRates {
    let factors = [1.7, 0.4, 2.2, 1.3, 0.6, 3.0, 0.8];
    let each = ProcessingStage::ALL.into_iter().zip(factors);
    let assumed = StageRates::default();
    each.fold(assumed, |rates, (stage, factor)| rates.with(stage, assumed.of(stage) * factor))
}

/// What the logs tell of hours.
#[derive(Clone, Copy, PartialEq)]
enum Told {
    Stages,
    Totals,
}

/// Jobs of several sizes, whose hours are those of known rates times errors that are normal in logarithms.
fn log(count: usize, scatter: f64, told: Told, rates: &StageRates, seed: u64) -> Vec<ProcessedJob> {
    let mut random = Pcg64::seed_from_u64(seed);
    let size = Uniform::new(5.0_f64, 9.0).expect("a range");
    let share = Uniform::new(5.0, 25.0).expect("a range");
    let job = |place: usize| {
        let images = size.sample(&mut random).exp().round();
        let pairs = (images * share.sample(&mut random)).round();
        let work = CountedWork {
            images: images as u32,
            gigapixels: images * 0.045,
            image_pairs: pairs as u64,
            surface_gigapoints: images * 0.045 / share.sample(&mut random),
            orthomosaic_gigapixels: 0.0,
        };
        let work = CountedWork { orthomosaic_gigapixels: work.surface_gigapoints, ..work };
        let hours = processing_hours(&work, rates);
        let mut error = || {
            let normal: f64 = StandardNormal.sample(&mut random);
            (scatter * normal).exp()
        };
        let stage_h = ProcessingStage::ALL.map(|stage| Some(hours.of(stage) * error()));
        let total_h = Some(hours.total_h() * error());
        let (stage_h, total_h) = if told == Told::Stages { (stage_h, None) } else { ([None; 7], total_h) };
        ProcessedJob {
            name: format!("job {place}"),
            images: work.images,
            gigapixels: work.gigapixels,
            image_pairs: Some(work.image_pairs),
            giga_cells: work.surface_gigapoints,
            stage_h,
            total_h,
        }
    };
    (1..=count).map(job).collect()
}

fn holds(fitted: &FittedFactor, known: f64) -> bool {
    (fitted.factor / known).ln().abs() <= fitted.within.ln()
}

/// How often the interval of a known rate holds it, over many logs; `spoil` is done to each log first.
fn share_that_holds(count: usize, spoil: impl Fn(&mut [ProcessedJob])) -> f64 {
    let known = known();
    let (mut held, mut told) = (0, 0);
    for seed in 0..400 {
        let mut jobs = log(count, 0.25, Told::Stages, &known, seed);
        spoil(&mut jobs);
        let fitted = fit_rates(&jobs, &StageRates::default()).expect("enough jobs");
        for (stage, own) in ProcessingStage::ALL.into_iter().zip(&fitted.stages) {
            held += u32::from(holds(own.as_ref().expect("told of all"), known.of(stage)));
            told += 1;
        }
    }
    f64::from(held) / f64::from(told)
}

/// Derived: what is said to hold in 95 of 100 logs is counted over 2,800 rates. Their share scatters by half a point; small
/// samples are off by up to two points, since the scale is estimated too.
#[test]
fn intervals_of_rates_hold_as_often_as_they_say() {
    for (count, tolerance) in [(6, 0.025), (8, 0.02), (14, 0.02), (40, 0.02)] {
        let share = share_that_holds(count, |_| ());
        assert!((share - 0.95).abs() < tolerance, "{count} jobs: {share}");
    }
}

/// Derived: the same where one job of each log is absurd, in every stage: a hundred times as long.
#[test]
fn intervals_hold_with_one_absurd_job() {
    for (count, tolerance) in [(6, 0.03), (14, 0.02)] {
        let absurd = |jobs: &mut [ProcessedJob]| jobs[2].stage_h = jobs[2].stage_h.map(|h| Some(h? * 100.0));
        let share = share_that_holds(count, absurd);
        assert!((share - 0.95).abs() < tolerance, "{count} jobs: {share}");
    }
}

/// Derived: however absurd one job is, rates stay within the interval that they have without it, and it is named.
#[test]
fn one_absurd_job_moves_nothing() {
    for seed in 0..50 {
        let jobs = log(14, 0.15, Told::Stages, &known(), seed);
        let without = fit_rates(&jobs[1..], &StageRates::default()).expect("enough jobs");
        for factor in [1e-4, 30.0, 1e6] {
            let mut spoilt = jobs.clone();
            spoilt[0].stage_h = spoilt[0].stage_h.map(|h| Some(h? * factor));
            let with = fit_rates(&spoilt, &StageRates::default()).expect("enough jobs");
            for (own, other) in with.stages.iter().flatten().zip(without.stages.iter().flatten()) {
                let moved = (own.factor / other.factor).ln().abs();
                assert!(moved < other.within.ln(), "{seed}: {moved}");
                assert!(own.left_out.contains(&0), "{seed}");
            }
        }
    }
}

/// Derived: totals alone tell one factor on all rates, and no stage; it is known within its interval as often as that says.
#[test]
fn totals_alone_fit_one_factor() {
    let assumed = StageRates::default();
    let slower = ProcessingStage::ALL
        .into_iter()
        .fold(assumed, |rates, stage| rates.with(stage, assumed.of(stage) * 2.5));
    let (mut held, logs) = (0, 1500);
    for seed in 0..logs {
        let jobs = log(14, 0.2, Told::Totals, &slower, seed);
        let fitted = fit_rates(&jobs, &assumed).expect("enough jobs");
        assert!(!fitted.tells_stages() && fitted.jobs == 14);
        let whole = fitted.whole.expect("totals are told");
        let ratio = fitted.rates.dense_h_per_gigapixel / assumed.dense_h_per_gigapixel;
        assert!((ratio / whole.factor - 1.0).abs() < 1e-12);
        held += u32::from(holds(&whole, 2.5));
    }
    let share = f64::from(held) / logs as f64;
    assert!((share - 0.95).abs() < 0.02, "{share}");
}

/// Derived: a stage that fewer than six jobs tell stays as assumed; a log that tells nothing of six is refused with how
/// many there are; pairs that are not logged tell no rate of matching.
#[test]
fn what_is_told_too_seldom_is_not_fitted() {
    let assumed = StageRates::default();
    let mut jobs = log(9, 0.1, Told::Stages, &known(), 7);
    for job in &mut jobs[5..] {
        job.stage_h[6] = None;
    }
    jobs[3].image_pairs = None;
    let fitted = fit_rates(&jobs, &assumed).expect("enough jobs");
    assert_eq!(fitted.rates.texture_h_per_gigapixel, assumed.texture_h_per_gigapixel);
    assert!(fitted.stages[6].is_none() && fitted.whole.is_none());
    assert_eq!(fitted.stages[1].as_ref().map(|own| own.jobs), Some(8));
    assert_eq!(fit_rates(&jobs[..5], &assumed), Err(FitError::TooFew { least: 6, most: 5 }));
    assert_eq!(fit_rates(&[], &assumed), Err(FitError::TooFew { least: 6, most: 0 }));
}

/// Derived: the middle moves and grows with its numbers, and their order says nothing.
#[test]
fn a_middle_follows_its_numbers() {
    let mut random = Pcg64::seed_from_u64(3);
    let values: Vec<f64> = (0..11).map(|_| StandardNormal.sample(&mut random)).collect();
    let of = robust_centre(&values).expect("enough jobs");
    let turned: Vec<f64> = values.iter().rev().map(|value| 40.0 - 3.0 * value).collect();
    let other = robust_centre(&turned).expect("enough jobs");
    assert!((other.centre - (40.0 - 3.0 * of.centre)).abs() < 1e-9);
    assert!((other.half_width - 3.0 * of.half_width).abs() < 1e-9 && of.next_half_width > of.half_width);
}
