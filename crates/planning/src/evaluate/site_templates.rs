mod groups;

use self::groups::{Joined, grouped, standing, tall};
use crate::base::{ByClass, Id, SurfaceClass, limits};
use crate::geometry::polygon::{centroid_m, contains, signed_area_m2};
use crate::ground::{OutlineStructure, SiteError, SiteOutline};
use crate::scenario::PatternKind;
use crate::scenario::{
    Aim, Aircraft, Attitude, BeginAt, Corridor, CountingRule, Distance, Facade, FlyingOrder, OnSite, Orbit,
    OrbitCentre, OrbitRadius, Pass, Pattern, Rings, Site, Strategy, StripDirection, Strips, Underside,
};
use glam::DVec2;
use thiserror::Error;

/// A starting point that needs to know the site: a structure to go round, a deck to look at, a line to follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SiteTemplate {
    /// A nadir block and an orbit about each of the tallest structures; one about those that stand together.
    NadirBlockWithOrbits,
    /// Rows in front of all walls of every tall structure, round those that stand together as one, and a nadir block.
    FacadeWrap,
    /// Strips below one deck, looking up.
    UndersideSections,
    /// Strips along a line.
    Corridor,
    /// Stations given one by one.
    ListedStations,
}

/// What a template is to be laid on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SiteChoice<'a> {
    /// The structure or deck; when absent all tall structures, or the largest deck.
    pub structure: Option<Id>,
    /// The line to follow; when empty the template looks along the boundary.
    pub line_m: &'a [DVec2],
    /// Width of a corridor; when absent the boundary's least width along the line.
    pub width_m: Option<f64>,
}

/// What a strategy from a template begins with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemplateStart<'a> {
    /// The strategy's identifier; those of its passes follow.
    pub first_id: Id,
    /// What flies it.
    pub aircraft: &'a Aircraft,
    /// What leads the passes above their subject, and orbits.
    pub distance: Distance,
    /// GSD required of each class of surfaces: what passes along walls and below decks start from.
    pub gsd_cm: &'a ByClass<f64>,
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

/// Rings that one strategy flies.
const MOST_ORBITS: usize = 4;

/// Passes along walls and below decks begin no farther off. Common practice, no source.
const FARTHEST_FACED_M: f64 = 20.0;

/// Kept from the ground below a deck. Common practice, no source.
const GROUND_CLEARANCE_M: f64 = 3.0;

/// Kept from walls, soffit and neighbours. Common practice, no source.
const CLEARANCE_M: f64 = 5.0;

impl SiteTemplate {
    /// All of them, simplest first.
    pub const ALL: [SiteTemplate; 5] = [
        SiteTemplate::Corridor,
        SiteTemplate::NadirBlockWithOrbits,
        SiteTemplate::FacadeWrap,
        SiteTemplate::UndersideSections,
        SiteTemplate::ListedStations,
    ];

    /// Name on screens; also the name of a new strategy.
    pub fn name(self) -> &'static str {
        match self {
            SiteTemplate::NadirBlockWithOrbits => "Nadir block with orbits",
            SiteTemplate::FacadeWrap => "Facade wrap",
            SiteTemplate::UndersideSections => "Underside sections",
            SiteTemplate::Corridor => "Corridor",
            SiteTemplate::ListedStations => "Listed stations",
        }
    }

    /// What it is, in a sentence.
    pub fn explanation(self) -> &'static str {
        match self {
            SiteTemplate::NadirBlockWithOrbits => {
                "A nadir block for ground and roofs, then a ring about each tall structure (6 m and more, and half as high \
                 as the tallest), one about those that stand together, looking inward: walls from all sides where they are \
                 high."
            }
            SiteTemplate::FacadeWrap => {
                "Rows in front of every wall of each tall structure (6 m and more, and half as high as the tallest), round \
                 those as one that are too near to fly between, at the distance that the walls' GSD asks for, 20 m at most; \
                 and a nadir block above: the finest even detail on walls, flown near them."
            }
            SiteTemplate::UndersideSections => {
                "Strips below a deck with the camera looking up, section after section, slow: the only way to see an \
                 underside. Needs a gimbal that looks up."
            }
            SiteTemplate::Corridor => {
                "Strips along a line as wide as you say: roads, rivers, rails. Less to fly than a block over the whole \
                 boundary."
            }
            SiteTemplate::ListedStations => {
                "Stations given one by one and flown in their order, read from a table or from an export's stations.csv; to \
                 begin with four that look at the middle of the site."
            }
        }
    }

    /// A strategy from this template on a site.
    ///
    /// `start.distance` leads the passes above their subject (a stand-off is no height: 2 cm instead) and orbits (a height
    /// is no stand-off: likewise). Passes along walls and below decks start from the GSD required of those surfaces, at
    /// most 20 m off. Overlaps, clearances and rings are common practice, no source.
    ///
    /// # Errors
    /// [`TemplateError`] in words, when the template does not fit the site.
    pub fn strategy(
        self,
        site: &Site,
        choice: &SiteChoice<'_>,
        start: &TemplateStart<'_>,
    ) -> Result<Strategy, TemplateError> {
        let outline = SiteOutline::new(site)?;
        let mut maker = Maker { next: start.first_id.0, start: *start };
        let passes = match self {
            SiteTemplate::NadirBlockWithOrbits => self.with_orbits(&outline, choice, &mut maker)?,
            SiteTemplate::FacadeWrap => self.facade_wrap(&outline, choice, &mut maker)?,
            SiteTemplate::UndersideSections => vec![self.underside(&outline, choice, &mut maker)?],
            SiteTemplate::Corridor => vec![self.corridor(&outline, choice, &mut maker)?],
            SiteTemplate::ListedStations => maker.listed(site).into_iter().collect(),
        };
        Ok(Strategy {
            id: start.first_id,
            name: self.name().to_owned(),
            aircraft: start.aircraft.id,
            passes,
            order: FlyingOrder::default(),
            reported: None,
            colour: None,
            on_site: OnSite::default(),
            take_offs_m: Vec::new(),
        })
    }

    /// What is gone round: the structure chosen, or all tall ones, those as one that are to be joined.
    fn subjects(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        joined: Joined,
    ) -> Result<Vec<Vec<Id>>, TemplateError> {
        let groups: Vec<Vec<Id>> = match choice.structure {
            Some(_) => self.structure(outline, choice)?.id.map(|id| vec![id]).into_iter().collect(),
            None => grouped(&tall(outline), joined).into_iter().map(|group| group.ids).collect(),
        };
        if groups.is_empty() {
            return Err(TemplateError::NoStructure { template: self.name() });
        }
        Ok(groups)
    }

    fn with_orbits(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Vec<Pass>, TemplateError> {
        let stand_off_m = maker.stand_off_m(maker.kept());
        let joined = Joined::WithinRing { reach_m: stand_off_m + CLEARANCE_M };
        let groups = self.subjects(outline, choice, joined)?;
        let mut passes = vec![maker.nadir()];
        for ids in groups.into_iter().take(MOST_ORBITS) {
            let Some(subject) = outline.group(&ids) else { continue };
            // Heights of rings are above the ground in the middle.
            let ground_z_m = outline.terrain.height_m(centroid_m(&subject.footprint_m));
            let height_m = subject.top_z_m - ground_z_m;
            // Above its neighbours the ring is free of them; at least as high as the structure and half the stand-off.
            let clear_m = outline.highest_z_m - ground_z_m + 11.0;
            let lowest_m =
                limits::RING_HEIGHT_M.nearest((height_m + stand_off_m / 2.0).max(clear_m).min(490.0));
            let middle_z_m = f64::midpoint(subject.base_z_m, subject.top_z_m);
            passes.push(maker.pass(
                Pattern::Orbit(Orbit {
                    around: OrbitCentre::about(&ids),
                    radius: OrbitRadius::StandOff,
                    rings: Rings::Evenly { count: 1, lowest_m, step_m: 10.0 },
                    target_height_m: limits::TARGET_HEIGHT_M.nearest(middle_z_m - ground_z_m),
                }),
                Attitude { tilt_deg: 45.0, aim: Aim::AtSubject { deg: 0.0 } },
                maker.kept(),
                [0.80, 0.60],
            ));
        }
        Ok(passes)
    }

    fn facade_wrap(
        self,
        outline: &SiteOutline,
        choice: &SiteChoice<'_>,
        maker: &mut Maker<'_>,
    ) -> Result<Vec<Pass>, TemplateError> {
        let distance = maker.faced(SurfaceClass::Wall, FARTHEST_FACED_M);
        let stand_off_m = maker.stand_off_m(distance);
        let clearance_m = CLEARANCE_M.min(stand_off_m);
        let groups =
            self.subjects(outline, choice, Joined::WithinRows { reach_m: stand_off_m + clearance_m })?;
        let mut passes = vec![maker.nadir()];
        for ids in groups.into_iter().take(limits::PASSES - 1) {
            let Some((structure, others)) = ids.split_first() else { continue };
            passes.push(maker.pass(
                Pattern::Facade(Facade {
                    structure: *structure,
                    others: others.to_vec(),
                    walls: None,
                    clearance_m,
                    lowest_m: 3.0,
                }),
                Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } },
                distance,
                [0.80, 0.70],
            ));
        }
        Ok(passes)
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
        let tilt_deg = maker.start.aircraft.gimbal.tilt_max_deg.clamp(120.0, 180.0);
        let heights = deck.footprint_m.iter().map(|corner| outline.terrain.height_m(*corner));
        let room_m = deck.soffit_z_m.unwrap_or(deck.top_z_m) - heights.fold(f64::NEG_INFINITY, f64::max);
        let farthest_m = limits::STAND_OFF_M.nearest((room_m - GROUND_CLEARANCE_M).min(FARTHEST_FACED_M));
        Ok(maker.pass(
            Pattern::Underside(Underside {
                structure: id,
                sections: 4,
                soffit_clearance_m: 3.0,
                ground_clearance_m: GROUND_CLEARANCE_M,
            }),
            Attitude { tilt_deg, aim: Aim::FromTrack { deg: 0.0 } },
            maker.faced(SurfaceClass::Underside, farthest_m),
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
            Pattern::Corridor(Corridor {
                line_m: line_m.to_vec(),
                width_m: choice.width_m.unwrap_or(mean_width_m).clamp(1.0, 5000.0),
                counting: CountingRule::default(),
            }),
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
    start: TemplateStart<'a>,
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
        let pattern = Pattern::Strips(Strips {
            direction,
            counting: CountingRule::default(),
            begin: BeginAt::default(),
        });
        self.pass(pattern, look, self.over(), [0.80, 0.70])
    }

    /// Stations to begin with until a list is read.
    fn listed(&mut self, site: &Site) -> Option<Pass> {
        let pattern = PatternKind::Listed.about().begins?(site);
        let look = Attitude { tilt_deg: 45.0, aim: Aim::AtSubject { deg: 0.0 } };
        Some(self.pass(pattern, look, self.kept(), [0.80, 0.60]))
    }

    /// What leads passes above their subject.
    fn over(&self) -> Distance {
        match self.start.distance {
            Distance::StandOff { .. } => Distance::Gsd { cm: 2.0, above: self.start.distance.above() },
            led => led,
        }
    }

    /// What leads orbits.
    fn kept(&self) -> Distance {
        match self.start.distance {
            Distance::Height { above, .. } => Distance::Gsd { cm: 2.0, above },
            led => led,
        }
    }

    /// What leads passes along walls or below decks: the GSD required of them, unless that is reached from farther off
    /// than they are to be flown.
    fn faced(&self, class: SurfaceClass, farthest_m: f64) -> Distance {
        let led = Distance::Gsd { cm: self.start.gsd_cm[class], above: self.start.distance.above() };
        if self.stand_off_m(led) <= farthest_m { led } else { Distance::StandOff { m: farthest_m } }
    }

    fn stand_off_m(&self, distance: Distance) -> f64 {
        match distance {
            Distance::StandOff { m } | Distance::Height { m, .. } => m,
            Distance::Gsd { cm, .. } => cm / 100.0 * self.start.aircraft.camera.model().focal_length_px,
        }
    }
}
