use super::{Scene, SolidPart};
use crate::show;
use crate::units::{Unit, Units};
use glam::{DVec2, DVec3};
use obliquity_planning::{SurfaceClass, Tile};
use std::ops::Range;

/// Walls, edges and undersides of a site, each flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// One for each structure, slab, pier and underside, in the order of the site.
    pub groups: Vec<Group>,
}

/// What stands together: the walls of a structure, in the order in which one walks round it with them on the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// "Shed", "Bridge, edges".
    pub name: String,
    /// From left to right.
    pub panels: Vec<Panel>,
    /// Share of their area that is covered, 0 to 1.
    pub covered_ratio: f64,
}

/// One plane surface. Its flat coordinates run to the right and up as seen from outside; those of an underside as seen
/// from above, through the slab.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Wall or underside.
    pub class: SurfaceClass,
    /// Its unit normal.
    pub normal: DVec3,
    /// Unit steps of the flat coordinates.
    pub axes: [DVec3; 2],
    /// Its lower left corner in flat coordinates.
    pub low_m: DVec2,
    /// Length and height.
    pub size_m: DVec2,
    /// Its samples.
    pub samples: Range<u32>,
    /// Share of its area that is covered, 0 to 1.
    pub covered_ratio: f64,
}

impl Sheet {
    /// Lays a scene's walls and undersides flat.
    pub fn new(scene: &Scene) -> Sheet {
        let mut groups: Vec<(Option<usize>, SurfaceClass, Group)> = Vec::new();
        for face in scene.site.tiles.chunk_by(one_face) {
            let Some(panel) = Panel::new(scene, face) else { continue };
            let outline = scene.outline_at(face[0].sample(0).position_m, face[0].normal);
            let same = |(of, class, _): &&mut (_, _, Group)| (*of, *class) == (outline, panel.class);
            if let Some((.., group)) = groups.last_mut().filter(same) {
                group.panels.push(panel);
                continue;
            }
            let (class, name) = (panel.class, name(scene, outline, panel.class));
            groups.push((outline, class, Group { name, panels: vec![panel], covered_ratio: 0.0 }));
        }
        let groups = groups.into_iter().map(|(.., mut group)| {
            let start = group.panels.first().map_or(0, |panel| panel.samples.start);
            let end = group.panels.last().map_or(0, |panel| panel.samples.end);
            let covered = scene.views.samples.covered_ratio(&scene.site, start..end);
            group.covered_ratio = covered.unwrap_or(0.0);
            group
        });
        Sheet { groups: groups.collect() }
    }
}

impl Panel {
    /// The panel of a face's tiles; nothing for a roof or the ground.
    fn new(scene: &Scene, face: &[Tile]) -> Option<Panel> {
        let (first, last) = (face.first()?, face.last()?);
        let samples = first.first_sample..last.first_sample + u32::try_from(last.len).ok()?;
        let patches = scene.patches.get(samples.start as usize..samples.end as usize)?;
        let corners = || patches.iter().flat_map(|patch| patch.corners_m);
        let extent = |axes: [DVec3; 2]| {
            let flat = corners().map(|corner| DVec2::new(corner.dot(axes[0]), corner.dot(axes[1])));
            flat.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(p), high.max(p)))
        };
        let axes = match first.class {
            SurfaceClass::Wall => [DVec3::Z.cross(first.normal), DVec3::Z],
            SurfaceClass::Underside => {
                let [a, b, ..] = patches.first()?.corners_m;
                let along = (b - a).normalize_or(DVec3::X);
                let (low, high) = extent([along, DVec3::Z.cross(along)]);
                let size = high - low;
                let longer = if size.x < size.y { DVec3::Z.cross(along) } else { along };
                let eastward = if longer.x < -1e-9 { -longer } else { longer };
                [eastward, DVec3::Z.cross(eastward)]
            }
            SurfaceClass::Ground | SurfaceClass::Roof => return None,
        };
        let (low, high) = extent(axes);
        let covered = scene.views.samples.covered_ratio(&scene.site, samples.clone());
        Some(Panel {
            class: first.class,
            normal: first.normal,
            axes,
            low_m: low,
            size_m: high - low,
            samples,
            covered_ratio: covered.unwrap_or(0.0),
        })
    }

    /// Flat coordinates of a place, from the panel's lower left corner.
    pub fn flat_m(&self, place_m: DVec3) -> DVec2 {
        DVec2::new(place_m.dot(self.axes[0]), place_m.dot(self.axes[1])) - self.low_m
    }

    /// Compass point that it faces, in letters; "down" for an underside.
    pub fn facing(&self) -> &'static str {
        const POINTS: [&str; 8] = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];
        if self.class == SurfaceClass::Underside {
            return "down";
        }
        let azimuth_deg = self.normal.x.atan2(self.normal.y).to_degrees().rem_euclid(360.0);
        POINTS[((azimuth_deg + 22.5) / 45.0) as usize % POINTS.len()]
    }

    /// Length and height in words.
    pub fn size_text(&self, units: Units) -> String {
        let length = show::short(units.shown(Unit::Metres, self.size_m.x));
        format!("{length} × {}", units.text(Unit::Metres, self.size_m.y))
    }

    /// What there is to know of it, line by line.
    pub fn lines(&self, group: &Group, units: Units) -> Vec<String> {
        let azimuth_deg = self.normal.x.atan2(self.normal.y).to_degrees().rem_euclid(360.0);
        let facing = match self.class {
            SurfaceClass::Underside => "faces down; drawn as seen from above, through the slab".to_owned(),
            _ => format!("faces {}, {azimuth_deg:.0}° from north", self.facing()),
        };
        let sizes = match self.class {
            SurfaceClass::Underside => "long and wide",
            _ => "long and high",
        };
        vec![
            group.name.clone(),
            facing,
            format!("{}, {sizes}", self.size_text(units)),
            format!("{} covered", show::percent(self.covered_ratio, None)),
        ]
    }
}

fn one_face(a: &Tile, b: &Tile) -> bool {
    let apart_m = (b.centre_m - a.centre_m).dot(a.normal);
    a.class == b.class
        && a.normal == b.normal
        && a.sample_area_m2 == b.sample_area_m2
        && a.relief.is_none() == b.relief.is_none()
        && apart_m.abs() < 1e-6
}

fn name(scene: &Scene, outline: Option<usize>, class: SurfaceClass) -> String {
    let Some(outline) = outline.map(|k| &scene.outlines[k]) else { return class.name().to_owned() };
    match (class, outline.part) {
        (SurfaceClass::Underside, _) => format!("Underside of {}", outline.name),
        (_, SolidPart::Slab) => format!("{}, edges", outline.name),
        _ => capital(&outline.name),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
