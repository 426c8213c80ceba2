//! What a flight controller reports for a strategy.

use crate::scenario::Reported;
use crate::scenario::knob::{KnobGroup, row};

/// What a flight controller says of a strategy.
pub const REPORT: KnobGroup = KnobGroup {
    name: "Your controller says",
    note: "",
    knobs: &[
        row!(
            Strategy,
            "strategies[].reported.flight_time_min",
            "Flight time",
            "Reported flight time",
            "What the flight controller shows once the values are keyed in",
            Minutes,
            1,
            REPORTED_FLIGHT_MIN,
            |s| s.reported?.flight_time_min,
            |s, value| s.reported =
                kept(Reported { flight_time_min: value, ..s.reported.unwrap_or_default() }),
            "not reported",
            |_| true,
            |_| 30.0
        ),
        row!(
            Strategy,
            "strategies[].reported.image_count",
            "Images",
            "Reported images",
            "What the flight controller shows once the values are keyed in",
            Count,
            0,
            REPORTED_IMAGES,
            |s| s.reported?.image_count.map(f64::from),
            |s, value| s.reported = kept(Reported {
                image_count: value.map(|value| value.round() as u32),
                ..s.reported.unwrap_or_default()
            }),
            "not reported",
            |_| true,
            |_| 1000.0
        ),
    ],
};

/// Nothing where nothing is reported.
fn kept(reported: Reported) -> Option<Reported> {
    Some(reported).filter(|reported| *reported != Reported::default())
}
