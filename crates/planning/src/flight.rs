//! Time, energy and sorties: the route on the clock of an aircraft on the day.

pub mod atmosphere;
pub mod power;

mod bearing;
mod charging;
mod choosing;
mod correction;
mod course;
mod craft;
mod fly;
mod home;
mod inputs;
mod line;
mod logbook;
mod pilot;
mod record;
mod shared_leg;
mod spread;
mod stretch;
mod timing;
mod totals;
mod turning;
mod way;

pub use correction::{
    FittedCorrection, FittedFlights, LoggedFigure, LoggedFlight, NotApart, TimeCorrection, TooFewFlights,
    fit_flights,
};
pub use record::{Capacity, Flight, FlightTerms, FlownLeg, Sortie, TimeTerms};
pub use shared_leg::SharedLeg;
pub use spread::{Band, Bands, Cause, Source};
pub use timing::Timing;

pub(crate) use fly::fly;
pub(crate) use home::{Home, take_off_name};
pub(crate) use spread::{DRAWS, bands, draw};
