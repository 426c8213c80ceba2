//! The ways to begin when nothing is open, and what to assume where nothing stands.

use crate::dialogs::meant_unless;
use crate::form::{self, Kind, Named};
use crate::inputs::Marked;
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::{Button, Context, Frame, Id, Label, Modal, RichText, ScrollArea, Ui, vec2};
use glam::DVec2;
use obliquity_planning::limits::Range;
use obliquity_planning::{Site, TypicalBuilding, limits, polygon};

/// A rectangle to begin with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// From west to east.
    pub length_m: f64,
    /// From south to north.
    pub width_m: f64,
}

impl Default for Rectangle {
    fn default() -> Self {
        Rectangle { length_m: 400.0, width_m: 250.0 }
    }
}

/// What the user begins with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FirstUseAsk {
    /// The scenario that is built in.
    Demo,
    /// A boundary file, by the system's dialog.
    Boundary,
    /// A boundary file, by its path.
    BoundaryTyped,
    /// A boundary drawn on the plan.
    Draw,
    /// A boundary drawn over a picture, which the system's dialog finds.
    Picture,
    /// A scenario file, by the system's dialog.
    Open,
    /// Another size of the rectangle.
    Resize(Rectangle),
    /// The rectangle.
    Begin(Rectangle),
}

const CARD: f32 = 300.0;

/// Draws the ways to begin into what is left of the window.
pub fn ui(ui: &mut Ui, rectangle: Rectangle, units: Units, asks: &mut Vec<FirstUseAsk>) {
    let page = Frame::new().fill(theme::of(ui).page).inner_margin(24.0);
    egui::CentralPanel::default().frame(page).show(ui, |ui| {
        ScrollArea::vertical().id_salt("ways to begin").auto_shrink(false).show(ui, |ui| {
            ui.label(RichText::new("What is to be captured?").font(theme::headline()));
            let note = "Obliquity compares capture strategies for one site: time, images, coverage and GSD. It needs the \
                        site's outline; everything else can be changed later. It never flies anything.";
            muted(ui, note);
            ui.add_space(space::PAGE);
            beside_or_below(ui, 3.0 * (CARD + 3.0 * space::PAGE), |ui| {
                ui.spacing_mut().item_spacing = vec2(space::PAGE, space::PAGE);
                card(ui, "Look at the demo", |ui| {
                    muted(ui, "An invented harbour terminal with silos and sheds, and four strategies to compare.");
                    if ui.add(primary(ui, "Open the demo")).clicked() {
                        asks.push(FirstUseAsk::Demo);
                    }
                });
                card(ui, "Bring the site's outline", |ui| {
                    muted(ui, "A polygon in a GeoJSON, KML or KMZ file, or a picture to draw it over; dropping the file on this window does the same.");
                    if ui.add(primary(ui, "Choose a boundary file…")).clicked() {
                        asks.push(FirstUseAsk::Boundary);
                    }
                    ui.horizontal_wrapped(|ui| {
                        if ui.button("Draw it on the plan").clicked() {
                            asks.push(FirstUseAsk::Draw);
                        }
                        let over = ui.button("Draw it over a picture…");
                        let hint = "An orthophoto, a site plan or a scan (GeoTIFF, PNG, JPEG), which lies below the plan";
                        if over.on_hover_text(hint).clicked() {
                            asks.push(FirstUseAsk::Picture);
                        }
                        if ui.button("Type its path…").clicked() {
                            asks.push(FirstUseAsk::BoundaryTyped);
                        }
                    });
                });
                card(ui, "Take a rectangle", |ui| rectangle_card(ui, rectangle, units, asks));
            });
            ui.add_space(space::PAGE);
            let note = "Terrain (an Esri ASCII grid or a GeoTIFF) and structures come after the outline: drop the terrain on \
                        this window, or see Site in the row on top. Orbits, facade wraps, underside sections \
                        and corridors are offered where strategies are added.";
            muted(ui, note);
            ui.add_space(space::PAGE);
            ui.horizontal(|ui| {
                ui.label("Saved a scenario before?");
                if ui.button("Open it…").clicked() {
                    asks.push(FirstUseAsk::Open);
                }
            });
        });
    });
}

fn rectangle_card(ui: &mut Ui, rectangle: Rectangle, units: Units, asks: &mut Vec<FirstUseAsk>) {
    muted(ui, "For a first idea, when only the size is known.");
    let range = Range { what: "side", least: 10.0, most: 5_000.0, mend: "" };
    let kind = Kind { unit: Unit::Metres, decimals: 0, range };
    let [length, width] = [
        Named { name: "Length", spoken: "Length of the rectangle", hint: "From west to east" },
        Named { name: "Width", spoken: "Width of the rectangle", hint: "From south to north" },
    ];
    let marked = Marked::before(ui);
    if let Some(length_m) = form::number(ui, length, kind, rectangle.length_m, units) {
        asks.push(FirstUseAsk::Resize(Rectangle { length_m, ..rectangle }));
    }
    if let Some(width_m) = form::number(ui, width, kind, rectangle.width_m, units) {
        asks.push(FirstUseAsk::Resize(Rectangle { width_m, ..rectangle }));
    }
    muted(ui, &format!("Area: {}", units.area(rectangle.length_m * rectangle.width_m)));
    let button = ui.add_enabled(!marked.since(ui), primary(ui, "Begin with this rectangle"));
    if button.on_disabled_hover_text(Marked::WHY).clicked() {
        asks.push(FirstUseAsk::Begin(rectangle));
    }
}

/// A site that is a rectangle about the origin, flat, with nothing on it; take-off in the middle of its south side.
pub fn rectangle_site(present: &Site, rectangle: Rectangle) -> Site {
    let (east, north) = (rectangle.length_m / 2.0, rectangle.width_m / 2.0);
    let corner = |x: f64, y: f64| DVec2::new(x, y);
    Site {
        name: format!("Rectangle of {:.0} m by {:.0} m", rectangle.length_m, rectangle.width_m),
        origin: None,
        boundary_m: vec![
            corner(-east, -north),
            corner(east, -north),
            corner(east, north),
            corner(-east, north),
        ],
        take_off_m: corner(0.0, -north),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        ..present.clone()
    }
}

/// Puts things beside each other where there is so much room, and below each other where there is not.
pub fn beside_or_below(ui: &mut Ui, width: f32, content: impl FnOnce(&mut Ui)) {
    if ui.available_width() >= width {
        ui.horizontal_top(content);
    } else {
        ui.vertical(content);
    }
}

fn card(ui: &mut Ui, title: &str, content: impl FnOnce(&mut Ui)) {
    let colors = theme::of(ui);
    let frame = Frame::new()
        .fill(colors.surface)
        .stroke(egui::Stroke::new(1.0, colors.rule))
        .corner_radius(6.0)
        .inner_margin(space::PAGE);
    // Side by side they are of one height.
    let least = if ui.layout().is_horizontal() { 168.0 } else { 0.0 };
    frame.show(ui, |ui| {
        ui.vertical(|ui| {
            ui.set_width(CARD);
            ui.set_min_height(least);
            ui.spacing_mut().item_spacing = vec2(space::ROW, space::ROW);
            ui.label(RichText::new(title).font(theme::title()));
            content(ui);
        });
    });
}

fn muted(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
}

/// The button of what is done most.
pub(crate) fn primary(ui: &Ui, text: &str) -> Button<'static> {
    let colors = theme::of(ui);
    Button::new(RichText::new(text.to_owned()).color(colors.on_accent)).fill(colors.accent)
}

/// Buildings to assume, with a name in our own words.
pub const PRESETS: [(&str, TypicalBuilding); 3] = [
    ("Detached houses", TypicalBuilding { width_m: 12.0, depth_m: 9.0, height_m: 7.0, spacing_m: 26.0 }),
    ("Sheds and workshops", TypicalBuilding { width_m: 45.0, depth_m: 25.0, height_m: 9.0, spacing_m: 75.0 }),
    ("Blocks of flats", TypicalBuilding { width_m: 40.0, depth_m: 14.0, height_m: 18.0, spacing_m: 62.0 }),
];

/// The number of buildings counts those that lie partly outside too.
const MARGIN: f64 = 1.05;

/// The question what to assume where nothing stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buildings {
    building: TypicalBuilding,
    /// So that the site has no more of them than can be worked out.
    least_spacing_m: f64,
}

/// What was answered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BuildingsAnswer {
    /// Assume these.
    Assume(TypicalBuilding),
    /// Nothing stands there.
    Nothing,
}

impl Buildings {
    /// The question for a site, beginning with what it assumes so far.
    pub fn on(site: &Site) -> Self {
        let least_spacing_m =
            (polygon::area_m2(&site.boundary_m) / limits::TYPICAL_BUILDINGS).sqrt() * MARGIN;
        let question = Buildings { building: PRESETS[0].1, least_spacing_m };
        Buildings { building: site.typical_building.unwrap_or(question.fitted(PRESETS[0].1)), ..question }
    }

    /// A preset as dense as the site's size allows.
    pub fn fitted(&self, preset: TypicalBuilding) -> TypicalBuilding {
        TypicalBuilding { spacing_m: preset.spacing_m.max(self.least_spacing_m.ceil()), ..preset }
    }

    /// Shows the question; an answer closes it.
    pub fn show(&mut self, ctx: &Context, units: Units) -> Option<BuildingsAnswer> {
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 480.0);
        let shown = Modal::new(Id::unique("buildings")).frame(frame).show(ctx, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = space::ROW;
            self.content(ui, units)
        });
        if shown.should_close() { Some(BuildingsAnswer::Nothing) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, units: Units) -> Option<BuildingsAnswer> {
        ui.label(RichText::new("Nothing is modelled on the site: assume buildings?").font(theme::title()));
        muted(
            ui,
            "Boxes of one size are spread over the site. They hide what is behind them and are seen as real ones are. \
             Figures for roofs and walls then rest on assumed buildings, and say so.",
        );
        ui.horizontal_wrapped(|ui| {
            for (name, preset) in PRESETS {
                let building = self.fitted(preset);
                if ui.selectable_label(self.building == building, name).clicked() {
                    self.building = building;
                }
            }
        });
        let marked = Marked::before(ui);
        self.numbers(ui, units);
        let mut answer = None;
        ui.horizontal(|ui| {
            if meant_unless(ui, "Assume these buildings", marked) {
                answer = Some(BuildingsAnswer::Assume(self.building));
            }
            if ui.button("Nothing stands there").clicked() {
                answer = Some(BuildingsAnswer::Nothing);
            }
        });
        answer
    }

    fn numbers(&mut self, ui: &mut Ui, units: Units) {
        let Buildings { building, least_spacing_m } = self;
        let side = limits::BUILDING_SIDE_M;
        // A box never touches the next one.
        let widest = building.width_m.max(building.depth_m);
        let spacing = (widest + 1.0).max(limits::BUILDING_SPACING_M.least).max(*least_spacing_m);
        let spacing = Range { least: spacing, ..limits::BUILDING_SPACING_M };
        let side = Range { most: side.most.min(building.spacing_m - 1.0).max(side.least), ..side };
        let rows = [
            ("Width", "to the east", side, &mut building.width_m),
            ("Depth", "to the north", side, &mut building.depth_m),
            ("Height", "of the flat roof", limits::BUILDING_HEIGHT_M, &mut building.height_m),
            ("Spacing", "centre to centre", spacing, &mut building.spacing_m),
        ];
        for (name, told, range, value) in rows {
            let spoken = format!("{name} of the buildings");
            // Nothing pops up in a dialog: what to know stands behind the number.
            let named = Named { name, spoken: &spoken, hint: "" };
            let kind = Kind { unit: Unit::Metres, decimals: 1, range };
            if let Some(changed) = form::number_and(ui, named, kind, *value, units, told) {
                *value = changed;
            }
        }
    }
}
