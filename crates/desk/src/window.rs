//! Opens the real window, or says why there can be none.

use crate::app::App;
use crate::document::Document;
use crate::jobs::said;
use crate::lesson::LessonDocument;
use crate::logs::LogDocument;
use crate::preferences::Home;
use crate::purchase::PortfolioDocument;
use std::panic::{AssertUnwindSafe, catch_unwind};

const ICON: &[u8] = include_bytes!("../../../assets/icon.png");

/// What is opened beside the scenario, and shown.
#[derive(Debug)]
pub enum OpenedBeside {
    /// A portfolio.
    Portfolio(Box<PortfolioDocument>),
    /// A lesson.
    Lesson(Box<LessonDocument>),
    /// A log of jobs.
    Log(Box<LogDocument>),
}

/// Runs the window until it is closed.
///
/// # Errors
/// Why there can be no window, for people.
pub fn open(document: Document, beside: Option<OpenedBeside>) -> Result<(), String> {
    if !display_set() {
        return Err("none of WAYLAND_DISPLAY, WAYLAND_SOCKET and DISPLAY is set".to_owned());
    }
    // A library that the window system lacks makes its binding panic instead of giving an error.
    match catch_unwind(AssertUnwindSafe(|| run(document, beside))) {
        Ok(Ok(())) => Ok(()),
        Ok(Err(error)) => Err(format!("the window system refuses: {error}")),
        Err(panic) => Err(format!("the window system broke off: {}", said(&*panic))),
    }
}

fn run(document: Document, beside: Option<OpenedBeside>) -> eframe::Result {
    let home = Home::of_user();
    let viewport = egui::ViewportBuilder::default()
        .with_title("Obliquity")
        .with_app_id("obliquity")
        .with_icon(icon())
        .with_min_inner_size([480.0, 320.0]);
    let viewport = home.place(viewport);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Glow, ..Default::default() };
    eframe::run_native(
        "Obliquity",
        options,
        Box::new(|creation| {
            let ctx = &creation.egui_ctx;
            let mode = home.mode(ctx);
            let app = App::new(ctx, document, mode).with_home(ctx, home);
            Ok(Box::new(match beside {
                Some(OpenedBeside::Portfolio(portfolio)) => app.with_portfolio(*portfolio),
                Some(OpenedBeside::Lesson(lesson)) => app.with_lesson(*lesson),
                Some(OpenedBeside::Log(log)) => app.with_log(*log),
                None => app,
            }))
        }),
    )
}

/// The program's icon; an empty one, which lets the system choose, if it could not be read.
pub fn icon() -> egui::IconData {
    let read = || -> Result<egui::IconData, png::DecodingError> {
        let mut reader = png::Decoder::new(std::io::Cursor::new(ICON)).read_info()?;
        let mut rgba = vec![0; reader.output_buffer_size().unwrap_or_default()];
        let frame = reader.next_frame(&mut rgba)?;
        Ok(egui::IconData { rgba, width: frame.width, height: frame.height })
    };
    read().unwrap_or_default()
}

/// Whether a window can be asked for. Where it cannot, asking would be an error at best.
fn display_set() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(all(unix, not(target_os = "macos")))
        || set("WAYLAND_DISPLAY")
        || set("WAYLAND_SOCKET")
        || set("DISPLAY")
}
