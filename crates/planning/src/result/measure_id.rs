//! Names of figures.

use crate::base::SurfaceClass;

/// Names a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureId {
    /// Take-off to landing of all sorties.
    FlightTime,
    /// Arriving to leaving.
    TimeOnSite,
    /// Between take-off points.
    Moves,
    /// Battery sets used.
    Sorties,
    /// Drawn from batteries.
    Energy,
    /// The same in full battery sets.
    EnergySets,
    /// Path length of all sorties.
    RouteLength,
    /// Greatest horizontal distance of the route from the take-off point.
    Farthest,
    /// Images taken.
    ImageCount,
    /// Card space.
    Storage,
    /// Pixels to process.
    Gigapixels,
    /// Overlapping pairs.
    ImagePairs,
    /// Hours of the machine by itself.
    ProcessingHours,
    /// Hours of somebody at the workstation.
    AttendedHours,
    /// Memory for processing.
    ProcessingMemory,
    /// Disk for processing.
    ProcessingDisk,
    /// What the job leaves.
    JobContribution,
    /// The same for each hectare.
    JobContributionPerArea,
    /// What the job takes.
    JobCost,
    /// Wages on site and on the road.
    JobCrew,
    /// Kilometres on the road.
    JobTravel,
    /// Measuring control points.
    JobControlSurvey,
    /// Wear of battery sets.
    JobBatteryWear,
    /// The workstation and somebody at it.
    JobProcessing,
    /// Visits beyond the first.
    JobAgain,
    /// A licensed practice's signature.
    JobSignOff,
    /// Covered share of a class.
    Coverage(SurfaceClass),
    /// 95th percentile of a class's expected GSD.
    GsdP95(SurfaceClass),
    /// Root mean square error of places.
    AccuracyHorizontal,
    /// The same of heights.
    AccuracyVertical,
    /// 95th percentile of the places' standard deviation.
    PrecisionHorizontal,
    /// The same of heights.
    PrecisionVertical,
    /// Standard deviation of the focal length.
    FocalSigma,
    /// Standard deviation of the ground's dome.
    Doming,
    /// The dome that a fixed calibration leaves which is wrong by a pixel.
    DomePerPixel,
}
