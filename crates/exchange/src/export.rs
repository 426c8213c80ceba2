//! Everything that lets someone else check a strategy's figures with general-purpose tools.

mod route;
mod tables;
mod views;

use crate::{FileError, FileErrorKind};
use obliquity_planning::{Cancelled, Outcome, Scenario, SiteModel, ViewFigures, Watch};
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
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

/// Writes `stations.csv`, `samples.csv`, `camera.json`, `route.geojson`, `route.kml`, `scene.obj` and, if asked for,
/// `views.csv` into a folder, which is made if it is missing; files of these names there are replaced.
///
/// Numbers have the shortest digits that read back as the same number. `pass` counts from 1, `index` and `sample` from
/// 0. A site that is nowhere has no route in longitude and latitude: those two files are then left out, with a note.
///
/// # Errors
/// [`ExportError::NotSampled`] unless `outcome` was worked out to `Depth::Views`; [`ExportError::File`] when a file
/// cannot be written; [`ExportError::Cancelled`] when `watch` says so.
pub fn export_strategy(
    folder: &Path,
    scenario: &Scenario,
    outcome: &Outcome,
    rows: ViewRows,
    watch: &dyn Watch,
) -> Result<Exported, ExportError> {
    let (Some(site), Some(figures)) = (&outcome.site, &outcome.views) else {
        return Err(ExportError::NotSampled);
    };
    let sampled = Sampled { outcome, site, figures };
    fs::create_dir_all(folder).map_err(|error| unwritable(folder, &error))?;
    let mut out = Folder { path: folder, exported: Exported { files: Vec::new(), notes: Vec::new() } };
    out.write("stations.csv", |file| tables::stations(file, outcome))?;
    out.write("samples.csv", |file| tables::samples(file, &sampled))?;
    let camera = tables::camera_json(scenario, outcome).ok_or(ExportError::NotInScenario)?;
    out.write("camera.json", |file| writeln!(file, "{camera:#}"))?;
    out.write("scene.obj", |file| tables::scene(file, site))?;
    match scenario.site.origin {
        Some(origin) => {
            let route = route::Route::new(scenario, outcome, origin);
            out.write("route.geojson", |file| writeln!(file, "{:#}", route.geojson()))?;
            out.write("route.kml", |file| file.write_all(route.kml().as_bytes()))?;
        }
        None => out.exported.notes.push(
            "route.geojson and route.kml are not written: the site is nowhere; give its frame an origin in latitude and longitude"
                .to_owned(),
        ),
    }
    if rows == ViewRows::Written {
        let passes = views::Passes::see(scenario, &sampled, watch)?;
        out.write("views.csv", |file| passes.rows(file))?;
    }
    Ok(out.exported)
}

/// An outcome that is known to have views.
struct Sampled<'a> {
    outcome: &'a Outcome,
    site: &'a SiteModel,
    figures: &'a ViewFigures,
}

/// Where the export goes, and what it has so far.
struct Folder<'a> {
    path: &'a Path,
    exported: Exported,
}

impl Folder<'_> {
    fn write(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), FileError> {
        let path = self.path.join(name);
        let write = || {
            let mut file = BufWriter::new(File::create(&path)?);
            fill(&mut file)?;
            file.flush()
        };
        write().map_err(|error| unwritable(&path, &error))?;
        self.exported.files.push(path);
        Ok(())
    }
}

fn unwritable(path: &Path, error: &io::Error) -> FileError {
    let message =
        format!("cannot be written: {}; check the folder's permissions and space", crate::files::told(error));
    FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message)
}
