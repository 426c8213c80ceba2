//! A strategy at its best: of the settings that can be keyed in, the one with the least time, images … that meets the
//! requirement with a margin.

mod search;

use super::grid::{Free, Grid, MOST_SETTINGS, SearchOf};
use super::tried::Tried;
use crate::base::Id;
use crate::evaluate::{Evaluator, Stopped};
use crate::result::{Better, Depth, Judgement, MeasureId, measure};
use crate::scenario::knob::Dial;
use crate::scenario::{EditError, Scenario};
use search::Searching;
use thiserror::Error;

/// What is searched.
#[derive(Debug, Clone, PartialEq)]
pub struct TuneAsk {
    /// The strategy.
    pub strategy: Id,
    /// What may be set, each with its list; the others stay as they are.
    pub free: Vec<Free>,
    /// What is to be least.
    pub objective: MeasureId,
    /// By how much the requirement is to be met.
    pub to_spare: ToSpare,
}

/// By how much a line of the requirement is to be met: an optimum always lies on a limit, and the day is not the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToSpare {
    /// Added to a required coverage, up to half of what is left to 1.
    pub coverage: f64,
    /// By which share a GSD is to be finer than required.
    pub gsd: f64,
}

impl Default for ToSpare {
    /// Common practice, no source: one point of coverage, one per cent of GSD.
    fn default() -> Self {
        ToSpare { coverage: 0.01, gsd: 0.01 }
    }
}

impl ToSpare {
    /// What is asked of a figure with the margin.
    ///
    /// # Units
    /// - `required`, returns: the measure's own
    pub fn asked(&self, of: MeasureId, required: f64) -> f64 {
        match of {
            MeasureId::Coverage(_) => required + self.coverage.min((1.0 - required) / 2.0).max(0.0),
            MeasureId::GsdP95(_) => required * (1.0 - self.gsd),
            _ => required,
        }
    }

    /// The lines that are not met by the margin; nothing where it cannot be flown or a line is not worked out.
    pub(in crate::evaluate) fn misses(&self, tried: &Tried) -> Option<Vec<Miss>> {
        let unknown = tried.judgements.iter().any(|line| matches!(line, Judgement::Unknown { .. }));
        (tried.is_flown() && !unknown).then(|| self.known_misses(tried))
    }

    /// Those of the lines that are worked out.
    pub(super) fn known_misses(&self, tried: &Tried) -> Vec<Miss> {
        let lines = tried.judgements.iter().filter_map(|line| match *line {
            Judgement::Met { of, value, required } | Judgement::Missed { of, value, required, .. } => {
                self.miss(of, value, required)
            }
            Judgement::Unknown { .. } | Judgement::NotJudged { .. } => None,
        });
        lines.collect()
    }

    fn miss(&self, of: MeasureId, value: f64, required: f64) -> Option<Miss> {
        let asked = self.asked(of, required);
        let short = match measure(of).better {
            Better::More => asked - value,
            Better::Less => value - asked,
        };
        (short > 1e-12 * asked.abs()).then_some(Miss { of, value, asked })
    }
}

/// A line of the requirement that is not met by the margin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// Which figure.
    pub of: MeasureId,
    /// What it is.
    pub value: f64,
    /// What is asked of it with the margin.
    pub asked: f64,
}

impl Miss {
    /// How far it is from what is asked, as a share of that.
    fn lack(&self) -> f64 {
        ((self.value - self.asked) / self.asked).abs()
    }
}

/// A setting that was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Looked {
    /// The values of what is free, in its order.
    pub values: Vec<f64>,
    /// What came of it, as deep as it was worked out.
    pub tried: Tried,
    /// What it misses with the margin; empty before that is worked out, and where it cannot be flown.
    pub misses: Vec<Miss>,
}

/// What a search tells while it goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TuneNews<'a> {
    /// A setting that stands before all that were looked at until then: it meets with less of the objective, or none meets yet
    /// and it comes nearer ([`Looked::misses`] says what it misses).
    Foremost(&'a Looked),
    /// How much has been looked at.
    Count(LookedCount),
}

/// How much has been looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LookedCount {
    /// Settings of which anything is known.
    pub looked: usize,
    /// Those of them with coverage worked out.
    pub seen: usize,
    /// All combinations of the lists.
    pub listed: usize,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Tuned {
    /// What was searched.
    pub ask: TuneAsk,
    /// The best setting or the nearest.
    pub found: TuneResult,
    /// What binds: the lines that the settings next to the best one miss which would be better; the line met most narrowly
    /// where there is none.
    pub binds: Vec<MeasureId>,
    /// All settings looked at, in the order of the lists.
    pub looked: Vec<Looked>,
    /// How many combinations the lists have.
    pub listed: usize,
    /// Steps of each list that were looked at first: 1 where every combination was.
    pub strides: Vec<usize>,
}

impl Tuned {
    /// The best setting, or the nearest where none meets; nothing where nothing can be flown.
    pub fn foremost(&self) -> Option<&Looked> {
        match &self.found {
            TuneResult::Best(looked) | TuneResult::Nearest(looked) => Some(looked),
            TuneResult::Nothing(_) => None,
        }
    }

    /// Of the settings looked at, those whose block was adjusted: none where no accuracy is asked for.
    pub fn adjusted(&self) -> usize {
        self.looked.iter().filter(|looked| looked.tried.depth >= Depth::Network).count()
    }

    /// Of the settings looked at, those with coverage worked out.
    pub fn seen(&self) -> usize {
        self.looked.iter().filter(|looked| looked.tried.depth >= Depth::Views).count()
    }
}

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub enum TuneResult {
    /// The least of the objective that meets the requirement.
    Best(Looked),
    /// Nothing meets it; this one misses fewest lines, and of those with as few by the smallest sum of shares.
    Nearest(Looked),
    /// Nothing can be flown; why not, at the present setting or the first.
    Nothing(Vec<String>),
}

/// A search that cannot be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TuneError {
    /// There is nothing to search.
    #[error("nothing is left free; tick at least one setting")]
    NothingFree,
    /// There is too much.
    #[error(
        "{listed} combinations; at most {MOST_SETTINGS}: leave fewer settings free, or list fewer values"
    )]
    TooMany {
        /// Combinations listed.
        listed: usize,
    },
    /// More is better of it: it cannot be what is to be least.
    #[error("{0} is better when it is more; choose a figure that is to be least")]
    NotLeast(&'static str),
    /// It is worked out only of settings that meet all else.
    #[error(
        "{0} is worked out last, of settings that meet all else; choose a figure that is known without it"
    )]
    TooDeep(&'static str),
    /// A value is none of the input's.
    #[error(transparent)]
    Value(#[from] EditError),
}

impl TuneAsk {
    /// A search of what [`Free::usual`] says; nothing where a strategy has nothing to set.
    pub fn usual(
        scenario: &Scenario,
        strategy: Id,
        objective: MeasureId,
        to_spare: ToSpare,
    ) -> Option<TuneAsk> {
        let usual = Free::usual(scenario, strategy).into_iter();
        let free: Vec<Free> =
            usual.filter(|(_, search)| *search == SearchOf::Free).map(|(free, _)| free).collect();
        (!free.is_empty()).then_some(TuneAsk { strategy, free, objective, to_spare })
    }

    /// Sets a scenario to a setting.
    ///
    /// # Units
    /// - `values`: of what is free, in its order, each in its knob's unit
    ///
    /// # Errors
    /// [`EditError`] where a value is none of its input's.
    pub fn set(&self, scenario: &mut Scenario, values: &[f64]) -> Result<(), EditError> {
        self.free.iter().zip(values).try_for_each(|(free, value)| free.dial.set(scenario, *value))
    }

    /// A setting as the inputs to turn, each with its value.
    ///
    /// # Units
    /// - `values`: of what is free, in its order, each in its knob's unit
    pub fn turned(&self, values: &[f64]) -> Vec<(Dial, f64)> {
        self.free.iter().zip(values).map(|(free, value)| (free.dial.clone(), *value)).collect()
    }

    /// Whether a scenario stands at a setting.
    ///
    /// # Units
    /// - `values`: of what is free, in its order, each in its knob's unit
    pub fn stands_at(&self, scenario: &Scenario, values: &[f64]) -> bool {
        self.free.iter().zip(values).all(|(free, value)| free.dial.value(scenario) == Some(*value))
    }

    /// Whether it can be searched.
    fn check(&self, scenario: &Scenario) -> Result<(), TuneError> {
        let grid = Grid { free: &self.free };
        if self.free.is_empty() || grid.len() == 0 {
            return Err(TuneError::NothingFree);
        }
        if grid.len() > MOST_SETTINGS {
            return Err(TuneError::TooMany { listed: grid.len() });
        }
        let row = measure(self.objective);
        if row.better == Better::More {
            return Err(TuneError::NotLeast(row.name));
        }
        if row.depth > Depth::Views {
            return Err(TuneError::TooDeep(row.name));
        }
        for free in &self.free {
            for value in [free.values.first(), free.values.last()].into_iter().flatten() {
                free.dial.set(&mut scenario.clone(), *value)?;
            }
        }
        Ok(())
    }
}

impl Evaluator<'_> {
    /// Searches the listed settings of a strategy for the least objective that meets the requirement by the margin.
    ///
    /// Nothing is halved in on: time and images are staircases. Settings are looked at in ascending order of an objective that is
    /// known without coverage, and the first one that meets is the best of all; where the objective needs coverage, all are
    /// looked at. Of more than some hundred combinations every so-manieth value comes first, and then every value about the
    /// best of those ([`Tuned::strides`]). Before that a few of all prices are scouted, so that something can be told soon.
    ///
    /// Where accuracy is asked for, the block is adjusted of settings that meet all else, and one whose block is not adjusted is
    /// not taken for one that meets: some two dozen blocks at most, since each takes as long as hundreds of settings.
    ///
    /// `told` hears of every setting that stands before all until then, and of how much has been looked at.
    ///
    /// # Errors
    /// [`Stopped::Cancelled`] when the watch says so; [`Stopped::Refused`] when the scenario cannot be evaluated or the search
    /// cannot be made.
    pub fn tune(
        &self,
        scenario: &Scenario,
        ask: &TuneAsk,
        told: &dyn Fn(TuneNews<'_>),
    ) -> Result<Tuned, Stopped> {
        ask.check(scenario).map_err(|error| Stopped::Refused(error.into()))?;
        Searching::new(self, scenario, ask, told).run()
    }
}
