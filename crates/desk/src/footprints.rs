//! The question what of a file's polygons and points becomes what on the site.

use crate::canvas::Canvas;
use crate::dialogs::meant_unless;
use crate::inputs::{Marked, Number, within};
use crate::new_site::apart_m;
use crate::show;
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::{
    Checkbox, ComboBox, Context, Frame, Id as UiId, Label, Modal, Rect, RichText, Role, ScrollArea, Sense,
    Shape, Stroke, Ui, UiBuilder, WidgetInfo, vec2,
};
use glam::DVec2;
use obliquity_exchange::{FootprintFile, LocalFrame};
use obliquity_planning::{
    ControlPoint, GeoPoint, Id, PointRole, Site, Structure, StructureKind, limits, outline_faults, polygon,
};
use std::sync::Arc;

/// What stands farther from the boundary than this matters to no plan, and is left out unless it is chosen.
const NEAR_M: f64 = 200.0;

/// A height to begin with where the file has none: a building of two storeys with its roof.
const USUAL_M: f64 = 8.0;

/// Width of the list; the plan has the rest.
const LIST: f32 = 380.0;

/// Height of a row of the list.
const ROW: f32 = 22.0;

/// What points become.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PointsAs {
    /// Places of control points.
    ControlPoints,
    /// The first one becomes the take-off point.
    TakeOff,
    /// They are left out.
    Nothing,
}

/// Whether a polygon is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ticked {
    Yes,
    No,
}

/// A polygon of the file on the site.
#[derive(Debug, Clone, PartialEq)]
struct Outlined {
    name: String,
    ring_m: Vec<DVec2>,
    /// From west to east, and from south to north.
    size_m: DVec2,
    outside_m: f64,
    /// The heights that its attributes would give, by their places in [`FootprintQuestion::attributes`].
    heights_m: Vec<Option<f64>>,
    wanted: Ticked,
}

/// The question.
#[derive(Debug, Clone)]
pub struct FootprintQuestion {
    file: String,
    site: Arc<Site>,
    outlines: Vec<Outlined>,
    points: Vec<ControlPoint>,
    attributes: Vec<String>,
    /// The attribute that gives heights; none where one height is for all.
    attribute: Option<usize>,
    /// For those that have no height of their own.
    height_m: f64,
    points_as: PointsAs,
    notes: Vec<String>,
}

/// What was answered.
#[derive(Debug, Clone)]
pub enum FootprintAnswer {
    /// The site with what was chosen.
    Take(Box<Site>),
    /// Nothing.
    Cancel,
}

impl FootprintQuestion {
    /// About what a file holds, on a site whose origin lies somewhere.
    pub fn new(file: String, found: &FootprintFile, site: &Arc<Site>, origin: GeoPoint) -> Self {
        let frame = LocalFrame::new(origin);
        let attributes: Vec<String> = found.attributes().into_iter().map(str::to_owned).collect();
        let likely = found.height_attribute();
        let attribute = attributes.iter().position(|name| Some(name.as_str()) == likely);
        let mut notes = found.notes.clone();
        let mut outlines = Vec::new();
        for (index, area) in found.areas.iter().enumerate() {
            let ring_m: Vec<DVec2> = area.ring.iter().map(|&at| frame.to_local(at)).collect();
            let name = area.name.clone().unwrap_or_else(|| format!("Building {}", index + 1));
            if let Some(fault) = outline_faults(&ring_m).into_iter().next() {
                notes.push(format!("left out, {name}: the outline {}", fault.message()));
                continue;
            }
            let heights_m = attributes
                .iter()
                .map(|known| area.numbers.get(known).copied().filter(|height_m| can_be_height(*height_m)))
                .collect();
            outlines.push(Outlined::new(name, ring_m, heights_m, site));
        }
        let named = |(index, name): (usize, Option<&String>)| {
            name.cloned().unwrap_or_else(|| format!("Point {}", index + 1))
        };
        let points = found.points.iter().enumerate().map(|(index, point)| ControlPoint {
            name: named((index, point.name.as_ref())),
            at_m: frame.to_local(point.at),
            role: PointRole::Control,
        });
        let in_frame = |point: &ControlPoint| {
            limits::COORDINATE_M.holds(point.at_m.x) && limits::COORDINATE_M.holds(point.at_m.y)
        };
        let (points, far): (Vec<_>, Vec<_>) = points.partition(in_frame);
        notes.extend(far.iter().map(|point| format!("left out, {}: it is more than 20 km away", point.name)));
        let site = Arc::clone(site);
        let (height_m, points_as) = (USUAL_M, PointsAs::ControlPoints);
        FootprintQuestion { file, site, outlines, points, attributes, attribute, height_m, points_as, notes }
    }

    /// Why nothing of the file can be used; nothing where something can.
    pub fn refusal(&self) -> Option<String> {
        let empty = self.outlines.is_empty() && self.points.is_empty();
        empty.then(|| format!("Nothing of {} can be used:\n{}", self.file, self.notes.join("\n")))
    }

    /// How high a polygon would be, and whether the file says so.
    fn height_of(&self, outlined: &Outlined) -> (f64, bool) {
        let own = self.attribute.and_then(|attribute| outlined.heights_m[attribute]);
        (own.unwrap_or(self.height_m), own.is_some())
    }

    fn wanted(&self) -> impl Iterator<Item = &Outlined> {
        self.outlines.iter().filter(|outlined| outlined.wanted == Ticked::Yes)
    }

    /// The site with what is chosen.
    pub fn site(&self) -> Site {
        let mut site = (*self.site).clone();
        for outlined in self.wanted() {
            let id = Id::next_after(site.structures.iter().map(|structure| structure.id));
            let kind = StructureKind::Extrusion { height_m: self.height_of(outlined).0 };
            let (name, footprint_m) = (outlined.name.clone(), outlined.ring_m.clone());
            site.structures.push(Structure { id, name, footprint_m, kind });
        }
        if !site.structures.is_empty() {
            site.typical_building = None;
        }
        match (self.points_as, self.points.first()) {
            (PointsAs::ControlPoints, _) => site.control_points.extend(self.points.iter().cloned()),
            (PointsAs::TakeOff, Some(first)) => site.take_off_m = first.at_m,
            _ => {}
        }
        site
    }

    /// What would become what, in a sentence.
    pub fn told(&self) -> String {
        let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let mut parts = Vec::new();
        if !self.outlines.is_empty() {
            let (wanted, all) = (self.wanted().count(), self.outlines.len());
            let guessed = self.wanted().filter(|outlined| !self.height_of(outlined).1).count();
            let buildings = show::counted(count(wanted), "building", "buildings");
            let mut text = format!(
                "{wanted} of {} become {buildings}",
                show::counted(count(all), "polygon", "polygons")
            );
            if wanted == all {
                text = format!("{} become {buildings}", show::counted(count(all), "polygon", "polygons"));
            }
            if guessed > 0 {
                text = format!("{text}, {guessed} of them of the height given here");
            }
            parts.push(text);
        }
        let points = show::counted(count(self.points.len()), "point", "points");
        match (self.points_as, self.points.len()) {
            (_, 0) => {}
            (PointsAs::ControlPoints, _) => parts.push(format!("{points} become control points")),
            (PointsAs::TakeOff, 1) => parts.push("the point becomes the take-off".to_owned()),
            (PointsAs::TakeOff, _) => parts.push(format!("the first of {points} becomes the take-off")),
            (PointsAs::Nothing, _) => parts.push(format!("{points} are left out")),
        }
        format!("{}.", parts.join("; "))
    }

    /// Shows the question; an answer closes it.
    pub fn show(&mut self, ctx: &Context, units: Units) -> Option<FootprintAnswer> {
        let room = ctx.content_rect();
        let size = vec2(
            (room.width() - 6.0 * space::PAGE).clamp(320.0, 1200.0),
            (room.height() - 6.0 * space::PAGE).clamp(240.0, 720.0),
        );
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        let shown = Modal::new(UiId::unique("footprints")).frame(frame).show(ctx, |ui| {
            ui.set_width(size.x);
            ui.set_height(size.y);
            ui.spacing_mut().item_spacing.y = space::ROW;
            self.content(ui, units)
        });
        if shown.should_close() { Some(FootprintAnswer::Cancel) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, units: Units) -> Option<FootprintAnswer> {
        let room = ui.available_rect_before_wrap();
        let left = room.with_max_x(room.left() + LIST.min(0.6 * room.width()));
        let right = room.with_min_x(left.right() + space::PAGE);
        let answer = ui
            .scope_builder(UiBuilder::new().id_salt("list").max_rect(left), |ui| self.list(ui, units))
            .inner;
        ui.scope_builder(UiBuilder::new().id_salt("plan").max_rect(right), |ui| self.plan(ui));
        answer
    }

    fn list(&mut self, ui: &mut Ui, units: Units) -> Option<FootprintAnswer> {
        let heading = format!("What of {} becomes what?", self.file);
        ui.add(Label::new(RichText::new(heading).font(theme::title())).wrap());
        let marked = Marked::before(ui);
        if !self.outlines.is_empty() {
            self.heights(ui, units);
        }
        if !self.points.is_empty() {
            self.choose_points(ui);
        }
        let notes = if self.notes.is_empty() { 0.0 } else { 64.0 };
        let rows = (ui.available_height() - notes - 84.0).max(3.0 * ROW);
        self.rows(ui, rows, units);
        if !self.notes.is_empty() {
            ScrollArea::vertical().id_salt("notes").max_height(notes).auto_shrink([false, true]).show(
                ui,
                |ui| {
                    let text =
                        RichText::new(self.notes.join("\n")).font(theme::caption()).color(theme::of(ui).warn);
                    ui.add(Label::new(text).wrap());
                },
            );
        }
        ui.add(Label::new(self.told()).wrap());
        let mut answer = None;
        ui.horizontal(|ui| {
            if meant_unless(ui, "Import", marked) {
                answer = Some(FootprintAnswer::Take(Box::new(self.site())));
            }
            if ui.button("Cancel").clicked() {
                answer = Some(FootprintAnswer::Cancel);
            }
        });
        answer
    }

    /// Which attribute is the height, and what those without one have.
    fn heights(&mut self, ui: &mut Ui, units: Units) {
        ui.horizontal(|ui| {
            ui.label("Height from");
            let none = "one height for all";
            let chosen =
                self.attribute.map_or(none, |attribute| self.attributes[attribute].as_str()).to_owned();
            let combo = ComboBox::from_id_salt("height from").selected_text(&chosen).width(150.0).truncate();
            let shown = combo.show_ui(ui, |ui| {
                ui.selectable_value(&mut self.attribute, None, none);
                for (index, name) in self.attributes.iter().enumerate() {
                    ui.selectable_value(&mut self.attribute, Some(index), name);
                }
            });
            ui.ctx().accesskit_node_builder(shown.response.id, |node| {
                node.set_label(format!("Height from: {chosen}"));
            });
            shown
                .response
                .on_hover_text("The attribute that says how high each stands above the ground, in metres");
        });
        ui.horizontal(|ui| {
            ui.label(if self.attribute.is_some() { "Where it is missing" } else { "Height of all" });
            let number = Number {
                name: "Height of those without one",
                hint: "",
                unit: Unit::Metres,
                range: within(limits::STRUCTURE_HEIGHT_M),
                value: self.height_m,
                decimals: 1,
            };
            let (area, _) = ui.allocate_exact_size(vec2(84.0, 22.0), Sense::hover());
            if let Some(typed) = number.put(ui, units, area) {
                self.height_m = typed;
            }
        });
    }

    fn choose_points(&mut self, ui: &mut Ui) {
        ui.horizontal_wrapped(|ui| {
            ui.label("Points become");
            for (choice, text) in [
                (PointsAs::ControlPoints, "control points"),
                (PointsAs::TakeOff, "the take-off"),
                (PointsAs::Nothing, "nothing"),
            ] {
                if ui.radio(self.points_as == choice, text).clicked() {
                    self.points_as = choice;
                }
            }
        });
    }

    /// A file may have thousands: only those in sight are drawn.
    fn rows(&mut self, ui: &mut Ui, height: f32, units: Units) {
        let count = self.outlines.len();
        let area = ScrollArea::vertical().id_salt("rows").max_height(height).auto_shrink([false, true]);
        area.show_rows(ui, ROW, count, |ui, range| {
            for index in range {
                let outlined = &self.outlines[index];
                let (height_m, own) = self.height_of(outlined);
                let text = outlined.text(units, height_m, own);
                let mut wanted = outlined.wanted == Ticked::Yes;
                let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
                ui.scope_builder(UiBuilder::new().id_salt(index).max_rect(place), |ui| {
                    ui.add(Checkbox::new(&mut wanted, &text)).on_hover_text(&text);
                });
                self.outlines[index].wanted = if wanted { Ticked::Yes } else { Ticked::No };
            }
        });
    }

    fn plan(&self, ui: &mut Ui) {
        let (response, painter) = ui.allocate_painter(ui.available_size(), Sense::hover());
        let (area, colors) = (response.rect, theme::of(ui));
        painter.rect_filled(area, 4.0, colors.page);
        let canvas = Canvas::fitted(self.bounds_m(), area);
        let line = |ring: &[DVec2], stroke: Stroke| {
            let points: Vec<_> = ring.iter().map(|&at| canvas.to_screen(at, area)).collect();
            if Rect::from_points(&points).intersects(area) {
                painter.add(Shape::closed_line(points, stroke));
            }
        };
        line(&self.site.boundary_m, Stroke::new(2.0, colors.ink));
        for structure in &self.site.structures {
            line(&structure.footprint_m, Stroke::new(1.0, colors.muted));
        }
        for outlined in &self.outlines {
            let wanted = outlined.wanted == Ticked::Yes;
            let stroke = if wanted { Stroke::new(2.0, colors.accent) } else { Stroke::new(1.0, colors.rule) };
            line(&outlined.ring_m, stroke);
        }
        if self.points_as != PointsAs::Nothing {
            for point in &self.points {
                painter.circle_filled(canvas.to_screen(point.at_m, area), 4.0, colors.accent);
            }
        }
        let spoken = format!("Plan of what is imported: {}", self.told());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    }

    fn bounds_m(&self) -> (DVec2, DVec2) {
        let rings = self.wanted().map(|outlined| outlined.ring_m.as_slice());
        let all = rings.chain([self.site.boundary_m.as_slice()]).flatten();
        all.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| (low.min(*at), high.max(*at)))
    }
}

impl Outlined {
    fn new(name: String, ring_m: Vec<DVec2>, heights_m: Vec<Option<f64>>, site: &Site) -> Self {
        let outside_m = apart_m(&site.boundary_m, &ring_m);
        // What holds the whole boundary is the plot, not a building on it.
        let holds_site = site.boundary_m.iter().all(|&at| polygon::contains(&ring_m, at))
            || polygon::area_m2(&ring_m) > 0.9 * polygon::area_m2(&site.boundary_m);
        let wanted = if outside_m <= NEAR_M && !holds_site { Ticked::Yes } else { Ticked::No };
        let low = ring_m.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let high = ring_m.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        Outlined { name, ring_m, size_m: high - low, outside_m, heights_m, wanted }
    }

    fn text(&self, units: Units, height_m: f64, own: bool) -> String {
        let guess = if own { "" } else { " (given here)" };
        let (width, depth) = (units.length(self.size_m.x), units.length(self.size_m.y));
        let outside = if self.outside_m > 0.0 {
            format!(", {} outside", units.length(self.outside_m))
        } else {
            String::new()
        };
        let height = units.text(Unit::Metres, height_m);
        format!("{}: {width} by {depth}, {height} high{guess}{outside}", self.name)
    }
}

fn can_be_height(height_m: f64) -> bool {
    limits::STRUCTURE_HEIGHT_M.holds(height_m)
}
