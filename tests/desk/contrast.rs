//! Text stands out from what it is drawn on, on every screen, light and dark.

use crate::made_up;
use crate::reading::{DrawnScreen, DrawnText, Reader};
use crate::window::shared;
use egui::Color32;
use obliquity::app::{App, SCREENS};
use obliquity::document::Document;
use obliquity::theme::{self, Mode};
use palette::color_difference::Wcag21RelativeContrast as _;
use palette::{LinSrgb, Srgb};
use std::collections::BTreeMap;

fn linear(color: Color32) -> LinSrgb<f64> {
    Srgb::new(color.r(), color.g(), color.b()).into_format::<f64>().into_linear()
}

/// What a text is drawn on: the colour that most of its place has.
fn behind(screen: &DrawnScreen, text: &DrawnText) -> Option<Color32> {
    let place = text.place.intersect(text.clip);
    // What is scrolled half out of sight is read elsewhere.
    if place.area() < 0.9 * text.place.area() || !place.is_positive() {
        return None;
    }
    let mut counts: BTreeMap<[u8; 4], usize> = BTreeMap::new();
    // Round a single letter there is more than within its own edges.
    let place = place.expand(3.0);
    for y in place.top().max(0.0) as usize..(place.bottom() as usize).min(screen.image.height_px) {
        for x in place.left().max(0.0) as usize..(place.right() as usize).min(screen.image.width_px) {
            *counts.entry(screen.image.pixels[y * screen.image.width_px + x].to_array()).or_default() += 1;
        }
    }
    let [r, g, b, _] = counts.into_iter().max_by_key(|(_, count)| *count)?.0;
    Some(Color32::from_rgb(r, g, b))
}

/// Whether it is drawn as what cannot be pressed is, by egui or by the tools of the plan; WCAG asks nothing of that.
fn is_disabled(color: Color32, mode: Mode) -> bool {
    let c = theme::colors(mode);
    let faint = egui::Visuals::default().disabled_alpha();
    let by_egui =
        [c.ink, c.muted, c.accent, c.on_accent].into_iter().any(|full| full.gamma_multiply(faint) == color);
    by_egui || color == c.muted.gamma_multiply(0.6)
}

/// Memory: WCAG 2.1, 1.4.3 asks a contrast of 4.5 of text; what is disabled is left out there too.
#[test]
fn every_text_on_every_screen_stands_out() {
    let (mut faint, mut count) = (Vec::new(), 0);
    for mode in [Mode::Light, Mode::Dark] {
        let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
        app.work_out();
        let mut reader = Reader::new(mode);
        for row in SCREENS {
            app.turn_to(row.id);
            let screen = reader.read(&mut app, (1280.0, 800.0));
            for text in screen.texts.iter().filter(|text| !text.text.trim().is_empty()) {
                let Some(behind) = behind(&screen, text) else { continue };
                if is_disabled(text.color, mode) {
                    continue;
                }
                let over = behind.blend(text.color);
                let contrast = linear(over).relative_contrast(linear(behind));
                count += 1;
                if contrast < 4.5 {
                    let DrawnText { text, color, .. } = text;
                    faint.push(format!(
                        "{mode:?} {}: {contrast:.2} {text:?} {color:?} on {behind:?}",
                        row.title
                    ));
                }
            }
        }
    }
    assert!(count > 1000, "{count} texts were read");
    assert!(faint.is_empty(), "{} of {count}: {faint:#?}", faint.len());
}
