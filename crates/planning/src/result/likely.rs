//! Where the band of a figure crosses a limit or a whole battery: what one draw in ten comes to.

use crate::base::wording::{counted, minutes};
use crate::flight::{Bands, Timing};

impl Bands {
    /// Battery sets in one draw of ten, where they are more than planned.
    ///
    /// # Units
    /// - returns: battery sets
    pub fn more_batteries(&self, timing: &Timing) -> Option<u64> {
        let (likely, planned) = (self.sorties.p90.round() as u64, timing.flight.sorties.len() as u64);
        (likely > planned).then_some(likely)
    }

    /// Time on site in one draw of ten, where it exceeds a limit that the prediction keeps.
    ///
    /// # Units
    /// - `most_s`: seconds, the limit
    /// - returns: seconds
    pub fn over_time_s(&self, timing: &Timing, most_s: Option<f64>) -> Option<f64> {
        let (likely_s, most_s) = (self.time_on_site_s.p90, most_s?);
        (timing.time.time_on_site_s() <= most_s && likely_s > most_s).then_some(likely_s)
    }
}

/// Time on site and batteries as a sentence says them: "118 min on site, 124 min in one draw of ten, 3 batteries, 4 in one
/// draw of ten".
pub(crate) fn time_and_batteries(timing: &Timing, most_s: Option<f64>) -> String {
    let bands = timing.bands.as_deref();
    let longer = bands.and_then(|bands| bands.over_time_s(timing, most_s));
    let more = bands.and_then(|bands| bands.more_batteries(timing));
    let in_ten = |likely: String| format!(", {likely} in one draw of ten");
    format!(
        "{} on site{}, {}{}",
        minutes(timing.time.time_on_site_s()),
        longer.map(|s| in_ten(minutes(s))).unwrap_or_default(),
        counted(timing.flight.sorties.len() as u64, "battery", "batteries"),
        more.map(|sets| in_ten(sets.to_string())).unwrap_or_default()
    )
}
