//! What the camera does while the aircraft moves.

use crate::geometry::motion::rolling_shutter_shift_m;
use crate::result::caution::{Caution, CautionSource, check};
use crate::result::cautions::facts::Facts;
use crate::scenario::Shutter;

/// Images that lines of a rolling shutter shift by more are cautioned, in pixels. Common practice, no source.
const MOST_SHIFT_PX: f64 = 1.0;

/// The shift between the first and the last line of an image that is read line by line.
pub(super) fn rolling_shutter(facts: &Facts<'_>) -> Option<Caution> {
    let Shutter::Rolling { readout_s } = facts.aircraft.camera.shutter else { return None };
    let moving = facts
        .plans()
        .filter(|plan| plan.legs.iter().any(|leg| leg.standing.is_none() && !leg.stops.is_empty()));
    let shift_px = |plan: &crate::route::PassPlan| {
        rolling_shutter_shift_m(plan.speed.speed_mps, readout_s) / plan.layout.vertical_gsd_m
    };
    let most_px = moving.map(shift_px).fold(0.0, f64::max);
    (most_px > MOST_SHIFT_PX).then(|| {
        let text = format!(
            "the sensor is read line by line: between its first and last line an image shifts by up to {most_px:.1} pixels; \
             fly slower, stop to expose, or have the processing model it"
        );
        let gauge = format!("{most_px:.1} pixels");
        check("rolling-shutter", text, CautionSource::Practice).gauged(most_px, gauge)
    })
}
