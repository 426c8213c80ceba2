use crate::base::limits;
use crate::scenario::check::check_numbers;
use crate::scenario::check::site::check_take_off;
use crate::scenario::faults::{Checker, shown};
use crate::scenario::{Attitude, Distance, Pass, Scenario, Site, Strategy, Terrain, knob};
use glam::DVec2;

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
    check_take_offs(check, &scenario.site, &format!("{path}.take_offs_m"), &strategy.take_offs_m);
    check_numbers(check, knob::OF_STRATEGY, strategy, &|field| field.replace("strategies[]", path));
}

fn check_take_offs(check: &mut Checker, site: &Site, path: &str, take_offs_m: &[DVec2]) {
    let most = limits::TAKE_OFFS;
    check.at_most(path, "take-off points of a strategy besides the site's", take_offs_m.len(), most);
    for (index, at) in take_offs_m.iter().copied().enumerate().take(most) {
        // the site's own is the first one
        let (path, what) = (format!("{path}[{index}]"), format!("take-off point {}", index + 2));
        check_take_off(check, &path, &what, (site, at));
        if let Terrain::Grid(grid) = &site.terrain
            && at.is_finite()
            && !grid.covers(at)
        {
            let message = format!(
                "{what} must lie on the terrain, which reaches from ({}, {}) to ({}, {}), but it is at ({}, {}); move it, or \
                 import heights of a larger area",
                shown(grid.south_west_m().x),
                shown(grid.south_west_m().y),
                shown(grid.north_east_m().x),
                shown(grid.north_east_m().y),
                shown(at.x),
                shown(at.y)
            );
            check.fault(path, message);
        }
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
        Distance::Height { .. } | Distance::Gsd { .. } | Distance::StandOff { .. } => {}
    }
    check_numbers(check, knob::OF_PASS, pass, &|field| field.replace("strategies[].passes[]", path));
}

fn check_attitudes(check: &mut Checker, path: &str, attitudes: &[Attitude]) {
    if attitudes.is_empty() {
        let message =
            "a pass must have at least one attitude, but it has none; add where the camera looks".to_owned();
        check.fault(path, message);
    }
    check.at_most(path, "attitudes in a pass", attitudes.len(), limits::ATTITUDES);
    for (index, attitude) in attitudes.iter().enumerate() {
        let place =
            |field: &str| field.replace("strategies[].passes[].attitudes[]", &format!("{path}[{index}]"));
        check_numbers(check, &[&knob::ATTITUDE], attitude, &place);
    }
}
