use crate::base::Id;
use crate::scenario::OnSite;
use crate::scenario::pattern::Pattern;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// An aircraft and what it flies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strategy {
    /// Stays the same through renaming, reordering and undo.
    pub id: Id,
    /// For people.
    pub name: String,
    /// Which aircraft of the scenario's equipment.
    pub aircraft: Id,
    /// What is flown; `order` says in which order.
    pub passes: Vec<Pass>,
    /// In which order the passes are flown.
    #[serde(default)]
    pub order: FlyingOrder,
    /// What the flight controller said once the values were keyed in. No figure is made from it.
    #[serde(default)]
    pub reported: Option<Reported>,
    /// The colour that it is told by, where that is not left to the order of the identifiers. No figure is made from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// What the crew does and has on site where that differs from the aircraft's.
    #[serde(default, skip_serializing_if = "OnSite::is_usual")]
    pub on_site: OnSite,
    /// Further places to take off and land at, besides the site's: sorties start where the pilot sees the most of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub take_offs_m: Vec<DVec2>,
}

/// The number of a colour that a strategy is told by, from 1 to [`Colour::COUNT`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Colour(u8);

impl Colour {
    /// So many colours can be told apart.
    pub const COUNT: u8 = 8;

    /// The colour of a place in the list of colours, which begins again after its end.
    pub fn of_slot(slot: usize) -> Self {
        let within = slot % usize::from(Colour::COUNT);
        Colour(u8::try_from(within).map_or(1, |within| within + 1))
    }

    /// Its place in the list of colours, from 0.
    pub fn slot(self) -> usize {
        usize::from(self.0 - 1)
    }
}

impl TryFrom<u8> for Colour {
    type Error = String;

    fn try_from(number: u8) -> Result<Self, String> {
        let most = Colour::COUNT;
        let fits = (1..=most).contains(&number);
        fits.then_some(Colour(number)).ok_or_else(|| {
            format!("a colour must be 1 to {most}, but it is {number}; write one of these numbers, or leave it out")
        })
    }
}

impl From<Colour> for u8 {
    fn from(colour: Colour) -> u8 {
        colour.0
    }
}

/// In which order passes are flown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum FlyingOrder {
    /// In the one that takes the least time (up to eight passes; more are flown as listed).
    #[default]
    Quickest,
    /// As they are listed.
    AsListed,
}

/// What a flight controller reports for a strategy that was keyed into it, to hold against what is predicted here.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reported {
    /// Take-off to landing of all sorties, in minutes.
    #[serde(default)]
    pub flight_time_min: Option<f64>,
    /// Images taken.
    #[serde(default)]
    pub image_count: Option<u32>,
}

/// One pattern flown once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pass {
    /// Unique in the whole scenario.
    pub id: Id,
    /// Where the aircraft goes.
    pub pattern: Pattern,
    /// Where the camera looks; more than one: a cycle through them within each air base.
    pub attitudes: Vec<Attitude>,
    /// How far from the subject, and what leads.
    pub distance: Distance,
    /// Forward overlap, 0 to below 1, on the vertical-equivalent footprint.
    pub forward_overlap: f64,
    /// Sidelap, 0 to below 1, on the vertical-equivalent footprint.
    pub sidelap: f64,
    /// The user's own speed limit.
    #[serde(default)]
    pub speed_mps: Option<f64>,
    /// How far the pass reaches beyond the boundary; when absent the larger of one air base and a quarter of the swath.
    /// A cycled pass reaches as far as its tilted images need and has no margin of its own.
    #[serde(default)]
    pub margin_m: Option<f64>,
    /// Time for which the aircraft stops at each place to expose; absent, it exposes while moving.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hover_s: Option<f64>,
}

/// Where the camera looks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attitude {
    /// From nadir: 0 straight down, 90 level, 180 straight up.
    pub tilt_deg: f64,
    /// Which way the tilted axis points.
    pub aim: Aim,
}

/// Which way a tilted axis points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Aim {
    /// Relative to the flight: return strips look the other way.
    FromTrack {
        /// Clockwise from the direction of flight.
        deg: f64,
    },
    /// Relative to the pass's strip direction, held on return strips.
    FromStrips {
        /// Clockwise from the strip direction.
        deg: f64,
    },
    /// Held on all strips.
    FromNorth {
        /// Clockwise from north.
        deg: f64,
    },
    /// Toward the wall of a facade pass or the middle of an orbit; elsewhere there is no subject, and it is the track.
    AtSubject {
        /// Clockwise from the direction to the subject.
        deg: f64,
    },
}

impl Aim {
    /// The angle that it sets.
    ///
    /// # Units
    /// - returns: degrees, clockwise
    pub fn deg(self) -> f64 {
        match self {
            Aim::FromTrack { deg }
            | Aim::FromStrips { deg }
            | Aim::FromNorth { deg }
            | Aim::AtSubject { deg } => deg,
        }
    }
}

/// How far from the subject, and which of height and GSD leads when the aircraft is swapped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Distance {
    /// The height leads.
    Height {
        /// Metres above what `above` says.
        m: f64,
        /// What the height is above.
        #[serde(default)]
        above: Above,
    },
    /// The GSD leads: height = GSD × focal length in pixels, whatever the tilt, capped at the height ceiling.
    Gsd {
        /// Centimetres per pixel.
        cm: f64,
        /// What the resulting height is above.
        #[serde(default)]
        above: Above,
    },
    /// The stand-off leads: orbits, facades and undersides. With a GSD they take stand-off = GSD × focal length in
    /// pixels, capped at the height ceiling.
    StandOff {
        /// Metres from the surface.
        m: f64,
    },
}

impl Distance {
    /// What the height is above; the mean ground where there is none.
    pub fn above(self) -> Above {
        match self {
            Distance::Height { above, .. } | Distance::Gsd { above, .. } => above,
            Distance::StandOff { .. } => Above::MeanGround,
        }
    }
}

/// What a height is above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Above {
    /// The reference plane: the mean ground inside the boundary.
    #[default]
    MeanGround,
    /// The ground at the take-off point.
    TakeOff,
    /// The ground below, followed along each strip: never lower, and higher where the aircraft cannot climb or descend
    /// as fast as the ground does, or where a structure stands.
    Ground,
}
