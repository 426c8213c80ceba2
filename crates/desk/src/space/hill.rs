//! Shading by the way that a surface faces, as relief is shaded on maps.

use egui::Color32;
use glam::DVec3;

/// Light from the north-west, half-way up: common practice for relief on maps, no source.
const LIGHT: DVec3 = DVec3::new(-0.5, 0.5, std::f64::consts::FRAC_1_SQRT_2);
/// How much lighter and darker slopes get than the level.
const STRENGTH: f64 = 0.9;
/// Walls turned away from the light get no darker than this share, and nothing lighter than that.
const SHARE: (f64, f64) = (0.62, 1.12);

/// Whether the surfaces that are told about are shaded in 3D.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relief {
    /// Half as much as the rest, so that their colours stay those of the legend.
    Half,
    /// Their colours stand for values.
    None,
}

impl Relief {
    /// A colour on a surface that faces somewhere.
    pub(super) fn on(self, color: Color32, normal: DVec3) -> Color32 {
        match self {
            Relief::Half => color.lerp_to_gamma(relief(color, normal), 0.5),
            Relief::None => color,
        }
    }
}

/// How light a surface is against level ground, whose share is 1.
pub(super) fn relief_share(normal: DVec3) -> f64 {
    (1.0 + STRENGTH * (normal.normalize_or_zero().dot(LIGHT) - LIGHT.z)).clamp(SHARE.0, SHARE.1)
}

/// A colour on a surface that faces somewhere.
pub(super) fn relief(color: Color32, normal: DVec3) -> Color32 {
    let share = relief_share(normal) as f32;
    let toned = |value: u8| (f32::from(value) * share).round().clamp(0.0, 255.0) as u8;
    Color32::from_rgba_premultiplied(toned(color.r()), toned(color.g()), toned(color.b()), color.a())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: level ground keeps its colour, what faces the light is lighter, what faces away darker.
    #[test]
    fn slopes_are_told_by_their_shade() {
        let shade = |x: f64, y: f64| relief_share(DVec3::new(x, y, 1.0));
        assert!((relief_share(DVec3::Z) - 1.0).abs() < 1e-12);
        assert!(shade(-0.2, 0.2) > 1.02 && shade(0.2, -0.2) < 0.9);
        assert!((LIGHT.length() - 1.0).abs() < 1e-12);
        let grey = Color32::from_gray(200);
        assert_eq!(relief(grey, DVec3::Z), grey);
        assert!(relief(grey, DVec3::new(1.0, -1.0, 0.0)).r() < grey.r());
    }
}
