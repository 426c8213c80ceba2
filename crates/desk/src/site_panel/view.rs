//! Draws what the site is made of.

use super::ask::{GivenSite, SiteAsk, SiteState, chosen, length};
use super::earth;
use super::ground::ground_text;
use super::make::{NewRectangle, free_structure_id, kind_text, rectangle_m, with_structure};
use super::structures;
use crate::amendment::{ScenarioNames, Subject};
use crate::figures::Freshness;
use crate::form::{self, CARD, Kind, Named, Rows};
use crate::inputs::Marked;
use crate::target::Target;
use crate::theme::{self, space};
use crate::units::Unit;
use egui::{Frame, Margin, Panel, Rect, ScrollArea, Ui, UiBuilder, vec2};
use obliquity_planning::{
    At, KnobId, PointRole, Site, Structure, StructureKind, Terrain, knob, limits, polygon,
};

/// Height of the note.
const HEAD: f32 = 58.0;
/// Height of the name with the area below it, where the note stands under them.
const NAME: f32 = 46.0;
/// Width of the names.
const NAMES: f32 = 360.0;

/// Draws the site into what is left of the window.
pub fn ui(ui: &mut Ui, given: &GivenSite<'_>, state: &mut SiteState, asks: &mut Vec<SiteAsk>) {
    let page = Frame::new().fill(theme::of(ui).page);
    let edges = page.inner_margin(Margin::symmetric(16, 10));
    Panel::top("site head").frame(edges).show_separator_line(false).show(ui, |ui| {
        head(ui, given, asks);
    });
    let width = form::list_width(ui);
    if let Some(width) = width {
        let edges = page.inner_margin(Margin { left: 16, right: 8, top: 0, bottom: 8 });
        let beside = Panel::left("structures").exact_size(width).resizable(false).frame(edges);
        beside.show_separator_line(false).show(ui, |ui| {
            ScrollArea::vertical()
                .id_salt("structures")
                .auto_shrink(false)
                .show(ui, |ui| list(ui, given, state, asks));
        });
    }
    let edges = Margin { left: if width.is_some() { 8 } else { 16 }, right: 8, top: 0, bottom: 0 };
    egui::CentralPanel::default().frame(page.inner_margin(edges)).show(ui, |ui| {
        ScrollArea::vertical().id_salt("site").auto_shrink(false).show(ui, |ui| {
            if width.is_none() {
                list(ui, given, state, asks);
                ui.add_space(space::GROUP);
            }
            cards(ui, given, state, asks);
            ui.add_space(space::PAGE);
        });
    });
}

/// The site's name, its area, and beside them the scenario's note, changed where they stand.
fn head(ui: &mut Ui, given: &GivenSite<'_>, asks: &mut Vec<SiteAsk>) {
    let names = ScenarioNames::of(given.scenario);
    let wide = ui.available_width() >= 2.0 * NAMES;
    let height = if wide { HEAD } else { NAME + HEAD };
    let whole = Rect::from_min_size(ui.cursor().min, vec2(ui.available_width(), height));
    let (name, note) = if wide {
        let (name, note) = whole.split_left_right_at_x(whole.left() + NAMES);
        (name, note.with_min_x(note.left() + space::GROUP))
    } else {
        whole.split_top_bottom_at_y(whole.top() + NAME)
    };
    ui.scope_builder(UiBuilder::new().id_salt("name").max_rect(name), |ui| {
        ui.spacing_mut().item_spacing.y = space::TIGHT;
        if let Some(site) = structures::name_input(ui, "site", &names.site, "Name of the site") {
            let names = ScenarioNames { site, ..names.clone() };
            asks.push(SiteAsk::Name { what: "name of the site", names });
        }
        let area_m2 = polygon::area_m2(&given.scenario.site.boundary_m);
        form::muted(ui, &format!("{} inside the boundary", given.units.area(area_m2)));
    });
    ui.scope_builder(UiBuilder::new().id_salt("note").max_rect(note), |ui| {
        ScrollArea::vertical().id_salt("note").max_height(HEAD).min_scrolled_height(HEAD).show(ui, |ui| {
            let hint = "A note for whoever opens the scenario: what was asked for, what is not modelled";
            if let Some(note) = structures::note_input(ui, &names.note, hint, "Note of the scenario") {
                asks.push(SiteAsk::Name { what: "note", names: ScenarioNames { note, ..names.clone() } });
            }
        });
    });
    ui.advance_cursor_after_rect(whole);
}

fn list(ui: &mut Ui, given: &GivenSite<'_>, state: &mut SiteState, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
    if site.structures.is_empty() {
        let text = match site.typical_building {
            Some(_) => {
                "No structures of its own: typical buildings are assumed. They go when you add one here."
            }
            None => {
                "No structures yet. Describe a rectangle and add it; its corners can be moved afterwards."
            }
        };
        form::muted(ui, text);
    }
    let at = chosen(site, state).map(|(at, _)| at);
    for (index, structure) in site.structures.iter().enumerate() {
        let length = |m: f64| given.units.text(Unit::Metres, m);
        let sizes = match &structure.kind {
            StructureKind::Extrusion { height_m } => length(*height_m),
            StructureKind::Deck { soffit_m, top_m, .. } => {
                format!("{} to {}", length(*soffit_m), length(*top_m))
            }
        };
        let text = format!("{}\n{}, {sizes}", structure.name, kind_text(&structure.kind));
        let button = egui::Button::selectable(at == Some(index), text)
            .wrap()
            .min_size(vec2(ui.available_width(), 38.0));
        let response = ui.add(button);
        form::spoken(ui, &response, &format!("Structure {}", structure.name));
        if response.clicked() {
            state.chosen = Some(structure.id);
        }
    }
    on_plan(ui, site, asks);
}

/// What is drawn and changed on the plan.
fn on_plan(ui: &mut Ui, site: &Site, asks: &mut Vec<SiteAsk>) {
    ui.add_space(space::ROW);
    form::muted(ui, "Drawn on the plan; click to go there:");
    let keep_outs = site.keep_outs.iter().enumerate();
    let keep_outs = keep_outs.map(|(at, one)| (format!("Keep-out: {}", one.name), Target::KeepOut(at)));
    let points = site.control_points.iter().enumerate();
    let points =
        points.map(|(at, one)| (format!("{} {}", role_text(one.role), one.name), Target::ControlPoint(at)));
    let first = [("Boundary".to_owned(), Target::Boundary), ("Take-off point".to_owned(), Target::TakeOff)];
    for (name, target) in first.into_iter().chain(keep_outs).chain(points) {
        let button = egui::Button::selectable(false, &name).truncate();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 26.0)));
        form::spoken(ui, &response, &format!("{name}, on the plan"));
        if response.clicked() {
            asks.push(SiteAsk::OnPlan(target));
        }
    }
}

fn role_text(role: PointRole) -> &'static str {
    match role {
        PointRole::Control => "Control point",
        PointRole::Check => "Check point",
    }
}

fn cards(ui: &mut Ui, given: &GivenSite<'_>, state: &mut SiteState, asks: &mut Vec<SiteAsk>) {
    ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
    if ui.available_width() >= 2.0 * CARD + space::GROUP {
        ui.horizontal_top(|ui| {
            column(ui, |ui| {
                structures::card(ui, given, state, asks);
                adding(ui, given, state, asks);
            });
            column(ui, |ui| {
                earth::card(ui, given, state, asks);
                ground(ui, given, asks);
                samples(ui, given, asks);
            });
        });
    } else {
        column(ui, |ui| {
            structures::card(ui, given, state, asks);
            adding(ui, given, state, asks);
            earth::card(ui, given, state, asks);
            ground(ui, given, asks);
            samples(ui, given, asks);
        });
    }
}

fn column(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(CARD);
        content(ui);
    });
}

/// The rectangle to begin with: in the middle of the site.
fn begun(site: &Site) -> NewRectangle {
    let middle_m = polygon::centroid_m(&site.boundary_m).round();
    NewRectangle { middle_m, length_m: 20.0, width_m: 12.0, direction_deg: 0.0 }
}

/// A rectangle by its numbers.
fn adding(ui: &mut Ui, given: &GivenSite<'_>, state: &mut SiteState, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    form::card(
        ui,
        "Add a structure",
        "A rectangle; corners can be moved, added and removed afterwards",
        |ui| {
            let mut rectangle = state.rectangle.unwrap_or_else(|| begun(site));
            let mut height_m = state.height_m.unwrap_or(8.0);
            let degrees = Kind { unit: Unit::Degrees, decimals: 0, range: limits::DIRECTION_DEG };
            let side = length(limits::BUILDING_SIDE_M);
            let place = length(limits::COORDINATE_M);
            let rows = [
                ("Middle, east", "East of the site's origin", place, &mut rectangle.middle_m.x),
                ("Middle, north", "North of the site's origin", place, &mut rectangle.middle_m.y),
                ("Length", "Of the long side", side, &mut rectangle.length_m),
                ("Width", "Of the other side", side, &mut rectangle.width_m),
                (
                    "Direction",
                    "Of the long side, clockwise from north",
                    degrees,
                    &mut rectangle.direction_deg,
                ),
                (
                    "Height",
                    "Of the flat roof above the ground",
                    length(limits::STRUCTURE_HEIGHT_M),
                    &mut height_m,
                ),
            ];
            let marked = Marked::before(ui);
            for (name, hint, kind, value) in rows {
                let spoken = format!("{name} of the new structure");
                if let Some(changed) =
                    form::number(ui, Named { name, spoken: &spoken, hint }, kind, *value, given.units)
                {
                    *value = changed;
                }
            }
            (state.rectangle, state.height_m) = (Some(rectangle), Some(height_m));
            let room = site.structures.len() < limits::STRUCTURES;
            let marked = marked.since(ui);
            let button = ui.add_enabled(room && !marked, egui::Button::new("Add this structure"));
            let button = if marked { button.on_disabled_hover_text(Marked::WHY) } else { button };
            if button.clicked() {
                let id = free_structure_id(site);
                let name = super::make::free_name(site, "Structure");
                let kind = StructureKind::Extrusion { height_m };
                let what = format!("add {name}");
                let structure = Structure { id, name, footprint_m: rectangle_m(&rectangle), kind };
                // Boxes are assumed only where nothing is modelled.
                let site = Site { typical_building: None, ..with_structure(site, structure) };
                asks.push(SiteAsk::Put { what: what.into(), site: Box::new(site) });
                state.chosen = Some(id);
            }
        },
    );
}

fn ground(ui: &mut Ui, given: &GivenSite<'_>, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    form::card(ui, "Ground", &ground_text(&site.terrain, given.units), |ui| {
        if let Terrain::Plane { at_origin_m, slope_east, slope_north } = site.terrain {
            let share = Kind { unit: Unit::Share, decimals: 1, range: limits::SLOPE };
            let height = length(limits::TERRAIN_HEIGHT_M);
            let rows = [
                ("Height at the origin", "Of the plane, above your datum", height, at_origin_m),
                ("Rise to the east", "Metres up for each metre to the east", share, slope_east),
                ("Rise to the north", "Metres up for each metre to the north", share, slope_north),
            ];
            for (at, (name, hint, kind, value)) in rows.into_iter().enumerate() {
                let spoken = format!("{name} of the ground");
                let named = Named { name, spoken: &spoken, hint };
                if let Some(changed) = form::number(ui, named, kind, value, given.units) {
                    let mut plane = [at_origin_m, slope_east, slope_north];
                    plane[at] = changed;
                    let [at_origin_m, slope_east, slope_north] = plane;
                    let terrain = Terrain::Plane { at_origin_m, slope_east, slope_north };
                    let site = Site { terrain, ..(**site).clone() };
                    asks.push(SiteAsk::Put { what: spoken.into(), site: Box::new(site) });
                }
            }
        }
        let note = "An Esri ASCII grid (.asc) or a GeoTIFF with heights; dropping the file on this window does the same. It \
                    is cut to the site and kept in the scenario.";
        form::muted(ui, note);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = space::ROW;
            if ui.button("Import terrain…").clicked() {
                asks.push(SiteAsk::ImportTerrain);
            }
            if ui.button("Type its path…").clicked() {
                asks.push(SiteAsk::ImportTerrainTyped);
            }
            let grid = matches!(site.terrain, Terrain::Grid(_));
            let remove = ui.add_enabled(grid, egui::Button::new("Remove terrain"));
            let hint = "Make the ground level, at the height it has in the middle of the site";
            if remove.on_hover_text(hint).on_disabled_hover_text("The ground is a plane already").clicked() {
                asks.push(SiteAsk::RemoveTerrain);
            }
        });
        form::muted(
            ui,
            "Whether a pass flies above take-off or above the ground is set with its height, on the screen of passes.",
        );
    });
}

fn samples(ui: &mut Ui, given: &GivenSite<'_>, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    form::card(ui, "Samples", "Points on every surface at which views are counted", |ui| {
        let spacing = knob(KnobId::SAMPLE_SPACING);
        let present = given.spacing.map(|(m, _)| (100.0 * m).round() / 100.0);
        let rows = Rows { begins_at: &|_| present, ..Rows::plain(given.units) };
        if let Some(site) = rows.knob(ui, &spacing, &**site) {
            let what = Subject::input(&spacing, At::Scenario, "sample spacing");
            asks.push(SiteAsk::Put { what, site: Box::new(site) });
        }
        if let Some((spacing_m, freshness)) = given.spacing {
            let text = given.units.text(Unit::Metres, spacing_m);
            match freshness {
                Freshness::Fresh => form::figure(ui, "Now", &format!("{text} apart")),
                Freshness::Stale | Freshness::Pending => {
                    form::figure(ui, "Updating", &format!("{text} apart before"));
                }
            }
        }
        let note = "Automatic aims at about 60\u{a0}000 samples on ground, roofs and walls. Half the spacing means four times as \
                    many samples and as much more work; on the examples it changes coverage by less than 1 point (see the \
                    README).";
        form::muted(ui, note);
    });
}
