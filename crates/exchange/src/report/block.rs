//! What the images of a strategy would tell if they were adjusted together, as JSON.

use obliquity_planning::{
    BlockPart, Bridge, ByClass, CalibrationFigures, DatumDefects, ErrorSpread, ExpectedClass, InteriorTerm,
    NOT_CERTIFIED, NetworkFigures, Precision, SurfaceClass,
};
use serde_json::{Map, Value, json};

/// The block: its parts by the passes that they are of, what holds it, and more of what it tells of camera and surfaces than
/// the figures do.
///
/// # Units
/// - square metres, pixels, millimetres; shares and correlations without unit
pub(super) fn block_json(network: &NetworkFigures) -> Value {
    json!({
        "images": network.held.images,
        "tie_points": network.held.points - network.held.control,
        "control_points": network.held.control,
        "ties": network.ties.len(),
        "parts": network.parts.iter().map(|part| part_json(network, part)).collect::<Vec<_>>(),
        "loose_images": network.loose_images.len(),
        "weakest_bridge": network.bridge.as_ref().map(|bridge| bridge_json(network, bridge)),
        "open": network.held.defects.iter().map(open_json).collect::<Vec<_>>(),
        "hinges": network.held.hinges,
        "camera": network.calibration.as_ref().map(camera_json),
        "precision_mm": by_class(&network.precision, precision_json),
    })
}

/// What the standards of positional accuracy would call what is expected.
///
/// # Units
/// - centimetres for classes, millimetres at 95 %
pub(super) fn standards_json(class: &ExpectedClass) -> Value {
    json!({
        "asprs_edition_1_2014_horizontal_class_cm": class.horizontal_cm,
        "asprs_edition_1_2014_vertical_class_cm": class.vertical_cm,
        "nssda_95_mm": { "horizontal": 1000.0 * class.horizontal_at_95_m, "vertical": 1000.0 * class.vertical_at_95_m },
        "asprs_edition_2_2023_check_points": class.check_points,
        "check_points_placed": class.placed,
        "note": NOT_CERTIFIED,
    })
}

/// Passes and stations count as in `stations.csv`: from 1 and from 0.
fn part_json(network: &NetworkFigures, part: &BlockPart) -> Value {
    let mut passes: Vec<usize> = part.images.iter().map(|image| network.pass_of(*image) + 1).collect();
    passes.dedup();
    json!({
        "images": part.images.len(),
        "passes": passes,
        "carried_m2": by_class(&ByClass::from_fn(|class| Some(part.carried_m2[class])), |m2| json!(m2)),
        "coverage": by_class(&part.covered_ratio, |ratio| json!(ratio)),
    })
}

fn bridge_json(network: &NetworkFigures, bridge: &Bridge) -> Value {
    let place = |image: u32| {
        let (pass, index) = network.station_of(image);
        json!({ "pass": pass + 1, "index": index })
    };
    let images = match *bridge {
        Bridge::Image { image, .. } => vec![place(image)],
        Bridge::Pair { images, .. } => vec![place(images.0), place(images.1)],
    };
    json!({ "images": images, "parted_m2": bridge.parted_m2() })
}

/// Movements of a part that nothing holds.
fn open_json(defects: &DatumDefects) -> Value {
    json!({ "shifts": defects.shifts, "turns": defects.turns, "scales": defects.scales })
}

fn camera_json(camera: &CalibrationFigures) -> Value {
    let alike = camera.strongest.map(|(one, other, correlation)| {
        json!({ "terms": [term_name(one), term_name(other)], "correlation": correlation })
    });
    json!({
        "focal_sigma_px": camera.focal_sigma_px,
        "centre_sigma_px": camera.centre_sigma_px,
        "k1_sigma_corner_px": camera.k1_sigma_px,
        "strongest_correlation": alike,
        "of_wrong_calibration_mm_per_px": {
            "focal_level": camera.level_per_focal_px_m.map(|m| 1000.0 * m),
            "focal_dome": camera.dome_per_focal_px_m.map(|m| 1000.0 * m),
            "corner_level": camera.level_per_px_m.map(|m| 1000.0 * m),
            "corner_dome": camera.dome_per_px_m.map(|m| 1000.0 * m),
        },
        "level_sigma_mm": camera.level_m.map(|m| 1000.0 * m),
        "level_sigma_of_known_camera_mm": camera.level_of_fixed_m.map(|m| 1000.0 * m),
    })
}

fn term_name(term: InteriorTerm) -> &'static str {
    match term {
        InteriorTerm::Focal => "f",
        InteriorTerm::CentreX => "cx",
        InteriorTerm::CentreY => "cy",
        InteriorTerm::K1 => "k1",
        InteriorTerm::K2 => "k2",
        InteriorTerm::K3 => "k3",
        InteriorTerm::P1 => "p1",
        InteriorTerm::P2 => "p2",
    }
}

fn precision_json(precision: &Precision) -> Value {
    let spread = |of: &ErrorSpread| json!({ "p50": 1000.0 * of.p50_m, "p95": 1000.0 * of.p95_m, "rms": 1000.0 * of.rms_m });
    json!({
        "horizontal": spread(&precision.horizontal),
        "vertical": spread(&precision.vertical),
        "normal": spread(&precision.normal),
        "determined": precision.determined_ratio,
    })
}

fn by_class<T>(of: &ByClass<Option<T>>, value: impl Fn(&T) -> Value) -> Value {
    let entry =
        |class: SurfaceClass| (class.name().to_owned(), of[class].as_ref().map_or(Value::Null, &value));
    Value::Object(SurfaceClass::ALL.into_iter().map(entry).collect::<Map<_, _>>())
}
