use crate::base::Id;
use crate::scenario::knob::KnobId;
use crate::scenario::{Aircraft, Conditions, OnSite, Scenario, Strategy};
use std::borrow::Cow;

/// Which inputs the crew's numbers of a strategy come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CrewInputs {
    /// The set-up's.
    pub set_up: KnobId,
    /// The pack-up's.
    pub pack_up: KnobId,
    /// That of the number of control points.
    pub control_points: KnobId,
    /// That of the time for one of them.
    pub per_control_point: KnobId,
}

impl Default for CrewInputs {
    /// The scenario's.
    fn default() -> Self {
        CrewInputs::of(&[])
    }
}

/// One level of what may differ: its own numbers, and what its inputs are called.
type CrewLevel = (OnSite, [KnobId; 4]);

const OF_AIRCRAFT: [KnobId; 4] = [
    KnobId("equipment.aircraft[].on_site.set_up_min"),
    KnobId("equipment.aircraft[].on_site.pack_up_min"),
    KnobId("equipment.aircraft[].on_site.control_points"),
    KnobId("equipment.aircraft[].on_site.per_control_point_min"),
];

const OF_STRATEGY: [KnobId; 4] = [
    KnobId("strategies[].on_site.set_up_min"),
    KnobId("strategies[].on_site.pack_up_min"),
    KnobId("strategies[].on_site.control_points"),
    KnobId("strategies[].on_site.per_control_point_min"),
];

impl CrewInputs {
    /// Of what is set at the levels, the last one first.
    fn of(levels: &[CrewLevel]) -> Self {
        let from = |is_set: fn(&OnSite) -> bool, at: usize, usual: &'static str| {
            let own = levels.iter().find(|(own, _)| is_set(own));
            own.map_or(KnobId(usual), |(_, names)| names[at])
        };
        CrewInputs {
            set_up: from(|own| own.set_up_min.is_some(), 0, "conditions.set_up_min"),
            pack_up: from(|own| own.pack_up_min.is_some(), 1, "conditions.pack_up_min"),
            control_points: from(|own| own.control_points.is_some(), 2, "conditions.control_points"),
            per_control_point: from(
                |own| own.per_control_point_min.is_some(),
                3,
                "conditions.per_control_point_min",
            ),
        }
    }

    /// Of a strategy that flies an aircraft.
    pub fn of_strategy(strategy: &Strategy, aircraft: &Aircraft) -> Self {
        CrewInputs::of(&[(strategy.on_site, OF_STRATEGY), (aircraft.on_site, OF_AIRCRAFT)])
    }
}

impl Scenario {
    /// What a strategy is flown under: the scenario's conditions with what its aircraft and itself have otherwise. The
    /// scenario's own where no strategy has the identifier.
    pub fn conditions_of(&self, strategy: Id) -> Cow<'_, Conditions> {
        let Some(strategy) = self.strategy(strategy) else { return Cow::Borrowed(&self.conditions) };
        let aircraft = self.equipment.aircraft(strategy.aircraft).map(|aircraft| aircraft.on_site);
        let own = [aircraft.unwrap_or_default(), strategy.on_site];
        if own.iter().all(OnSite::is_usual) {
            return Cow::Borrowed(&self.conditions);
        }
        let mut conditions = self.conditions.clone();
        for own in own {
            own.put_on(&mut conditions);
        }
        Cow::Owned(conditions)
    }
}
