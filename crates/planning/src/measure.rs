use crate::{Outcome, SurfaceClass};

/// Names a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureId {
    /// Take-off to landing of all sorties.
    FlightTime,
    /// Arriving to leaving.
    TimeOnSite,
    /// Battery sets used.
    Sorties,
    /// Path length of all sorties.
    RouteLength,
    /// Images taken.
    ImageCount,
    /// Card space.
    Storage,
    /// Pixels to process.
    Gigapixels,
    /// Overlapping pairs.
    ImagePairs,
    /// Processing hours.
    ProcessingHours,
    /// Covered share of a class.
    Coverage(SurfaceClass),
    /// 95th percentile of a class's expected GSD.
    GsdP95(SurfaceClass),
}

/// What a number is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Seconds.
    Seconds,
    /// Hours.
    Hours,
    /// Metres.
    Metres,
    /// Metres on the surface per pixel.
    GsdMetres,
    /// Metres per second.
    MetresPerSecond,
    /// Degrees.
    Degrees,
    /// A share, 0 to 1.
    Share,
    /// A number of things.
    Count,
    /// 10^9 bytes.
    Gigabytes,
    /// 10^9 pixels.
    Gigapixels,
}

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// Less is.
    Less,
    /// More is.
    More,
}

/// One figure: everything that tables, charts, files and verdicts need to know of it.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// Which one.
    pub id: MeasureId,
    /// Name on screens and in sentences.
    pub name: &'static str,
    /// What it is, how it is worked out and by which practice, in a sentence or two.
    pub explanation: &'static str,
    /// What it is in.
    pub unit: Unit,
    /// Which way is better.
    pub better: Better,
    /// From which depth on it is known.
    pub depth: crate::Depth,
    /// Reads it.
    pub read: fn(&Outcome) -> Option<f64>,
}
