//! What stands beside the board: plan and view angles of the strategy in focus, kept up with document and figures.

use crate::board::Board;
use crate::engine::{Engine, Failure};
use crate::figures::{Figures, Freshness, Known};
use crate::handle;
use crate::jobs::Same;
use crate::long;
use crate::plan::draw::Outlines;
use crate::plan::{self, Plan, PlanAsk, PlanSite, PlanState, ShownPlan};
use crate::rose::Roses;
use crate::space::Space;
use crate::theme;
use crate::units::Units;
use egui::{Frame, Margin, Panel, Ui};
use obliquity_exchange::Card;
use obliquity_exchange::Slots;
use obliquity_planning::{Depth, Id, Outcome, Scenario, Site, Watch};
use std::sync::Arc;

/// From this width of the window on the panel is open unless it was folded away.
const WIDE: f32 = 1700.0;
/// The folded panel.
const FOLDED: f32 = 22.0;

/// The panel's own state and what it shows. Nothing of it is saved.
#[derive(Debug, Default)]
pub struct Beside {
    /// How the plan is looked at.
    pub state: PlanState,
    /// Whether it is open; nothing until someone has said.
    open: Option<SideFold>,
    site: Option<(Arc<Site>, Arc<PlanSite>)>,
    plan: Option<Plan>,
    /// The card of the strategy in focus, and what it was made of.
    card: Option<(CardSource, Arc<Card>)>,
    /// What its card is to be made of.
    card_wanted: Option<CardSource>,
    /// Of strategies beside each other.
    plans: Vec<Option<Plan>>,
    plans_for: Option<(Arc<Scenario>, Units)>,
    roses: Roses,
    strategies: Vec<(Id, String)>,
    column: usize,
    slot: usize,
    /// What can be drawn.
    drawn_on: Option<(Arc<Scenario>, Outlines)>,
    units: Units,
    /// What all this was made for.
    made_for: Option<(Arc<Scenario>, Id)>,
    /// Whether the panel was open when it was last drawn.
    shown: Option<SideFold>,
}

/// What a set-up card is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct CardSource {
    scenario: Same<Scenario>,
    outcome: Same<Outcome>,
    units: Units,
}

impl CardSource {
    /// Makes it, with all cautions: what takes longer than the route is worked out for it where it is not known yet.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn card(&self, engine: &Engine, watch: &dyn Watch) -> Result<Card, Failure> {
        long::begins("set-up card");
        let Same(outcome) = &self.outcome;
        if outcome.depth >= Depth::Spread || !outcome.feasible() {
            return Ok(self.card_of(outcome));
        }
        let outcome = engine.evaluate(&self.scenario.0, outcome.strategy, Depth::Spread, watch)?;
        Ok(self.card_of(&outcome))
    }

    fn card_of(&self, outcome: &Outcome) -> Card {
        let card = Card::new(&self.scenario.0, outcome, self.units);
        // A name changes no figure, so that the outcome may still have the one before.
        let name = self.scenario.0.strategy(outcome.strategy).map_or(&card.strategy, |own| &own.name);
        let number = Some(Slots::of(&self.scenario.0).slot(outcome.strategy) + 1);
        Card { strategy: name.clone(), number, ..card }
    }
}

/// The plan of what is known of a strategy; nothing where there is no route.
fn plan_of(known: Known<'_>, (scenario, site): (&Scenario, &Arc<PlanSite>), units: Units) -> Option<Plan> {
    let mut plan = Plan::new(scenario, site, known.surest().ok()?, units);
    if let Some(earlier) = known.kept() {
        plan.keep_marks(earlier);
    }
    Some(plan)
}

/// What accuracy is expected of a strategy, in words; nothing before its block is adjusted.
fn expected(known: Known<'_>, units: Units) -> Option<String> {
    let overall = known.block?.ok()?.network.as_ref()?.overall?;
    let look = if known.is_preview() { ", preview" } else { "" };
    let state = if known.block_freshness == Freshness::Fresh { "" } else { " …" };
    let (across, up) = (units.error(overall.horizontal.rms_m), units.error(overall.vertical.rms_m));
    Some(format!("expected RMSE {across} horizontal, {up} vertical{look}{state}"))
}

/// Whether the panel is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SideFold {
    Open,
    Folded,
}

impl Beside {
    /// The plan that is shown.
    pub fn plan(&self) -> Option<&Plan> {
        self.plan.as_ref()
    }

    /// The plan that is shown, and how it is looked at.
    pub fn plan_and_state(&mut self) -> (Option<&Plan>, &mut PlanState) {
        (self.plan.as_ref(), &mut self.state)
    }

    /// The set-up card of the strategy in focus; nothing where it cannot be worked out. Until the one of the scenario as it
    /// stands has come, it is the one before.
    pub fn card(&self) -> Option<&Card> {
        self.shared_card().map(Arc::as_ref)
    }

    /// The same, to be laid out beside the window.
    pub fn shared_card(&self) -> Option<&Arc<Card>> {
        self.card.as_ref().map(|(_, card)| card)
    }

    /// What the card is to be made of; nothing where there can be none.
    pub fn card_wanted(&self) -> Option<&CardSource> {
        self.card_wanted.as_ref()
    }

    /// Whether the card is the one that is wanted.
    pub fn has_card_wanted(&self) -> bool {
        self.card.as_ref().map(|(of, _)| of) == self.card_wanted.as_ref()
    }

    /// The card that is wanted cannot be made.
    pub fn give_up_card(&mut self) {
        (self.card, self.card_wanted) = (None, None);
    }

    /// Takes a card that was made, if it is of the strategy in focus.
    pub fn take_card(&mut self, of: CardSource, card: Card) {
        let wanted = self.card_wanted.as_ref().map(|wanted| wanted.outcome.0.strategy);
        if wanted == Some(of.outcome.0.strategy) {
            self.card = Some((of, Arc::new(card)));
        }
    }

    /// The strategies in the board's order, and which of them is in focus.
    pub fn strategies(&self) -> (&[(Id, String)], usize) {
        (&self.strategies, self.column)
    }

    /// Which colour the strategy in focus has.
    pub fn slot(&self) -> usize {
        self.slot
    }

    /// The view angles that are shown.
    pub fn roses(&self) -> &Roses {
        &self.roses
    }

    /// Brings everything up to the document; `board` is the one of the same scenario.
    pub fn follow(
        &mut self,
        scenario: &Arc<Scenario>,
        figures: &Figures,
        board: &Board,
        focus: Option<Id>,
        units: Units,
    ) {
        self.strategies = board.columns.iter().map(|column| (column.strategy, column.name.clone())).collect();
        let at = self.strategies.iter().position(|(id, _)| Some(*id) == focus);
        self.column = at.unwrap_or(0);
        self.slot = board.columns.get(self.column).map_or(0, |column| column.slot);
        let shown = self.strategies.get(self.column).map(|(id, _)| *id);
        self.drawn_on = Some((Arc::clone(scenario), Outlines::of(scenario, shown)));
        self.units = units;
        let Some((id, name)) = self.strategies.get(self.column).cloned() else {
            (self.plan, self.card, self.card_wanted, self.made_for) = (None, None, None, None);
            self.roses = Roses::default();
            return;
        };
        let known = figures.known(scenario, id);
        let site = self.site(&scenario.site);
        // What comes late makes those beside each other anew as well.
        self.plans_for = None;
        self.plan = known
            .and_then(|known| Some(Plan { name: name.clone(), ..plan_of(known, (scenario, &site), units)? }));
        self.card_wanted = figures.surest(scenario, id).map(|outcome| CardSource {
            scenario: Same::of(scenario),
            outcome: Same::of(outcome),
            units,
        });
        // Another strategy's card is not shown meanwhile.
        let is_of =
            |(of, _): &(CardSource, Arc<Card>)| self.card_wanted.is_some() && of.outcome.0.strategy == id;
        if !self.card.as_ref().is_some_and(is_of) {
            self.card = None;
        }
        self.roses = Roses::new(known);
        self.state.expected = known.and_then(|known| expected(known, units)).unwrap_or_default();
        self.made_for = Some((Arc::clone(scenario), id));
    }

    /// Whether the strategy in focus is another one than what is shown.
    pub fn is_behind(&self, focus: Option<Id>) -> bool {
        let shown = self.made_for.as_ref().map(|(_, id)| *id);
        let first = self.strategies.first().map(|(id, _)| *id);
        let wanted = focus.filter(|id| self.strategies.iter().any(|(known, _)| known == id)).or(first);
        shown != wanted
    }

    fn site(&mut self, site: &Arc<Site>) -> Arc<PlanSite> {
        match &self.site {
            Some((of, drawn)) if Arc::ptr_eq(of, site) => Arc::clone(drawn),
            _ => {
                // Another site is looked at from the beginning.
                if self.site.as_ref().is_some_and(|(of, _)| of.name != site.name) {
                    self.state.fit_everywhere();
                }
                let drawn = Arc::new(PlanSite::new(site));
                self.site = Some((Arc::clone(site), Arc::clone(&drawn)));
                drawn
            }
        }
    }

    /// Opens the panel or folds it away.
    pub fn toggle(&mut self, window_width: f32) {
        self.open = Some(if self.is_open(window_width) { SideFold::Folded } else { SideFold::Open });
    }

    /// Whether the panel stood open beside the board when it was last drawn.
    pub fn is_shown(&self) -> bool {
        self.shown == Some(SideFold::Open)
    }

    fn is_open(&self, window_width: f32) -> bool {
        self.open.map_or(window_width >= WIDE, |fold| fold == SideFold::Open)
    }

    /// Draws the panel at the right of `ui`.
    pub fn panel(&mut self, ui: &mut Ui) {
        let width = ui.ctx().content_rect().width();
        let frame = Frame::new().fill(theme::of(ui).page);
        self.shown = Some(if self.is_open(width) { SideFold::Open } else { SideFold::Folded });
        if !self.is_open(width) {
            let folded = Panel::right("plan, folded").exact_size(FOLDED).resizable(false).frame(frame);
            folded.show(ui, |ui| self.handle(ui, width));
            return;
        }
        let margin = Margin { left: 12, right: 12, top: 10, bottom: 10 };
        let open = Panel::right("plan, open")
            .default_size((0.25 * width).clamp(340.0, 520.0))
            .size_range(300.0..=(0.6 * width).max(300.0))
            .frame(frame.inner_margin(margin));
        if open.show(ui, |ui| self.whole(ui)).inner == Some(PlanAsk::Fold) {
            self.open = Some(SideFold::Folded);
        }
    }

    /// Draws plan and rose into all of `ui`; returns what was asked for.
    pub fn whole(&mut self, ui: &mut Ui) -> Option<PlanAsk> {
        let mut asks = Vec::new();
        let shown = ShownPlan {
            plan: self.plan.as_ref(),
            roses: &self.roses,
            name: self.strategies.get(self.column).map_or("no strategy", |(_, name)| name.as_str()),
            slot: self.slot,
            drawn_on: self.drawn_on.as_ref().map(|(scenario, outlines)| (&**scenario, outlines)),
            units: self.units,
        };
        plan::ui(ui, &shown, &mut self.state, &mut asks);
        asks.pop()
    }

    /// Works out the plans of strategies that stand beside each other, once for a scenario.
    pub fn follow_plans(&mut self, scenario: &Arc<Scenario>, figures: &Figures, wanted: &[Id], units: Units) {
        let made = self.plans_for.as_ref().is_some_and(|(of, shown)| {
            Arc::ptr_eq(of, scenario) && *shown == units && wanted.len() == self.plans.len()
        });
        if made
            && wanted
                .iter()
                .zip(&self.plans)
                .all(|(id, plan)| plan.as_ref().is_some_and(|p| p.strategy == *id))
        {
            return;
        }
        let site = self.site(&scenario.site);
        let plan = |id: &Id| {
            let known = figures.known(scenario, *id)?;
            let name = self.strategies.iter().find(|(known, _)| known == id)?.1.clone();
            Some(Plan { name, ..plan_of(known, (scenario, &site), units)? })
        };
        self.plans = wanted.iter().map(plan).collect();
        self.plans_for = Some((Arc::clone(scenario), units));
    }

    /// Draws plan and rose with all the room to themselves; `panes` are strategies with their colours.
    pub fn large(&mut self, ui: &mut Ui, panes: &[(Id, usize)], space: &mut Space, units: Units) {
        let plans: Vec<Option<&Plan>> = match panes {
            [_] => vec![self.plan.as_ref()],
            _ => self.plans.iter().map(Option::as_ref).collect(),
        };
        let panes = panes.iter().zip(plans);
        let panes: Vec<_> =
            panes.map(|(&(strategy, slot), plan)| plan::Pane { strategy, plan, slot }).collect();
        let shown = ShownPlan {
            plan: self.plan.as_ref(),
            roses: &self.roses,
            name: self.strategies.get(self.column).map_or("no strategy", |(_, name)| name.as_str()),
            slot: self.slot,
            drawn_on: self.drawn_on.as_ref().map(|(scenario, outlines)| (&**scenario, outlines)),
            units: self.units,
        };
        plan::large(ui, &shown, &panes, &mut self.state, (space, units));
    }

    /// What opens the folded panel.
    fn handle(&mut self, ui: &mut Ui, width: f32) {
        if handle::upright(ui, "« Plan and view angles", "Open plan and view angles") {
            self.toggle(width);
        }
    }
}
