use super::{LightFigures, NoLight, SunPosition};
use crate::base::Id;
use crate::geometry::polygon::sides;
use crate::ground::{Obstacle, OutlineStructure, SiteOutline};
use glam::{DVec2, DVec3};
use std::f64::consts::{PI, TAU};

/// Shade is looked at this often, or twelve times, whichever is more often.
const STEP_S: f64 = 300.0;
const FEWEST_STEPS: usize = 12;
const MOST_STEPS: usize = 288;

/// Kept from the wall, so that the wall does not shade itself by rounding.
const OFF_THE_WALL_M: f64 = 0.01;

/// Shade cast by others is left out beyond so many rays against solids: about a second.
const MOST_RAYS: usize = 20_000_000;

/// Length of the shadow of something upright on level ground: height / tan(elevation); nothing with the sun down.
///
/// # Units
/// - `height_m`: metres; `elevation_rad`: radians, of the sun above the horizon
/// - returns: metres
///
/// # References
/// Derived: a right triangle.
///
/// # Examples
/// ```
/// use obliquity_planning::light::shadow_length_m;
/// let length_m = |deg: f64| shadow_length_m(10.0, deg.to_radians());
/// assert!((length_m(45.0).expect("sun up") - 10.0).abs() < 1e-9);
/// assert!((length_m(30.0).expect("sun up") - 17.320508).abs() < 1e-6);
/// assert_eq!(length_m(-1.0), None);
/// ```
pub fn shadow_length_m(height_m: f64, elevation_rad: f64) -> Option<f64> {
    (elevation_rad > 0.0).then(|| height_m / elevation_rad.tan())
}

/// A structure's shadow on level ground at its foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shadow {
    /// From the foot of its highest edge.
    pub length_m: f64,
    /// Azimuth in which it falls: away from the sun.
    pub towards_rad: f64,
}

impl Shadow {
    /// The shadow of something of a height; nothing with the sun down.
    ///
    /// # Units
    /// - `height_m`: metres
    ///
    /// # References
    /// As [`shadow_length_m`].
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::light::{Shadow, SunPosition};
    /// use std::f64::consts::{FRAC_PI_4, PI};
    /// // a sun in the south casts shadows to the north
    /// let sun = SunPosition { elevation_rad: FRAC_PI_4, azimuth_rad: PI };
    /// assert_eq!(Shadow::of(12.0, &sun).expect("sun up").towards_rad, 0.0);
    /// ```
    pub fn of(height_m: f64, sun: &SunPosition) -> Option<Shadow> {
        let length_m = shadow_length_m(height_m, sun.elevation_rad)?;
        Some(Shadow { length_m, towards_rad: (sun.azimuth_rad + PI).rem_euclid(TAU) })
    }
}

/// Why a wall lies in shade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShadeCause {
    /// The sun is below the horizon.
    SunDown,
    /// The wall faces away from the sun.
    FacesAway,
    /// Something stands between the sun and the wall's middle.
    Cast,
}

/// A stretch of shade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shade {
    /// Its beginning.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// Why.
    pub cause: ShadeCause,
}

/// When a wall lies in shade, first take-off to last landing.
#[derive(Debug, Clone, PartialEq)]
pub struct WallShade {
    /// Number of the wall: the side of the counter-clockwise footprint, from 0.
    pub wall: usize,
    /// Azimuth of its outward normal.
    pub facing_rad: f64,
    /// In order.
    pub shade: Vec<Shade>,
    /// Share of the flying.
    pub shaded_ratio: f64,
}

/// The shadows of a structure and the shade on its walls, first take-off to last landing.
#[derive(Debug, Clone, PartialEq)]
pub struct StructureShade {
    /// The structure; nothing for an assumed one.
    pub structure: Option<Id>,
    /// Its name.
    pub name: String,
    /// From its lowest ground to its top.
    pub height_m: f64,
    /// Its shadow at the first take-off.
    pub at_take_off: Option<Shadow>,
    /// Half-way.
    pub at_middle: Option<Shadow>,
    /// At the last landing.
    pub at_landing: Option<Shadow>,
    /// The longest at any moment that was looked at with the sun up.
    pub longest: Option<Shadow>,
    /// Its walls; the sides of piers are left out.
    pub walls: Vec<WallShade>,
    /// Whether others' shade was looked for: left out on sites with very many structures.
    pub cast: CastShade,
}

/// Whether shade cast by structures was looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CastShade {
    /// At the middle of each wall.
    Included,
    /// It would have taken too long.
    LeftOut,
}

/// Shadows and shade of every structure of a site while a strategy is flown.
///
/// Walls are judged every five minutes or oftener, each moment standing for the time around it, so that a change is
/// told within half of that. The ground casts no shade here, and shadows are those on level ground.
///
/// # Errors
/// [`NoLight::NoSun`] far out of the calendar.
pub fn structure_shades(site: &SiteOutline, light: &LightFigures) -> Result<Vec<StructureShade>, NoLight> {
    let moments = Moments::of(light)?;
    let walls: usize = site.structures.iter().map(|structure| structure.footprint_m.len()).sum();
    let rays = walls.saturating_mul(site.obstacles.len()).saturating_mul(moments.suns.len());
    let (cast, obstacles) = if rays <= MOST_RAYS {
        (CastShade::Included, site.obstacles.as_slice())
    } else {
        (CastShade::LeftOut, [].as_slice())
    };
    Ok(site.structures.iter().map(|s| structure_shade(s, light, &moments, obstacles, cast)).collect())
}

fn structure_shade(
    structure: &OutlineStructure,
    light: &LightFigures,
    moments: &Moments,
    obstacles: &[Obstacle],
    cast: CastShade,
) -> StructureShade {
    let height_m = structure.top_z_m - structure.base_z_m;
    let shadow = |sun: &SunPosition| Shadow::of(height_m, sun);
    let ends = [light.at_take_off, light.at_landing];
    let longest = moments.suns.iter().chain(&ends).filter_map(shadow);
    let middle_z_m = f64::midpoint(structure.soffit_z_m.unwrap_or(structure.base_z_m), structure.top_z_m);
    let walls = sides(&structure.footprint_m).enumerate();
    StructureShade {
        structure: structure.id,
        name: structure.name.clone(),
        height_m,
        at_take_off: shadow(&light.at_take_off),
        at_middle: shadow(&light.at_middle),
        at_landing: shadow(&light.at_landing),
        longest: longest.max_by(|a, b| a.length_m.total_cmp(&b.length_m)),
        walls: walls.map(|(wall, side)| wall_shade(wall, side, middle_z_m, moments, obstacles)).collect(),
        cast,
    }
}

fn wall_shade(
    wall: usize,
    (a, b): (DVec2, DVec2),
    middle_z_m: f64,
    moments: &Moments,
    obstacles: &[Obstacle],
) -> WallShade {
    let along = (b - a).normalize_or_zero();
    let outward = DVec2::new(along.y, -along.x);
    let middle_m = ((a + b) / 2.0 + outward * OFF_THE_WALL_M).extend(middle_z_m);
    let cause = |sun: &SunPosition| {
        let direction = sun.direction();
        if direction.z <= 0.0 {
            Some(ShadeCause::SunDown)
        } else if direction.truncate().dot(outward) <= 0.0 {
            Some(ShadeCause::FacesAway)
        } else {
            obstacles.iter().any(|o| o.hides(middle_m, direction)).then_some(ShadeCause::Cast)
        }
    };
    let shade = moments.spans(cause);
    let shaded_s: f64 = shade.iter().map(|span| span.to_s - span.from_s).sum();
    let facing_rad = outward.x.atan2(outward.y).rem_euclid(TAU);
    WallShade { wall, facing_rad, shaded_ratio: shaded_s / moments.length_s(), shade }
}

impl Obstacle {
    /// Whether it stands between a place and a far light.
    fn hides(&self, from_m: DVec3, direction: DVec3) -> bool {
        let (at, step) = (from_m.truncate(), direction.truncate());
        let (mut enters, mut leaves) = (0.0_f64, f64::INFINITY);
        for (a, b) in sides(&self.ring_m) {
            let outward = DVec2::new(b.y - a.y, a.x - b.x);
            let (beyond, rate) = ((at - a).dot(outward), step.dot(outward));
            if rate > 0.0 {
                leaves = leaves.min(-beyond / rate);
            } else if rate < 0.0 {
                enters = enters.max(-beyond / rate);
            } else if beyond > 0.0 {
                return false;
            }
        }
        // a light straight above leaves the level bounds open
        let height =
            |share: f64| if share.is_finite() { from_m.z + direction.z * share } else { f64::INFINITY };
        enters < leaves && height(enters) < self.top_z_m && height(leaves) > self.bottom_z_m
    }
}

/// The moments at which shade is looked at: the middles of equal parts of the flying.
struct Moments {
    from_s: f64,
    part_s: f64,
    suns: Vec<SunPosition>,
}

impl Moments {
    fn of(light: &LightFigures) -> Result<Moments, NoLight> {
        let length_s = (light.landing_s - light.take_off_s).max(1.0);
        let count = ((length_s / STEP_S).ceil() as usize).clamp(FEWEST_STEPS, MOST_STEPS);
        let part_s = length_s / count as f64;
        let middles = (0..count).map(|part| light.take_off_s + part_s * (part as f64 + 0.5));
        let suns = middles.map(|utc_s| light.day.sun(utc_s)).collect::<Result<_, _>>()?;
        Ok(Moments { from_s: light.take_off_s, part_s, suns })
    }

    fn length_s(&self) -> f64 {
        self.part_s * self.suns.len() as f64
    }

    /// Neighbouring moments with the same cause, as one.
    fn spans(&self, cause: impl Fn(&SunPosition) -> Option<ShadeCause>) -> Vec<Shade> {
        let mut found: Vec<Shade> = Vec::new();
        for (part, sun) in self.suns.iter().enumerate() {
            let Some(cause) = cause(sun) else { continue };
            let from_s = self.from_s + self.part_s * part as f64;
            let to_s = self.from_s + self.part_s * (part + 1) as f64;
            match found.last_mut() {
                Some(last) if last.cause == cause && (last.to_s - from_s).abs() < self.part_s / 2.0 => {
                    last.to_s = to_s;
                }
                _ => found.push(Shade { from_s, to_s, cause }),
            }
        }
        found
    }
}
