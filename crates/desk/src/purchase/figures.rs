//! Everything that is worked out of a portfolio once its jobs are flown.

use obliquity_exchange::chart::{Chart, swing_chart, yearly_chart};
use obliquity_exchange::{
    MoneyStep, SPREAD_SEED, foremost_text, nearest_turn_text, purchase_sentence, purchase_working,
};
use obliquity_planning::money::{BreakEvenMix, FleetYear, Gain, GainSpread, Portfolio};
use obliquity_planning::purchase::{Flights, Purchase};
use obliquity_planning::{Cancelled, Watch};
use std::sync::Arc;

/// What is known of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetFigures {
    /// Of the kept one, that it is.
    pub sentence: String,
    /// A year with the jobs as they stand.
    pub year: FleetYear,
    /// What it leaves more than the kept one.
    pub gain: Gain,
    /// How sure that is.
    pub spread: GainSpread,
    /// By which factor on all jobs that turns.
    pub mix: BreakEvenMix,
    /// Years until it is paid back, without and with interest.
    pub payback_years: (Option<f64>, Option<f64>),
    /// All years as one sum of today.
    pub net_present_value: f64,
    /// Where nothing turns the answer within its range: what comes nearest.
    pub nearest: Option<String>,
    /// What would turn the answer.
    pub swings: Chart,
    /// How the difference comes about.
    pub working: Vec<MoneyStep>,
}

/// Everything that is worked out of a portfolio.
#[derive(Debug, Clone, PartialEq)]
pub struct PurchaseFigures {
    /// From what.
    pub portfolio: Arc<Portfolio>,
    /// How each aircraft flies each job, and the case.
    pub purchase: Purchase,
    /// One for each fleet.
    pub fleets: Vec<FleetFigures>,
    /// What a year comes to over the number of jobs of each kind.
    pub yearly: Vec<Chart>,
    /// Which fleet leaves most over that number, in words.
    pub foremost_told: Vec<String>,
}

impl PurchaseFigures {
    /// Works everything out; some tenths of a second.
    ///
    /// # Errors
    /// When the watch cancels.
    pub fn new(portfolio: &Arc<Portfolio>, flights: &Flights, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let purchase = flights.purchase(portfolio);
        let case = &purchase.case;
        let total = (case.fleets.len() + case.jobs.len()) as u64;
        let (counts, mut done) = (case.counts(), 0);
        let spreads = case.gain_spreads(&portfolio.unsure, SPREAD_SEED);
        let mut fleets = Vec::new();
        for (fleet, spread) in spreads.into_iter().enumerate() {
            watch.step(done, total)?;
            done += 1;
            let sentence = match fleet {
                0 => "This is what you keep if you change nothing.".to_owned(),
                _ => purchase_sentence(case, fleet),
            };
            let swings = case.swings(fleet, &portfolio.unsure);
            fleets.push(FleetFigures {
                sentence,
                year: case.year(fleet, &counts),
                gain: case.gain(fleet, &counts),
                spread,
                mix: case.break_even_mix(fleet),
                payback_years: case.payback_years(fleet),
                net_present_value: case.net_present_value(fleet),
                nearest: (fleet > 0).then(|| nearest_turn_text(case, fleet, &swings)).flatten(),
                swings: swing_chart(case, fleet, &swings),
                working: purchase_working(case, fleet),
            });
        }
        let (mut yearly, mut foremost_told) = (Vec::new(), Vec::new());
        for job in 0..case.jobs.len() {
            watch.step(done, total)?;
            done += 1;
            yearly.push(yearly_chart(case, job));
            foremost_told.push(foremost_text(case, job));
        }
        Ok(PurchaseFigures { portfolio: Arc::clone(portfolio), purchase, fleets, yearly, foremost_told })
    }

    /// The fleet that leaves most more than the kept one; the first of the others where none does.
    pub fn foremost(&self) -> usize {
        let gain = |fleet: &usize| self.fleets[*fleet].gain.total();
        let others = 1..self.fleets.len();
        others.reduce(|best, other| if gain(&other) > gain(&best) { other } else { best }).unwrap_or(0)
    }

    /// The kind of job that the sentence about a fleet is about, of the kept one that of the foremost; the first where none makes
    /// a difference.
    pub fn deciding_job(&self, fleet: usize) -> usize {
        let of = if fleet == 0 { self.foremost() } else { fleet };
        self.purchase.case.deciding_job(of).unwrap_or(0)
    }
}
