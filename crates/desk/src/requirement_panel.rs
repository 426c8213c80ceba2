//! What the job must deliver, and how long processing takes.

use crate::amendment::Terms;
use crate::board::{self, Headline};
use crate::first_use::beside_or_below;
use crate::inputs::{Number, within};
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::{Frame, Label, Margin, Panel, Rect, RichText, ScrollArea, Sense, Ui, vec2};
use obliquity_planning::{SurfaceClass, limits};
use std::ops::RangeInclusive;

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// Other terms in place of the present ones.
    Put {
        /// What the edit is called.
        what: String,
        /// All of them.
        terms: Box<Terms>,
    },
    /// What the board is asked for.
    Board(board::Ask),
    /// Go back to the board.
    Close,
}

/// What the screen shows.
#[derive(Debug)]
pub struct Given<'a> {
    /// The terms as they stand.
    pub terms: &'a Terms,
    /// Classes of surface that the site does not have.
    pub unmodelled: &'a [SurfaceClass],
    /// The board's sentence.
    pub headline: Headline<'a>,
    /// What numbers are shown in.
    pub units: Units,
}

/// One number of the terms.
#[derive(Clone)]
struct Line {
    name: String,
    hint: &'static str,
    unit: Unit,
    range: RangeInclusive<f64>,
    decimals: usize,
    /// For what need not be asked for: the value that it begins with.
    begins_at: Option<f64>,
    get: fn(&Terms, SurfaceClass) -> Option<f64>,
    set: fn(&mut Terms, SurfaceClass, Option<f64>),
    class: SurfaceClass,
}

impl Line {
    /// Whether it is a class's first line.
    fn is_coverage(&self) -> bool {
        self.unit == Unit::Share
    }
}

const CARD_WIDTH: f32 = 372.0;
const NAME_WIDTH: f32 = 208.0;
const ROW: f32 = 25.0;
const NOTE: f32 = 16.0;
/// As far in as the name behind a box to tick.
const INDENT: f32 = 24.0;

/// Draws the terms into what is left of the window.
pub fn ui(ui: &mut Ui, given: &Given<'_>, asks: &mut Vec<Ask>) {
    let page = Frame::new().fill(theme::of(ui).page);
    let edges = page.inner_margin(Margin::symmetric(16, 10));
    Panel::top("terms head").frame(edges).show_separator_line(false).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("Requirement").font(theme::headline()));
            ui.add_space(space::PAGE);
            if ui.button("Back to the board").on_hover_text("Esc").clicked() {
                asks.push(Ask::Close);
            }
            let mut of_board = Vec::new();
            given.headline.status(ui, &mut of_board);
            asks.extend(of_board.into_iter().map(Ask::Board));
        });
        given.headline.text(ui);
    });
    egui::CentralPanel::default().frame(page.inner_margin(Margin::symmetric(16, 4))).show(ui, |ui| {
        ScrollArea::vertical().id_salt("terms").auto_shrink(false).show(ui, |ui| {
            beside_or_below(ui, 3.0 * (CARD_WIDTH + space::GROUP), |ui| {
                ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    let note = "A strategy meets the requirement when it reaches all of this";
                    card(ui, "Must deliver", note, &delivers(), given, asks);
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    let note =
                        "When a view counts, and when views cover a surface; the same for all strategies";
                    card(ui, "Coverage means", note, &views(), given, asks);
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    rates(ui, given, asks);
                });
            });
        });
    });
}

fn frame(ui: &Ui) -> Frame {
    let colors = theme::of(ui);
    Frame::new()
        .fill(colors.surface)
        .stroke(egui::Stroke::new(1.0, colors.rule))
        .corner_radius(6.0)
        .inner_margin(space::GROUP)
}

fn title(ui: &mut Ui, text: &str, note: &str) {
    ui.spacing_mut().item_spacing = vec2(space::ROW, 1.0);
    ui.label(RichText::new(text).font(theme::title()));
    ui.add(Label::new(RichText::new(note).font(theme::caption()).color(theme::of(ui).muted)).wrap());
    ui.add_space(space::TIGHT);
}

fn card(ui: &mut Ui, name: &str, note: &str, lines: &[Line], given: &Given<'_>, asks: &mut Vec<Ask>) {
    frame(ui).show(ui, |ui| {
        ui.set_width(CARD_WIDTH - 2.0 * space::GROUP);
        title(ui, name, note);
        for line in lines {
            show(ui, line, given, asks);
            if line.is_coverage() && given.unmodelled.contains(&line.class) {
                not_judged(ui, line.class);
            }
        }
    });
}

/// Under a class's first line: nothing of it is judged, whatever is asked.
fn not_judged(ui: &mut Ui, class: SurfaceClass) {
    let (row, response) = ui.allocate_exact_size(vec2(ui.available_width(), NOTE), Sense::hover());
    let text = "not modelled: not judged";
    let muted = theme::of(ui).muted;
    ui.painter().text(
        row.left_top() + vec2(INDENT, 0.0),
        egui::Align2::LEFT_TOP,
        text,
        theme::caption(),
        muted,
    );
    let said = format!("{}: {text}", class.name());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    response.on_hover_text("The site has no such surface; draw structures to have it judged");
}

fn show(ui: &mut Ui, line: &Line, given: &Given<'_>, asks: &mut Vec<Ask>) {
    let (terms, units) = (given.terms, given.units);
    let value = (line.get)(terms, line.class);
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let name_at = Rect::from_min_size(row.min, vec2(NAME_WIDTH, ROW));
    let number_at = Rect::from_min_max(name_at.right_top() + vec2(0.0, 1.5), row.max - vec2(0.0, 1.5));
    let mut put = |value: Option<f64>| {
        let mut changed = terms.clone();
        (line.set)(&mut changed, line.class, value);
        asks.push(Ask::Put { what: line.name.clone(), terms: Box::new(changed) });
    };
    match line.begins_at {
        None => {
            ui.painter().text(
                name_at.left_center(),
                egui::Align2::LEFT_CENTER,
                &line.name,
                theme::body(),
                theme::of(ui).ink,
            );
            ui.interact(name_at, ui.scope_id().with(&line.name), Sense::hover()).on_hover_text(line.hint);
        }
        Some(begins_at) => {
            let mut asked = value.is_some();
            let name = ui
                .new_child(
                    egui::UiBuilder::new()
                        .max_rect(name_at)
                        .layout(egui::Layout::left_to_right(egui::Align::Center)),
                )
                .checkbox(&mut asked, &line.name);
            if name.on_hover_text(line.hint).changed() {
                put(asked.then_some(begins_at));
            }
        }
    }
    let Some(value) = value else {
        let muted = theme::of(ui).muted;
        ui.painter().text(
            number_at.center(),
            egui::Align2::CENTER_CENTER,
            "not asked for",
            theme::caption(),
            muted,
        );
        return;
    };
    let name = format!("{}, as a number", line.name);
    let input = Number {
        name: &name,
        hint: line.hint,
        unit: line.unit,
        range: line.range.clone(),
        value,
        decimals: line.decimals,
    };
    if let Some(value) = input.put(ui, units, number_at) {
        put(Some(value));
    }
}

macro_rules! line {
    ($name:expr, $hint:expr, $unit:expr, $decimals:literal, $range:expr, $($at:ident).+) => {
        Line {
            name: $name.to_owned(),
            hint: $hint,
            unit: $unit,
            range: $range,
            decimals: $decimals,
            begins_at: None,
            get: |terms, _| Some(terms.$($at).+),
            set: |terms, _, value| terms.$($at).+ = value.unwrap_or(terms.$($at).+),
            class: SurfaceClass::Ground,
        }
    };
    // Counts: the type that the scenario keeps stands behind the path.
    ($name:expr, $hint:expr, $unit:expr, $decimals:literal, $range:expr, $($at:ident).+ as u32) => {
        Line {
            name: $name.to_owned(),
            hint: $hint,
            unit: $unit,
            range: $range,
            decimals: $decimals,
            begins_at: None,
            get: |terms, _| Some(f64::from(terms.$($at).+)),
            set: |terms, _, value| terms.$($at).+ = value.map_or(terms.$($at).+, |value| value.round() as u32),
            class: SurfaceClass::Ground,
        }
    };
}

fn delivers() -> Vec<Line> {
    let of_class = |class: SurfaceClass| {
        let surface = match class {
            SurfaceClass::Ground => "ground",
            SurfaceClass::Roof => "roofs",
            SurfaceClass::Wall => "walls",
            SurfaceClass::Underside => "undersides",
        };
        let begins_at =
            if class == SurfaceClass::Wall || class == SurfaceClass::Underside { 0.8 } else { 0.95 };
        [
            Line {
                name: format!("Coverage of {surface}"),
                hint: "Least share of the area that must be covered; what that means stands below",
                unit: Unit::Share,
                range: within(limits::COVERAGE),
                decimals: 1,
                begins_at: Some(begins_at),
                get: |terms, class| terms.requirement.coverage[class],
                set: |terms, class, value| terms.requirement.coverage[class] = value,
                class,
            },
            Line {
                name: format!("GSD on {surface}"),
                hint: "Coarsest allowed on 95 % of the area seen; a view more than twice as coarse does not count",
                unit: Unit::GsdCentimetres,
                range: within(limits::GSD_CM),
                decimals: 2,
                begins_at: None,
                get: |terms, class| Some(terms.requirement.gsd_cm[class]),
                set: |terms, class, value| {
                    terms.requirement.gsd_cm[class] = value.unwrap_or(terms.requirement.gsd_cm[class]);
                },
                class,
            },
        ]
    };
    let mut lines: Vec<Line> = SurfaceClass::ALL.into_iter().flat_map(of_class).collect();
    lines.push(Line {
        name: "Time on site".to_owned(),
        hint: "Longest stay, from arriving to leaving: set-up, flying, battery changes, control points, pack-up",
        unit: Unit::Minutes,
        range: within(limits::TIME_ON_SITE_MIN),
        decimals: 0,
        begins_at: Some(120.0),
        get: |terms, _| terms.requirement.time_on_site_min,
        set: |terms, _, value| terms.requirement.time_on_site_min = value,
        class: SurfaceClass::Ground,
    });
    lines.push(Line {
        name: "Images".to_owned(),
        hint: "Most images, for instance what your processing takes",
        unit: Unit::Count,
        range: within(limits::IMAGES),
        decimals: 0,
        begins_at: Some(2000.0),
        get: |terms, _| terms.requirement.images.map(f64::from),
        set: |terms, _, value| terms.requirement.images = value.map(|value| value.round() as u32),
        class: SurfaceClass::Ground,
    });
    lines
}

fn views() -> Vec<Line> {
    vec![
        line!(
            "Maximum incidence",
            "A view counts when its ray meets the surface within this angle of the surface's normal",
            Unit::Degrees,
            0,
            within(limits::INCIDENCE_DEG),
            requirement.views.max_incidence_deg
        ),
        line!(
            "Minimum views",
            "Counted views that a covered point has in one linked group",
            Unit::Count,
            0,
            within(limits::MIN_VIEWS),
            requirement.views.min_views as u32
        ),
        line!(
            "Minimum intersection angle",
            "Between some two rays of the group; a smaller angle leaves the distance uncertain",
            Unit::Degrees,
            0,
            within(limits::INTERSECTION_DEG),
            requirement.views.min_intersection_deg
        ),
        line!(
            "Maximum link angle",
            "Two views are linked, and can be matched, when their rays differ by no more than this",
            Unit::Degrees,
            0,
            within(limits::LINK_DEG),
            requirement.views.max_link_deg
        ),
    ]
}

fn stages() -> Vec<Line> {
    let range = || within(limits::STAGE_RATE_H);
    vec![
        line!(
            "Image features, each gigapixel",
            "Hours to find features in 10⁹ pixels",
            Unit::Hours,
            3,
            range(),
            rates.stages.features_h_per_gigapixel
        ),
        line!(
            "Matching, each 1000 pairs",
            "Hours to match a thousand overlapping pairs",
            Unit::Hours,
            3,
            range(),
            rates.stages.matching_h_per_thousand_pairs
        ),
        line!(
            "Adjustment, each 1000 images",
            "Hours of bundle adjustment for a thousand images",
            Unit::Hours,
            3,
            range(),
            rates.stages.adjustment_h_per_thousand_images
        ),
        line!(
            "Dense surface, each gigapixel",
            "Hours of dense reconstruction for 10⁹ pixels",
            Unit::Hours,
            3,
            range(),
            rates.stages.dense_h_per_gigapixel
        ),
    ]
}

fn rates(ui: &mut Ui, given: &Given<'_>, asks: &mut Vec<Ask>) {
    let terms = given.terms;
    frame(ui).show(ui, |ui| {
        ui.set_width(CARD_WIDTH - 2.0 * space::GROUP);
        let note = "Hours for each unit of counted work, on your own machines. Assumed orders of magnitude until you \
                    fit them to jobs that you have logged.";
        title(ui, "Processing rates", note);
        for line in stages() {
            show(ui, &line, given, asks);
        }
        let mut fitted = terms.rates.fitted;
        let hint = "Until this is ticked, every hour shown says that it is not calibrated";
        if ui.checkbox(&mut fitted, "Calibrated on logged jobs").on_hover_text(hint).changed() {
            let mut changed = terms.clone();
            changed.rates.fitted = fitted;
            asks.push(Ask::Put { what: "fitted rates".to_owned(), terms: Box::new(changed) });
        }
    });
}
