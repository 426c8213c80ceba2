//! A strip over the day: what each hour of arrival does to the light on the walls. A click arrives then.

use crate::copied;
use crate::form::{self, Named};
use crate::show;
use crate::theme::{self, space};
use egui::{Align2, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};
use obliquity_planning::arrivals::{Arrival, LitArrival};
use obliquity_planning::light::{CastShade, LightShares};
use obliquity_planning::{Id, LocalClock};

/// What the strip is drawn from.
#[derive(Debug, Clone, Copy)]
pub struct DayStrip<'a> {
    /// For every full hour, or why there are none; nothing while they were never worked out.
    pub hours: Option<Result<&'a [Arrival], &'a str>>,
    /// Whether they belong to what the scenario says now.
    pub freshness: Hours,
    /// The structure whose walls matter; nothing for all.
    pub walls_of: Option<Id>,
    /// What stands on the site.
    pub structures: &'a [(Id, String)],
    /// When the crew arrives now.
    pub arrival: LocalClock,
    /// The wind, in words.
    pub wind: &'a str,
}

/// How the hours shown stand to the scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hours {
    /// They are of it as it is.
    Fresh,
    /// They are being worked out anew.
    Updating,
    /// They take a while, and are worked out only when asked for.
    Unasked,
}

/// What the user asks of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DayAsk {
    /// Arrive then.
    Arrive(LocalClock),
    /// Other walls matter.
    Walls(Option<Id>),
    /// Work it out.
    WorkOut,
}

const HEIGHT: f32 = 72.0;
const AXIS: f32 = 34.0;
const LABELS: f32 = 16.0;
/// Room for what is said of an hour, so that nothing moves with it.
const SAID: f32 = 52.0;

/// Draws the strip into a card.
pub(super) fn ui(ui: &mut Ui, strip: &DayStrip<'_>) -> Option<DayAsk> {
    let note = "Share of the walls' area in shade while it is flown, for every full hour of arrival. Click an hour to arrive \
                then.";
    form::card(ui, "Hours of the day", note, |ui| {
        let chosen = walls(ui, strip);
        let asked = match strip.hours {
            Some(Ok(hours)) if !hours.is_empty() => hours_of(ui, strip, hours),
            Some(Err(why)) => {
                form::muted(ui, why);
                None
            }
            _ if strip.freshness == Hours::Unasked => {
                let hint = "The site has many walls; it takes a while";
                ui.button("Work out the hours").on_hover_text(hint).clicked().then_some(DayAsk::WorkOut)
            }
            _ => {
                form::muted(ui, "The hours are being worked out.");
                None
            }
        };
        chosen.or(asked)
    })
}

/// Which walls matter.
fn walls(ui: &mut Ui, strip: &DayStrip<'_>) -> Option<DayAsk> {
    let all = std::iter::once(("all walls", "Each weighted by its area"));
    let choices: Vec<(&str, &str)> =
        all.chain(strip.structures.iter().map(|(_, name)| (name.as_str(), ""))).collect();
    let at = match strip.walls_of {
        None => Some(0),
        Some(id) => strip.structures.iter().position(|(known, _)| *known == id).map(|at| at + 1),
    };
    let named = Named { name: "Walls of", spoken: "Walls that matter", hint: "Whose shade is shown" };
    let place = form::choice(ui, named, &choices, at)?;
    let chosen = place.checked_sub(1).and_then(|at| strip.structures.get(at)).map(|(id, _)| *id);
    Some(DayAsk::Walls(chosen))
}

fn hours_of(ui: &mut Ui, strip: &DayStrip<'_>, hours: &[Arrival]) -> Option<DayAsk> {
    let size = vec2(ui.available_width(), HEIGHT + LABELS);
    let (whole, drawn) = ui.allocate_exact_size(size, Sense::hover());
    copied::offer(&drawn, whole.expand(space::TIGHT), "walls in shade over the day");
    let area = Rect::from_min_max(whole.min + vec2(AXIS, 4.0), pos2(whole.right(), whole.top() + HEIGHT));
    axis(ui, area);
    let width = area.width() / hours.len() as f32;
    let (mut asked, mut pointed) = (None, None);
    for (at, arrival) in hours.iter().enumerate() {
        let left = area.left() + width * at as f32;
        let column = Rect::from_min_max(pos2(left, area.top()), pos2(left + width, area.bottom()));
        if column_of(ui, strip, arrival, column) {
            asked = Some(DayAsk::Arrive(arrival.clock));
        }
        if ui.rect_contains_pointer(column) {
            pointed = Some(arrival);
        }
        if at % 6 == 0 {
            let place = pos2(left, area.bottom() + 3.0);
            let text = format!("{:02}:00", arrival.clock.hour);
            ui.painter().text(place, Align2::LEFT_TOP, text, theme::caption(), theme::of(ui).muted);
        }
    }
    let now = hours.iter().find(|arrival| arrival.clock.hour == strip.arrival.hour);
    let (said, _) = ui.allocate_exact_size(vec2(ui.available_width(), SAID), Sense::hover());
    if let Some(arrival) = pointed.or(now) {
        let text = said_of(arrival, strip.wind);
        let galley = ui.painter().layout(text, theme::caption(), theme::of(ui).ink, said.width());
        ui.painter().galley(said.min, galley, theme::of(ui).ink);
    }
    let foot = match strip.freshness {
        Hours::Updating => "Updating…".to_owned(),
        Hours::Fresh | Hours::Unasked => best(hours),
    };
    form::muted(ui, &foot);
    asked
}

fn axis(ui: &Ui, area: Rect) {
    let colors = theme::of(ui);
    for (share, text) in [(0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")] {
        let y = area.bottom() - area.height() * share;
        let at = pos2(area.left() - 4.0, y.clamp(area.top() + 5.0, area.bottom() - 5.0));
        ui.painter().text(at, Align2::RIGHT_CENTER, text, theme::caption(), colors.muted);
        ui.painter().hline(area.x_range(), y, Stroke::new(1.0, colors.rule));
    }
}

/// One hour; whether it was clicked.
fn column_of(ui: &mut Ui, strip: &DayStrip<'_>, arrival: &Arrival, column: Rect) -> bool {
    let colors = theme::of(ui);
    let response = ui.interact(column, ui.scope_id().with(("hour", arrival.clock.hour)), Sense::CLICK);
    let painter = ui.painter();
    if let Ok(lit) = &arrival.lit {
        let dark = 1.0 - lit.light.shares.daylight;
        if dark > 0.0 {
            painter.rect_filled(column, 0.0, colors.muted.gamma_multiply(0.35 * dark as f32));
        }
        if let Some(shaded) = lit.shaded_ratio {
            let top = column.bottom() - column.height() * shaded as f32;
            let bar = Rect::from_min_max(pos2(column.left() + 1.5, top), column.max - vec2(1.5, 0.0));
            painter.rect_filled(bar, 1.0, colors.ink.gamma_multiply(0.72));
        }
    }
    let now = arrival.clock.hour == strip.arrival.hour;
    if now {
        painter.rect_stroke(column.expand(1.0), 2.0, Stroke::new(2.0, colors.accent), StrokeKind::Outside);
        marker(ui, pos2(column.center().x, column.top() - 4.0));
    } else if response.hovered() || response.has_focus() {
        painter.rect_stroke(column, 0.0, Stroke::new(1.0, colors.ink), StrokeKind::Inside);
    }
    let said = format!("Arrive at {}", said_of(arrival, strip.wind));
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, now, &said));
    response.clicked() && !now
}

/// A mark above the hour of the present arrival, told by its shape too.
fn marker(ui: &Ui, tip: Pos2) {
    let shape = vec![tip + vec2(-4.0, -4.0), tip + vec2(4.0, -4.0), tip + vec2(0.0, 2.0)];
    ui.painter().add(egui::Shape::convex_polygon(shape, theme::of(ui).accent, Stroke::NONE));
}

/// An hour in words.
fn said_of(arrival: &Arrival, wind: &str) -> String {
    let LocalClock { hour, minute } = arrival.clock;
    let clock = format!("{hour:02}:{minute:02}");
    match &arrival.lit {
        Err(why) => format!("{clock}: {why}."),
        Ok(lit) => format!(
            "{clock}: {}, {}; sun {} at the middle; {} on site. Wind {wind}, as set for the whole day.",
            walls_text(lit),
            period_text(lit.light.shares),
            height_text(lit.light.at_middle.elevation_rad),
            show::duration_s(lit.time_on_site_s),
        ),
    }
}

fn walls_text(lit: &LitArrival) -> String {
    let cast = if lit.cast == CastShade::LeftOut { " (cast by others left out)" } else { "" };
    lit.shaded_ratio.map_or_else(
        || "no walls".to_owned(),
        |share| format!("walls {} in shade{cast}", show::percent(share, None)),
    )
}

fn height_text(elevation_rad: f64) -> String {
    let deg = elevation_rad.to_degrees();
    if deg < 0.0 { "below the horizon".to_owned() } else { format!("{deg:.0}° high") }
}

fn period_text(shares: LightShares) -> &'static str {
    match shares {
        LightShares { night, .. } if night > 0.0 => "partly or wholly by night",
        LightShares { civil_twilight, .. } if civil_twilight > 0.0 => "partly in civil twilight",
        _ => "in daylight",
    }
}

/// Which hour has the least shade of those that are flown by day.
fn best(hours: &[Arrival]) -> String {
    let by_day = hours.iter().filter_map(|arrival| {
        let lit = arrival.lit.as_ref().ok().filter(|lit| lit.light.shares.daylight >= 1.0)?;
        Some((arrival.clock, lit.shaded_ratio?))
    });
    by_day.min_by(|a, b| a.1.total_cmp(&b.1)).map_or_else(
        || "At no hour is it flown in daylight from first to last, or there are no walls.".to_owned(),
        |(clock, share)| {
            format!("Least shade by day: arriving at {:02}:00, {}.", clock.hour, show::percent(share, None))
        },
    )
}
