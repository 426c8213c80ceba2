pub(crate) mod check;
pub(crate) mod conditions;
pub(crate) mod crew;
pub(crate) mod equipment;
pub(crate) mod faults;
pub(crate) mod inputs;
pub(crate) mod job;
pub mod knob;
pub(crate) mod mission;
pub(crate) mod on_site;
pub(crate) mod pattern;
pub(crate) mod rates;
pub(crate) mod requirement;
pub(crate) mod site;
pub(crate) mod strategy;
pub(crate) mod templates;
pub(crate) mod underlay;
pub mod wind;
pub(crate) mod zone;

pub use check::{OutlineFault, outline_faults};
pub use conditions::{Charging, Conditions, HeightRule, Spread, Supply, Survey};
pub use crew::CrewInputs;
pub use equipment::{
    Aircraft, Airframe, Camera, CameraCalibration, Energy, Equipment, FlownCorrections, Gimbal, Gnss,
    Metering, Sensor, Shutter,
};
pub use faults::Fault;
pub use job::Job;
pub use knob::{At, EditError, Knob, KnobGroup, KnobId, Part, Scope, knob, knobs};
pub use mission::{LightLevel, LocalClock, LocalDate, Mission, SiteZone, Sky};
pub use on_site::OnSite;
pub(crate) use pattern::*;
pub use rates::{
    AttendedRates, CalibratedBy, ProcessingStage, RateCalibration, RateStanding, Rates, StageRates,
};
pub use requirement::{Accuracy, AccuracyLevel, Requirement, ViewRules};
pub use site::{
    ControlPoint, GeoPoint, KeepOut, Pier, PointRole, Site, Structure, StructureKind, Terrain,
    TypicalBuilding,
};
pub use strategy::{Above, Aim, Attitude, Colour, Distance, FlyingOrder, Pass, Reported, Strategy};
pub use templates::{Template, rows_that_tie};
pub use underlay::{Underlay, UnderlayFrame};
pub use zone::{ClockError, LocalTime, Zone};

use crate::base::Id;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Everything a comparison needs: one site, the equipment, the strategies and what is asked of them.
///
/// Cheap to clone, so that undo keeps whole snapshots: site and equipment are shared until edited.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// For people.
    pub name: String,
    /// What the scenario is about or teaches.
    #[serde(default)]
    pub note: String,
    /// What is to be captured.
    pub site: Arc<Site>,
    /// The aircraft to choose from.
    pub equipment: Arc<Equipment>,
    /// The ways of capturing it.
    pub strategies: Vec<Strategy>,
    /// The strategy that the others show their difference from.
    #[serde(default)]
    pub reference: Option<Id>,
    /// What the job is flown under.
    #[serde(default)]
    pub conditions: Conditions,
    /// What the job must deliver.
    #[serde(default)]
    pub requirement: Requirement,
    /// How long processing takes.
    #[serde(default)]
    pub rates: Rates,
    /// What the job brings and takes in money.
    #[serde(default, skip_serializing_if = "Job::is_usual")]
    pub job: Job,
    /// A picture that the plan is drawn over.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub underlay: Option<Arc<Underlay>>,
}

impl Scenario {
    /// The strategy with this identifier.
    pub fn strategy(&self, id: Id) -> Option<&Strategy> {
        self.strategies.iter().find(|strategy| strategy.id == id)
    }

    /// The pass with this identifier.
    pub fn pass(&self, id: Id) -> Option<&Pass> {
        self.strategies.iter().flat_map(|strategy| &strategy.passes).find(|pass| pass.id == id)
    }

    /// The pass with this identifier, for editing.
    pub fn pass_mut(&mut self, id: Id) -> Option<&mut Pass> {
        self.strategies.iter_mut().flat_map(|s| &mut s.passes).find(|pass| pass.id == id)
    }

    /// An identifier that no strategy and no pass of the scenario has.
    pub fn free_id(&self) -> Id {
        let strategies = self.strategies.iter().map(|strategy| strategy.id);
        let passes = self.strategies.iter().flat_map(|s| &s.passes).map(|pass| pass.id);
        Id::next_after(strategies.chain(passes))
    }
}
