use egui::Color32;

/// Darkest and lightest colour of the ramp, and what the line between them is drawn towards: lightness, a, b.
///
/// The way leads from a dark petrol past a dusty plum to a pale straw. Blue to yellow is what all usual kinds of
/// colour sight tell apart, and lightness rises all along.
const FROM: [f64; 3] = [0.31, -0.030, -0.045];
const TOWARDS: [f64; 3] = [0.61, 0.095, -0.075];
const TO: [f64; 3] = [0.925, 0.0, 0.085];

/// Pieces in which the length of the way is measured.
const PIECES: usize = 64;

/// Lightness, a and b at a share of the way, 0 to 1: equal shares are equal steps in the Oklab colour space.
///
/// # References
/// Ottosson, "A perceptual color space for image processing", 2020 (constants from memory).
pub fn ramp_lab(share: f64) -> [f64; 3] {
    let points: Vec<[f64; 3]> = (0..=PIECES).map(|k| curve(k as f64 / PIECES as f64)).collect();
    let lengths: Vec<f64> = points.windows(2).map(|pair| apart(pair[0], pair[1])).collect();
    let mut left = share.clamp(0.0, 1.0) * lengths.iter().sum::<f64>();
    for (k, &length) in lengths.iter().enumerate() {
        if left <= length || k + 1 == lengths.len() {
            let part = (left / length).min(1.0);
            return std::array::from_fn(|axis| {
                points[k][axis] + part * (points[k + 1][axis] - points[k][axis])
            });
        }
        left -= length;
    }
    TO
}

/// The colour at a share of the way, 0 to 1: dark for little, light for much.
pub fn ramp(share: f64) -> Color32 {
    let [r, g, b] = linear(ramp_lab(share)).map(encoded);
    Color32::from_rgb(r, g, b)
}

/// Many colours of the ramp, evenly from its dark to its light end.
pub(super) fn table<const N: usize>() -> [Color32; N] {
    std::array::from_fn(|k| ramp(k as f64 / (N.max(2) - 1) as f64))
}

/// A quadratic Bézier curve.
fn curve(t: f64) -> [f64; 3] {
    let weights = [(1.0 - t) * (1.0 - t), 2.0 * t * (1.0 - t), t * t];
    std::array::from_fn(|k| weights[0] * FROM[k] + weights[1] * TOWARDS[k] + weights[2] * TO[k])
}

fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]) * (a[k] - b[k])).sum::<f64>().sqrt()
}

/// Linear red, green and blue of an Oklab colour.
fn linear([lightness, a, b]: [f64; 3]) -> [f64; 3] {
    let l = (lightness + 0.3963377774 * a + 0.2158037573 * b).powi(3);
    let m = (lightness - 0.1055613458 * a - 0.0638541728 * b).powi(3);
    let s = (lightness - 0.0894841775 * a - 1.2914855480 * b).powi(3);
    [
        4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
        -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
        -0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s,
    ]
}

fn encoded(value: f64) -> u8 {
    let value = value.clamp(0.0, 1.0);
    let gamma = if value <= 0.0031308 { 12.92 * value } else { 1.055 * value.powf(1.0 / 2.4) - 0.055 };
    (255.0 * gamma).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: equal shares are equal steps, none of which gets darker; measured between nine colours, within the
    /// 1 % that 64 straight pieces of the curve leave.
    #[test]
    fn steps_are_even_and_lightness_only_rises() {
        let colors: Vec<[f64; 3]> = (0..=8).map(|k| ramp_lab(f64::from(k) / 8.0)).collect();
        let steps: Vec<f64> = colors.windows(2).map(|pair| apart(pair[0], pair[1])).collect();
        let mean = steps.iter().sum::<f64>() / 8.0;
        assert!(steps.iter().all(|step| (step / mean - 1.0).abs() < 0.02), "{steps:?}");
        assert!(colors.windows(2).all(|pair| pair[1][0] > pair[0][0] + 0.04), "{colors:?}");
    }

    /// Derived: every colour of the ramp can be shown, so that none is bent on its way to the screen.
    #[test]
    fn every_colour_can_be_shown() {
        for k in 0..=32 {
            let rgb = linear(ramp_lab(f64::from(k) / 32.0));
            assert!(rgb.iter().all(|v| (-1e-3..=1.001).contains(v)), "{k}: {rgb:?}");
        }
    }

    /// Derived: without colour at all (luminance only) neighbouring eighths still differ, so that no kind of colour
    /// sight loses the order.
    #[test]
    fn luminance_alone_keeps_the_order() {
        let luminance = |share: f64| {
            let [r, g, b] = linear(ramp_lab(share));
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        for k in 0..8 {
            let (a, b) = (luminance(f64::from(k) / 8.0), luminance(f64::from(k + 1) / 8.0));
            assert!(b > 1.15 * a, "{k}: {a} {b}");
        }
    }
}
