//! Capture planning for camera drones: geometry, coverage, time and load, as pure functions.
//!
//! Values go in and values come out: no files, no clock, no environment, no screen. A value flows one way:
//!
//! ```text
//! site ──────┐         ┌─> flight (time, energy, sorties) ─> light ─┐
//! equipment ─┼─> route ┼─> view (coverage, GSD) ────────────────────┼─> result (figures, cautions, verdict)
//! strategy ──┘         └─> load (images, pairs, hours) ─────────────┘
//! ```
//!
//! The network stands by itself: how well a block of images determines what is measured in it, and its camera.
//! Light comes in twice: by the clock of the flight, and before the route where it sets the exposure time.
//!
//! [`Evaluator`] composes the stages and is the only maker of figures.
//!
//! Everything inside is SI with angles in radians; the types that a scenario file holds carry the file's units in
//! their field names (`tilt_deg`, `endurance_min`).

mod base;
mod evaluate;
mod flight;
mod geometry;
mod ground;
pub mod lesson;
pub mod light;
mod load;
pub mod money;
mod network;
mod result;
mod route;
mod scenario;
mod view;

pub use base::{
    ByClass, Cancelled, GsdUnit, Id, LEAST_POINTS_OF_LINE, LEAST_VALUES, NoWatch, RobustCentre, RobustLine,
    Scale, Store, SurfaceClass, Unit, Units, Watch, exact, limits, median, robust_centre, robust_line,
    thousands, wording,
};
pub use evaluate::{
    EvaluateError, Evaluator, HeldEqual, Hold, SiteChoice, SiteTemplate, Stopped, TemplateError,
    TemplateStart, arrivals, corner_advice, cross_section, purchase, what_if, wind_advice,
};
pub use flight::{
    Band, Bands, Capacity, Cause, FittedCorrection, FittedFlights, Flight, FlightTerms, FlownLeg,
    LoggedFigure, LoggedFlight, NotApart, SharedLeg, Sortie, Source, TimeCorrection, TimeTerms, Timing,
    TooFewFlights, atmosphere, fit_flights, power,
};
pub use geometry::{
    Brown, CameraModel, HULL_EASE_M, Pose, PosedCamera, TERRAIN_NODES, TerrainGrid, TerrainGridError,
    footprint_m, motion, polygon,
};
pub use ground::{
    ASSUMED_LIMIT, Horizon, Obstacle, OutlineStructure, Prism, Relief, ResolvedStructure, ResolvedStructures,
    SAMPLE_LIMIT, Sample, SamplePoint, SiteError, SiteModel, SiteOutline, TILE_LEN, Tile,
    resolved_structures, together,
};
pub use load::{
    AttendedTerms, CountedWork, DiskTerms, FitError, FittedFactor, FittedRates, HourTerms, LoadFigures,
    MemoryTerms, PassPairs, ProcessedJob, SurfaceWork, USUAL_NEIGHBOURS, attended_hours,
    dense_adjustment_operations, exhaustive_pairs, fit_rates, image_pairs, neighbour_pairs, processing_hours,
    surface_cells,
};
pub use network::{
    BlockPart, Bridge, Calibration, CalibrationFigures, CameraEffect, Carried, ControlPlace, DatumDefects,
    ErrorSpread, FocalShares, Functionals, HeldBlock, INTERIOR_LEN, ImageBlock, ImagePoint, InteriorFreedom,
    InteriorTerm, LEAST_POINTS, Network, NetworkError, NetworkFigures, NetworkPart, NetworkTerms,
    POINTS_A_FRAME, PointErrors, PointFunctional, PoseBlock, PoseSigma, Poses, Positioning, Precision,
    SampleSigmas, Thinning, Tie, TiePoint, TieRules, TiedSample, TiedView, Ties, intersection_covariance_m2,
    network_block, network_figures, standards, weakest_bridge,
};
pub use result::{
    Beside, Better, Budget, Caution, CautionSource, Comparison, CountedShare, Depth, Doing, ExpectedClass,
    Expression, Formula, Gauge, Judgement, KnownOf, MEASURES, Measure, MeasureGroup, MeasureId, Moment,
    Movement, NOT_CERTIFIED, Origin, Outcome, PassOutcome, Reached, Reason, Resume, ReturnHeight, RoutePoint,
    Severity, Stay, StaySpan, Step, StepLine, StepTable, Stretch, Term, TimeBudget, TimePart, Together,
    Working, compare, compare_sentence, in_words, measure, return_height, rules, swept_measures,
    time_in_words, whole_parts,
};
pub use route::{
    BlurOn, Clearance, ExposureTerms, FlownTerms, GroundTerms, LayoutTerms, Leg, LegKind, MOST_EXPOSURES,
    MOST_STRIPS, Nose, PassPlan, PlanError, Reach, RegionPart, RingTerms, SpeedBound, SpeedTerms, Standing,
    Stations, Stop, StripRow, Subject, exposure_count, least_clearance, pass_region, plan_pass, reach,
    strip_count, strip_row,
};
pub use scenario::pattern::*;
pub use scenario::{
    Above, Accuracy, AccuracyLevel, Aim, Aircraft, Airframe, At, AttendedRates, Attitude, CalibratedBy,
    Camera, CameraCalibration, Charging, ClockError, Colour, Conditions, ControlPoint, CrewInputs, Distance,
    EditError, Energy, Equipment, Fault, FlownCorrections, FlyingOrder, GeoPoint, Gimbal, Gnss, HeightRule,
    Job, KeepOut, Knob, KnobGroup, KnobId, LightLevel, LocalClock, LocalDate, LocalTime, Metering, Mission,
    OnSite, OutlineFault, Part, Pass, Pier, PointRole, ProcessingStage, RateCalibration, RateStanding, Rates,
    Reported, Requirement, Scenario, Scope, Sensor, Shutter, Site, SiteZone, Sky, Spread, StageRates,
    Strategy, Structure, StructureKind, Supply, Survey, Template, Terrain, TypicalBuilding, Underlay,
    UnderlayFrame, ViewRules, Zone, knob, knobs, outline_faults, rows_that_tie, wind,
};
pub use view::{
    ClassFigures, GsdSpread, RING_COUNT, Rose, SECTOR_COUNT, SampleFigures, Shortage, TileView, ViewFigures,
    ViewLimits, ViewTable, counted_masks, framed, sight, views,
};
