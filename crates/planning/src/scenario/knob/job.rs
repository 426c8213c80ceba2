//! What may be set of a job's money.

use crate::scenario::knob::{KnobGroup, row};

/// What the job brings and takes.
pub const JOB: KnobGroup = KnobGroup {
    name: "Price and costs of the job",
    note: "What the job leaves with each strategy stands on the board once a price is given. Amounts are in your own currency; \
           what is 0 costs nothing. Not financial advice.",
    knobs: &[
        row!(
            Job,
            "job.price",
            "Price",
            "Price of the job",
            "What the client pays; without it nothing is said about money",
            Money,
            2,
            AMOUNT,
            |job| job.price,
            |job, value| job.price = value,
            "not entered",
            |_| true,
            |_| 1000.0
        ),
        row!(
            Job,
            "job.",
            crew,
            "People on site",
            "People on site",
            "On site and on the road",
            Coefficient,
            1,
            CREW
        ),
        row!(
            Job,
            "job.",
            crew_wage_per_h,
            "Wage of one, an hour",
            "Wage of one, an hour",
            "On site and on the road",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            road_h,
            "On the road",
            "Time on the road",
            "There and back, each visit",
            Hours,
            2,
            ROAD_H
        ),
        row!(
            Job,
            "job.",
            road_km,
            "On the road, km",
            "Way on the road, km",
            "There and back, each visit",
            Coefficient,
            1,
            ROAD_KM
        ),
        row!(
            Job,
            "job.",
            road_per_km,
            "A kilometre",
            "A kilometre on the road",
            "What it costs, wages left out",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            control_point_price,
            "Survey of a control point",
            "Survey of a control point",
            "What measuring one costs, the crew's time left out; how many there are stands in the conditions",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            battery_set_price,
            "Battery set",
            "Price of a battery set",
            "Its wear is the price over the cycles that it lasts, for each full set that is drawn",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            battery_cycles,
            "Cycles that it lasts",
            "Cycles of a battery set",
            "Full cycles until a battery set is replaced",
            Count,
            0,
            BATTERY_CYCLES
        ),
        row!(
            Job,
            "job.",
            machine_per_h,
            "Workstation, an hour",
            "Workstation, an hour",
            "Attended or not; the hours are those of processing",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            attended_wage_per_h,
            "Wage at the workstation",
            "Wage at the workstation, an hour",
            "An hour of somebody at the workstation; the hours are the attended ones",
            Money,
            2,
            AMOUNT
        ),
        row!(
            Job,
            "job.",
            again_share,
            "Visits made again",
            "Visits made again",
            "Share of visits after which the site must be visited again",
            Share,
            1,
            AGAIN_SHARE
        ),
        row!(
            Job,
            "job.",
            sign_off,
            "Sign-off",
            "Sign-off",
            "A licensed practice's signature",
            Money,
            2,
            AMOUNT
        ),
    ],
};
