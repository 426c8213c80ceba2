//! A cut through the site along a strip of a pass or a line: how high it is flown there, and what that does to what is below.

mod map;
mod view;

use self::map::CutMap;
use crate::app::App;
use crate::app::requests::found;
use crate::chart_files::ChartsAs;
use crate::dialogs::Purpose;
use crate::engine::{Engine, Failure};
use crate::jobs::{Key, Lane, Same};
use crate::screen::Screen;
use crate::theme::{self, space};
use egui::{Frame, Ui};
use glam::DVec2;
use obliquity_exchange::Slots;
use obliquity_exchange::chart::{Chart, cut_charts};
use obliquity_planning::cross_section::{CrossSection, Cut, NoCut};
use obliquity_planning::{Id, LegKind, PassPlan, Scenario, Units};
use std::sync::Arc;

/// A cut of one pass.
#[derive(Debug, Clone, PartialEq)]
struct CutOf {
    from: Same<Scenario>,
    strategy: Id,
    pass: Id,
    cut: Cut,
}

impl Key for CutOf {
    type Reply = Result<Result<CrossSection, NoCut>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;
}

/// What the screen remembers.
#[derive(Debug)]
pub(in crate::app) struct SectionScreen {
    /// Nothing for the strip in the middle.
    cut: Option<Cut>,
    /// The line last drawn or typed, which comes back when a line is chosen.
    line: Option<(DVec2, DVec2)>,
    /// The cut shown last: it stays until a newer one comes.
    shown: Option<(Id, Id, Result<CrossSection, String>)>,
    /// Its store is its own, so that the board's figures stay.
    engine: Engine,
}

impl Default for SectionScreen {
    fn default() -> Self {
        SectionScreen { cut: None, line: None, shown: None, engine: Engine::aside() }
    }
}

impl SectionScreen {
    /// Uses an engine that others use too.
    pub(in crate::app) fn share(&mut self, engine: &Engine) {
        self.engine = engine.clone();
    }
}

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
enum SectionAsk {
    /// Cut another pass.
    Pass(Id),
    /// Cut elsewhere.
    Cut(Cut),
    /// Cut along the line last drawn, or one across the strips.
    AcrossStrips,
    /// Save the diagrams.
    Save(ChartsAs),
}

/// What the screen shows.
struct SectionSheet<'a> {
    /// The passes that keep a height, by name.
    passes: Vec<(Id, String)>,
    pass: Id,
    cut: Cut,
    strips: usize,
    map: CutMap<'a>,
    charts: Result<Vec<Chart>, String>,
    /// Whether what is shown belongs to what is chosen.
    is_fresh: bool,
    units: Units,
}

/// The pass that is cut, with its plan.
struct CutPass {
    strategy: Id,
    passes: Vec<(Id, String)>,
    pass: Id,
    plan: Arc<PassPlan>,
}

impl App {
    /// The pass chosen in the strategy in focus, or its first that keeps a height above something.
    fn cut_pass(&self) -> Option<CutPass> {
        let scenario = self.document.scenario();
        let strategy = scenario.strategy(self.focus()?)?;
        let known = self.figures.known(scenario, strategy.id)?.quick.ok()?;
        let plan = |pass: Id| {
            let own = known.passes.iter().find(|own| own.pass == pass)?;
            own.plan.as_ref().ok().filter(|plan| plan.layout.stand_off_m.is_none())
        };
        let name = |(k, pass): (usize, &obliquity_planning::Pass)| {
            (pass.id, format!("{}  {}", k + 1, pass.pattern.kind().about().title))
        };
        let named = strategy.passes.iter().enumerate().map(name);
        let passes: Vec<_> = named.filter(|(pass, _)| plan(*pass).is_some()).collect();
        let chosen = self.side.pass.filter(|pass| passes.iter().any(|(id, _)| id == pass));
        let pass = chosen.or_else(|| passes.first().map(|(id, _)| *id))?;
        let plan = Arc::clone(plan(pass)?);
        Some(CutPass { strategy: strategy.id, passes, pass, plan })
    }

    fn cut_wanted(&self, of: &CutPass) -> CutOf {
        let strips = strip_ends(&of.plan).count();
        let cut = match self.section.cut {
            None => Cut::Strip(strips / 2),
            Some(Cut::Strip(k)) => Cut::Strip(k.min(strips.saturating_sub(1))),
            Some(line @ Cut::Line(..)) => line,
        };
        CutOf { from: Same::of(self.document.scenario()), strategy: of.strategy, pass: of.pass, cut }
    }

    /// Has the cut worked out.
    pub(super) fn follow_section(&mut self) {
        let Some(of) = self.cut_pass() else { return };
        let key = self.cut_wanted(&of);
        if let Some(answer) = self.jobs.known(&key) {
            let told = found(answer).map_err(str::to_owned);
            let told = told.and_then(|found| found.clone().map_err(|why| why.to_string()));
            let shown = Some((key.strategy, key.pass, told));
            if self.section.shown != shown {
                self.section.shown = shown;
            }
            return;
        }
        if self.jobs.is_open(|own: &CutOf| *own == key) {
            return;
        }
        self.jobs.cancel(|own: &CutOf| *own != key);
        let engine = self.section.engine.clone();
        self.jobs.request(key.clone(), move |watch| {
            engine.cross_section(&key.from.0, (key.strategy, key.pass), key.cut, watch)
        });
    }

    /// The diagrams as they are shown.
    pub(super) fn section_charts(&self) -> Vec<Chart> {
        self.shown_charts().and_then(Result::ok).unwrap_or_default()
    }

    fn shown_charts(&self) -> Option<Result<Vec<Chart>, String>> {
        let (strategy, pass, section) = self.section.shown.as_ref()?;
        let (scenario, units) = (self.document.scenario(), self.home.units());
        let charts = |section: &CrossSection| cut_charts(scenario, (*strategy, *pass), section, units);
        Some(section.as_ref().map(charts).map_err(Clone::clone))
    }

    /// What is below along the cut, as a table.
    pub(super) fn section_table(&self) -> Option<String> {
        let (_, _, section) = self.section.shown.as_ref()?;
        let csv = obliquity_exchange::cut_csv(section.as_ref().ok()?);
        Some(csv.lines().map(|line| line.replace(',', "\t") + "\n").collect())
    }

    /// A cut through one pass.
    pub(super) fn section_screen(&mut self, ui: &mut Ui) {
        let Some(focus) = self.focus() else {
            self.turn_to(Screen::BOARD);
            return;
        };
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        let of = self.cut_pass();
        let wanted = of.as_ref().map(|of| self.cut_wanted(of));
        let outline = self.side.known.as_ref().and_then(|known| known.outline());
        let sheet = of.as_ref().zip(wanted.as_ref()).zip(outline).map(|((of, wanted), outline)| {
            let pending = || Err("the cut is worked out".to_owned());
            SectionSheet {
                passes: of.passes.clone(),
                pass: of.pass,
                cut: wanted.cut,
                strips: strip_ends(&of.plan).count(),
                map: CutMap {
                    outline,
                    strips_m: strip_ends(&of.plan).collect(),
                    slot: Slots::of(self.document.scenario()).slot(focus),
                },
                charts: self.shown_charts().unwrap_or_else(pending),
                is_fresh: self.jobs.known(wanted).is_some(),
                units: self.home.units(),
            }
        });
        egui::CentralPanel::default().frame(frame).show(ui, |ui| match &sheet {
            Some(sheet) => view::ui(ui, sheet, &mut asks),
            None => view::nothing(ui),
        });
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                SectionAsk::Save(how) => self.pick(Purpose::Charts(how), &ctx),
                ask => self.section_asked(ask, of.as_ref()),
            }
        }
    }

    fn section_asked(&mut self, ask: SectionAsk, of: Option<&CutPass>) {
        match ask {
            SectionAsk::Pass(pass) => self.side.pass = Some(pass),
            SectionAsk::Save(_) => {}
            SectionAsk::Cut(cut) => {
                if let Cut::Line(from_m, to_m) = cut {
                    self.section.line = Some((from_m, to_m));
                }
                self.section.cut = Some(cut);
            }
            SectionAsk::AcrossStrips => {
                let across = || across_strips(&of?.plan);
                if let Some((from_m, to_m)) = self.section.line.or_else(across) {
                    self.section.cut = Some(Cut::Line(from_m, to_m));
                }
            }
        }
    }
}

/// Where every strip of a pass begins and ends, in flying order.
fn strip_ends(plan: &PassPlan) -> impl Iterator<Item = [DVec2; 2]> {
    let strips = plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
    strips.map(|leg| [leg.from_m.truncate(), leg.to_m.truncate()])
}

/// A line through the middle of a pass, square to its first strip, as long as what is flown reaches on both sides.
fn across_strips(plan: &PassPlan) -> Option<(DVec2, DVec2)> {
    let first = strip_ends(plan).next()?;
    let across = (first[1] - first[0]).try_normalize()?.perp();
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for place in strip_ends(plan).flatten() {
        let at = (place - first[0]).dot(across);
        (low, high) = (low.min(at), high.max(at));
    }
    let air = plan.layout.strip_spacing_m / 4.0;
    let middle = first[0].midpoint(first[1]);
    Some((middle + across * (low - air), middle + across * (high + air)))
}
