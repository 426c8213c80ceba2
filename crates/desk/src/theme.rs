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

/// How far the fill behind what is selected lies between surface and accent: further, and its text would not stand out.
const SELECTED: f32 = 0.2;

const fn rgb(hex: u32) -> Color32 {
    let [_, r, g, b] = hex.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

/// The strategies' colours were found by a search that held the least distance between any two (as seen with normal sight and
/// with each of the three colour deficiencies) as large as it could, with a contrast of at least 3 against page, surface
/// and trough. The hues are the same in both modes.
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
        rgb(0x274996),
        rgb(0x441715),
        rgb(0x3a8e98),
        rgb(0x954e14),
        rgb(0x868804),
        rgb(0x634833),
        rgb(0x350f62),
        rgb(0x6c65bd),
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
        rgb(0x048eff),
        rgb(0xdd4758),
        rgb(0x6af5fd),
        rgb(0xfaa942),
        rgb(0xf7fc94),
        rgb(0xbfa68c),
        rgb(0x8675a9),
        rgb(0xa0acde),
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
    visuals.selection.bg_fill = colors.surface.lerp_to_gamma(colors.accent, SELECTED);
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

/// The colour that goes with a severity; shape and word say the same.
pub fn severity(colors: &Colors, severity: obliquity_planning::Severity) -> Color32 {
    use obliquity_planning::Severity;
    match severity {
        Severity::Limit => colors.bad,
        Severity::Check => colors.warn,
        Severity::Reminder => colors.muted,
    }
}

/// Colours as they are seen, for tests.
#[cfg(test)]
pub(crate) mod sights {
    use egui::Color32;
    use palette::color_difference::{Ciede2000 as _, Wcag21RelativeContrast as _};
    use palette::white_point::D65;
    use palette::{IntoColor as _, Lab, LinSrgb, Srgb};

    fn linear(color: Color32) -> LinSrgb<f64> {
        Srgb::new(color.r(), color.g(), color.b()).into_format::<f64>().into_linear()
    }

    /// Sights: normal, then full deficiencies of the long, middle and short cones, in linear colours.
    ///
    /// # References
    /// Machado, Oliveira and Fernandes (2009), "A physiologically-based model for simulation of color vision deficiency",
    /// IEEE TVCG 15(6), severity 1.0; the matrices are from memory.
    pub(crate) const SIGHTS: [[[f64; 3]; 3]; 4] = [
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ];

    fn seen(color: Color32, sight: &[[f64; 3]; 3]) -> Lab<D65, f64> {
        let c = linear(color);
        let [r, g, b] =
            sight.map(|row| (row[0] * c.red + row[1] * c.green + row[2] * c.blue).clamp(0.0, 1.0));
        LinSrgb::new(r, g, b).into_color()
    }

    /// Difference of two colours as seen, CIEDE2000.
    pub(crate) fn apart(a: Color32, b: Color32, sight: &[[f64; 3]; 3]) -> f64 {
        difference(seen(a, sight), seen(b, sight))
    }

    /// CIEDE2000 of two colours in CIELAB.
    pub(crate) fn difference(a: Lab<D65, f64>, b: Lab<D65, f64>) -> f64 {
        a.difference(b)
    }

    /// Contrast as WCAG 2.1 has it, 1 to 21.
    pub(crate) fn contrast(a: Color32, b: Color32) -> f64 {
        linear(a).relative_contrast(linear(b))
    }
}

#[cfg(test)]
mod tests {
    use super::sights::{SIGHTS, apart, contrast, difference};
    use super::*;
    use palette::Lab;

    const MODES: [Mode; 2] = [Mode::Light, Mode::Dark];

    // Memory: WCAG 2.1, 1.4.3 asks 4.5 of text and 1.4.11 asks 3 of graphics.
    #[test]
    fn text_stands_out_from_all_that_it_stands_on() {
        for mode in MODES {
            let c = colors(mode);
            for behind in [c.page, c.surface, c.trough] {
                for text in [c.ink, c.muted, c.accent, c.good, c.bad, c.warn] {
                    assert!(contrast(text, behind) >= 4.5, "{mode:?} {text:?} on {behind:?}");
                }
            }
            let style = visuals(c, mode);
            for (text, behind) in [
                (c.on_accent, c.accent),
                (style.selection.stroke.color, style.selection.bg_fill),
                (c.ink, style.selection.bg_fill),
                (c.ink, style.text_edit_bg_color.unwrap_or_default()),
            ] {
                assert!(contrast(text, behind) >= 4.5, "{mode:?} {text:?} on {behind:?}");
            }
            let widgets = &style.widgets;
            for widget in
                [&widgets.noninteractive, &widgets.inactive, &widgets.hovered, &widgets.active, &widgets.open]
            {
                assert!(contrast(widget.fg_stroke.color, widget.weak_bg_fill) >= 4.5, "{mode:?} {widget:?}");
            }
            for (slot, fill) in c.strategies.into_iter().enumerate() {
                assert!(contrast(on(fill), fill) >= 4.5, "{mode:?}: the number on mark {}", slot + 1);
            }
        }
    }

    // Memory: as above. Bars stand on troughs, and troughs on cards; marks stand on the page too.
    #[test]
    fn bars_and_marks_stand_out_from_all_that_they_stand_on() {
        for mode in MODES {
            let c = colors(mode);
            for behind in [c.page, c.surface, c.trough] {
                for mark in c.strategies.into_iter().chain([c.good, c.bad, c.warn, c.accent]) {
                    assert!(contrast(mark, behind) >= 3.0, "{mode:?} {mark:?} on {behind:?}");
                }
            }
        }
    }

    /// Memory: test pairs of Sharma, Wu and Dalal (2005), "The CIEDE2000 color-difference formula", table 1, printed to four
    /// decimals; a second implementation, written apart from this one, gives the same.
    #[test]
    fn differences_match_sharma_2005() {
        let pairs = [
            ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
            ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
            ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
            ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
            ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
            ([2.0776, 0.0795, -1.1350], [0.9033, -0.0636, -0.5514], 0.9082),
        ];
        let lab = |[l, a, b]: [f64; 3]| Lab::new(l, a, b);
        for (one, other, published) in pairs {
            let found = difference(lab(one), lab(other));
            assert!((found - published).abs() < 5e-5, "{found}, {published}");
        }
    }

    // Derived: whoever lacks a cone sees greys as they are.
    #[test]
    fn every_sight_keeps_greys() {
        for row in SIGHTS.iter().flatten() {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6, "printed to six decimals: {row:?}");
        }
    }

    // Practice: colours 10 apart are told apart at a glance, also when they do not touch.
    #[test]
    fn strategies_differ_for_every_sight() {
        for mode in MODES {
            for (i, a) in colors(mode).strategies.iter().enumerate() {
                for b in &colors(mode).strategies[..i] {
                    for sight in &SIGHTS {
                        let distance = apart(*a, *b, sight);
                        assert!(distance >= 10.0, "{mode:?} {a:?} {b:?} {distance}");
                        assert!(
                            distance >= 20.0 || i >= 4,
                            "the first four: {mode:?} {a:?} {b:?} {distance}"
                        );
                    }
                }
            }
        }
    }

    // Derived: whatever the eye, the numbers of eight marks are eight.
    #[test]
    fn every_strategy_has_a_number_of_its_own() {
        let numbers: std::collections::BTreeSet<String> = (0..8).map(crate::mark::number).collect();
        assert_eq!(numbers.len(), 8);
    }
}
