mod batteries;
mod block;
mod camera;
mod capture;
mod daylight;
mod edges;
mod facts;
mod height;
mod place;
mod region;
pub mod rules;
mod sight;
mod surroundings;
mod weather;

pub(crate) use facts::Facts;

use crate::result::{Caution, Depth};

/// One thing that is looked at in a strategy.
struct Rule {
    /// The stable name of the caution that it gives.
    id: &'static str,
    /// How much has to be worked out before it is looked at.
    depth: Depth,
    find: fn(&Facts<'_>) -> Option<Caution>,
}

const fn rule(id: &'static str, depth: Depth, find: fn(&Facts<'_>) -> Option<Caution>) -> Rule {
    Rule { id, depth, find }
}

/// All that is looked at, in the order of what is equally grave.
///
/// What walks along the route is looked at from [`Depth::Spread`] on; before that a route is walked only where it passes a limit.
const RULES: [Rule; 41] = [
    rule("height-limit", Depth::Quick, height::height_limit),
    rule("tall-obstacle", Depth::Quick, height::tall_obstacle),
    rule("height-ceiling", Depth::Quick, height::capped),
    rule("pilot-distance", Depth::Quick, sight::pilot_distance),
    rule("line-of-sight", Depth::Spread, sight::hidden),
    rule("twilight", Depth::Spread, daylight::twilight),
    rule("night", Depth::Spread, daylight::night),
    rule("low-sun", Depth::Quick, daylight::low_sun),
    rule("clock-off-sun", Depth::Quick, daylight::far_clock),
    rule("light-falls", Depth::Quick, daylight::falling),
    rule("shade-moves", Depth::Spread, daylight::shade_moves),
    rule("wind-strong", Depth::Quick, weather::strong),
    rule("wind-slows", Depth::Spread, weather::slowed),
    rule("reserve", Depth::Quick, batteries::reserve),
    rule("batteries", Depth::Quick, batteries::sets),
    rule("charger-wait", Depth::Quick, batteries::waits),
    rule("card-space", Depth::Quick, batteries::card),
    rule("roof-overlap", Depth::Quick, surroundings::roof_overlap),
    rule("ground-overlap", Depth::Quick, surroundings::ground_overlap),
    rule("clearance", Depth::Quick, surroundings::clearance),
    rule("satellite-below-deck", Depth::Spread, surroundings::below_deck),
    rule("near-walls", Depth::Spread, surroundings::near_walls),
    rule("near-take-off", Depth::Spread, surroundings::near_take_off),
    rule("take-off-unused", Depth::Quick, surroundings::unused_take_offs),
    rule("over-structures", Depth::Spread, surroundings::over_structures),
    rule("assumed", Depth::Quick, surroundings::assumed),
    rule("near-keep-out", Depth::Spread, edges::near_keep_outs),
    rule("rolling-shutter", Depth::Quick, camera::rolling_shutter),
    rule("heading-held", Depth::Spread, capture::held_heading),
    rule("bending", Depth::Quick, capture::bending),
    rule("block-in-parts", Depth::Network, block::in_parts),
    rule("block-not-held", Depth::Network, block::not_held),
    rule("focal-length", Depth::Network, block::focal_length),
    rule("speed-limit", Depth::Quick, region::speed_limit),
    rule("visibility-clouds", Depth::Quick, region::clouds),
    rule("open-category", Depth::Quick, region::open_category),
    rule("distance-from-areas", Depth::Quick, region::areas),
    rule("unknown", Depth::Spread, |facts| Some(region::unknown(facts))),
    rule("local-rules", Depth::Quick, |facts| Some(region::local_rules(facts))),
    rule("batteries-likely", Depth::Spread, batteries::likely),
    rule("battery-reach-likely", Depth::Spread, batteries::out_of_reach),
];

/// The cautions of a strategy that are looked at to a depth, gravest first.
pub(crate) fn cautions(facts: &Facts<'_>, depth: Depth) -> Vec<Caution> {
    let find = |rule: &Rule| {
        let found = (rule.find)(facts);
        debug_assert!(found.iter().all(|caution| caution.id == rule.id), "{} gives {found:?}", rule.id);
        found
    };
    let mut found: Vec<Caution> = RULES.iter().filter(|rule| rule.depth <= depth).filter_map(find).collect();
    found.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
    found
}

impl Caution {
    /// From which depth on it is looked at: an outcome of less does not tell whether it holds.
    pub fn depth(&self) -> Depth {
        self.rule().map_or(Depth::Quick, |(_, rule)| rule.depth)
    }

    /// Where it stands among the cautions of a strategy: the least first.
    pub fn rank(&self) -> impl Ord + use<> {
        (std::cmp::Reverse(self.severity), self.rule().map_or(RULES.len(), |(place, _)| place))
    }

    fn rule(&self) -> Option<(usize, &'static Rule)> {
        RULES.iter().enumerate().find(|(_, rule)| rule.id == self.id)
    }
}
