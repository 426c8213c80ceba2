//! The screens beside the board: equipment, requirement and conditions, the ways to begin.

use super::App;
use super::conditions_work::Advised;
use super::corners::Cornered;
use super::site_work::Known;
use crate::amendment::{Amendment, Part, Terms, flown_by};
use crate::commands::Command;
use crate::conditions::Shades;
use crate::dialogs::{Dialog, Purpose, Then};
use crate::document::{Document, Edit};
use crate::equipment::{self, Shelf, Stock};
use crate::first_use::{self, Buildings, BuildingsAnswer, Rectangle, rectangle_site};
use crate::new_site::{NewSite, SiteFrame};
use crate::plan::PlanAsk;
use crate::site_panel::SiteState;
use crate::space::{Look, SpaceAsk};
use crate::theme::{self, space};
use crate::{files, requirement_panel};
use egui::{Context, Frame, Key, Margin, Modifiers, Panel, RichText, Ui};
use obliquity_planning::{Equipment, Id, Site, TypicalBuilding};
use std::sync::Arc;

/// What fills the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Screen {
    /// The strategies beside each other.
    #[default]
    Board,
    /// What the strategy in focus flies over the site, and from where the surfaces are seen.
    Plan,
    /// Ground, structures and routes in 3D, coloured by what is delivered.
    Space,
    /// Walls and undersides drawn flat, coloured by what is delivered.
    Walls,
    /// The stay on site along a clock.
    Timeline,
    /// The values to key into a flight controller for the strategy in focus.
    Card,
    /// Every pass of the strategy in focus, with all its settings.
    Passes,
    /// What stands on the site, its ground, and how densely surfaces are sampled.
    Site,
    /// Every aircraft's numbers.
    Equipment,
    /// What the job must deliver, and processing rates.
    Requirement,
    /// What the job is flown under, and what follows from it.
    Conditions,
    /// The ways to begin.
    Begin,
}

/// What the screens beside the board remember while the window is open.
#[derive(Debug)]
pub(super) struct Side {
    pub(super) screen: Screen,
    shelf: Shelf,
    library: Result<Equipment, String>,
    /// Whether the library has changed since it was saved.
    library_changed: bool,
    rectangle: Rectangle,
    pub(super) buildings: Option<Buildings>,
    /// The site on which the user has said that nothing stands.
    bare: Option<Arc<Site>>,
    /// The pass last chosen.
    pub(super) pass: Option<Id>,
    /// What the screen of the site remembers.
    pub(super) site_state: SiteState,
    pub(super) known: Option<Known>,
    /// What was found when strips were last turned.
    pub(super) advised: Option<Advised>,
    /// What was found when passes were last begun at other corners.
    pub(super) cornered: Option<Cornered>,
    /// The shade that was last worked out.
    pub(super) shades: Option<Shades>,
}

impl Side {
    pub(super) fn new(library: Result<Equipment, String>) -> Self {
        Side {
            screen: Screen::default(),
            shelf: Shelf::default(),
            library,
            library_changed: false,
            rectangle: Rectangle::default(),
            buildings: None,
            bare: None,
            pass: None,
            site_state: SiteState::default(),
            known: None,
            advised: None,
            cornered: None,
            shades: None,
        }
    }
}

impl App {
    /// What fills the window.
    pub fn screen_shown(&self) -> Screen {
        self.side.screen
    }

    /// Shows another screen.
    pub fn turn_to(&mut self, screen: Screen) {
        self.side.screen = screen;
    }

    /// Draws the screen that is not the board, if one is shown.
    pub(super) fn side_screen(&mut self, ui: &mut Ui) -> bool {
        match self.side.screen {
            Screen::Board => {
                self.offer_buildings(ui);
                return false;
            }
            Screen::Card => self.card_screen(ui),
            Screen::Timeline => self.timeline_screen(ui),
            Screen::Plan => self.plan_screen(ui),
            Screen::Space => self.space_screen(ui, Look::Solid),
            Screen::Walls => self.space_screen(ui, Look::Flat),
            Screen::Passes => self.passes_screen(ui),
            Screen::Site => self.site_screen(ui),
            Screen::Equipment => self.equipment_screen(ui),
            Screen::Requirement => self.requirement_screen(ui),
            Screen::Conditions => self.conditions_screen(ui),
            Screen::Begin => self.begin_screen(ui),
        }
        true
    }

    /// What the screens ask above everything else, and what is due at the end of a gesture.
    pub(super) fn ask_buildings(&mut self, ctx: &Context) {
        if let Some(answer) =
            self.side.buildings.as_mut().and_then(|question| question.show(ctx, self.home.units()))
        {
            self.side.buildings = None;
            self.side.bare = None;
            match answer {
                BuildingsAnswer::Assume(building) => self.assume(Some(building)),
                BuildingsAnswer::Nothing => {
                    self.assume(None);
                    self.side.bare = Some(Arc::clone(&self.document.scenario().site));
                }
            }
        }
    }

    /// What is left to do once everything is drawn: keep the library, and leave a screen by Escape.
    pub(super) fn after_screens(&mut self, ctx: &Context) {
        if self.side.library_changed && !ctx.input(|input| input.pointer.any_down()) {
            self.side.library_changed = false;
            if let Ok(library) = &self.side.library
                && let Err(why) = self.home.keep_library(library)
            {
                self.tell("Your library was not saved", &why);
            }
        }
        let free = self.dialog.is_none() && self.side.buildings.is_none() && !ctx.text_edit_focused();
        if free
            && self.side.screen != Screen::Board
            && ctx.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape))
        {
            self.side.screen = Screen::Board;
        }
    }

    /// Asks about buildings if nothing stands on the site.
    pub(super) fn ask_about_buildings(&mut self) {
        if nothing_stands(&self.document.scenario().site) {
            self.side.buildings = Some(Buildings::on(&self.document.scenario().site));
        }
    }

    pub(super) fn run_side(&mut self, command: Command) {
        match command {
            Command::ShowBoard => self.side.screen = Screen::Board,
            Command::ShowCard => self.side.screen = Screen::Card,
            Command::ShowTimeline => self.side.screen = Screen::Timeline,
            Command::ShowPlan => self.side.screen = Screen::Plan,
            Command::ShowPasses => self.side.screen = Screen::Passes,
            Command::ShowSite => self.side.screen = Screen::Site,
            Command::ShowSpace => self.side.screen = Screen::Space,
            Command::ShowWalls => self.side.screen = Screen::Walls,
            Command::ShowEquipment => self.side.screen = Screen::Equipment,
            Command::ShowRequirement => self.side.screen = Screen::Requirement,
            Command::ShowConditions => self.side.screen = Screen::Conditions,
            Command::AssumeBuildings => {
                let site = &self.document.scenario().site;
                if site.structures.is_empty() {
                    self.side.buildings = Some(Buildings::on(site));
                } else {
                    self.tell(
                        "Buildings stand there already",
                        "The site has structures of its own; none are assumed.",
                    );
                }
            }
            _ => {}
        }
    }

    fn plan_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        self.follow_space();
        let shown = self.space.panes().into_iter().map(|pane| &self.space.shown()[pane]);
        let panes: Vec<(Id, usize)> = shown.map(|shown| (shown.strategy, shown.slot)).collect();
        if panes.len() > 1 {
            let wanted: Vec<Id> = panes.iter().map(|(id, _)| *id).collect();
            let scenario = Arc::clone(self.document.scenario());
            self.beside.follow_plans(&scenario, &self.figures, &wanted, self.units);
        }
        let (beside, space, units) = (&mut self.beside, &mut self.space, self.units);
        let panel = egui::CentralPanel::default().frame(frame);
        let shown = panel.show(ui, |ui| beside.large(ui, &panes, space, units)).inner;
        match shown {
            Some(PlanAsk::Focus(id)) => self.focus = Some(id),
            Some(PlanAsk::Fold) => self.side.screen = Screen::Board,
            None => {}
        }
    }

    /// Brings the scenes up to the document.
    pub(super) fn follow_space(&mut self) {
        let columns = self.board.as_ref().map(|board| board.columns.as_slice()).unwrap_or_default();
        let strategies: Vec<_> =
            columns.iter().map(|column| (column.strategy, column.name.clone(), column.slot)).collect();
        let scenario = Arc::clone(self.document.scenario());
        self.space.follow(&scenario, &self.figures, &strategies, self.focus);
    }

    fn space_screen(&mut self, ui: &mut Ui, look: Look) {
        self.follow_space();
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let (space, units) = (&mut self.space, self.units);
        let shown = egui::CentralPanel::default().frame(frame).show(ui, |ui| space.ui(ui, look, units)).inner;
        match shown {
            Some(SpaceAsk::Focus(id)) => self.focus = Some(id),
            Some(SpaceAsk::Look(Look::Solid)) => self.side.screen = Screen::Space,
            Some(SpaceAsk::Look(Look::Flat)) => self.side.screen = Screen::Walls,
            Some(SpaceAsk::Close) => self.side.screen = Screen::Board,
            None => {}
        }
    }

    fn equipment_screen(&mut self, ui: &mut Ui) {
        let scenario = Arc::clone(self.document.scenario());
        let flown: Vec<_> =
            scenario.equipment.aircraft.iter().map(|one| (one.id, flown_by(&scenario, one.id))).collect();
        let mut asks = Vec::new();
        let stock = Stock {
            scenario: &scenario.equipment,
            library: self.side.library.as_ref().map_err(String::as_str),
            flown_by: &flown,
            shelf: self.side.shelf,
            units: self.home.units(),
        };
        equipment::ui(ui, &stock, &mut asks);
        for ask in asks {
            match ask {
                equipment::Ask::Show(shelf) => self.side.shelf = shelf,
                equipment::Ask::Close => self.side.screen = Screen::Board,
                equipment::Ask::Put { shelf: Shelf::Scenario, what, equipment } => {
                    let part = Part::Equipment(Arc::new(equipment));
                    self.edit(&Edit::Amend(Amendment { what, part }));
                }
                equipment::Ask::Put { shelf: Shelf::Library, what, equipment } => {
                    self.put_in_library(&what, equipment);
                }
            }
        }
    }

    fn put_in_library(&mut self, what: &str, equipment: Equipment) {
        if let Some(fault) = equipment.faults().into_iter().next() {
            self.tell("The library was not changed", &fault.message);
            return;
        }
        self.side.library = Ok(equipment);
        self.side.library_changed = true;
        if let Some(name) = what.strip_prefix("keep ") {
            self.tell("Kept", &format!("{name} is in your library now, and at hand in every scenario."));
        }
    }

    fn requirement_screen(&mut self, ui: &mut Ui) {
        let mut asks = Vec::new();
        let terms = Terms::of(self.document.scenario());
        let given = requirement_panel::Given {
            terms: &terms,
            unmodelled: &self.figures.unmodelled(self.document.scenario()),
            headline: self.headline(),
            units: self.units,
        };
        requirement_panel::ui(ui, &given, &mut asks);
        for ask in asks {
            match ask {
                requirement_panel::Ask::Close => self.side.screen = Screen::Board,
                requirement_panel::Ask::Board(ask) => self.apply(ask),
                requirement_panel::Ask::Put { what, terms } => {
                    self.edit(&Edit::Amend(Amendment { what, part: Part::Terms(terms) }));
                }
            }
        }
    }

    fn begin_screen(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let mut asks = Vec::new();
        first_use::ui(ui, self.side.rectangle, self.home.units(), &mut asks);
        for ask in asks {
            match ask {
                first_use::Ask::Demo => match files::demo() {
                    Ok(demo) => self.replace_document(Document::new(demo, None)),
                    Err(error) => self.tell("No demo", &error.to_string()),
                },
                first_use::Ask::Boundary => self.pick(Purpose::ImportBoundary, &ctx),
                first_use::Ask::BoundaryTyped => self.ask_path(Purpose::ImportBoundary, ""),
                first_use::Ask::Open => self.unless_unsaved(Then::Open, &ctx),
                first_use::Ask::Resize(rectangle) => self.side.rectangle = rectangle,
                first_use::Ask::Begin(rectangle) => {
                    let scenario = self.document.scenario();
                    let site = rectangle_site(&scenario.site, rectangle);
                    self.new_site(NewSite::elsewhere(scenario, site), Vec::new());
                }
            }
        }
    }

    /// Puts another site in place; where something of the present one would go, it asks first.
    pub(super) fn new_site(&mut self, new: NewSite, notes: Vec<String>) {
        if new.goes.is_empty() {
            self.put_new_site(new, &notes);
        } else {
            self.dialog = Some(Dialog::Goes { new: Box::new(new), notes });
        }
    }

    /// Puts another site in place, shows the board, says what came with it, and asks what stands on the site. A job that
    /// is begun from the demo is flown today, not on the demo's day.
    pub(super) fn put_new_site(&mut self, new: NewSite, notes: &[String]) {
        let NewSite { site, frame, .. } = new;
        let of_demo = || {
            files::demo()
                .is_ok_and(|demo| demo.conditions.mission == self.document.scenario().conditions.mission)
        };
        let begun = frame == SiteFrame::Another && self.document.path().is_none() && of_demo();
        let mission = begun.then(files::mission_today);
        self.document.end_gesture();
        self.edit(&Edit::ReplaceSite { site: Arc::new(site), frame, mission });
        self.document.end_gesture();
        if !notes.is_empty() {
            self.tell("The boundary was imported", &notes.join("\n"));
        }
        let begun = self.side.screen == Screen::Begin;
        self.side.screen = Screen::Board;
        if begun {
            self.ask_about_buildings();
        }
    }

    fn assume(&mut self, typical_building: Option<TypicalBuilding>) {
        let site = Site { typical_building, ..(*self.document.scenario().site).clone() };
        let (site, frame) = (Arc::new(site), SiteFrame::Kept);
        self.edit(&Edit::ReplaceSite { site, frame, mission: None });
        self.document.end_gesture();
    }

    /// A line above the board where roofs and walls cannot be judged, since nothing stands on the site.
    fn offer_buildings(&mut self, ui: &mut Ui) {
        let site = &self.document.scenario().site;
        if self.side.buildings.is_some()
            || !nothing_stands(site)
            || self.side.bare.as_ref().is_some_and(|bare| Arc::ptr_eq(bare, site))
        {
            return;
        }
        let colors = theme::of(ui);
        let frame = Frame::new().fill(colors.page).inner_margin(Margin::symmetric(16, 4));
        let (mut asked, mut describe, mut terrain) = (None, false, false);
        Panel::top("nothing stands").frame(frame).show_separator_line(false).show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = space::ROW;
                let text = "Nothing is modelled on the site, so roofs and walls cannot be judged.";
                ui.label(RichText::new(text).color(colors.warn));
                if ui.button("Assume buildings…").clicked() {
                    asked = Some(true);
                }
                if ui.button("Describe structures…").clicked() {
                    describe = true;
                }
                if !self.has_terrain() && ui.button("Import terrain…").clicked() {
                    terrain = true;
                }
                if ui.button("Nothing stands there").clicked() {
                    asked = Some(false);
                }
            });
        });
        if describe {
            self.side.screen = Screen::Site;
        }
        if terrain {
            self.pick(Purpose::ImportTerrain, &ui.ctx().clone());
        }
        match asked {
            Some(true) => self.side.buildings = Some(Buildings::on(&self.document.scenario().site)),
            Some(false) => self.side.bare = Some(Arc::clone(&self.document.scenario().site)),
            None => {}
        }
    }
}

fn nothing_stands(site: &Site) -> bool {
    site.structures.is_empty() && site.typical_building.is_none()
}
