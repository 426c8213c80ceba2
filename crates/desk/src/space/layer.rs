use super::Scene;
use super::ramp;
use crate::show;
use crate::units::Units;
use egui::Color32;
use obliquity_planning::{ByClass, Sample, SurfaceClass};

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
    /// Standard deviation of the place.
    SigmaHorizontal,
    /// The same of the height.
    SigmaVertical,
    /// The same along the surface's normal.
    SigmaNormal,
}

/// Colour of what is covered: it stands back.
const COVERED: Color32 = Color32::from_rgb(0xb9, 0xd2, 0xdb);
/// Colour of what is not covered although some views of it count.
const SHORT: Color32 = Color32::from_rgb(0xe3, 0x9a, 0x3c);
/// Colour of what no view that counts sees, or has no value: the ramp has none like it.
const LACKING: Color32 = Color32::from_rgb(0xc2, 0x4a, 0x14);

impl Layer {
    /// All layers, in the order of the chooser.
    pub const ALL: [Layer; 8] = [
        Layer::Covered,
        Layer::Views,
        Layer::Gsd,
        Layer::Incidence,
        Layer::Intersection,
        Layer::SigmaHorizontal,
        Layer::SigmaVertical,
        Layer::SigmaNormal,
    ];

    /// Whether it tells what the images give when they are adjusted together, which comes after coverage.
    pub fn is_of_block(self) -> bool {
        matches!(self, Layer::SigmaHorizontal | Layer::SigmaVertical | Layer::SigmaNormal)
    }

    /// The layer in the chooser.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Covered => "Covered or not",
            Layer::Views => "Counted views",
            Layer::Gsd => "Best GSD",
            Layer::Incidence => "Smallest incidence",
            Layer::Intersection => "Intersection angle",
            Layer::SigmaHorizontal => "σ horizontal",
            Layer::SigmaVertical => "σ vertical",
            Layer::SigmaNormal => "σ along normal",
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
            Layer::SigmaHorizontal => {
                "Standard deviation of the place of a point measured there, √(σx² + σy²), from the adjustment of all images"
            }
            Layer::SigmaVertical => {
                "Standard deviation of the height of a point measured there, from the adjustment of all images"
            }
            Layer::SigmaNormal => {
                "Standard deviation of a point measured there along the surface's normal: what matters on a wall"
            }
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
            Layer::SigmaHorizontal | Layer::SigmaVertical | Layer::SigmaNormal => {
                let sigmas = &scene.network.as_ref()?.samples;
                let of = match self {
                    Layer::SigmaHorizontal => &sigmas.horizontal_m,
                    Layer::SigmaVertical => &sigmas.vertical_m,
                    _ => &sigmas.normal_m,
                };
                Some(f64::from(*of.get(sample)?)).filter(|sigma_m| sigma_m.is_finite())
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
    /// The GSD required on each class: values of the GSD are told as multiples of it.
    gsd_m: ByClass<f64>,
}

/// So far apart are the shades on both sides of a required GSD.
const BREAK: f64 = 0.18;

impl Legend {
    /// The legend of a layer that fits all of some scenes, which are judged by one requirement.
    pub fn new(layer: Layer, scenes: &[&Scene], units: Units) -> Self {
        let legend = |ends, words: (String, String), marks: Vec<f64>, required: String, lacking| {
            let required_cm = scenes.first().map(|first| first.requirement.gsd_cm);
            let gsd_m = ByClass::from_fn(|class| required_cm.map_or(1.0, |cm| cm[class] / 100.0));
            let mut legend = Legend { layer, ends, words, marks, required, lacking, gsd_m };
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
                let finest = finest(scenes);
                let gsd = |m: f64| units.gsd(m);
                let parts: Vec<String> =
                    required_m.iter().map(|&(class, m)| format!("{} {}", class.name(), gsd(m))).collect();
                let required = format!("{} required, marked; equal steps are equal ratios", parts.join(", "));
                let alike = required_m.windows(2).all(|pair| pair[0].1 == pair[1].1);
                let words = match required_m.first().filter(|_| alike) {
                    Some(&(_, m)) => (gsd(COARSEST * m), gsd(finest * m)),
                    None => (
                        format!("{} × required", show::short(COARSEST)),
                        format!("{} × required", show::short(finest)),
                    ),
                };
                legend((COARSEST, finest), words, vec![1.0], required, "no view counts")
            }
            Layer::SigmaHorizontal | Layer::SigmaVertical | Layer::SigmaNormal => {
                if scenes.iter().all(|scene| scene.network.is_none()) {
                    let words = (text(""), text(""));
                    return legend((1.0, 0.1), words, Vec::new(), text(""), "the block is not adjusted yet");
                }
                let accuracy = first.requirement.accuracy;
                let required_m = match layer {
                    Layer::SigmaHorizontal => accuracy.horizontal_rmse_m(),
                    Layer::SigmaVertical => accuracy.vertical_rmse_m(),
                    _ => None,
                };
                let (low_m, high_m) = spread(layer, scenes);
                let most_m = round_up(1e4 * required_m.map_or(high_m, |m| high_m.max(m))) / 1e4;
                let least_m = (round_up(1e4 * low_m) / 1e4).min(0.5 * most_m);
                let asked = required_m.map_or_else(String::new, |m| {
                    format!("RMSE of {} required over all of it, marked; ", units.error(m))
                });
                let is_preview = |scene: &&Scene| scene.network.as_ref().is_some_and(|own| own.is_preview());
                let look = if scenes.iter().any(is_preview) { "preview from fewer tie points; " } else { "" };
                let required = format!(
                    "{look}one standard deviation, expected, not certified; {asked}equal steps are equal ratios"
                );
                let words =
                    (format!("{} or more", units.error(most_m)), format!("{} or less", units.error(least_m)));
                let marks = required_m.into_iter().collect();
                legend((most_m, least_m), words, marks, required, "not determined")
            }
        }
    }

    /// A value's place on the way from dark to light, 0 to 1.
    pub fn share(&self, value: f64) -> f64 {
        let (dark, light) = self.ends;
        if self.layer == Layer::Gsd {
            // Half of the way on each side of what is required.
            let value = value.clamp(light, dark);
            let coarser = value.ln() / dark.ln();
            let finer = value.ln() / light.ln();
            return if value > 1.0 { 0.5 * (1.0 - coarser) } else { 0.5 * (1.0 + finer) };
        }
        if self.layer == Layer::Views {
            // Whether it is three or six matters more than whether it is forty or eighty.
            return (value.max(dark) / dark).log(light / dark).clamp(0.0, 1.0);
        }
        if self.layer.is_of_block() {
            return (value.max(light) / dark).log(light / dark).clamp(0.0, 1.0);
        }
        ((value - dark) / (light - dark)).clamp(0.0, 1.0)
    }

    /// A value of a class of surface as the legend has it: a GSD as a multiple of what is required there.
    fn told(&self, class: SurfaceClass, value: f64) -> f64 {
        if self.layer == Layer::Gsd { value / self.gsd_m[class] } else { value }
    }

    /// The place on the ramp of a place on the way: they differ where the requirement breaks the ramp in two.
    fn shade(&self, share: f64) -> f64 {
        match self.layer {
            Layer::Gsd if share < 0.5 => share * (1.0 - BREAK),
            Layer::Gsd => BREAK + share * (1.0 - BREAK),
            _ => share,
        }
    }

    /// The colour at a place on the way from dark to light.
    pub fn ramp_at(&self, share: f64) -> Color32 {
        ramp(self.shade(share))
    }

    /// The colour of a value, or of none.
    pub fn color(&self, value: Option<f64>) -> Color32 {
        match (self.layer, value) {
            (Layer::Covered, Some(covered)) if covered > 0.5 => COVERED,
            (Layer::Covered, Some(_)) => SHORT,
            (_, None) => LACKING,
            (_, Some(value)) => self.ramp_at(self.share(value)),
        }
    }

    /// The colours of a scene's samples, by number.
    pub fn colors(&self, scene: &Scene) -> Vec<Color32> {
        let table: [Color32; 256] = super::ramp::table();
        let of = |(number, sample): (usize, Sample)| match self.layer.value(scene, number) {
            Some(value) if self.layer != Layer::Covered => {
                let share = self.share(self.told(sample.class, value));
                table[(255.0 * self.shade(share)).round() as usize]
            }
            value => self.color(value),
        };
        scene.site.samples().take(scene.patches.len()).enumerate().map(of).collect()
    }
}

/// A view is counted up to this multiple of what is required.
const COARSEST: f64 = 2.0;

/// The finest of a legend: what all but the finest 5 % of the samples are no finer than, as a multiple of what is required
/// on their class; a quarter or finer is told as a power of two.
fn finest(scenes: &[&Scene]) -> f64 {
    let of = |scene: &&Scene| {
        let required = scene.requirement.gsd_cm;
        let samples = scene.site.samples().take(scene.patches.len()).enumerate();
        let of = |(number, sample): (usize, Sample)| {
            Some(Layer::Gsd.value(scene, number)? / (required[sample.class] / 100.0))
        };
        samples.filter_map(of).collect::<Vec<_>>()
    };
    let mut values: Vec<f64> = scenes.iter().flat_map(of).collect();
    values.sort_by(f64::total_cmp);
    let fine = values.get(values.len() / 20).copied().unwrap_or(0.5);
    0.5_f64.powf(fine.max(1e-3).log2().abs().ceil()).min(0.5)
}

/// The classes that the site has, with the GSD required on them.
fn required_gsd(scene: &Scene) -> Vec<(SurfaceClass, f64)> {
    let own = SurfaceClass::ALL.into_iter().filter(|&class| scene.site.area_m2[class] > 0.0);
    own.map(|class| (class, scene.requirement.gsd_cm[class] / 100.0)).collect()
}

/// The value that all but the highest 5 % of the samples stay within.
fn high(layer: Layer, scenes: &[&Scene]) -> f64 {
    spread(layer, scenes).1
}

/// The values that all but the lowest and the highest 5 % of the samples stay within.
fn spread(layer: Layer, scenes: &[&Scene]) -> (f64, f64) {
    let of =
        |scene: &&Scene| (0..scene.patches.len()).filter_map(|k| layer.value(scene, k)).collect::<Vec<_>>();
    let mut values: Vec<f64> = scenes.iter().flat_map(of).collect();
    values.sort_by(f64::total_cmp);
    let at = |place: usize| values.get(place).copied().unwrap_or(0.0);
    (at(values.len() / 20), at(values.len() * 19 / 20))
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
