use crate::base::digest::Digest;
use crate::base::{Id, limits};
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::structures::check_structure;
use crate::scenario::pattern::{About, Leads, Looks, Naming, Near, Overlaps, Pattern, Runs, Settings, Told};
use serde::{Deserialize, Serialize};

/// Strips below a deck, the camera looking up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Underside {
    /// The deck.
    pub structure: Id,
    /// Pieces of equal length, each flown to its end before the next.
    pub sections: u32,
    /// Kept from the soffit.
    pub soffit_clearance_m: f64,
    /// Kept from the ground.
    pub ground_clearance_m: f64,
}

pub(super) const ABOUT: About = About {
    name: "underside",
    title: "Underside",
    explanation: "Strips below a deck, looking up",
    leads: Leads::StandOff,
    lines: ["strips", "strip spacing"],
    runs: Some(Runs::Straight),
    margin: None,
    overlaps: Overlaps::Both,
    looks: Looks::ByStrips,
    near: Near::Deck,
    begins: None,
    table: None,
    numbers: &[
        number!("strategies[].passes[].pattern.Underside.sections", "Sections",
            "Pieces of equal length along the deck, each flown to its end before the next.",
            Count, 0, SECTIONS,
            Pattern::Underside(Underside { sections: value, .. }) => value),
        number!("strategies[].passes[].pattern.Underside.soffit_clearance_m", "Soffit clearance", "Kept from the underside of the deck.",
            Metres, 1, CLEARANCE_M,
            Pattern::Underside(Underside { soffit_clearance_m: value, .. }) => value),
        number!("strategies[].passes[].pattern.Underside.ground_clearance_m", "Ground clearance", "Kept from the ground below the deck.",
            Metres, 1, CLEARANCE_M,
            Pattern::Underside(Underside { ground_clearance_m: value, .. }) => value),
    ],
    choices: &[],
};

impl Settings for Underside {
    fn structures(&self) -> Vec<Id> {
        vec![self.structure]
    }

    fn title(&self, naming: &Naming<'_>) -> String {
        format!(" of {}", naming.subject)
    }

    fn told(&self, subject: &str) -> Vec<Told> {
        vec![
            Told::text("below", subject),
            Told::text("sections", self.sections.to_string()).note("each flown to its end before the next"),
            Told::metres("soffit clearance", self.soffit_clearance_m),
            Told::metres("ground clearance", self.ground_clearance_m),
        ]
    }

    fn check(&self, check: &mut Checker, site: &Site, path: &str) {
        check_structure(check, site, &format!("{path}.structure"), self.structure);
        check.number(format!("{path}.sections"), f64::from(self.sections), limits::SECTIONS);
        check.number(format!("{path}.soffit_clearance_m"), self.soffit_clearance_m, limits::CLEARANCE_M);
        check.number(format!("{path}.ground_clearance_m"), self.ground_clearance_m, limits::CLEARANCE_M);
    }

    fn digest(&self, digest: &mut Digest) {
        let Underside { structure, sections, soffit_clearance_m, ground_clearance_m } = self;
        digest.whole(u64::from(structure.0)).whole(u64::from(*sections));
        digest.numbers(&[*soffit_clearance_m, *ground_clearance_m]);
    }
}
