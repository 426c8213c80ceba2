//! What a block of images tells of its camera, and how the ground may come out bent.

use super::{Axis, Bar, BarText, Chart, Fill, Series, Tone};
use obliquity_planning::{CalibrationFigures, CameraEffect, Outcome, Unit, Units};

/// Millimetres of metres.
const MM: f64 = 1000.0;
/// Places of a drawn line on each side of the middle.
const PLACES: i32 = 40;

/// Diagrams of a block: what the camera's uncertainty does on the ground, and the section of the dome; none while the network
/// is not worked out, or where nothing in it is open.
///
/// # Units
/// - `reach_m`: from the middle of the ground to its farthest end, metres
/// - `slot`: the strategy's
///
/// # References
/// As [`CalibrationFigures::on_the_ground`], and common practice for the shape of the dome.
pub fn block_charts(outcome: &Outcome, slot: usize, reach_m: f64, units: Units) -> Vec<Chart> {
    let camera = outcome.network.as_ref().and_then(|network| network.calibration.as_ref());
    let Some(camera) = camera else { return Vec::new() };
    let gsd_m = outcome.plans().map(|plan| plan.layout.vertical_gsd_m).fold(0.0, f64::max);
    let terms = camera.on_the_ground(gsd_m);
    let dome = dome(camera, slot, reach_m, units);
    let camera = (!terms.is_empty()).then(|| camera_chart(&terms, units));
    camera.into_iter().chain(dome).collect()
}

fn camera_chart(terms: &[CameraEffect], units: Units) -> Chart {
    let shown = |metres: f64| units.shown(Unit::Millimetres, MM * metres);
    let most = terms.iter().map(|term| shown(term.ground_m)).fold(0.0, f64::max);
    let sign = units.scale(Unit::Millimetres).sign;
    // Beyond the longest bar there is room for its number.
    let across =
        Axis::new("On the ground, one standard deviation", sign, 0.0, 1.35 * most.max(f64::MIN_POSITIVE));
    let up = Axis::of_names("", terms.iter().rev().map(|term| term.name.to_owned()));
    let text = |term: &CameraEffect| match term.sigma_px {
        Some(sigma_px) => format!("{}, {sigma_px:.2} px", units.error(term.ground_m)),
        None => units.error(term.ground_m),
    };
    let told = |term: &CameraEffect| format!("{}: {}, {}", term.name, text(term), term.moves);
    let title = "What the camera's calibration leaves open".to_owned();
    let all: Vec<String> = terms.iter().map(told).collect();
    let mut chart = Chart::new(title.clone(), format!("{title}. {}", all.join("; ")), across, up);
    for (place, term) in (0..).map(f64::from).zip(terms.iter().rev()) {
        chart.bars.push(Bar {
            name: told(term),
            text: BarText::Beyond(text(term)),
            tone: Tone::Accent,
            fill: if term.sigma_px.is_some() { Fill::Solid } else { Fill::Rising },
            across: [0.0, shown(term.ground_m)],
            up: [place - 0.32, place + 0.32],
        });
    }
    chart
}

/// How the ground may come out bent, much exaggerated; nothing where that is open altogether.
///
/// # References
/// Practice: a radial error bends level ground into a bowl or a hill whose section is near a parabola. Only its height is
/// predicted; the parabola is drawn for the eye.
fn dome(camera: &CalibrationFigures, slot: usize, reach_m: f64, units: Units) -> Option<Chart> {
    let (doming_m, reach_m) = (camera.doming_m?, reach_m.max(1.0));
    let shown = |metres: f64| units.shown(Unit::Millimetres, MM * metres);
    let across = |along_m: f64| units.shown(Unit::Metres, along_m);
    let line = |name: String, tone: Tone, height_m: f64| {
        let at = |k: i32| {
            let share = f64::from(k) / f64::from(PLACES);
            [across(share * reach_m), shown(height_m * (1.0 - share * share))]
        };
        Series { name, tone, points: (-PLACES..=PLACES).map(at).collect() }
    };
    let own = Tone::Strategy(slot);
    let mut series = vec![
        line(format!("calibrated with the block: a hill of {} …", units.error(doming_m)), own, doming_m),
        line("… or a bowl as deep, one standard deviation".to_owned(), own, -doming_m),
    ];
    if let Some(per_px_m) = camera.dome_per_px_m {
        let told =
            format!("a fixed calibration, wrong by 1 px in the corner: {}", units.error(per_px_m.abs()));
        series.push(line(told, Tone::Muted, per_px_m));
    }
    let reach = series.iter().flat_map(|line| &line.points).map(|[_, up]| up.abs()).fold(0.0, f64::max);
    let reach = 1.15 * reach.max(f64::MIN_POSITIVE);
    let title = "Section of the ground as it may come out, heights exaggerated".to_owned();
    let told: Vec<&str> = series.iter().map(|line| line.name.as_str()).collect();
    let spoken = format!("{title}. {}", told.join("; "));
    let name = "From the middle of the ground";
    let along = Axis::new(name, units.scale(Unit::Metres).sign, across(-reach_m), across(reach_m));
    let up = Axis::new("Height", units.scale(Unit::Millimetres).sign, -reach, reach);
    Some(Chart { series, ..Chart::new(title, spoken, along, up) })
}
