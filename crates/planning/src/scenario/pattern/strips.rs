use crate::base::digest::Digest;
use crate::base::limits;
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::{
    About, Choice, Leads, Looks, Margin, Naming, Near, Overlaps, Pattern, Present, Runs, Settings,
};
use serde::{Deserialize, Serialize};

/// Parallel lines over an area, flown to and fro.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strips {
    /// Which way they run.
    #[serde(default)]
    pub direction: StripDirection,
    /// How many there are and where.
    #[serde(default)]
    pub counting: CountingRule,
    /// At which corner they are begun.
    #[serde(default, skip_serializing_if = "BeginAt::is_nearest")]
    pub begin: BeginAt,
}

/// Which way strips run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StripDirection {
    /// The direction that needs the fewest strips (across the boundary's least width), turned clockwise.
    Automatic {
        /// 0 for the direction itself, 90 for the crossing one.
        #[serde(default)]
        turned_deg: f64,
    },
    /// Set by the user.
    FromNorth {
        /// Clockwise from north.
        deg: f64,
    },
}

impl Default for StripDirection {
    fn default() -> Self {
        StripDirection::Automatic { turned_deg: 0.0 }
    }
}

/// At which corner strips over an area are begun, as seen from the one nearest to the take-off point: so it keeps its
/// meaning when the site is edited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum BeginAt {
    /// That corner.
    #[default]
    NearestCorner,
    /// The other end of the same strip.
    OtherEnd,
    /// The same end of the outermost strip on the other side.
    OtherSide,
    /// The other end of the strip on the other side.
    OppositeCorner,
}

impl BeginAt {
    /// All of them, the nearest corner first.
    pub const ALL: [BeginAt; 4] =
        [BeginAt::NearestCorner, BeginAt::OtherEnd, BeginAt::OtherSide, BeginAt::OppositeCorner];

    /// Whether it is the nearest corner.
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks for it")]
    fn is_nearest(&self) -> bool {
        *self == BeginAt::NearestCorner
    }
}

/// How many strips a width needs, where they lie, and how many exposures a strip gets.
///
/// Handbooks differ; each rule is named for what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum CountingRule {
    /// n = ceil(width / spacing), spread evenly, the outer ones half a spacing inside.
    #[default]
    HalfSpacingInside,
    /// n = ceil(width / spacing), centred with the spacing kept as set.
    CentredAtSpacing,
    /// As few as still cover the width with their footprints: n = ceil((width − swath) / spacing) + 1.
    FootprintCover,
    /// The outer strips on the edges: n = ceil(width / spacing) + 1, spread evenly.
    EdgeToEdge,
    /// The outer footprints reach beyond the edge by as much as neighbouring strips overlap.
    SidelapBeyondEdge,
    /// n = ceil(width / spacing) + 2, centred with the spacing kept as set.
    SpareStripEachSide,
}

impl CountingRule {
    /// All of them, the usual one first.
    pub const ALL: [CountingRule; 6] = [
        CountingRule::HalfSpacingInside,
        CountingRule::CentredAtSpacing,
        CountingRule::FootprintCover,
        CountingRule::EdgeToEdge,
        CountingRule::SidelapBeyondEdge,
        CountingRule::SpareStripEachSide,
    ];

    pub(super) fn digest(self, digest: &mut Digest) {
        let code = match self {
            CountingRule::HalfSpacingInside => 0,
            CountingRule::CentredAtSpacing => 1,
            CountingRule::FootprintCover => 2,
            CountingRule::EdgeToEdge => 3,
            CountingRule::SidelapBeyondEdge => 4,
            CountingRule::SpareStripEachSide => 5,
        };
        digest.whole(code);
    }
}

pub(super) const ABOUT: About = About {
    name: "strips",
    title: "Strips",
    explanation: "Parallel strips over the site, flown one after the other",
    leads: Leads::Height,
    lines: ["strips", "strip spacing"],
    runs: Some(Runs::Straight),
    margin: Some(Margin {
        beyond: "beyond the boundary",
        cycled: Some("the strips reach as far as the tilted images need"),
    }),
    overlaps: Overlaps::Both,
    looks: Looks::ByStrips,
    near: Near::Open,
    begins: Some(|_| Pattern::Strips(Strips::default())),
    table: None,
    numbers: &[
        number!("strategies[].passes[].pattern.Strips.direction.Automatic.turned_deg", "Turned by",
            "Clockwise from the direction that needs the fewest strips; 90° is across it.",
            Degrees, 0, DIRECTION_DEG,
            Pattern::Strips(Strips { direction: StripDirection::Automatic { turned_deg: value }, .. }) => value),
        number!("strategies[].passes[].pattern.Strips.direction.FromNorth.deg", "Direction",
            "Which way the strips run, clockwise from north.",
            Degrees, 1, DIRECTION_DEG,
            Pattern::Strips(Strips { direction: StripDirection::FromNorth { deg: value }, .. }) => value),
    ],
    choices: &[BEGIN, DIRECTION, COUNTING],
};

const DIRECTION: Choice = Choice {
    name: "Strips run",
    explanation: "What sets which way the strips run",
    what: "Direction",
    options: &[
        ("automatic", "Along the site so that the fewest strips are needed, then turned"),
        ("set from north", "The same way whatever the site's shape"),
    ],
    get: |pattern| match pattern {
        Pattern::Strips(strips) => {
            Some(usize::from(matches!(strips.direction, StripDirection::FromNorth { .. })))
        }
        _ => None,
    },
    set: |pattern, place, present| {
        if let Pattern::Strips(strips) = pattern {
            strips.direction = directed(strips.direction, place, present);
        }
    },
};

/// Strips by themselves, or set from north at the direction that they have.
fn directed(direction: StripDirection, place: usize, present: &Present) -> StripDirection {
    match (direction, place) {
        (StripDirection::Automatic { turned_deg }, 1) => {
            let deg = present.direction_rad.map_or(turned_deg, f64::to_degrees).rem_euclid(360.0);
            StripDirection::FromNorth { deg: (10.0 * deg).round() / 10.0 }
        }
        (StripDirection::FromNorth { .. }, 0) => StripDirection::Automatic { turned_deg: 0.0 },
        (direction, _) => direction,
    }
}

/// How strips are counted, of strips and corridors.
pub(super) const COUNTING: Choice = Choice {
    name: "Strip placement",
    explanation: "How many strips a width needs and where they lie; handbooks differ",
    what: "Strip placement",
    options: &[
        (
            "Half a spacing inside",
            "As many as the width holds spacings, spread evenly, the outer ones half a spacing inside",
        ),
        ("Centred at the spacing", "As many as the width holds spacings, centred, the spacing kept as set"),
        ("Footprints just cover", "As few as still cover the width with their footprints"),
        ("Edge to edge", "The outer strips on the edges, the others spread evenly"),
        (
            "Sidelap beyond the edge",
            "The outer footprints reach beyond the edge by as much as neighbours overlap",
        ),
        ("A spare strip each side", "As many as the width holds spacings and one more on each side"),
    ],
    get: |pattern| {
        let rule = match pattern {
            Pattern::Strips(strips) => strips.counting,
            Pattern::Corridor(corridor) => corridor.counting,
            _ => return None,
        };
        CountingRule::ALL.iter().position(|known| *known == rule)
    },
    set: |pattern, place, _| {
        let rule = CountingRule::ALL.get(place).copied().unwrap_or_default();
        match pattern {
            Pattern::Strips(strips) => strips.counting = rule,
            Pattern::Corridor(corridor) => corridor.counting = rule,
            _ => {}
        }
    },
};

const BEGIN: Choice = Choice {
    name: "Begin at",
    explanation: "At which corner the strips are begun, as seen from the one nearest to the take-off point",
    what: "Begin at",
    options: &[
        ("nearest corner", "The corner of the strips that is nearest to the take-off point"),
        ("other end", "The same outer strip as from the nearest corner, begun at its other end"),
        ("other side", "The outer strip on the other side, begun at the same end"),
        ("opposite corner", "The outer strip on the other side, begun at its other end"),
    ],
    get: |pattern| match pattern {
        Pattern::Strips(strips) => BeginAt::ALL.iter().position(|known| *known == strips.begin),
        _ => None,
    },
    set: |pattern, place, _| {
        if let Pattern::Strips(strips) = pattern {
            strips.begin = BeginAt::ALL.get(place).copied().unwrap_or_default();
        }
    },
};

impl Settings for Strips {
    fn title(&self, naming: &Naming<'_>) -> String {
        format!(", {}", naming.look)
    }

    fn check(&self, check: &mut Checker, _site: &Site, path: &str) {
        let (field, deg) = match self.direction {
            StripDirection::Automatic { turned_deg } => ("turned_deg", turned_deg),
            StripDirection::FromNorth { deg } => ("deg", deg),
        };
        check.number(format!("{path}.direction.{field}"), deg, limits::DIRECTION_DEG);
    }

    fn digest(&self, digest: &mut Digest) {
        let Strips { direction, counting, begin } = self;
        let (way, deg) = match direction {
            StripDirection::Automatic { turned_deg } => (0, turned_deg),
            StripDirection::FromNorth { deg } => (1, deg),
        };
        digest.whole(way).number(*deg);
        counting.digest(digest);
        digest.whole(*begin as u64);
    }
}
