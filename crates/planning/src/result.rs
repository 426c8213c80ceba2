//! What comes of it all: figures with their workings, time budget, the stay by the clock, verdict, cautions.

pub(crate) mod accuracy;
mod budget;
pub(crate) mod caution;
pub(crate) mod cautions;
mod in_words;
pub(crate) mod judgement;
pub(crate) mod likely;
pub(crate) mod measure;
pub(crate) mod measure_id;
pub(crate) mod outcome;
pub(crate) mod return_height;
mod shortfall;
pub(crate) mod stay;
pub(crate) mod verdict;
pub(crate) mod working;

pub use accuracy::{ExpectedClass, NOT_CERTIFIED};
pub use budget::{TimeBudget, TimePart, whole_parts};
pub use caution::{Caution, CautionSource, Gauge, RoutePoint, Severity, Stretch};
pub use cautions::rules;
pub use in_words::{in_words, time_in_words};
pub use judgement::{Judgement, Reason};
pub use measure::{Beside, Better, KnownOf, MEASURES, Measure, MeasureGroup, measure, swept_measures};
pub use measure_id::MeasureId;
pub use outcome::{Depth, Outcome, PassOutcome};
pub use return_height::{ReturnHeight, return_height};
pub use stay::{Doing, Moment, Movement, Resume, Stay, StaySpan};
pub use verdict::{Comparison, compare, compare_sentence};
pub use working::{
    Budget, CountedShare, Expression, Formula, Origin, Reached, Step, StepLine, StepTable, Term, Together,
    Working,
};
