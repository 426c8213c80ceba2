//! What time, energy and processing of all strategies are made of, beside each other.

use crate::app::App;
use crate::chart;
use crate::figures::Freshness;
use crate::form;
use crate::theme::{self, space};
use crate::tsv;
use egui::{Label, RichText, ScrollArea, Sense, Ui, WidgetInfo, vec2};
use obliquity_exchange::chart::{Budget, Chart, PartLook, budgets};
use obliquity_planning::{Id, Outcome, time_in_words};

/// Height of a bar with the gap below it, and of what else there is of a diagram.
const BAR: f32 = 34.0;
/// Of the smaller diagrams.
const SMALL_BAR: f32 = 28.0;
/// Side of a sign in the legend.
const SIGN: f32 = 14.0;

impl App {
    fn budgets(&self) -> Vec<Budget> {
        budgets(self.document.scenario(), &self.surest_of_all())
    }

    /// What is known of every strategy, as deep as it has come.
    pub(in crate::app) fn surest_of_all(&self) -> Vec<&Outcome> {
        let scenario = self.document.scenario();
        let known = |id: Id| {
            let known = self.figures.known(scenario, id)?;
            let seen = known.views.filter(|_| known.freshness == Freshness::Fresh);
            seen.or(known.surest().ok())
        };
        scenario.strategies.iter().filter_map(|strategy| known(strategy.id)).collect()
    }

    /// The diagrams of the budgets.
    pub(in crate::app) fn budget_charts(&self) -> Vec<Chart> {
        self.budgets().iter().map(|budget| budget.chart(self.home.units())).collect()
    }

    /// All parts of all strategies, as a table.
    pub(super) fn budget_table(&self) -> String {
        let units = self.home.units();
        let mut text = String::new();
        for budget in self.budgets() {
            let parts = budget.parts.iter().map(|part| part.name);
            text += &tsv::line([budget.title.as_str()].into_iter().chain(parts).chain(["total"]));
            for row in &budget.rows {
                let figures = row.parts.iter().copied().chain([row.total]);
                let figures = figures.map(|figure| units.text(budget.unit, figure));
                text += &tsv::line([row.name.clone()].into_iter().chain(figures));
            }
        }
        text
    }

    /// Why it takes as long as it does: each strategy held against the reference, or against the quickest, which is said first.
    fn budget_sentences(&self) -> Vec<String> {
        let outcomes = self.surest_of_all();
        let total = |outcome: &&&Outcome| outcome.timing.as_ref().map(|timing| timing.time_budget().total_s);
        let chosen = self.document.scenario().reference;
        let chosen = outcomes.iter().find(|one| Some(one.strategy) == chosen && one.feasible());
        let quickest = outcomes.iter().filter(|one| one.feasible()).min_by_key(total);
        let is_chosen = chosen.is_some();
        let Some(from) = chosen.or(quickest) else { return Vec::new() };
        let role = if is_chosen {
            "the reference"
        } else {
            "the quickest; the board's menus choose another reference"
        };
        let against = format!("Why, held against {}, {role}:", from.name);
        let others = outcomes.iter().filter(|one| one.strategy != from.strategy && one.feasible());
        let cannot = outcomes.iter().filter(|one| !one.feasible());
        let cannot = cannot.map(|one| format!("{} cannot be flown: {}.", one.name, one.reasons.join("; ")));
        let told: Vec<String> = others.filter_map(|to| time_in_words(from, to)).chain(cannot).collect();
        if told.is_empty() { told } else { [vec![against], told].concat() }
    }

    /// Draws them into all of `ui`.
    pub(super) fn budgets_ui(&self, ui: &mut Ui) {
        let (budgets, units) = (self.budgets(), self.home.units());
        if budgets.is_empty() {
            form::muted(ui, "There is no strategy that can be flown.");
            return;
        }
        ScrollArea::vertical().id_salt("budgets").auto_shrink(false).show(ui, |ui| {
            for (k, budget) in budgets.iter().enumerate() {
                let chart = budget.chart(units);
                ui.label(RichText::new(&budget.title).font(theme::body_strong()));
                let each = if k == 0 { BAR } else { SMALL_BAR };
                let height = each * budget.rows.len() as f32 + space::PAGE;
                chart::large(ui, &chart, vec2(ui.available_width() - space::PAGE, height));
                legend(ui, &budget.parts);
                if k == 0 {
                    ui.add_space(space::TIGHT);
                    for sentence in self.budget_sentences() {
                        ui.add(Label::new(sentence).wrap());
                    }
                }
                ui.add_space(space::ROW);
            }
        });
    }
}

/// What the parts look like, in the order of the bars.
fn legend(ui: &mut Ui, parts: &[PartLook]) {
    let colors = theme::of(ui);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::GROUP, space::TIGHT);
        for part in parts {
            let galley = ui.painter().layout_no_wrap(part.name.to_owned(), theme::caption(), colors.ink);
            let size = vec2(SIGN + space::TIGHT + galley.size().x, SIGN.max(galley.size().y));
            let (area, response) = ui.allocate_exact_size(size, Sense::hover());
            let sign = area.with_max_x(area.left() + SIGN).shrink2(vec2(0.0, 1.0));
            chart::fill(ui.painter(), sign, part.fill, (chart::color_of(part.tone, colors), colors));
            ui.painter().galley(area.left_top() + vec2(SIGN + space::TIGHT, 0.0), galley, colors.ink);
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Label, true, part.name));
            response.on_hover_text(part.explanation);
        }
    });
}
