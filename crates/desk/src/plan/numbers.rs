//! The numbers of the shape that is chosen, beside the plan.

use super::draw::{Draw, Outlines, title};
use crate::amendment::Subject;
use crate::form::{self, Enabled, Kind, Named};
use crate::site_panel::{GivenSite, SiteAsk, SiteState, name_input, structure_card};
use crate::target::Target;
use crate::theme::space;
use crate::units::{Unit, Units};
use egui::{ScrollArea, Ui, vec2};
use glam::DVec2;
use obliquity_planning::{PointRole, Scenario, Site, limits, polygon, wording};
use std::sync::Arc;

/// How wide they are.
pub(super) const WIDTH: f32 = form::CARD + 12.0;

/// Draws them into all of `ui`; what is changed is asked for as drawing asks.
pub(super) fn ui(ui: &mut Ui, scenario: &Scenario, (outlines, units): (&Outlines, Units), draw: &mut Draw) {
    let Some(target) = draw.chosen() else { return };
    ScrollArea::vertical().id_salt("numbers of the shape").auto_shrink(false).show(ui, |ui| {
        ui.spacing_mut().item_spacing = vec2(space::ROW, space::ROW);
        match target {
            Target::Structure(id) => structure(ui, scenario, (outlines, units), id, draw),
            _ => {
                form::card(ui, &title(outlines, target), &note(outlines, target, units), |ui| {
                    names(ui, outlines, target, draw);
                    if target.is_point() {
                        role(ui, outlines, target, draw);
                        place(ui, (outlines, units), target, draw);
                    } else {
                        corners(ui, (outlines, units), target, draw);
                    }
                });
            }
        }
        buttons(ui, outlines, target, draw);
    });
}

fn note(outlines: &Outlines, target: Target, units: Units) -> String {
    let corners_m = outlines.corners_m(target).unwrap_or_default();
    match target {
        Target::Boundary => format!("What is to be captured: {}", units.area(polygon::area_m2(&corners_m))),
        Target::KeepOut(_) => format!("Flown round: {}", units.area(polygon::area_m2(&corners_m))),
        Target::Line { .. } => "The middle of what the corridor pass captures".to_owned(),
        Target::TakeOff => "Where the aircraft takes off and lands, and the pilot stands".to_owned(),
        Target::Further { .. } => {
            "Sorties start here where the pilot sees the most of them; the crew moves between".to_owned()
        }
        Target::ControlPoint(at) => match outlines.site.control_points.get(at).map(|point| point.role) {
            Some(PointRole::Check) => {
                "A place that the crew measures and the adjustment is held against".to_owned()
            }
            _ => "A place that the crew measures and the adjustment is held by".to_owned(),
        },
        Target::Structure(_) => String::new(),
    }
}

fn structure(
    ui: &mut Ui,
    scenario: &Scenario,
    (outlines, units): (&Outlines, Units),
    id: obliquity_planning::Id,
    draw: &mut Draw,
) {
    let given = GivenSite { scenario, spacing: None, units };
    let state = SiteState { chosen: Some(id), ..SiteState::default() };
    let mut asks = Vec::new();
    structure_card(ui, &given, &state, &mut asks);
    for ask in asks {
        if let SiteAsk::Put { what, site } = ask {
            draw.put_outlines(what, with_site(outlines, *site));
        }
    }
}

fn with_site(outlines: &Outlines, site: Site) -> Outlines {
    Outlines { site: Arc::new(site), ..outlines.clone() }
}

fn names(ui: &mut Ui, outlines: &Outlines, target: Target, draw: &mut Draw) {
    let mut site = (*outlines.site).clone();
    let whole = outlines.name(target);
    let named = match target {
        Target::KeepOut(at) => site.keep_outs.get_mut(at).map(|keep_out| &mut keep_out.name),
        Target::ControlPoint(at) => site.control_points.get_mut(at).map(|point| &mut point.name),
        _ => None,
    };
    let Some(name) = named else { return };
    if let Some(new) = name_input(ui, (target, "name"), name, &format!("Name of {whole}")) {
        *name = new;
        draw.put_outlines(Subject::drawn(target, format!("name of {whole}")), with_site(outlines, site));
    }
}

/// What a measured place is for.
fn role(ui: &mut Ui, outlines: &Outlines, target: Target, draw: &mut Draw) {
    const ROLES: [PointRole; 2] = [PointRole::Control, PointRole::Check];
    const CHOICES: [(&str, &str); 2] = [
        ("control point", "Its coordinates go into the adjustment"),
        (
            "check point",
            "Its coordinates are kept out of the adjustment, which is held against them afterwards",
        ),
    ];
    let Target::ControlPoint(at) = target else { return };
    let mut site = (*outlines.site).clone();
    let Some(point) = site.control_points.get_mut(at) else { return };
    let spoken = format!("Use of {}", outlines.name(target));
    let named = Named { name: "Used as", spoken: &spoken, hint: "What the crew measures it for" };
    let chosen = ROLES.iter().position(|role| *role == point.role);
    if let Some(picked) = form::choice(ui, named, &CHOICES, chosen) {
        point.role = ROLES[picked];
        draw.put_outlines(Subject::drawn(target, wording::within(&spoken)), with_site(outlines, site));
    }
}

fn corners(ui: &mut Ui, (outlines, units): (&Outlines, Units), target: Target, draw: &mut Draw) {
    let corners_m = outlines.corners_m(target).unwrap_or_default();
    let changed = form::corners(ui, &outlines.name(target), &corners_m, target.fewest_corners(), units);
    if let Some((what, corners_m)) = changed {
        draw.put_outlines(Subject::drawn(target, what), outlines.with_corners(target, &corners_m));
    }
}

fn place(ui: &mut Ui, (outlines, units): (&Outlines, Units), target: Target, draw: &mut Draw) {
    let Some(at_m) = outlines.corners_m(target).and_then(|corners| corners.first().copied()) else { return };
    let of = outlines.name(target);
    let kind = Kind { unit: Unit::Metres, decimals: 1, range: limits::COORDINATE_M };
    for (axis, name) in ["East", "North"].into_iter().enumerate() {
        let spoken = format!("{name} of {of}");
        let named = Named { name, spoken: &spoken, hint: "Of the site's origin" };
        if let Some(value) = form::number(ui, named, kind, at_m[axis], units) {
            let mut at_m: DVec2 = at_m;
            at_m[axis] = value;
            let what = Subject::drawn(target, format!("move {of}"));
            draw.put_outlines(what, outlines.with_corners(target, &[at_m]));
        }
    }
}

fn buttons(ui: &mut Ui, outlines: &Outlines, target: Target, draw: &mut Draw) {
    let name = outlines.name(target);
    let single = matches!(target, Target::Boundary | Target::TakeOff | Target::Line { .. });
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = space::ROW;
        if !single
            && form::small(ui, "Copy", &format!("Copy {name}"), "A copy beside it (key Y)", Enabled::Yes)
        {
            draw.copy(outlines);
        }
        let removable =
            matches!(target, Target::KeepOut(_) | Target::Further { .. } | Target::ControlPoint(_));
        if removable
            && form::small(ui, "Remove", &format!("Remove {name}"), "Take it out (key Del)", Enabled::Yes)
        {
            draw.remove(outlines);
        }
        if form::small(ui, "Done", "Choose nothing", "Back to the view angles (Esc)", Enabled::Yes) {
            draw.choose(None);
        }
    });
}
