//! A log of jobs in the window, from the command line.

use super::{Trouble, flown, warn, write_screen};
use crate::app::{App, Screen};
use crate::document::Document;
use crate::logs::{LogDocument, LogPlace};
use crate::picture::PictureSize;
use crate::{files, window};
use obliquity_exchange::{Output, read_log};
use std::path::Path;

fn read(file: &Path) -> Result<(Document, LogDocument), Trouble> {
    let (sheet, stamp) = read_log(file).map_err(|error| Trouble::Input(error.to_string()))?;
    let demo = files::demo().map_err(|error| Trouble::Input(error.to_string()))?;
    let log = LogDocument::new(sheet, LogPlace::File(file.to_owned()), Some(stamp));
    Ok((Document::new(demo, None), log))
}

/// Opens the window on a log, or says why there can be none, and prints what is fitted to it.
pub(super) fn open(file: &Path) -> Result<(), Trouble> {
    let (document, log) = read(file)?;
    let kind = log.kind();
    let Err(why) = window::open(document, Some(window::OpenedBeside::Log(Box::new(log)))) else {
        return Ok(());
    };
    warn(&format!("no window: {why}; this is what it would show, and nothing is written"));
    flown::print(file, kind)
}

/// Draws the screen of logs.
pub(super) fn draw(file: &Path, view: Screen, canvas: &PictureSize, out: &Output<'_>) -> Result<(), Trouble> {
    if view != Screen::LOGS {
        let told = format!("{}: a log is drawn with --view logs alone", file.display());
        return Err(Trouble::Input(told));
    }
    let (document, log) = read(file)?;
    let mut app = App::still(document).with_log(log);
    app.work_out();
    app.fit_log();
    write_screen(&mut app, canvas, out)
}
