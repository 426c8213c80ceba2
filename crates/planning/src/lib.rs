//! Capture planning for camera drones: geometry, coverage, time and load, as pure functions.
//!
//! Values go in and values come out: no files, no clock, no environment, no screen. A value flows one way:
//!
//! ```text
//! site ─────┐
//!           ├─> route ──> flight (time, sorties) ─────────┐
//! strategy ─┘     └─────> stations ─> view (coverage, GSD) ┼─> outcome ─> comparison, verdict
//! equipment ──────────────────────────> load ──────────────┘
//! ```
//!
//! [`Evaluator`] composes the stages and is the only maker of figures.
//!
//! Everything inside is SI with angles in radians; the types that a scenario file holds carry the file's units in
//! their field names (`tilt_deg`, `endurance_min`).

pub mod atmosphere;
mod budget;
mod camera;
mod caution;
mod cautions;
mod check;
mod choice;
mod class;
mod conditions;
mod convex;
pub mod corner_advice;
mod detour;
mod digest;
mod equipment;
mod evaluate;
mod flight;
mod footprint;
mod hold;
mod id;
mod inputs;
mod judgement;
mod knob;
mod lie;
pub mod light;
mod likely;
pub mod limits;
mod load;
mod measure;
mod measure_id;
mod mission;
pub mod motion;
mod number;
mod outcome;
mod outline;
pub mod polygon;
pub mod power;
mod requirement;
mod ring;
mod route;
mod scenario;
mod site;
mod site_templates;
mod stay;
mod store;
mod strategy;
mod subject;
mod surface;
mod templates;
mod terrain;
mod unit;
mod verdict;
mod view;
mod watch;
pub mod wind;
pub mod wind_advice;
pub mod wording;
mod zone;

pub use budget::{TimeBudget, TimePart, whole_parts};
pub use camera::{CameraModel, Pose, PosedCamera};
pub use caution::{Caution, CautionSource, Gauge, RoutePoint, Severity, Stretch};
pub use cautions::rules;
pub use check::{Fault, OutlineFault, outline_faults};
pub use class::{ByClass, SurfaceClass};
pub use conditions::{Charging, Conditions, HeightRule, Rates, Spread, StageRates, Supply};
pub use equipment::{Aircraft, Airframe, Camera, Energy, Equipment, Gimbal, Gnss, Metering, Sensor, Shutter};
pub use evaluate::{EvaluateError, Evaluator, Stopped};
pub use flight::{Band, Bands, Capacity, Cause, Flight, FlightTerms, FlownLeg, Sortie, Source, TimeTerms};
pub use footprint::footprint_m;
pub use hold::{Held, Hold};
pub use id::Id;
pub use judgement::Judgement;
pub use knob::{EditError, KNOBS, Knob, KnobId, knob};
pub use load::{HourTerms, LoadFigures, image_pairs, processing_hours};
pub use measure::{Better, MEASURES, Measure, measure};
pub use measure_id::MeasureId;
pub use mission::{LightLevel, LocalClock, LocalDate, Mission, SiteZone, Sky};
pub use outcome::{Cost, Depth, Outcome, PassOutcome};
pub use outline::{Obstacle, OutlineStructure, SiteOutline, together};
pub use polygon::HULL_EASE_M;
pub use requirement::{Requirement, ViewRules};
pub use route::{
    BlurOn, Clearance, ExposureTerms, FlownTerms, GroundTerms, LayoutTerms, Leg, LegKind, MOST_EXPOSURES,
    MOST_STRIPS, Nose, PassPlan, PlanError, Reach, RingTerms, SpeedBound, SpeedTerms, Standing, Stations,
    Stop, StripRow, exposure_count, least_clearance, plan_pass, reach, strip_count, strip_row,
};
pub use scenario::Scenario;
pub use site::{GeoPoint, KeepOut, Pier, Site, Structure, StructureKind, Terrain, TypicalBuilding};
pub use site_templates::{SiteChoice, SiteTemplate, TemplateError, TemplateStart};
pub use stay::{Doing, Moment, Movement, Resume, Stay, StaySpan};
pub use store::Store;
pub use strategy::{
    Above, Aim, Attitude, BeginAt, CountingRule, Distance, FlyingOrder, OrbitCentre, OrbitRadius, Pass,
    Pattern, PatternKind, Reported, Rings, Strategy, StripDirection,
};
pub use subject::Subject;
pub use surface::{
    ASSUMED_LIMIT, Horizon, Prism, Relief, ResolvedStructure, ResolvedStructures, SAMPLE_LIMIT, Sample,
    SamplePoint, SiteError, SiteModel, TILE_LEN, Tile, resolved_structures,
};
pub use templates::Template;
pub use terrain::{TERRAIN_NODES, TerrainGrid, TerrainGridError};
pub use unit::Unit;
pub use verdict::compare_sentence;
pub use view::{
    ClassFigures, GsdSpread, RING_COUNT, Rose, SECTOR_COUNT, SampleFigures, Shortage, TileView, ViewFigures,
    ViewLimits, ViewTable, counted_masks, framed, sight, views,
};
pub use watch::{Cancelled, NoWatch, Watch};
pub use wording::thousands;
pub use zone::{ClockError, LocalTime, Zone};
