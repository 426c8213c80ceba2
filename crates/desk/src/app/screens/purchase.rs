//! Whether another fleet pays: the portfolio's jobs flown by every aircraft, and what comes of it.

use crate::app::App;
use crate::app::requests::found;
use crate::dialogs::{Purpose, Then};
use crate::engine::{Engine, Failure};
use crate::equipment::built_in;
use crate::jobs::{Key, Lane, Same};
use crate::purchase::{
    self, GivenPurchase, OnOffer, PortfolioDocument, PurchaseAsk, PurchaseFigures, PurchasePanel,
    PurchaseProgress, PurchaseSheet, ShownRight,
};
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::chart::Chart;
use obliquity_planning::money::Portfolio;
use obliquity_planning::purchase::{Flights, FlightsOf};
use obliquity_planning::{Aircraft, Cancelled, Scenario};
use std::sync::{Arc, LazyLock};

/// Aircraft that the program brings with it.
static CATALOGUE: LazyLock<Vec<Aircraft>> =
    LazyLock::new(|| built_in().map(|catalogue| catalogue.aircraft).unwrap_or_default());

/// How every aircraft flies every job.
#[derive(Debug, Clone, PartialEq)]
struct FlightsWanted {
    of: FlightsOf,
    scenarios: Same<Vec<Scenario>>,
}

impl Key for FlightsWanted {
    type Reply = Result<Arc<Flights>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 3;

    fn told(&self) -> Option<&'static str> {
        Some("flying the jobs")
    }
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq)]
struct FiguresWanted {
    portfolio: Same<Portfolio>,
    flights: Same<Flights>,
}

impl Key for FiguresWanted {
    type Reply = Result<Arc<PurchaseFigures>, Cancelled>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 2;
}

/// What the screen remembers.
#[derive(Debug)]
pub(in crate::app) struct PurchaseScreen {
    /// What is open.
    pub(in crate::app) document: Option<PortfolioDocument>,
    focus: Option<usize>,
    job: Option<usize>,
    panel: PurchasePanel,
    right: ShownRight,
    /// What was asked for last; asked for once.
    asked: Option<FlightsWanted>,
    /// The last that were worked out.
    last: Option<Arc<PurchaseFigures>>,
    /// The last that were flown: what of them is the same is not flown anew.
    flown: Option<Arc<Flights>>,
    /// Its store is its own, so that the board's figures stay.
    engine: Engine,
}

impl Default for PurchaseScreen {
    fn default() -> Self {
        PurchaseScreen {
            document: None,
            focus: None,
            job: None,
            panel: PurchasePanel::default(),
            right: ShownRight::default(),
            asked: None,
            last: None,
            flown: None,
            engine: Engine::aside(),
        }
    }
}

impl PurchaseScreen {
    /// Uses an engine that others use too.
    pub(in crate::app) fn share(&mut self, engine: &Engine) {
        self.engine = engine.clone();
    }

    /// Ends a gesture: the next edit is a step of its own.
    pub(in crate::app) fn end_gesture(&mut self) {
        if let Some(document) = &mut self.document {
            document.end_gesture();
        }
    }
}

impl App {
    /// Forgets what was shown, as another portfolio has come.
    pub(in crate::app) fn forget_purchase(&mut self) {
        self.jobs.cancel(|_: &FlightsWanted| true);
        self.jobs.cancel(|_: &FiguresWanted| true);
        self.purchase = PurchaseScreen { engine: self.purchase.engine.clone(), ..PurchaseScreen::default() };
    }

    /// Puts a fleet of the portfolio in focus, by its place.
    pub fn focus_on_fleet(&mut self, fleet: usize) {
        self.purchase.focus = Some(fleet);
    }

    /// Shows other inputs of the portfolio, or the working in place of the diagrams.
    pub fn show_of_purchase(&mut self, panel: PurchasePanel, right: ShownRight) {
        (self.purchase.panel, self.purchase.right) = (panel, right);
    }

    /// Has everything of the portfolio worked out, on this thread where there is no other.
    pub fn fly_portfolio(&mut self) {
        self.follow_purchase();
        self.follow_purchase();
    }

    fn flights_wanted(&self) -> Option<FlightsWanted> {
        let document = self.purchase.document.as_ref()?;
        if !document.portfolio().lacks().is_empty() {
            return None;
        }
        let (of, scenarios) = (FlightsOf::new(document.portfolio()), Same::of(document.scenarios()));
        Some(FlightsWanted { of, scenarios })
    }

    /// Has the jobs flown where that is not known, and everything worked out of it.
    pub(super) fn follow_purchase(&mut self) {
        let Some(wanted) = self.flights_wanted() else { return };
        if self.jobs.known(&wanted).is_none() {
            if self.purchase.asked.as_ref() == Some(&wanted) {
                return;
            }
            self.jobs.cancel(|own: &FlightsWanted| *own != wanted);
            self.purchase.asked = Some(wanted.clone());
            let (engine, own) = (self.purchase.engine.clone(), wanted.clone());
            let earlier = self.purchase.flown.clone();
            self.jobs.request(wanted.clone(), move |watch| {
                engine.flights(&own.of, &own.scenarios.0, earlier.as_deref(), watch).map(Arc::new)
            });
        }
        let Some(Ok(flights)) = self.jobs.known(&wanted).map(found) else { return };
        let flights = Arc::clone(flights);
        self.purchase.flown = Some(Arc::clone(&flights));
        let Some(document) = &self.purchase.document else { return };
        let portfolio = Arc::clone(document.portfolio());
        let key = FiguresWanted { portfolio: Same::of(&portfolio), flights: Same::of(&flights) };
        // One at a time: of the numbers that a gesture passes through only the last is waited for.
        if self.jobs.known(&key).is_none() && !self.jobs.is_open(|_: &FiguresWanted| true) {
            self.jobs.request(key.clone(), move |watch| {
                crate::long::begins("a purchase");
                PurchaseFigures::new(&portfolio, &flights, watch).map(Arc::new)
            });
        }
        if let Some(Ok(Ok(figures))) = self.jobs.known(&key) {
            self.purchase.last = Some(Arc::clone(figures));
        }
    }

    /// Everything that is known of the portfolio as it stands.
    pub(in crate::app) fn purchase_figures(&self) -> Option<&Arc<PurchaseFigures>> {
        let now = self.purchase.document.as_ref()?.portfolio();
        self.purchase.last.as_ref().filter(|last| Arc::ptr_eq(&last.portfolio, now))
    }

    fn purchase_progress(&self) -> PurchaseProgress {
        let Some(wanted) = self.flights_wanted() else { return PurchaseProgress::Known };
        match self.jobs.known(&wanted).map(found) {
            Some(Ok(_)) if self.purchase_figures().is_some() => PurchaseProgress::Known,
            Some(Ok(_)) => PurchaseProgress::Runs { tenths: 10 },
            Some(Err(why)) => PurchaseProgress::Failed(why.to_owned()),
            None => match self.jobs.tenths(|own: &FlightsWanted| *own == wanted) {
                Some(tenths) => PurchaseProgress::Runs { tenths },
                None => PurchaseProgress::Stopped,
            },
        }
    }

    /// What the screen shows of the portfolio; nothing where none is open.
    pub fn purchase_sheet(&self) -> Option<PurchaseSheet> {
        Some(PurchaseSheet::new(GivenPurchase {
            document: self.purchase.document.as_ref()?,
            figures: self.purchase.last.as_ref(),
            progress: self.purchase_progress(),
            focus: self.purchase.focus,
            job: self.purchase.job,
            panel: self.purchase.panel,
            right: self.purchase.right,
            on_offer: self.aircraft_on_offer(),
            open_scenario: self.open_scenario(),
            units: self.home.units(),
        }))
    }

    /// Aircraft that the portfolio could have: of its jobs' scenarios, of the one on the board, of the library, of the catalogue.
    fn aircraft_on_offer(&self) -> Vec<OnOffer> {
        let Some(document) =
            self.purchase.document.as_ref().filter(|_| self.purchase.panel == PurchasePanel::Make)
        else {
            return Vec::new();
        };
        let portfolio = document.portfolio();
        let mut known: Vec<Aircraft> = Vec::new();
        let is_same = |one: &Aircraft, other: &Aircraft| Aircraft { id: other.id, ..one.clone() } == *other;
        let mut new = |aircraft: &[Aircraft]| -> Vec<Aircraft> {
            let is_listed =
                |own: &&Aircraft| portfolio.aircraft.iter().any(|listed| is_same(own, &listed.aircraft));
            let mut found = Vec::new();
            for own in aircraft.iter().filter(|own| !is_listed(own)) {
                if known.iter().all(|other| !is_same(own, other)) {
                    known.push(own.clone());
                    found.push(own.clone());
                }
            }
            found
        };
        let mut offers = Vec::new();
        for (job, scenario) in portfolio.jobs.iter().zip(document.scenarios().iter()) {
            offers.push(OnOffer { from: job.name.clone(), aircraft: new(&scenario.equipment.aircraft) });
        }
        let own = self.document.scenario();
        offers.push(OnOffer { from: own.name.clone(), aircraft: new(&own.equipment.aircraft) });
        if let Ok(library) = &self.side.library {
            offers.push(OnOffer { from: "Your library".to_owned(), aircraft: new(&library.aircraft) });
        }
        offers.push(OnOffer { from: "Built-in catalogue (invented)".to_owned(), aircraft: new(&CATALOGUE) });
        offers.retain(|own| !own.aircraft.is_empty());
        offers
    }

    /// The diagrams as they are shown.
    pub(super) fn purchase_charts(&self) -> Vec<Chart> {
        let known = self.purchase_sheet().and_then(|sheet| sheet.known);
        known
            .map(|known| [Some(known.yearly), known.swings].into_iter().flatten().collect())
            .unwrap_or_default()
    }

    /// Every kind of job with every fleet, and what each fleet leaves more.
    pub(super) fn purchase_table(&self) -> Option<String> {
        let known = self.purchase_sheet()?.known?;
        let mut text = tsv::line(["fleet", "more a year", "pays in"]);
        for own in &known.candidates {
            text += &tsv::line([&own.name, &own.gain, &own.pays]);
        }
        text += &tsv::line(["job", "fleet", "", "minutes on site", "days", "leaves"]);
        for row in &known.jobs {
            for (cell, own) in row.cells.iter().zip(&known.candidates) {
                let cells =
                    [&row.name, &own.name, cell.state.word(), &cell.minutes, &cell.days, &cell.leaves];
                text += &tsv::line(cells);
            }
        }
        Some(text)
    }

    /// The answer on top, fleets and inputs to the left, diagrams to the right.
    pub(super) fn purchase_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let sheet = self.purchase_sheet();
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| match &sheet {
            Some(sheet) => purchase::ui(ui, sheet, &mut asks),
            None => purchase::empty(ui, &mut asks),
        });
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                PurchaseAsk::Focus(fleet) => self.purchase.focus = Some(fleet),
                PurchaseAsk::Job(job) => self.purchase.job = Some(job),
                PurchaseAsk::Panel(panel) => self.purchase.panel = panel,
                PurchaseAsk::Right(right) => self.purchase.right = right,
                PurchaseAsk::Edit(edit) => self.edit_portfolio(&edit),
                PurchaseAsk::SaveCharts(how) => self.pick(Purpose::Charts(how), &ctx),
                PurchaseAsk::SaveWorkbook => self.pick(Purpose::Workbook, &ctx),
                PurchaseAsk::Stop => {
                    self.jobs.cancel(|_: &FlightsWanted| true);
                    self.jobs.cancel(|_: &FiguresWanted| true);
                }
                PurchaseAsk::Resume => self.purchase.asked = None,
                PurchaseAsk::ChooseScenario(job) => self.pick(Purpose::JobScenario { job }, &ctx),
                PurchaseAsk::AddOpenScenario => self.add_open_scenario(),
                PurchaseAsk::Begin => self.unless_unsaved(Then::NewPortfolio, &ctx),
                PurchaseAsk::Open => self.pick(Purpose::Open, &ctx),
                PurchaseAsk::Example => self.unless_unsaved(Then::ExamplePortfolio, &ctx),
            }
        }
    }
}
