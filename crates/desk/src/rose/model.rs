//! What a rose shows: plain values, no screen.

use crate::figures::{Freshness, Known};
use crate::show;
use obliquity_planning::{RING_COUNT, SECTOR_COUNT, SurfaceClass};

/// Rings above the horizon, from straight up to level; as many lie below.
pub const RINGS: usize = RING_COUNT / 2;

/// Where the rings end, from the vertical.
pub(super) const ENDS_DEG: [u16; RINGS + 1] = [0, 15, 30, 45, 60, 90];

/// So many sectors of a ring are one piece: near the vertical a sector is a sliver, and its azimuth says little.
const MERGED: [usize; RINGS] = [SECTOR_COUNT, 2, 1, 1, 1];

/// Pieces of 10° × 10° in a steradian.
const PATCHES_PER_SR: f64 = (18.0 / std::f64::consts::PI) * (18.0 / std::f64::consts::PI);

/// A piece of the directions, with the views that come from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// From the vertical outwards.
    pub ring: usize,
    /// Where it begins and ends, clockwise from the top, in degrees.
    pub azimuth_deg: [f32; 2],
    /// Views of a point that come from it, on average.
    pub views: f64,
    /// Its solid angle, in steradians.
    pub solid_angle_sr: f64,
}

impl Piece {
    /// Views from each 10° × 10° of it, on average.
    pub fn density(&self) -> f64 {
        self.views / (self.solid_angle_sr * PATCHES_PER_SR)
    }
}

/// How far out from the middle an angle from the vertical is, as a share of the disc's radius: equal areas of the disc are
/// equal solid angles, since the cap of angle t takes 1 − cos t = 2 sin²(t/2) of the half-space.
pub(super) fn out(deg: f64) -> f64 {
    (deg.to_radians() / 2.0).sin() * std::f64::consts::SQRT_2
}

/// What the fullest colour of several roses stands for: a round number that no piece is denser than.
pub fn full_of<'a>(roses: impl Iterator<Item = &'a Rose>) -> f64 {
    let densities = roses.flat_map(Rose::pieces).map(|piece| piece.density());
    rounded_up(densities.fold(0.0, f64::max))
}

/// The roses of one strategy, one for each surface class that the site has.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Roses {
    /// In the order of reports.
    pub classes: Vec<Rose>,
    /// Whether they belong to the scenario as it stands.
    pub freshness: Option<Freshness>,
    /// Why there is nothing to draw.
    pub empty: Option<String>,
}

/// One class's rose.
#[derive(Debug, Clone, PartialEq)]
pub struct Rose {
    /// The class.
    pub class: SurfaceClass,
    /// Mean number of views by ring (the first one around the vertical) and sector (the first one from north, on walls
    /// from the outward normal, clockwise).
    pub cells: [[f64; SECTOR_COUNT]; RINGS],
    /// Whether the views come from below.
    pub from_below: bool,
    /// What the fullest colour stands for.
    pub full: f64,
    /// The whole in a sentence.
    pub summary: String,
}

impl Roses {
    /// The roses of what is known of a strategy.
    pub fn new(known: Option<Known<'_>>) -> Self {
        let freshness = known.map(|known| known.freshness);
        let empty = |text: &str| Roses { empty: Some(text.to_owned()), freshness, ..Roses::default() };
        let Some(known) = known else { return empty("There is no strategy in focus.") };
        if let Some(why) = known.quick.err().or(known.failure) {
            return empty(&format!("It could not be worked out: {why}"));
        }
        let Some(views) = known.views.and_then(|outcome| outcome.views.as_ref()) else {
            return empty(
                "The views of every surface are being counted. Then this shows from which directions \
                 ground, roofs and walls are seen, and how often.",
            );
        };
        let classes = views.classes.iter().filter_map(|(class, figures)| {
            figures.as_ref().map(|figures| Rose::new(class, &figures.rose.mean_views))
        });
        Roses { classes: classes.collect(), freshness, empty: None }
    }

    /// The rose of a class, or the first one where the site has no such class.
    pub fn of(&self, class: SurfaceClass) -> Option<&Rose> {
        self.classes.iter().find(|rose| rose.class == class).or(self.classes.first())
    }
}

impl Rose {
    /// A rose from the mean views by all rings, straight up first. What is seen from below is drawn from below.
    pub fn new(class: SurfaceClass, mean_views: &[[f64; SECTOR_COUNT]; RING_COUNT]) -> Self {
        let sum = |rings: &[[f64; SECTOR_COUNT]]| rings.iter().flatten().sum::<f64>();
        let (above, below) = (sum(&mean_views[..RINGS]), sum(&mean_views[RINGS..]));
        let from_below = below > above;
        let ring = |k: usize| if from_below { mean_views[RING_COUNT - 1 - k] } else { mean_views[k] };
        let cells: [[f64; SECTOR_COUNT]; RINGS] = std::array::from_fn(ring);
        let other = above.min(below);
        let rest = match other {
            other if other < 0.05 => String::new(),
            _ if from_below => format!(", {} from above", show::short(other)),
            _ => format!(", {} from below", show::short(other)),
        };
        let side = if from_below || !rest.is_empty() {
            [" from above", " from below"][usize::from(from_below)]
        } else {
            ""
        };
        let mean = show::short(above.max(below));
        let summary = format!("{mean} views per point{side}{rest}");
        let rose = Rose { class, cells, from_below, full: 1.0, summary };
        Rose { full: full_of(std::iter::once(&rose)), ..rose }
    }

    /// The pieces of the directions that are drawn, from the vertical outwards.
    pub fn pieces(&self) -> Vec<Piece> {
        (0..RINGS).flat_map(|ring| self.ring(ring)).collect()
    }

    /// The pieces of a ring. Pieces of several sectors are centred on the top, so that walls are cut alike on both sides.
    fn ring(&self, ring: usize) -> Vec<Piece> {
        let merged = MERGED[ring];
        let cap = |k: usize| f64::from(ENDS_DEG[k]).to_radians().cos();
        let sector_sr = std::f64::consts::TAU / SECTOR_COUNT as f64 * (cap(ring) - cap(ring + 1));
        let first = if merged == 1 { 0 } else { SECTOR_COUNT - 1 };
        let begins = (0..SECTOR_COUNT / merged).map(|k| first + k * merged);
        let is_seen = |sector: &usize| !self.is_half() || !(3..9).contains(sector);
        let piece = |begin: usize| {
            let all = (begin..begin + merged).map(|sector| sector % SECTOR_COUNT);
            let sectors: Vec<usize> = all.filter(is_seen).collect();
            let azimuth_deg = match (sectors.len(), self.is_half()) {
                (0, _) => return None,
                (SECTOR_COUNT, _) => [0.0, 360.0],
                (6, true) => [-90.0, 90.0],
                (count, _) => {
                    let from = sector_deg(begin % SECTOR_COUNT);
                    [from, from + 30.0 * count as f32]
                }
            };
            let views = sectors.iter().map(|&sector| self.cells[ring][sector]).sum();
            Some(Piece { ring, azimuth_deg, views, solid_angle_sr: sector_sr * sectors.len() as f64 })
        };
        begins.filter_map(piece).collect()
    }

    /// Walls are seen from the half-space in front of them only.
    pub fn is_half(&self) -> bool {
        self.class == SurfaceClass::Wall
    }

    /// What there is to know of a piece.
    pub fn piece_text(&self, piece: &Piece) -> String {
        let few = |number: f64| {
            if number > 0.0 && number < 0.05 { "fewer than 0.1".to_owned() } else { show::short(number) }
        };
        let vertical = if self.from_below { "straight down" } else { "straight up" };
        let [from, to] = piece.azimuth_deg;
        let azimuth = if to - from > 170.0 {
            if self.is_half() { "on either side".to_owned() } else { "all round".to_owned() }
        } else if self.is_half() {
            // A piece on both sides of the normal is square on.
            match (from.rem_euclid(360.0), to.rem_euclid(360.0)) {
                (from, to) if from > to && to > 0.0 => format!("up to {to:.0}° from square on"),
                (from, to) if from >= 180.0 => {
                    let to = if to == 0.0 { 360.0 } else { to };
                    format!("{:.0}–{:.0}° to the left of square on", 360.0 - to, 360.0 - from)
                }
                (from, to) => format!("{from:.0}–{to:.0}° to the right of square on"),
            }
        } else {
            format!("{:.0}–{:.0}° clockwise from north", from.rem_euclid(360.0), to.rem_euclid(360.0))
        };
        format!(
            "{} views on average\nfrom {azimuth},\n{}–{}° from {vertical}\n({} from each 10° × 10°)",
            few(piece.views),
            ENDS_DEG[piece.ring],
            ENDS_DEG[piece.ring + 1],
            few(piece.density())
        )
    }

    /// The piece in a direction from the middle: `far` from 0 to 1, `azimuth_deg` clockwise from the top.
    pub(super) fn piece_at(&self, far: f64, azimuth_deg: f32) -> Option<Piece> {
        let ring = (0..RINGS).find(|&ring| far < out(f64::from(ENDS_DEG[ring + 1])))?;
        let holds = |piece: &Piece| {
            let [from, to] = piece.azimuth_deg;
            (azimuth_deg - from).rem_euclid(360.0) < to - from
        };
        self.ring(ring).into_iter().find(holds)
    }
}

pub(super) fn sector_deg(sector: usize) -> f32 {
    30.0 * f32::from(u8::try_from(sector).unwrap_or(0))
}

/// The nearest of 1, 2, 3, 5 times a power of ten that is not less; 1 for nothing.
fn rounded_up(value: f64) -> f64 {
    if value <= 0.0 {
        return 1.0;
    }
    let power = 10_f64.powf(value.log10().floor());
    [1.0, 2.0, 3.0, 5.0]
        .map(|step| step * power)
        .into_iter()
        .find(|step| *step >= value)
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn views(cells: &[(usize, usize, f64)]) -> [[f64; SECTOR_COUNT]; RING_COUNT] {
        let mut all = [[0.0; SECTOR_COUNT]; RING_COUNT];
        for &(ring, sector, value) in cells {
            all[ring][sector] = value;
        }
        all
    }

    // Derived: by hand.
    #[test]
    fn what_is_seen_from_below_is_drawn_from_below() {
        let rose = Rose::new(SurfaceClass::Underside, &views(&[(9, 2, 1.5), (8, 3, 0.5)]));
        assert!(rose.from_below);
        assert!((rose.cells[0][2] - 1.5).abs() < 1e-12 && (rose.cells[1][3] - 0.5).abs() < 1e-12);
        assert!(rose.summary.starts_with("2 views per point"), "{}", rose.summary);
        assert!(rose.piece_text(&rose.pieces()[0]).contains("straight down"));
    }

    /// As many views from every direction: shares of solid angle, by the area of a zone of the unit sphere.
    fn even() -> [[f64; SECTOR_COUNT]; RING_COUNT] {
        let cap = |deg: u16| f64::from(deg).to_radians().cos();
        let mut all = [[0.0; SECTOR_COUNT]; RING_COUNT];
        for (ring, ends) in ENDS_DEG.windows(2).enumerate() {
            all[ring] = [100.0 * (cap(ends[0]) - cap(ends[1])) / SECTOR_COUNT as f64; SECTOR_COUNT];
        }
        all
    }

    // Derived: as many views from every direction are one colour, in the middle as at the edge; the half-space has 2π sr, of
    // which 10° × 10° are (π/18)², so that 100 views are 100 / (2 × 18² / π) of them.
    #[test]
    fn even_views_are_equally_dense_everywhere() {
        for class in [SurfaceClass::Ground, SurfaceClass::Wall] {
            let rose = Rose::new(class, &even());
            let pieces = rose.pieces();
            let expected = 100.0 / (2.0 * 18.0 * 18.0 / std::f64::consts::PI);
            for piece in &pieces {
                assert!((piece.density() - expected).abs() < 1e-12, "{piece:?}, rounded in the last bits");
            }
            let whole: f64 = pieces.iter().map(|piece| piece.solid_angle_sr).sum();
            let half = if rose.is_half() { 0.5 } else { 1.0 };
            assert!((whole - half * std::f64::consts::TAU).abs() < 1e-12, "{whole} sr");
            assert!((pieces.iter().map(|piece| piece.views).sum::<f64>() - 100.0 * half).abs() < 1e-9);
            let smallest = pieces.iter().map(|piece| piece.solid_angle_sr).fold(f64::INFINITY, f64::min);
            assert!(pieces[0].solid_angle_sr > 1.2 * smallest, "the middle is not the smallest: {pieces:?}");
        }
    }

    // Derived: by hand; straight up is one piece all round, sectors 11 and 0 of the next ring are one.
    #[test]
    fn a_place_on_the_disc_is_its_piece() {
        let ground = Rose::new(SurfaceClass::Ground, &views(&[(2, 3, 0.7), (1, 11, 1.0), (1, 0, 0.5)]));
        let piece = ground.piece_at(out(40.0), 100.0).unwrap();
        assert_eq!((piece.ring, piece.views), (2, 0.7));
        assert!(
            ground.piece_text(&piece).starts_with("0.7 views on average\nfrom 90–120° clockwise from north"),
            "{}",
            ground.piece_text(&piece)
        );
        let north = ground.piece_at(out(20.0), -10.0).unwrap();
        assert_eq!((north.ring, north.views), (1, 1.5));
        assert!(ground.piece_text(&north).contains("330–30° clockwise from north"));
        assert!(ground.piece_text(&ground.piece_at(0.1, -10.0).unwrap()).contains("all round"));
        assert_eq!(ground.piece_at(1.01, 0.0), None);
        let wall = Rose::new(SurfaceClass::Wall, &views(&[(4, 11, 0.7), (1, 9, 0.2), (1, 10, 0.3)]));
        assert_eq!(wall.piece_at(0.95, 180.0), None, "nothing is seen from behind a wall");
        let told = |far: f64, azimuth: f32| wall.piece_text(&wall.piece_at(far, azimuth).unwrap());
        assert!(told(0.95, -10.0).contains("0–30° to the left of square on"), "{}", told(0.95, -10.0));
        assert!(told(0.95, 70.0).contains("60–90° to the right of square on"), "{}", told(0.95, 70.0));
        assert!(told(out(20.0), 5.0).contains("up to 30° from square on"), "{}", told(out(20.0), 5.0));
        assert!(told(out(20.0), -50.0).starts_with("0.5 views"), "{}", told(out(20.0), -50.0));
        assert!(told(out(20.0), -50.0).contains("30–90° to the left"), "{}", told(out(20.0), -50.0));
        assert!(told(0.05, -50.0).contains("on either side"), "{}", told(0.05, -50.0));
    }

    // Derived: by hand.
    #[test]
    fn scales_end_on_round_numbers() {
        let found = [0.0, 0.7, 1.0, 2.1, 4.0, 7.0, 31.0].map(rounded_up);
        for (found, expected) in found.into_iter().zip([1.0, 1.0, 1.0, 3.0, 5.0, 10.0, 50.0]) {
            assert!((found - expected).abs() < 1e-9, "{found} {expected}");
        }
    }
}
