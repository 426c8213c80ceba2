//! What makes a scenario one that can be evaluated: everything that reading a file cannot know from its syntax.

mod equipment;
mod mission;
mod outline;
mod rates;
mod site;
mod strategy;
mod underlay;

pub use outline::{OutlineFault, outline_faults};

use crate::scenario::faults::{Checker, Fault};
use crate::scenario::{KnobGroup, KnobId, Part, Scenario, knob};

impl Scenario {
    /// Everything wrong with the scenario, in the order of its fields; empty when it can be evaluated.
    ///
    /// Whether an aircraft can really fly a strategy is not asked here: that is a result of evaluating it.
    pub fn faults(&self) -> Vec<Fault> {
        let mut check = Checker::default();
        check.name("name", "scenario", &self.name);
        site::check(&mut check, &self.site);
        equipment::check(&mut check, &self.equipment, "equipment.aircraft");
        strategy::check(&mut check, self);
        check_numbers(&mut check, knob::OF_CONDITIONS, &self.conditions, &str::to_owned);
        mission::check(&mut check, &self.conditions);
        check_numbers(&mut check, knob::OF_REQUIREMENT, &self.requirement, &str::to_owned);
        check_numbers(&mut check, knob::OF_RATES, &self.rates, &str::to_owned);
        rates::check(&mut check, &self.rates);
        check_numbers(&mut check, knob::OF_JOB, &self.job, &str::to_owned);
        if !self.job.currency.is_empty() {
            check.name("job.currency", "currency", &self.job.currency);
        }
        if let Some(picture) = &self.underlay {
            underlay::check(&mut check, picture);
        }
        check.faults
    }
}

impl Checker {
    /// An outline must be a simple polygon.
    fn outline(&mut self, path: &str, what: &str, outline_m: &[glam::DVec2]) {
        for fault in outline_faults(outline_m) {
            match fault.corner {
                Some(corner) => {
                    let place = format!("{path}[{corner}]");
                    self.fault(
                        place,
                        format!("corner {} of the {what}: the outline {}", corner + 1, fault.message()),
                    );
                }
                None => self.fault(path, format!("the {what} {}", fault.message())),
            }
        }
    }
}

/// A file may hold a larger seed than is typed; of pixel pitch and sensor width one follows from the other.
const BY_HAND: [KnobId; 3] = [KnobId::SEED, KnobId::PIXEL_PITCH, KnobId::SENSOR_WIDTH];

/// Every number of a part against its range.
fn check_numbers<T: Part>(
    check: &mut Checker,
    groups: &[&KnobGroup],
    part: &T,
    place: &dyn Fn(&str) -> String,
) {
    for knob in groups.iter().flat_map(|group| group.knobs) {
        let Some(access) = T::access(&knob.scope) else { continue };
        if let Some(value) = (access.get)(part).filter(|_| !BY_HAND.contains(&knob.id)) {
            check.number(place(&knob.id.field()), value, knob.range);
        }
    }
}
