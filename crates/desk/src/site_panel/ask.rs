//! What the screen of the site shows, remembers and asks for.

use super::known::KnownPlace;
use super::make::NewRectangle;
use crate::amendment::{ScenarioNames, Subject};
use crate::figures::Freshness;
use crate::form::Kind;
use crate::target::Target;
use crate::units::{Unit, Units};
use obliquity_planning::limits::Range;
use obliquity_planning::{GeoPoint, Id, Scenario, Site, Structure};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct GivenSite<'a> {
    /// The scenario as it stands.
    pub scenario: &'a Scenario,
    /// Distance between the samples that the figures shown rest on, and whether they are of the site as it stands; nothing
    /// where none are worked out.
    pub spacing: Option<(f64, Freshness)>,
    /// The units that its reader prefers.
    pub units: Units,
}

/// What the screen remembers while the window is open.
#[derive(Debug, Clone, Default)]
pub struct SiteState {
    /// The structure last chosen.
    pub chosen: Option<Id>,
    /// The rectangle that is being described; nothing before its numbers were touched.
    pub rectangle: Option<NewRectangle>,
    /// Height of the new structure.
    pub height_m: Option<f64>,
    /// The place whose latitude and longitude are typed.
    pub known: KnownPlace,
    /// What has been typed of a site that lies nowhere yet.
    pub place: Option<GeoPoint>,
}

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum SiteAsk {
    /// Another site in place of the present one.
    Put {
        /// What the edit is called.
        what: Subject,
        /// The site.
        site: Box<Site>,
    },
    /// Other names, or another note.
    Name {
        /// What the edit is called.
        what: &'static str,
        /// The names.
        names: ScenarioNames,
    },
    /// Show something on the plan, where it is drawn and changed.
    OnPlan(Target),
    /// Choose a terrain file.
    ImportTerrain,
    /// Type the path of one.
    ImportTerrainTyped,
    /// Make the ground level.
    RemoveTerrain,
}

/// The structure that is chosen: the one last chosen, or the first.
pub(super) fn chosen<'a>(site: &'a Site, state: &SiteState) -> Option<(usize, &'a Structure)> {
    let mut all = site.structures.iter().enumerate();
    let at = |(_, structure): &(usize, &Structure)| Some(structure.id) == state.chosen;
    all.clone().find(at).or_else(|| all.next())
}

pub(super) const fn length(range: Range) -> Kind {
    Kind { unit: Unit::Metres, decimals: 1, range }
}
