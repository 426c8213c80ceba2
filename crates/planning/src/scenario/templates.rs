//! Starting points for a strategy; each is just a list of passes.

use crate::base::Id;
use crate::scenario::{
    Aim, Attitude, BeginAt, CountingRule, Distance, FlyingOrder, OnSite, Pass, Pattern, Strategy,
    StripDirection, Strips,
};

/// A named starting point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Template {
    /// One strips pass looking straight down.
    NadirBlock,
    /// Two strips passes at right angles, one tilt.
    CrossedStrips,
    /// One nadir strips pass and four tilted ones looking along the four directions.
    FiveDirectionOblique,
    /// One strips pass on which the camera goes through five attitudes within each air base.
    CycledGimbal,
}

impl Template {
    /// All templates, simplest first.
    pub const ALL: [Template; 4] = [
        Template::NadirBlock,
        Template::CrossedStrips,
        Template::FiveDirectionOblique,
        Template::CycledGimbal,
    ];

    /// Name on screens; also the name of a new strategy.
    pub fn name(self) -> &'static str {
        match self {
            Template::NadirBlock => "Nadir block",
            Template::CrossedStrips => "Crossed strips",
            Template::FiveDirectionOblique => "Five-direction oblique",
            Template::CycledGimbal => "Cycled gimbal",
        }
    }

    /// What it is, in a sentence.
    pub fn explanation(self) -> &'static str {
        match self {
            Template::NadirBlock => {
                "Parallel strips with the camera straight down: the ground and the roofs."
            }
            Template::CrossedStrips => {
                "Two sets of strips at right angles with the camera tilted forward: walls from four sides."
            }
            Template::FiveDirectionOblique => {
                "A nadir block, then four blocks that each look one way at 45°: the most views, the longest flight."
            }
            Template::CycledGimbal => {
                "One set of strips on which the gimbal swings through five attitudes in each air base: one flight, \
                 many images, slow."
            }
        }
    }

    /// A strategy from this template, with identifiers from `first_id` on.
    ///
    /// Overlaps and tilts are common practice, no source.
    pub fn strategy(self, first_id: Id, aircraft: Id, distance: Distance) -> Strategy {
        let mut next = first_id.0;
        let mut pass = |turned_deg: f64, attitudes: Vec<Attitude>, [forward, side]: [f64; 2]| {
            next += 1;
            Pass {
                id: Id(next),
                pattern: Pattern::Strips(Strips {
                    direction: StripDirection::Automatic { turned_deg },
                    counting: CountingRule::default(),
                    begin: BeginAt::default(),
                }),
                attitudes,
                distance,
                forward_overlap: forward,
                sidelap: side,
                speed_mps: None,
                margin_m: None,
                hover_s: None,
            }
        };
        let track = |tilt_deg: f64, deg: f64| Attitude { tilt_deg, aim: Aim::FromTrack { deg } };
        let held = |deg: f64| Attitude { tilt_deg: 45.0, aim: Aim::FromStrips { deg } };
        let nadir = track(0.0, 0.0);
        let passes = match self {
            Template::NadirBlock => vec![pass(0.0, vec![nadir], [0.80, 0.70])],
            Template::CrossedStrips => {
                [0.0, 90.0].map(|turned| pass(turned, vec![track(30.0, 0.0)], [0.80, 0.70])).to_vec()
            }
            Template::FiveDirectionOblique => {
                let mut passes = vec![pass(0.0, vec![nadir], [0.80, 0.70])];
                // Each block's strips run along its look, where the camera's long side lies across the track.
                let looks = [(0.0, 0.0), (90.0, 0.0), (0.0, 180.0), (90.0, 180.0)];
                passes.extend(looks.map(|(turned, look)| pass(turned, vec![held(look)], [0.70, 0.55])));
                passes
            }
            Template::CycledGimbal => {
                let mut attitudes = vec![nadir];
                attitudes.extend([-45.0, 45.0, 135.0, -135.0].map(|deg| track(45.0, deg)));
                vec![pass(0.0, attitudes, [0.75, 0.70])]
            }
        };
        Strategy {
            id: first_id,
            name: self.name().to_owned(),
            aircraft,
            passes,
            order: FlyingOrder::default(),
            reported: None,
            colour: None,
            on_site: OnSite::default(),
            take_offs_m: Vec::new(),
        }
    }
}

/// A camera tilted by more looks at a wall about squarely.
const SQUARE_DEG: f64 = 60.0;

/// How far the rows are tilted that tie walls to what is seen from above: half way.
const BETWEEN_DEG: f64 = 45.0;

/// The rows in front of walls once more, tilted half way to straight down, with identifiers from `first_id` on: what ties
/// rows that look squarely at walls to each other and to a block that looks down. None where the strategy has no such rows, or has
/// tilted ones already.
///
/// Common practice, no source.
pub fn rows_that_tie(strategy: &Strategy, first_id: Id) -> Vec<Pass> {
    let is_square = |pass: &&Pass| pass.attitudes.iter().all(|look| look.tilt_deg > SQUARE_DEG);
    let mut rows = strategy.passes.iter().filter(|pass| matches!(pass.pattern, Pattern::Facade(_)));
    if !rows.clone().all(|pass| is_square(&pass)) {
        return Vec::new();
    }
    let tilted = |(number, pass): (u32, &Pass)| {
        let mut tilted = Pass { id: Id(number), ..pass.clone() };
        tilted.attitudes.iter_mut().for_each(|look| look.tilt_deg = BETWEEN_DEG);
        tilted
    };
    (first_id.0..).zip(rows.by_ref()).map(tilted).collect()
}
