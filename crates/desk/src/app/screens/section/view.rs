//! The cut as it is drawn: choices and a small plan on the left, heights large, what is below small.

use super::{SectionAsk, SectionSheet};
use crate::chart;
use crate::chart_files;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Kind, Named};
use crate::theme::{self, space};
use egui::{Label, Rect, RichText, ScrollArea, Sense, Ui, pos2, vec2};
use glam::DVec2;
use obliquity_planning::Unit;
use obliquity_planning::cross_section::Cut;
use obliquity_planning::limits;

/// Height of the small plan.
const MAP: f32 = 240.0;
/// Height of a small diagram.
const SMALL: f32 = 118.0;
/// Height that title, axis and legend of the large diagram take.
const AROUND: f32 = 118.0;
/// Height of what stands above it.
const LEGEND: f32 = 50.0;

/// Told where nothing can be cut.
pub(super) fn nothing(ui: &mut Ui) {
    form::muted(
        ui,
        "No pass of this strategy is flown at a height above ground: orbits, facades and undersides keep a stand-off \
         instead. Choose another strategy in the row on top.",
    );
}

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &SectionSheet<'_>, asks: &mut Vec<SectionAsk>) {
    choices::beside(ui, "cut", |ui, part| match part {
        ChoicesPart::Head => asks.extend(chart_files::menu(ui).map(SectionAsk::Save)),
        ChoicesPart::Choices => {
            ui.add_space(space::ROW);
            cut_choices(ui, sheet, asks);
            ui.add_space(space::ROW);
            sheet.map.ui(ui, sheet.cut, MAP, asks);
        }
        ChoicesPart::Diagrams => {
            let height = ui.available_height();
            let scroll = ScrollArea::vertical().id_salt("cut diagrams").auto_shrink(false);
            scroll.show(ui, |ui| diagrams(ui, sheet, height));
        }
    });
}

fn cut_choices(ui: &mut Ui, sheet: &SectionSheet<'_>, asks: &mut Vec<SectionAsk>) {
    let note = "How high one pass is flown over ground and roofs, and what that does to GSD and overlap.";
    form::card(ui, "Cross-section", note, |ui| {
        let names: Vec<(&str, &str)> = sheet.passes.iter().map(|(_, name)| (name.as_str(), "")).collect();
        let chosen = sheet.passes.iter().position(|(id, _)| *id == sheet.pass);
        let named =
            Named { name: "Pass", spoken: "Pass cut", hint: "Passes that keep a height, not a stand-off" };
        if let Some(at) = form::choice(ui, named, &names, chosen) {
            asks.push(SectionAsk::Pass(sheet.passes[at].0));
        }
        let ways =
            [("along a strip", "One strip of the pass"), ("along a line", "Across the strips, or as drawn")];
        let chosen = usize::from(matches!(sheet.cut, Cut::Line(..)));
        let named = Named { name: "Cut", spoken: "Cut", hint: "Along what the site is cut" };
        match form::choice(ui, named, &ways, Some(chosen)) {
            Some(0) => asks.push(SectionAsk::Cut(Cut::Strip(0))),
            Some(_) => asks.push(SectionAsk::AcrossStrips),
            None => {}
        }
        match sheet.cut {
            Cut::Strip(k) => strip(ui, sheet, k, asks),
            Cut::Line(from_m, to_m) => line(ui, sheet, (from_m, to_m), asks),
        }
    });
}

fn strip(ui: &mut Ui, sheet: &SectionSheet<'_>, k: usize, asks: &mut Vec<SectionAsk>) {
    let hint = "In flying order; arrow keys on the plan below go from strip to strip";
    let name = format!("Strip of {}", sheet.strips);
    let named = Named { name: &name, spoken: "Strip cut", hint };
    let range = limits::Range {
        what: "strip",
        least: 1.0,
        most: sheet.strips.max(1) as f64,
        mend: "choose a strip of the pass",
    };
    let kind = Kind { unit: Unit::Count, decimals: 0, range };
    if let Some(number) = form::number(ui, named, kind, k as f64 + 1.0, sheet.units) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "within 1 and the number of strips"
        )]
        let k = number as usize;
        asks.push(SectionAsk::Cut(Cut::Strip(k.saturating_sub(1))));
    }
}

fn line(ui: &mut Ui, sheet: &SectionSheet<'_>, (from_m, to_m): (DVec2, DVec2), asks: &mut Vec<SectionAsk>) {
    let kind = Kind { unit: Unit::Metres, decimals: 1, range: limits::COORDINATE_M };
    let mut ends = [from_m.x, from_m.y, to_m.x, to_m.y];
    let names = ["From, east", "From, north", "To, east", "To, north"];
    let spoken = ["Line begins, east", "Line begins, north", "Line ends, east", "Line ends, north"];
    for ((value, name), spoken) in ends.iter_mut().zip(names).zip(spoken) {
        let named = Named { name, spoken, hint: "In the frame of the site; or drag on the plan below" };
        if let Some(to) = form::number(ui, named, kind, *value, sheet.units) {
            *value = to;
        }
    }
    let [from_x, from_y, to_x, to_y] = ends;
    let typed = (DVec2::new(from_x, from_y), DVec2::new(to_x, to_y));
    if typed != (from_m, to_m) {
        asks.push(SectionAsk::Cut(Cut::Line(typed.0, typed.1)));
    }
}

fn diagrams(ui: &mut Ui, sheet: &SectionSheet<'_>, height: f32) {
    let colors = theme::of(ui);
    let charts = match &sheet.charts {
        Ok(charts) => charts,
        Err(why) => {
            ui.add(Label::new(RichText::new(why).color(colors.muted)).wrap());
            return;
        }
    };
    let Some((heights, below)) = charts.split_first() else { return };
    ui.horizontal(|ui| {
        ui.label(RichText::new(&heights.title).font(theme::body_strong()));
        let status = if sheet.is_fresh { "" } else { "updating" };
        ui.label(RichText::new(status).font(theme::caption()).color(colors.muted));
    });
    legend(ui, heights);
    let size = vec2(ui.available_width(), (height - SMALL - AROUND - LEGEND).max(200.0));
    chart::large(ui, heights, size);
    ui.add(Label::new(RichText::new(heights.spoken.replace("; ", "\n")).font(theme::caption())).wrap());
    ui.add_space(space::ROW);
    let count = below.len().max(1) as f32;
    let each = (ui.available_width() - (count - 1.0) * space::PAGE) / count;
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), SMALL), Sense::hover());
    for (k, small) in below.iter().enumerate() {
        let left = area.left() + k as f32 * (each + space::PAGE);
        chart::small(ui, small, Rect::from_min_size(pos2(left, area.top()), vec2(each, SMALL)));
    }
}

/// What each line is; a name stays with its line where the row breaks.
fn legend(ui: &mut Ui, heights: &obliquity_exchange::chart::Chart) {
    const SIGN: f32 = 18.0;
    let colors = theme::of(ui);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::PAGE, space::TIGHT);
        for series in &heights.series {
            let galley = ui.painter().layout_no_wrap(series.name.clone(), theme::caption(), colors.ink);
            let size = vec2(SIGN + space::ROW, 0.0) + galley.size();
            let (area, response) = ui.allocate_exact_size(size, Sense::hover());
            let line = area.left()..=area.left() + SIGN;
            let stroke = egui::Stroke::new(2.5, chart::color_of(series.tone, colors));
            ui.painter().hline(line, area.center().y, stroke);
            ui.painter().galley(area.left_top() + vec2(SIGN + space::ROW, 0.0), galley, colors.ink);
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &series.name));
        }
    });
}
