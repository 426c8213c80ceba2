use super::model::{Band, Bar, Cell, Limit, Row, Side, Standing, Subject, Whisker};
use crate::figures::{Freshness, Known};
use crate::show;
use crate::units::{GsdUnit, Units};
use obliquity_planning::{
    Band as Likely, Better, ClassFigures, GsdSpread, Id, Judgement, MeasureId, Outcome, Scenario,
    SurfaceClass, Timing, Unit, measure, wording,
};

/// A figure before it is put on its row's scale.
struct Raw {
    bar: RawBar,
    text: String,
    note: Option<String>,
    standing: Standing,
    /// How sure it is: lower and upper end of the middle eight of ten draws.
    likely: Option<[f64; 2]>,
}

enum RawBar {
    None,
    Length(f64),
    Spread([f64; 3]),
}

/// What a row is about.
struct RowSpec {
    id: MeasureId,
    reference: Option<Id>,
    name: &'static str,
    unit_label: String,
    hint: String,
    required: Option<f64>,
    fails: Side,
    /// The least right end of the scale, in the figure's unit.
    at_least: f64,
    source: Source,
    /// How sure it is.
    likely: Option<fn(&Timing) -> Option<Likely>>,
    /// How its figures are written, where not as their measure's are.
    form: Option<wording::Form>,
}

/// Which outcome a figure is read from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Source {
    /// The one that follows the sliders.
    Quick,
    /// The one with coverage.
    Views,
}

/// The five bands, in their order.
pub(super) fn bands(scenario: &Scenario, subjects: &[Subject<'_>], units: Units) -> Vec<Band> {
    let classes = classes(scenario, subjects);
    vec![
        Band {
            title: "Coverage",
            note: "share of the area seen well, from enough angles",
            hint: "How much of the ground, the roofs and the walls is seen well enough to be modelled: by enough \
                   images, squarely and finely enough, from directions that can be matched and still differ. Counted \
                   sample by sample with what hides what; the rules stand in the requirement. Common practice.",
            rows: classes.iter().map(|&class| coverage(scenario, subjects, class)).collect(),
        },
        Band {
            title: "GSD",
            note: match units.gsd_unit() {
                GsdUnit::Centimetres => "5th – 50th – 95th percentile, cm",
                GsdUnit::Inches => "5th – 50th – 95th percentile, inches",
            },
            hint: "Ground sample distance that the surfaces really get: the side of a pixel's area on the surface, in \
                   the best counted view, from the projection itself. The bar spans 90 % of the area that is seen, \
                   the line in it is the median; the requirement is held against the coarse end.",
            rows: classes.iter().map(|&class| gsd(scenario, subjects, class, units)).collect(),
        },
        Band {
            title: "Time",
            note: "whiskers: 8 of 10 draws, estimated",
            hint: "Flight from take-off to landing, time on site with set-up, battery changes and pack-up, and the \
                   battery sets and the energy it takes. From the route, leg by leg, in the wind that is set. Whiskers \
                   go from the 10th to the 90th percentile of 1,000 draws of wind, speed, turns, batteries and the \
                   crew's times: an estimate that rests on how far these are said to spread.",
            rows: times(scenario, subjects),
        },
        Band {
            title: "Images",
            note: "",
            hint: "Exposures along the route. One whose frame shows nothing of the site is skipped.",
            rows: images(scenario, subjects),
        },
        Band {
            title: "Processing",
            note: "counted, then timed",
            hint: "What the computer will have to do: pixels and overlapping pairs are counted from the geometry; \
                   hours are those counts times rates, and only their ratio means something until the rates are \
                   fitted to logged jobs.",
            rows: load(scenario, subjects),
        },
    ]
}

/// The classes that the site has, by what stands on it.
fn classes(scenario: &Scenario, subjects: &[Subject<'_>]) -> Vec<SurfaceClass> {
    let has = |class: SurfaceClass| {
        let site = &scenario.site;
        let seen = subjects.iter().filter_map(|s| s.known?.views).any(|o| figures(o, class).is_some());
        seen || match class {
            SurfaceClass::Ground => true,
            SurfaceClass::Roof | SurfaceClass::Wall => {
                !site.structures.is_empty() || site.typical_building.is_some()
            }
            SurfaceClass::Underside => false,
        }
    };
    SurfaceClass::ALL.into_iter().filter(|&class| has(class)).collect()
}

fn figures(outcome: &Outcome, class: SurfaceClass) -> Option<&ClassFigures> {
    outcome.views.as_ref()?.classes[class].as_ref()
}

fn hint(id: MeasureId) -> String {
    let measure = measure(id);
    format!("{}. {}", measure.name, measure.explanation)
}

fn coverage(scenario: &Scenario, subjects: &[Subject<'_>], class: SurfaceClass) -> Row {
    let id = MeasureId::Coverage(class);
    let required = scenario.requirement.coverage[class];
    let spec = RowSpec {
        id,
        reference: scenario.reference,
        name: class.name(),
        unit_label: required.map_or_else(String::new, |r| format!("≥ {}", wording::limit(Unit::Share, r))),
        hint: hint(id),
        required,
        fails: Side::Left,
        at_least: 1.0,
        source: Source::Views,
        likely: None,
        form: None,
    };
    row("Coverage", &spec, subjects, |outcome| {
        let share = figures(outcome, class)?.covered_ratio;
        let text = show::percent(share, required);
        Some(Raw::plain(share, text, standing(outcome, id)))
    })
}

fn gsd(scenario: &Scenario, subjects: &[Subject<'_>], class: SurfaceClass, units: Units) -> Row {
    let form = units.gsd_form();
    let id = MeasureId::GsdP95(class);
    // A limit that nothing is held against is not drawn: GSD is judged where coverage is asked for.
    let asked = scenario.requirement.coverage[class].is_some();
    let required_m = asked.then_some(scenario.requirement.gsd_cm[class] / 100.0);
    let spec = RowSpec {
        id,
        reference: scenario.reference,
        name: class.name(),
        unit_label: required_m.map_or_else(String::new, |r| format!("≤ {}", form.limit(r))),
        hint: hint(id),
        required: required_m,
        fails: Side::Right,
        at_least: required_m.map_or(0.0, |required| 1.25 * required),
        source: Source::Views,
        likely: None,
        form: Some(form),
    };
    row("GSD", &spec, subjects, |outcome| {
        let figures = figures(outcome, class)?;
        let unseen = figures.unseen_ratio;
        let note = (unseen >= 0.0005).then(|| {
            // Where little is seen, a fine GSD says little.
            if unseen > 0.5 {
                format!("on the {} seen", show::percent(1.0 - unseen, None))
            } else {
                format!("{} unseen", show::percent(unseen, None))
            }
        });
        let Some(GsdSpread { p5_m, p50_m, p95_m }) = figures.gsd else {
            let text = "none seen".to_owned();
            return Some(Raw { bar: RawBar::None, ..Raw::plain(0.0, text, standing(outcome, id)) });
        };
        let decimals = form.decimals(&[p5_m, p50_m, p95_m], required_m);
        let text = [p5_m, p50_m, p95_m].map(|value_m| form.number(value_m, decimals)).join(" – ");
        let bar = RawBar::Spread([p5_m, p50_m, p95_m]);
        Some(Raw { bar, note, ..Raw::plain(0.0, text, standing(outcome, id)) })
    })
}

fn times(scenario: &Scenario, subjects: &[Subject<'_>]) -> Vec<Row> {
    let required_s = scenario.requirement.time_on_site_min.map(|min| 60.0 * min);
    let longest_s = subjects
        .iter()
        .filter_map(|subject| {
            let known = subject.known?;
            let planned_s = known.quick.ok()?.timing.as_ref()?.time.time_on_site_s();
            Some(known.bands().map_or(planned_s, |bands| planned_s.max(bands.time_on_site_s.p90)))
        })
        .fold(required_s.map_or(0.0, |s| 1.1 * s), f64::max);
    // Flight is part of the time on site: both stand on one scale.
    let flying = RowSpec {
        at_least: longest_s,
        likely: Some(|timing| Some(timing.bands.as_ref()?.flight_s)),
        ..RowSpec::open("flying", MeasureId::FlightTime, Source::Quick, scenario.reference)
    };
    let on_site = RowSpec {
        unit_label: required_s
            .map_or_else(String::new, |s| format!("≤ {}", wording::limit(Unit::Seconds, s))),
        required: required_s,
        at_least: longest_s,
        likely: Some(|timing| Some(timing.bands.as_ref()?.time_on_site_s)),
        ..RowSpec::open("on site", MeasureId::TimeOnSite, Source::Quick, scenario.reference)
    };
    // Sets that are charged on site fly again: then no number of them is too many.
    let charged = scenario.conditions.charging.is_some();
    let on_hand = f64::from(scenario.conditions.battery_sets);
    let batteries = RowSpec {
        unit_label: if charged { String::new() } else { format!("≤ {}", show::count(on_hand)) },
        required: (!charged).then_some(on_hand),
        likely: Some(|timing| Some(timing.bands.as_ref()?.sorties)),
        ..RowSpec::open("batteries", MeasureId::Sorties, Source::Quick, scenario.reference)
    };
    vec![
        row("Time", &flying, subjects, |outcome| {
            let value_s = outcome.flight()?.terms.flight_time_s();
            Some(Raw::plain(value_s, wording::alone(Unit::Seconds, value_s), Standing::Open))
        }),
        row("Time", &on_site, subjects, |outcome| {
            let value_s = outcome.timing.as_ref()?.time.time_on_site_s();
            let text = wording::against(Unit::Seconds, value_s, required_s);
            Some(Raw::plain(value_s, text, standing(outcome, MeasureId::TimeOnSite)))
        }),
        row("Time", &batteries, subjects, |outcome| {
            let value = outcome.flight()?.sorties.len() as f64;
            Some(Raw::plain(value, show::count(value), standing(outcome, MeasureId::Sorties)))
        }),
        energy(scenario, subjects),
    ]
}

/// In watt-hours where that is known of all, else in full battery sets.
fn energy(scenario: &Scenario, subjects: &[Subject<'_>]) -> Row {
    let flights = || subjects.iter().filter_map(|subject| subject.known?.quick.ok()?.flight());
    let known = flights().all(|flight| flight.energy_wh().is_some());
    let open = |name, id| RowSpec::open(name, id, Source::Quick, scenario.reference);
    if known && flights().next().is_some() {
        let spec = RowSpec { likely: Some(Timing::energy_wh_band), ..open("energy, Wh", MeasureId::Energy) };
        return row("Time", &spec, subjects, |outcome| {
            let value = outcome.flight()?.energy_wh()?;
            Some(Raw::plain(value, format!("{} Wh", show::count(value)), Standing::Open))
        });
    }
    let spec = RowSpec {
        likely: Some(Timing::energy_sets_band),
        ..open("energy, battery sets", MeasureId::EnergySets)
    };
    row("Time", &spec, subjects, |outcome| {
        let value = outcome.flight()?.energy_sets();
        Some(Raw::plain(value, format!("{value:.1} sets"), Standing::Open))
    })
}

fn images(scenario: &Scenario, subjects: &[Subject<'_>]) -> Vec<Row> {
    let required = scenario.requirement.images.map(f64::from);
    let spec = RowSpec {
        unit_label: required.map_or_else(String::new, |r| format!("≤ {}", show::count(r))),
        required,
        ..RowSpec::open("images", MeasureId::ImageCount, Source::Quick, scenario.reference)
    };
    vec![row("Images", &spec, subjects, |outcome| {
        let load = outcome.load.as_ref()?;
        let (value, skipped) = (f64::from(load.image_count), load.skipped_exposures);
        let text = match skipped {
            0 => show::count(value),
            _ => format!("{} ({} skipped)", show::count(value), show::count(f64::from(skipped))),
        };
        Some(Raw::plain(value, text, standing(outcome, MeasureId::ImageCount)))
    })]
}

fn load(scenario: &Scenario, subjects: &[Subject<'_>]) -> Vec<Row> {
    let gigapixels = RowSpec::open("gigapixels", MeasureId::Gigapixels, Source::Quick, scenario.reference);
    let pairs = RowSpec::open("image pairs", MeasureId::ImagePairs, Source::Views, scenario.reference);
    let fitted = if scenario.rates.fitted { "(calibrated)" } else { "(not calibrated)" };
    let hours = RowSpec {
        unit_label: fitted.to_owned(),
        ..RowSpec::open("hours", MeasureId::ProcessingHours, Source::Views, scenario.reference)
    };
    vec![
        row("Processing", &gigapixels, subjects, |outcome| {
            let value = outcome.load.as_ref()?.gigapixels;
            Some(Raw::plain(value, show::short(value), Standing::Open))
        }),
        row("Processing", &pairs, subjects, |outcome| {
            let value = outcome.load.as_ref()?.image_pairs? as f64;
            Some(Raw::plain(value, show::count(value), Standing::Open))
        }),
        row("Processing", &hours, subjects, |outcome| {
            let value = outcome.load.as_ref()?.hours?.total_h();
            // An order of magnitude: no decimals but where there would be nothing else.
            let text =
                format!("about {}", wording::Form::of(Unit::Hours).text(value, usize::from(value < 1.0)));
            Some(Raw::plain(value, text, Standing::Open))
        }),
    ]
}

/// How the requirement judges a figure.
fn standing(outcome: &Outcome, id: MeasureId) -> Standing {
    match outcome.judgements.iter().find(|judgement| judgement.of() == id) {
        Some(Judgement::Met { .. }) => Standing::Met,
        Some(Judgement::Missed { .. }) => Standing::Missed,
        Some(Judgement::Unknown { .. } | Judgement::NotJudged { .. }) | None => Standing::Open,
    }
}

impl RowSpec {
    /// A row in which less is better and nothing is required.
    fn open(name: &'static str, id: MeasureId, source: Source, reference: Option<Id>) -> Self {
        let unit_label = String::new();
        RowSpec {
            id,
            reference,
            name,
            unit_label,
            hint: hint(id),
            required: None,
            fails: Side::Right,
            at_least: 0.0,
            source,
            likely: None,
            form: None,
        }
    }
}

impl Raw {
    fn plain(value: f64, text: String, standing: Standing) -> Self {
        Raw { bar: RawBar::Length(value), text, note: None, standing, likely: None }
    }

    fn greatest(&self) -> f64 {
        let bar = match self.bar {
            RawBar::None => 0.0,
            RawBar::Length(value) => value,
            RawBar::Spread([.., high]) => high,
        };
        self.likely.map_or(bar, |[_, high]| bar.max(high))
    }
}

/// Reads a figure of every strategy and puts all of them on one scale.
fn row(band: &str, spec: &RowSpec, subjects: &[Subject<'_>], read: impl Fn(&Outcome) -> Option<Raw>) -> Row {
    let raws: Vec<(Option<Raw>, Freshness)> =
        subjects.iter().map(|subject| figure(subject, spec, &read)).collect();
    let greatest =
        raws.iter().filter_map(|(raw, _)| raw.as_ref()).map(Raw::greatest).fold(spec.at_least, f64::max);
    let beyond_line = spec
        .required
        .map_or(0.0, |required| if spec.fails == Side::Left { required } else { 1.1 * required });
    let full = greatest.max(beyond_line).max(f64::MIN_POSITIVE);
    let limit = spec.required.map(|required| Limit { at: required / full, fails: spec.fails });
    let cells = subjects
        .iter()
        .zip(raws)
        .map(|(subject, (raw, freshness))| {
            let of = format!("{band}, {} of {}", spec.name, subject.name);
            let whisker = raw.as_ref().and_then(|raw| whisker(raw, subject, full));
            let difference = difference(spec, subjects, subject);
            Cell { whisker, ..cell(raw, freshness, limit, full, difference, &of) }
        })
        .collect();
    let label = format!("{} {}", spec.name, spec.unit_label);
    Row { label: label.trim_end().to_owned(), hint: spec.hint.clone(), cells }
}

fn whisker(raw: &Raw, subject: &Subject<'_>, full: f64) -> Option<Whisker> {
    let [low, high] = raw.likely?;
    let freshness = subject.known?.spread_freshness;
    Some(Whisker { low: low / full, high: high / full, freshness })
}

/// Adds how sure a figure is, where that is known of a strategy.
fn with_likely(raw: Raw, spec: &RowSpec, known: Known<'_>) -> Raw {
    let timing = known.spread.and_then(|outcome| outcome.timing.as_ref());
    let Some(band) = spec.likely.zip(timing).and_then(|(read, timing)| read(timing)) else { return raw };
    let unit = measure(spec.id).unit;
    let late = if known.spread_freshness == Freshness::Stale { " …" } else { "" };
    let note = format!("est. {}{late}", show::span(unit, band.p10, band.p90));
    Raw { note: Some(note), likely: Some([band.p10, band.p90]), ..raw }
}

/// How far a figure is from the reference strategy's, and whether that is better.
fn difference(spec: &RowSpec, subjects: &[Subject<'_>], subject: &Subject<'_>) -> Option<String> {
    let reference = spec.reference.filter(|id| *id != subject.strategy.id)?;
    let other = subjects.iter().find(|other| other.strategy.id == reference)?;
    let measure = measure(spec.id);
    let value = |subject: &Subject<'_>| {
        let known = subject.known?;
        let outcome = match spec.source {
            Source::Quick => known.quick.ok(),
            Source::Views => known.views,
        };
        (measure.read)(outcome?)
    };
    let (own, others) = (value(subject)?, value(other)?);
    let text = match spec.form {
        Some(form) => show::difference_as(form, own - others),
        None => show::difference(measure.unit, own - others),
    };
    let Some(text) = text else { return Some("same".to_owned()) };
    let more = own > others;
    let better = (measure.better == Better::More) == more;
    let of = if matches!(spec.id, MeasureId::GsdP95(_)) { "95th " } else { "" };
    Some(format!("{of}{text}, {}", if better { "better" } else { "worse" }))
}

fn figure(
    subject: &Subject<'_>,
    spec: &RowSpec,
    read: &impl Fn(&Outcome) -> Option<Raw>,
) -> (Option<Raw>, Freshness) {
    let Some(known) = subject.known else { return (None, Freshness::Pending) };
    match spec.source {
        Source::Quick => {
            let raw = known.quick.ok().and_then(read);
            (raw.map(|raw| with_likely(raw, spec, known)), known.quick_freshness)
        }
        Source::Views => (known.views.and_then(read), known.freshness),
    }
}

fn cell(
    raw: Option<Raw>,
    freshness: Freshness,
    limit: Option<Limit>,
    full: f64,
    difference: Option<String>,
    of: &str,
) -> Cell {
    let Some(raw) = raw else {
        let text = if freshness == Freshness::Pending { "…" } else { "–" };
        let state = if freshness == Freshness::Pending { "not worked out yet" } else { "none" };
        return Cell {
            bar: Bar::None,
            limit,
            whisker: None,
            text: text.to_owned(),
            note: None,
            difference: None,
            standing: Standing::Open,
            freshness,
            spoken: format!("{of}: {state}"),
        };
    };
    let bar = match raw.bar {
        RawBar::None => Bar::None,
        RawBar::Length(value) => Bar::Length(value / full),
        RawBar::Spread([low, middle, high]) => {
            Bar::Spread { low: low / full, middle: middle / full, high: high / full }
        }
    };
    let note = raw.note.as_ref().map_or_else(String::new, |note| format!(", {note}"));
    let verdict = match raw.standing {
        Standing::Open => "",
        Standing::Met => ", meets",
        Standing::Missed => ", misses",
    };
    let stale = if freshness == Freshness::Stale { ", of earlier settings" } else { "" };
    let against =
        difference.as_ref().map_or_else(String::new, |text| format!(", against the reference {text}"));
    let spoken = format!("{of}: {}{note}{verdict}{against}{stale}", raw.text);
    Cell {
        bar,
        limit,
        whisker: None,
        text: raw.text,
        note: raw.note,
        difference,
        standing: raw.standing,
        freshness,
        spoken,
    }
}
