//! Draws the conditions: what is set to the left, what follows from it for the strategy in focus to the right.

use super::dial::{dial, from_text, wind_text};
use super::given::{ConditionsForm, Put};
use super::hours::{self, DayAsk, DayStrip};
use super::light::{exposure_text, light_facts, sentence};
use super::mission;
use super::shade::{Shades, shade_rows};
use crate::amendment::Subject;
use crate::board::Headline;
use crate::first_use::beside_or_below;
use crate::form::{self, CARD, Named, Rows};
use crate::theme::{self, space};
use crate::units::Units;
use crate::wind_advice::{self, Advice, AdviceAsk};
use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use obliquity_planning::atmosphere::Air;
use obliquity_planning::light::NoLight;
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    At, Charging, Conditions, HeightRule, Id, Knob, KnobGroup, OnSite, Outcome, Site, Strategy, Supply, knob,
};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct GivenConditions<'a> {
    /// The conditions as they stand.
    pub conditions: &'a Conditions,
    /// The site that they hold on.
    pub site: &'a Site,
    /// The board's sentence.
    pub headline: Headline<'a>,
    /// The strategy in focus.
    pub focus: Option<&'a Strategy>,
    /// Battery sets that it has on hand.
    pub sets: u32,
    /// What is known of it at once, or why nothing is.
    pub outcome: Option<Result<&'a Outcome, &'a str>>,
    /// Whether its strips are best turned.
    pub advice: Advice<'a>,
    /// The hours of the day, where there is a date and a place.
    pub hours: Option<DayStrip<'a>>,
    /// The shade while it is flown, where it was worked out.
    pub shades: Shades<'a>,
    /// The units on the screen.
    pub units: Units,
}

impl GivenConditions<'_> {
    /// What stands in the scenario's conditions for a number that a strategy may have otherwise.
    fn usual(&self, own: &Knob) -> Option<f64> {
        let (_, field) = own.id.0.rsplit_once('.')?;
        let usual = knob::OF_CONDITIONS.iter().flat_map(|group| group.knobs);
        let usual = usual.into_iter().find(|knob| knob.id.0.strip_prefix("conditions.") == Some(field))?;
        usual.read(self.conditions)
    }
}

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum ConditionsAsk {
    /// Other conditions in place of the present ones.
    Put {
        /// What the edit is called.
        what: Subject,
        /// All of them.
        conditions: Box<Conditions>,
    },
    /// The strategy in focus with other numbers of its own.
    PutOwn {
        /// What the edit is called.
        what: Subject,
        /// The strategy.
        strategy: Id,
        /// Its own numbers.
        on_site: OnSite,
    },
    /// Something about the direction of its strips.
    Advice(AdviceAsk),
    /// Something about the hours of the day.
    Hours(DayAsk),
    /// Work out which walls lie in shade.
    WorkOutShade,
}

/// Draws the conditions into what is left of the window.
pub fn ui(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let page = Frame::new().fill(theme::of(ui).page);
    let edges = page.inner_margin(Margin::symmetric(16, 10));
    Panel::top("conditions head")
        .frame(edges)
        .show_separator_line(false)
        .show(ui, |ui| given.headline.text(ui));
    egui::CentralPanel::default().frame(page.inner_margin(Margin::symmetric(16, 4))).show(ui, |ui| {
        ScrollArea::vertical().id_salt("conditions").auto_shrink(false).show(ui, |ui| {
            columns(ui, given, asks);
            ui.add_space(space::PAGE);
        });
    });
}

/// The cards in as many columns as there is room for.
fn columns(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let room = |count: f32| count * CARD + (count - 1.0) * space::GROUP;
    let width = ui.available_width();
    beside_or_below(ui, room(2.0), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
        if width >= room(4.0) {
            column(ui, |ui| air_and_rule(ui, given, asks));
            column(ui, |ui| crew_and_batteries(ui, given, asks));
            column(ui, |ui| day(ui, given, asks));
            column(ui, |ui| shade(ui, given, asks));
        } else if width >= room(3.0) {
            column(ui, |ui| {
                air_and_rule(ui, given, asks);
                batteries(ui, given, asks);
            });
            column(ui, |ui| crew_and_spread(ui, given, asks));
            column(ui, |ui| day_and_shade(ui, given, asks));
        } else {
            column(ui, |ui| {
                air_and_rule(ui, given, asks);
                crew_and_batteries(ui, given, asks);
            });
            column(ui, |ui| day_and_shade(ui, given, asks));
        }
    });
}

fn crew_and_batteries(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    batteries(ui, given, asks);
    crew_and_spread(ui, given, asks);
}

fn day_and_shade(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    day(ui, given, asks);
    shade(ui, given, asks);
}

fn column(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(CARD);
        content(ui);
    });
}

fn form<'a>(given: &GivenConditions<'a>) -> ConditionsForm<'a> {
    ConditionsForm { conditions: given.conditions, site: given.site, units: given.units }
}

/// Draws with something that takes changed conditions.
fn putting(asks: &mut Vec<ConditionsAsk>, draw: impl FnOnce(&mut Put<'_>)) {
    draw(&mut |what, conditions| {
        asks.push(ConditionsAsk::Put { what, conditions: Box::new(conditions) });
    });
}

fn group(ui: &mut Ui, of: ConditionsForm<'_>, group: &KnobGroup, put: &mut Put<'_>) {
    if let Some((knob, conditions)) = Rows::plain(of.units).group(ui, group, of.conditions) {
        put(Subject::input(&knob, At::Scenario, knob.whole), conditions);
    }
}

fn air_and_rule(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let (of, conditions) = (form(given), given.conditions);
    form::card(ui, "Wind and air", "Where the aircraft flies, the same for all strategies", |ui| {
        putting(asks, |put| {
            group(ui, of, &knob::WIND, put);
            wind_direction(ui, given, put);
            group(ui, of, &knob::AIR, put);
            ui.horizontal(|ui| {
                if let Some(from_deg) = dial(ui, conditions.wind, given.units) {
                    put("Wind direction".into(), from(conditions, Some(from_deg)));
                }
                ui.vertical(|ui| what_blows(ui, given));
            });
        });
        let mut asked = Vec::new();
        wind_advice::ui(ui, &given.advice, &mut asked);
        asks.extend(asked.into_iter().map(ConditionsAsk::Advice));
    });
    putting(asks, |put| rule(ui, of, put));
}

/// Whether the wind's direction is known.
fn wind_direction(ui: &mut Ui, given: &GivenConditions<'_>, put: &mut Put<'_>) {
    let choices = [
        ("unknown", "Predicted in the direction with the middle time of 16; draws come from all round"),
        ("known", "As the forecast says"),
    ];
    let known = given.conditions.wind.from_deg.is_some();
    let hint = "Where the wind comes from, if the forecast says so";
    let named = Named { name: "Direction", spoken: "Wind direction known", hint };
    match form::choice(ui, named, &choices, Some(usize::from(known))) {
        Some(0) => put("Wind direction known".into(), from(given.conditions, None)),
        Some(_) => {
            // The one that the prediction is flown in: hardly anything changes until another is set.
            let from_deg = flown_from_deg(given).unwrap_or(0.0).round();
            put("Wind direction known".into(), from(given.conditions, Some(from_deg)));
        }
        None => {}
    }
}

/// Conditions with the wind from a direction, or from an unknown one.
fn from(conditions: &Conditions, from_deg: Option<f64>) -> Conditions {
    Conditions { wind: Wind { from_deg, ..conditions.wind }, ..conditions.clone() }
}

/// The direction of the wind that the strategy in focus is predicted in.
fn flown_from_deg(given: &GivenConditions<'_>) -> Option<f64> {
    given.outcome?.ok()?.flight()?.wind.from_deg
}

fn what_blows(ui: &mut Ui, given: &GivenConditions<'_>) {
    let conditions = given.conditions;
    ui.add_space(space::ROW);
    ui.add(
        Label::new(RichText::new(wind_text(conditions.wind, given.units)).font(theme::body_strong())).wrap(),
    );
    if conditions.wind.from_deg.is_none()
        && let Some(from_deg) = flown_from_deg(given)
    {
        let text = format!("Predicted from the {}, the middle time of 16 directions.", from_text(from_deg));
        form::muted(ui, &text);
    }
    let density = Air::on_the_day(conditions.altitude_m, conditions.temperature_c).density_kgpm3();
    let standard = Air::standard(0.0).density_kgpm3();
    let share = 100.0 * density / standard;
    let text = format!(
        "Air density {density:.3} kg/m³, {share:.0} % of the standard at sea level: dry air at the standard pressure of \
         the altitude and the temperature given."
    );
    form::muted(ui, &text);
}

/// The height rule, and the limit that the user has found out.
fn rule(ui: &mut Ui, of: ConditionsForm<'_>, put: &mut Put<'_>) {
    let conditions = of.conditions;
    let present = conditions.height_rule;
    let own_m = if let HeightRule::Custom { limit_m } = present { limit_m } else { 120.0 };
    let choices = [
        (HeightRule::EuOpen, "120 m from the closest surface", "Regulation (EU) 2019/947, Art. 4"),
        (HeightRule::UsPart107, "400 ft above ground level", "14 CFR 107.51"),
        (HeightRule::Custom { limit_m: own_m }, "A limit of my own", "Above the ground, as you found it out"),
    ];
    let note =
        "What the cautions remind of, and what counts as twilight; local rules and the remote pilot decide";
    form::card(ui, "Height rule", note, |ui| {
        for (rule, text, hint) in choices {
            if ui.radio(rule == present, text).on_hover_text(hint).clicked() && rule != present {
                put("Height rule".into(), Conditions { height_rule: rule, ..conditions.clone() });
            }
        }
        group(ui, of, &knob::HEIGHT_LIMIT, put);
    });
}

fn crew_and_spread(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let of = form(given);
    let note = "Standard deviations: what the 10 to 90 % bands of time, sorties and energy follow from";
    putting(asks, |put| {
        form::card(ui, "Crew", "What it does on site besides flying and changing batteries", |ui| {
            group(ui, of, &knob::CREW, put);
        });
        let note = "How well the crew measures control points and check points; for accuracy";
        form::card(ui, knob::SURVEY.name, note, |ui| {
            group(ui, of, &knob::SURVEY, put);
        });
    });
    own_crew(ui, given, asks);
    putting(asks, |put| {
        form::card(ui, "Limits", "What plans keep to or are cautioned of", |ui| {
            group(ui, of, &knob::PLAN_LIMITS, put);
        });
        form::card(ui, "Uncertainty", note, |ui| {
            group(ui, of, &knob::SPREAD, put);
        });
    });
}

/// What the strategy in focus has otherwise than the scenario.
fn own_crew(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let Some(strategy) = given.focus else { return };
    let title = format!("Only in {}", strategy.name);
    form::card(ui, &title, knob::STRATEGY_ON_SITE.note, |ui| {
        let of = format!(" of {}", strategy.name);
        let begins_at = |knob: &Knob| given.usual(knob);
        let rows = Rows { of: &of, begins_at: &begins_at, ..Rows::plain(given.units) };
        if let Some((knob, changed)) = rows.group(ui, &knob::STRATEGY_ON_SITE, strategy) {
            let what = Subject::input(&knob, At::Strategy(strategy.id), format!("{}{of}", knob.whole));
            let (strategy, on_site) = (strategy.id, changed.on_site);
            asks.push(ConditionsAsk::PutOwn { what, strategy, on_site });
        }
    });
}

fn batteries(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let of = form(given);
    putting(asks, |put| {
        form::card(ui, "Batteries", "Sets of one aircraft; the sorties use them in turn", |ui| {
            group(ui, of, &knob::SETS, put);
            supply(ui, of, put);
            group(ui, of, &knob::CHARGING, put);
            form::muted(ui, &charging_note(given));
        });
    });
}

fn supply(ui: &mut Ui, of: ConditionsForm<'_>, put: &mut Put<'_>) {
    let choices = [
        ("none", "Every set is flown once"),
        ("mains", "A socket on site"),
        ("generator", "A generator that is brought along"),
    ];
    let at = match of.conditions.charging.map(|charging| charging.supply) {
        None => 0,
        Some(Supply::Mains) => 1,
        Some(Supply::Generator) => 2,
    };
    let hint = "Where the power to charge sets between sorties comes from";
    let named = Named { name: "Charging", spoken: "Charging on site", hint };
    if let Some(place) = form::choice(ui, named, &choices, Some(at)) {
        let before = of.conditions.charging.unwrap_or(Charging::usual(Supply::Mains));
        let charging = match place {
            0 => None,
            1 => Some(Charging { supply: Supply::Mains, ..before }),
            _ => Some(Charging { supply: Supply::Generator, ..before }),
        };
        put("Charging on site".into(), Conditions { charging, ..of.conditions.clone() });
    }
}

/// How the sets suffice for the strategy in focus.
fn charging_note(given: &GivenConditions<'_>) -> String {
    let Some(Ok(outcome)) = given.outcome else { return "Nothing is worked out yet.".to_owned() };
    let Some(flight) = outcome.flight() else { return format!("{} cannot be flown as set.", outcome.name) };
    let sorties = u32::try_from(flight.sorties.len()).unwrap_or(u32::MAX);
    let (sets, waits_s) = (given.sets, flight.waits_s());
    let needs = format!(
        "{} takes {} with {}",
        outcome.name,
        crate::show::counted(sorties, "sortie", "sorties"),
        crate::show::counted(sets, "set", "sets")
    );
    if sorties <= sets {
        format!("{needs}: none needs charging.")
    } else if given.conditions.charging.is_none() {
        format!("{needs}, and none is charged on site: {} too few.", sorties - sets)
    } else if waits_s > 0.5 {
        format!("{needs}; the crew waits {} for the charger.", crate::show::duration_s(waits_s))
    } else {
        format!("{needs}; charged sets are ready in time.")
    }
}

fn day(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let of = form(given);
    let note = "For the sun over the site, twilight, shadows and exposure";
    form::card(ui, "Day and light", note, |ui| {
        putting(asks, |put| {
            mission::mission(ui, of, put);
            mission::light_level(ui, of, put);
        });
    });
    if let Some(strip) = &given.hours {
        asks.extend(hours::ui(ui, strip).map(ConditionsAsk::Hours));
    }
    let Some(outcome) = given.outcome else { return };
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(why) => {
            form::card(ui, "Result", "", |ui| form::colored(ui, why, theme::of(ui).bad));
            return;
        }
    };
    form::card(ui, "Result", &format!("For {}, by the site's clock", outcome.name), |ui| {
        match &outcome.light {
            Ok(light) => {
                for fact in light_facts(light) {
                    form::figure(ui, fact.name, &fact.text);
                }
            }
            Err(why) => form::muted(ui, &no_light(why)),
        }
        form::figure(ui, "Exposure time", &exposure_text(outcome));
    });
}

/// Why nothing is said about the light, and where that is mended.
fn no_light(why: &NoLight) -> String {
    let text = sentence(&why.to_string());
    match why {
        NoLight::NoMission => "Nothing is said about the light: tick Plan for a date above.".to_owned(),
        NoLight::NoOrigin => format!(
            "{text} A boundary imported from GeoJSON or KML and a picture that lies on the earth bring one."
        ),
        NoLight::Clock(_) | NoLight::NoSun { .. } | NoLight::NotFlown => text,
    }
}

fn shade(ui: &mut Ui, given: &GivenConditions<'_>, asks: &mut Vec<ConditionsAsk>) {
    let Some(Ok(Outcome { light: Ok(light), .. })) = given.outcome else { return };
    let note = "While it is flown; shadows on level ground, walls judged at their middle. Open a structure for its walls.";
    form::card(ui, "Shadows and shade", note, |ui| match given.shades {
        Shades::Unasked => {
            let hint = "The site has many walls; it takes a moment";
            if ui.button("Work out the shade").on_hover_text(hint).clicked() {
                asks.push(ConditionsAsk::WorkOutShade);
            }
        }
        Shades::Working => form::muted(ui, "The shade is being worked out."),
        Shades::Found(found) => match found {
            Err(why) => form::muted(ui, &sentence(why)),
            Ok([]) => form::muted(ui, "Nothing stands on the site."),
            Ok(found) => {
                let rows = shade_rows(found, light, given.units);
                let list = |ui: &mut Ui| {
                    for (at, row) in rows.iter().enumerate() {
                        shade_row(ui, at, row);
                    }
                };
                if rows.len() > WHOLE_LIST {
                    ScrollArea::vertical().id_salt("shade").max_height(600.0).show(ui, list);
                } else {
                    list(ui);
                }
            }
        },
    });
}

/// A longer list of structures scrolls within its card.
const WHOLE_LIST: usize = 40;

fn shade_row(ui: &mut Ui, at: usize, row: &super::ShadeRow) {
    let title = RichText::new(&row.name).font(theme::body_strong());
    egui::CollapsingHeader::new(title).id_salt(("shade of", at)).show(ui, |ui| {
        if row.each.is_empty() {
            form::muted(ui, "No wall lies in shade.");
        }
        for wall in &row.each {
            form::muted(ui, wall);
        }
    });
    form::muted(ui, &format!("{}; {}", row.shadow, row.walls));
}
