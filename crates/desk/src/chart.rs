//! Paints the diagrams of [`obliquity_exchange::chart`] into a window.

use crate::theme::{self, Colors, Mode};
use egui::{Align2, Color32, Rect, Sense, Stroke, Ui, UiBuilder, Vec2, pos2, vec2};
use egui_plot::{Bar, BarChart, FilledArea, HLine, Line, Plot, PlotBounds, PlotUi, Points};
use obliquity_exchange::chart::{Axis, Chart, Mark, Palette, Tone};

/// Height of the title above a small diagram.
const TITLE: f32 = 17.0;
/// Room for what is drawn at an end of an axis.
const AIR: f32 = 6.0;
/// The greatest value stays so far below the top.
const TOP: f32 = 4.0;
const LINE: f32 = 1.6;
const DOT: f32 = 3.5;

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

fn share(points: f32, of: f32) -> f64 {
    f64::from(points / of.max(1.0))
}

fn value(axis: &Axis, share: f64) -> f64 {
    axis.from + share * (axis.to - axis.from)
}

/// Everything in the diagram's own order: bands, bars, lines, what is required, marks.
fn items(plot: &mut PlotUi<'_>, chart: &Chart, colors: &Colors) {
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
            plot.line(Line::new(&series.name, part.to_vec()).stroke(stroke).allow_hover(false));
        }
    }
    for limit in &chart.limits {
        plot.hline(HLine::new(&limit.name, limit.at).stroke(Stroke::new(1.5, colors.ink)).allow_hover(false));
    }
    for mark in &chart.marks {
        plot.points(dot(mark, DOT + LINE, color_of(mark.tone, colors)));
        plot.points(dot(mark, DOT, colors.surface));
    }
}

fn dot<'a>(mark: &Mark, radius: f32, color: Color32) -> Points<'a> {
    Points::new(&mark.name, vec![mark.at]).radius(radius).filled(true).color(color).allow_hover(false)
}

fn color_of(tone: Tone, colors: &Colors) -> Color32 {
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
