//! Snapping: the pointer goes to a corner, an edge or a right angle that is near enough.
//!
//! Nothing here knows north or an origin: moved and turned with the site, the same place is found.

use glam::DVec2;

/// An outline or a line that is snapped to.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    /// What it is called.
    pub name: String,
    /// Its corners.
    pub corners_m: Vec<DVec2>,
    /// Whether its last corner is joined to its first.
    pub closed: Closed,
}

/// Whether the last corner is joined to the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closed {
    /// A ring.
    Yes,
    /// A line, or a single place.
    No,
}

/// What is near.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SnapTo {
    /// Outlines of everything else.
    pub rails: Vec<Rail>,
    /// Lines on which a right angle, or a straight on, comes about: a place and a unit direction.
    pub square: Vec<Square>,
    /// The neighbours of the corner: on the circle over them its own angle is right.
    pub between: Option<(DVec2, DVec2)>,
    /// Where a corner was before it was taken: there it does not go by itself.
    pub but_m: Option<DVec2>,
}

/// A corner that is dragged goes back to where it was from nearer than this share of the reach only by the pointer itself.
const LEFT: f64 = 0.25;

/// From how near something is meant, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Corners and edges.
    pub drawn_m: f64,
    /// Right angles.
    pub angle_m: f64,
}

impl Reach {
    /// The same for everything.
    pub fn even(reach_m: f64) -> Reach {
        Reach { drawn_m: reach_m, angle_m: reach_m }
    }
}

/// A line on which an angle comes out right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Square {
    /// The corner at which it does.
    pub at_m: DVec2,
    /// Which way the line runs; a unit vector.
    pub along: DVec2,
    /// What comes out.
    pub angle: Angle,
}

/// What angle comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Angle {
    /// A quarter turn.
    Right,
    /// None: straight on.
    Straight,
}

/// Where the pointer is taken to be, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Snap {
    /// The place.
    pub at_m: DVec2,
    /// Why, in words; empty where nothing is near.
    pub why: String,
    /// Lines that say why, from corner to corner.
    pub guides_m: Vec<(DVec2, DVec2)>,
}

impl Snap {
    /// Where the pointer is, and nothing else.
    pub fn free(at_m: DVec2) -> Snap {
        Snap { at_m, why: String::new(), guides_m: Vec::new() }
    }
}

/// A line through what is near: where it is nearest, how far that is, and its name.
struct Near<'a> {
    from_m: DVec2,
    along: DVec2,
    foot_m: DVec2,
    apart_m: f64,
    why: &'a str,
    square: bool,
}

impl SnapTo {
    /// The place that the pointer is taken to mean: a corner within reach, else where two of edges and right angles meet,
    /// else the nearest of them.
    ///
    /// # Units
    /// - `at_m`, `reach_m`: metres
    pub fn find(&self, at_m: DVec2, reach_m: f64) -> Snap {
        self.find_within(at_m, Reach::even(reach_m))
    }

    /// The same where right angles are meant from nearer, or farther, than what is drawn.
    ///
    /// # Units
    /// - `at_m`: metres
    pub fn find_within(&self, at_m: DVec2, reach: Reach) -> Snap {
        let left_m = LEFT * reach.drawn_m;
        let is_new = |place_m: DVec2| self.but_m.is_none_or(|but_m| but_m.distance(place_m) > left_m);
        if let Some((corner_m, name)) =
            self.nearest_corner(at_m, reach.drawn_m).filter(|(corner_m, _)| is_new(*corner_m))
        {
            return Snap { at_m: corner_m, why: name, guides_m: Vec::new() };
        }
        let near = self.near(at_m, reach);
        if let Some(snap) = SnapTo::crossing(&near, at_m, reach.angle_m).filter(|snap| is_new(snap.at_m)) {
            return snap;
        }
        // A right angle goes before an edge that is as near.
        let fresh = near.iter().filter(|line| is_new(line.foot_m));
        let nearest = fresh.min_by(|a, b| a.apart_m.total_cmp(&b.apart_m));
        if let Some(line) = nearest {
            let guides_m = if line.square { vec![(line.from_m, line.foot_m)] } else { Vec::new() };
            let why = if line.square { line.why.to_owned() } else { format!("edge of {}", line.why) };
            return Snap { at_m: line.foot_m, why, guides_m };
        }
        let own = self.own_angle(at_m, reach.angle_m).filter(|snap| is_new(snap.at_m));
        own.unwrap_or_else(|| Snap::free(at_m))
    }

    /// The nearest corner, or single place, and what it is.
    fn nearest_corner(&self, at_m: DVec2, reach_m: f64) -> Option<(DVec2, String)> {
        let corners = self.rails.iter().flat_map(|rail| rail.corners_m.iter().map(move |c| (*c, rail)));
        let near = corners.filter(|(corner_m, _)| corner_m.distance(at_m) <= reach_m);
        let (corner_m, rail) = near.min_by(|a, b| a.0.distance(at_m).total_cmp(&b.0.distance(at_m)))?;
        let single = rail.corners_m.len() == 1;
        Some((corner_m, if single { rail.name.clone() } else { format!("corner of {}", rail.name) }))
    }

    fn near(&self, at_m: DVec2, reach: Reach) -> Vec<Near<'_>> {
        let mut near = Vec::new();
        for square in &self.square {
            let far_m = (at_m - square.at_m).dot(square.along);
            // Straight on leads away from the side; back along it would lie on it.
            if square.angle == Angle::Straight && far_m <= 0.0 {
                continue;
            }
            let foot_m = square.at_m + square.along * far_m;
            let why = match square.angle {
                Angle::Right => "right angle",
                Angle::Straight => "straight on",
            };
            let (from_m, along) = (square.at_m, square.along);
            near.push(Near { from_m, along, foot_m, apart_m: foot_m.distance(at_m), why, square: true });
        }
        for rail in &self.rails {
            for (a, b) in rail.sides() {
                let along = (b - a).normalize_or_zero();
                let foot_m = nearest_on(a, b, at_m);
                let apart_m = foot_m.distance(at_m);
                near.push(Near { from_m: a, along, foot_m, apart_m, why: &rail.name, square: false });
            }
        }
        near.retain(|line| line.apart_m <= if line.square { reach.angle_m } else { reach.drawn_m });
        near
    }

    /// Where a right angle meets another one or an edge, near the pointer.
    fn crossing(near: &[Near<'_>], at_m: DVec2, reach_m: f64) -> Option<Snap> {
        let mut found: Option<(f64, Snap)> = None;
        for (k, line) in near.iter().enumerate().filter(|(_, line)| line.square) {
            for (j, other) in near.iter().enumerate().filter(|(j, _)| *j != k) {
                if other.square && j < k {
                    continue;
                }
                let Some(place_m) = meeting(line, other) else { continue };
                let apart_m = place_m.distance(at_m);
                if apart_m > 1.5 * reach_m || found.as_ref().is_some_and(|(least, _)| *least <= apart_m) {
                    continue;
                }
                let mut guides_m = vec![(line.from_m, place_m)];
                let why = match (other.square, line.why == other.why) {
                    (true, true) => format!("{} twice", line.why),
                    (true, false) => format!("{} and {}", line.why, other.why),
                    (false, _) => format!("{}, edge of {}", line.why, other.why),
                };
                if other.square {
                    guides_m.push((other.from_m, place_m));
                }
                found = Some((apart_m, Snap { at_m: place_m, why, guides_m }));
            }
        }
        found.map(|(_, snap)| snap)
    }

    /// The circle over the neighbours.
    ///
    /// # References
    /// Thales: the angle in a semicircle is right.
    fn own_angle(&self, at_m: DVec2, reach_m: f64) -> Option<Snap> {
        let (a, b) = self.between?;
        let (middle, radius) = (a.midpoint(b), a.distance(b) / 2.0);
        let out = (at_m - middle).try_normalize()?;
        let place_m = middle + out * radius;
        let is_near = place_m.distance(at_m) <= reach_m && radius > reach_m;
        is_near.then(|| Snap {
            at_m: place_m,
            why: "right angle".to_owned(),
            guides_m: vec![(a, place_m), (b, place_m)],
        })
    }
}

impl Rail {
    /// Its sides, the closing one of a ring included.
    pub fn sides(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        sides(&self.corners_m, self.closed)
    }
}

/// The sides of a ring or a line.
pub fn sides(corners_m: &[DVec2], closed: Closed) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    let count = if closed == Closed::Yes { corners_m.len() } else { corners_m.len().saturating_sub(1) };
    (0..count).map(|k| (corners_m[k], corners_m[(k + 1) % corners_m.len()]))
}

/// The place of a side that is nearest to another place.
pub(super) fn nearest_on(a: DVec2, b: DVec2, at_m: DVec2) -> DVec2 {
    let along = b - a;
    let share = (at_m - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
    a + along * share.clamp(0.0, 1.0)
}

/// Where a line of a right angle meets another line; of an edge only between its ends, which its foot holds near enough.
fn meeting(line: &Near<'_>, other: &Near<'_>) -> Option<DVec2> {
    let across = line.along.perp_dot(other.along);
    // Lines within 6° of each other meet too far along to mean anything.
    if across.abs() < 0.1 {
        return None;
    }
    let share = (other.from_m - line.from_m).perp_dot(other.along) / across;
    Some(line.from_m + line.along * share)
}

/// The lines on which the corner at `at` of a ring or line makes right angles with its neighbours' other sides.
pub fn squares_at(corners_m: &[DVec2], closed: Closed, at: usize) -> Vec<Square> {
    let count = corners_m.len();
    let step = |by: isize| {
        let place = at.cast_signed() + by;
        let wrapped = place.rem_euclid(count.cast_signed().max(1)).cast_unsigned();
        let there = closed == Closed::Yes || (0..count.cast_signed()).contains(&place);
        there.then(|| corners_m.get(wrapped).copied()).flatten()
    };
    let both = [(step(-1), step(-2)), (step(1), step(2))];
    let mut squares = Vec::new();
    for (near, beyond) in both {
        let (Some(near), Some(beyond)) = (near, beyond) else { continue };
        squares.extend(squares_after(beyond, near));
    }
    squares
}

/// The lines on which the next corner lies square to, or straight on from, the side that ends at `to`.
pub fn squares_after(from: DVec2, to: DVec2) -> Vec<Square> {
    let Some(along) = (to - from).try_normalize() else { return Vec::new() };
    vec![
        Square { at_m: to, along: along.perp(), angle: Angle::Right },
        Square { at_m: to, along, angle: Angle::Straight },
    ]
}
