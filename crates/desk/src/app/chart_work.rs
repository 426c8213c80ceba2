//! The diagrams of the screen that is shown, written to files.

use super::App;
use crate::chart_files::{self, ChartsAs};
use crate::dialogs::Refusal;
use crate::files;
use obliquity_exchange::{Output, Replace, charts_csv};
use std::path::Path;

const NOT_SAVED: &str = "The diagrams were not saved";

impl App {
    /// A name for the file.
    pub(super) fn charts_file_name(&self, how: ChartsAs) -> String {
        format!("{}.{}", self.screen_shown().name(), how.extension())
    }

    /// Writes the diagrams of the screen that is shown, or their values.
    pub(super) fn save_charts(
        &mut self,
        how: ChartsAs,
        path: &Path,
        replace: Replace,
    ) -> Result<(), Refusal> {
        let charts = self.charts().filter(|charts| !charts.is_empty());
        let Some(charts) = charts else {
            return Err(Refusal::new(NOT_SAVED, &"There are none yet on this screen."));
        };
        let values = self.sweep_values_csv();
        let (path, input) = (path.to_owned(), self.document.path().map(Path::to_owned));
        self.put_out(NOT_SAVED, path.clone(), move || {
            let bytes = match how {
                ChartsAs::Svg => chart_files::svg(&charts)?,
                ChartsAs::Png => chart_files::png(&charts)?,
                ChartsAs::Csv => values.unwrap_or_else(|| charts_csv(&charts)).into_bytes(),
            };
            let inputs: Vec<&Path> = input.as_deref().into_iter().collect();
            let out = Output { path: &path, kind: how.kind(), replace, inputs: &inputs };
            files::write(&out, &bytes).map_err(|error| error.to_string())
        });
        Ok(())
    }
}
