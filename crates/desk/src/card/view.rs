//! The card as a screen: its pages, and beside them the ways out and the fields for what the controller reports.

use super::ask::{CardAsk, CardMaking, CardView};
use super::{page, reports};
use crate::theme::{self, space};
use egui::{Button, Frame, Label, Margin, Panel, RichText, ScrollArea, Ui};
use obliquity_exchange::PaperSize;

/// Width of what stands beside the pages.
const SIDE: f32 = 228.0;
/// Between the pages and the ways out.
const GAP: i8 = 12;

/// A page is never drawn wider, in points: twice as large as on paper.
const WIDEST: f32 = 1190.0;

/// Draws the screen into all of `ui`.
pub fn ui(ui: &mut Ui, view: &CardView<'_>, asks: &mut Vec<CardAsk>) {
    // The scroll bar of the pages stands in the gap.
    let gap = Margin { left: GAP, ..Margin::ZERO };
    let frame = Frame::new().fill(theme::of(ui).page).inner_margin(gap);
    Panel::right("card, ways out")
        .exact_size(SIDE)
        .resizable(false)
        .show_separator_line(false)
        .frame(frame)
        .show(ui, |ui| {
            ScrollArea::vertical().id_salt("card, ways out").auto_shrink(false).show(ui, |ui| {
                side(ui, view, asks);
            });
        });
    ScrollArea::vertical().id_salt("card").auto_shrink(false).show(ui, |ui| {
        if view.making == CardMaking::Impossible {
            let text =
                "There is no card: the strategy cannot be worked out; the board says what is in the way.";
            ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
            return;
        }
        let Some(sheet) = view.sheet else {
            ui.label(RichText::new("Laying the card out…").color(theme::of(ui).muted));
            return;
        };
        let free = ui.available_width() - space::PAGE;
        let width = free.min(WIDEST);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing = egui::Vec2::ZERO;
            ui.add_space((free - width) / 2.0);
            ui.vertical(|ui| page::pages(ui, sheet, view.slot, width, asks));
        });
    });
}

fn title(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).font(theme::body_strong()));
}

/// Paper, ways out, and what the controller reports.
fn side(ui: &mut Ui, view: &CardView<'_>, asks: &mut Vec<CardAsk>) {
    ui.spacing_mut().item_spacing.y = space::TIGHT;
    title(ui, "Paper");
    ui.horizontal(|ui| {
        for paper in PaperSize::ALL {
            let hint = match paper {
                PaperSize::A4 => "210 by 297 mm",
                PaperSize::Letter => "8.5 by 11 inches",
            };
            let chosen = view.paper == paper;
            if ui.radio(chosen, paper.name()).on_hover_text(hint).clicked() && !chosen {
                asks.push(CardAsk::Paper(paper));
            }
        }
    });
    let pages = match view.sheet.map(|sheet| sheet.pages.len()) {
        None => "no page yet".to_owned(),
        Some(1) => "one page".to_owned(),
        Some(count) => format!("{count} pages"),
    };
    ui.label(RichText::new(pages).font(theme::caption()).color(theme::of(ui).muted));
    ui.add_space(space::ROW);
    ways_out(ui, view, asks);
    ui.add_space(space::ROW);
    let Some(card) = view.card else { return };
    if card.reports.is_empty() {
        return;
    }
    title(ui, "What the controller reports");
    for (index, report) in card.reports.iter().enumerate() {
        reports::field(ui, card, view, report, index, asks);
    }
}

fn ways_out(ui: &mut Ui, view: &CardView<'_>, asks: &mut Vec<CardAsk>) {
    let rows = [
        ("Save PDF…", "The page as it is shown, for any printer", CardAsk::SavePdf),
        (
            "Open to print",
            "In the system's viewer of PDFs, which can print it: this program has no print dialog of its own",
            CardAsk::Print,
        ),
        ("Copy as text", "Put the card on the clipboard", CardAsk::Copy),
        ("Save as text…", "A plain text file, for any printer", CardAsk::SaveText),
        ("Save as picture…", "A PNG file on white, for a phone", CardAsk::SavePicture),
        (
            "Export route and stations…",
            "Into a folder: route and regions as KML and GeoJSON, stations and samples as tables",
            CardAsk::Export,
        ),
    ];
    for (text, hint, ask) in rows {
        let button = Button::new(text).min_size(egui::vec2(SIDE - space::PAGE, 26.0));
        if ui.add_enabled(view.card.is_some(), button).on_hover_text(hint).clicked() {
            asks.push(ask);
        }
    }
}
