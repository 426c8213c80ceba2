//! The window, found by what a screen reader would say.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::files;
use obliquity::theme::Mode;

fn window(document: Document) -> Harness<'static, App> {
    Harness::builder()
        .with_size([1280.0, 800.0])
        .with_max_steps(20)
        .with_wait_for_pending_images(false)
        .build_eframe(move |creation| App::new(&creation.egui_ctx, document, Mode::Light))
}
