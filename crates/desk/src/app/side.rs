//! What the screens remember while the window is open.

use super::row_asks::RowQuestion;
use crate::equipment::Shelf;
use crate::first_use::{Buildings, Rectangle};
use crate::passing::Passing;
use crate::screen::Screen;
use crate::site_panel::SiteState;
use crate::strategies::{Offer, offers};
use obliquity_planning::{Equipment, Id, MeasureId, Scenario, Site, SiteOutline, SiteTemplate};
use std::sync::Arc;

/// What is known of a site as long as it stays the same.
#[derive(Debug)]
pub(super) struct KnownSite {
    site: Arc<Site>,
    offers: Vec<Offer>,
    /// Nothing of a site that is not sound.
    outline: Option<Arc<SiteOutline>>,
}

impl KnownSite {
    /// The site as passes see it; nothing of one that is not sound.
    pub(super) fn outline(&self) -> Option<&Arc<SiteOutline>> {
        self.outline.as_ref()
    }
}

/// What the screens remember while the window is open.
#[derive(Debug)]
pub(super) struct Side {
    pub(super) screen: Screen,
    /// The screens that were shown before, the latest last.
    pub(super) visited: Vec<Screen>,
    /// What is shown of screens that show one of several things, by name.
    pub(super) aspects: Vec<&'static str>,
    /// What is said in passing.
    pub(super) passing: Option<Passing>,
    /// What the row asks in front of the screen.
    pub(super) question: Option<RowQuestion>,
    /// Where the screen under the row is, as it was last drawn.
    pub(super) page: egui::Rect,
    /// A diagram that is to be copied in the next frame.
    pub(super) copied: Option<egui::Rect>,
    /// Whether the system has turned out to have no file dialog, so that paths are typed.
    pub(super) typed_paths: bool,
    pub(super) shelf: Shelf,
    pub(super) library: Result<Equipment, String>,
    /// Whether the library has changed since it was saved.
    pub(super) library_changed: bool,
    pub(super) rectangle: Rectangle,
    pub(super) buildings: Option<Buildings>,
    /// The site on which the user has said that nothing stands.
    pub(super) bare: Option<Arc<Site>>,
    /// The pass last chosen.
    pub(super) pass: Option<Id>,
    /// The figure last chosen.
    pub(super) figure: MeasureId,
    /// What the screen of the site remembers.
    pub(super) site_state: SiteState,
    pub(super) known: Option<KnownSite>,
}

impl Side {
    pub(super) fn new(library: Result<Equipment, String>) -> Self {
        Side {
            screen: Screen::default(),
            visited: Vec::new(),
            aspects: Vec::new(),
            passing: None,
            question: None,
            page: egui::Rect::NOTHING,
            copied: None,
            typed_paths: false,
            shelf: Shelf::default(),
            library,
            library_changed: false,
            rectangle: Rectangle::default(),
            buildings: None,
            bare: None,
            pass: None,
            figure: MeasureId::TimeOnSite,
            site_state: SiteState::default(),
            known: None,
        }
    }
}

impl Side {
    /// Brings what is known of the site up to the scenario.
    pub(super) fn follow_site(&mut self, scenario: &Scenario) {
        if self.known.as_ref().is_some_and(|known| Arc::ptr_eq(&known.site, &scenario.site)) {
            return;
        }
        let outline = SiteOutline::new(&scenario.site).ok().map(Arc::new);
        let (site, offers) = (Arc::clone(&scenario.site), offers(scenario));
        self.known = Some(KnownSite { site, offers, outline });
    }

    /// The templates that are laid on the site.
    pub(super) fn offers(&self) -> &[Offer] {
        self.known.as_ref().map(|known| known.offers.as_slice()).unwrap_or_default()
    }

    /// Why a template does not fit the site; nothing where it does.
    pub(super) fn refusal(&self, template: SiteTemplate) -> Option<&str> {
        self.offers().iter().find(|offer| offer.template == template)?.refusal.as_deref()
    }
}
