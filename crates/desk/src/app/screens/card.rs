//! The set-up card in the window: its screen, and the ways to take it along.

use crate::amendment::{Amendment, Part};
use crate::app::App;
use crate::beside::CardSource;
use crate::card::{self, CardAsk, CardMaking, CardView};
use crate::dialogs::{Purpose, Refusal};
use crate::document::Edit;
use crate::engine::Failure;
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::picture;
use crate::screen::Screen;
use crate::theme::{self, space};
use egui::{Context, Frame, Ui};
use obliquity_exchange::{Card, CardSheet, Output, OutputKind, PaperSize, Replace};
use obliquity_planning::{Id, Reported};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// The card's pages, laid out beside the window.
#[derive(Debug, Default)]
pub(in crate::app) struct PrintedCard {
    /// The pages last laid out, and the card and the paper that they are of.
    laid: Option<(Same<Card>, Arc<CardSheet>)>,
}

/// Pages of a card.
#[derive(Debug, Clone, PartialEq)]
struct LaidCard {
    card: Same<Card>,
    paper: PaperSize,
}

impl Key for LaidCard {
    type Reply = CardSheet;
    const LANE: Lane = Lane::Aside;
}

impl Key for CardSource {
    type Reply = Result<Card, Failure>;
    const LANE: Lane = Lane::Aside;
}

/// Whoever takes the card along waits so long for the one of the scenario as it stands.
const PATIENCE: Duration = Duration::from_millis(4);

impl App {
    /// Has the card of the strategy in focus made; one at a time, so that a slider that moves asks for no crowd of them.
    pub(in crate::app) fn follow_card_of_focus(&mut self) {
        self.hear_cards();
        let Some(wanted) = self.beside.card_wanted().filter(|_| !self.beside.has_card_wanted()).cloned()
        else {
            return;
        };
        // Where it is not looked at it waits for the end of a gesture: the next frame would want another.
        let is_moving = self.document.in_gesture() && self.screen_shown() != Screen::CARD;
        if !is_moving && !self.jobs.is_open(|_: &CardSource| true) {
            let engine = self.engine.clone();
            self.jobs.request(wanted.clone(), move |watch| wanted.card(&engine, watch));
            self.hear_cards();
        }
    }

    fn hear_cards(&mut self) {
        for (of, answer) in self.jobs.take::<CardSource>() {
            match answer.map_err(Failure::Refused).flatten() {
                Ok(card) => self.beside.take_card(of, card),
                Err(Failure::Cancelled) => {}
                Err(Failure::Refused(why)) => {
                    self.beside.give_up_card();
                    self.tell("There is no card", &why);
                }
            }
        }
    }

    /// The card of the scenario as it stands.
    ///
    /// # Errors
    /// Why there is none, for people.
    fn card_now(&mut self) -> Result<Arc<Card>, &'static str> {
        self.follow();
        self.jobs.wait(PATIENCE, |_: &CardSource| true);
        self.follow_card_of_focus();
        match self.beside.shared_card() {
            Some(card) if self.beside.has_card_wanted() => Ok(Arc::clone(card)),
            None if self.beside.card_wanted().is_none() => Err(NO_CARD),
            _ => Err("The card is being worked out; ask for it again in a moment."),
        }
    }

    /// What the card is printed on.
    pub fn paper(&self) -> PaperSize {
        self.home.preferences.paper()
    }

    /// The card's pages as they are shown.
    pub fn printed(&self) -> Option<&CardSheet> {
        self.printed.laid.as_ref().map(|(_, sheet)| &**sheet)
    }

    /// Has the pages laid out for the card as it stands; until then those of the card before are shown.
    pub(super) fn follow_card(&mut self) {
        let Some(card) = self.beside.shared_card().map(Arc::clone) else {
            self.printed.laid = None;
            return;
        };
        let paper = self.paper();
        self.hear_pages();
        let is_laid = |(of, sheet): &(Same<Card>, Arc<CardSheet>)| of.is(&card) && sheet.paper == paper;
        if self.printed.laid.as_ref().is_some_and(is_laid) {
            return;
        }
        // Another strategy's pages are not shown meanwhile.
        if self.printed.laid.as_ref().is_some_and(|(of, _)| of.0.id != card.id) {
            self.printed.laid = None;
        }
        self.jobs.cancel(|key: &LaidCard| !key.card.is(&card) || key.paper != paper);
        self.jobs.request(LaidCard { card: Same::of(&card), paper }, move |_| CardSheet::new(&card, paper));
        self.hear_pages();
    }

    fn hear_pages(&mut self) {
        for (LaidCard { card, .. }, answer) in self.jobs.take::<LaidCard>() {
            match answer {
                Ok(sheet) => self.printed.laid = Some((card, Arc::new(sheet))),
                Err(why) => self.tell("The card was not laid out", &why),
            }
        }
    }

    pub(super) fn card_screen(&mut self, ui: &mut Ui) {
        let (strategies, column) = self.beside.strategies();
        let id = strategies.get(column).map(|(id, _)| *id);
        let strategy = id.and_then(|id| self.document.scenario().strategy(id));
        let reported = strategy.and_then(|strategy| strategy.reported).unwrap_or_default();
        let view = CardView {
            card: self.beside.card(),
            sheet: self.printed(),
            making: if self.beside.card_wanted().is_some() {
                CardMaking::Possible
            } else {
                CardMaking::Impossible
            },
            paper: self.paper(),
            reported,
            slot: self.beside.slot(),
        };
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| card::ui(ui, &view, &mut asks));
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                CardAsk::Report(id, reported) => self.report(id, reported),
                CardAsk::Figure(figure) => self.show_working(figure),
                CardAsk::Paper(paper) => self.home.preferences.paper = Some(paper),
                CardAsk::SavePdf => self.pick(Purpose::CardPdf, &ctx),
                CardAsk::Print => self.print_card(),
                CardAsk::Copy => self.copy_card(&ctx),
                CardAsk::SaveText => self.pick(Purpose::CardText, &ctx),
                CardAsk::SavePicture => self.pick(Purpose::CardPicture, &ctx),
                CardAsk::Export => self.pick(Purpose::Export, &ctx),
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
        match self.card_now() {
            Ok(card) => ctx.copy_text(card.to_text()),
            Err(why) => self.tell("No card", why),
        }
    }

    /// A name for the card's file; nothing for a purpose that is not about the card.
    pub(in crate::app) fn card_file_name(&self, purpose: Purpose) -> Option<String> {
        let extension = match purpose {
            Purpose::CardText => "txt",
            Purpose::CardPicture => "png",
            Purpose::CardPdf => "pdf",
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
        let card = self.card_now().map_err(|why| Refusal::new(NOT_SAVED, &why))?;
        let (slot, paper, path) = (self.beside.slot(), self.paper(), path.to_owned());
        self.put_out(NOT_SAVED, path.clone(), move || {
            let (kind, bytes) = match purpose {
                Purpose::CardPdf => (OutputKind::PDF, card::pdf(&CardSheet::new(&card, paper), slot)?),
                Purpose::CardPicture => {
                    let picture = picture::png_bytes(&card::picture(&CardSheet::new(&card, paper), slot));
                    (OutputKind::PICTURE, picture.map_err(|error| error.to_string())?)
                }
                _ => (OutputKind::CARD, card.to_text().into_bytes()),
            };
            let out = Output { path: &path, kind, replace, inputs: &[] };
            files::write(&out, &bytes).map_err(|error| error.to_string())
        });
        Ok(())
    }

    /// Opens the card in the system's viewer of PDFs, from a file of its own among the temporary ones.
    pub(in crate::app) fn print_card(&mut self) {
        let card = match self.card_now() {
            Ok(card) => card,
            Err(why) => return self.tell("No card", why),
        };
        let (slot, paper) = (self.beside.slot(), self.paper());
        self.put_away("The card was not opened", move || {
            let bytes = card::pdf(&CardSheet::new(&card, paper), slot)?;
            let path = files::write_temporary(&card::short_file_name(&card.strategy, "pdf"), &bytes)?;
            files::open_with_system(&path)
        });
    }
}

pub(in crate::app) const NO_CARD: &str =
    "The strategy in focus cannot be worked out; the board says what is in the way.";
