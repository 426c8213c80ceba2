//! The set-up card in the window: its screen, and the ways to take it along.

use crate::amendment::{Amendment, Part};
use crate::app::App;
use crate::card::{self, CardAsk, CardView};
use crate::dialogs::{Purpose, Refusal};
use crate::document::Edit;
use crate::files;
use crate::picture;
use crate::theme::{self, space};
use egui::{Context, Frame, Ui};
use obliquity_exchange::{Output, OutputKind, Replace};
use obliquity_planning::{Id, Reported};
use std::path::Path;

impl App {
    pub(super) fn card_screen(&mut self, ui: &mut Ui) {
        let (strategies, column) = self.beside.strategies();
        let id = strategies.get(column).map(|(id, _)| *id);
        let strategy = id.and_then(|id| self.document.scenario().strategy(id));
        let reported = strategy.and_then(|strategy| strategy.reported).unwrap_or_default();
        let view = CardView { card: self.beside.card(), reported, slot: self.beside.slot() };
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| card::ui(ui, &view, &mut asks));
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                CardAsk::Report(id, reported) => self.report(id, reported),
                CardAsk::Copy => self.copy_card(&ctx),
                CardAsk::SaveText => self.pick(Purpose::CardText, &ctx),
                CardAsk::SavePicture => self.pick(Purpose::CardPicture, &ctx),
            }
        }
    }

    fn report(&mut self, id: Id, reported: Reported) {
        let name = self.document.scenario().strategy(id).map_or("a strategy", |strategy| &strategy.name);
        let what = format!("controller's report for {name}");
        self.edit(&Edit::Amend(Amendment { what: what.into(), part: Part::Report(id, reported) }));
        self.document.end_gesture();
    }

    pub(in crate::app) fn copy_card(&mut self, ctx: &Context) {
        match self.beside.card() {
            Some(card) => ctx.copy_text(card.to_text()),
            None => self.tell("No card", NO_CARD),
        }
    }

    /// A name for the card's file; nothing for a purpose that is not about the card.
    pub(in crate::app) fn card_file_name(&self, purpose: Purpose) -> Option<String> {
        let extension = match purpose {
            Purpose::CardText => "txt",
            Purpose::CardPicture => "png",
            _ => return None,
        };
        let name = self.beside.card().map_or("strategy", |card| &card.strategy);
        Some(card::short_file_name(name, extension))
    }

    /// Writes the card of the strategy in focus to a file.
    pub(in crate::app) fn save_card(
        &mut self,
        purpose: Purpose,
        path: &Path,
        replace: Replace,
    ) -> Result<(), Refusal> {
        const NOT_SAVED: &str = "The card was not saved";
        let card = self.beside.card().ok_or_else(|| Refusal::new(NOT_SAVED, &NO_CARD))?;
        let (card, slot, path) = (card.clone(), self.beside.slot(), path.to_owned());
        self.put_away(NOT_SAVED, move || {
            let picture = purpose == Purpose::CardPicture;
            let bytes = if picture {
                picture::png_bytes(&card::picture(&card, slot)).map_err(|error| error.to_string())?
            } else {
                card.to_text().into_bytes()
            };
            let kind = if picture { OutputKind::PICTURE } else { OutputKind::CARD };
            let out = Output { path: &path, kind, replace, inputs: &[] };
            files::write(&out, &bytes).map_err(|error| error.to_string())
        });
        Ok(())
    }
}

pub(in crate::app) const NO_CARD: &str =
    "The strategy in focus cannot be worked out; the board says what is in the way.";
