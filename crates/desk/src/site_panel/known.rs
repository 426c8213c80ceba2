//! Places of a site whose latitude and longitude may be known.

use glam::DVec2;
use obliquity_planning::Site;

/// A place of the site whose latitude and longitude may be known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum KnownPlace {
    /// The zero of its coordinates.
    #[default]
    Origin,
    /// The take-off point.
    TakeOff,
    /// A control point.
    ControlPoint(usize),
}

impl KnownPlace {
    pub(super) fn all(site: &Site) -> impl Iterator<Item = KnownPlace> {
        let points = (0..site.control_points.len()).map(KnownPlace::ControlPoint);
        [KnownPlace::Origin, KnownPlace::TakeOff].into_iter().chain(points)
    }

    /// In metres of the site; nothing where it is not there any more.
    pub(super) fn at_m(self, site: &Site) -> Option<DVec2> {
        match self {
            KnownPlace::Origin => Some(DVec2::ZERO),
            KnownPlace::TakeOff => Some(site.take_off_m),
            KnownPlace::ControlPoint(at) => site.control_points.get(at).map(|point| point.at_m),
        }
    }

    pub(super) fn name(self, site: &Site) -> String {
        match self {
            KnownPlace::Origin => "the origin".to_owned(),
            KnownPlace::TakeOff => "the take-off point".to_owned(),
            KnownPlace::ControlPoint(at) => {
                format!(
                    "control point {}",
                    site.control_points.get(at).map_or("", |point| point.name.as_str())
                )
            }
        }
    }
}
