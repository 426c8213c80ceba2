//! The figures of a session: what is known of each strategy, and from which scenario.

use crate::engine::Failure;
use obliquity_planning::{
    Bands, Caution, Depth, Id, Job, Measure, Outcome, Scenario, Site, Strategy, SurfaceClass,
};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Whether what is shown belongs to the scenario as it stands; the least is the best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Freshness {
    /// It does.
    Fresh,
    /// It belongs to an earlier one; the new one is being worked out.
    Stale,
    /// There is nothing yet.
    Pending,
}

/// What is known of one strategy.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Route, time, count. Or why there is none.
    pub quick: Result<&'a Outcome, &'a str>,
    /// Whether `quick` belongs to the scenario as it stands: never pending.
    pub quick_freshness: Freshness,
    /// What `quick` was worked out from.
    pub quick_from: &'a Arc<Scenario>,
    /// The last outcome with coverage, if there is one; of what cannot be flown, the outcome that says why.
    pub views: Option<&'a Outcome>,
    /// Whether `views` (or `failure`) belongs to the scenario as it stands.
    pub freshness: Freshness,
    /// Why the last attempt gave no coverage.
    pub failure: Option<&'a str>,
    /// The last outcome that says how sure time and energy are, if there is one.
    pub spread: Option<&'a Outcome>,
    /// Whether `spread` belongs to the scenario as it stands.
    pub spread_freshness: Freshness,
    /// The last outcome that tells what the images give when they are adjusted together, a preview too, or why there is none;
    /// nothing before the first.
    pub block: Option<Result<&'a Arc<Outcome>, &'a str>>,
    /// Whether `block` belongs to the scenario as it stands.
    pub block_freshness: Freshness,
    /// The same of the last that is no preview, by which accuracy is judged.
    pub whole: Option<Result<&'a Arc<Outcome>, &'a str>>,
    /// Whether `whole` belongs to the scenario as it stands.
    pub whole_freshness: Freshness,
}

impl<'a> Known<'a> {
    /// The outcome that a figure is read from, and whether it belongs to the scenario as it stands: of what follows the sliders
    /// the one without coverage.
    pub fn read_from(self, measure: &Measure) -> (Option<&'a Outcome>, Freshness) {
        match measure.depth {
            Depth::Quick | Depth::Spread => (self.quick.ok(), self.quick_freshness),
            Depth::Views => (self.views, self.freshness),
            Depth::Preview | Depth::Network => {
                (self.block.and_then(Result::ok).map(Arc::as_ref), self.block_freshness)
            }
        }
    }

    /// How sure time and energy are, if that is known.
    pub fn bands(self) -> Option<&'a Bands> {
        self.spread?.bands()
    }

    /// The outcome without coverage that knows most of the scenario as it stands: how sure time and energy are too, where
    /// that has come.
    ///
    /// # Errors
    /// Why there is none.
    pub fn surest(self) -> Result<&'a Outcome, &'a str> {
        let fresh = self.spread.filter(|_| self.spread_freshness == Freshness::Fresh);
        fresh.map_or(self.quick, Ok)
    }

    /// What to mind, gravest first: as the route as it stands has it, and of what takes longer the last that is known. Nothing
    /// where there is no route.
    pub fn cautions(self) -> Vec<(&'a Caution, Freshness)> {
        let Ok(surest) = self.surest() else { return Vec::new() };
        // What is fresh beyond the route has a fresh route.
        let freshness = self.quick_freshness.min(self.spread_freshness);
        let own = surest.cautions.iter().map(|caution| (caution, freshness));
        let kept = self.kept().into_iter().flat_map(late_cautions);
        let kept = kept.map(|caution| (caution, Freshness::Stale));
        // A preview has none of its own; until the whole has come, those of the one before hold as of earlier settings.
        let of_block = self.whole.and_then(Result::ok).filter(|_| self.whole_freshness != Freshness::Pending);
        let of_block = of_block.into_iter().flat_map(|outcome| &outcome.cautions);
        let of_block = of_block.filter(|caution| caution.depth() > Depth::Spread);
        let of_block = of_block.map(|caution| (caution, self.whole_freshness));
        let mut all: Vec<_> = own.chain(kept).chain(of_block).collect();
        all.sort_by_cached_key(|(caution, _)| caution.rank());
        all
    }

    /// Whether what is told of the block is a first look, from fewer tie points.
    pub fn is_preview(self) -> bool {
        self.block.and_then(Result::ok).is_some_and(|outcome| outcome.depth == Depth::Preview)
    }

    /// The earlier outcome that says what to mind until that of the scenario as it stands has come, of what takes longer than
    /// the route.
    pub fn kept(self) -> Option<&'a Outcome> {
        self.spread.filter(|_| self.spread_freshness == Freshness::Stale)
    }
}

/// What to mind that takes longer than the route.
pub fn late_cautions(outcome: &Outcome) -> impl Iterator<Item = &Caution> {
    outcome.cautions.iter().filter(|caution| caution.depth() > Depth::Quick)
}

/// What was worked out beyond the route.
#[derive(Debug)]
pub enum Report {
    /// A strategy is worked out, to the depth that its outcome names.
    Done {
        /// What it was worked out from.
        scenario: Arc<Scenario>,
        /// The figures.
        outcome: Box<Outcome>,
    },
    /// A strategy could not be worked out.
    Failed {
        /// What it would have been worked out from.
        scenario: Arc<Scenario>,
        /// The strategy.
        strategy: Id,
        /// For people.
        message: String,
    },
    /// What its images give when they are adjusted together could not be worked out.
    NoBlock {
        /// What it would have been worked out from.
        scenario: Arc<Scenario>,
        /// The strategy.
        strategy: Id,
        /// For people.
        message: String,
    },
}

/// What was worked out without coverage.
#[derive(Debug)]
pub struct QuickReport {
    /// What it was worked out from.
    pub scenario: Arc<Scenario>,
    /// The strategy.
    pub strategy: Id,
    /// The figures without coverage.
    pub outcome: Result<Outcome, String>,
}

#[derive(Debug)]
struct KnownEntry<T> {
    from: Arc<Scenario>,
    value: T,
}

/// All that is known, by strategy.
#[derive(Debug, Default)]
pub struct Figures {
    quick: BTreeMap<Id, KnownEntry<Result<Arc<Outcome>, String>>>,
    views: BTreeMap<Id, KnownEntry<Arc<Outcome>>>,
    failures: BTreeMap<Id, KnownEntry<String>>,
    spread: BTreeMap<Id, KnownEntry<Arc<Outcome>>>,
    /// Adjusted in full.
    blocks: BTreeMap<Id, KnownEntry<Result<Arc<Outcome>, String>>>,
    /// First looks, each later than what is adjusted in full.
    previews: BTreeMap<Id, KnownEntry<Result<Arc<Outcome>, String>>>,
}

/// Works out a strategy without coverage, fast enough for a frame.
pub type Quick<'a> = dyn Fn(&Scenario, Id) -> Result<Outcome, Failure> + Sync + 'a;

impl Figures {
    /// Works out anew, without coverage, the strategies whose inputs have changed, side by side, and waits for them.
    pub fn follow(&mut self, scenario: &Arc<Scenario>, quick: &Quick<'_>) {
        let wanted = self.wanted_quick(scenario).into_par_iter();
        let outcomes: Vec<_> = wanted.map(|strategy| (strategy, quick(scenario, strategy))).collect();
        for (strategy, outcome) in outcomes {
            let outcome = outcome.map_err(|failure| failure.to_string());
            self.take_quick(QuickReport { scenario: Arc::clone(scenario), strategy, outcome }, scenario);
        }
    }

    /// The strategies whose inputs have changed since they were worked out without coverage.
    pub fn wanted_quick(&self, scenario: &Scenario) -> Vec<Id> {
        let ids = scenario.strategies.iter().map(|strategy| strategy.id);
        ids.filter(|&id| !self.quick.get(&id).is_some_and(|known| same_inputs(&known.from, scenario, id)))
            .collect()
    }

    /// Whether nothing at all is known yet of one of these.
    pub fn lacks_any(&self, strategies: &[Id]) -> bool {
        strategies.iter().any(|id| !self.quick.contains_key(id))
    }

    /// Keeps what was worked out without coverage, unless it is known of the scenario as it stands.
    pub fn take_quick(&mut self, report: QuickReport, scenario: &Scenario) {
        let QuickReport { scenario: from, strategy, outcome } = report;
        let known = self.quick.get(&strategy);
        if !known.is_some_and(|known| same_inputs(&known.from, scenario, strategy)) {
            self.quick.insert(strategy, KnownEntry { from, value: outcome.map(Arc::new) });
        }
    }

    /// Keeps what was worked out beyond the route.
    pub fn take(&mut self, report: Report) {
        match report {
            Report::Done { scenario, outcome } if outcome.depth < Depth::Views => {
                self.spread
                    .insert(outcome.strategy, KnownEntry { from: scenario, value: Arc::from(outcome) });
            }
            Report::Done { scenario, outcome } => {
                let (id, outcome) = (outcome.strategy, Arc::<Outcome>::from(outcome));
                if outcome.depth > Depth::Views {
                    self.take_block(id, outcome.depth, Arc::clone(&scenario), Ok(Arc::clone(&outcome)));
                }
                // What goes deeper has judged more.
                let is_deeper = |known: &KnownEntry<Arc<Outcome>>| {
                    known.value.depth > outcome.depth && same_inputs(&known.from, &scenario, id)
                };
                if !self.views.get(&id).is_some_and(is_deeper) {
                    self.failures.remove(&id);
                    self.views.insert(id, KnownEntry { from: scenario, value: outcome });
                }
            }
            Report::NoBlock { scenario, strategy, message } => {
                self.take_block(strategy, Depth::Network, scenario, Err(message));
            }
            Report::Failed { scenario, strategy, message } => {
                self.views.remove(&strategy);
                self.failures.insert(strategy, KnownEntry { from: scenario, value: message });
            }
        }
    }

    /// Keeps what the images give when they are adjusted together: a first look until the whole has come.
    fn take_block(&mut self, id: Id, depth: Depth, from: Arc<Scenario>, value: Result<Arc<Outcome>, String>) {
        if depth == Depth::Network {
            self.previews.remove(&id);
            self.blocks.insert(id, KnownEntry { from, value });
        } else if !self.blocks.get(&id).is_some_and(|whole| same_inputs(&whole.from, &from, id)) {
            self.previews.insert(id, KnownEntry { from, value });
        }
    }

    /// What is to be worked out beyond the route, and in which order: how sure time and energy are of all strategies, which takes a tenth
    /// of what follows, then their coverage, then first looks at their blocks, then these in full.
    pub fn wanted(&self, scenario: &Scenario) -> Vec<(Id, Depth)> {
        let lacks = |id: Id, depth: Depth| {
            self.known(scenario, id).is_none_or(|known| {
                let freshness = match depth {
                    Depth::Quick | Depth::Spread => known.spread_freshness,
                    Depth::Views => known.freshness,
                    Depth::Preview => known.block_freshness,
                    Depth::Network => known.whole_freshness,
                };
                freshness != Freshness::Fresh
            })
        };
        let of = |depth: Depth| {
            let ids = scenario.strategies.iter().map(|strategy| strategy.id);
            ids.filter(move |&id| lacks(id, depth)).map(move |id| (id, depth))
        };
        [Depth::Spread, Depth::Views, Depth::Preview, Depth::Network].into_iter().flat_map(of).collect()
    }

    /// What is known of a strategy; nothing of one that [`Figures::follow`] has not met.
    pub fn known(&self, scenario: &Scenario, id: Id) -> Option<Known<'_>> {
        let entry = self.quick.get(&id)?;
        let quick = entry.value.as_ref().map(Arc::as_ref).map_err(String::as_str);
        let (quick_freshness, quick_from) = (freshness_of(Some(&entry.from), scenario, id), &entry.from);
        if let Ok(refused) = &entry.value
            && !refused.feasible()
            && quick_freshness == Freshness::Fresh
        {
            // It has no coverage to wait for, and what was known before does not hold.
            return Some(Known {
                quick,
                quick_freshness,
                quick_from,
                views: Some(refused),
                freshness: Freshness::Fresh,
                failure: None,
                spread: Some(refused),
                spread_freshness: Freshness::Fresh,
                block: Some(Ok(refused)),
                block_freshness: Freshness::Fresh,
                whole: Some(Ok(refused)),
                whole_freshness: Freshness::Fresh,
            });
        }
        let whole = self.blocks.get(&id);
        let whole_freshness = freshness_of(whole.map(|entry| &entry.from), scenario, id);
        // One step back in the history what was adjusted in full holds again.
        let preview = self.previews.get(&id).filter(|_| whole_freshness != Freshness::Fresh);
        let block = preview.or(whole);
        Some(Known {
            quick,
            quick_freshness,
            quick_from,
            views: self.views.get(&id).map(|entry| entry.value.as_ref()),
            freshness: self.freshness(scenario, id),
            failure: self.failures.get(&id).map(|entry| entry.value.as_str()),
            spread: self.spread.get(&id).map(|entry| entry.value.as_ref()),
            spread_freshness: freshness_of(self.spread.get(&id).map(|entry| &entry.from), scenario, id),
            block: block.map(|entry| entry.value.as_ref().map_err(String::as_str)),
            block_freshness: freshness_of(block.map(|entry| &entry.from), scenario, id),
            whole: whole.map(|entry| entry.value.as_ref().map_err(String::as_str)),
            whole_freshness,
        })
    }

    /// Whether what its images give when they are adjusted together is known of the scenario as it stands, in full or at a first
    /// look, or why it is not.
    pub fn has_block(&self, scenario: &Scenario, id: Id, depth: Depth) -> bool {
        let Some(known) = self.known(scenario, id) else { return false };
        let freshness = if depth == Depth::Network { known.whole_freshness } else { known.block_freshness };
        freshness == Freshness::Fresh
    }

    /// Whether a block was adjusted, or looked at, from a scenario that differs from this in its control points alone: then
    /// another look at it takes no ray and no route.
    pub fn differs_by_control(&self, scenario: &Scenario, id: Id) -> bool {
        let known = self.previews.get(&id).or_else(|| self.blocks.get(&id));
        known.is_some_and(|known| known.value.is_ok() && same_but_control(&known.from, scenario, id))
    }

    /// What [`Known::surest`] gives, for those who go on with it beside the window.
    pub fn surest(&self, scenario: &Scenario, id: Id) -> Option<&Arc<Outcome>> {
        let spread = self.spread.get(&id).filter(|entry| same_inputs(&entry.from, scenario, id));
        let quick = || self.quick.get(&id)?.value.as_ref().ok();
        spread.map(|entry| &entry.value).or_else(quick)
    }

    /// Classes of surface that the site as it stands does not have, so that nothing can be judged of them; none where no
    /// strategy's coverage is known.
    pub fn unmodelled(&self, scenario: &Scenario) -> Vec<SurfaceClass> {
        let of_site = |from: &Scenario| Arc::ptr_eq(&from.site, &scenario.site) || from.site == scenario.site;
        let mut known = self.views.values().filter(|entry| of_site(&entry.from));
        let views = known.find_map(|entry| entry.value.views.as_ref());
        let lacks = |class: &SurfaceClass| views.is_some_and(|views| views.classes[*class].is_none());
        SurfaceClass::ALL.into_iter().filter(lacks).collect()
    }

    fn freshness(&self, scenario: &Scenario, id: Id) -> Freshness {
        let from = self.views.get(&id).map(|entry| &entry.from);
        let from = from.or_else(|| self.failures.get(&id).map(|entry| &entry.from));
        freshness_of(from, scenario, id)
    }
}

fn freshness_of(from: Option<&Arc<Scenario>>, scenario: &Scenario, id: Id) -> Freshness {
    match from {
        None => Freshness::Pending,
        Some(from) if same_inputs(from, scenario, id) => Freshness::Fresh,
        Some(_) => Freshness::Stale,
    }
}

/// Whether two scenarios give a strategy the same figures: everything that its outcome depends on is equal.
fn same_inputs(a: &Scenario, b: &Scenario, id: Id) -> bool {
    same_beside_site(a, b, id) && (Arc::ptr_eq(&a.site, &b.site) || a.site == b.site)
}

fn same_beside_site(a: &Scenario, b: &Scenario, id: Id) -> bool {
    same_flight(a.strategy(id), b.strategy(id))
        && a.conditions == b.conditions
        && a.requirement == b.requirement
        && a.rates == b.rates
        && same_money(&a.job, &b.job)
        && (Arc::ptr_eq(&a.equipment, &b.equipment) || a.equipment == b.equipment)
}

/// Whether two jobs come to the same amounts, whatever these are in.
fn same_money(a: &Job, b: &Job) -> bool {
    *a == Job { currency: a.currency.clone(), ..b.clone() }
}

/// Whether they differ in their control points alone.
fn same_but_control(a: &Scenario, b: &Scenario, id: Id) -> bool {
    a.site.control_points != b.site.control_points
        && same_beside_site(a, b, id)
        && beside_control(&a.site) == beside_control(&b.site)
}

/// A site without its control points. Every field is named, so that a new one cannot be forgotten.
fn beside_control(site: &Site) -> impl PartialEq {
    let Site {
        name,
        origin,
        boundary_m,
        take_off_m,
        terrain,
        structures,
        typical_building,
        keep_outs,
        control_points: _,
        sample_spacing_m,
    } = site;
    let stands = (structures, typical_building, keep_outs);
    (name, origin, boundary_m, take_off_m, terrain, stands, sample_spacing_m)
}

/// Whether two strategies are the same but for what no figure is made from.
fn same_flight<'a>(a: Option<&'a Strategy>, b: Option<&'a Strategy>) -> bool {
    a.map(flown_by) == b.map(flown_by)
}

/// All that figures are made from: not what a controller reports, nor the colour. Every field is named, so that a new one
/// cannot be forgotten.
fn flown_by(strategy: &Strategy) -> impl PartialEq {
    let Strategy { id, name, aircraft, passes, order, reported: _, colour: _, on_site, take_offs_m } =
        strategy;
    (id, name, aircraft, passes, order, on_site, take_offs_m)
}
