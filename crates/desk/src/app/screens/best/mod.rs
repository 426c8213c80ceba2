//! Each at its best: for every strategy the settings that take least and meet the requirement, and what can be had for what.

mod model;
mod trade;
mod trade_view;
mod view;

use self::model::{BestSheet, GivenBest};
use self::trade::{GivenTrade, TradeSheet};
use crate::app::App;
use crate::app::requests::whole;
use crate::document::Edit;
use crate::engine::{Engine, Failure};
use crate::jobs::{Key, Lane, Same};
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::chart::Chart;
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    Free, Looked, LookedCount, SearchOf, ToSpare, TuneAsk, TuneNews, TuneResult, Tuned,
};
use obliquity_planning::{Id, MeasureId, Scenario, Strategy, SurfaceClass};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// How often the screen shows what a search has found so far.
const NEWS: Duration = Duration::from_millis(250);

/// The search of one strategy.
#[derive(Debug, Clone, PartialEq)]
struct Search {
    from: Same<Scenario>,
    ask: TuneAsk,
}

impl Key for Search {
    type Reply = Result<Tuned, Failure>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("searching settings")
    }
}

/// What a search has told so far.
#[derive(Debug, Clone, Default)]
struct SoFar {
    /// Settings that stood before all until then, the foremost last.
    foremost: Vec<Looked>,
    count: Option<LookedCount>,
}

/// A strategy that was searched, or is.
#[derive(Debug)]
struct Searched {
    from: Arc<Scenario>,
    ask: TuneAsk,
    so_far: Arc<Mutex<SoFar>>,
    /// What came out; nothing before it has, or where it was called off.
    done: Option<Result<Tuned, String>>,
}

/// Whether a search still tells of the scenario as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SearchAge {
    Current,
    Outdated,
}

impl Searched {
    fn so_far(&self) -> SoFar {
        self.so_far.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The setting found, or the best so far.
    fn foremost(&self) -> Option<Looked> {
        match &self.done {
            Some(Ok(tuned)) => tuned.foremost().cloned(),
            Some(Err(_)) => None,
            None => self.so_far().foremost.pop(),
        }
    }

    /// Whether that setting meets the requirement with what is to spare.
    fn meets(&self) -> bool {
        match &self.done {
            Some(Ok(tuned)) => matches!(tuned.found, TuneResult::Best(_)),
            Some(Err(_)) => false,
            None => self.foremost().is_some_and(|looked| looked.misses.is_empty()),
        }
    }

    /// It is, where nothing that it rests on has changed but what it sets itself and names.
    fn age(&self, now: &Scenario) -> SearchAge {
        let from = &self.from;
        let shared = Arc::ptr_eq(&from.site, &now.site)
            && Arc::ptr_eq(&from.equipment, &now.equipment)
            && from.requirement == now.requirement
            && from.conditions == now.conditions
            && from.rates == now.rates;
        let pair = from.strategy(self.ask.strategy).zip(now.strategy(self.ask.strategy));
        let is_current = shared && pair.is_some_and(|(then, now)| then == now || self.is_set_from(then, now));
        if is_current { SearchAge::Current } else { SearchAge::Outdated }
    }

    /// Whether two versions of the strategy differ in nothing but what is free and the name.
    fn is_set_from(&self, then: &Strategy, now: &Strategy) -> bool {
        let values: Vec<f64> = self.ask.free.iter().filter_map(|free| free.values.first().copied()).collect();
        let alike = |strategy: &Strategy| {
            let own = Strategy { name: String::new(), ..strategy.clone() };
            let mut scenario = Scenario { strategies: vec![own], ..(*self.from).clone() };
            self.ask.set(&mut scenario, &values).ok()?;
            scenario.strategies.pop()
        };
        alike(then).zip(alike(now)).is_some_and(|(then, now)| then == now)
    }
}

/// What the screen remembers.
#[derive(Debug)]
pub(in crate::app) struct BestScreen {
    /// What is to be least.
    objective: MeasureId,
    to_spare: ToSpare,
    /// Inputs whose tick was turned from what is usual.
    turned: Vec<(Id, Dial)>,
    searched: BTreeMap<Id, Searched>,
    /// What the diagram shows across and up; nothing for what is usual.
    axes: (Option<MeasureId>, Option<MeasureId>),
    /// The setting last clicked.
    picked: Option<(Id, Vec<f64>)>,
    /// Its store is its own, so that the board's figures stay.
    engine: Engine,
}

impl Default for BestScreen {
    fn default() -> Self {
        BestScreen {
            objective: MeasureId::TimeOnSite,
            to_spare: ToSpare::default(),
            turned: Vec::new(),
            searched: BTreeMap::new(),
            axes: (None, None),
            picked: None,
            engine: Engine::aside(),
        }
    }
}

impl BestScreen {
    /// Uses an engine that others use too.
    pub(in crate::app) fn share(&mut self, engine: &Engine) {
        self.engine = engine.clone();
    }
}

/// What is asked for on the screen.
#[derive(Debug, Clone, PartialEq)]
enum BestAsk {
    /// Another figure is to be least.
    Objective(MeasureId),
    /// The requirement is to be met by so much.
    ToSpare(ToSpare),
    /// Search an input of a strategy, or leave it as it stands.
    Tick(Id, Dial),
    /// Search all strategies.
    Search,
    /// Call the search off.
    Cancel,
    /// Set a strategy to what was found for it.
    Adopt(Id),
    /// Set every strategy of which something meets.
    AdoptAll,
    /// Show another figure across.
    Across(MeasureId),
    /// Show another figure up.
    Up(MeasureId),
    /// Remember a setting on the diagram.
    Pick(Id, Vec<f64>),
    /// Set the strategy to the setting remembered.
    AdoptPicked,
}

/// The figure that a trade-off is first shown for: coverage of what is asked for, walls before all others.
fn usual_up(scenario: &Scenario) -> MeasureId {
    let order = [SurfaceClass::Wall, SurfaceClass::Underside, SurfaceClass::Roof, SurfaceClass::Ground];
    let asked = order.into_iter().find(|class| scenario.requirement.coverage[*class].is_some());
    MeasureId::Coverage(asked.unwrap_or(SurfaceClass::Ground))
}

impl App {
    /// What may be searched of a strategy, and whether it is.
    fn free_of(&self, strategy: Id) -> Vec<(Free, SearchOf)> {
        let turned =
            |free: &Free| self.best.turned.iter().any(|(id, dial)| *id == strategy && *dial == free.dial);
        let usual = Free::usual(self.document.scenario(), strategy).into_iter();
        let as_ticked = usual.map(|(free, search)| match (turned(&free), search) {
            (true, SearchOf::Free) => (free, SearchOf::Left),
            (true, SearchOf::Left) => (free, SearchOf::Free),
            (false, search) => (free, search),
        });
        as_ticked.collect()
    }

    /// Searches every strategy of which something is ticked.
    pub fn search_settings(&mut self) {
        self.jobs.cancel(|_: &Search| true);
        self.best.searched.clear();
        self.best.picked = None;
        let scenario = Arc::clone(self.document.scenario());
        for strategy in scenario.strategies.iter().map(|strategy| strategy.id) {
            let free = self.free_of(strategy).into_iter().filter(|(_, search)| *search == SearchOf::Free);
            let free: Vec<Free> = free.map(|(free, _)| free).collect();
            if free.is_empty() {
                continue;
            }
            let (objective, to_spare) = (self.best.objective, self.best.to_spare);
            let ask = TuneAsk { strategy, free, objective, to_spare };
            let so_far = Arc::new(Mutex::new(SoFar::default()));
            let (from, heard, own) = (Arc::clone(&scenario), Arc::clone(&so_far), ask.clone());
            let searched = Searched { from: Arc::clone(&scenario), ask: ask.clone(), so_far, done: None };
            self.best.searched.insert(strategy, searched);
            let engine = self.best.engine.clone();
            self.jobs.request(Search { from: Same::of(&scenario), ask }, move |watch| {
                let told = |news: TuneNews<'_>| {
                    let mut heard = heard.lock().unwrap_or_else(PoisonError::into_inner);
                    match news {
                        TuneNews::Foremost(looked) => heard.foremost.push(looked.clone()),
                        TuneNews::Count(count) => heard.count = Some(count),
                    }
                };
                engine.tune(&from, &own, &told, watch)
            });
        }
        self.hear_best();
    }

    /// Takes in what searches have found; gives up those that no longer tell of the scenario as it stands.
    pub(in crate::app) fn hear_best(&mut self) {
        for (Search { from, ask }, answer) in self.jobs.take::<Search>() {
            let searched = self.best.searched.get_mut(&ask.strategy);
            if let Some(own) = searched.filter(|own| from.is(&own.from) && own.ask == ask) {
                own.done = Some(whole(answer));
            }
        }
        if self.jobs.is_open(|_: &Search| true) {
            let now = self.document.scenario();
            let outdated: Vec<Id> = self
                .best
                .searched
                .iter()
                .filter(|(_, own)| own.age(now) == SearchAge::Outdated)
                .map(|(id, _)| *id)
                .collect();
            self.jobs.cancel(|key: &Search| outdated.contains(&key.ask.strategy));
        }
    }

    /// Forgets what was found, as another document has come.
    pub(in crate::app) fn forget_best(&mut self) {
        self.jobs.cancel(|_: &Search| true);
        self.best = BestScreen { engine: self.best.engine.clone(), ..BestScreen::default() };
    }

    fn best_sheet(&self) -> BestSheet {
        let scenario = self.document.scenario();
        let rows = scenario.strategies.iter().map(|strategy| {
            let searched = self.best.searched.get(&strategy.id);
            let known = self.figures.known(scenario, strategy.id);
            let outcome = known.and_then(|known| known.views.or(known.quick.ok()));
            let is_open = self.jobs.is_open(|key: &Search| key.ask.strategy == strategy.id);
            GivenBest { strategy, free: self.free_of(strategy.id), searched, outcome, is_open }
        });
        let running = self.jobs.progress::<Search>();
        BestSheet::new(scenario, (self.best.objective, self.best.to_spare), running, rows, self.home.units())
    }

    fn trade_sheet(&self) -> TradeSheet<'_> {
        let scenario = self.document.scenario();
        let axes =
            (self.best.axes.0.unwrap_or(self.best.objective), self.best.axes.1.unwrap_or(usual_up(scenario)));
        let own = scenario.strategies.iter().filter_map(|strategy| self.best.searched.get(&strategy.id));
        let current = own.filter(|searched| searched.age(scenario) == SearchAge::Current);
        let picked = self.best.picked.as_ref();
        TradeSheet::new(&GivenTrade { scenario, axes, picked, units: self.home.units() }, current)
    }

    /// The trade-off as it is shown.
    pub(super) fn best_charts(&self) -> Vec<Chart> {
        vec![self.trade_sheet().front.chart]
    }

    /// What was found, a row a strategy.
    pub(super) fn best_table(&self) -> String {
        let sheet = self.best_sheet();
        let head = ["Strategy", "Setting", "Figure", "What binds or is missed", "Looked at"];
        let rows = sheet.rows.iter().map(|row| {
            let found = &row.found;
            let setting = [found.head.as_str(), &found.setting].join(" ");
            tsv::line([row.name.as_str(), setting.trim(), &found.figure, &found.why, &found.looked])
        });
        tsv::line(head) + &rows.collect::<String>()
    }

    /// Every strategy at its best.
    pub(super) fn best_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        let (sheet, trade) = (self.best_sheet(), self.trade_sheet());
        if sheet.running.is_some() {
            ui.ctx().request_repaint_after(NEWS);
        }
        egui::CentralPanel::default().frame(frame).show(ui, |ui| view::ui(ui, &sheet, &trade, &mut asks));
        for ask in asks {
            self.best_asked(ask);
        }
    }

    fn best_asked(&mut self, ask: BestAsk) {
        match ask {
            BestAsk::Objective(objective) => self.best.objective = objective,
            BestAsk::ToSpare(to_spare) => self.best.to_spare = to_spare,
            BestAsk::Tick(strategy, dial) => {
                let own = (strategy, dial);
                match self.best.turned.iter().position(|turned| *turned == own) {
                    Some(place) => drop(self.best.turned.remove(place)),
                    None => self.best.turned.push(own),
                }
            }
            BestAsk::Search => self.search_settings(),
            BestAsk::Cancel => self.jobs.cancel(|_: &Search| true),
            BestAsk::Adopt(strategy) => self.adopt_best(&[strategy]),
            BestAsk::AdoptAll => self.adopt_found(),
            BestAsk::Across(across) => self.best.axes.0 = Some(across),
            BestAsk::Up(up) => self.best.axes.1 = Some(up),
            BestAsk::Pick(strategy, values) => self.best.picked = Some((strategy, values)),
            BestAsk::AdoptPicked => {
                let Some((strategy, values)) = self.best.picked.clone() else { return };
                self.adopt_settings(&[(strategy, values)]);
            }
        }
    }

    /// Whether a strategy has something ticked.
    pub(in crate::app) fn can_search_settings(&self) -> bool {
        let scenario = self.document.scenario();
        let is_ticked = |strategy: &Strategy| {
            self.free_of(strategy.id).iter().any(|(_, search)| *search == SearchOf::Free)
        };
        scenario.strategies.iter().any(is_ticked)
    }

    /// Whether a strategy can be set to something that was found and meets.
    pub(in crate::app) fn has_found(&self) -> bool {
        let scenario = self.document.scenario();
        self.best.searched.values().any(|own| {
            let stands = |looked: &Looked| own.ask.stands_at(scenario, &looked.values);
            own.meets()
                && own.age(scenario) == SearchAge::Current
                && own.foremost().is_some_and(|looked| !stands(&looked))
        })
    }

    /// Sets every strategy of which something meets to it, in one step.
    pub(in crate::app) fn adopt_found(&mut self) {
        let found = self.best.searched.iter().filter(|(_, own)| own.meets());
        let all: Vec<Id> = found.map(|(id, _)| *id).collect();
        self.adopt_best(&all);
    }

    /// Sets strategies to what was found for them, in one step.
    fn adopt_best(&mut self, strategies: &[Id]) {
        let found =
            strategies.iter().filter_map(|id| Some((*id, self.best.searched.get(id)?.foremost()?.values)));
        let found: Vec<(Id, Vec<f64>)> = found.collect();
        self.adopt_settings(&found);
    }

    /// Sets strategies to settings that were looked at, in one step; not those that the search no longer tells of.
    fn adopt_settings(&mut self, settings: &[(Id, Vec<f64>)]) {
        let scenario = Arc::clone(self.document.scenario());
        let current = |id: &Id| {
            let own = self.best.searched.get(id)?;
            (own.age(&scenario) == SearchAge::Current).then_some(own)
        };
        let known: Vec<(Id, Vec<(Dial, f64)>)> =
            settings.iter().filter_map(|(id, values)| Some((*id, current(id)?.ask.turned(values)))).collect();
        let what = match known.as_slice() {
            [] => return,
            [(id, _)] => {
                let name = scenario.strategy(*id).map_or("", |strategy| &strategy.name);
                format!("setting of {name}")
            }
            _ => "each at its best".to_owned(),
        };
        let set = known.into_iter().flat_map(|(_, set)| set).collect();
        self.edit(&Edit::Turn { what, set });
    }
}
