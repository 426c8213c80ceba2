//! At how many jobs an answer turns.

use super::case::FleetCase;
use super::gain::Pair;
use super::job::{FreedHours, WHOLE};
use super::year::{JobChoice, JobYear};

/// Most jobs of a kind that are looked at for a break-even.
pub const MOST_JOBS: u32 = 10_000;

/// A job or a fleet must make a greater difference than this to decide, so that rounding decides nothing.
const NO_DIFFERENCE: f64 = 1e-6;

/// Share within which two differences are one but for rounding.
const SAME: f64 = 1e-9;

/// Greatest factor on all jobs together that is looked at for a break-even.
const MOST_OF_MIX: f64 = 20.0;

/// Steps of that factor; between two of them a change of sign is closed in on.
const MIX_STEPS: u32 = 4000;

/// From how many jobs of a kind a fleet pays.
#[derive(Debug, Clone, PartialEq)]
pub enum BreakEven {
    /// Whatever their number.
    Always,
    /// At no number.
    Never,
    /// Only at more than the days of a year hold.
    BeyondCapacity,
    /// Where the answer turns, in ascending order.
    At(Vec<Turn>),
}

/// Where an answer turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// The first number of jobs at which it is otherwise.
    pub count: u32,
    /// Whether it pays from there on.
    pub pays: bool,
}

/// Between which numbers of jobs of a kind a fleet leaves most of all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Foremost {
    /// The first number of jobs at which it does.
    pub from: u32,
    /// The last one, or the last that was looked at.
    pub to: u32,
    /// Place in [`FleetCase::fleets`].
    pub fleet: usize,
}

/// By which factor on all jobs together a fleet begins or ceases to pay.
#[derive(Debug, Clone, PartialEq)]
pub enum BreakEvenMix {
    /// Whatever it is.
    Always,
    /// At none that was looked at.
    Never,
    /// In ascending order; whether it pays beyond.
    At(Vec<(f64, bool)>),
}

impl FleetCase {
    /// From how many jobs of a kind a fleet pays, the others as they stand: every whole number is tried up to what the days of the
    /// year hold with the fleet that has more room.
    pub fn break_even(&self, fleet: usize, job: usize) -> BreakEven {
        let pair = self.against_kept(fleet);
        let mut counts = self.counts();
        let most = self.most_jobs(&pair, job);
        let mut pays_at = |count: u32| {
            counts[job] = f64::from(count);
            pair.pays(&counts)
        };
        let first = pays_at(0);
        let mut turns = Vec::new();
        let mut before = first;
        for count in 1..=most {
            let pays = pays_at(count);
            if pays != before {
                turns.push(Turn { count, pays });
                before = pays;
            }
        }
        match (turns.is_empty(), first) {
            (false, _) => BreakEven::At(turns),
            (true, true) => BreakEven::Always,
            (true, false) if self.one_more_of(&pair, job) > 0.0 => BreakEven::BeyondCapacity,
            (true, false) => BreakEven::Never,
        }
    }

    /// The kind of job whose number decides most whether a fleet pays: the one of which a job makes the greatest difference
    /// between it and the kept one, averaged over the jobs there are. Nothing where none makes any.
    ///
    /// # Shape
    /// Place in [`FleetCase::jobs`].
    pub fn deciding_job(&self, fleet: usize) -> Option<usize> {
        let (pair, counts) = (self.against_kept(fleet), self.counts());
        let gain = |job: usize, count: f64| {
            let mut counts = counts.clone();
            counts[job] = count;
            pair.gain(&counts).total()
        };
        let difference = |(job, count): (usize, &f64)| {
            let jobs = count.max(1.0);
            (gain(job, jobs) - gain(job, 0.0)).abs() / jobs
        };
        let differences: Vec<f64> = counts.iter().enumerate().map(difference).collect();
        let greatest = differences.iter().copied().fold(0.0, f64::max);
        if greatest <= NO_DIFFERENCE {
            return None;
        }
        // Of those that make the same difference but for rounding, the first by name: no order of the list decides.
        let alike = (0..differences.len()).filter(|job| differences[*job] >= greatest * (1.0 - SAME));
        alike.min_by(|one, other| self.jobs[*one].name.cmp(&self.jobs[*other].name))
    }

    /// The fleet that leaves most over the number of jobs of a kind, the others as they stand: every whole number is tried up to what
    /// the days of the year hold with the fleet that has most room among those whom the job takes days, and up to the number there
    /// is. Of those that leave the same but for rounding it is the first.
    ///
    /// # Shape
    /// In ascending order without gaps, the first from 0 jobs on.
    pub fn foremost_by_jobs(&self, job: usize) -> Vec<Foremost> {
        let pairs: Vec<Pair<'_>> = (1..self.fleets.len()).map(|fleet| self.against_kept(fleet)).collect();
        let mut counts = self.counts();
        let rooms = (0..self.fleets.len()).filter_map(|fleet| self.full_from(fleet, job));
        let most = rooms.map(|jobs| (jobs + WHOLE).floor()).fold(counts[job].ceil(), f64::max);
        let most = most.clamp(0.0, f64::from(MOST_JOBS)) as u32;
        let mut found: Vec<Foremost> = Vec::new();
        for from in 0..=most {
            counts[job] = f64::from(from);
            let (mut fleet, mut gain) = (0, 0.0);
            for (other, pair) in (1..).zip(&pairs) {
                let own = pair.gain(&counts).total();
                if own > gain + NO_DIFFERENCE {
                    (fleet, gain) = (other, own);
                }
            }
            match found.last_mut() {
                Some(last) if last.fleet == fleet => last.to = from,
                _ => found.push(Foremost { from, to: from, fleet }),
            }
        }
        found
    }

    /// What one more job of a kind leaves with a fleet more than with the kept one, as long as there are days.
    ///
    /// # Units
    /// - returns: money
    ///
    /// # References
    /// Derived: the contributions' difference, without wages that are paid anyway.
    pub fn one_more(&self, fleet: usize, job: usize) -> f64 {
        self.one_more_of(&self.against_kept(fleet), job)
    }

    fn one_more_of(&self, pair: &Pair<'_>, job: usize) -> f64 {
        let of = |choice: &Option<JobChoice>| JobYear { choice: *choice, done: 1.0 };
        let (kept, other) = (of(&pair.kept[job]), of(&pair.other[job]));
        let leaves = |year: &JobYear| year.choice.map_or(0.0, |choice| choice.terms.contribution());
        let paid_anyway = match self.firm.freed {
            FreedHours::NotPaid => 0.0,
            FreedHours::SoldAsDays { .. } | FreedHours::Slack => kept.wages_saved_by(&other),
        };
        leaves(&other) - leaves(&kept) - paid_anyway
    }

    /// Jobs of a kind that the days of a year hold beside the others.
    fn most_jobs(&self, pair: &Pair<'_>, job: usize) -> u32 {
        let room = |choices: &[Option<JobChoice>]| match choices[job] {
            None => 0.0,
            Some(_) => {
                room_for(self, choices, job).map_or(f64::from(MOST_JOBS), |jobs| (jobs + WHOLE).floor())
            }
        };
        let most = room(&pair.kept).max(room(&pair.other));
        most.clamp(0.0, f64::from(MOST_JOBS)) as u32
    }

    /// With how many jobs of a kind the days of the year are full, the others as they stand; nothing where a fleet does none of
    /// them, or in no time.
    ///
    /// # Units
    /// - returns: jobs a year, 0 or more
    pub fn full_from(&self, fleet: usize, job: usize) -> Option<f64> {
        room_for(self, &self.choices(fleet), job).map(|jobs| jobs.max(0.0))
    }

    /// By which factor on all jobs together a fleet begins or ceases to pay.
    pub fn break_even_mix(&self, fleet: usize) -> BreakEvenMix {
        let pair = self.against_kept(fleet);
        let counts = self.counts();
        let pays = |factor: f64| {
            let scaled: Vec<f64> = counts.iter().map(|count| count * factor).collect();
            pair.pays(&scaled)
        };
        let at = |step: u32| f64::from(step) * MOST_OF_MIX / f64::from(MIX_STEPS);
        let mut turns = Vec::new();
        let first = pays(0.0);
        let mut before = first;
        for step in 1..=MIX_STEPS {
            let now = pays(at(step));
            if now != before {
                turns.push((closed_in(at(step - 1), at(step), before, &pays), now));
                before = now;
            }
        }
        match (turns.is_empty(), first) {
            (false, _) => BreakEvenMix::At(turns),
            (true, true) => BreakEvenMix::Always,
            (true, false) => BreakEvenMix::Never,
        }
    }
}

/// Jobs of a kind that the days of a year hold beside the others, below 0 where these alone take more; nothing where one takes no
/// time.
fn room_for(case: &FleetCase, choices: &[Option<JobChoice>], job: usize) -> Option<f64> {
    let days = |at: usize| choices[at].map_or(0.0, |choice| choice.terms.days);
    let others: f64 =
        (0..case.jobs.len()).filter(|at| *at != job).map(|at| case.jobs[at].count * days(at)).sum();
    let each = days(job);
    (each > 0.0).then(|| (case.firm.days() - others) / each)
}

/// Where an answer turns between two factors.
fn closed_in(mut low: f64, mut high: f64, at_low: bool, pays: &dyn Fn(f64) -> bool) -> f64 {
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if pays(middle) == at_low {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}
