use super::model::{LineKind, Plan, PlanNote};
use super::paint;
use crate::show;
use crate::theme::{self, space};
use egui::{Align2, Color32, Galley, Mesh, Pos2, Rect, Sense, Ui, Vec2, pos2, vec2};
use obliquity_planning::Severity;
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
}

impl LegendEntry {
    fn text(self) -> &'static str {
        match self {
            LegendEntry::Odd => "sorties 1, 3 …",
            LegendEntry::Even => "sorties 2, 4 …",
            LegendEntry::Only => "strips",
            LegendEntry::Transit => "transit",
            LegendEntry::Exposure => "exposure, ticked where it looks",
        }
    }

    fn of(plan: &Plan) -> Vec<LegendEntry> {
        let sorties: &[LegendEntry] =
            if plan.sorties > 1 { &[LegendEntry::Odd, LegendEntry::Even] } else { &[LegendEntry::Only] };
        sorties.iter().copied().chain([LegendEntry::Transit, LegendEntry::Exposure]).collect()
    }

    fn sample(self, painter: &egui::Painter, at: Pos2, color: Color32, colors: &theme::Colors) {
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
        }
    }
}

/// The legend and the cautions that are marked, laid out under the plan.
pub(super) struct PlanLegend {
    entries: Vec<(LegendEntry, Rect, Arc<Galley>)>,
    notes: Vec<(Vec2, Arc<Galley>)>,
    pub(super) height: f32,
}

impl PlanLegend {
    pub(super) fn new(ui: &Ui, plan: &Plan, notes: &[PlanNote]) -> Self {
        let colors = theme::of(ui);
        let width = ui.available_width();
        let mut at = Vec2::ZERO;
        let entries = LegendEntry::of(plan)
            .into_iter()
            .map(|entry| {
                let text = entry.text().to_owned();
                let galley = ui.painter().layout_no_wrap(text, theme::caption(), colors.muted);
                let size = vec2(SAMPLE + galley.size().x, LEGEND_ROW);
                if at.x > 0.0 && at.x + size.x > width {
                    at = vec2(0.0, at.y + LEGEND_ROW);
                }
                let place = Rect::from_min_size(at.to_pos2(), size);
                at.x += size.x + space::GROUP;
                (entry, place, galley)
            })
            .collect();
        let mut height = at.y + LEGEND_ROW;
        let notes = notes
            .iter()
            .map(|note| {
                let color = if note.severity == Severity::Limit { colors.bad } else { colors.warn };
                let text = show::unbroken(&note.text);
                let galley = ui.painter().layout(text, theme::caption(), color, width);
                let top = height + space::HAIR;
                height = top + galley.size().y;
                (vec2(0.0, top), galley)
            })
            .collect();
        PlanLegend { entries, notes, height }
    }

    pub(super) fn show(self, ui: &mut Ui, color: Color32) {
        let colors = theme::of(ui);
        let (whole, _) = ui.allocate_exact_size(vec2(ui.available_width(), self.height), Sense::hover());
        for (entry, place, galley) in self.entries {
            let place = place.translate(whole.min.to_vec2());
            entry.sample(ui.painter(), place.left_center(), color, colors);
            let middle = place.left_center() + vec2(SAMPLE, 0.0);
            let at = Align2::LEFT_CENTER.anchor_size(middle, galley.size()).min;
            ui.painter().galley(at, galley, colors.muted);
        }
        for (at, galley) in self.notes {
            ui.painter().galley(whole.min + at, galley, colors.warn);
        }
    }
}
