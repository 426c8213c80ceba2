//! Corrections of speed, turns and endurance, fitted to flights that were flown.

use crate::base::{
    LEAST_POINTS_OF_LINE, LEAST_VALUES, RobustCentre, RobustLine, limits, robust_centre, robust_line,
};
use crate::scenario::FlownCorrections;
use thiserror::Error;

/// A flight as it was planned, without corrections, and as it went.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedFlight {
    /// What its job is called.
    pub name: String,
    /// The aircraft, where it is known.
    pub aircraft: Option<String>,
    /// Flight time that was planned.
    pub planned_flight_s: f64,
    /// Of it, turning.
    pub planned_turns_s: f64,
    /// Of it, moving at a steady speed: no turning, no speeding up or braking, no stops. Where it is not known, all that is no turning
    /// is taken for it.
    pub planned_steady_s: Option<f64>,
    /// Images that were planned, where it is known.
    pub planned_images: Option<u32>,
    /// Full battery sets that were planned to be drawn, where it is known.
    pub planned_sets: Option<f64>,
    /// Flight time that it took.
    pub flight_s: f64,
    /// Images that were taken, where it is known.
    pub images: Option<u32>,
    /// Full battery sets that it drew, where it is known.
    pub sets: Option<f64>,
}

/// A figure of a flight that is planned and then found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoggedFigure {
    /// Flight time.
    Time,
    /// Images.
    Images,
    /// Battery sets.
    Sets,
}

impl LoggedFigure {
    /// All of them.
    pub const ALL: [LoggedFigure; 3] = [LoggedFigure::Time, LoggedFigure::Images, LoggedFigure::Sets];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            LoggedFigure::Time => "flight time",
            LoggedFigure::Images => "images",
            LoggedFigure::Sets => "battery sets",
        }
    }
}

impl LoggedFlight {
    /// What came over what was planned; nothing where one of them is not known.
    ///
    /// # Units
    /// - returns: 1 as planned
    pub fn ratio(&self, of: LoggedFigure) -> Option<f64> {
        let (came, planned) = match of {
            LoggedFigure::Time => (self.flight_s, self.planned_flight_s),
            LoggedFigure::Images => (f64::from(self.images?), f64::from(self.planned_images?)),
            LoggedFigure::Sets => (self.sets?, self.planned_sets?),
        };
        Some(came / planned).filter(|ratio| ratio.is_finite())
    }

    /// Share of the planned flight time that is turning.
    ///
    /// # Units
    /// - returns: a share, 0 to 1
    pub fn turn_share(&self) -> f64 {
        self.planned_turns_s / self.planned_flight_s
    }

    /// What a factor on speed and one on turns act upon: the share of turns in it, and what came over it once the rest, which neither
    /// moves, is taken off.
    fn moved(&self) -> [f64; 2] {
        let most_s = self.planned_flight_s - self.planned_turns_s;
        let moved_s =
            self.planned_steady_s.map_or(most_s, |steady_s| steady_s.min(most_s)) + self.planned_turns_s;
        let rest_s = self.planned_flight_s - moved_s;
        [self.planned_turns_s / moved_s, (self.flight_s - rest_s) / moved_s]
    }

    /// How long a battery set lasted, over how long it was planned to: whatever the speed, so much more or less was drawn in a
    /// minute.
    fn endurance_ratio(&self) -> Option<f64> {
        Some(self.ratio(LoggedFigure::Time)? / self.ratio(LoggedFigure::Sets)?)
    }
}

/// A factor on what is planned, fitted to flights.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedCorrection {
    /// The factor; 1 as planned.
    pub value: f64,
    /// The ends of its interval, which holds in 95 of 100 logs.
    pub interval: [f64; 2],
    /// Flights that it is fitted to.
    pub flights: usize,
    /// Places in the log of those that do not count, far from all others.
    pub left_out: Vec<usize>,
}

/// What flights tell of time.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeCorrection {
    /// Speed and turns, told apart.
    Apart {
        /// Speed over that planned.
        speed: FittedCorrection,
        /// Time for turns over that planned.
        turns: FittedCorrection,
    },
    /// One factor on all of the flight time.
    Together {
        /// Flight time over that planned.
        time: FittedCorrection,
        /// The same of what speed and turns act upon, without the rest: what is set.
        moved: FittedCorrection,
        /// Why speed and turns are not told apart.
        why: NotApart,
    },
}

/// Why speed and turns are not told apart.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum NotApart {
    /// Too few flights.
    #[error("that takes at least {least} flights, but there are {flights}; log more of them")]
    TooFew {
        /// Needed.
        least: usize,
        /// There are.
        flights: usize,
    },
    /// Turns take about the same share of each, or times scatter too much.
    #[error(
        "turns take {least_percent:.0} to {most_percent:.0} % of the planned flight time of all flights, which is too much alike for \
         how times scatter; log flights with more and with fewer turns"
    )]
    Alike {
        /// Smallest share that turns take, in per cent.
        least_percent: f64,
        /// Largest one.
        most_percent: f64,
    },
}

/// Corrections fitted to flights.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedFlights {
    /// Flights in the log.
    pub flights: usize,
    /// Of speed and turns.
    pub time: TimeCorrection,
    /// Of endurance; nothing where fewer than six flights tell battery sets.
    pub endurance: Option<FittedCorrection>,
    /// Flights that tell battery sets.
    pub with_sets: usize,
}

/// Why nothing can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("at least {least} flights are needed, but there are {flights}; log more of them")]
pub struct TooFewFlights {
    /// Needed.
    pub least: usize,
    /// There are.
    pub flights: usize,
}

/// Widest interval of the time for turns, over the factor itself, with which it is told apart from speed.
const WIDEST_TURNS: f64 = 0.5;

/// Fits corrections to flights that were planned without any.
///
/// A flight takes what is moved at a steady speed divided by the speed's factor, what is turned times the turns' factor, and the rest –
/// speeding up, braking, stops – as planned. Over the planned time of the first two that is a line over the share of turns: its height
/// at no turns is one over the speed's factor, at nothing but turns the turns' factor. Where the interval of the latter is wider than half of it, only one factor on all of the time is told. Endurance is
/// told apart from both, by battery sets drawn in a minute.
///
/// # Units
/// - returns: factors on what is planned
///
/// # Errors
/// [`TooFewFlights`] of fewer than six.
///
/// # References
/// Derived; the line is that of [`robust_line`], middles are those of [`robust_centre`] in logarithms.
pub fn fit_flights(flights: &[LoggedFlight]) -> Result<FittedFlights, TooFewFlights> {
    let too_few = TooFewFlights { least: LEAST_VALUES, flights: flights.len() };
    let time = factor(flights, |flight| flight.ratio(LoggedFigure::Time)).ok_or(too_few)?;
    let time = match apart(flights) {
        Ok((speed, turns)) => TimeCorrection::Apart { speed, turns },
        Err(why) => {
            let moved = factor(flights, |flight| Some(flight.moved()[1])).unwrap_or_else(|| time.clone());
            TimeCorrection::Together { time, moved, why }
        }
    };
    let with_sets = flights.iter().filter(|flight| flight.endurance_ratio().is_some()).count();
    let endurance = factor(flights, LoggedFlight::endurance_ratio);
    Ok(FittedFlights { flights: flights.len(), time, endurance, with_sets })
}

fn apart(flights: &[LoggedFlight]) -> Result<(FittedCorrection, FittedCorrection), NotApart> {
    let all = flights.iter().enumerate().map(|(at, flight)| (at, flight.moved()));
    // one that took less than what nothing moves is absurd
    let (points, absurd): (Vec<_>, Vec<_>) =
        all.partition(|(_, point)| point.iter().all(|value| value.is_finite()) && point[1] > 0.0);
    if points.len() < LEAST_POINTS_OF_LINE {
        return Err(NotApart::TooFew { least: LEAST_POINTS_OF_LINE, flights: points.len() });
    }
    let shares = flights.iter().map(|flight| 100.0 * flight.turn_share());
    let alike = || NotApart::Alike {
        least_percent: shares.clone().fold(f64::INFINITY, f64::min),
        most_percent: shares.clone().fold(0.0, f64::max),
    };
    let only: Vec<[f64; 2]> = points.iter().map(|(_, point)| *point).collect();
    let RobustLine { at: [moving, turning], half_widths: [half, half_turning], left_out } =
        robust_line(&only).ok_or_else(alike)?;
    if half_turning > WIDEST_TURNS * turning || half >= moving {
        return Err(alike());
    }
    let mut left_out: Vec<usize> =
        left_out.into_iter().map(|k| points[k].0).chain(absurd.iter().map(|(at, _)| *at)).collect();
    left_out.sort_unstable();
    let speed = FittedCorrection {
        value: 1.0 / moving,
        interval: [1.0 / (moving + half), 1.0 / (moving - half)],
        flights: flights.len(),
        left_out: left_out.clone(),
    };
    let interval = [turning - half_turning, turning + half_turning];
    Ok((speed, FittedCorrection { value: turning, interval, flights: flights.len(), left_out }))
}

/// One factor: the middle of ratios, in logarithms.
fn factor(flights: &[LoggedFlight], of: impl Fn(&LoggedFlight) -> Option<f64>) -> Option<FittedCorrection> {
    let told = flights.iter().enumerate().filter_map(|(at, flight)| Some((at, of(flight)?.ln())));
    let told: Vec<(usize, f64)> = told.filter(|(_, log)| log.is_finite()).collect();
    let logs: Vec<f64> = told.iter().map(|(_, log)| *log).collect();
    let RobustCentre { centre, half_width, left_out, .. } = robust_centre(&logs)?;
    Some(FittedCorrection {
        value: centre.exp(),
        interval: [centre - half_width, centre + half_width].map(f64::exp),
        flights: told.len(),
        left_out: left_out.into_iter().map(|k| told[k].0).collect(),
    })
}

impl FittedFlights {
    /// The corrections to reckon with, to three decimals and within their range; what is not told stays as it is.
    ///
    /// # Units
    /// - `now`: what holds where flights do not tell
    pub fn corrections(&self, now: FlownCorrections) -> FlownCorrections {
        let set = |value: f64| limits::FLOWN_RATIO.nearest((1000.0 * value).round() / 1000.0);
        let (speed_ratio, turn_ratio) = match &self.time {
            TimeCorrection::Apart { speed, turns } => (set(speed.value), set(turns.value)),
            TimeCorrection::Together { moved, .. } => (set(1.0 / moved.value), set(moved.value)),
        };
        let endurance_ratio = self.endurance.as_ref().map_or(now.endurance_ratio, |own| set(own.value));
        FlownCorrections { speed_ratio, turn_ratio, endurance_ratio }
    }

    /// Places in the log of flights that are far from all others in anything that is told.
    pub fn left_out(&self) -> Vec<usize> {
        let time = match &self.time {
            TimeCorrection::Apart { speed, .. } => &speed.left_out,
            TimeCorrection::Together { time, .. } => &time.left_out,
        };
        let mut all: Vec<usize> =
            time.iter().chain(self.endurance.iter().flat_map(|own| &own.left_out)).copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}
