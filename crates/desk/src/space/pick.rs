use super::Scene;
use crate::rose::Rose;
use crate::show;
use crate::units::{Unit, Units};
use glam::DVec3;
use obliquity_planning::{
    Cancelled, ClassFigures, NoWatch, SamplePoint, Shortage, SiteModel, Stations, SurfaceClass, ViewLimits,
    counted_masks, sight, views,
};

/// Everything about one sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Picked {
    /// Its number.
    pub sample: u32,
    /// "Wall of Shed".
    pub name: String,
    /// What the surface is.
    pub class: SurfaceClass,
    /// Where it is.
    pub position_m: DVec3,
    /// The surface's unit normal.
    pub normal: DVec3,
    /// Height above the mean ground inside the boundary.
    pub height_m: f64,
    /// Counted views.
    pub views: u32,
    /// Best counted view's GSD; nothing without one.
    pub best_gsd_m: Option<f64>,
    /// Least incidence of a counted view; nothing without one.
    pub least_incidence_rad: Option<f64>,
    /// Greatest angle between two counted views.
    pub widest_rad: f64,
    /// What it lacks to be covered; nothing where it is.
    pub lacking: Option<Shortage>,
    /// The stations that see it, in the order of the passes.
    pub seen_by: Vec<SeeingStation>,
    /// How many see it and how many of these count, with the name of each pass.
    pub by_pass: Vec<PassCount>,
    /// From which directions it is seen.
    pub rose: Option<Rose>,
    /// Standard deviations of its place, of its height and along the normal, in metres; nothing where they are not known.
    pub sigmas_m: Option<[f64; 3]>,
    limits: ViewLimits,
    required_gsd_m: f64,
}

/// What a pass gives a sample.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassCount {
    /// "Pass 2, strips".
    pub name: String,
    /// Exposures that see it.
    pub seeing: u32,
    /// Those of them that count.
    pub counting: u32,
}

/// A station that sees a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeeingStation {
    /// Which pass, from 0.
    pub pass: usize,
    /// Which of its stations, from 0.
    pub station: u32,
    /// Where it is.
    pub position_m: DVec3,
    /// Whether the view counts: not too slanted, not too coarse.
    pub counts: bool,
}

impl Picked {
    /// Works out one sample anew, alone on its site: what it says is as in the scene's figures, but for ties within the
    /// rounding of single precision. Nothing for a number that the scene has not.
    pub fn new(scene: &Scene, sample: u32) -> Option<Picked> {
        let (tile, lane) = scene.place_of(sample)?;
        let at = scene.site.tiles[tile].sample(lane);
        let limits = ViewLimits::from(&scene.requirement);
        let point = SamplePoint {
            class: at.class,
            position_m: at.position_m,
            normal: at.normal,
            area_m2: at.area_m2,
        };
        let alone = SiteModel::from_points(&[point], scene.site.prisms.clone(), scene.site.terrain.clone());
        let (seen_by, figures) = alone_seen(scene, &alone, &limits).ok()?;
        let samples = &scene.views.samples;
        let k = sample as usize;
        let covered = *samples.covered.get(k)?;
        Some(Picked {
            sample,
            name: scene.name_of(at.class, at.position_m, at.normal),
            class: at.class,
            position_m: at.position_m,
            normal: at.normal,
            height_m: at.position_m.z - scene.site.reference_z_m,
            views: samples.views[k],
            best_gsd_m: Some(f64::from(samples.best_gsd_m[k])).filter(|gsd| gsd.is_finite()),
            least_incidence_rad: Some(f64::from(samples.least_incidence_rad[k])).filter(|i| i.is_finite()),
            widest_rad: f64::from(samples.max_intersection_rad[k]),
            lacking: if covered {
                None
            } else {
                Some(figures.as_ref().map(|f| f.shortage).unwrap_or_default())
            },
            by_pass: by_pass(scene, &seen_by),
            seen_by,
            rose: figures.map(|figures| {
                let mut rose = Rose::new(at.class, &figures.rose.mean_views);
                rose.summary = rose.summary.replace(" of a point", "").replace(" on average", "");
                rose
            }),
            sigmas_m: scene.network.as_ref().and_then(|network| {
                let of = &network.samples;
                let all = [&of.horizontal_m, &of.vertical_m, &of.normal_m];
                let all = all.map(|own| own.get(k).map_or(f64::INFINITY, |sigma_m| f64::from(*sigma_m)));
                all.iter().all(|sigma_m| sigma_m.is_finite()).then_some(all)
            }),
            required_gsd_m: scene.requirement.gsd_cm[at.class] / 100.0,
            limits,
        })
    }

    /// Why it is not covered; nothing where it is.
    pub fn why(&self, units: Units) -> Option<String> {
        self.lacking.map(|lacking| why(self.class, &lacking, &self.limits, units))
    }

    /// What there is to know, line by line, the name left out.
    pub fn lines(&self, units: Units) -> Vec<String> {
        let seeing = u32::try_from(self.seen_by.len()).unwrap_or(u32::MAX);
        let mut lines = vec![
            format!("{} above the mean ground", units.text(Unit::Metres, self.height_m)),
            format!(
                "Seen from {}, {} of them counting; {} needed",
                show::counted(seeing, "exposure", "exposures"),
                self.views,
                self.limits.min_views
            ),
        ];
        if self.by_pass.len() > 1 {
            lines.extend(self.by_pass.iter().map(PassCount::line));
        }
        if let Some(gsd_m) = self.best_gsd_m {
            let held = units.gsd_form().held(gsd_m, self.required_gsd_m);
            lines.push(format!("Best GSD {}; {} needed", held.value, held.limit));
        }
        if let Some(incidence_rad) = self.least_incidence_rad {
            let most = self.limits.max_incidence_rad.to_degrees();
            lines.push(format!(
                "Smallest incidence {:.0}°, 0° is square on; {most:.0}° at most",
                incidence_rad.to_degrees()
            ));
        }
        if self.views > 1 {
            let (widest, least) =
                (self.widest_rad.to_degrees(), self.limits.min_intersection_rad.to_degrees());
            lines.push(format!("Intersection angle {widest:.0}°; {least:.0}° needed"));
        }
        if let Some(sigmas_m) = self.sigmas_m {
            let [across, height, normal] = sigmas_m.map(|sigma_m| units.error(sigma_m));
            lines.push(format!(
                "Expected σ {across} horizontal, {height} vertical, {normal} along the normal"
            ));
        }
        lines
    }
}

impl PassCount {
    fn line(&self) -> String {
        match (self.seeing, self.counting) {
            (0, _) => format!("{}: none", self.name),
            (seeing, counting) if seeing == counting => format!("{}: {seeing}, all counting", self.name),
            (seeing, counting) => format!("{}: {seeing}, {counting} counting", self.name),
        }
    }
}

fn by_pass(scene: &Scene, seen_by: &[SeeingStation]) -> Vec<PassCount> {
    let count = |of: &dyn Fn(&&SeeingStation) -> bool| {
        u32::try_from(seen_by.iter().filter(of).count()).unwrap_or(u32::MAX)
    };
    let passes = scene.plans.iter().enumerate();
    passes
        .map(|(pass, plan)| PassCount {
            name: format!("Pass {}, {}", pass + 1, plan.pattern.name()),
            seeing: count(&|seeing| seeing.pass == pass),
            counting: count(&|seeing| seeing.pass == pass && seeing.counts),
        })
        .collect()
}

type Seen = (Vec<SeeingStation>, Option<ClassFigures>);

fn alone_seen(scene: &Scene, alone: &SiteModel, limits: &ViewLimits) -> Result<Seen, Cancelled> {
    let mut seen_by = Vec::new();
    let mut tables = Vec::with_capacity(scene.plans.len());
    for (pass, plan) in scene.plans.iter().enumerate() {
        let stations: &Stations = &plan.stations;
        let table = sight(alone, stations, &NoWatch)?;
        let counted = counted_masks(alone, 0, stations, &table, limits);
        seen_by.extend(table.of_tile(0).iter().map(|view| SeeingStation {
            pass,
            station: view.station,
            position_m: stations.poses[view.station as usize].position_m,
            counts: counted.iter().any(|(station, _)| *station == view.station),
        }));
        tables.push((stations, table));
    }
    let passes: Vec<_> = tables.iter().map(|(stations, table)| (*stations, table)).collect();
    let figures = views(alone, &passes, limits, &NoWatch)?;
    let class = alone.tiles.first().map_or(SurfaceClass::Ground, |tile| tile.class);
    Ok((seen_by, figures.classes[class].clone()))
}

/// The one reason of a sample alone, in words.
fn why(class: SurfaceClass, shortage: &Shortage, limits: &ViewLimits, units: Units) -> String {
    let coarsest = units.gsd(limits.max_gsd_m[class]);
    let incidence = limits.max_incidence_rad.to_degrees();
    let apart = limits.min_intersection_rad.to_degrees();
    let link = limits.max_link_rad.to_degrees();
    let reasons = [
        (shortage.outside_frames, "no exposure that faces it has it in its frame".to_owned()),
        (shortage.hidden, "it is in frames, but something hides it from all of them".to_owned()),
        (shortage.too_slanted, format!("it is seen, but only more slanted than {incidence:.0}°")),
        (
            shortage.too_coarse,
            format!("it is seen, but only coarser than {coarsest}, twice the GSD required"),
        ),
        (shortage.too_few, format!("fewer than {} views of it count", limits.min_views)),
        (
            shortage.not_linked,
            format!(
                "no {} views of it lie within {link:.0}° of each other in a row and reach {apart:.0}° apart",
                limits.min_views
            ),
        ),
    ];
    let found = reasons.into_iter().find(|(share, _)| *share > 0.5);
    found.map_or_else(|| "it lies on a limit, within rounding".to_owned(), |(_, reason)| reason)
}
