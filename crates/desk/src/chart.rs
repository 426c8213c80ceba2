//! Paints the diagrams of [`obliquity_exchange::chart`] into a window.

use crate::mark;
use crate::theme::{self, Colors, Mode};
use egui::{Align2, Color32, Pos2, Rect, Response, Sense, Stroke, Ui, UiBuilder, Vec2, pos2, vec2};
use egui_plot::{
    Bar, BarChart, FilledArea, GridInput, GridMark, HLine, Line, MarkerShape, Plot, PlotBounds, PlotUi,
    Points, VLine,
};
use obliquity_exchange::chart::{Axis, Chart, CloudDot, Mark, Palette, Tone};

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
    /// What was done to it.
    pub(crate) response: Response,
    left: (f64, f32),
    points_per_unit: f32,
    bottom: (f64, f32),
    points_per_unit_up: f32,
}

impl LargeChart {
    /// Where a value of the axis across lies on the screen.
    pub(crate) fn x(&self, value: f64) -> f32 {
        self.left.1 + (value - self.left.0) as f32 * self.points_per_unit
    }

    /// Where a place lies on the screen.
    pub(crate) fn place(&self, [across, up]: [f64; 2]) -> Pos2 {
        pos2(self.x(across), self.bottom.1 + (up - self.bottom.0) as f32 * self.points_per_unit_up)
    }
}

/// Room for the numbers of the axis up.
const NUMBERS: f32 = 52.0;

/// Draws a diagram with its axes, numbers and names. It can be clicked, and is spoken of as a whole.
pub(crate) fn large(ui: &mut Ui, chart: &Chart, size: Vec2) -> LargeChart {
    let colors = theme::of(ui);
    ui.label(egui::RichText::new(chart.up.title()).font(theme::caption()).color(colors.muted));
    let ticks = |axis: &Axis, most: f32, each: f32| axis.told((most / each).max(1.0) as u32);
    let across = ticks(&chart.across, size.x, 80.0);
    let up = ticks(&chart.up, size.y, 34.0);
    let marks = |told: &[(f64, String)]| {
        let values: Vec<f64> = told.iter().map(|(at, _)| *at).collect();
        let step_size = values.windows(2).map(|pair| pair[1] - pair[0]).next().unwrap_or(1.0);
        move |_: GridInput| values.iter().map(|&value| GridMark { value, step_size }).collect::<Vec<_>>()
    };
    let texts = |told: &[(f64, String)]| {
        let told = told.to_vec();
        move |mark: GridMark, _: &std::ops::RangeInclusive<f64>| {
            told.iter().find(|(at, _)| *at == mark.value).map_or(String::new(), |(_, text)| text.clone())
        }
    };
    let id = ui.scope_id().with(("large", &chart.title));
    let plot = Plot::new(id).width(size.x).height(size.y).show_crosshair(false).y_axis_min_width(NUMBERS);
    let plot = plot.x_grid_spacer(marks(&across)).y_grid_spacer(marks(&up)).grid_fade(1.0);
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
    let left = (chart.across.from, shown.transform.position_from_point_x(chart.across.from));
    let right = shown.transform.position_from_point_x(chart.across.to);
    let points_per_unit = (right - left.1) / (chart.across.to - chart.across.from) as f32;
    let bottom = (chart.up.from, shown.transform.position_from_point_y(chart.up.from));
    let top = shown.transform.position_from_point_y(chart.up.to);
    let points_per_unit_up = (top - bottom.1) / (chart.up.to - chart.up.from) as f32;
    let clicked = shown.inner.filter(|_| shown.response.clicked());
    let large =
        LargeChart { clicked, response: shown.response, left, points_per_unit, bottom, points_per_unit_up };
    numbers(ui, chart, &large, colors);
    large
}

/// The marks of strategies, on top of everything.
fn numbers(ui: &Ui, chart: &Chart, large: &LargeChart, colors: &Colors) {
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

/// Everything in the diagram's own order: bands, bars, lines, what is required, marks.
fn items(plot: &mut PlotUi<'_>, chart: &Chart, colors: &Colors) {
    for span in &chart.spans {
        let across = span.across[0]..=span.across[1];
        plot.span(egui_plot::Span::new("", across).fill(colors.rule.gamma_multiply(0.6)).border_width(0.0));
    }
    if let Some(present) = &chart.present {
        let line = VLine::new(&present.name, present.at).stroke(Stroke::new(1.0, colors.accent));
        plot.vline(line.allow_hover(false));
    }
    for band in &chart.bands {
        let column = |k: usize| band.points.iter().map(|place| place[k]).collect::<Vec<f64>>();
        let area = FilledArea::new(&band.name, &column(0), &column(1), &column(2));
        plot.add(area.fill_color(color_of(band.tone, colors).gamma_multiply(0.2)).allow_hover(false));
    }
    for bar in &chart.bars {
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

/// What holds on stretches, what is required and what stands now, written beside them.
fn names(plot: &mut PlotUi<'_>, chart: &Chart, colors: &Colors) {
    let mut write = |name: &str, at: [f64; 2], anchor: Align2, color: Color32| {
        let text = egui::RichText::new(name).font(theme::caption()).color(color);
        plot.text(egui_plot::Text::new("", at.into(), text).anchor(anchor).allow_hover(false));
    };
    let row = (chart.up.to - chart.up.from) * 0.045;
    for (k, span) in chart.spans.iter().enumerate() {
        let at = [span.across[0], chart.up.to - row * k as f64];
        write(&format!(" {}", span.name), at, Align2::LEFT_TOP, colors.muted);
    }
    for limit in &chart.limits {
        write(&limit.name, [chart.across.to, limit.at], Align2::RIGHT_BOTTOM, colors.ink);
    }
    if let Some(present) = &chart.present {
        write(&format!(" {}", present.name), [present.at, chart.up.from], Align2::LEFT_BOTTOM, colors.accent);
    }
}

fn dot<'a>(mark: &Mark, radius: f32, color: Color32) -> Points<'a> {
    Points::new(&mark.name, vec![mark.at]).radius(radius).filled(true).color(color).allow_hover(false)
}

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
