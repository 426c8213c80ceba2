use crate::{Id, Leg};

/// The whole flight of a strategy: every leg in order, with its clock and its sortie.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// From the first take-off to the last landing, swaps left out.
    pub legs: Vec<FlownLeg>,
    /// The flying between battery changes.
    pub sorties: Vec<Sortie>,
    /// For each pass in order, the flying clock at each of its stations.
    pub station_time_s: Vec<Vec<f64>>,
    /// What the flight time is made of.
    pub terms: FlightTerms,
    /// Path length of all sorties, climbs and descents included.
    pub route_length_m: f64,
    /// Greatest horizontal distance from the take-off point.
    pub farthest_m: f64,
}

/// A leg as it is flown.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownLeg {
    /// Where and how fast.
    pub leg: Leg,
    /// The pass it belongs to; none on transits.
    pub pass: Option<Id>,
    /// Index into the sorties.
    pub sortie: u32,
    /// Flying clock when the leg's turn begins.
    pub start_s: f64,
    /// Turning before it.
    pub turn_s: f64,
    /// Moving along it.
    pub moving_s: f64,
}

/// The flying between two battery changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sortie {
    /// Take-off to landing.
    pub duration_s: f64,
    /// What a battery set may fly before the reserve is touched.
    pub usable_s: f64,
    /// Exposures taken.
    pub exposures: u32,
}

/// What the flight time is made of; the terms add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FlightTerms {
    /// Along strips.
    pub strips_s: f64,
    /// From strip to strip and from pass to pass.
    pub links_s: f64,
    /// Turning at corners.
    pub turns_s: f64,
    /// Climbs and descents.
    pub vertical_s: f64,
    /// To the route and back, resuming included.
    pub transits_s: f64,
}

impl FlightTerms {
    /// The flight time: the sum of the terms.
    pub fn flight_time_s(&self) -> f64 {
        self.strips_s + self.links_s + self.turns_s + self.vertical_s + self.transits_s
    }
}
