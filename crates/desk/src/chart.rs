//! Paints the diagrams of [`obliquity_exchange::chart`] into a window.

use crate::mark;
use crate::theme::{self, Colors, Mode};
use egui::{
    Align2, Color32, Painter, Pos2, Rect, Response, Sense, Stroke, StrokeKind, Ui, UiBuilder, Vec2, pos2,
    vec2,
};
use egui_plot::{
    Bar, BarChart, FilledArea, GridInput, GridMark, HLine, Line, MarkerShape, Plot, PlotBounds, PlotUi,
    Points, VLine,
};
use obliquity_exchange::chart::{
    Axis, BarText, Chart, CloudDot, Fill, Mark, Palette, Span, Tone, Under, UnderKind, hatch,
};

/// Height of the title above a small diagram.
const TITLE: f32 = 17.0;
/// Room for what is drawn at an end of an axis.
const AIR: f32 = 6.0;
/// The greatest value stays so far below the top.
const TOP: f32 = 4.0;
const LINE: f32 = 1.6;
const DOT: f32 = 3.5;
/// Places of which there are many.
const CLOUD: f32 = 3.0;
/// Pieces of a line that take less of the axis across than this share are steps.
const UPRIGHT: f64 = 0.002;

/// Draws a small diagram into an area: its title, and the axes only as lines. It is not pointed at.
pub(crate) fn small(ui: &mut Ui, chart: &Chart, area: Rect) {
    let colors = theme::of(ui);
    let plot = Rect::from_min_max(area.min + vec2(0.0, TITLE), area.max);
    ui.painter().text(area.left_top(), Align2::LEFT_TOP, &chart.title, theme::caption(), colors.muted);
    ui.painter().hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, colors.rule));
    let within = Rect::from_min_max(pos2(plot.left(), plot.top() + TOP), plot.max);
    // What lies at an end is drawn whole.
    let around = within.expand(AIR);
    let bounds = PlotBounds::from_min_max(
        [value(&chart.across, -share(AIR, within.width())), value(&chart.up, -share(AIR, within.height()))],
        [
            value(&chart.across, 1.0 + share(AIR, within.width())),
            value(&chart.up, 1.0 + share(AIR, within.height())),
        ],
    );
    let id = ui.scope_id().with(("chart", &chart.title, area.left() as i32, area.top() as i32));
    ui.scope_builder(UiBuilder::new().max_rect(around).id_salt(id), |ui| {
        let plot = Plot::new(id).width(around.width()).height(around.height());
        let plot = plot.show_axes(false).show_grid(false).show_background(false).show_crosshair(false);
        let plot = plot.allow_zoom(false).allow_scroll(false).allow_drag(false).allow_boxed_zoom(false);
        let plot = plot.allow_double_click_reset(false).set_margin_fraction(Vec2::ZERO).sense(Sense::hover());
        plot.show(ui, |plot| {
            plot.set_plot_bounds(bounds);
            items(plot, chart, colors);
        });
    });
}

/// What a large diagram was asked, and where its axes lie on the screen.
#[derive(Debug, Clone)]
pub(crate) struct LargeChart {
    /// Where it was clicked, across and up in the units of its axes.
    pub(crate) clicked: Option<[f64; 2]>,
    /// Where the pointer is over it, likewise.
    pub(crate) pointed: Option<[f64; 2]>,
    /// The whole of it, to be focused and told of.
    pub(crate) response: Response,
    /// Between its axes.
    pub(crate) frame: Rect,
    from: [f64; 2],
    points_per_unit: [f64; 2],
}

impl LargeChart {
    /// Where a value of the axis across lies on the screen.
    pub(crate) fn x(&self, value: f64) -> f32 {
        self.frame.left() + ((value - self.from[0]) * self.points_per_unit[0]) as f32
    }

    /// Where a value of the axis up lies on the screen.
    pub(crate) fn y(&self, value: f64) -> f32 {
        self.frame.bottom() - ((value - self.from[1]) * self.points_per_unit[1]) as f32
    }

    fn bar(&self, bar: &obliquity_exchange::chart::Bar) -> Rect {
        let (across, up) = (bar.across.map(|at| self.x(at)), bar.up.map(|at| self.y(at)));
        Rect::from_two_pos(pos2(across[0], up[0]), pos2(across[1], up[1]))
    }

    /// Where a place lies on the screen.
    pub(crate) fn place(&self, [across, up]: [f64; 2]) -> Pos2 {
        pos2(self.x(across), self.y(up))
    }

    /// Shows by a frame that the keyboard is on the diagram.
    pub(crate) fn show_focus(&self, ui: &Ui) {
        if self.response.has_focus() {
            let edge = Stroke::new(2.0, theme::of(ui).accent);
            ui.painter().rect_stroke(self.frame, 4.0, edge, StrokeKind::Outside);
        }
    }
}

/// Room for the numbers of the axis up.
const NUMBERS: f32 = 52.0;

/// Draws a diagram with its axes, numbers and names. It can be clicked, and is spoken of as a whole.
pub(crate) fn large(ui: &mut Ui, chart: &Chart, size: Vec2) -> LargeChart {
    let margin = margin(ui, chart);
    large_within(ui, chart, size, margin)
}

/// Room that a large diagram needs for what stands beside its axis up.
pub(crate) fn margin(ui: &Ui, chart: &Chart) -> f32 {
    names_width(ui, chart).max(NUMBERS)
}

/// The same with so much room beside its axis up, so that diagrams below each other begin at one place.
pub(crate) fn large_within(ui: &mut Ui, chart: &Chart, size: Vec2, margin: f32) -> LargeChart {
    let colors = theme::of(ui);
    ui.label(egui::RichText::new(chart.up.title()).font(theme::caption()).color(colors.muted));
    let ticks = |axis: &Axis, most: f32, each: f32| axis.told((most / each).max(1.0) as u32);
    // Names beside the axis up take much of the width.
    let room = if chart.up.names.is_empty() { size.x } else { size.x - margin };
    let across = ticks(&chart.across, room, 80.0);
    let up = ticks(&chart.up, size.y, 34.0);
    let marks = |told: &[(f64, String)], axis: &Axis| {
        let values: Vec<f64> = told.iter().map(|(at, _)| *at).collect();
        // The plot leaves out what stands closer than a step has room for; names are all to be read.
        let named = (!axis.names.is_empty()).then_some(NAMED_STEP * (axis.to - axis.from));
        let step_size = values.windows(2).map(|pair| pair[1] - pair[0]).next().unwrap_or(1.0);
        let step_size = named.unwrap_or(step_size);
        move |_: GridInput| values.iter().map(|&value| GridMark { value, step_size }).collect::<Vec<_>>()
    };
    let texts = |told: &[(f64, String)]| {
        let told = told.to_vec();
        move |mark: GridMark, _: &std::ops::RangeInclusive<f64>| {
            told.iter().find(|(at, _)| *at == mark.value).map_or(String::new(), |(_, text)| text.clone())
        }
    };
    let id = ui.scope_id().with(("large", &chart.title));
    let plot = Plot::new(id).width(size.x).height(size.y).show_crosshair(false);
    let plot = plot.y_axis_min_width(margin);
    let plot =
        plot.x_grid_spacer(marks(&across, &chart.across)).y_grid_spacer(marks(&up, &chart.up)).grid_fade(1.0);
    let plot = plot.x_axis_formatter(texts(&across)).y_axis_formatter(texts(&up));
    let plot = plot.allow_zoom(false).allow_scroll(false).allow_drag(false).allow_boxed_zoom(false);
    let plot = plot.allow_double_click_reset(false).set_margin_fraction(Vec2::ZERO).sense(Sense::click());
    let bounds = PlotBounds::from_min_max([chart.across.from, chart.up.from], [chart.across.to, chart.up.to]);
    let shown = plot.show(ui, |plot| {
        plot.set_plot_bounds(bounds);
        items(plot, chart, colors);
        names(plot, chart, colors);
        plot.pointer_coordinate().map(|at| [at.x, at.y])
    });
    let spoken = chart.spoken.clone();
    shown.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &spoken));
    let title = egui::RichText::new(chart.across.title()).font(theme::caption()).color(colors.muted);
    ui.with_layout(egui::Layout::top_down(egui::Align::Max), |ui| ui.label(title));
    let frame = *shown.transform.frame();
    let unit = |points: f32, axis: &Axis| f64::from(points) / (axis.to - axis.from);
    let large = LargeChart {
        clicked: shown.inner.filter(|_| shown.response.clicked()),
        pointed: shown.inner.filter(|_| shown.response.hovered()),
        response: shown.response,
        frame,
        from: [chart.across.from, chart.up.from],
        points_per_unit: [unit(frame.width(), &chart.across), unit(frame.height(), &chart.up)],
    };
    bars(ui, chart, &large);
    numbers(ui, chart, &large);
    large
}

/// How wide the names beside the axis up are, with some air; nothing where numbers stand there.
fn names_width(ui: &Ui, chart: &Chart) -> f32 {
    let font = egui::TextStyle::Body.resolve(ui.style());
    let width = |name: &str| {
        ui.painter().layout_no_wrap(name.to_owned(), font.clone(), Color32::BLACK).size().x + 3.0 * AIR
    };
    chart.up.names.iter().map(|(_, name)| width(name)).fold(0.0, f32::max)
}

/// Share of an axis with names that the plot takes for the step between two of them.
const NAMED_STEP: f64 = 0.25;

/// A name of a place farther to the right than this share stands on its left.
const FAR: f64 = 0.7;
/// From this share of its height on, what stands above a line would leave the frame.
const HIGH: f64 = 0.88;

/// Between the lines of a hatched bar.
const HATCH: f64 = 6.0;
/// How much of its colour a bar has that is not filled whole.
const LIGHT: f32 = 0.22;

/// Bars of a large diagram that are hatched or written at; each is told of where it is pointed at.
fn bars(ui: &Ui, chart: &Chart, large: &LargeChart) {
    let colors = theme::of(ui);
    if let Some(present) = chart.present.as_ref().filter(|_| !chart.bars.is_empty()) {
        let at = pos2(large.x(present.at), large.frame.top() - 1.0);
        ui.painter().text(at, Align2::CENTER_BOTTOM, &present.name, theme::caption(), colors.accent);
    }
    let painter = ui.painter().with_clip_rect(large.frame.expand(1.0));
    for (k, bar) in chart.bars.iter().enumerate().filter(|(_, bar)| !is_plain(bar)) {
        let (place, color) = (large.bar(bar), color_of(bar.tone, colors));
        fill(&painter, place, bar.fill, (color, colors));
        bar_text(&painter, bar, (place, large.x(bar.across[1])), colors);
        let response = ui.interact(place.expand2(vec2(2.0, 0.0)), large.response.id.with(k), Sense::hover());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &bar.name));
        response.on_hover_text_at_pointer(&bar.name);
    }
}

/// Whether a bar is only an area, which lines may cross.
fn is_plain(bar: &obliquity_exchange::chart::Bar) -> bool {
    bar.text == BarText::None && bar.fill == Fill::Solid
}

/// Fills a bar, or a sign that stands for one.
pub(crate) fn fill(painter: &Painter, place: Rect, how: Fill, (color, colors): (Color32, &Colors)) {
    if how == Fill::Solid {
        painter.rect_filled(place, 0.0, color);
    } else {
        painter.rect_filled(place, 0.0, colors.surface.lerp_to_gamma(color, LIGHT));
        let within = painter.with_clip_rect(place.intersect(painter.clip_rect()));
        let of = [place.left(), place.top(), place.width(), place.height()].map(f64::from);
        for ends in hatch(how, of, HATCH) {
            let [x0, y0, x1, y1] = ends.map(|at| at as f32);
            within.line_segment([pos2(x0, y0), pos2(x1, y1)], Stroke::new(1.5, color));
        }
        painter.rect_stroke(place, 0.0, Stroke::new(1.0, color), StrokeKind::Inside);
    }
}

fn bar_text(
    painter: &Painter,
    bar: &obliquity_exchange::chart::Bar,
    (place, end): (Rect, f32),
    colors: &Colors,
) {
    let put = |told: &str, at: egui::Pos2, anchor: Align2, color: Color32| {
        painter.text(at, anchor, told, theme::caption(), color);
    };
    let middle = place.center().y;
    match &bar.text {
        BarText::None => {}
        BarText::Within(told) => {
            let ink = if bar.fill == Fill::Solid { colors.surface } else { colors.ink };
            let laid = |told: &String| painter.layout_no_wrap(told.clone(), theme::caption(), ink);
            let fits = |size: Vec2| size.x + AIR <= place.width() && size.y <= place.height();
            let Some(galley) = told.iter().map(laid).find(|galley| fits(galley.size())) else { return };
            let at = Align2::CENTER_CENTER.align_size_within_rect(galley.size(), place);
            if bar.fill != Fill::Solid {
                painter.rect_filled(at.expand2(vec2(2.0, 0.0)), 2.0, colors.surface);
            }
            painter.galley(at.min, galley, ink);
        }
        BarText::Beyond(told) => {
            let galley = painter.layout_no_wrap(told.clone(), theme::caption(), colors.ink);
            let (room, width) = (painter.clip_rect().x_range(), galley.size().x);
            let is_left = bar.across[1] < bar.across[0];
            let beyond = if is_left { end - 4.0 - width } else { end + 4.0 };
            let fits = |left: f32| room.contains(left) && room.contains(left + width);
            if place.width() >= width + 8.0 && !fits(beyond) {
                // Without room beyond its end it stands within it.
                let left = if is_left { end + 4.0 } else { end - 4.0 - width };
                put(told, pos2(left, middle), Align2::LEFT_CENTER, colors.surface);
                return;
            }
            // Of a bar too short for that it stands at its beginning.
            let before = if is_left { place.right() + 4.0 } else { place.left() - 4.0 - width };
            let left = if fits(beyond) || !fits(before) { beyond } else { before };
            let behind = Rect::from_center_size(
                pos2(left + width / 2.0, middle),
                vec2(width + 4.0, galley.size().y.min(place.height())),
            );
            painter.rect_filled(behind, 0.0, colors.surface);
            put(told, pos2(left, middle), Align2::LEFT_CENTER, colors.ink);
        }
    }
}

/// Height of a row below a diagram.
const UNDER: f32 = 17.0;

/// Height of the rows below a large diagram.
pub(crate) fn under_height(chart: &Chart) -> f32 {
    let kinds = chart.under.chunk_by(|a, b| a.kind == b.kind).count();
    UNDER * (chart.under.len() + kinds) as f32
}

/// Below the axis, a bar for each strategy where it meets the requirement, and thin ones where limits hold of it.
pub(crate) fn under(ui: &mut Ui, chart: &Chart, large: &LargeChart) {
    let colors = theme::of(ui);
    let size = vec2(ui.available_width(), under_height(chart));
    let (area, _) = ui.allocate_exact_size(size, Sense::hover());
    let mut top = area.top();
    for rows in chart.under.chunk_by(|a, b| a.kind == b.kind) {
        let title = format!("{}:", rows[0].kind.title());
        let at = pos2(area.left(), top);
        ui.painter().text(at, Align2::LEFT_TOP, title, theme::caption(), colors.muted);
        top += UNDER;
        for row in rows {
            under_row(ui, row, Rect::from_min_size(pos2(area.left(), top), vec2(area.width(), UNDER)), large);
            top += UNDER;
        }
    }
}

fn under_row(ui: &Ui, row: &Under, line: Rect, large: &LargeChart) {
    let colors = theme::of(ui);
    if let Tone::Strategy(slot) = row.tone {
        let number = Rect::from_min_size(line.min, vec2(16.0, UNDER - 1.0));
        mark::paint(ui.painter(), number, slot, colors);
    }
    let trough = Rect::from_x_y_ranges(large.frame.x_range(), line.top() + 2.0..=line.bottom() - 3.0);
    ui.painter().rect_filled(trough, 2.0, colors.rule.gamma_multiply(0.5));
    for Span { name, across: [from, to] } in &row.across {
        let ends = large.x(*from) - 1.5..=large.x(*to) + 1.5;
        match row.kind {
            UnderKind::Meets => {
                let bar = Rect::from_x_y_ranges(ends, trough.y_range());
                ui.painter().rect_filled(bar, 2.0, color_of(row.tone, colors));
            }
            UnderKind::Capped => {
                let bar = Rect::from_x_y_ranges(ends, trough.bottom() - 2.0..=trough.bottom());
                ui.painter().rect_filled(bar, 0.0, colors.muted);
                let at = pos2(bar.left() + 3.0, trough.center().y - 1.0);
                ui.painter().text(at, Align2::LEFT_CENTER, name, theme::caption(), colors.ink);
            }
        }
    }
    let response = ui.interact(line, ui.scope_id().with(("under", &row.name)), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &row.name));
    response.on_hover_text(&row.name);
}

/// The marks of strategies, on top of everything.
fn numbers(ui: &Ui, chart: &Chart, large: &LargeChart) {
    let colors = theme::of(ui);
    for number in &chart.numbers {
        let area = Rect::from_center_size(large.place(number.at), mark::SIZE);
        ui.painter().rect_filled(area.expand(1.0), 4.0, colors.surface);
        mark::paint(ui.painter(), area, number.slot, colors);
    }
}

/// The shape of a strategy's places in a cloud, so that nobody needs to tell them apart by colour alone.
fn shape(slot: usize) -> MarkerShape {
    use MarkerShape::{Asterisk, Circle, Cross, Diamond, Down, Plus, Square, Up};
    [Circle, Square, Up, Diamond, Down, Cross, Plus, Asterisk][slot % 8]
}

fn share(points: f32, of: f32) -> f64 {
    f64::from(points / of.max(1.0))
}

fn value(axis: &Axis, share: f64) -> f64 {
    axis.from + share * (axis.to - axis.from)
}

/// Everything but bars with texts and hatches, in the diagram's own order: bands, bars, lines, what is required, marks.
fn items(plot: &mut PlotUi<'_>, chart: &Chart, colors: &Colors) {
    if let Some(present) = &chart.present {
        let line = VLine::new(&present.name, present.at).stroke(Stroke::new(1.0, colors.accent));
        plot.vline(line.allow_hover(false));
    }
    for band in &chart.bands {
        let column = |k: usize| band.points.iter().map(|place| place[k]).collect::<Vec<f64>>();
        let area = FilledArea::new(&band.name, &column(0), &column(1), &column(2));
        plot.add(area.fill_color(color_of(band.tone, colors).gamma_multiply(0.2)).allow_hover(false));
    }
    for bar in chart.bars.iter().filter(|bar| is_plain(bar)) {
        let ([left, right], [low, high]) = (bar.across, bar.up);
        let color = color_of(bar.tone, colors);
        let one = Bar::new(left.midpoint(right), high - low).base_offset(low).width(right - left).fill(color);
        plot.bar_chart(BarChart::new(&bar.name, vec![one.stroke(Stroke::NONE)]).allow_hover(false));
    }
    for series in &chart.series {
        let stroke = Stroke::new(LINE, color_of(series.tone, colors));
        for part in series.points.split(|place| !place.iter().all(|value| value.is_finite())) {
            for piece in between_steps(part, chart) {
                plot.line(Line::new(&series.name, piece).stroke(stroke).allow_hover(false));
            }
        }
    }
    for limit in &chart.limits {
        plot.hline(HLine::new(&limit.name, limit.at).stroke(Stroke::new(1.5, colors.ink)).allow_hover(false));
    }
    for cloud in &chart.clouds {
        let points = Points::new(&cloud.name, cloud.points.clone()).shape(shape(cloud.slot)).radius(CLOUD);
        let points = points.color(colors.strategy(cloud.slot)).filled(cloud.dot == CloudDot::Full);
        plot.points(points.allow_hover(false));
    }
    for mark in &chart.marks {
        plot.points(dot(mark, DOT + LINE, color_of(mark.tone, colors)));
        plot.points(dot(mark, DOT, colors.surface));
    }
}

/// A line cut at its steps, each step a piece of its own: the painter fills the corners of steep steps.
fn between_steps(line: &[[f64; 2]], chart: &Chart) -> Vec<Vec<[f64; 2]>> {
    let upright = UPRIGHT * (chart.across.to - chart.across.from);
    let mut pieces: Vec<Vec<[f64; 2]>> = vec![line.first().copied().into_iter().collect()];
    for pair in line.windows(2) {
        let is_step = pair[1][0] - pair[0][0] < upright && pair[1][1] != pair[0][1];
        if is_step {
            pieces.extend([vec![pair[0], pair[1]], vec![pair[1]]]);
        } else if let Some(piece) = pieces.last_mut() {
            piece.push(pair[1]);
        }
    }
    pieces.retain(|piece| piece.len() > 1 || line.len() == 1);
    pieces
}

/// What is required and what stands now, written beside them.
fn names(plot: &mut PlotUi<'_>, chart: &Chart, colors: &Colors) {
    let mut write = |name: &str, at: [f64; 2], anchor: Align2, color: Color32| {
        let text = egui::RichText::new(name).font(theme::caption()).color(color);
        plot.text(egui_plot::Text::new("", at.into(), text).anchor(anchor).allow_hover(false));
    };
    for limit in &chart.limits {
        // Above the line, where the frame leaves room for it.
        let anchor = if chart.up.share(limit.at) < HIGH { Align2::RIGHT_BOTTOM } else { Align2::RIGHT_TOP };
        write(&limit.name, [chart.across.to, limit.at], anchor, colors.ink);
    }
    if let Some(present) = chart.present.as_ref().filter(|_| chart.bars.is_empty()) {
        let anchor =
            if chart.across.share(present.at) < FAR { Align2::LEFT_BOTTOM } else { Align2::RIGHT_BOTTOM };
        write(&format!(" {} ", present.name), [present.at, chart.up.from], anchor, colors.accent);
    }
}

fn dot<'a>(mark: &Mark, radius: f32, color: Color32) -> Points<'a> {
    Points::new(&mark.name, vec![mark.at]).radius(radius).filled(true).color(color).allow_hover(false)
}

/// The colour of a tone.
pub(crate) fn color_of(tone: Tone, colors: &Colors) -> Color32 {
    match tone {
        Tone::Accent => colors.accent,
        Tone::Ink => colors.ink,
        Tone::Muted => colors.muted,
        Tone::Good => colors.good,
        Tone::Bad => colors.bad,
        Tone::Strategy(slot) => colors.strategy(slot),
    }
}

/// The colours of a mode for diagrams that are written to files.
pub(crate) fn palette(mode: Mode) -> Palette {
    let colors = theme::colors(mode);
    let rgb = |color: Color32| [color.r(), color.g(), color.b()];
    Palette {
        surface: rgb(colors.surface),
        rule: rgb(colors.rule),
        ink: rgb(colors.ink),
        muted: rgb(colors.muted),
        accent: rgb(colors.accent),
        good: rgb(colors.good),
        bad: rgb(colors.bad),
        strategies: colors.strategies.map(rgb),
    }
}
