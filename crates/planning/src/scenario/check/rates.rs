use crate::base::limits;
use crate::scenario::faults::Checker;
use crate::scenario::{ProcessingStage, Rates};

/// What the rates were fitted to.
pub(super) fn check(check: &mut Checker, rates: &Rates) {
    let Some(own) = &rates.calibration else { return };
    check.number("rates.calibration.jobs", f64::from(own.jobs), limits::LOGGED_JOBS);
    check.number("rates.calibration.within_factor", own.within_factor, limits::WITHIN_FACTOR);
    for stage in ProcessingStage::ALL {
        let place = format!("rates.calibration.stages.{}", stage.rate_key());
        check.number(place, own.stages.of(stage), limits::STAGE_RATE_H);
    }
}
