//! Where the site lies on the earth: latitude and longitude of its zero, or of another place of it.

use super::ask::{GivenSite, SiteAsk, SiteState};
use super::known::KnownPlace;
use crate::form::{self, Kind, Named};
use crate::inputs::Marked;
use crate::theme::space;
use crate::units::Unit;
use egui::{Align, ComboBox, Layout, Ui};
use glam::DVec2;
use obliquity_exchange::LocalFrame;
use obliquity_planning::limits::{LATITUDE_DEG, LONGITUDE_DEG, Range};
use obliquity_planning::{GeoPoint, Site};

/// The card.
pub(super) fn card(ui: &mut Ui, given: &GivenSite<'_>, state: &mut SiteState, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    let note = "Latitude and longitude of the origin, the zero of all coordinates. Light, exports to maps and terrain or \
                pictures on the earth need it";
    form::card(ui, "Place on earth", note, |ui| {
        let of = if state.known.at_m(site).is_some() { state.known } else { KnownPlace::Origin };
        state.known = of;
        let at_m = of.at_m(site).unwrap_or_default();
        choose(ui, site, state);
        let shown = site.origin.map_or_else(
            || state.place.unwrap_or(GeoPoint { latitude_deg: 0.0, longitude_deg: 0.0 }),
            |origin| if at_m == DVec2::ZERO { origin } else { LocalFrame::new(origin).to_geo(at_m) },
        );
        let marked = Marked::before(ui);
        let typed = numbers(ui, given, &of.name(site), shown);
        if site.origin.is_some() {
            if typed != shown {
                asks.push(put(site, Some(LocalFrame::with(typed, at_m).origin())));
            }
            // Away from where the place was put a moment ago: a second click must not take it back.
            ui.with_layout(Layout::right_to_left(Align::Min), |ui| {
                let remove = ui.button("Remove the place on earth");
                if remove.on_hover_text("The site lies nowhere then; its metres stay as they are").clicked() {
                    asks.push(put(site, None));
                    state.place = None;
                }
            });
            return;
        }
        if typed != shown {
            state.place = Some(typed);
        }
        let ready = state.place.is_some() && !marked.since(ui);
        let button = ui.add_enabled(ready, egui::Button::new("Put the site there"));
        if button.on_disabled_hover_text("Type latitude and longitude first").clicked() {
            asks.push(put(site, Some(LocalFrame::with(typed, at_m).origin())));
        }
    });
}

fn choose(ui: &mut Ui, site: &Site, state: &mut SiteState) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::ROW;
        ui.label("Known of");
        let name = state.known.name(site);
        let combo = ComboBox::from_id_salt("known place").selected_text(&name).width(180.0);
        let response = combo.show_ui(ui, |ui| {
            for place in KnownPlace::all(site) {
                ui.selectable_value(&mut state.known, place, place.name(site));
            }
        });
        form::spoken(ui, &response.response, &format!("Place that is known on earth: {name}"));
    });
}

fn numbers(ui: &mut Ui, given: &GivenSite<'_>, of: &str, shown: GeoPoint) -> GeoPoint {
    let number = |ui: &mut Ui, name: &str, hint: &str, range: Range, value: f64| {
        let spoken = format!("{name} of {of}");
        let kind = Kind { unit: Unit::Degrees, decimals: 7, range };
        form::number(ui, Named { name, spoken: &spoken, hint }, kind, value, given.units).unwrap_or(value)
    };
    let north = "Decimal degrees (WGS 84), south of the equator below 0";
    let east = "Decimal degrees (WGS 84), west of Greenwich below 0";
    GeoPoint {
        latitude_deg: number(ui, "Latitude", north, LATITUDE_DEG, shown.latitude_deg),
        longitude_deg: number(ui, "Longitude", east, LONGITUDE_DEG, shown.longitude_deg),
    }
}

fn put(site: &Site, origin: Option<GeoPoint>) -> SiteAsk {
    let what = "the site's place on earth".to_owned();
    SiteAsk::Put { what: what.into(), site: Box::new(Site { origin, ..site.clone() }) }
}
