//! Everything that lets someone else check a strategy's figures with general-purpose tools.

mod regions;
mod route;
mod tables;
mod views;

use crate::output::OutputSet;
use crate::{FileError, OutputKind, Replace};
use obliquity_planning::{Cancelled, Outcome, Scenario, SiteModel, ViewFigures, Watch};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// What an export wrote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// The files, in the order in which they were written.
    pub files: Vec<PathBuf>,
    /// What was left out, and why. Sentences for people.
    pub notes: Vec<String>,
}

/// Whether `views.csv` is written: one row for each sample in a station's frame, often millions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ViewRows {
    /// Write them.
    Written,
    /// Leave them out.
    LeftOut,
}

/// Why there is no export.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExportError {
    /// A file could not be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// The strategy cannot be flown.
    #[error("an export needs a strategy that can be flown, but this one cannot: {0}; mend that first")]
    CannotBeFlown(String),
    /// The outcome has no samples.
    #[error(
        "an export needs an outcome with views, but this one was worked out without; evaluate it to that depth"
    )]
    NotSampled,
    /// The outcome's strategy is not in the scenario.
    #[error(
        "an export needs a strategy and an aircraft of the scenario, but this outcome's are not in it; evaluate it again"
    )]
    NotInScenario,
    /// The owner no longer wants it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Where an export goes.
#[derive(Debug, Clone, Copy)]
pub struct ExportTo<'a> {
    /// The folder; it is made if it is missing.
    pub folder: &'a Path,
    /// Whether an earlier export in it may be replaced; then all of it goes.
    pub replace: Replace,
    /// Files that were read: they are never replaced.
    pub inputs: &'a [&'a Path],
}

/// Every file that an export may have, with how one of an earlier export is known.
const FILES: [(&str, OutputKind); 10] = [
    (
        "stations.csv",
        OutputKind::new("a table of stations", |head| head.starts_with(tables::STATIONS.as_bytes())),
    ),
    (
        "samples.csv",
        OutputKind::new("a table of samples", |head| head.starts_with(tables::SAMPLES.as_bytes())),
    ),
    ("camera.json", OutputKind::new("an export's camera", |head| holds(head, "\"focal_length_px\""))),
    ("scene.obj", OutputKind::new("an export's scene", |head| head.starts_with(tables::SCENE.as_bytes()))),
    ("frame.json", OutputKind::new("an export's frame", |head| holds(head, "\"z_datum\""))),
    ("route.geojson", OutputKind::new("an export's route", |head| holds(head, "\"take-off\""))),
    ("route.kml", OutputKind::new("an export's route", |head| holds(head, "<name>take-off</name>"))),
    ("regions.geojson", OutputKind::new("an export's regions", |head| holds(head, "\"region_of_pass\""))),
    (
        "regions.kml",
        OutputKind::new("an export's regions", |head| holds(head, ": regions of the passes</name>")),
    ),
    ("views.csv", OutputKind::new("a table of views", |head| head.starts_with(views::VIEWS.as_bytes()))),
];

fn holds(head: &[u8], words: &str) -> bool {
    String::from_utf8_lossy(head).contains(words)
}

/// Whether an export may go where it is to go, before anything is worked out for it.
///
/// # Errors
/// As [`export_strategy`], for what stands in the folder.
pub fn check_export(to: &ExportTo<'_>) -> Result<(), FileError> {
    OutputSet::check(to.folder, &FILES, to.replace, to.inputs)
}

/// Writes `stations.csv`, `samples.csv`, `camera.json`, `scene.obj`, `frame.json`, `route.geojson`, `route.kml`,
/// `regions.geojson`, `regions.kml` and, if asked for, `views.csv` into a folder: all of them or none. What an earlier export has left there is replaced where that is
/// allowed, files that this one does not have included; nothing else is touched.
///
/// Numbers have the shortest digits that read back as the same number. `pass` counts from 1, `index` and `sample` from
/// 0. Coordinates are those of the site's frame, which `frame.json` tells of; routes have heights above the ground. A site that
/// is nowhere has no route and no regions in longitude and latitude: those files are then left out, with a note, and a pass that
/// goes by no area has no region.
///
/// # Errors
/// [`ExportError::CannotBeFlown`] where there is nothing to write; [`ExportError::NotSampled`] unless `outcome` was worked
/// out to `Depth::Views`; [`ExportError::File`] when a file
/// cannot be written or something is in its place; [`ExportError::Cancelled`] when `watch` says so.
pub fn export_strategy(
    to: &ExportTo<'_>,
    scenario: &Scenario,
    outcome: &Outcome,
    rows: ViewRows,
    watch: &dyn Watch,
) -> Result<Exported, ExportError> {
    let Some(timing) = &outcome.timing else {
        return Err(ExportError::CannotBeFlown(outcome.reasons.join("; ")));
    };
    let (Some(site), Some(figures)) = (&outcome.site, &outcome.views) else {
        return Err(ExportError::NotSampled);
    };
    let sampled = Sampled { outcome, site, figures };
    let camera = tables::camera_json(scenario, outcome).ok_or(ExportError::NotInScenario)?;
    let mut out = OutputSet::begin(to.folder, &FILES, to.replace, to.inputs)?;
    let mut notes = Vec::new();
    out.write("stations.csv", |file| tables::stations(file, outcome, &timing.flight))?;
    out.write("samples.csv", |file| tables::samples(file, &sampled))?;
    out.write("camera.json", |file| writeln!(file, "{camera:#}"))?;
    out.write("scene.obj", |file| tables::scene(file, site))?;
    let frame = tables::frame_json(&scenario.site);
    out.write("frame.json", |file| writeln!(file, "{frame:#}"))?;
    match scenario.site.origin {
        Some(origin) => {
            let route = route::Route::new(scenario, &outcome.name, &timing.flight, origin);
            out.write("route.geojson", |file| writeln!(file, "{:#}", route.geojson()))?;
            out.write("route.kml", |file| file.write_all(route.kml().as_bytes()))?;
            let (regions, without) = regions::Regions::new(scenario, outcome, origin);
            out.write("regions.geojson", |file| writeln!(file, "{:#}", regions.geojson()))?;
            out.write("regions.kml", |file| file.write_all(regions.kml().as_bytes()))?;
            notes.extend(without);
        }
        None => notes.push(
            "route and regions (GeoJSON and KML) are not written: the site is nowhere; give it an origin in latitude and longitude \
             (Place on earth, on the screen Site)"
                .to_owned(),
        ),
    }
    if rows == ViewRows::Written {
        let passes = views::Passes::see(scenario, &sampled, watch)?;
        out.write("views.csv", |file| passes.rows(file))?;
    }
    Ok(Exported { files: out.place()?, notes })
}

/// An outcome that is known to have views.
struct Sampled<'a> {
    outcome: &'a Outcome,
    site: &'a SiteModel,
    figures: &'a ViewFigures,
}
