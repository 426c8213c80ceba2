//! The search itself.

use super::{Looked, LookedCount, TuneAsk, TuneNews, TuneResult, Tuned};
use crate::evaluate::stages::Extent;
use crate::evaluate::what_if::fewer_samples::fewer_samples;
use crate::evaluate::what_if::grid::{Grid, Place};
use crate::evaluate::what_if::quiet::Quiet;
use crate::evaluate::what_if::tried::{Tried, by_lack};
use crate::evaluate::{Evaluator, Stopped};
use crate::result::{Depth, Judgement, MeasureId, measure};
use crate::scenario::{EditError, Scenario};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Settings that are looked at side by side.
const SIDE_BY_SIDE: usize = 16;

/// With fewer samples a setting is given up where it misses by more than this: points of coverage, and a share of a GSD.
const SURELY: (f64, f64) = (0.05, 0.10);

/// So many of those that come nearest with fewer samples are looked at with all.
const NEAREST: usize = 8;

/// So many settings are scouted before all others, evenly from cheap to dear.
const SCOUTED: usize = 24;

/// So many of those scouted that come nearest are looked at with all samples until one meets.
const SCOUTED_FULLY: usize = 3;

/// So many settings at most have their block adjusted: it takes as long as hundreds without.
const ADJUSTED: usize = 24;

/// What is known of a setting.
#[derive(Debug, Clone)]
struct Known {
    quick: Tried,
    /// With fewer samples.
    sparse: Option<Tried>,
    full: Option<Tried>,
}

/// How a setting stands among those looked at before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum TuneRank {
    /// It meets, and is better than all of them.
    Best,
    /// It is not.
    Behind,
}

pub(super) struct Searching<'a> {
    evaluator: &'a Evaluator<'a>,
    scenario: &'a Scenario,
    ask: &'a TuneAsk,
    grid: Grid<'a>,
    told: &'a dyn Fn(TuneNews<'_>),
    /// The scenario with fewer samples; nothing where it has few.
    sparse: Option<Scenario>,
    known: BTreeMap<Place, Known>,
    best: Option<(f64, Place)>,
    /// Settings whose blocks were adjusted.
    adjusted: usize,
    /// While none meets: how near the one comes that was told of last.
    nearest_told: Option<(usize, f64)>,
    strides: Vec<usize>,
}

impl<'a> Searching<'a> {
    pub(super) fn new(
        evaluator: &'a Evaluator<'a>,
        scenario: &'a Scenario,
        ask: &'a TuneAsk,
        told: &'a dyn Fn(TuneNews<'_>),
    ) -> Self {
        let grid = Grid { free: &ask.free };
        let strides = grid.strides();
        Searching {
            evaluator,
            scenario,
            ask,
            grid,
            told,
            sparse: None,
            known: BTreeMap::new(),
            best: None,
            adjusted: 0,
            nearest_told: None,
            strides,
        }
    }

    pub(super) fn run(mut self) -> Result<Tuned, Stopped> {
        self.sparse = fewer_samples(self.evaluator, self.scenario)?;
        let first = self.grid.thinned(&self.strides);
        self.look_at(first)?;
        if self.strides.iter().any(|stride| *stride > 1) {
            self.refine()?;
        }
        Ok(self.tuned())
    }

    /// Looks at every value about the best or the nearest setting, until that is the best of its surroundings.
    fn refine(&mut self) -> Result<(), Stopped> {
        let mut middle = self.foremost();
        while let Some(place) = middle {
            let about = self.grid.about(&place, &self.strides);
            self.look_at(about)?;
            let next = self.foremost();
            middle = next.filter(|next| *next != place);
        }
        Ok(())
    }

    /// The best setting; the nearest where none meets.
    fn foremost(&self) -> Option<Place> {
        self.best.as_ref().map(|(_, place)| place.clone()).or_else(|| self.nearest())
    }

    /// Looks at some settings, as deep as it takes.
    fn look_at(&mut self, mut places: Vec<Place>) -> Result<(), Stopped> {
        places.retain(|place| !self.known.contains_key(place));
        self.look_quickly(&places)?;
        let mut rest: Vec<(f64, Place)> = places
            .into_iter()
            .filter(|place| self.may_meet(place))
            .map(|place| (self.objective(&place).unwrap_or(f64::NEG_INFINITY), place))
            .collect();
        rest.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| self.of_equals(&a.1, &b.1)));
        let ordered = measure(self.ask.objective).depth < Depth::Views;
        if ordered && self.best.is_none() && self.nearest_told.is_none() {
            self.scout(&rest)?;
        }
        let count = rest.len();
        for (chunk, several) in rest.chunks(SIDE_BY_SIDE).enumerate() {
            let comes_before = |entry: &&(f64, Place)| !ordered || self.comes_before_best(entry.0, &entry.1);
            let several: Vec<&Place> = several.iter().filter(comes_before).map(|(_, place)| place).collect();
            if several.is_empty() {
                break;
            }
            let progress = (chunk * SIDE_BY_SIDE, count);
            self.look_sparsely(&several, progress)?;
            for place in several {
                if self.is_hopeless(place) {
                    continue;
                }
                self.look_fully(&[place], progress)?;
                if ordered {
                    self.adjust(place, progress)?;
                }
                if self.stands(place) == TuneRank::Best && ordered {
                    break;
                }
            }
        }
        if !ordered {
            self.adjust_in_order()?;
        }
        if self.best.is_none() {
            self.look_at_nearest()?;
        }
        Ok(())
    }

    /// Looks at a few settings from cheap to dear with fewer samples, and at those that come nearest with all, until one meets:
    /// so that something can be told soon.
    fn scout(&mut self, rest: &[(f64, Place)]) -> Result<(), Stopped> {
        let Some(last) = rest.len().checked_sub(1) else { return Ok(()) };
        let count = rest.len().min(SCOUTED);
        let at = |k: usize| (last * k).checked_div(count - 1).unwrap_or(last);
        let mut scouted: Vec<&Place> = (0..count).map(|k| &rest[at(k)].1).collect();
        match self.sparse {
            Some(_) => self.look_sparsely(&scouted, (0, rest.len()))?,
            None => self.look_fully(&scouted, (0, rest.len()))?,
        }
        let nears = |place: &Place| {
            let known = self.known.get(place).and_then(|known| known.full.as_ref().or(known.sparse.as_ref()));
            known.map_or((usize::MAX, 0.0), |tried| self.lacks(tried))
        };
        // Of those as near as each other the cheaper first, as they stand.
        scouted.sort_by(|a, b| by_lack(nears(a), nears(b)));
        for place in scouted.into_iter().take(SCOUTED_FULLY) {
            self.look_fully(&[place], (0, rest.len()))?;
            self.adjust(place, (0, rest.len()))?;
            if self.stands(place) == TuneRank::Best {
                break;
            }
        }
        Ok(())
    }

    fn look_quickly(&mut self, places: &[Place]) -> Result<(), Stopped> {
        let as_set = (self.scenario, Depth::Quick, Extent::Figures);
        for (chunk, several) in places.chunks(SIDE_BY_SIDE).enumerate() {
            let evaluated = self.evaluated(several, as_set, (chunk * SIDE_BY_SIDE, places.len()))?;
            for (place, quick) in several.iter().zip(evaluated) {
                self.known.insert(place.clone(), Known { quick, sparse: None, full: None });
            }
            self.tell_count();
        }
        Ok(())
    }

    fn look_sparsely(&mut self, places: &[&Place], progress: (usize, usize)) -> Result<(), Stopped> {
        let Some(sparse) = &self.sparse else { return Ok(()) };
        let places = self.those_of(places, |known| known.sparse.is_none() && known.full.is_none());
        let evaluated = self.evaluated(&places, (sparse, Depth::Views, Extent::Judgements), progress)?;
        for (place, sparse) in places.iter().zip(evaluated) {
            if let Some(known) = self.known.get_mut(place) {
                known.sparse = Some(sparse);
            }
        }
        Ok(())
    }

    fn look_fully(&mut self, places: &[&Place], progress: (usize, usize)) -> Result<(), Stopped> {
        let places = self.those_of(places, |known| known.full.is_none());
        let evaluated = self.evaluated(&places, (self.scenario, Depth::Views, Extent::Figures), progress)?;
        for (place, full) in places.iter().zip(evaluated) {
            if let Some(known) = self.known.get_mut(place) {
                known.full = Some(full);
            }
        }
        self.tell_count();
        Ok(())
    }

    /// Adjusts the block of a setting that meets all else, where accuracy is asked for; of no more than [`ADJUSTED`] settings.
    fn adjust(&mut self, place: &Place, progress: (usize, usize)) -> Result<(), Stopped> {
        let full = self.known.get(place).and_then(|known| known.full.as_ref());
        let is_left = full.is_some_and(|full| self.is_unverified(full) && self.meets_so_far(full));
        if !is_left || self.adjusted == ADJUSTED {
            return Ok(());
        }
        self.adjusted += 1;
        let whole = (self.scenario, Depth::Network, Extent::Figures);
        let evaluated = self.evaluated(std::slice::from_ref(place), whole, progress)?;
        if let (Some(known), Some(whole)) = (self.known.get_mut(place), evaluated.into_iter().next()) {
            known.full = Some(whole);
        }
        Ok(())
    }

    /// The same of all settings that may be the best, in the order of what is to be least, until one meets.
    fn adjust_in_order(&mut self) -> Result<(), Stopped> {
        let left = self.known.iter().filter(|(_, known)| {
            known.full.as_ref().is_some_and(|full| self.is_unverified(full) && self.meets_so_far(full))
        });
        let mut left: Vec<(f64, Place)> =
            left.filter_map(|(place, _)| Some((self.objective(place)?, place.clone()))).collect();
        left.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| self.of_equals(&a.1, &b.1)));
        let count = left.len();
        for (done, (objective, place)) in left.into_iter().enumerate() {
            if !self.comes_before_best(objective, &place) {
                break;
            }
            self.adjust(&place, (done, count))?;
            self.stands(&place);
        }
        Ok(())
    }

    /// Whether accuracy is asked of it and its block is not adjusted.
    fn is_unverified(&self, tried: &Tried) -> bool {
        self.scenario.requirement.accuracy.is_asked() && tried.is_flown() && tried.depth < Depth::Network
    }

    /// Whether it meets by the margin all that is worked out.
    fn meets_so_far(&self, full: &Tried) -> bool {
        full.is_flown() && self.ask.to_spare.known_misses(full).is_empty()
    }

    /// Of some places those of which this is known.
    fn those_of(&self, places: &[&Place], wanted: impl Fn(&Known) -> bool) -> Vec<Place> {
        let those = places.iter().filter(|place| self.known.get(**place).is_some_and(&wanted));
        those.map(|place| (*place).clone()).collect()
    }

    fn evaluated(
        &self,
        places: &[Place],
        (scenario, depth, extent): (&Scenario, Depth, Extent),
        (done, total): (usize, usize),
    ) -> Result<Vec<Tried>, Stopped> {
        let watch = Quiet { watch: self.evaluator.watch, done: done as u64, total: total.max(1) as u64 };
        let evaluator = Evaluator { store: self.evaluator.store, watch: &watch };
        let (grid, strategy) = (&self.grid, self.ask.strategy);
        let evaluate = |place: &Place| {
            let refused = |error: EditError| Stopped::Refused(error.into());
            let set = grid.set(scenario, place).map_err(refused)?;
            evaluator.try_out(&set, strategy, depth, extent)
        };
        watch.watch.step(watch.done, watch.total)?;
        places.par_iter().map(evaluate).collect()
    }

    fn tell_count(&self) {
        let seen = self.known.values().filter(|known| known.full.is_some()).count();
        let count = LookedCount { looked: self.known.len(), seen, listed: self.grid.len() };
        (self.told)(TuneNews::Count(count));
    }

    /// Whether it can be flown and misses nothing that is known without coverage.
    fn may_meet(&self, place: &Place) -> bool {
        self.known.get(place).is_some_and(|known| {
            let missed = |line: &Judgement| matches!(line, Judgement::Missed { .. });
            known.quick.is_flown() && !known.quick.judgements.iter().any(missed)
        })
    }

    /// Whether it misses by so much with fewer samples that it cannot meet with all.
    fn is_hopeless(&self, place: &Place) -> bool {
        let sparse = self.known.get(place).and_then(|known| known.sparse.as_ref());
        sparse.is_some_and(|tried| {
            self.ask.to_spare.misses(tried).unwrap_or_default().iter().any(|miss| match miss.of {
                MeasureId::Coverage(_) => miss.asked - miss.value > SURELY.0,
                MeasureId::GsdP95(_) => miss.value > miss.asked * (1.0 + SURELY.1),
                _ => false,
            })
        })
    }

    fn objective(&self, place: &Place) -> Option<f64> {
        let known = self.known.get(place)?;
        known.full.as_ref().unwrap_or(&known.quick).figure(self.ask.objective)
    }

    /// Of two with an equal objective: fewer images, then the one listed first.
    fn of_equals(&self, a: &Place, b: &Place) -> Ordering {
        let images = |place: &Place| {
            self.known
                .get(place)
                .and_then(|known| known.quick.figure(MeasureId::ImageCount))
                .unwrap_or(f64::MAX)
        };
        images(a).total_cmp(&images(b)).then_with(|| a.cmp(b))
    }

    /// Whether it meets by the margin and is better than the best so far.
    fn is_better(&self, place: &Place) -> bool {
        let Some(full) = self.known.get(place).and_then(|known| known.full.as_ref()) else { return false };
        let meets = full.is_flown()
            && !self.is_unverified(full)
            && self.ask.to_spare.misses(full).is_some_and(|misses| misses.is_empty());
        let Some(objective) = full.figure(self.ask.objective).filter(|_| meets) else { return false };
        self.comes_before_best(objective, place)
    }

    fn comes_before_best(&self, objective: f64, place: &Place) -> bool {
        self.best.as_ref().is_none_or(|(best, other)| {
            objective.total_cmp(best).then_with(|| self.of_equals(place, other)) == Ordering::Less
        })
    }

    /// How a setting that was looked at with all samples stands among those before it; tells of it where it stands before all.
    fn stands(&mut self, place: &Place) -> TuneRank {
        let Some(looked) = self.looked(place) else { return TuneRank::Behind };
        if self.is_better(place) {
            self.best = self.objective(place).map(|objective| (objective, place.clone()));
            (self.told)(TuneNews::Foremost(&looked));
            return TuneRank::Best;
        }
        let near = self.lacks(&looked.tried);
        let is_nearer = |told: (usize, f64)| by_lack(near, told).is_lt();
        if self.best.is_none() && looked.tried.is_flown() && self.nearest_told.is_none_or(is_nearer) {
            self.nearest_told = Some(near);
            (self.told)(TuneNews::Foremost(&looked));
        }
        TuneRank::Behind
    }

    /// Looks with all samples at those that come nearest with fewer, and at some that miss something without coverage.
    fn look_at_nearest(&mut self) -> Result<(), Stopped> {
        let flown = |(_, known): &(&Place, &Known)| known.quick.is_flown();
        let mut order: Vec<(bool, (usize, f64), Place)> = self
            .known
            .iter()
            .filter(flown)
            .map(|(place, known)| {
                let deepest = known.full.as_ref().or(known.sparse.as_ref());
                (deepest.is_none(), self.lacks(deepest.unwrap_or(&known.quick)), place.clone())
            })
            .collect();
        order.sort_by(|a, b| by_lack(a.1, b.1).then_with(|| a.2.cmp(&b.2)));
        let count = order.len().min(NEAREST);
        for (done, (_, _, place)) in order.into_iter().take(NEAREST).enumerate() {
            self.look_fully(&[&place], (done, count))?;
            self.adjust(&place, (done, count))?;
            self.stands(&place);
        }
        Ok(())
    }

    /// How many lines are missed with the margin, accuracy that is not worked out among them, and by what sum of shares.
    fn lacks(&self, tried: &Tried) -> (usize, f64) {
        let known = self.ask.to_spare.known_misses(tried);
        // One that is not known to be accurate enough stands behind all that miss one line.
        let unverified = if self.is_unverified(tried) { (1, f64::INFINITY) } else { (0, 0.0) };
        known.iter().fold(unverified, |(count, sum), miss| (count + 1, sum + miss.lack()))
    }

    /// Of those with coverage worked out: fewest lines missed, then the smallest sum of shares, then the objective.
    fn nearest(&self) -> Option<Place> {
        let full = self.known.iter().filter_map(|(place, known)| Some((place, known.full.as_ref()?)));
        let flown = full.filter(|(_, tried)| tried.is_flown());
        let nearest = flown.min_by(|(a, tried_a), (b, tried_b)| {
            let objective = |place| self.objective(place).unwrap_or(f64::MAX);
            let nearer = by_lack(self.lacks(tried_a), self.lacks(tried_b));
            nearer.then_with(|| objective(a).total_cmp(&objective(b))).then_with(|| a.cmp(b))
        });
        nearest.map(|(place, _)| place.clone())
    }

    fn looked(&self, place: &Place) -> Option<Looked> {
        let known = self.known.get(place)?;
        let tried = known.full.as_ref().unwrap_or(&known.quick).clone();
        let misses = self.ask.to_spare.misses(&tried).unwrap_or_default();
        Some(Looked { values: self.grid.values(place), tried, misses })
    }

    fn tuned(&self) -> Tuned {
        let best = self.best.as_ref().map(|(_, place)| place);
        let found = match best {
            Some(place) => self.looked(place).map(TuneResult::Best),
            None => self.nearest().and_then(|place| self.looked(&place)).map(TuneResult::Nearest),
        };
        let why_not =
            || self.known.values().next().map(|known| known.quick.reasons.clone()).unwrap_or_default();
        Tuned {
            ask: self.ask.clone(),
            found: found.unwrap_or_else(|| TuneResult::Nothing(why_not())),
            binds: best.map(|place| self.binds(place)).unwrap_or_default(),
            looked: self.known.keys().filter_map(|place| self.looked(place)).collect(),
            listed: self.grid.len(),
            strides: self.strides.clone(),
        }
    }

    /// The lines that better settings beside the best one miss; where there are none, the one met most narrowly.
    fn binds(&self, best: &Place) -> Vec<MeasureId> {
        let objective = self.objective(best).unwrap_or(f64::MAX);
        let beside = |(place, _): &(&Place, &Known)| {
            let apart = place.iter().zip(best).map(|(a, b)| a.abs_diff(*b)).max();
            apart == Some(1) && self.objective(place).is_some_and(|other| other < objective)
        };
        let deepest = |known: &Known| {
            let tried = known.full.as_ref().or(known.sparse.as_ref()).unwrap_or(&known.quick);
            self.ask.to_spare.known_misses(tried)
        };
        let mut counts: BTreeMap<MeasureId, usize> = BTreeMap::new();
        for miss in self.known.iter().filter(beside).flat_map(|(_, known)| deepest(known)) {
            *counts.entry(miss.of).or_default() += 1;
        }
        let most = counts.values().copied().max();
        let often = counts.into_iter().filter(|(_, count)| most.is_some_and(|most| 2 * count > most));
        let often: Vec<MeasureId> = often.map(|(of, _)| of).collect();
        if often.is_empty() { self.narrowest(best).into_iter().collect() } else { often }
    }

    /// The line that the setting meets with least to spare, as a share of what is asked.
    fn narrowest(&self, place: &Place) -> Option<MeasureId> {
        let known = self.known.get(place)?;
        let lines = known.full.as_ref()?.judgements.iter().filter_map(|line| match *line {
            Judgement::Met { of, value, required } => Some((of, (value - required).abs() / required.abs())),
            _ => None,
        });
        lines.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(of, _)| of)
    }
}
