//! What drawing says: one line of help, the figures beside the pointer, the place under it.

use super::held::{Grip, bearing_deg};
use super::outlines::Outlines;
use super::snap::{Closed, sides};
use super::state::Draw;
use super::tool::{DrawForm, Tool};
use crate::target::Target;
use crate::units::{Unit, Units};
use glam::DVec2;
use obliquity_exchange::LocalFrame;
use obliquity_planning::wording::{count, trimmed};
use obliquity_planning::{Site, polygon};

/// What can be done now, in one line.
pub fn hint(draw: &Draw, outlines: &Outlines, units: Units) -> String {
    if draw.held().is_none() && !draw.typed().is_empty() {
        return format!("{}▏ Enter takes it, Esc drops it.", draw.typed());
    }
    let why = draw.snap().map(|snap| snap.why.as_str()).filter(|why| !why.is_empty());
    let snapped = why.map(|why| format!("Snapped: {why}; Ctrl: no snap. "));
    snapped.unwrap_or_default() + &hint_of_tool(draw, outlines, units)
}

fn hint_of_tool(draw: &Draw, outlines: &Outlines, units: Units) -> String {
    if let Some(held) = draw.held() {
        return match held.grip {
            Grip::Turn => "Let go where it is to stay. Ctrl: no snapping. Esc: back.".to_owned(),
            _ => "It snaps to right angles, corners and edges; Ctrl: no snapping. Esc: back.".to_owned(),
        };
    }
    match draw.tool() {
        Tool::Select => hint_of_chosen(draw, outlines, units),
        Tool::TakeOff => {
            "Click where the aircraft takes off, or type where: 20e 5n from the origin.".to_owned()
        }
        Tool::FurtherTakeOff => {
            "Click each further place to take off at, or type where: 20e 5n from the origin. Esc: done."
                .to_owned()
        }
        Tool::ControlPoint => "Click each place that the crew measures. Esc: done.".to_owned(),
        Tool::Cut if draw.corner().is_none() => {
            "Click inside an outline how far its nearest corner is cut out, or that corner first.".to_owned()
        }
        Tool::Cut => "Click how far the cut reaches, or type it along both sides: 10 x 6.".to_owned(),
        Tool::Line => hint_of_corners(draw, "Enter or a click on the last corner ends the line"),
        _ => match draw.form() {
            DrawForm::Corners => hint_of_corners(draw, "Enter or a click on the first corner closes it"),
            DrawForm::Rectangle => hint_of_rectangle(draw),
            DrawForm::Side => hint_of_side(draw),
            DrawForm::Circle if draw.placed_m().is_empty() => {
                "Click the middle, or drag from it to the edge; or type where: 20e 5n.".to_owned()
            }
            DrawForm::Circle => "Click a place on the edge, or type the radius.".to_owned(),
        },
    }
}

fn hint_of_corners(draw: &Draw, end: &str) -> String {
    if draw.placed_m().is_empty() {
        "Click the first corner, or type where from the origin: 20e 5n.".to_owned()
    } else {
        format!("Click the next corner, or type 12.5, 20e 5n or 12.5 at 90. {end}. Backspace: one back.")
    }
}

fn hint_of_rectangle(draw: &Draw) -> String {
    let along = match draw.grain() {
        Some(grain) => {
            format!("Along an edge of {}; A over another edge, or over none: along the screen.", grain.of)
        }
        None => {
            "Along the screen; A over an edge: along it. W: by side and width, turned as drawn.".to_owned()
        }
    };
    let now = if draw.placed_m().is_empty() {
        "Drag from corner to opposite corner, or click both; or type where: 20e 5n."
    } else {
        "Click the opposite corner, or type both sides: 30 x 12."
    };
    format!("{now} {along}")
}

fn hint_of_side(draw: &Draw) -> String {
    match draw.placed_m().len() {
        0 => "Click one end of a side, or type where from the origin: 20e 5n. R: by opposite corners.",
        1 => "Click the other end of this side, or type its length, 12.5 at 90, or both sides: 30 x 12.",
        _ => "Click how wide it is, or type it.",
    }
    .to_owned()
}

fn hint_of_chosen(draw: &Draw, outlines: &Outlines, units: Units) -> String {
    let Some(target) = draw.chosen() else {
        return "Click a shape to choose it, or Tab to it. Drag the ground to move the plan; the wheel zooms.".to_owned();
    };
    if draw.fresh() == Some(target) {
        let height_m = draw.structure().and_then(|id| outlines.height_m(id)).unwrap_or_default();
        let height = units.text(Unit::Metres, height_m);
        return format!("Type its height and press Enter; it stands {height} high until then.");
    }
    if let Some(at) = draw.corner() {
        let side = "or 12.5 for the side that ends here";
        return format!(
            "Corner {}: arrows move it (Shift: finely); type 20e 5n, {side}. Ins adds, Del removes.",
            at + 1
        );
    }
    match target {
        Target::Structure(_) => "Drag its corners, the middle of a side, or all of it. Type a height, or 20e 5n to move it. Q, E: turn. Y: copy.",
        Target::TakeOff | Target::Further { .. } | Target::ControlPoint(_) => "Drag it, move it by the arrows (Shift: finely), or type 20e 5n to move it so far.",
        _ => "Drag its corners, or the middle of a side for a new one. Enter: its corners by keys. Q, E: turn.",
    }
    .to_owned()
}

/// The figures beside the pointer, line by line: what is measured, then why it snaps, or what is wrong.
pub fn beside_pointer(draw: &Draw, outlines: &Outlines, units: Units) -> Vec<String> {
    if !draw.typed().is_empty() {
        return vec![format!("{}▏", draw.typed())];
    }
    if let Some(Target::Structure(id)) = draw.fresh() {
        let height = units.text(Unit::Metres, outlines.height_m(id).unwrap_or_default());
        return vec![format!("height {height}: type another")];
    }
    let mut lines = match draw.held() {
        Some(_) => of_held(draw, units),
        None if draw.is_drawing() => of_drawn(draw, outlines, units),
        None => Vec::new(),
    };
    let why = draw.snap().map(|snap| snap.why.clone()).filter(|why| !why.is_empty());
    lines.extend(why);
    lines
}

fn of_held(draw: &Draw, units: Units) -> Vec<String> {
    let Some(held) = draw.held() else { return Vec::new() };
    let now_m = &held.now_m;
    let count = now_m.len();
    match held.grip {
        Grip::Corner(at) => {
            let mut lines = Vec::new();
            let sides = [(at + count - 1) % count, (at + 1) % count];
            let ends = sides.into_iter().filter(|end| held.target.is_closed() || end.abs_diff(at) == 1);
            let lengths: Vec<String> = ends.map(|end| fine(units, now_m[at].distance(now_m[end]))).collect();
            lines.push(lengths.join(" · "));
            if held.target.is_closed() {
                lines.push(area(units, polygon::area_m2(now_m)));
            }
            lines
        }
        Grip::Whole => {
            let by_m =
                now_m.first().copied().unwrap_or_default() - held.from_m.first().copied().unwrap_or_default();
            vec![format!("moved {}, {:03.0}°", fine(units, by_m.length()), bearing_deg(by_m))]
        }
        Grip::Turn => {
            let side = |ring: &[DVec2]| {
                ring.get(1).copied().unwrap_or_default() - ring.first().copied().unwrap_or_default()
            };
            let by_deg = side(now_m).angle_to(side(&held.from_m)).to_degrees();
            vec![format!("turned {by_deg:.1}°")]
        }
    }
}

fn of_drawn(draw: &Draw, outlines: &Outlines, units: Units) -> Vec<String> {
    let Some(at_m) = draw.snap().map(|snap| snap.at_m) else { return Vec::new() };
    if draw.tool() == Tool::Cut {
        return of_cut(draw, outlines, at_m, units);
    }
    let Some(&last_m) = draw.placed_m().last() else { return Vec::new() };
    let along = at_m - last_m;
    let length = fine(units, along.length());
    let circle = draw.form() == DrawForm::Circle;
    let mut lines = match (circle, draw.placed_m().len()) {
        (true, _) => vec![format!("radius {length}")],
        (false, 1) if draw.form() == DrawForm::Rectangle => {
            let outline = draw.outline_m(Some(at_m));
            let side = |from: usize, to: usize| fine(units, outline[from].distance(outline[to]));
            vec![format!("{} x {}", side(0, 1), side(1, 2))]
        }
        (false, 2) if draw.form() == DrawForm::Side => {
            let outline = draw.outline_m(Some(at_m));
            let wide_m = outline.get(1).zip(outline.get(2)).map_or(0.0, |(a, b)| a.distance(*b));
            vec![format!("width {}", fine(units, wide_m))]
        }
        _ => vec![format!("{length}, {:03.0}°", bearing_deg(along))],
    };
    let outline = draw.outline_m(Some(at_m));
    if draw.tool() == Tool::Line {
        let way_m: f64 = sides(&outline, Closed::No).map(|(a, b)| a.distance(b)).sum();
        lines.push(format!("{} in all", fine(units, way_m)));
    } else if outline.len() >= 3 {
        lines.push(area(units, polygon::area_m2(&outline)));
    }
    lines
}

fn of_cut(draw: &Draw, outlines: &Outlines, at_m: DVec2, units: Units) -> Vec<String> {
    let from = draw.cut_corner(outlines, at_m, 0.0);
    let ring = from.and_then(|(target, _)| outlines.corners_m(target));
    let (Some(ring), Some((_, at))) = (ring, from) else { return Vec::new() };
    let Some(cut) = super::form::notched_m(&ring, at, at_m) else { return Vec::new() };
    let corner_m = ring[at];
    vec![
        format!(
            "{} x {}",
            fine(units, corner_m.distance(cut[at])),
            fine(units, corner_m.distance(cut[at + 2]))
        ),
        area(units, polygon::area_m2(&cut)),
    ]
}

/// A place: metres east and north of the origin, and latitude and longitude where there is an origin on the earth.
pub fn place_text(site: &Site, at_m: DVec2, units: Units) -> String {
    let local = format!("{} E, {} N", fine(units, at_m.x), fine(units, at_m.y));
    match site.origin {
        Some(origin) => {
            let at = LocalFrame::new(origin).to_geo(at_m);
            let north = if at.latitude_deg < 0.0 { 'S' } else { 'N' };
            let east = if at.longitude_deg < 0.0 { 'W' } else { 'E' };
            format!("{local} · {:.6}° {north}, {:.6}° {east}", at.latitude_deg.abs(), at.longitude_deg.abs())
        }
        None => local,
    }
}

/// An area of land, of a small one in square metres or feet.
fn area(units: Units, area_m2: f64) -> String {
    let foot_m = units.stored(Unit::Metres, 1.0);
    let (small, sign) = if units.is_us() { (area_m2 / (foot_m * foot_m), "ft²") } else { (area_m2, "m²") };
    if small < 10_000.0 { format!("{} {sign}", count(small)) } else { units.area(area_m2) }
}

/// A length to the decimetre.
fn fine(units: Units, m: f64) -> String {
    format!("{}{}", trimmed(units.shown(Unit::Metres, m), 1), units.suffix(Unit::Metres)).replace('-', "−")
}

/// What a shape is called where its name stands alone: "Boundary", "Shed".
pub fn title(outlines: &Outlines, target: Target) -> String {
    let name = outlines.name(target);
    let mut letters = name.strip_prefix("the ").unwrap_or(&name).chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a shape is, for whoever does not see it: "Shed: building, 12 m high, 4 corners".
pub fn spoken(outlines: &Outlines, target: Target, units: Units) -> String {
    let name = title(outlines, target);
    let corners = outlines.corners_m(target).unwrap_or_default();
    let what = match target {
        Target::Boundary => units.area(polygon::area_m2(&corners)),
        Target::Structure(id) => {
            let height = units.text(Unit::Metres, outlines.height_m(id).unwrap_or_default());
            let is_deck = outlines
                .structure(id)
                .is_some_and(|s| matches!(s.kind, obliquity_planning::StructureKind::Deck { .. }));
            format!("{}, {height} high", if is_deck { "deck" } else { "building" })
        }
        Target::KeepOut(_) => "flown round".to_owned(),
        Target::Line { .. } => "line".to_owned(),
        Target::TakeOff | Target::Further { .. } | Target::ControlPoint(_) => {
            let at_m = corners.first().copied().unwrap_or_default();
            return format!("{name}: {} E, {} N", fine(units, at_m.x), fine(units, at_m.y));
        }
    };
    format!("{name}: {what}, {} corners", corners.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use obliquity_planning::GeoPoint;

    // Derived: a degree of latitude is some 111 km, so that 1,113 m north are about a hundredth of one.
    #[test]
    fn a_place_is_told_on_the_site_and_on_the_earth() {
        let site = obliquity_exchange::parse_scenario(include_str!("../../../../../assets/demo.ron"), "demo")
            .map(|demo| (*demo.site).clone())
            .expect("the demo");
        let nowhere = Site { origin: None, ..site };
        let at_m = DVec2::new(-12.34, 1113.0);
        assert_eq!(place_text(&nowhere, at_m, Units::Metric), "−12.3 m E, 1113 m N");
        let origin = Some(GeoPoint { latitude_deg: -31.0, longitude_deg: -98.0 });
        let text = place_text(&Site { origin, ..nowhere }, at_m, Units::Metric);
        assert!(text.contains("· 30.98996") && text.ends_with("° W") && text.contains("° S"), "{text}");
    }
}
