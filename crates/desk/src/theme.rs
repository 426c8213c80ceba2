//! The program's look: one scale of type, one of space, one set of colours for light and one for dark.

use egui::style::{HandleShape, WidgetVisuals};
use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke, Style, TextStyle,
    Theme, Vec2, Visuals,
};
use std::sync::Arc;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mode {
    /// Dark text on a light page.
    #[default]
    Light,
    /// Light text on a dark page.
    Dark,
}

impl From<Mode> for Theme {
    fn from(mode: Mode) -> Self {
        match mode {
            Mode::Light => Theme::Light,
            Mode::Dark => Theme::Dark,
        }
    }
}

impl From<Theme> for Mode {
    fn from(theme: Theme) -> Self {
        match theme {
            Theme::Light => Mode::Light,
            Theme::Dark => Mode::Dark,
        }
    }
}

/// Distances, in points.
pub mod space {
    /// Between a mark and its text.
    pub const HAIR: f32 = 2.0;
    /// Between things that belong together.
    pub const TIGHT: f32 = 4.0;
    /// Between rows.
    pub const ROW: f32 = 8.0;
    /// Between groups and inside edges.
    pub const GROUP: f32 = 12.0;
    /// Around the page.
    pub const PAGE: f32 = 16.0;
}

/// Sizes of type, in points.
pub mod size {
    /// Notes and units.
    pub const CAPTION: f32 = 12.0;
    /// Running text and inputs.
    pub const BODY: f32 = 13.5;
    /// Names of strategies.
    pub const TITLE: f32 = 16.0;
    /// The board's sentence.
    pub const HEADLINE: f32 = 19.0;
}

/// Colours of one mode.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colors {
    /// Behind everything.
    pub page: Color32,
    /// Behind what stands on the page.
    pub surface: Color32,
    /// Behind inputs and bars: what a bar has left to fill.
    pub trough: Color32,
    /// Lines that divide.
    pub rule: Color32,
    /// Text and requirement lines.
    pub ink: Color32,
    /// Text that matters less, and what is stale.
    pub muted: Color32,
    /// What can be pressed.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// What is reached.
    pub good: Color32,
    /// What is missed, and limits that are broken.
    pub bad: Color32,
    /// What calls for a check.
    pub warn: Color32,
    /// One for each strategy, in the order they stand in.
    pub strategies: [Color32; 8],
}

const fn rgb(hex: u32) -> Color32 {
    let [_, r, g, b] = hex.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

/// The strategies' colours were found by a search that held the least distance between any two (in a perceptual space, as seen with
/// normal sight and with each of the three colour deficiencies) and the least difference in lightness as large as it
/// could, with a contrast of at least 3 against the surface. The hues are the same in both modes.
const LIGHT: Colors = Colors {
    page: rgb(0xf3f1ec),
    surface: rgb(0xffffff),
    trough: rgb(0xebe8e1),
    rule: rgb(0xd6d2c8),
    ink: rgb(0x20262a),
    muted: rgb(0x5c646a),
    accent: rgb(0x23605c),
    on_accent: rgb(0xffffff),
    good: rgb(0x1f6b45),
    bad: rgb(0xa32a1e),
    warn: rgb(0x855300),
    strategies: [
        rgb(0x2b4a9e),
        rgb(0x4f1816),
        rgb(0x599dac),
        rgb(0x9f5111),
        rgb(0x88900e),
        rgb(0x634125),
        rgb(0x3f196d),
        rgb(0x7168bc),
    ],
};

const DARK: Colors = Colors {
    page: rgb(0x171b1d),
    surface: rgb(0x202528),
    trough: rgb(0x2d3438),
    rule: rgb(0x3b4449),
    ink: rgb(0xe6e7e3),
    muted: rgb(0xa3acb0),
    accent: rgb(0x7cc4bc),
    on_accent: rgb(0x10201e),
    good: rgb(0x7fd3a2),
    bad: rgb(0xff9c8a),
    warn: rgb(0xf0bf62),
    strategies: [
        rgb(0x4b91e2),
        rgb(0xc0515b),
        rgb(0x63eff8),
        rgb(0xfcaa4b),
        rgb(0xe7f17a),
        rgb(0xb59778),
        rgb(0x7764a2),
        rgb(0xa5b0e0),
    ],
};

impl Colors {
    /// The colour of the strategy in a column; after eight they come again.
    pub fn strategy(&self, column: usize) -> Color32 {
        self.strategies[column % self.strategies.len()]
    }
}

/// The colours of a mode.
pub fn colors(mode: Mode) -> &'static Colors {
    match mode {
        Mode::Light => &LIGHT,
        Mode::Dark => &DARK,
    }
}

/// The colour of text on a fill: dark or light, whichever stands out more.
pub fn on(fill: Color32) -> Color32 {
    let channel = |byte: u8| {
        let c = f32::from(byte) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    let luminance =
        0.2126 * channel(fill.r()) + 0.7152 * channel(fill.g()) + 0.0722 * channel(fill.b()) + 0.05;
    // White has 1.05, black 0.05: their contrasts are equal where the square is their product.
    if luminance * luminance > 1.05 * 0.05 { Color32::BLACK } else { Color32::WHITE }
}

/// The colours of the mode that a screen is drawn in.
pub fn of(ui: &egui::Ui) -> &'static Colors {
    colors(if ui.visuals().dark_mode { Mode::Dark } else { Mode::Light })
}

/// The heavier cut, for names and figures.
pub fn strong() -> FontFamily {
    FontFamily::Name("strong".into())
}

/// Running text.
pub fn body() -> FontId {
    FontId::proportional(size::BODY)
}

/// Running text in the heavier cut.
pub fn body_strong() -> FontId {
    FontId::new(size::BODY, strong())
}

/// Notes and units.
pub fn caption() -> FontId {
    FontId::proportional(size::CAPTION)
}

/// Notes in the heavier cut.
pub fn caption_strong() -> FontId {
    FontId::new(size::CAPTION, strong())
}

/// Names of strategies.
pub fn title() -> FontId {
    FontId::new(size::TITLE, strong())
}

/// The board's sentence.
pub fn headline() -> FontId {
    FontId::new(size::HEADLINE, strong())
}

/// Gives a context the program's fonts, spacing and colours, and shows the mode.
pub fn install(ctx: &egui::Context, mode: Mode) {
    ctx.set_fonts(fonts());
    ctx.style_mut_of(Theme::Light, |style| apply(style, Mode::Light));
    ctx.style_mut_of(Theme::Dark, |style| apply(style, Mode::Dark));
    ctx.set_theme(Theme::from(mode));
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let regular = FontData::from_static(include_bytes!("../../../assets/fonts/Lato-Regular.ttf"));
    let semibold = FontData::from_static(include_bytes!("../../../assets/fonts/Lato-Semibold.ttf"));
    fonts.font_data.insert("regular".to_owned(), Arc::new(regular));
    fonts.font_data.insert("semibold".to_owned(), Arc::new(semibold));
    let fallbacks = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with = |first: &str| {
        let own = std::iter::once(first.to_owned());
        own.chain(fallbacks.iter().cloned()).chain(std::iter::once("Hack".to_owned())).collect::<Vec<_>>()
    };
    fonts.families.insert(FontFamily::Proportional, with("regular"));
    fonts.families.insert(strong(), with("semibold"));
    fonts
}

fn apply(style: &mut Style, mode: Mode) {
    let colors = colors(mode);
    style.text_styles = [
        (TextStyle::Small, caption()),
        (TextStyle::Body, body()),
        (TextStyle::Button, body()),
        (TextStyle::Heading, title()),
        (TextStyle::Monospace, FontId::monospace(size::BODY)),
    ]
    .into();
    style.spacing.item_spacing = Vec2::new(space::ROW, space::TIGHT);
    style.spacing.button_padding = Vec2::new(space::ROW, space::TIGHT);
    style.spacing.menu_margin = Margin::same(6);
    style.spacing.interact_size.y = 22.0;
    style.spacing.slider_rail_height = 4.0;
    style.interaction.selectable_labels = false;
    style.visuals = visuals(colors, mode);
}

fn visuals(colors: &Colors, mode: Mode) -> Visuals {
    let mut visuals = match mode {
        Mode::Light => Visuals::light(),
        Mode::Dark => Visuals::dark(),
    };
    let line = Stroke::new(1.0, colors.rule);
    let widget = |fill: Color32, stroke: Color32, text: Color32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: Stroke::new(1.0, stroke),
        corner_radius: CornerRadius::same(5),
        fg_stroke: Stroke::new(1.5, text),
        expansion: 0.0,
    };
    visuals.widgets.noninteractive = widget(colors.surface, colors.rule, colors.ink);
    visuals.widgets.inactive = widget(colors.trough, colors.rule, colors.ink);
    visuals.widgets.hovered = widget(colors.trough, colors.accent, colors.ink);
    visuals.widgets.active = widget(colors.trough, colors.accent, colors.accent);
    visuals.widgets.open = widget(colors.trough, colors.accent, colors.ink);
    visuals.weak_text_color = Some(colors.muted);
    visuals.hyperlink_color = colors.accent;
    visuals.warn_fg_color = colors.warn;
    visuals.error_fg_color = colors.bad;
    visuals.selection.bg_fill = colors.surface.lerp_to_gamma(colors.accent, 0.3);
    visuals.selection.stroke = Stroke::new(1.5, colors.accent);
    visuals.text_edit_bg_color = Some(colors.page);
    visuals.panel_fill = colors.page;
    visuals.window_fill = colors.surface;
    visuals.window_stroke = line;
    visuals.extreme_bg_color = colors.surface;
    visuals.faint_bg_color = colors.trough;
    visuals.code_bg_color = colors.trough;
    visuals.slider_trailing_fill = true;
    visuals.handle_shape = HandleShape::Circle;
    visuals.text_cursor.stroke = Stroke::new(2.0, colors.accent);
    visuals
}

/// Colours as they are seen, for tests.
/// The colour that goes with a severity; shape and word say the same.
pub fn severity(colors: &Colors, severity: obliquity_planning::Severity) -> Color32 {
    use obliquity_planning::Severity;
    match severity {
        Severity::Limit => colors.bad,
        Severity::Check => colors.warn,
        Severity::Reminder => colors.muted,
    }
}

#[cfg(test)]
pub(crate) mod sights {
    use egui::Color32;

    pub(crate) fn linear(color: Color32) -> [f64; 3] {
        [color.r(), color.g(), color.b()].map(|byte| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        })
    }

    fn oklab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = [r, g, b].map(|c| c.max(0.0));
        let l = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b).cbrt();
        let m = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b).cbrt();
        let s = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b).cbrt();
        [
            0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
            1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
            0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s,
        ]
    }

    /// Full deficiencies of the long, middle and short cones, in linear colours.
    pub(crate) const SIGHTS: [[[f64; 3]; 3]; 4] = [
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ];

    pub(crate) fn seen(color: Color32, sight: &[[f64; 3]; 3]) -> [f64; 3] {
        let c = linear(color);
        oklab(sight.map(|row| (row[0] * c[0] + row[1] * c[1] + row[2] * c[2]).clamp(0.0, 1.0)))
    }

    /// Distance of two colours in `OKLab`, as seen.
    pub(crate) fn apart(a: Color32, b: Color32, sight: &[[f64; 3]; 3]) -> f64 {
        let (x, y) = (seen(a, sight), seen(b, sight));
        (0..3).map(|k| (x[k] - y[k]).powi(2)).sum::<f64>().sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::sights::{SIGHTS, apart, linear};
    use super::*;

    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |c: Color32| {
            let [r, g, b] = linear(c);
            0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
        };
        let (a, b) = (luminance(a), luminance(b));
        a.max(b) / a.min(b)
    }

    // Memory: WCAG 2 asks 4.5 of text and 3 of graphics; the formulas for contrast and OKLab, and Machado et al. (2009)
    // for the deficiencies, are from memory.
    #[test]
    fn text_and_marks_stand_out() {
        for mode in [Mode::Light, Mode::Dark] {
            let c = colors(mode);
            for behind in [c.page, c.surface] {
                for text in [c.ink, c.muted, c.accent, c.good, c.bad, c.warn] {
                    assert!(contrast(text, behind) >= 4.5, "{mode:?} {text:?} on {behind:?}");
                }
            }
            for mark in c.strategies {
                assert!(contrast(mark, c.surface) >= 3.0, "{mode:?} {mark:?}");
            }
        }
    }

    // Memory: as above. The least distance of 0.07 in OKLab is more than three times a just noticeable difference of
    // about 0.02.
    #[test]
    fn strategies_differ_for_every_sight() {
        for mode in [Mode::Light, Mode::Dark] {
            for (i, a) in colors(mode).strategies.iter().enumerate() {
                for b in &colors(mode).strategies[..i] {
                    for sight in &SIGHTS {
                        let distance = apart(*a, *b, sight);
                        assert!(distance > 0.07, "{mode:?} {a:?} {b:?} {distance}");
                    }
                }
            }
        }
    }
}
