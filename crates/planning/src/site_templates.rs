use crate::polygon::{centroid_m, contains, rings_meet, signed_area_m2};
use crate::{
    Aim, Aircraft, Attitude, CountingRule, Distance, FlyingOrder, Id, OrbitCentre, OrbitRadius,
    OutlineStructure, Pass, Pattern, Rings, Site, SiteError, SiteOutline, Strategy, StripDirection,
};
use glam::DVec2;
use thiserror::Error;

/// A starting point that needs to know the site: a structure to go round, a deck to look at, a line to follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SiteTemplate {
    /// A nadir block and an orbit about each of the tallest structures.
    NadirBlockWithOrbits,
    /// Rows in front of all walls of one structure, and a nadir block for its roof.
    FacadeWrap,
    /// Strips below one deck, looking up.
    UndersideSections,
    /// Strips along a line.
    Corridor,
}

/// What a template is to be laid on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SiteChoice<'a> {
    /// The structure or deck; when absent the tallest structure that fits, or the longest deck.
    pub structure: Option<Id>,
    /// The line to follow; when empty the template looks along the boundary.
    pub line_m: &'a [DVec2],
    /// Width of a corridor; when absent the boundary's least width along the line.
    pub width_m: Option<f64>,
}

/// Why a template does not fit a site.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TemplateError {
    /// There is nothing to go round or along.
    #[error("{template} needs a structure inside the boundary, but the site has none; draw one")]
    NoStructure {
        /// Name of the template.
        template: &'static str,
    },
    /// The structure chosen is not there.
    #[error("{template} needs a structure of the site, but none has the id {id}; choose one that is there")]
    NoSuchStructure {
        /// Name of the template.
        template: &'static str,
        /// The structure asked for.
        id: Id,
    },
    /// There is no deck.
    #[error(
        "{template} needs a deck to look up at, but {what}; draw the bridge or canopy as a deck, or choose one"
    )]
    NoDeck {
        /// Name of the template.
        template: &'static str,
        /// What there is instead.
        what: String,
    },
    /// There is no line.
    #[error(
        "{template} needs a line of at least two corners, but it has {corners}; draw where the corridor runs"
    )]
    NoLine {
        /// Name of the template.
        template: &'static str,
        /// Corners that came.
        corners: usize,
    },
    /// The site is not sound.
    #[error("site: {0}")]
    Site(#[from] SiteError),
}

/// Structures that one strategy goes round.
const MOST_ORBITS: usize = 4;

/// Lower structures need no orbit of their own. Common practice, no source.
const LOWEST_ORBITED_M: f64 = 6.0;

/// Kept from walls, soffit and neighbours. Common practice, no source.
const CLEARANCE_M: f64 = 5.0;

impl SiteTemplate {
    /// All of them, simplest first.
    pub const ALL: [SiteTemplate; 4] = [
        SiteTemplate::Corridor,
        SiteTemplate::NadirBlockWithOrbits,
        SiteTemplate::FacadeWrap,
        SiteTemplate::UndersideSections,
    ];

    /// Name on screens; also the name of a new strategy.
    pub fn name(self) -> &'static str {
        match self {
            SiteTemplate::NadirBlockWithOrbits => "Nadir block with orbits",
            SiteTemplate::FacadeWrap => "Facade wrap",
            SiteTemplate::UndersideSections => "Underside sections",
            SiteTemplate::Corridor => "Corridor",
        }
    }

    /// What it is, in a sentence.
    pub fn explanation(self) -> &'static str {
        match self {
            SiteTemplate::NadirBlockWithOrbits => {
                "A nadir block for ground and roofs, then a ring about each of the tallest structures, looking inward: \
                 walls from all sides where they are high."
            }
            SiteTemplate::FacadeWrap => {
                "Rows in front of every wall of one structure at one distance, and a nadir block above: the finest even \
                 detail on walls, flown near them."
            }
            SiteTemplate::UndersideSections => {
                "Strips below a deck with the camera looking up, section after section, slow: the only way to see an \
                 underside. Needs a gimbal that looks up."
            }
            SiteTemplate::Corridor => {
                "Strips along a line as wide as you say: roads, rivers, rails. Less to fly than a block over the whole \
                 boundary."
            }
        }
    }

    /// A strategy from this template on a site, with identifiers from `first_id` on.
    ///
    /// `distance` leads every pass: a GSD is best, since heights and stand-offs both follow from it; a height is flown by
    /// the passes above, a stand-off kept by the others, and what is missing is 2 cm. Overlaps, clearances and rings are
    /// common practice, no source.
    ///
    /// # Errors
    /// [`TemplateError`] in words, when the template does not fit the site.
    pub fn strategy(
        self,
        site: &Site,
        choice: &SiteChoice<'_>,
        first_id: Id,
        aircraft: &Aircraft,
        distance: Distance,
    ) -> Result<Strategy, TemplateError> {
        let outline = SiteOutline::new(site)?;
        let mut maker = Maker { next: first_id.0, distance, aircraft };
        let passes = match self {
            SiteTemplate::NadirBlockWithOrbits => self.with_orbits(&outline, choice, &mut maker)?,
            SiteTemplate::FacadeWrap => self.facade_wrap(&outline, choice, &mut maker)?,
            SiteTemplate::UndersideSections => vec![self.underside(&outline, choice, &mut maker)?],
            SiteTemplate::Corridor => vec![self.corridor(&outline, choice, &mut maker)?],
        };
        Ok(Strategy {
            id: first_id,
            name: self.name().to_owned(),
            aircraft: aircraft.id,
            passes,
            order: FlyingOrder::default(),
            reported: None,
        })
    }

    fn with_orbits(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Vec<Pass>, TemplateError> {
        let mut chosen = match choice.structure {
            Some(_) => vec![self.structure(outline, choice)?],
            None => standing(outline),
        };
        chosen.retain(|s| choice.structure.is_some() || s.top_z_m - s.base_z_m >= LOWEST_ORBITED_M);
        if chosen.is_empty() {
            return Err(TemplateError::NoStructure { template: self.name() });
        }
        let mut passes = vec![maker.nadir()];
        for structure in chosen.into_iter().take(MOST_ORBITS) {
            let Some(id) = structure.id else { continue };
            let height_m = structure.top_z_m - structure.base_z_m;
            let stand_off_m = maker.stand_off_m();
            // Above its neighbours the ring is free of them; at least as high as the structure and half the stand-off.
            let clear_m = outline.highest_z_m - structure.base_z_m + 11.0;
            let lowest_m = (height_m + stand_off_m / 2.0).max(clear_m).min(490.0);
            passes.push(maker.pass(
                Pattern::Orbit {
                    around: OrbitCentre::Structure(id),
                    radius: OrbitRadius::StandOff,
                    rings: Rings::Evenly { count: 1, lowest_m, step_m: 10.0 },
                    target_height_m: height_m / 2.0,
                },
                Attitude { tilt_deg: 45.0, aim: Aim::AtSubject { deg: 0.0 } },
                maker.kept(),
                [0.80, 0.60],
            ));
        }
        if passes.len() == 1 {
            return Err(TemplateError::NoStructure { template: self.name() });
        }
        Ok(passes)
    }

    fn facade_wrap(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Vec<Pass>, TemplateError> {
        let structure = self.structure(outline, choice)?;
        let Some(id) = structure.id else {
            return Err(TemplateError::NoStructure { template: self.name() });
        };
        let clearance_m = CLEARANCE_M.min(maker.stand_off_m());
        let wrap = maker.pass(
            Pattern::Facade { structure: id, walls: None, clearance_m, lowest_m: 3.0 },
            Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } },
            maker.kept(),
            [0.80, 0.70],
        );
        Ok(vec![maker.nadir(), wrap])
    }

    fn underside(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Pass, TemplateError> {
        let no_deck = |what: &str| TemplateError::NoDeck { template: self.name(), what: what.to_owned() };
        let length = |s: &OutlineStructure| signed_area_m2(&s.footprint_m).abs();
        let deck = match choice.structure {
            Some(_) => self.structure(outline, choice)?,
            None => outline
                .structures
                .iter()
                .filter(|s| s.soffit_z_m.is_some())
                .max_by(|a, b| length(a).total_cmp(&length(b)))
                .ok_or_else(|| no_deck("the site has none"))?,
        };
        let (Some(id), Some(_)) = (deck.id, deck.soffit_z_m) else {
            return Err(no_deck(&format!("\"{}\" stands on the ground", deck.name)));
        };
        let tilt_deg = maker.aircraft.gimbal.tilt_max_deg.clamp(120.0, 180.0);
        Ok(maker.pass(
            Pattern::Underside {
                structure: id,
                sections: 4,
                soffit_clearance_m: 3.0,
                ground_clearance_m: 3.0,
            },
            Attitude { tilt_deg, aim: Aim::FromTrack { deg: 0.0 } },
            maker.kept(),
            [0.80, 0.70],
        ))
    }

    fn corridor(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Pass, TemplateError> {
        let own = middle_line(outline);
        let line_m = if choice.line_m.is_empty() { own.as_slice() } else { choice.line_m };
        if line_m.len() < 2 {
            return Err(TemplateError::NoLine { template: self.name(), corners: line_m.len() });
        }
        let length_m: f64 = line_m.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        let mean_width_m = signed_area_m2(&outline.boundary_m).abs() / length_m.max(1.0);
        Ok(maker.pass(
            Pattern::Corridor {
                line_m: line_m.to_vec(),
                width_m: choice.width_m.unwrap_or(mean_width_m).clamp(1.0, 5000.0),
                counting: CountingRule::default(),
            },
            Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } },
            maker.over(),
            [0.80, 0.70],
        ))
    }

    fn structure<'o>(
        self,
        outline: &'o SiteOutline,
        choice: &SiteChoice<'_>,
    ) -> Result<&'o OutlineStructure, TemplateError> {
        let template = self.name();
        match choice.structure {
            Some(id) => outline.structure(id).ok_or(TemplateError::NoSuchStructure { template, id }),
            None => standing(outline).first().copied().ok_or(TemplateError::NoStructure { template }),
        }
    }
}

/// The site's own structures that meet the boundary and stand on the ground, tallest first.
fn standing(outline: &SiteOutline) -> Vec<&OutlineStructure> {
    let inside = |s: &&OutlineStructure| rings_meet(&s.footprint_m, &outline.boundary_m);
    let own = |s: &&OutlineStructure| s.id.is_some() && s.soffit_z_m.is_none();
    let mut found: Vec<_> = outline.structures.iter().filter(own).filter(inside).collect();
    found.sort_by(|a, b| (b.top_z_m - b.base_z_m).total_cmp(&(a.top_z_m - a.base_z_m)));
    found
}

/// The straight line through the middle of the boundary along its longer extent; none where the middle lies outside.
fn middle_line(outline: &SiteOutline) -> Vec<DVec2> {
    let middle = centroid_m(&outline.boundary_m);
    if !contains(&outline.boundary_m, middle) {
        return Vec::new();
    }
    let along = DVec2::new(outline.best_strips_rad.sin(), outline.best_strips_rad.cos());
    let places = outline.boundary_m.iter().map(|p| (*p - middle).dot(along));
    let (low, high) = places.fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
    vec![middle + along * low, middle + along * high]
}

/// Makes passes with identifiers one after the other.
struct Maker<'a> {
    next: u32,
    distance: Distance,
    aircraft: &'a Aircraft,
}

impl Maker<'_> {
    fn pass(
        &mut self,
        pattern: Pattern,
        look: Attitude,
        distance: Distance,
        [forward, side]: [f64; 2],
    ) -> Pass {
        self.next += 1;
        Pass {
            id: Id(self.next),
            pattern,
            attitudes: vec![look],
            distance,
            forward_overlap: forward,
            sidelap: side,
            speed_mps: None,
            margin_m: None,
            hover_s: None,
        }
    }

    fn nadir(&mut self) -> Pass {
        let direction = StripDirection::Automatic { turned_deg: 0.0 };
        let look = Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } };
        let pattern = Pattern::Strips { direction, counting: CountingRule::default() };
        self.pass(pattern, look, self.over(), [0.80, 0.70])
    }

    /// What leads passes above their subject.
    fn over(&self) -> Distance {
        match self.distance {
            Distance::StandOff { .. } => Distance::Gsd { cm: 2.0, above: self.distance.above() },
            led => led,
        }
    }

    /// What leads passes that keep a stand-off.
    fn kept(&self) -> Distance {
        match self.distance {
            Distance::Height { above, .. } => Distance::Gsd { cm: 2.0, above },
            led => led,
        }
    }

    fn stand_off_m(&self) -> f64 {
        match self.kept() {
            Distance::StandOff { m } | Distance::Height { m, .. } => m,
            Distance::Gsd { cm, .. } => cm / 100.0 * self.aircraft.camera.model().focal_length_px,
        }
    }
}
