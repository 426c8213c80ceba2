//! What goes on the clipboard: the table of the screen that is shown, or its picture.

use super::App;
use super::screens::ScreenRow;
use crate::board::{Against, Board, Column};
use crate::copied;
use crate::equipment::Shelf;
use crate::timeline::Breakdown;
use crate::tsv;
use egui::{ColorImage, Context, Rect};
use obliquity_planning::{Aircraft, Pass, Structure, knob};

impl App {
    /// The table of the screen that is shown; nothing where there is none.
    pub fn table(&self) -> Option<String> {
        let table = ScreenRow::of(self.side.screen).table.filter(|_| !self.is_shut())?;
        table(self)
    }

    /// Puts the table of the screen that is shown on the clipboard.
    pub(super) fn copy_table(&self, ctx: &Context) {
        if let Some(table) = self.table() {
            ctx.copy_text(table);
        }
    }

    /// Puts a picture of the screen that is shown on the clipboard, without the row on top.
    pub(super) fn copy_picture(&self, ctx: &Context) {
        copy_part(ctx, self.side.page);
    }

    /// Copies a diagram for which that was asked in the frame before: its menu has gone by now.
    pub(super) fn copy_diagram(&mut self, ctx: &Context) {
        if let Some(area) = self.side.copied.take() {
            copy_part(ctx, area);
        }
        self.side.copied = copied::take(ctx);
        if self.side.copied.is_some() {
            ctx.request_repaint();
        }
    }

    pub(super) fn board_table(&self) -> Option<String> {
        self.board.as_ref().map(of_board)
    }

    pub(super) fn passes_table(&self) -> Option<String> {
        let strategy = self.document.scenario().strategy(self.focus()?)?;
        let names: Vec<String> = (1..)
            .zip(&strategy.passes)
            .map(|(number, pass)| format!("Pass {number}: {}", pass.pattern.kind().about().name))
            .collect();
        let passes: Vec<(&str, &Pass)> = names.iter().map(String::as_str).zip(&strategy.passes).collect();
        Some(tsv::of_knobs(knob::OF_PASS, &passes, self.units))
    }

    pub(super) fn site_table(&self) -> String {
        let structures = &self.document.scenario().site.structures;
        let parts: Vec<(&str, &Structure)> = structures.iter().map(|one| (one.name.as_str(), one)).collect();
        let mut text = tsv::of_knobs(&[&knob::STANDING], &parts, self.units);
        text += &tsv::line(["Corners, metres to the east and to the north of the origin"]);
        for one in structures {
            let corners = one.footprint_m.iter().map(|corner| format!("{:.2} {:.2}", corner.x, corner.y));
            text += &tsv::line(std::iter::once(one.name.clone()).chain(corners));
        }
        text
    }

    pub(super) fn equipment_table(&self) -> Option<String> {
        let equipment = match self.side.shelf {
            Shelf::Scenario => &self.document.scenario().equipment,
            Shelf::Library => self.side.library.as_ref().ok()?,
        };
        let aircraft: Vec<(&str, &Aircraft)> =
            equipment.aircraft.iter().map(|one| (one.name.as_str(), one)).collect();
        Some(tsv::of_knobs(knob::OF_AIRCRAFT, &aircraft, self.units))
    }

    pub(super) fn conditions_table(&self) -> String {
        let conditions = &self.document.scenario().conditions;
        tsv::of_knobs(knob::OF_CONDITIONS, &[("", conditions)], self.units)
    }

    pub(super) fn requirement_table(&self) -> String {
        let scenario = self.document.scenario();
        let required = tsv::of_knobs(knob::OF_REQUIREMENT, &[("", &scenario.requirement)], self.units);
        let rates = tsv::of_knobs(knob::OF_RATES, &[("", &scenario.rates)], self.units);
        required + &rates + &tsv::of_knobs(knob::OF_JOB, &[("", &scenario.job)], self.units)
    }

    pub(super) fn timeline_table(&self) -> Option<String> {
        let known = self.figures.known(self.document.scenario(), self.focus()?)?;
        let timing = known.quick.ok()?.timing.as_ref()?;
        let breakdown = Breakdown::new(self.document.scenario(), timing, known);
        let mut text = tsv::line(["Time budget", "s", "h:mm:ss"]);
        for row in &breakdown.budget {
            text += &tsv::line([row.name, &row.seconds.to_string(), &row.text]);
        }
        for row in &breakdown.likely {
            text += &tsv::line([row.name, "", &row.text]);
        }
        for row in &breakdown.causes {
            text += &tsv::line([row.name, "", &row.text]);
        }
        Some(text)
    }
}

/// The board: a column for each strategy, a row for each figure.
fn of_board(board: &Board) -> String {
    let row = |name: &str, cells: Vec<&str>| tsv::line(std::iter::once(name).chain(cells));
    let columns = || board.columns.iter();
    let mut text = row("", columns().map(|column| column.name.as_str()).collect());
    text += &row("Aircraft", columns().map(|column| column.aircraft.as_str()).collect());
    text += &row("Verdict", columns().map(|column| column.verdict_text.as_str()).collect());
    text += &row("Settings", columns().map(|column| column.brief.as_str()).collect());
    if let Some(against) = columns().find_map(|column| column.against.as_ref()) {
        let words = |column: &Column| column.against.as_ref().map(Against::text).unwrap_or_default();
        let words: Vec<String> = columns().map(words).collect();
        let name = format!("Against {}", against.reference);
        text += &row(&name, words.iter().map(String::as_str).collect());
    }
    for band in &board.bands {
        for figure in &band.rows {
            let name = format!("{}: {}", band.title, figure.label);
            text += &row(&name, figure.cells.iter().map(|cell| cell.text.as_str()).collect());
        }
    }
    text
}

/// Puts a picture of a part of the window on the clipboard.
fn copy_part(ctx: &Context, area: Rect) {
    let (ctx_then, scale) = (ctx.clone(), ctx.pixels_per_point());
    ctx.request_screenshot(move |image| {
        if let Some(cut) = cut_out(&image, area, scale) {
            ctx_then.copy_image(cut);
            ctx_then.request_repaint();
        }
    });
}

/// The part of a picture of the window that a place takes; nothing where it lies outside.
fn cut_out(image: &ColorImage, place: Rect, pixels_per_point: f32) -> Option<ColorImage> {
    let whole = egui::vec2(image.width() as f32, image.height() as f32) / pixels_per_point;
    let place = place.intersect(Rect::from_min_size(egui::Pos2::ZERO, whole));
    place.is_positive().then(|| image.region(&place, Some(pixels_per_point)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::{Color32, pos2};

    // Derived: by hand: at two pixels a point, points 1 to 3 across and 2 to 3 down are pixels 2 to 6 and 4 to 6.
    #[test]
    fn a_place_is_cut_out_of_a_picture() {
        let pixels = (0..8 * 8).map(Color32::from_gray).collect();
        let image = ColorImage::new([8, 8], pixels);
        let cut = cut_out(&image, Rect::from_min_max(pos2(1.0, 2.0), pos2(3.0, 3.0)), 2.0).unwrap();
        assert_eq!(cut.size, [4, 2]);
        assert_eq!(cut.pixels[0], Color32::from_gray(4 * 8 + 2));
        assert_eq!(cut_out(&image, Rect::from_min_max(pos2(9.0, 9.0), pos2(12.0, 12.0)), 2.0), None);
    }
}
