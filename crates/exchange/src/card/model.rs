use super::words::{azimuth, difference, gigabytes, height, minutes, percent, speed, tilt};
use obliquity_planning::{
    Aim, Attitude, Caution, Id, Outcome, Pass, PassOutcome, Scenario, SiteOutline, SpeedBound,
};

/// The set-up card as data: finished texts, to be laid out as anyone likes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Card {
    /// The strategy.
    pub id: Id,
    /// Its name.
    pub strategy: String,
    /// The scenario's name.
    pub scenario: String,
    /// The site's name.
    pub site: String,
    /// The aircraft's name.
    pub aircraft: String,
    /// Why the strategy cannot be flown as set; empty when it can.
    pub reasons: Vec<String>,
    /// In flying order.
    pub passes: Vec<CardPass>,
    /// Batteries, sorties and card space against what is on hand.
    pub on_hand: Vec<CardFigure>,
    /// Farthest distance, tallest structure and clearance.
    pub surroundings: Vec<CardFigure>,
    /// What the time on site is made of, and the sum last.
    pub time: Vec<CardFigure>,
    /// What the controller reports against what is predicted here.
    pub reports: Vec<CardReport>,
    /// What to mind, the gravest first.
    pub cautions: Vec<Caution>,
    /// Who decides.
    pub closing: &'static str,
}

/// The values of one pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardPass {
    /// Which one, and of how many.
    pub title: String,
    /// Heights, speed and overlaps.
    pub to_key_in: Vec<CardFigure>,
    /// Tilt, gimbal pitch and heading of every attitude.
    pub cameras: Vec<CardFigure>,
    /// What follows from them: base, spacing, directions, margin, counts.
    pub follows: Vec<CardFigure>,
}

/// One figure of the card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardFigure {
    /// What it is.
    pub label: String,
    /// The figure with its unit.
    pub value: String,
    /// The same in the other way of saying it: feet beside metres, gimbal pitch beside tilt.
    pub also: Option<String>,
    /// What to know about it.
    pub note: Option<String>,
    /// How it stands to what is on hand or allowed.
    pub fit: CardFit,
}

/// How a figure stands to what is on hand or allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CardFit {
    /// Nothing is held against it.
    #[default]
    Open,
    /// There is enough.
    Enough,
    /// There is not.
    Short,
}

/// A figure that the flight controller gives too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardReport {
    /// What it is.
    pub label: &'static str,
    /// As predicted here.
    pub predicted: String,
    /// As the controller reports it; nothing until it is written down.
    pub reported: Option<String>,
    /// The difference, of the prediction.
    pub difference: Option<String>,
}

const CLOSING: &str = "Figures are predictions from geometry and physics, not promises. Local rules and the remote \
                       pilot decide whether, where and how to fly.";

impl CardFigure {
    fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        let (label, value) = (label.into(), value.into());
        CardFigure { label, value, also: None, note: None, fit: CardFit::Open }
    }

    fn also(self, also: impl Into<String>) -> Self {
        CardFigure { also: Some(also.into()), ..self }
    }

    fn note(self, note: impl Into<String>) -> Self {
        CardFigure { note: Some(note.into()), ..self }
    }

    fn fits(self, fit: CardFit) -> Self {
        CardFigure { fit, ..self }
    }

    /// Value, other value and note on one line.
    pub fn sentence(&self) -> String {
        let also = self.also.as_ref().map_or_else(String::new, |also| format!(" ({also})"));
        let note = self.note.as_ref().map_or_else(String::new, |note| format!(", {note}"));
        format!("{}{also}{note}", self.value)
    }
}

impl Card {
    /// The card of one strategy.
    ///
    /// `outcome` must be of a strategy of `scenario`; any depth will do.
    pub fn new(scenario: &Scenario, outcome: &Outcome) -> Self {
        let count = outcome.passes.len();
        let pass = |(index, planned)| card_pass(scenario, outcome, planned, (index + 1, count));
        Card {
            id: outcome.strategy,
            strategy: outcome.name.clone(),
            scenario: scenario.name.clone(),
            site: scenario.site.name.clone(),
            aircraft: outcome.aircraft.clone(),
            reasons: outcome.reasons.clone(),
            passes: outcome.passes.iter().enumerate().map(pass).collect(),
            on_hand: on_hand(scenario, outcome),
            surroundings: surroundings(scenario, outcome),
            time: time(outcome),
            reports: reports(scenario, outcome),
            cautions: outcome.cautions.clone(),
            closing: CLOSING,
        }
    }
}

fn card_pass(
    scenario: &Scenario,
    outcome: &Outcome,
    planned: &PassOutcome,
    (number, count): (usize, usize),
) -> CardPass {
    let pass = scenario
        .strategy(outcome.strategy)
        .and_then(|strategy| strategy.passes.iter().find(|pass| pass.id == planned.plan.pass));
    CardPass {
        title: format!("Pass {number} of {count}: strips"),
        to_key_in: to_key_in(scenario, pass, planned),
        cameras: pass.map(|pass| cameras(pass, planned)).unwrap_or_default(),
        follows: follows(planned),
    }
}

fn to_key_in(scenario: &Scenario, pass: Option<&Pass>, planned: &PassOutcome) -> Vec<CardFigure> {
    let (layout, terms) = (&planned.plan.layout, &planned.plan.speed);
    let capped = if layout.capped { ", cut by the height ceiling" } else { "" };
    let (value, feet) = height(layout.height_m);
    let above_ground = format!("above the mean ground inside the boundary{capped}");
    let mut figures = vec![CardFigure::new("height", value).also(feet).note(above_ground)];
    if let Some(above_m) = above_take_off_m(scenario, planned) {
        let (value, feet) = height(above_m);
        figures.push(CardFigure::new("over take-off", value).also(feet).note("above the take-off point"));
    }
    let bound = format!("bound by {}", bound(terms.bound_by));
    figures.push(speed_figure(terms.speed_mps).note(bound));
    if let Some(pass) = pass {
        figures.push(CardFigure::new("forward overlap", percent(pass.forward_overlap)));
        figures.push(CardFigure::new("sidelap", percent(pass.sidelap)));
    }
    figures
}

fn speed_figure(speed_mps: f64) -> CardFigure {
    let (value, mph) = speed(speed_mps);
    CardFigure::new("speed", value).also(mph)
}

/// A length with its feet.
fn long(label: &str, length_m: f64) -> CardFigure {
    let (value, feet) = height(length_m);
    CardFigure::new(label, value).also(feet)
}

fn follows(planned: &PassOutcome) -> Vec<CardFigure> {
    let layout = &planned.plan.layout;
    let dwells = planned.plan.exposure.dwell_s.len();
    let (back_rad, cycled) = (layout.direction_rad + std::f64::consts::PI, dwells > 1);
    let base = long("air base", layout.air_base_m);
    let base = if cycled {
        let cycle_s = planned.plan.exposure.cycle_s;
        base.note(format!("between cycles of {dwells} exposures, {cycle_s:.1} s each cycle"))
    } else {
        base.note("between exposures")
    };
    let margin = if cycled {
        let note = "the strips reach as far as the tilted images need";
        CardFigure::new("margin", "none of its own").note(note)
    } else {
        long("margin", layout.margin_m).note("beyond the boundary")
    };
    let images = CardFigure::new("images", planned.image_count.to_string());
    let images = match planned.plan.skipped {
        0 => images,
        n => images.note(format!("{n} more skipped: they show nothing of the site")),
    };
    vec![
        base,
        long("strip spacing", layout.strip_spacing_m),
        CardFigure::new("strips", layout.strips.to_string()),
        CardFigure::new("strips run", azimuth(layout.direction_rad))
            .note(format!("and back {}", azimuth(back_rad))),
        margin,
        images,
        CardFigure::new("nominal GSD", format!("{:.2} cm", layout.vertical_gsd_m * 100.0))
            .note("of a level camera over level ground"),
    ]
}

/// Height of the pass over the take-off point: what a flight controller measures from.
fn above_take_off_m(scenario: &Scenario, planned: &PassOutcome) -> Option<f64> {
    let site = &scenario.site;
    let pose = planned.plan.stations.poses.first()?;
    Some(pose.position_m.z - site.terrain.height_m(site.take_off_m))
}

fn cameras(pass: &Pass, planned: &PassOutcome) -> Vec<CardFigure> {
    let strips_rad = planned.plan.layout.direction_rad;
    let figure = |(index, attitude): (usize, &Attitude)| {
        let label = match pass.attitudes.len() {
            1 => "camera".to_owned(),
            _ => format!("camera {}", index + 1),
        };
        let (value, gimbal) = tilt(attitude.tilt_deg);
        CardFigure::new(label, value).also(gimbal).note(looks(attitude, strips_rad))
    };
    pass.attitudes.iter().enumerate().map(figure).collect()
}

fn looks(attitude: &Attitude, strips_rad: f64) -> String {
    match attitude.aim {
        Aim::FromTrack { deg } => {
            let out_rad = strips_rad + deg.to_radians();
            format!(
                "looks {}, on return strips {}",
                azimuth(out_rad),
                azimuth(out_rad + std::f64::consts::PI)
            )
        }
        Aim::FromStrips { deg } => format!("looks {} on all strips", azimuth(strips_rad + deg.to_radians())),
        Aim::FromNorth { deg } => format!("looks {} on all strips", azimuth(deg.to_radians())),
    }
}

fn bound(by: SpeedBound) -> &'static str {
    match by {
        SpeedBound::User => "your own limit",
        SpeedBound::Airframe => "the airframe's top speed",
        SpeedBound::ShotInterval => "the camera's shot interval",
        SpeedBound::GimbalCycle => "the gimbal's cycle",
        SpeedBound::Blur => "motion blur",
    }
}

/// How what is needed stands to what there is.
fn fit(need: f64, have: f64) -> CardFit {
    if need <= have { CardFit::Enough } else { CardFit::Short }
}

fn on_hand(scenario: &Scenario, outcome: &Outcome) -> Vec<CardFigure> {
    let sorties = u32::try_from(outcome.flight.sorties.len()).unwrap_or(u32::MAX);
    let sets = scenario.conditions.battery_sets;
    let verdict = match sorties.saturating_sub(sets) {
        0 => "enough".to_owned(),
        short => format!("{short} short: charge on site or bring more"),
    };
    let batteries = CardFigure::new("batteries", format!("{sorties} needed"))
        .also("one a sortie")
        .note(format!("{sets} on hand: {verdict}"))
        .fits(fit(f64::from(sorties), f64::from(sets)));
    let (need, have) = (outcome.storage_gb, scenario.conditions.card_gb);
    let verdict = if need <= have { "enough" } else { "too little: bring more" };
    let space = CardFigure::new("card space", format!("{} needed", gigabytes(need)))
        .note(format!("{} on hand: {verdict}", gigabytes(have)))
        .fits(fit(need, have));
    let sorties = outcome.flight.sorties.iter().enumerate().map(|(index, sortie)| {
        let usable = if sortie.usable_s.is_finite() {
            format!("of {} before the reserve, ", minutes(sortie.usable_s))
        } else {
            String::new()
        };
        CardFigure::new(format!("sortie {}", index + 1), minutes(sortie.duration_s))
            .note(format!("{usable}{} images", sortie.exposures))
    });
    std::iter::once(batteries).chain(sorties).chain([space]).collect()
}

fn surroundings(scenario: &Scenario, outcome: &Outcome) -> Vec<CardFigure> {
    let (farthest_m, limit_m) = (outcome.flight.farthest_m, scenario.conditions.pilot_distance_m);
    let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
    let farthest = CardFigure::new("farthest", format!("{farthest_m:.0} m"))
        .also(height(farthest_m).1)
        .note(format!("from the take-off point, {beyond} the {limit_m:.0} m set for the pilot"))
        .fits(fit(farthest_m, limit_m));
    let tallest_m = SiteOutline::new(&scenario.site).ok().and_then(|outline| outline.tallest_anywhere_m);
    let Some(tallest_m) = tallest_m else {
        let none = CardFigure::new("tallest structure", "none drawn").note("look for what stands there");
        return vec![farthest, none];
    };
    let assumed = if outcome.assumed { ", assumed and not surveyed" } else { "" };
    let (value, feet) = height(tallest_m);
    let tallest = CardFigure::new("tallest structure", value)
        .also(feet)
        .note(format!("above the mean ground{assumed}"));
    let lowest = outcome.passes.iter().map(|pass| pass.plan.layout.height_m).min_by(f64::total_cmp);
    let clearance = lowest
        .map(|lowest_m| long("clearance", lowest_m - tallest_m).note("from the lowest pass to its top"));
    [farthest, tallest].into_iter().chain(clearance).collect()
}

fn time(outcome: &Outcome) -> Vec<CardFigure> {
    let time = outcome.time;
    let terms = [
        ("set-up", time.set_up_s),
        ("flight", time.flight_s),
        ("battery changes", time.swaps_s),
        ("control points", time.control_s),
        ("pack-up", time.pack_up_s),
        ("together", time.time_on_site_s()),
    ];
    terms.map(|(label, seconds)| CardFigure::new(label, minutes(seconds))).to_vec()
}

fn reports(scenario: &Scenario, outcome: &Outcome) -> Vec<CardReport> {
    let reported = scenario.strategy(outcome.strategy).and_then(|strategy| strategy.reported);
    let reported = reported.unwrap_or_default();
    let flight_s = outcome.flight.terms.flight_time_s();
    let reported_s = reported.flight_time_min.map(|min| 60.0 * min);
    let images = f64::from(outcome.image_count);
    vec![
        CardReport {
            label: "flight time",
            predicted: minutes(flight_s),
            reported: reported_s.map(minutes),
            difference: reported_s.and_then(|theirs_s| difference(theirs_s, flight_s)),
        },
        CardReport {
            label: "images",
            predicted: outcome.image_count.to_string(),
            reported: reported.image_count.map(|count| count.to_string()),
            difference: reported.image_count.and_then(|count| difference(f64::from(count), images)),
        },
    ]
}
