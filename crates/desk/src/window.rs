//! Opens the real window, or says why there can be none.

use crate::app::App;
use crate::document::Document;
use crate::theme::Mode;
use crate::worker::said;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Runs the window until it is closed.
///
/// # Errors
/// Why there can be no window, for people.
pub fn open(document: Document) -> Result<(), String> {
    if !display_set() {
        return Err("none of WAYLAND_DISPLAY, WAYLAND_SOCKET and DISPLAY is set".to_owned());
    }
    // A library that the window system lacks makes its binding panic instead of giving an error.
    match catch_unwind(AssertUnwindSafe(|| run(document))) {
        Ok(Ok(())) => Ok(()),
        Ok(Err(error)) => Err(format!("the window system refuses: {error}")),
        Err(panic) => Err(format!("the window system broke off: {}", said(&*panic))),
    }
}

fn run(document: Document) -> eframe::Result {
    let viewport = egui::ViewportBuilder::default()
        .with_title("Obliquity")
        .with_app_id("obliquity")
        .with_icon(egui::IconData::default())
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([480.0, 320.0]);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Glow, ..Default::default() };
    eframe::run_native(
        "Obliquity",
        options,
        Box::new(|creation| {
            let ctx = &creation.egui_ctx;
            let mode = ctx.system_theme().map_or(Mode::Light, Mode::from);
            Ok(Box::new(App::new(ctx, document, mode)))
        }),
    )
}

/// Whether a window can be asked for. Where it cannot, asking would be an error at best.
fn display_set() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(all(unix, not(target_os = "macos")))
        || set("WAYLAND_DISPLAY")
        || set("WAYLAND_SOCKET")
        || set("DISPLAY")
}
