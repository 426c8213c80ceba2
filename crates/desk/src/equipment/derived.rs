//! What follows from an aircraft's numbers.

use crate::units::Units;
use obliquity_planning::Aircraft;
use obliquity_planning::light::{diffraction_disc_m, hyperfocal_m};

/// Something that follows from an aircraft's numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Derived {
    /// On the screen, beside the row.
    pub name: String,
    /// How it is worked out.
    pub hint: &'static str,
    /// The figure.
    pub text: String,
}

/// Height that the derived figures are given at.
const AT_M: f64 = 100.0;

/// Wavelength that the eye and most sensors see best.
const GREEN_M: f64 = 550e-9;

/// How many figures follow from an aircraft's numbers.
pub(super) const DERIVED: usize = 7;

/// What follows from an aircraft's numbers.
pub fn derived(aircraft: &Aircraft, units: Units) -> [Derived; DERIVED] {
    let model = aircraft.camera.model();
    let gsd_m = AT_M / model.focal_length_px;
    let side = |px: u32| units.length(f64::from(px) * gsd_m);
    let view_deg = |px: u32| 2.0 * (f64::from(px) / 2.0 / model.focal_length_px).atan().to_degrees();
    let at = units.length(AT_M);
    let row = |name: String, hint, text| Derived { name, hint, text };
    let of_aperture = |told: &dyn Fn(f64) -> String| {
        aircraft.camera.metering.map_or_else(|| "–".to_owned(), |metering| told(metering.f_number))
    };
    [
        row(
            "Pixels of an image".to_owned(),
            "Width × height.",
            format!("{:.1} million", aircraft.camera.megapixels()),
        ),
        row(
            "Field of view".to_owned(),
            "Across × along the flight: twice the arctangent of half the side over the focal length, both in pixels.",
            format!("{:.0}° × {:.0}°", view_deg(model.width_px), view_deg(model.height_px)),
        ),
        row(
            format!("GSD at {at}"),
            "Pixel pitch × height / focal length, for a nadir camera above level ground.",
            units.gsd(gsd_m),
        ),
        row(
            format!("Footprint at {at}"),
            "Ground that one nadir image shows, across × along the flight: pixels × GSD.",
            format!("{} × {}", side(model.width_px), side(model.height_px)),
        ),
        row(
            "Usable flying time".to_owned(),
            "Endurance × (1 − reserve) of one battery set.",
            format!("{:.1} min", aircraft.airframe.usable_flying_time_s() / 60.0),
        ),
        row(
            "Diffraction disc".to_owned(),
            "Diameter of the disc to which diffraction spreads a point: 2.44 × wavelength (550 nm) × f-number; needs the \
             aperture.",
            of_aperture(&|f_number| {
                format!("{:.1} px", diffraction_disc_m(GREEN_M, f_number) / aircraft.camera.pixel_pitch_m())
            }),
        ),
        row(
            "Near focus limit".to_owned(),
            "Half the hyperfocal distance, focal length² / (f-number × 2 pixels): nearer things are blurred when the lens \
             is focused for the horizon; needs the aperture.",
            of_aperture(&|f_number| {
                let circle_m = 2.0 * aircraft.camera.pixel_pitch_m();
                units.length(hyperfocal_m(aircraft.camera.focal_length_mm / 1000.0, f_number, circle_m) / 2.0)
            }),
        ),
    ]
}
