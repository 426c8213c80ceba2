//! What a pilot at a take-off point can see: what stands and rises between eye and aircraft.

use crate::base::number::whole;
use crate::geometry::{TerrainGrid, polygon};
use crate::ground::surface::heights::{Heights, Side, heights_of};
use crate::ground::{Obstacle, SiteOutline};
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Height of the pilot's eye above the ground. Common practice, no source.
pub(crate) const EYE_M: f64 = 1.7;

/// An aircraft nearer than this is in sight, on the ground at the pilot's feet as well.
const NEAR_M: f64 = 5.0;

/// Directions that the rise of the ground is kept for.
const SECTORS: usize = 256;

/// What hides the aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hider {
    /// Index into the outline's structures.
    Structure(usize),
    Ground,
}

/// The view from a take-off point; a function of the site and that point.
#[derive(Debug)]
pub(crate) struct Lookout {
    pub(crate) eye_m: DVec3,
    screens: Vec<Screen>,
    /// The screens that reach into each sector, in the site's order.
    in_sector: Vec<Vec<u32>>,
    ground: Option<UnevenGround>,
    /// Nothing hides what is seen more steeply in a sector, as rise per metre.
    steepest: [f64; SECTORS],
}

/// A solid as it is seen from the eye.
#[derive(Debug)]
struct Screen {
    solid: Obstacle,
    /// Directions to its right and left edges.
    right: DVec2,
    left: DVec2,
    nearest_m: f64,
    /// Greatest rise per metre at which it hides anything.
    rise: f64,
    /// Of each side the unit vector outward, and how far outside of it the eye is.
    outward: Vec<(DVec2, f64)>,
}

/// Uneven ground as it is seen from the eye.
#[derive(Debug)]
struct UnevenGround {
    heights: Arc<Heights>,
    /// Greatest rise per metre at which ground in a direction hides anything.
    rises: [f64; SECTORS],
}

impl Lookout {
    /// `feet_m` is where the pilot stands, on the ground.
    pub(crate) fn new(site: &SiteOutline, feet_m: DVec3) -> Lookout {
        let eye_m = feet_m.with_z(feet_m.z + EYE_M);
        let screens: Vec<Screen> =
            site.obstacles.iter().filter_map(|solid| Screen::new(solid, eye_m)).collect();
        let ground = match &site.terrain {
            Terrain::Plane { .. } => None,
            Terrain::Grid(grid) => {
                heights_of(&site.terrain).map(|heights| UnevenGround { heights, rises: rises(grid, eye_m) })
            }
        };
        let mut steepest = ground.as_ref().map_or([f64::NEG_INFINITY; SECTORS], |ground| ground.rises);
        let mut in_sector = vec![Vec::new(); SECTORS];
        for (index, screen) in (0..).zip(&screens) {
            for sector in screen.sectors() {
                in_sector[sector].push(index);
                steepest[sector] = steepest[sector].max(screen.rise);
            }
        }
        Lookout { eye_m, screens, in_sector, ground, steepest }
    }

    /// What lies between the eye and a place; of several solids the first in the site's order.
    ///
    /// # Accuracy
    /// Solids and the grid's triangles are met exactly; ground beyond the grid hides nothing.
    pub(crate) fn hider(&self, at_m: DVec3) -> Option<Hider> {
        let way = (at_m - self.eye_m).truncate();
        let (level_m, up_m) = (way.length(), at_m.z - self.eye_m.z);
        let sector = sector(way);
        if up_m > self.steepest[sector] * level_m || at_m.distance_squared(self.eye_m) < NEAR_M * NEAR_M {
            return None;
        }
        let mut screens = self.in_sector[sector].iter().map(|index| &self.screens[*index as usize]);
        if let Some(screen) = screens.find(|s| s.hides(self.eye_m, at_m, (way, level_m))) {
            return Some(Hider::Structure(screen.solid.structure));
        }
        let ground = self.ground.as_ref()?;
        (up_m <= ground.rises[sector] * level_m && ground.hides(self.eye_m, at_m)).then_some(Hider::Ground)
    }

    pub(crate) fn bytes(&self) -> usize {
        let rings: usize = self.screens.iter().map(|s| s.solid.ring_m.len() * size_of::<DVec2>()).sum();
        size_of::<Lookout>()
            + self.screens.iter().map(|s| size_of::<Screen>() + size_of_val(&s.outward[..])).sum::<usize>()
            + self.in_sector.iter().map(|screens| screens.len() * size_of::<u32>()).sum::<usize>()
            + rings
            + self.ground.as_ref().map_or(0, |ground| ground.heights.bytes())
    }
}

impl Screen {
    /// Nothing for a solid that the pilot stands in or below.
    fn new(solid: &Obstacle, eye_m: DVec3) -> Option<Screen> {
        let eye = eye_m.truncate();
        if polygon::contains(&solid.ring_m, eye) {
            return None;
        }
        let first = *solid.ring_m.first()? - eye;
        let (mut right, mut left, mut farthest_m) = (first, first, 0.0_f64);
        for corner in &solid.ring_m {
            let towards = *corner - eye;
            right = if right.perp_dot(towards) < 0.0 { towards } else { right };
            left = if left.perp_dot(towards) > 0.0 { towards } else { left };
            farthest_m = farthest_m.max(towards.length());
        }
        let nearest_m = crate::geometry::polygon::distance_m(&solid.ring_m, eye);
        let up_m = solid.top_z_m - eye_m.z;
        let rise = up_m / if up_m > 0.0 { nearest_m.max(f64::MIN_POSITIVE) } else { farthest_m };
        let outward = polygon::sides(&solid.ring_m).map(|(a, b)| {
            let outward = -(b - a).perp().normalize_or_zero();
            (outward, (eye - a).dot(outward))
        });
        Some(Screen { right, left, nearest_m, rise, outward: outward.collect(), solid: solid.clone() })
    }

    /// The share of a way from the eye, from and to, that lies over the solid: as [`within`] finds it.
    fn shares(&self, way: DVec2, level_m: f64) -> Option<(f64, f64)> {
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        for &(outward, out_m) in &self.outward {
            let rate = way.dot(outward);
            if rate < 0.0 {
                low = low.max(out_m / -rate);
            } else if rate > 0.0 {
                high = high.min(-out_m / rate);
            } else if out_m >= 0.0 {
                return None;
            }
        }
        (high - low > 1e-9 / level_m.max(1e-3)).then_some((low, high))
    }

    /// The sectors that it reaches into, those on its edges and one more on either side for rounding; all of them where the
    /// pilot stands at a corner of it.
    fn sectors(&self) -> impl Iterator<Item = usize> {
        let (first, last) = (sector(self.right) + SECTORS - 1, sector(self.left) + 1);
        let at_corner = self.right == DVec2::ZERO || self.left == DVec2::ZERO;
        let further = if at_corner { SECTORS - 1 } else { (last + SECTORS - first % SECTORS) % SECTORS };
        (first..=first + further).map(|turned| turned % SECTORS)
    }

    fn hides(&self, eye_m: DVec3, at_m: DVec3, (way, level_m): (DVec2, f64)) -> bool {
        if at_m.z - eye_m.z > self.rise * level_m
            || level_m <= self.nearest_m
            || self.right.perp_dot(way) < 0.0
            || way.perp_dot(self.left) < 0.0
        {
            return false;
        }
        self.shares(way, level_m).is_some_and(|(low, high)| {
            let (z, w) = (eye_m.lerp(at_m, low).z, eye_m.lerp(at_m, high).z);
            z.max(w) > self.solid.bottom_z_m && z.min(w) < self.solid.top_z_m
        })
    }
}

impl UnevenGround {
    fn hides(&self, eye_m: DVec3, at_m: DVec3) -> bool {
        self.heights.meets(self.heights.scaled(eye_m), self.heights.scaled(at_m), Side::Above)
    }
}

/// The sector of a direction, anticlockwise from east: along the sides of the square whose corners lie on the axes, each of
/// which has as many as another.
fn sector(way: DVec2) -> usize {
    let round_m = way.x.abs() + way.y.abs();
    if round_m == 0.0 {
        return 0;
    }
    let ahead = way.y / round_m;
    let quarters = if way.x < 0.0 {
        2.0 - ahead
    } else if way.y < 0.0 {
        4.0 + ahead
    } else {
        ahead
    };
    whole(quarters * QUARTER).min(SECTORS - 1)
}

/// The direction at which a sector begins.
fn sector_start(sector: usize) -> DVec2 {
    let along = (sector % SECTORS) as f64 / QUARTER;
    let (quarter, part) = (along.floor(), along.fract());
    let first = DVec2::new(1.0 - part, part).normalize();
    [first, first.perp(), -first, -first.perp()][whole(quarter) % 4]
}

/// Sectors in a quarter of the way round.
const QUARTER: f64 = (SECTORS / 4) as f64;

/// For each sector the greatest rise per metre from the eye at which the grid's ground can be met.
///
/// A cell is bounded by its highest node, put at the cell's nearest point; round the eye, where that says little, by its two
/// triangles.
fn rises(grid: &TerrainGrid, eye_m: DVec3) -> [f64; SECTORS] {
    let starts: [DVec2; SECTORS] = std::array::from_fn(sector_start);
    let (columns, rows) = grid.size();
    let (corner, spacing) = (grid.south_west_m(), grid.spacing_m());
    let radius_m = spacing.length() / 2.0;
    let mut rises = [f64::NEG_INFINITY; SECTORS];
    for row in 0..rows - 1 {
        for column in 0..columns - 1 {
            let middle = corner + spacing * DVec2::new(column as f64 + 0.5, row as f64 + 0.5);
            let away = middle - eye_m.truncate();
            let away_m = away.length();
            let nodes = [(0, 0), (1, 0), (0, 1), (1, 1)].map(|(c, r)| grid.node_m(column + c, row + r));
            if away_m <= NEAR_RADII * radius_m {
                for slope in slopes(nodes, spacing) {
                    let above_m = eye_m.z - (f64::midpoint(nodes[0], nodes[3]) - slope.dot(away));
                    let range_m = ((away_m - radius_m).max(0.0), away_m + radius_m);
                    for k in touched(away, radius_m) {
                        rises[k] = rises[k].max(rise_of(
                            slope,
                            above_m,
                            range_m,
                            [starts[k], starts[(k + 1) % SECTORS]],
                        ));
                    }
                }
                continue;
            }
            let top_m = nodes.iter().copied().fold(f64::NEG_INFINITY, f64::max) - eye_m.z;
            let rise = top_m / if top_m > 0.0 { away_m - radius_m } else { away_m + radius_m };
            for k in touched(away, radius_m) {
                rises[k] = rises[k].max(rise);
            }
        }
    }
    rises
}

/// Cells nearer to the eye than so many times their radius are bounded by their triangles.
const NEAR_RADII: f64 = 32.0;

/// The sectors that a circle reaches into, seen from the eye, one more on either side for rounding.
fn touched(away: DVec2, radius_m: f64) -> impl Iterator<Item = usize> {
    let away_m = away.length();
    let all_round = away_m <= radius_m;
    // the tangents' feet lie off the line to the middle by the sine and the cosine
    let sine = radius_m / away_m.max(f64::MIN_POSITIVE);
    let (along, aside) = (away * (1.0 - sine * sine).max(0.0).sqrt(), away.perp() * sine);
    let (first, last) = (sector(along - aside) + SECTORS - 1, sector(along + aside) + 1);
    let further = if all_round { SECTORS - 1 } else { (last + SECTORS - first % SECTORS) % SECTORS };
    (first..=first + further).map(|turned| turned % SECTORS)
}

/// Greatest rise per metre between two directions at which a plane can be met that lies so much below the eye, from one distance to
/// another: along the unit direction u the plane's height from the eye at the distance d is slope · u d − above, so that
/// the rise is slope · u − above ÷ d.
fn rise_of(slope: DVec2, above_m: f64, (from_m, to_m): (f64, f64), [first, last]: [DVec2; 2]) -> f64 {
    let steepest_inside = first.perp_dot(slope) >= 0.0 && slope.perp_dot(last) >= 0.0;
    let along = if steepest_inside { slope.length() } else { slope.dot(first).max(slope.dot(last)) };
    along - above_m / if above_m > 0.0 { to_m } else { from_m.max(f64::MIN_POSITIVE) } + SLACK
}

/// Room for rounding, as a slope.
const SLACK: f64 = 1e-9;

/// Slopes of a cell's two triangles, by its nodes from south-west to north-east.
fn slopes([sw, se, nw, ne]: [f64; 4], spacing: DVec2) -> [DVec2; 2] {
    [DVec2::new(se - sw, ne - se) / spacing, DVec2::new(ne - nw, nw - sw) / spacing]
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use crate::base::Id;
    use crate::route::lookout::*;
    use crate::scenario::{Site, Structure, StructureKind};
    use proptest::prelude::*;

    /// A rugged site with a block and a deck on it.
    fn rugged(take_off_m: DVec2) -> SiteOutline {
        let (columns, rows) = (33, 29);
        let node = |k: usize| {
            let (x, y) = ((k % columns) as f64, (k / columns) as f64);
            9.0 * (x * 0.5).sin() * (y * 0.4).cos() + 6.0 * (x * 0.17 + y * 0.11).sin()
        };
        let heights: Vec<f64> = (0..columns * rows).map(node).collect();
        let grid = TerrainGrid::from_heights_m(DVec2::ZERO, DVec2::new(5.0, 6.0), (columns, rows), &heights)
            .unwrap();
        let square = |x: f64, y: f64, half: f64| {
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                .map(|c| DVec2::new(x, y) + DVec2::from(c) * half)
        };
        let structure = |id, ring: [DVec2; 4], kind| Structure {
            id: Id(id),
            name: format!("S{id}"),
            footprint_m: ring.to_vec(),
            kind,
        };
        let deck = StructureKind::Deck { soffit_m: 8.0, top_m: 10.0, piers: Vec::new() };
        SiteOutline::new(&Site {
            name: "Rugged".to_owned(),
            origin: None,
            boundary_m: square(80.0, 84.0, 75.0).to_vec(),
            take_off_m,
            terrain: Terrain::Grid(Arc::new(grid)),
            structures: vec![
                structure(1, square(60.0, 60.0, 9.0), StructureKind::Extrusion { height_m: 14.0 }),
                structure(2, square(110.0, 100.0, 12.0), deck),
            ],
            typical_building: None,
            keep_outs: Vec::new(),
            control_points: Vec::new(),
            sample_spacing_m: None,
        })
        .unwrap()
    }

    /// How far a line stays clear of ground and solids: below 0 where it does not, at places along it.
    fn least_room_m(site: &SiteOutline, a: DVec3, b: DVec3) -> f64 {
        let room_m = |p: DVec3| {
            let over_ground = p.z - site.terrain.height_m(p.truncate());
            let solids = site.obstacles.iter().map(|solid| {
                let beside = crate::geometry::polygon::distance_m(&solid.ring_m, p.truncate());
                if beside > 0.0 { beside } else { (p.z - solid.top_z_m).max(solid.bottom_z_m - p.z) }
            });
            solids.fold(over_ground, f64::min)
        };
        (1..4000).map(|k| room_m(a.lerp(b, f64::from(k) / 4000.0))).fold(f64::INFINITY, f64::min)
    }

    proptest! {
        /// Derived: with the eye fixed, the share of a way over a solid is the one found from its ring, to the last bit.
        #[test]
        fn shares_over_a_solid_are_those_of_its_ring(
            from in (2.0..158.0_f64, 2.0..166.0_f64), to in (-50.0..200.0_f64, -50.0..200.0_f64),
        ) {
            let site = rugged(DVec2::from(from));
            let (eye, to) = (site.take_off_m.extend(3.0), DVec2::from(to));
            let way = to - eye.truncate();
            for screen in site.obstacles.iter().filter_map(|solid| Screen::new(solid, eye)) {
                let ring = crate::route::within(&screen.solid.ring_m, eye.truncate(), to);
                prop_assert_eq!(screen.shares(way, way.length()), ring);
            }
        }
    }

    proptest! {
        /// Derived: the early outs hide nothing and show nothing: as 4000 places along the line have it. Lines that pass
        /// nearer than 0.1 m are left out, since places 5 cm apart may miss what they graze.
        #[test]
        fn what_is_hidden_is_what_a_walk_along_the_line_meets(
            from in (2.0..158.0_f64, 2.0..166.0_f64), to in (2.0..158.0_f64, 2.0..166.0_f64), above_m in 1.0..40.0_f64,
        ) {
            let site = rugged(DVec2::from(from));
            let lookout = Lookout::new(&site, site.take_off_m.extend(site.take_off_z_m));
            let inside = |p: DVec2| site.obstacles.iter().any(|solid| polygon::contains(&solid.ring_m, p));
            let to = DVec2::from(to);
            prop_assume!(!inside(site.take_off_m) && !inside(to));
            let at_m = to.extend(site.terrain.height_m(to) + above_m);
            let room_m = least_room_m(&site, lookout.eye_m, at_m);
            prop_assume!(room_m.abs() > 0.1 && at_m.distance(lookout.eye_m) > NEAR_M);
            prop_assert_eq!(lookout.hider(at_m).is_some(), room_m < 0.0, "{}", room_m);
        }
    }
}
