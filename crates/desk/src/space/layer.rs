use super::Scene;
use super::ramp;
use crate::show;
use crate::units::Units;
use egui::Color32;
use obliquity_planning::{SurfaceClass, ViewLimits};

/// What the colours of the surfaces tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Layer {
    /// Covered or not.
    #[default]
    Covered,
    /// Number of counted views.
    Views,
    /// GSD of the best counted view.
    Gsd,
    /// Least incidence of a counted view.
    Incidence,
    /// Largest angle between two counted views.
    Intersection,
}

/// Colour of what is covered: it stands back.
const COVERED: Color32 = Color32::from_rgb(0xb9, 0xd2, 0xdb);
/// Colour of what is not covered although some views of it count.
const SHORT: Color32 = Color32::from_rgb(0xe3, 0x9a, 0x3c);
/// Colour of what no view that counts sees, or has no value: the ramp has none like it.
const LACKING: Color32 = Color32::from_rgb(0xc2, 0x4a, 0x14);

/// Walls are this much darker where colours do not stand for values, so that solids look solid.
const SIDE_SHADE: f32 = 0.12;

impl Layer {
    /// All layers, in the order of the chooser.
    pub const ALL: [Layer; 5] =
        [Layer::Covered, Layer::Views, Layer::Gsd, Layer::Incidence, Layer::Intersection];

    /// The layer in the chooser.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Covered => "Covered or not",
            Layer::Views => "Counted views",
            Layer::Gsd => "Best GSD",
            Layer::Incidence => "Smallest incidence",
            Layer::Intersection => "Intersection angle",
        }
    }

    /// What it tells, in a sentence.
    pub fn hint(self) -> &'static str {
        match self {
            Layer::Covered => "Where the views are enough, and from directions far enough apart",
            Layer::Views => "From how many exposures a place is seen well enough to count",
            Layer::Gsd => "Size of a pixel on the surface in the best view that counts",
            Layer::Incidence => "How far from square on the squarest view that counts is",
            Layer::Intersection => "Largest angle between two views that count",
        }
    }

    /// A sample's value; nothing where it has none.
    pub fn value(self, scene: &Scene, sample: usize) -> Option<f64> {
        let samples = &scene.views.samples;
        let views = *samples.views.get(sample)?;
        match self {
            Layer::Covered => (views > 0).then(|| f64::from(u8::from(samples.covered[sample]))),
            Layer::Views => (views > 0).then(|| f64::from(views)),
            Layer::Gsd => Some(f64::from(samples.best_gsd_m[sample])).filter(|gsd| gsd.is_finite()),
            Layer::Incidence => Some(f64::from(samples.least_incidence_rad[sample]).to_degrees())
                .filter(|incidence| incidence.is_finite()),
            Layer::Intersection => {
                (views > 1).then(|| f64::from(samples.max_intersection_rad[sample]).to_degrees())
            }
        }
    }
}

/// What a layer's colours stand for. Light is always the better end.
#[derive(Debug, Clone, PartialEq)]
pub struct Legend {
    /// The layer.
    pub layer: Layer,
    /// The value at the dark end and at the light end.
    pub ends: (f64, f64),
    /// The dark end and the light end in words.
    pub words: (String, String),
    /// Places of the requirement on the way from dark to light, 0 to 1.
    pub marks: Vec<f64>,
    /// What is required, and that it is marked.
    pub required: String,
    /// What the colour beside the ramp stands for.
    pub lacking: &'static str,
}

impl Legend {
    /// The legend of a layer that fits all of some scenes, which are judged by one requirement.
    pub fn new(layer: Layer, scenes: &[&Scene], units: Units) -> Self {
        let legend = |ends, words: (String, String), marks: Vec<f64>, required: String, lacking| {
            let mut legend = Legend { layer, ends, words, marks, required, lacking };
            legend.marks = legend.marks.iter().map(|&value| legend.share(value)).collect();
            legend
        };
        let text = |text: &str| text.to_owned();
        let Some(first) = scenes.first() else {
            return legend((0.0, 1.0), (text(""), text("")), Vec::new(), text(""), "no view counts");
        };
        let rules = first.requirement.views;
        match layer {
            Layer::Covered => {
                let words = (text("not covered, though some views count"), text("covered"));
                legend((0.0, 1.0), words, Vec::new(), text(""), "no view counts")
            }
            Layer::Views => {
                let least = f64::from(rules.min_views);
                let most = round_up(high(layer, scenes).max(2.0 * least));
                let required = format!("{} required, marked; equal steps double", show::short(least));
                let words = (text("1"), format!("{} or more", show::short(most)));
                legend((1.0, most), words, vec![least], required, "no view counts")
            }
            Layer::Incidence => {
                let most = rules.max_incidence_deg;
                let words = (format!("{}°", show::short(most)), text("0°, square on"));
                let limit = format!("views more slanted than {}° do not count", show::short(most));
                legend((most, 0.0), words, Vec::new(), limit, "no view counts")
            }
            Layer::Intersection => {
                let least = rules.min_intersection_deg;
                let required = format!("{}° required, marked", show::short(least));
                // Two views that count are at most twice the greatest incidence apart.
                let most = (2.0 * rules.max_incidence_deg).min(180.0);
                let words = (text("0°"), format!("{}°", show::short(most)));
                legend((0.0, most), words, vec![least], required, "fewer than two views count")
            }
            Layer::Gsd => {
                let required_m = required_gsd(first);
                let limits = ViewLimits::from(&first.requirement);
                let worst = required_m.iter().map(|&(class, _)| limits.max_gsd_m[class]).fold(0.0, f64::max);
                let gsd = |m: f64| units.gsd(m);
                let parts: Vec<String> =
                    required_m.iter().map(|&(class, m)| format!("{} {}", class.name(), gsd(m))).collect();
                let required = format!("{} required, marked", parts.join(", "));
                let marks = required_m.iter().map(|&(_, m)| m).collect();
                legend((worst, 0.0), (gsd(worst), text("0")), marks, required, "no view counts")
            }
        }
    }

    /// A value's place on the way from dark to light, 0 to 1.
    pub fn share(&self, value: f64) -> f64 {
        let (dark, light) = self.ends;
        if self.layer == Layer::Views {
            // Whether it is three or six matters more than whether it is forty or eighty.
            return (value.max(dark) / dark).log(light / dark).clamp(0.0, 1.0);
        }
        ((value - dark) / (light - dark)).clamp(0.0, 1.0)
    }

    /// The colour of a value, or of none.
    pub fn color(&self, value: Option<f64>) -> Color32 {
        match (self.layer, value) {
            (Layer::Covered, Some(covered)) if covered > 0.5 => COVERED,
            (Layer::Covered, Some(_)) => SHORT,
            (_, None) => LACKING,
            (_, Some(value)) => ramp(self.share(value)),
        }
    }

    /// The colours of a scene's samples, by number.
    pub fn colors(&self, scene: &Scene) -> Vec<Color32> {
        let table: [Color32; 256] = super::ramp::table();
        let of = |sample| match self.layer.value(scene, sample) {
            Some(value) if self.layer != Layer::Covered => {
                table[(255.0 * self.share(value)).round() as usize]
            }
            value => self.color(value),
        };
        let samples = scene.site.samples().zip((0..scene.patches.len()).map(of));
        let shade = |(sample, color): (obliquity_planning::Sample, Color32)| {
            let is_side = self.layer == Layer::Covered && sample.class == SurfaceClass::Wall;
            if is_side { color.lerp_to_gamma(Color32::BLACK, SIDE_SHADE) } else { color }
        };
        samples.map(shade).collect()
    }
}

/// The classes that the site has, with the GSD required on them.
fn required_gsd(scene: &Scene) -> Vec<(SurfaceClass, f64)> {
    let own = SurfaceClass::ALL.into_iter().filter(|&class| scene.site.area_m2[class] > 0.0);
    own.map(|class| (class, scene.requirement.gsd_cm[class] / 100.0)).collect()
}

/// The value that all but the highest 5 % of the samples stay within.
fn high(layer: Layer, scenes: &[&Scene]) -> f64 {
    let of =
        |scene: &&Scene| (0..scene.patches.len()).filter_map(|k| layer.value(scene, k)).collect::<Vec<_>>();
    let mut values: Vec<f64> = scenes.iter().flat_map(of).collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() * 19 / 20).copied().unwrap_or(0.0)
}

/// The nearest of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten that is not less.
fn round_up(value: f64) -> f64 {
    let power = 10_f64.powf(value.max(1.0).log10().floor());
    let steps = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0];
    steps.map(|step| step * power).into_iter().find(|step| *step >= value).unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theme::sights::{SIGHTS, apart};

    /// Practice: colours 10 apart by CIEDE2000 are told apart at a glance.
    #[test]
    fn classes_are_told_apart_by_every_sight() {
        for sight in &SIGHTS {
            for (a, b) in [(COVERED, SHORT), (COVERED, LACKING), (SHORT, LACKING)] {
                assert!(apart(a, b, sight) >= 10.0, "{a:?} {b:?} {}", apart(a, b, sight));
            }
            for k in 0..=64 {
                let shade = ramp(f64::from(k) / 64.0);
                assert!(apart(shade, LACKING, sight) >= 10.0, "{k}: {}", apart(shade, LACKING, sight));
            }
        }
    }
}
