//! The tables of an export, its camera and its scene.

use super::Sampled;
use obliquity_planning::{Brown, ByClass, Flight, Outcome, Scenario, Site, SiteModel, SurfaceClass};
use serde_json::{Value, json};
use std::io::{self, Write};

/// Heads of the tables, and the scene's first line up to where it may change.
pub(super) const STATIONS: &str = "pass,index,time_s,x_m,y_m,z_m,heading_deg,tilt_deg,roll_deg";
pub(super) const SAMPLES: &str = "sample,surface,x_m,y_m,z_m,nx,ny,nz,area_m2,views,best_gsd_cm,max_intersection_deg,covered,sigma_h_mm,sigma_z_mm,sigma_n_mm";
pub(super) const SCENE: &str = "# triangles that hide; metres east, north, up";

/// `stations.csv`.
pub(super) fn stations(out: &mut dyn Write, outcome: &Outcome, flight: &Flight) -> io::Result<()> {
    writeln!(out, "{STATIONS}")?;
    for (pass, plan) in outcome.plans().enumerate() {
        let times = flight.station_time_s.get(pass).map_or(&[][..], Vec::as_slice);
        for (index, pose) in plan.stations.poses.iter().enumerate() {
            let at = pose.position_m;
            let [heading, tilt, roll] = [pose.heading_rad, pose.tilt_rad, pose.roll_rad].map(f64::to_degrees);
            let time = times.get(index).map_or_else(String::new, f64::to_string);
            let (pass, x, y, z) = (pass + 1, at.x, at.y, at.z);
            writeln!(out, "{pass},{index},{time},{x},{y},{z},{heading},{tilt},{roll}")?;
        }
    }
    Ok(())
}

/// `samples.csv`. The three columns of precision are empty where it is not worked out or nothing is determined.
pub(super) fn samples(out: &mut dyn Write, sampled: &Sampled<'_>) -> io::Result<()> {
    writeln!(out, "{SAMPLES}")?;
    let figures = &sampled.figures.samples;
    for sample in sampled.site.samples() {
        // A normal's −0 is written as 0.
        let (at, n) = (sample.position_m, sample.normal + 0.0);
        let row = sample.number as usize;
        let gsd_m = f64::from(figures.best_gsd_m[row]);
        let gsd_cm = if gsd_m.is_finite() { (gsd_m * 100.0).to_string() } else { String::new() };
        let [h_mm, z_mm, n_mm] = sigmas_mm(sampled.outcome, row);
        let intersection_deg = f64::from(figures.max_intersection_rad[row]).to_degrees();
        writeln!(
            out,
            "{row},{},{},{},{},{},{},{},{},{},{gsd_cm},{intersection_deg},{},{h_mm},{z_mm},{n_mm}",
            sample.class.name(),
            at.x,
            at.y,
            at.z,
            n.x,
            n.y,
            n.z,
            sample.area_m2,
            figures.views[row],
            u8::from(figures.covered[row]),
        )?;
    }
    Ok(())
}

/// Standard deviations of a sample: of its place, its height and along its normal.
fn sigmas_mm(outcome: &Outcome, sample: usize) -> [String; 3] {
    let Some(network) = &outcome.network else { return [const { String::new() }; 3] };
    let of = &network.samples;
    [&of.horizontal_m, &of.vertical_m, &of.normal_m].map(|sigmas_m| {
        let sigma_m = sigmas_m.get(sample).copied().filter(|sigma_m| sigma_m.is_finite());
        sigma_m.map_or_else(String::new, |sigma_m| (1000.0 * f64::from(sigma_m)).to_string())
    })
}

/// `camera.json`; nothing if the outcome's aircraft is not in the scenario.
pub(super) fn camera_json(scenario: &Scenario, outcome: &Outcome) -> Option<Value> {
    let strategy = scenario.strategy(outcome.strategy)?;
    let camera = scenario.equipment.aircraft(strategy.aircraft)?.camera.model();
    let centre_px = camera.principal_point_px();
    let (requirement, rules) = (&scenario.requirement, scenario.requirement.views);
    // A view counts up to twice the GSD that is required of its surface.
    let max_gsd_cm = ByClass::from_fn(|class: SurfaceClass| 2.0 * requirement.gsd_cm[class]);
    let mut told = json!({
        "width_px": camera.width_px,
        "height_px": camera.height_px,
        "focal_length_px": camera.focal_length_px,
        "cx_px": centre_px.x,
        "cy_px": centre_px.y,
        "max_incidence_deg": rules.max_incidence_deg,
        "max_gsd_cm": {
            "ground": max_gsd_cm.ground,
            "roof": max_gsd_cm.roof,
            "wall": max_gsd_cm.wall,
            "underside": max_gsd_cm.underside,
        },
        "min_views": rules.min_views,
        "min_intersection_deg": rules.min_intersection_deg,
        "max_link_deg": rules.max_link_deg,
    });
    if !camera.lens.is_none() {
        let Brown { k1, k2, k3, p1, p2 } = camera.lens;
        told["distortion"] = json!({ "k1": k1, "k2": k2, "k3": k3, "p1": p1, "p2": p2 });
    }
    Some(told)
}

/// `frame.json`: what the coordinates of the other files are.
pub(super) fn frame_json(site: &Site) -> Value {
    let origin = site
        .origin
        .map(|place| json!({ "latitude_deg": place.latitude_deg, "longitude_deg": place.longitude_deg }));
    json!({
        "axes": "x to the east, y to the north, z up, in metres about the origin; azimuthal equidistant on WGS 84",
        "origin": origin,
        "z_datum": "the site's own: the one that its terrain is in, which no file states; take differences, or heights above ground_at_take_off_m",
        "ground_at_take_off_m": site.terrain.height_m(site.take_off_m),
        "route_heights": "route.kml and route.geojson: metres above the ground below each vertex",
    })
}

/// `scene.obj`: the triangles that hide things, three corners each.
pub(super) fn scene(out: &mut dyn Write, site: &SiteModel) -> io::Result<()> {
    let triangles = site.triangles();
    writeln!(out, "{SCENE}; heights in the site's own datum: frame.json")?;
    for corner in triangles.iter().flatten() {
        writeln!(out, "v {} {} {}", corner.x, corner.y, corner.z)?;
    }
    for first in (1..=triangles.len() * 3).step_by(3) {
        writeln!(out, "f {first} {} {}", first + 1, first + 2)?;
    }
    Ok(())
}
