//! A flight as it is written down.

use super::shared_leg::SharedLeg;
use crate::base::Id;
use crate::flight::power::JOULES_PER_WH;
use crate::route::{Leg, LegKind, Stop};
use crate::scenario::wind::Wind;
use crate::scenario::{CrewInputs, FlownCorrections};
use glam::{DVec2, DVec3};

/// The whole flight of a strategy: every leg in order, with its clock, its energy and its sortie.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// From the first take-off to the last landing, swaps left out.
    pub legs: Vec<FlownLeg>,
    /// Where sorties may start, on the ground: the site's take-off point first.
    pub take_offs_m: Vec<DVec3>,
    /// The flying between battery changes.
    pub sorties: Vec<Sortie>,
    /// For each pass, as they are listed, the flying clock at each of its stations.
    pub station_time_s: Vec<Vec<f64>>,
    /// What the flight time is made of.
    pub terms: FlightTerms,
    /// Path length of all sorties, climbs and descents included.
    pub route_length_m: f64,
    /// Greatest horizontal distance from the take-off point that a sortie starts at.
    pub farthest_m: f64,
    /// For each take-off point, how far east and north of it the farthest place of its sorties is.
    pub reaches_m: Vec<DVec2>,
    /// The wind that it is flown in: as given, from the direction chosen where none is.
    pub wind: Wind,
    /// Indices of the passes as they are flown; those that cannot be flown are left out.
    pub order: Vec<usize>,
    /// What a full battery set gives, ageing and cold included.
    pub capacity_j: f64,
    /// Whether that is known; else energies are to be read as shares of it.
    pub capacity: Capacity,
    /// With which the aircraft speeds up and brakes.
    pub acceleration_mps2: f64,
    /// With which it is predicted how it comes out.
    pub corrections: FlownCorrections,
}

/// Whether it is known what a battery set holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Capacity {
    /// In watt-hours.
    Known,
    /// Only how long it lasts: energies are shares of a set.
    SharesOnly,
}

/// A leg as it is flown.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownLeg {
    /// Where and how fast.
    pub leg: SharedLeg,
    /// Length of its line.
    pub length_m: f64,
    /// The pass it belongs to; none on transits.
    pub pass: Option<Id>,
    /// Index into the sorties.
    pub sortie: u32,
    /// Flying clock when the leg's turn begins.
    pub start_s: f64,
    /// Turning on the spot before it.
    pub turn_s: f64,
    /// Moving along it, stops to expose included.
    pub moving_s: f64,
    /// Drawn from the battery by both.
    pub energy_j: f64,
    /// Greatest speed over ground reached on it.
    pub peak_mps: f64,
    /// Speed over ground at its start and at its end; both 0 but where a turn is flown in one sweep.
    pub ends_mps: [f64; 2],
    /// Of the moving, standing still to expose.
    pub standing_s: f64,
}

/// The flying between two battery changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sortie {
    /// Take-off to landing.
    pub duration_s: f64,
    /// Drawn from the battery.
    pub energy_j: f64,
    /// What a battery set gives before the reserve is touched.
    pub usable_j: f64,
    /// Exposures taken.
    pub exposures: u32,
    /// Number of the battery set, from 1.
    pub battery: u32,
    /// Waiting for a charger before take-off.
    pub wait_s: f64,
    /// Where it starts and lands, an index into [`Flight::take_offs_m`].
    pub home: u32,
    /// Moving there from where the sortie before it landed.
    pub move_s: f64,
}

impl Sortie {
    /// [`Sortie::energy_j`] in watt-hours.
    ///
    /// # Units
    /// - returns: watt-hours of 3600 J
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::Sortie;
    /// let sortie = Sortie {
    ///     duration_s: 1200.0,
    ///     energy_j: 180_000.0,
    ///     usable_j: 240_000.0,
    ///     exposures: 300,
    ///     battery: 1,
    ///     wait_s: 0.0,
    ///     home: 0,
    ///     move_s: 0.0,
    /// };
    /// assert_eq!(sortie.energy_wh(), 50.0);
    /// // of a set of 300 kJ two fifths are left
    /// assert_eq!(sortie.left_ratio(300_000.0), 0.4);
    /// ```
    pub fn energy_wh(&self) -> f64 {
        self.energy_j / JOULES_PER_WH
    }

    /// [`Sortie::energy_j`] in full battery sets.
    ///
    /// # Units
    /// - `capacity_j`: joules, [`Flight::capacity_j`]
    /// - returns: full battery sets
    ///
    /// # References
    /// Derived: a share.
    pub fn energy_sets(&self, capacity_j: f64) -> f64 {
        self.energy_j / capacity_j
    }

    /// Share of a full battery set that is left at landing.
    ///
    /// # Units
    /// - `capacity_j`: joules, [`Flight::capacity_j`]
    /// - returns: a share, 0 to 1
    ///
    /// # References
    /// Derived: a share.
    pub fn left_ratio(&self, capacity_j: f64) -> f64 {
        1.0 - self.energy_sets(capacity_j)
    }
}

/// What the flight time is made of; the terms add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FlightTerms {
    /// Along strips.
    pub strips_s: f64,
    /// From strip to strip and from pass to pass.
    pub links_s: f64,
    /// Turning: on the spot at corners, and in sweeps.
    pub turns_s: f64,
    /// Climbs and descents.
    pub vertical_s: f64,
    /// To the route and back, resuming included.
    pub transits_s: f64,
}

impl FlightTerms {
    /// The flight time: the sum of the terms.
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::FlightTerms;
    /// let terms = FlightTerms { strips_s: 600.0, links_s: 80.0, turns_s: 40.0, vertical_s: 30.0, transits_s: 50.0 };
    /// assert_eq!(terms.flight_time_s(), 800.0);
    /// ```
    pub fn flight_time_s(&self) -> f64 {
        self.strips_s + self.links_s + self.turns_s + self.vertical_s + self.transits_s
    }

    pub(super) fn add(&mut self, flown: &FlownLeg) {
        self.turns_s += flown.turn_s;
        let part = match flown.leg.kind {
            LegKind::Strip => &mut self.strips_s,
            LegKind::Link => &mut self.links_s,
            LegKind::Turn => &mut self.turns_s,
            LegKind::Transit => &mut self.transits_s,
            LegKind::Climb | LegKind::Descent => &mut self.vertical_s,
        };
        *part += flown.moving_s;
    }
}

/// What the time on site is made of: set-up, flight, battery changes, waits, moves, control points and pack-up add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TimeTerms {
    /// Before the first take-off.
    pub set_up_s: f64,
    /// Take-off to landing of all sorties.
    pub flight_s: f64,
    /// Battery changes.
    pub swaps_s: f64,
    /// One of them.
    pub swap_s: f64,
    /// Waiting for chargers.
    pub waits_s: f64,
    /// Moving from one take-off point to another.
    pub moves_s: f64,
    /// How often the crew does.
    pub moves: u32,
    /// One of them.
    pub move_s: f64,
    /// Control points.
    pub control_s: f64,
    /// How many there are.
    pub control_points: u32,
    /// One of them.
    pub per_control_point_s: f64,
    /// After the last landing.
    pub pack_up_s: f64,
    /// Where the crew's numbers are set.
    pub inputs: CrewInputs,
}

impl TimeTerms {
    /// The time on site: the sum of the terms.
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::TimeTerms;
    /// // set-up, flight and pack-up; nothing else is done
    /// let terms = TimeTerms { set_up_s: 600.0, flight_s: 800.0, pack_up_s: 300.0, ..TimeTerms::default() };
    /// assert_eq!(terms.time_on_site_s(), 1700.0);
    /// ```
    pub fn time_on_site_s(&self) -> f64 {
        let crew_s =
            self.set_up_s + self.flight_s + self.swaps_s + self.waits_s + self.control_s + self.pack_up_s;
        crew_s + self.moves_s
    }
}

impl Flight {
    /// Bytes held, but for the plans that its legs share.
    pub(crate) fn bytes(&self) -> usize {
        let own = || self.legs.iter().filter_map(|flown| flown.leg.own());
        let points: usize = own().map(|leg| leg.via_m.len()).sum();
        let stops: usize = own().map(|leg| leg.stops.len()).sum();
        let stations: usize = self.station_time_s.iter().map(Vec::len).sum();
        size_of::<Flight>()
            + self.legs.len() * size_of::<FlownLeg>()
            + own().count() * size_of::<Leg>()
            + self.sorties.len() * size_of::<Sortie>()
            + self.take_offs_m.len() * (size_of::<DVec3>() + size_of::<DVec2>())
            + points * size_of::<DVec3>()
            + stops * size_of::<Stop>()
            + stations * size_of::<f64>()
    }

    /// Drawn from batteries in all.
    ///
    /// # Units
    /// - returns: joules
    pub fn energy_j(&self) -> f64 {
        self.sorties.iter().map(|sortie| sortie.energy_j).sum()
    }

    /// Drawn from batteries in all, in watt-hours; nothing where it is not known what a set holds.
    ///
    /// # Units
    /// - returns: watt-hours of 3600 J
    pub fn energy_wh(&self) -> Option<f64> {
        (self.capacity == Capacity::Known).then(|| self.energy_j() / JOULES_PER_WH)
    }

    /// Drawn from batteries in all, in full battery sets.
    ///
    /// # Units
    /// - returns: full battery sets
    pub fn energy_sets(&self) -> f64 {
        self.energy_j() / self.capacity_j
    }

    /// Of the flight time, moving at a steady speed: turns, sweeps, speeding up, braking and stops left out.
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # References
    /// Derived: every leg's length over the greatest speed reached on it.
    pub fn steady_s(&self) -> f64 {
        let moved = self.legs.iter().filter(|flown| flown.leg.kind != LegKind::Turn && flown.peak_mps > 0.0);
        moved.map(|flown| (flown.length_m / flown.peak_mps).min(flown.moving_s)).sum()
    }

    /// The take-off point of a sortie, on the ground.
    ///
    /// # Units
    /// - `sortie`: from 0
    /// - returns: metres in the local frame
    pub fn take_off_of_m(&self, sortie: u32) -> DVec3 {
        self.take_offs_m[self.sorties[sortie as usize].home as usize]
    }

    /// How often the crew moves from one take-off point to another.
    pub fn moves(&self) -> u32 {
        self.sorties.windows(2).filter(|pair| pair[0].home != pair[1].home).count() as u32
    }

    /// Moving between take-off points in all.
    ///
    /// # Units
    /// - returns: seconds
    pub fn moves_s(&self) -> f64 {
        self.sorties.iter().map(|sortie| sortie.move_s).sum()
    }

    /// Waiting for chargers in all.
    ///
    /// # Units
    /// - returns: seconds
    pub fn waits_s(&self) -> f64 {
        self.sorties.iter().map(|sortie| sortie.wait_s).sum()
    }
}
