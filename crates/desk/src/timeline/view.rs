//! The screen: lanes, the plan with the cursor's place, and the lists.

use super::ask::TimelineAsk;
use super::lanes::{LEAST, LanePen, MARGIN, SUN, leg_look, moving};
use super::model::BlockKind;
use super::{Breakdown, Stretch, Timeline, lists};
use crate::copied;
use crate::keys;
use crate::mark;
use crate::plan::{self, Plan, PlanState};
use crate::show;
use crate::theme::{self, space};
use egui::accesskit::{Action, ActionData};
use egui::{
    EventFilter, Id, Key, Label, Modifiers, PointerButton, Rect, Response, RichText, ScrollArea, Sense,
    Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, scroll_area::ScrollSource, vec2,
};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct GivenFlight<'a> {
    /// The timeline of the strategy in focus and what its time is made of; or why there is none.
    pub timeline: Result<(&'a Timeline, &'a Breakdown), &'a str>,
    /// The plan of that strategy.
    pub plan: Option<&'a Plan>,
    /// Its colour.
    pub slot: usize,
    /// Name and hint of the tool that shows all strategies beside each other; nothing where a switch does.
    pub to_all: Option<(&'a str, &'a str)>,
}

/// How the timeline is looked at; kept for the session only.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TimelineState {
    /// Where the cursor stands, since the arrival; nothing until it has been shown.
    pub cursor_s: Option<f64>,
    /// The part that is shown; nothing for all of it.
    pub stretch: Option<Stretch>,
}

/// Of the height under the tools, what the lanes take.
const LANES_SHARE: f32 = 0.5;
/// Width of each list.
const LIST: f32 = 300.0;
/// The lists stand beside the plan from this width on.
const THREE: f32 = 1000.0;
/// In less height no plan can be read: the lists have the room.
const LEAST_PLAN: f32 = 120.0;
/// From this width on the keys are told below the lanes.
const ROOMY: f32 = 900.0;

/// Draws the screen into all of `ui`.
pub fn ui(
    ui: &mut Ui,
    given: &GivenFlight<'_>,
    state: &mut TimelineState,
    plan_state: &mut PlanState,
    asks: &mut Vec<TimelineAsk>,
) {
    ui.spacing_mut().item_spacing.y = if given.to_all.is_some() { space::TIGHT } else { space::ROW };
    let (timeline, breakdown) = match given.timeline {
        Ok(both) => both,
        Err(why) => {
            let text = RichText::new(show::unbroken(why)).color(theme::of(ui).muted);
            ui.add(Label::new(text).wrap());
            return;
        }
    };
    let at_s = state.cursor_s.unwrap_or(timeline.middle_s()).clamp(0.0, timeline.end_s);
    state.cursor_s = Some(at_s);
    let color = theme::of(ui).strategy(given.slot);
    let height = ui.available_height();
    // What has no room in a small window is scrolled to; over the lanes the wheel zooms.
    let over_lanes = is_over_lanes(ui);
    let wheel = if over_lanes { ScrollSource::SCROLL_BAR } else { ScrollSource::ALL };
    let scroll = ScrollArea::vertical().id_salt("timeline").auto_shrink(false).scroll_source(wheel);
    scroll.show(ui, |ui| {
        let top = ui.cursor().top();
        let left = |ui: &Ui| height - (ui.cursor().top() - top);
        told(ui, (timeline, given), at_s, state, asks);
        let lanes = (LANES_SHARE * left(ui)).max(LEAST);
        lanes_ui(ui, timeline, state, lanes, color);
        legend(ui, timeline, color);
        let left = left(ui);
        under(ui, given, breakdown, plan_state, left, asks);
    });
}

/// What there is to know of the cursor's instant.
fn told(
    ui: &mut Ui,
    (timeline, given): (&Timeline, &GivenFlight<'_>),
    at_s: f64,
    state: &mut TimelineState,
    asks: &mut Vec<TimelineAsk>,
) {
    let Some(cursor) = timeline.cursor(at_s) else {
        ui.label("Nothing is flown.");
        return;
    };
    ui.horizontal_wrapped(|ui| {
        mark::put(ui, given.slot);
        let fit = ui.add_enabled(state.stretch.is_some(), egui::Button::new("Fit"));
        if fit.on_hover_text("Show the whole stay again (key 0)").clicked() {
            state.stretch = None;
        }
        if ui.button("Show in 3D").on_hover_text("The cursor's place on the site in 3D").clicked() {
            asks.push(TimelineAsk::Space);
        }
        if given.to_all.is_some_and(|(text, hint)| ui.button(text).on_hover_text(hint).clicked()) {
            asks.push(TimelineAsk::Budgets);
        }
        ui.label(RichText::new(&cursor.clock).font(theme::body_strong()));
        // A low window has no row to spare for a longer line.
        let font = if given.to_all.is_some() { theme::caption() } else { theme::body() };
        ui.label(RichText::new(show::unbroken(&cursor.line)).font(font));
    });
}

fn lanes_id() -> Id {
    Id::unique("lanes of the timeline")
}

/// Whether the pointer is over the lanes as they were last drawn.
fn is_over_lanes(ui: &Ui) -> bool {
    let lanes = ui.data(|data| data.get_temp::<Rect>(lanes_id()));
    ui.ctx().pointer_hover_pos().zip(lanes).is_some_and(|(at, lanes)| lanes.contains(at))
}

fn lanes_ui(ui: &mut Ui, timeline: &Timeline, state: &mut TimelineState, height: f32, color: egui::Color32) {
    let colors = theme::of(ui);
    let size = vec2(ui.available_width(), height);
    let (whole, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    ui.data_mut(|data| data.insert_temp(lanes_id(), whole));
    let area = whole.with_min_x(whole.left() + MARGIN).with_max_x(whole.right() - space::ROW);
    let stretch = state.stretch.map_or(Stretch::whole(timeline.end_s), |own| own.within(timeline.end_s));
    let mut at = Scrub { at_s: state.cursor_s.unwrap_or(0.0), stretch, end_s: timeline.end_s };
    at.pointer(ui, &response, area);
    at.keys(ui, &response);
    at.spoken_to(ui, &response);
    state.cursor_s = Some(at.at_s);
    let whole_stay = at.stretch == Stretch::whole(timeline.end_s);
    state.stretch = (!whole_stay).then_some(at.stretch);
    let painter = ui.painter_at(whole);
    let pen = LanePen { painter: &painter, colors, color, area, stretch: at.stretch };
    pen.timeline(timeline);
    pen.cursor(at.at_s);
    if response.has_focus() {
        let edge = Stroke::new(2.0, colors.accent);
        // Outside: the clock's line stands at the top.
        ui.painter().rect_stroke(whole, 4.0, edge, StrokeKind::Outside);
    }
    announce(ui, &response, timeline, at.at_s);
    copied::offer(&response, whole, "timeline");
    if let Some(pointer) = response.hover_pos().filter(|at| area.contains(*at) && !response.dragged()) {
        let share = f64::from((pointer.x - area.left()) / area.width().max(1.0));
        if let Some(pointed) = timeline.cursor(at.stretch.at_s(share)) {
            response.on_hover_text_at_pointer(format!("{}\n{}", pointed.clock, pointed.line));
        }
    }
}

/// The cursor and what is shown, as they are moved.
struct Scrub {
    at_s: f64,
    stretch: Stretch,
    end_s: f64,
}

impl Scrub {
    fn put(&mut self, at_s: f64) {
        self.at_s = at_s.clamp(0.0, self.end_s);
        self.stretch = self.stretch.showing(self.at_s, self.end_s);
    }

    /// Dragging moves the cursor, with Shift or another button what is shown; the wheel zooms.
    fn pointer(&mut self, ui: &Ui, response: &Response, area: Rect) {
        if response.clicked() || response.drag_started() {
            response.request_focus();
        }
        let width = area.width().max(1.0);
        let share = |x: f32| f64::from((x - area.left()) / width);
        let panning = ui.input(|input| input.modifiers.shift) || !response.dragged_by(PointerButton::Primary);
        if response.dragged() && panning {
            let by_s = -f64::from(response.drag_delta().x / width) * self.stretch.length_s();
            self.stretch = self.stretch.moved(by_s, self.end_s);
        } else if let Some(at) = response.interact_pointer_pos()
            && (response.dragged() || response.clicked())
        {
            self.put(self.stretch.at_s(share(at.x)));
        }
        if let Some(at) = response.hover_pos() {
            let (wheel, pinch) = ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
            let factor = f64::from(pinch) * (f64::from(wheel.y) / 240.0).exp();
            if (factor - 1.0).abs() > 1e-4 {
                self.stretch = self.stretch.zoomed(factor, self.stretch.at_s(share(at.x)), self.end_s);
            }
            if wheel.x != 0.0 {
                let by_s = -f64::from(wheel.x / width) * self.stretch.length_s();
                self.stretch = self.stretch.moved(by_s, self.end_s);
            }
        }
    }

    /// Arrows step by a second or what a point is, with Shift ten times as far; Home, End, + − and 0.
    fn keys(&mut self, ui: &Ui, response: &Response) {
        if response.has_focus() {
            let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        } else if ui.memory(|memory| memory.focused().is_some()) {
            return;
        }
        let times = |modifiers: Modifiers, key: Key| keys::times(ui, modifiers, key) as f64;
        let step_s = (self.stretch.length_s() / 600.0).round().max(1.0);
        for (key, way) in [(Key::ArrowLeft, -1.0), (Key::ArrowRight, 1.0)] {
            let steps = 10.0 * times(Modifiers::SHIFT, key) + times(Modifiers::NONE, key);
            if steps > 0.0 {
                self.put(self.at_s + way * steps * step_s);
            }
        }
        for key in keys::taken(ui, &[Key::Home, Key::End, Key::Plus, Key::Equals, Key::Minus, Key::Num0]) {
            match key {
                Key::Home => self.put(0.0),
                Key::End => self.put(self.end_s),
                Key::Num0 => self.stretch = Stretch::whole(self.end_s),
                Key::Minus => self.stretch = self.stretch.zoomed(1.0 / 1.4, self.at_s, self.end_s),
                _ => self.stretch = self.stretch.zoomed(1.4, self.at_s, self.end_s),
            }
        }
    }

    /// What a screen reader asks for.
    fn spoken_to(&mut self, ui: &Ui, response: &Response) {
        let wanted = ui.input(|input| {
            let asked = input.accesskit_action_requests(response.id, Action::SetValue);
            asked
                .filter_map(|request| match request.data {
                    Some(ActionData::NumericValue(value)) => Some(value),
                    _ => None,
                })
                .last()
        });
        if let Some(at_s) = wanted {
            self.put(at_s);
        }
    }
}

/// Says what the lanes show, as a slider over the stay.
fn announce(ui: &Ui, response: &Response, timeline: &Timeline, at_s: f64) {
    let label = timeline.spoken();
    response.widget_info(|| WidgetInfo::slider(true, at_s, &label));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_min_numeric_value(0.0);
        node.set_max_numeric_value(timeline.end_s);
        node.add_action(Action::SetValue);
    });
}

/// What the legs' colours stand for, and how one moves.
fn legend(ui: &mut Ui, timeline: &Timeline, color: egui::Color32) {
    let colors = theme::of(ui);
    let has = |kind: BlockKind| timeline.crew.iter().any(|block| block.kind == kind);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
        ui.spacing_mut().interact_size.y = 0.0;
        ui.add_space(MARGIN - space::ROW);
        for (kind, name) in [
            (BlockKind::Strip, "strip"),
            (BlockKind::Link, "link"),
            (BlockKind::Turn, "turn"),
            (BlockKind::Vertical, "climb, descent"),
            (BlockKind::Transit, "transit"),
        ] {
            let (share, fill) = leg_look(kind, color, colors);
            entry(ui, name, |painter, place| {
                painter.rect_filled(place.with_min_y(place.bottom() - share * place.height()), 0.0, fill);
            });
        }
        entry(ui, "a sortie resumes", |painter, place| {
            painter.circle(place.center(), 6.5, colors.surface, Stroke::new(1.5, color));
        });
        let crew = [
            (BlockKind::Swap, "battery change", colors.muted),
            (BlockKind::Move, "move to another take-off", moving(colors)),
        ];
        for (_, name, fill) in crew.into_iter().filter(|(kind, ..)| has(*kind)) {
            entry(ui, name, |painter, place| {
                painter.rect_filled(place, 2.0, fill);
            });
        }
        if timeline.light.is_ok() {
            entry(ui, "sun's height, 0 to 90°", |painter, place| {
                painter.hline(place.x_range(), place.center().y, Stroke::new(1.6, SUN));
            });
        }
        // It would take the room of the lanes in a small window.
        if ui.max_rect().width() >= ROOMY {
            let how = "Drag or arrows: cursor; wheel: zoom; Shift and drag: move; Home, End, 0";
            let how = RichText::new(how).font(theme::caption()).color(colors.muted);
            ui.add(egui::Label::new(how).extend());
        }
    });
}

/// A sign and its name, which stay together where the line breaks.
fn entry(ui: &mut Ui, name: &str, paint: impl FnOnce(&egui::Painter, egui::Rect)) {
    const SIGN: f32 = 14.0;
    let color = theme::of(ui).muted;
    let galley = ui.painter().layout_no_wrap(name.to_owned(), theme::caption(), color);
    let size = vec2(SIGN + space::TIGHT + galley.size().x, SIGN.max(galley.size().y));
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    let middle = area.left_center();
    paint(ui.painter(), egui::Rect::from_center_size(middle + vec2(SIGN / 2.0, 0.0), vec2(SIGN, SIGN)));
    let at = middle + vec2(SIGN + space::TIGHT, -galley.size().y / 2.0);
    ui.painter().galley(at, galley, color);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, name));
}

/// The plan and the lists.
fn under(
    ui: &mut Ui,
    given: &GivenFlight<'_>,
    breakdown: &Breakdown,
    plan_state: &mut PlanState,
    height: f32,
    asks: &mut Vec<TimelineAsk>,
) {
    let color = theme::of(ui).strategy(given.slot);
    let both = 2.0 * LIST + space::PAGE;
    let width = ui.available_width();
    if height < LEAST_PLAN {
        // There is no room for a part of them: all of them are scrolled to.
        let placed = if width >= both { Lists::Beside } else { Lists::Below };
        both_lists(ui, breakdown, color, placed, asks);
        return;
    }
    let room = Rect::from_min_size(ui.cursor().min, vec2(width, height));
    let (lists, placed) = match given.plan {
        Some(_) if width >= THREE => (both, Lists::Beside),
        Some(_) => (LIST, Lists::Below),
        None => (width, if width >= both { Lists::Beside } else { Lists::Below }),
    };
    let split = room.right() - lists - space::PAGE;
    if let Some(plan) = given.plan {
        let left = room.with_max_x(split);
        ui.scope_builder(UiBuilder::new().id_salt("plan").max_rect(left), |ui| {
            plan::alone(ui, plan, plan_state, color);
        });
    }
    let right = if given.plan.is_some() { room.with_min_x(split + space::PAGE) } else { room };
    ui.scope_builder(UiBuilder::new().id_salt("lists").max_rect(right), |ui| {
        ScrollArea::vertical().id_salt("lists").auto_shrink(false).show(ui, |ui| {
            both_lists(ui, breakdown, color, placed, asks);
        });
    });
    ui.advance_cursor_after_rect(room);
}

/// How the lists stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lists {
    Beside,
    Below,
}

fn both_lists(
    ui: &mut Ui,
    breakdown: &Breakdown,
    color: egui::Color32,
    placed: Lists,
    asks: &mut Vec<TimelineAsk>,
) {
    ui.spacing_mut().item_spacing.y = 0.0;
    if placed == Lists::Beside {
        ui.horizontal_top(|ui| {
            list(ui, |ui| lists::budget(ui, breakdown, color, asks));
            ui.add_space(space::PAGE - ui.spacing().item_spacing.x);
            list(ui, |ui| lists::spread(ui, breakdown, asks));
        });
    } else {
        lists::budget(ui, breakdown, color, asks);
        ui.add_space(space::GROUP);
        lists::spread(ui, breakdown, asks);
    }
}

fn list(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    let width = (LIST - space::ROW).min(ui.available_width());
    ui.vertical(|ui| {
        ui.set_width(width);
        add(ui);
    });
}
