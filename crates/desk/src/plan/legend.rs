use super::model::{LineKind, Plan, PlanNote};
use super::paint;
use crate::show;
use crate::take_off_mark;
use crate::theme::{self, space};
use egui::{
    Align2, Color32, Galley, Mesh, Pos2, Rect, ScrollArea, Sense, Stroke, StrokeKind, Ui, UiBuilder, Vec2,
    pos2, vec2,
};
use obliquity_planning::{PointRole, Severity};
use std::sync::Arc;

const LEGEND_ROW: f32 = 17.0;
/// Of a legend's line, with the gap behind it.
const SAMPLE: f32 = 32.0;

/// What a legend says of a line.
#[derive(Clone, Copy)]
enum LegendEntry {
    Odd,
    Even,
    Only,
    Transit,
    Exposure,
    Ends,
    TakeOff,
    TakeOffs,
    Boundary,
    Structure,
    KeepOut,
    ControlPoint,
    CheckPoint,
    Distance,
    Limit,
}

impl LegendEntry {
    fn text(self) -> &'static str {
        match self {
            LegendEntry::Odd => "sorties 1, 3 …",
            LegendEntry::Even => "sorties 2, 4 …",
            LegendEntry::Only => "strips",
            LegendEntry::Transit => "transit",
            LegendEntry::Exposure => "exposure, ticked where it looks",
            LegendEntry::Ends => "first and last exposure of a sortie",
            LegendEntry::TakeOff => "take-off",
            LegendEntry::TakeOffs => "take-offs, numbered",
            LegendEntry::Boundary => "boundary",
            LegendEntry::Structure => "structure, shaded by height",
            LegendEntry::KeepOut => "keep-out",
            LegendEntry::ControlPoint => PointRole::Control.name(),
            LegendEntry::CheckPoint => PointRole::Check.name(),
            LegendEntry::Distance => "distance from take-off",
            LegendEntry::Limit => "limit for the pilot",
        }
    }

    /// Whether it can be drawn before there is a boundary.
    fn is_of_site(self) -> bool {
        matches!(
            self,
            LegendEntry::Structure
                | LegendEntry::KeepOut
                | LegendEntry::ControlPoint
                | LegendEntry::CheckPoint
        )
    }

    fn of(plan: &Plan) -> Vec<LegendEntry> {
        let sorties: &[LegendEntry] =
            if plan.sorties > 1 { &[LegendEntry::Odd, LegendEntry::Even] } else { &[LegendEntry::Only] };
        let there = [
            (LegendEntry::Transit, !plan.transits.is_empty()),
            (LegendEntry::Exposure, true),
            (LegendEntry::Ends, plan.sorties > 0),
        ];
        let rings = [
            (LegendEntry::Distance, plan.rings.iter().any(|ring| !ring.limit)),
            (LegendEntry::Limit, plan.rings.iter().any(|ring| ring.limit)),
        ];
        let of = |entries: &[(LegendEntry, bool)]| -> Vec<LegendEntry> {
            entries.iter().filter(|(_, is_there)| *is_there).map(|(entry, _)| *entry).collect()
        };
        Self::about([sorties, &of(&there)].concat(), plan, of(&rings))
    }

    /// With everything that may yet be flown: what keeps its room while figures come in.
    fn lasting(plan: &Plan) -> Vec<LegendEntry> {
        let flown = [
            LegendEntry::Odd,
            LegendEntry::Even,
            LegendEntry::Transit,
            LegendEntry::Exposure,
            LegendEntry::Ends,
        ];
        Self::about(flown.to_vec(), plan, vec![LegendEntry::Distance, LegendEntry::Limit])
    }

    /// What is flown, what stands on the site, and the distances.
    fn about(flown: Vec<LegendEntry>, plan: &Plan, rings: Vec<LegendEntry>) -> Vec<LegendEntry> {
        let site = &plan.site;
        let has = |role| site.control_points.iter().any(|point| point.role == role);
        let there = [
            (LegendEntry::TakeOff, plan.take_offs.len() < 2),
            (LegendEntry::TakeOffs, plan.take_offs.len() > 1),
            (LegendEntry::Boundary, true),
            (LegendEntry::Structure, !site.structures.is_empty()),
            (LegendEntry::KeepOut, !site.keep_outs.is_empty()),
            (LegendEntry::ControlPoint, has(PointRole::Control)),
            (LegendEntry::CheckPoint, has(PointRole::Check)),
        ];
        let there = there.into_iter().filter(|(_, is_there)| *is_there).map(|(entry, _)| entry);
        if site.undrawn {
            // Nothing is flown over what only stands for a boundary.
            return there.filter(|entry| entry.is_of_site()).collect();
        }
        flown.into_iter().chain(there).chain(rings).collect()
    }

    fn sample(self, painter: &egui::Painter, at: Pos2, color: Color32, colors: &theme::Colors) {
        let line = |width: f32, color: Color32| {
            painter.line_segment([at, at + vec2(26.0, 0.0)], Stroke::new(width, color));
        };
        match self {
            LegendEntry::Odd | LegendEntry::Only => paint::sample(painter, at, LineKind::Strip, 1, color),
            LegendEntry::Even => paint::sample(painter, at, LineKind::Strip, 2, color),
            LegendEntry::Transit => paint::sample(painter, at, LineKind::Transit, 1, colors.muted),
            LegendEntry::Exposure => {
                let dot = pos2(at.x + 10.0, at.y);
                let mut mesh = Mesh::default();
                mesh.add_colored_rect(Rect::from_center_size(dot, Vec2::splat(3.0)), colors.ink);
                paint::stroke(&mut mesh, [dot, dot + vec2(8.0, -4.0)], 1.2, colors.ink);
                painter.add(mesh);
            }
            LegendEntry::Ends => {
                let edge = Stroke::new(1.5, color);
                painter.circle(pos2(at.x + 6.0, at.y), 5.5, colors.surface, edge);
                let last = Rect::from_center_size(pos2(at.x + 20.0, at.y), vec2(10.0, 11.0));
                painter.rect(last, 2.0, colors.surface, edge, StrokeKind::Inside);
            }
            LegendEntry::TakeOff => take_off_mark::only(painter, pos2(at.x + 12.0, at.y), colors),
            LegendEntry::TakeOffs => {
                take_off_mark::numbered(painter, pos2(at.x + 12.0, at.y), 8.0, "", colors);
            }
            LegendEntry::ControlPoint => {
                paint::measured_point(painter, pos2(at.x + 12.0, at.y + 1.0), PointRole::Control, colors);
            }
            LegendEntry::CheckPoint => {
                paint::measured_point(painter, pos2(at.x + 12.0, at.y), PointRole::Check, colors);
            }
            LegendEntry::Boundary => line(2.0, colors.ink),
            LegendEntry::Distance => line(1.0, colors.rule),
            LegendEntry::Limit => line(2.0, colors.warn),
            LegendEntry::Structure => {
                let fill = |k: u8| colors.trough.lerp_to_gamma(colors.muted, 0.15 + 0.3 * f32::from(k));
                for k in 0..3 {
                    let left = pos2(at.x + 8.0 * f32::from(k), at.y);
                    let place = Rect::from_center_size(left + vec2(4.0, 0.0), vec2(8.0, 9.0));
                    painter.rect(place, 0.0, fill(k), Stroke::new(1.0, colors.muted), StrokeKind::Inside);
                }
            }
            LegendEntry::KeepOut => {
                let place = Rect::from_center_size(pos2(at.x + 12.0, at.y), vec2(16.0, 9.0));
                let fill = colors.bad.gamma_multiply(0.14);
                painter.rect(place, 0.0, fill, Stroke::new(1.5, colors.bad), StrokeKind::Inside);
            }
        }
    }
}

/// So many lines of cautions have their place under the plan, whether there are any or not.
const NOTE_LINES: f32 = 2.0;
/// The legend takes no more of what it shares with the plan.
const MOST: f32 = 0.33;

type PlacedEntry = (LegendEntry, Rect, Arc<Galley>);

/// The legend and the cautions that are marked, laid out under the plan.
pub(super) struct PlanLegend {
    entries: Vec<PlacedEntry>,
    notes: Vec<(Vec2, Arc<Galley>)>,
    /// Of its place, which does not depend on what is flown.
    pub(super) height: f32,
    /// Of all of it; what has no room is scrolled to.
    whole: f32,
}

impl PlanLegend {
    /// The notes are those of one plan; nothing where several stand side by side.
    pub(super) fn new(ui: &Ui, plan: &Plan, notes: Option<&[PlanNote]>) -> Self {
        let colors = theme::of(ui);
        let width = ui.available_width();
        let (entries, under) = laid(ui, LegendEntry::of(plan), width);
        let mut whole = under;
        let note = |note: &PlanNote| {
            let color = if note.severity == Severity::Limit { colors.bad } else { colors.warn };
            let text = show::unbroken(&note.text);
            let galley = ui.painter().layout(text, theme::caption(), color, width);
            let top = whole + space::HAIR;
            whole = top + galley.size().y;
            (vec2(0.0, top), galley)
        };
        let of_plan = notes.unwrap_or_default().iter().map(note).collect();
        let lasting = laid(ui, LegendEntry::lasting(plan), width).1;
        let lines = if notes.is_some() && !plan.site.undrawn { NOTE_LINES } else { 0.0 };
        let height = (lasting + lines * LEGEND_ROW).min(MOST * ui.available_height());
        PlanLegend { entries, notes: of_plan, height, whole }
    }

    pub(super) fn show(self, ui: &mut Ui, color: Color32) {
        let size = vec2(ui.available_width(), self.height);
        let (place, _) = ui.allocate_exact_size(size, Sense::hover());
        let mut inner = ui.new_child(UiBuilder::new().id_salt("legend of the plan").max_rect(place));
        let scroll = ScrollArea::vertical().max_height(size.y).min_scrolled_height(size.y);
        scroll.auto_shrink(false).show(&mut inner, |ui| {
            let (whole, _) = ui.allocate_exact_size(vec2(size.x, self.whole), Sense::hover());
            self.draw(ui, whole.min.to_vec2(), color);
        });
    }

    fn draw(self, ui: &Ui, by: Vec2, color: Color32) {
        let colors = theme::of(ui);
        for (entry, place, galley) in self.entries {
            let place = place.translate(by);
            entry.sample(ui.painter(), place.left_center(), color, colors);
            let middle = place.left_center() + vec2(SAMPLE, 0.0);
            let at = Align2::LEFT_CENTER.anchor_size(middle, galley.size()).min;
            ui.painter().galley(at, galley, colors.muted);
        }
        for (at, galley) in self.notes {
            ui.painter().galley((by + at).to_pos2(), galley, colors.warn);
        }
    }
}

/// Entries in rows, and how high all of them are.
fn laid(ui: &Ui, entries: Vec<LegendEntry>, width: f32) -> (Vec<PlacedEntry>, f32) {
    let muted = theme::of(ui).muted;
    let mut at = Vec2::ZERO;
    let place = |entry: LegendEntry| {
        let galley = ui.painter().layout_no_wrap(entry.text().to_owned(), theme::caption(), muted);
        let size = vec2(SAMPLE + galley.size().x, LEGEND_ROW);
        if at.x > 0.0 && at.x + size.x > width {
            at = vec2(0.0, at.y + LEGEND_ROW);
        }
        let place = Rect::from_min_size(at.to_pos2(), size);
        at.x += size.x + space::GROUP;
        (entry, place, galley)
    };
    let entries: Vec<PlacedEntry> = entries.into_iter().map(place).collect();
    (entries, at.y + LEGEND_ROW)
}
