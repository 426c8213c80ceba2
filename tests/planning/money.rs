//! Money: published and textbook figures, a case worked by hand, and what must hold for any case.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::generate;
use obliquity_planning::money::{
    BatteryWear, BreakEven, BreakEvenMix, Firm, Fleet, FleetCase, FleetMember, FreedHours, Holding, JobFacts,
    JobFigures, JobMoney, JobType, Lever, Offer, Running, Turn, Unsure, capital_recovery, job_terms,
    net_present_value, payback_years, sinking_fund,
};
use obliquity_planning::{Depth, Evaluator, Job, NoWatch, Store};
use proptest::prelude::*;

/// Derived: by hand. Two people 2.5 h on site and 1.5 h on the road at 40 take 320; 60 km at 0.5 take 30; four points at 10 take 40;
/// three full sets of 300 over 150 cycles take 6; ten machine hours at 3 and two attended ones at 50 take 130; a fifth of visits
/// made again adds a quarter of 356; sign-off 100. Of 1500 are left 785, over 12.5 ha 62.8 a hectare.
#[test]
fn what_a_job_leaves_is_worked_by_hand() {
    let job = Job {
        price: Some(1500.0),
        crew: 2.0,
        crew_wage_per_h: 40.0,
        road_h: 1.5,
        road_km: 60.0,
        road_per_km: 0.5,
        control_point_price: 10.0,
        battery_set_price: 300.0,
        battery_cycles: 150.0,
        machine_per_h: 3.0,
        attended_wage_per_h: 50.0,
        again_share: 0.2,
        sign_off: 100.0,
        ..Job::default()
    };
    let facts = JobFacts { on_site_h: 2.5, battery_cycles: 3.0, machine_h: 10.0, attended_h: 2.0 };
    let figures = JobFigures::new(&job, facts, 4, 125_000.0).unwrap();
    let terms = figures.terms;
    let parts = [terms.crew, terms.travel, terms.control_survey, terms.battery_wear, terms.processing()];
    assert_eq!(parts, [320.0, 30.0, 40.0, 6.0, 130.0]);
    assert!((terms.again - 89.0).abs() < 1e-9 && terms.sign_off == 100.0);
    assert!((terms.contribution() - 785.0).abs() < 1e-9);
    assert!((figures.contribution_per_ha() - 62.8).abs() < 1e-9);
    let unpriced = Job { price: None, ..job };
    assert_eq!(JobFigures::new(&unpriced, facts, 4, 125_000.0), None);
}

/// Derived: on drawn scenarios what a job leaves of its price is what a firm of the same wages keeps of it, its parts add up, a
/// strategy that cannot be flown has none, and more visits made again leave less.
#[test]
fn a_board_and_a_firm_agree_on_drawn_jobs() {
    let (mut told, mut refused) = (0, 0);
    for seed in 0..12 {
        let scenario = generate::priced(seed);
        let job = &scenario.job;
        let store = Store::new(1 << 26);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        let mut worse = scenario.clone();
        worse.job.again_share = 0.7;
        for strategy in &scenario.strategies {
            let quick = evaluator.evaluate(&scenario, strategy.id, Depth::Quick).unwrap();
            assert_eq!(quick.job, None, "hours of processing are not known yet");
            let outcome = evaluator.evaluate(&scenario, strategy.id, Depth::Views).unwrap();
            let Some(own) = &outcome.job else {
                assert!(!outcome.feasible());
                refused += 1;
                continue;
            };
            let load = outcome.load.as_ref().unwrap();
            let facts = JobFacts {
                on_site_h: outcome.timing.as_ref().unwrap().time.time_on_site_s() / 3600.0,
                battery_cycles: outcome.flight().unwrap().energy_sets(),
                machine_h: load.hours.unwrap().total_h(),
                attended_h: load.attended.total_h(),
            };
            let firm = Firm {
                crew: job.crew,
                crew_wage_per_h: job.crew_wage_per_h,
                attended_wage_per_h: job.attended_wage_per_h,
                machine_per_h: job.machine_per_h,
                road_per_km: job.road_per_km,
                ..firm()
            };
            let points = f64::from(scenario.conditions_of(strategy.id).control_points);
            let money = JobMoney {
                price: job.price.unwrap(),
                road_h: job.road_h,
                road_km: job.road_km,
                control_survey: points * job.control_point_price,
                attended_h: None,
                again_share: job.again_share,
                sign_off: job.sign_off,
            };
            let wear = BatteryWear { set_price: job.battery_set_price, cycles: job.battery_cycles };
            let terms = job_terms(&firm, &money, &facts, &wear, 0.0);
            assert_eq!(own.terms.contribution(), terms.contribution(), "{}", strategy.name);
            let parts = own.terms.crew
                + own.terms.travel
                + own.terms.control_survey
                + own.terms.battery_wear
                + own.terms.processing()
                + own.terms.again
                + own.terms.sign_off;
            assert!((parts - own.terms.costs()).abs() < 1e-9 * parts);
            let more = evaluator.evaluate(&worse, strategy.id, Depth::Views).unwrap();
            assert!(more.job.unwrap().terms.contribution() < own.terms.contribution());
            told += 1;
        }
    }
    assert!(told > 20, "{told} told, {refused} refused");
}

/// Memory: the documented example of a general-purpose finance library for NPV.
#[test]
fn net_present_value_matches_a_documented_example() {
    let npv = net_present_value(0.281, &[-100.0, 39.0, 59.0, 55.0, 20.0]);
    assert!((npv + 0.00847859163845488).abs() < 1e-12); // fifteen digits are given
}

/// Source: the same library's documentation of payments and future values: a loan of 200,000 at 7.5 % over 15 years in
/// months; 100 and 100 a month at 5 % over ten years.
#[test]
fn payments_and_future_values_match_documented_examples() {
    let payment = 200_000.0 * capital_recovery(0.075 / 12.0, 180.0);
    assert!((payment - 1854.0247200054619).abs() < 1e-9);
    let (rate, months) = (0.05_f64 / 12.0, 120.0);
    let grown = 100.0 * (1.0 + rate).powf(months) + 100.0 / sinking_fund(rate, months);
    assert!((grown - 15692.928894335748).abs() < 1e-9);
}

/// Memory: interest tables of engineering-economy textbooks print 0.2638 and 0.1490 for the first two; all recomputed.
#[test]
fn capital_recovery_matches_interest_tables() {
    let rows = [
        (0.10, 5.0, 0.26379748),
        (0.08, 10.0, 0.14902949),
        (0.12, 3.0, 0.41634898),
        (0.05, 20.0, 0.08024259),
    ];
    for (rate, years, factor) in rows {
        assert!((capital_recovery(rate, years) - factor).abs() < 1e-8, "{rate} {years}");
    }
}

/// Derived: NPV, simple and discounted payback of 12,000 for four times 4,500 at 8 %.
#[test]
fn paybacks_match_a_worked_case() {
    let flows = [-12_000.0, 4500.0, 4500.0, 4500.0, 4500.0];
    assert!((net_present_value(0.08, &flows) - 2904.570780).abs() < 1e-6);
    assert!((payback_years(0.0, &flows).unwrap() - 2.666667).abs() < 1e-6);
    assert!((payback_years(0.08, &flows).unwrap() - 3.121859).abs() < 1e-6);
    assert_eq!(payback_years(0.5, &flows), None);
    assert_eq!(payback_years(0.0, &[0.0, 1.0]), Some(0.0));
    // paid back in the first year, and lost again in the second
    assert_eq!(payback_years(0.0, &[-1.0, 2.0, -3.0, 1.0]), None);
}

fn firm() -> Firm {
    Firm {
        currency: "crowns".into(),
        crew: 2.0,
        crew_wage_per_h: 30.0,
        attended_wage_per_h: 40.0,
        machine_per_h: 2.0,
        road_per_km: 0.5,
        flying_days: 200.0,
        weather_share: 0.5,
        hours_a_day: 8.0,
        interest: 0.0,
        freed: FreedHours::NotPaid,
    }
}

fn running() -> Running {
    Running { a_year: 500.0, losses: 0.1, deductible: 1000.0 }
}

fn member(name: &str, holding: Holding, hours: &[Option<f64>]) -> FleetMember {
    let offer = |hours: &Option<f64>| match hours {
        Some(on_site_h) => Offer::Flown(JobFacts {
            on_site_h: *on_site_h,
            battery_cycles: 2.0,
            machine_h: 5.0,
            attended_h: 3.0,
        }),
        None => Offer::Closed,
    };
    FleetMember {
        name: name.into(),
        holding,
        wear: BatteryWear { set_price: 400.0, cycles: 200.0 },
        offers: hours.iter().map(offer).collect(),
    }
}

fn kept(hours: &[Option<f64>]) -> Fleet {
    let holding = Holding::Kept { resale_today: 2000.0, resale: 400.0, years: 4.0, running: running() };
    Fleet { name: "Keep".into(), members: vec![member("old", holding, hours)] }
}

fn bought(price: f64, hours: &[Option<f64>]) -> Fleet {
    let holding =
        Holding::Bought { price, one_off: 0.0, resale: price / 4.0, years: 4.0, running: running() };
    Fleet { name: "Replace".into(), members: vec![member("new", holding, hours)] }
}

fn job(name: &str, count: f64, price: f64) -> JobType {
    let money = JobMoney {
        price,
        road_h: 1.0,
        road_km: 40.0,
        control_survey: 0.0,
        attended_h: Some(1.0),
        again_share: 0.0,
        sign_off: 0.0,
    };
    JobType { name: name.into(), count, money }
}

/// Estates that both fly, viaducts that only the new one flies.
fn viaducts(count: f64) -> FleetCase {
    FleetCase {
        firm: firm(),
        jobs: vec![job("Estate", 40.0, 600.0), job("Viaduct", count, 900.0)],
        fleets: vec![kept(&[Some(3.0), None]), bought(12_000.0, &[Some(2.0), Some(4.0)])],
        study_years: 4,
    }
}

/// Derived: by hand, without interest. Own cost a year: the old one 1,000, of (2,000 − 400) / 4, 500 and 100; the new one 2,850,
/// of (12,000 − 3,000) / 4 and 600. An estate takes an hour of two people less: 60. A viaduct leaves 900 − crew 2 × 5 × 30 −
/// road 20 − batteries 4 − machine 10 − desk 40 = 526. So the gain is 40 × 60 − 1,850 and 526 for each viaduct: at none it is
/// 550; with wages that are paid anyway it turns at the fourth viaduct.
#[test]
fn a_purchase_comes_out_as_worked_by_hand() {
    let mut case = viaducts(8.0);
    let gain = case.gain(1, &case.counts());
    assert!((gain.contribution - (2400.0 + 8.0 * 526.0)).abs() < 1e-9);
    assert!((gain.own_cost - 1850.0).abs() < 1e-9);
    assert!((gain.total() - 4758.0).abs() < 1e-9);
    assert_eq!(case.break_even(1, 1), BreakEven::Always);
    case.firm.freed = FreedHours::Slack;
    let gain = case.gain(1, &case.counts());
    assert!((gain.paid_anyway - 2400.0).abs() < 1e-9);
    assert!((gain.total() - (8.0 * 526.0 - 1850.0)).abs() < 1e-9);
    assert_eq!(case.break_even(1, 1), BreakEven::At(vec![Turn { count: 4, pays: true }]));
    // an estate of 4 hours is two a day, of 3 hours two a day as well: nothing is freed to be sold
    assert_eq!(gain.freed_days, 0.0);
    // flows: 12,000 − 2,000 today; 40 × 0 + 8 × 526 a year; 3,000 − 400 at the end
    let flows = case.flows(1);
    assert!((flows[0] + 10_000.0).abs() < 1e-9);
    assert!((flows[1] - 4208.0).abs() < 1e-9);
    assert!((flows[4] - 6808.0).abs() < 1e-9);
    let (simple, discounted) = case.payback_years(1);
    assert!((simple.unwrap() - 10_000.0 / 4208.0).abs() < 1e-9);
    assert_eq!(simple, discounted); // without interest
}

/// Derived: eight-hour days; 3 h and an hour of road are two visits a day, 1.5 h and the road are three.
#[test]
fn saved_minutes_make_one_more_visit_a_day_or_nothing() {
    let firm = firm();
    assert_eq!(firm.days_of_visit(4.0), 0.5);
    assert_eq!(firm.days_of_visit(2.7), 0.5);
    assert!((firm.days_of_visit(2.5) - 1.0 / 3.0).abs() < 1e-15);
    assert_eq!(firm.days_of_visit(8.0), 1.0);
    assert_eq!(firm.days_of_visit(8.5), 2.0);
    let mut case = viaducts(0.0);
    case.firm.freed = FreedHours::SoldAsDays { share: 0.5, day_value: 700.0 };
    case.fleets[1].members[0].offers[0] =
        Offer::Flown(JobFacts { on_site_h: 1.5, battery_cycles: 2.0, machine_h: 5.0, attended_h: 3.0 });
    // 40 estates: 20 days before, 13 1/3 after: six whole ones, half of them sold
    let gain = case.gain(1, &case.counts());
    assert_eq!(gain.freed_days, 6.0);
    assert!((gain.sold - 0.5 * 6.0 * 700.0).abs() < 1e-9);
}

/// Derived: 100 days hold 200 estates at two a day; what leaves most for each day goes first.
#[test]
fn a_year_holds_no_more_days_than_it_has() {
    let mut case = viaducts(150.0);
    case.jobs[0].count = 300.0;
    let year = case.year(1, &case.counts());
    // an estate leaves 600 − 180 − 20 − 4 − 10 − 40 = 346, two a day; a viaduct 526, one a day
    assert_eq!(year.jobs[0].done, 200.0);
    assert_eq!(year.jobs[1].done, 0.0);
    assert_eq!(year.days, 100.0);
    assert_eq!(case.break_even(1, 1), BreakEven::Always); // no day is left for a viaduct, the estates alone pay
}

/// Derived: what stands at the edges of the arithmetic is said in words, never as NaN.
#[test]
fn edges_have_words() {
    let mut case = viaducts(8.0);
    case.fleets.push(case.fleets[0].clone());
    assert_eq!(case.gain(2, &case.counts()).total(), 0.0); // an equal fleet
    assert_eq!(case.break_even(2, 0), BreakEven::Always);
    case.fleets[1].members[0].offers[1] = Offer::Closed;
    case.firm.freed = FreedHours::Slack;
    assert_eq!(case.break_even(1, 1), BreakEven::Never); // closed for both, and saved hours bring nothing
    assert_eq!(case.break_even_mix(1), BreakEvenMix::Never);
    assert_eq!(case.payback_years(1), (None, None));
    case.jobs.iter_mut().for_each(|job| job.count = 0.0);
    let gain = case.gain(1, &case.counts());
    assert_eq!((gain.contribution, gain.total()), (0.0, -1850.0)); // no jobs: only what it costs to have
    // it fetches more in the end than it costs
    case.fleets[1].members[0].holding = Holding::Bought {
        price: 100.0,
        one_off: 0.0,
        resale: 5000.0,
        years: 4.0,
        running: Running::default(),
    };
    assert!(case.gain(1, &case.counts()).total() > 0.0);
    assert_eq!(case.payback_years(1).0, Some(0.0)); // the old one's resale covers it at once
    let mut dear = viaducts(8.0);
    dear.firm.freed = FreedHours::Slack;
    dear.fleets[1] = bought(500_000.0, &[Some(2.0), Some(4.0)]);
    assert_eq!(dear.break_even(1, 1), BreakEven::BeyondCapacity);
}

/// Derived: by hand, an estate makes 60 more with the new aircraft and a viaduct 526, be there one or none of them; where only the
/// estates' wages are saved they decide, and nothing does where those are paid anyway.
#[test]
fn what_a_job_makes_more_decides() {
    let mut case = viaducts(8.0);
    assert_eq!(case.deciding_job(1), Some(1));
    case.jobs[1].count = 0.0;
    assert_eq!(case.deciding_job(1), Some(1));
    case.jobs[1].count = 1.0; // one viaduct makes less than forty estates, a job of them still more
    assert_eq!(case.deciding_job(1), Some(1));
    case.fleets[1].members[0].offers[1] = Offer::Closed;
    assert_eq!(case.deciding_job(1), Some(0));
    case.firm.freed = FreedHours::Slack;
    assert_eq!(case.deciding_job(1), None);
    case.fleets[1] = case.fleets[0].clone();
    assert_eq!(case.deciding_job(1), None);
}

/// Derived: what a subcontractor does takes no day; what is hired by the day costs by the day.
#[test]
fn what_is_hired_costs_by_the_day_and_what_is_bought_in_takes_none() {
    let mut case = viaducts(8.0);
    case.fleets[1] = kept(&[Some(3.0), None]);
    let mut hired = member("hired", Holding::Hired { a_day: 150.0 }, &[None, Some(4.0)]);
    case.fleets[1].members.push(hired.clone());
    let gain = case.gain(1, &case.counts());
    assert!((gain.total() - 8.0 * (526.0 - 150.0)).abs() < 1e-9); // one viaduct a day
    // two of an hour less fit into a day, and each leaves 60 more of wages, but hire is for whole days
    let shorter = member("hired", Holding::Hired { a_day: 150.0 }, &[None, Some(3.0)]);
    case.fleets[1].members[1] = shorter;
    let gain = case.gain(1, &case.counts());
    assert!((gain.total() - 8.0 * (586.0 - 150.0)).abs() < 1e-9);
    assert_eq!(case.year(1, &case.counts()).days, 24.0); // 20 of estates, 8 halves
    hired.holding = Holding::Subcontracted;
    hired.offers[1] = Offer::BoughtIn { price: 800.0 };
    case.fleets[1].members[1] = hired;
    let gain = case.gain(1, &case.counts());
    assert!((gain.total() - 8.0 * 100.0).abs() < 1e-9);
    assert_eq!(case.year(1, &case.counts()).days, 20.0); // the estates'
}

/// Derived: the place at which the answer turns is the break-even's, and unsure numbers that are sure leave no spread.
#[test]
fn switching_values_and_spreads_agree_with_the_case() {
    let mut case = viaducts(8.0);
    case.firm.freed = FreedHours::Slack;
    case.firm.interest = 0.06;
    let unsure = [
        Unsure { lever: Lever::Count("Viaduct".into()), p10: 4.0, p90: 12.0 },
        Unsure { lever: Lever::AircraftPrice("new".into()), p10: 11_000.0, p90: 14_000.0 },
        Unsure { lever: Lever::SiteTime, p10: 0.9, p90: 1.3 },
    ];
    let swings = case.swings(1, &unsure);
    let count = swings.iter().find(|swing| swing.lever == Lever::Count("Viaduct".into())).unwrap();
    let BreakEven::At(turns) = case.break_even(1, 1) else { panic!("it turns") };
    assert_eq!(count.turns.below, Some(f64::from(turns[0].count) - 1.0));
    assert_eq!(count.turns.above, None);
    let price = swings.iter().find(|swing| matches!(swing.lever, Lever::AircraftPrice(_))).unwrap();
    let turns_at = price.turns.above.unwrap();
    let mut at = case.clone();
    Lever::AircraftPrice("new".into()).set(&mut at, turns_at);
    assert!(at.gain(1, &at.counts()).total().abs() < 1e-6);
    assert!(swings.windows(2).all(|pair| pair[0].width() >= pair[1].width()));
    let spreads = case.gain_spreads(&unsure, 1);
    assert_eq!((spreads[0].p10, spreads[0].p90), (0.0, 0.0)); // the kept one against itself
    let gain = case.gain(1, &case.counts()).total();
    assert!(spreads[1].p10 < gain && gain < spreads[1].p90);
    let sure: Vec<Unsure> = unsure
        .iter()
        .map(|of| {
            let value = of.lever.value(&case).unwrap();
            Unsure { lever: of.lever.clone(), p10: value, p90: value }
        })
        .collect();
    let spreads = case.gain_spreads(&sure, 1);
    assert!((spreads[1].p10 - gain).abs() < 1e-9 && (spreads[1].p90 - gain).abs() < 1e-9);
}

prop_compose! {
    fn any_case()(
        counts in prop::array::uniform2(0_u32..120),
        hours in prop::array::uniform4(prop::option::weighted(0.8, 0.3..9.0)),
        prices in prop::array::uniform2(0.0..3000.0),
        price in 0.0..60_000.0,
        resale in 0.0..20_000.0,
        years in prop::array::uniform2(1_u32..8),
        interest in prop_oneof![Just(0.0), 0.0..0.2],
        again in 0.0..0.5,
        freed in prop_oneof![
            Just(FreedHours::NotPaid),
            Just(FreedHours::Slack),
            (0.0..1.0, 0.0..2000.0).prop_map(|(share, day_value)| FreedHours::SoldAsDays { share, day_value }),
        ],
        flying_days in 1.0..250.0,
    ) -> FleetCase {
        let mut jobs = vec![
            job("One", f64::from(counts[0]), prices[0]),
            job("Two", f64::from(counts[1]), prices[1]),
        ];
        jobs[0].money.again_share = again;
        let holding = Holding::Kept { resale_today: 2000.0, resale: 400.0, years: f64::from(years[0]), running: running() };
        let old = Fleet { name: "Keep".into(), members: vec![member("old", holding, &hours[..2])] };
        let holding =
            Holding::Bought { price, one_off: 700.0, resale, years: f64::from(years[1]), running: running() };
        let new = Fleet { name: "Replace".into(), members: vec![member("new", holding, &hours[2..])] };
        let mut beside = old.clone();
        beside.members.extend(new.members.clone());
        let firm = Firm { freed, interest, flying_days, ..firm() };
        FleetCase { firm, jobs, fleets: vec![old, new, beside], study_years: 840 }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Derived: yearly sums over a study that holds every life a whole number of times (840 years) are the equal yearly costs.
    #[test]
    fn flows_and_equal_yearly_costs_tell_the_same(mut case in any_case()) {
        prop_assume!(case.firm.interest > 0.01);
        case.study_years = 840;
        let gain = case.gain(1, &case.counts()).total();
        prop_assert!((case.equal_yearly(1) - gain).abs() < 1e-6 * (1.0 + gain.abs()));
    }

    /// Derived: an aircraft beside the others closes no job, does none worse, and no figure is none.
    #[test]
    fn one_aircraft_more_opens_and_never_closes(case in any_case()) {
        let counts = case.counts();
        for fleet in 0..3 {
            let year = case.year(fleet, &counts);
            prop_assert!(year.days <= case.firm.days() + 1e-9);
            prop_assert!(year.result().is_finite());
            prop_assert!(year.jobs.iter().zip(&counts).all(|(job, count)| job.done <= *count));
            prop_assert!(case.gain(fleet, &counts).total().is_finite());
        }
        let leaves = |fleet: usize| -> Vec<f64> {
            let choices = case.choices(fleet).into_iter();
            choices.map(|choice| choice.map_or(f64::NEG_INFINITY, |choice| choice.terms.contribution())).collect()
        };
        for ((beside, old), new) in leaves(2).into_iter().zip(leaves(0)).zip(leaves(1)) {
            prop_assert_eq!(beside, old.max(new));
        }
    }

    /// Derived: without sold days, paid wages and scarce days a gain is a straight line in the number of jobs, which turns at
    /// n − ΔN / Δm.
    #[test]
    fn break_even_is_the_closed_form_where_nothing_kinks(mut case in any_case()) {
        case.firm.freed = FreedHours::NotPaid;
        case.firm.flying_days = 1e9;
        let counts = case.counts();
        let at = |count: f64| case.gain(1, &[counts[0], count]).total();
        let slope = at(1.0) - at(0.0);
        prop_assume!(slope.abs() > 0.01);
        let zero = counts[1] - at(counts[1]) / slope;
        match case.break_even(1, 1) {
            BreakEven::At(turns) => {
                prop_assert_eq!(turns.len(), 1);
                prop_assert_eq!(turns[0].pays, slope > 0.0);
                let turn = f64::from(turns[0].count);
                prop_assert!(turn - 1.0 < zero + 1e-6 && zero < turn + 1e-6, "{} {}", turn, zero);
            }
            BreakEven::Always => prop_assert!(at(0.0) >= 0.0 && at(10_000.0) >= 0.0),
            BreakEven::Never | BreakEven::BeyondCapacity => prop_assert!(at(0.0) < 0.0 && at(10_000.0) < 0.0),
        }
        let first = case.gain(1, &[1.0, counts[1]]).total() - case.gain(1, &[0.0, counts[1]]).total();
        prop_assume!((first.abs() - slope.abs()).abs() > 1e-3);
        prop_assert_eq!(case.deciding_job(1), Some(usize::from(slope.abs() > first.abs())));
    }

    /// Derived: at every number of jobs the fleet that is told leaves most of all, be that none more than the kept one.
    #[test]
    fn the_foremost_fleet_leaves_most_at_every_number(case in any_case()) {
        let found = case.foremost_by_jobs(1);
        prop_assert_eq!(found[0].from, 0);
        prop_assert!(found.windows(2).all(|two| two[0].to + 1 == two[1].from && two[0].fleet != two[1].fleet));
        let counts = case.counts();
        let last = found[found.len() - 1].to;
        prop_assert!(f64::from(last) >= counts[1]);
        for count in (0..=last.min(60)).chain([last.saturating_sub(1), last]) {
            let of = found.iter().rfind(|own| own.from <= count).unwrap();
            let gains: Vec<f64> =
                (0..3).map(|fleet| case.gain(fleet, &[counts[0], f64::from(count)]).total()).collect();
            let most = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(gains[of.fleet] >= most - 1e-5, "{} jobs: {} of {:?}", count, of.fleet, gains);
        }
    }

    /// Derived: kinds of job are only listed in an order.
    #[test]
    fn the_order_of_the_jobs_changes_nothing(case in any_case()) {
        let mut turned = case.clone();
        turned.jobs.reverse();
        turned.fleets.iter_mut().flat_map(|fleet| &mut fleet.members).for_each(|member| member.offers.reverse());
        let gain = case.gain(1, &case.counts()).total();
        let other = turned.gain(1, &turned.counts()).total();
        prop_assert!((gain - other).abs() < 1e-9 * (1.0 + gain.abs()));
        prop_assert_eq!(case.break_even(1, 0), turned.break_even(1, 1));
        let decides = |case: &FleetCase| case.deciding_job(1).map(|job| case.jobs[job].name.clone());
        prop_assert_eq!(decides(&case), decides(&turned));
    }

    /// Derived: a job's parts and its contribution add up, and a second visit costs what the first does.
    #[test]
    fn parts_of_a_job_add_up(on_site_h in 0.1..20.0, again in 0.0..0.8, price in 0.0..5000.0) {
        let mut money = job("One", 1.0, price).money;
        let facts = JobFacts { on_site_h, battery_cycles: 3.0, machine_h: 4.0, attended_h: 3.0 };
        let wear = BatteryWear { set_price: 400.0, cycles: 200.0 };
        let once = job_terms(&firm(), &money, &facts, &wear, 0.0);
        money.again_share = again;
        let more = job_terms(&firm(), &money, &facts, &wear, 0.0);
        let visit = once.crew + once.travel + once.battery_wear;
        prop_assert!((more.costs() - once.costs() - again / (1.0 - again) * visit).abs() < 1e-6);
        prop_assert!((more.contribution() + more.costs() - price).abs() < 1e-9);
        prop_assert!((more.days - once.days / (1.0 - again)).abs() < 1e-9);
    }
}
