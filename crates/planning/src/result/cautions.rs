mod batteries;
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

use self::place::Walk;
use crate::result::Caution;

/// All cautions of a strategy, gravest first.
pub(crate) fn cautions(facts: &Facts<'_>) -> Vec<Caution> {
    let walk = Walk::new(facts.flight());
    let mut found = height::heights(facts, &walk);
    found.extend(sight::sight(facts, &walk));
    found.extend(daylight::daylight(facts, &walk));
    found.extend(weather::weather(facts, &walk));
    found.extend(batteries::batteries(facts, &walk));
    found.extend(surroundings::surroundings(facts, &walk));
    found.extend(edges::edges(facts, &walk));
    found.extend(camera::rolling_shutter(facts));
    found.extend(capture::capture(facts, &walk));
    found.extend(region::region(facts, &walk));
    found.extend(batteries::drawn(facts));
    found.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
    found
}
