use crate::base::limits;
use crate::scenario::faults::Checker;
use crate::scenario::{Attitude, Distance, Pass, Scenario, Site, Strategy};

pub(super) fn check(check: &mut Checker, scenario: &Scenario) {
    let list = &scenario.strategies;
    check.at_most("strategies", "strategies", list.len(), limits::STRATEGIES);
    check.unique("strategy", list.iter().enumerate().map(|(i, s)| (format!("strategies[{i}]"), s.id)));
    check.unique(
        "pass",
        list.iter().enumerate().flat_map(|(i, s)| {
            s.passes
                .iter()
                .enumerate()
                .map(move |(k, pass)| (format!("strategies[{i}].passes[{k}]"), pass.id))
        }),
    );
    for (index, strategy) in list.iter().enumerate() {
        check_strategy(check, scenario, &format!("strategies[{index}]"), strategy);
    }
    if let Some(reference) = scenario.reference.filter(|id| scenario.strategy(*id).is_none()) {
        let message = format!(
            "the reference must be the id of a strategy of the scenario, but no strategy has the id {reference}; \
             take one of them or leave it out"
        );
        check.fault("reference", message);
    }
}

fn check_strategy(check: &mut Checker, scenario: &Scenario, path: &str, strategy: &Strategy) {
    check.name(format!("{path}.name"), "strategy", &strategy.name);
    let aircraft = strategy.aircraft;
    if scenario.equipment.aircraft(aircraft).is_none() {
        let message = format!(
            "the aircraft must be the id of one in the scenario's equipment, but none there has the id {aircraft}; \
             take one of them or add it"
        );
        check.fault(format!("{path}.aircraft"), message);
    }
    if strategy.passes.is_empty() {
        let message = "a strategy must have at least one pass, but it has none; add one".to_owned();
        check.fault(format!("{path}.passes"), message);
    }
    check.at_most(format!("{path}.passes"), "passes in a strategy", strategy.passes.len(), limits::PASSES);
    for (index, pass) in strategy.passes.iter().enumerate() {
        check_pass(check, &scenario.site, &format!("{path}.passes[{index}]"), pass);
    }
    if let Some(reported) = strategy.reported {
        let path = format!("{path}.reported");
        let images = reported.image_count.map(f64::from);
        check.optional(
            format!("{path}.flight_time_min"),
            reported.flight_time_min,
            limits::REPORTED_FLIGHT_MIN,
        );
        check.optional(format!("{path}.image_count"), images, limits::REPORTED_IMAGES);
    }
}

fn check_pass(check: &mut Checker, site: &Site, path: &str, pass: &Pass) {
    pass.pattern.check(check, site, &format!("{path}.pattern"));
    check_attitudes(check, &format!("{path}.attitudes"), &pass.attitudes);
    let kind = pass.pattern.kind();
    if pass.attitudes.len() > 1 && !kind.flies_over() {
        let message = format!(
            "a pass of pattern {} must have one attitude, but it has {}; make a pass of each",
            kind.name(),
            pass.attitudes.len()
        );
        check.fault(format!("{path}.attitudes"), message);
    }
    match pass.distance {
        Distance::Height { .. } if !kind.flies_over() => {
            let message = format!(
                "a pass of pattern {} must be led by a stand-off or a GSD, but it is led by a height; give a stand-off",
                kind.name()
            );
            check.fault(format!("{path}.distance"), message);
        }
        Distance::StandOff { .. } if kind.flies_over() => {
            let message = format!(
                "a pass of pattern {} must be led by a height or a GSD, but it is led by a stand-off; give a height",
                kind.name()
            );
            check.fault(format!("{path}.distance"), message);
        }
        Distance::StandOff { m } => check.number(format!("{path}.distance.m"), m, limits::STAND_OFF_M),
        Distance::Height { m, .. } => check.number(format!("{path}.distance.m"), m, limits::HEIGHT_M),
        Distance::Gsd { cm, .. } => check.number(format!("{path}.distance.cm"), cm, limits::GSD_CM),
    }
    check.number(format!("{path}.forward_overlap"), pass.forward_overlap, limits::FORWARD_OVERLAP);
    check.number(format!("{path}.sidelap"), pass.sidelap, limits::SIDELAP);
    check.optional(format!("{path}.speed_mps"), pass.speed_mps, limits::SPEED_MPS);
    check.optional(format!("{path}.margin_m"), pass.margin_m, limits::MARGIN_M);
    check.optional(format!("{path}.hover_s"), pass.hover_s, limits::HOVER_S);
}

fn check_attitudes(check: &mut Checker, path: &str, attitudes: &[Attitude]) {
    if attitudes.is_empty() {
        let message =
            "a pass must have at least one attitude, but it has none; add where the camera looks".to_owned();
        check.fault(path, message);
    }
    check.at_most(path, "attitudes in a pass", attitudes.len(), limits::ATTITUDES);
    for (index, attitude) in attitudes.iter().enumerate() {
        check.number(format!("{path}[{index}].tilt_deg"), attitude.tilt_deg, limits::TILT_DEG);
        check.number(format!("{path}[{index}].aim.deg"), attitude.aim.deg(), limits::DIRECTION_DEG);
    }
}
