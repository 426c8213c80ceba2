use super::before::Before;
use super::model::{
    Bar, BoardBand, BoardSubject, Cell, CellLook, CellOpens, Difference, Fails, Limit, Place, Row, Sense,
    Standing, ViewAngles, Whisker, Worth,
};
use crate::figures::{Freshness, Known};
use crate::show;
use crate::units::Units;
use obliquity_planning::{
    Better, Depth, Id, Judgement, KnownOf, MEASURES, Measure, MeasureGroup, MeasureId, Outcome, RateStanding,
    Reason, Scenario, Structure, StructureKind, SurfaceClass, Unit, measure as measure_of, wording,
};

/// A figure before it is put on its row's scale.
struct Raw {
    bar: RawBar,
    text: String,
    note: Option<String>,
    /// Why it says little, where it does.
    doubt: Option<String>,
    standing: Standing,
    /// How sure it is: lower and upper end of the middle eight of ten draws.
    likely: Option<[f64; 2]>,
    look: CellLook,
}

enum RawBar {
    None,
    Length(f64),
    Spread([f64; 3]),
}

/// What a row is about.
struct RowSpec {
    measure: &'static Measure,
    /// Title of the band that it stands in.
    band: &'static str,
    reference: Option<Id>,
    unit_label: String,
    /// What its figures rest on, where that is told; behind its name.
    rests_on: String,
    /// What is asked of every strategy, in their order.
    required: Vec<(Id, Option<f64>)>,
    fails: Fails,
    /// The least right end of the scale, in the figure's unit.
    at_least: f64,
    /// How its figures are written, where not as their measure's are.
    form: Option<wording::Form>,
    /// Whether the job has a price.
    priced: bool,
}

/// The bands, in their order.
pub(super) fn bands(
    (scenario, before): (&Scenario, Option<&Before>),
    subjects: &[BoardSubject<'_>],
    units: Units,
) -> Vec<BoardBand> {
    let rows = |group| rows((scenario, before), subjects, units, group);
    vec![
        BoardBand {
            title: band_title(MeasureGroup::Coverage),
            hint: "How much of the ground, the roofs and the walls is seen well enough to be modelled: by enough \
                   images, squarely and finely enough, from directions that can be matched and still differ. Counted \
                   sample by sample with what hides what; the rules stand in the requirement. Common practice.",
            rows: rows(MeasureGroup::Coverage),
            view_angles: ViewAngles::Shown,
        },
        BoardBand {
            title: band_title(MeasureGroup::Gsd),
            hint: "Ground sample distance that the surfaces really get: the side of a pixel's area on the surface, in \
                   the best counted view, from the projection itself. The bar spans 90 % of the area that is seen, \
                   the line in it is the median; the requirement is held against the coarse end.",
            rows: rows(MeasureGroup::Gsd),
            view_angles: ViewAngles::None,
        },
        BoardBand {
            title: band_title(MeasureGroup::Accuracy),
            hint: "How far points measured on what is covered are expected to be off, from the adjustment of all images \
                   together: noise of image points, the camera's calibration, positions of images and control points on \
                   the plan. A root mean square error: what check points all over it would show. It comes after \
                   coverage, since it takes longer: first a preview (≈) from fewer tie points, then the whole; of a block of \
                   very many images the whole when it is clicked. Expected, not certified: a licensed surveyor certifies.",
            rows: rows(MeasureGroup::Accuracy),
            view_angles: ViewAngles::None,
        },
        BoardBand {
            title: band_title(MeasureGroup::Time),
            hint: "Flight from take-off to landing, time on site with set-up, battery changes and pack-up, and the \
                   battery sets and the energy it takes. From the route, leg by leg, in the wind that is set. Whiskers \
                   go from the 10th to the 90th percentile of 1,000 draws of wind, speed, turns, batteries and the \
                   crew's times: an estimate that rests on how far these are said to spread.",
            rows: rows(MeasureGroup::Time),
            view_angles: ViewAngles::None,
        },
        BoardBand {
            title: band_title(MeasureGroup::Images),
            hint: "Exposures along the route. One whose frame shows nothing of the site is skipped.",
            rows: rows(MeasureGroup::Images),
            view_angles: ViewAngles::None,
        },
        BoardBand {
            title: band_title(MeasureGroup::Processing),
            hint: "What the computer will have to do: pixels and overlapping pairs are counted from the geometry; \
                   hours are those counts times rates, and only their ratio means something until the rates are \
                   fitted to logged jobs.",
            rows: rows(MeasureGroup::Processing),
            view_angles: ViewAngles::None,
        },
        BoardBand {
            title: band_title(MeasureGroup::Money),
            hint: "What the job leaves of its price with each strategy: less crew, travel, control survey, battery wear, \
                   processing, visits that are expected to be made again, and sign-off; opened, each of them. Price, wages \
                   and rates are entered on the screen Requirement; what is 0 there costs nothing. Amounts are in your own \
                   currency, none is converted; what the aircraft costs a year is not in it. Not financial advice.",
            rows: rows(MeasureGroup::Money),
            view_angles: ViewAngles::None,
        },
    ]
}

/// The classes that the site has, by what stands on it: known before anything is worked out, so that no row comes late.
pub(super) fn classes(scenario: &Scenario) -> Vec<SurfaceClass> {
    let site = &scenario.site;
    let stands = !site.structures.is_empty() || site.typical_building.is_some();
    let is_deck = |structure: &Structure| matches!(structure.kind, StructureKind::Deck { .. });
    let has = |class: &SurfaceClass| match class {
        SurfaceClass::Ground => true,
        SurfaceClass::Roof | SurfaceClass::Wall => stands,
        SurfaceClass::Underside => site.structures.iter().any(is_deck),
    };
    SurfaceClass::ALL.into_iter().filter(has).collect()
}

/// The figures of a group, each of every strategy: first those that are always shown.
fn rows(
    (scenario, before): (&Scenario, Option<&Before>),
    subjects: &[BoardSubject<'_>],
    units: Units,
    group: MeasureGroup,
) -> Vec<Row> {
    let of_group = MEASURES.iter().filter(|measure| measure.group == group);
    let mut shown: Vec<&'static Measure> =
        of_group.filter(|measure| is_shown(measure, scenario, subjects)).collect();
    shown.sort_by_key(|measure| place(measure.id) == Place::Opened);
    shown
        .into_iter()
        .map(|measure| row(&RowSpec::new(measure, scenario, subjects, units), before, subjects, units))
        .collect()
}

/// When a figure is shown: what is seldom asked for waits until its band is opened.
fn place(id: MeasureId) -> Place {
    match id {
        MeasureId::Energy
        | MeasureId::EnergySets
        | MeasureId::Moves
        | MeasureId::RouteLength
        | MeasureId::Farthest
        | MeasureId::Storage
        | MeasureId::Gigapixels
        | MeasureId::ImagePairs
        | MeasureId::AttendedHours
        | MeasureId::ProcessingMemory
        | MeasureId::ProcessingDisk
        | MeasureId::PrecisionHorizontal
        | MeasureId::PrecisionVertical
        | MeasureId::FocalSigma
        | MeasureId::Doming
        | MeasureId::DomePerPixel
        | MeasureId::JobCost
        | MeasureId::JobCrew
        | MeasureId::JobTravel
        | MeasureId::JobControlSurvey
        | MeasureId::JobBatteryWear
        | MeasureId::JobProcessing
        | MeasureId::JobAgain
        | MeasureId::JobSignOff => Place::Opened,
        _ => Place::Always,
    }
}

/// Whether a figure has a row: of surfaces that the site has, and energy in watt-hours where that is known of all, else in full
/// battery sets; moves where a strategy has somewhere to move to; of money the first alone until there is a price.
fn is_shown(measure: &Measure, scenario: &Scenario, subjects: &[BoardSubject<'_>]) -> bool {
    let flown = || subjects.iter().filter_map(|s| s.known?.quick.ok()).filter(|outcome| outcome.feasible());
    let of_all = |measure: &Measure| flown().next().is_some() && flown().all(|o| measure.read(o).is_some());
    let stands_in = |other: &&Measure| other.known_of == KnownOf::Capacity { instead: measure.id };
    match (measure.id, measure.known_of) {
        (MeasureId::Coverage(class) | MeasureId::GsdP95(class), _) => classes(scenario).contains(&class),
        (_, KnownOf::Capacity { .. }) => of_all(measure),
        (_, KnownOf::SeveralTakeOffs) => scenario.strategies.iter().any(|own| !own.take_offs_m.is_empty()),
        (id, KnownOf::Priced) => id == MeasureId::JobContribution || scenario.job.price.is_some(),
        (_, KnownOf::All) => !MEASURES.iter().find(stands_in).is_some_and(of_all),
    }
}

/// A figure of an outcome, before it is put on its row's scale.
fn raw(spec: &RowSpec, outcome: &Outcome, units: Units) -> Option<Raw> {
    let measure = spec.measure;
    if measure.unit == Unit::GsdMetres {
        return gsd(spec, outcome);
    }
    let value = measure.read(outcome)?;
    let required = spec.required_of(outcome.strategy);
    let told = |unit: Unit, value: f64, required: Option<f64>| match (unit, spec.form) {
        (Unit::Millimetres, Some(form)) => form.against(value, required),
        _ => show::figure(units, unit, value, required),
    };
    let text = match measure.unit {
        Unit::WattHours => format!("{} Wh", show::count(value)),
        Unit::BatterySets => format!("{value:.1} sets"),
        Unit::Gigapixels => show::short(value),
        Unit::Metres => units.length(value),
        Unit::Hours => match standing_of(measure.id, outcome) {
            Some(standing) => show::machine_hours(value, standing),
            None => show::rough_hours(value),
        },
        unit => told(unit, value, required),
    };
    let beside = measure.beside.iter().filter_map(|beside| Some((beside, beside.read(outcome)?)));
    let more = beside
        .filter(|(_, value)| *value > 0.0)
        .map(|(beside, value)| format!("{} {}", told(beside.unit, value, None), beside.name));
    let more: Vec<String> = more.collect();
    let free = outcome.job.as_ref().filter(|_| measure.id == MeasureId::JobContribution);
    let free = free.map(|own| own.job.at_nothing()).filter(|free| !free.is_empty());
    let free = free.map(|free| format!("costs nothing so far: {}", wording::listed(&free)));
    let doubt = in_parts(outcome, measure.id);
    let is_preview = measure.group == MeasureGroup::Accuracy && outcome.depth < Depth::Network;
    let preview = is_preview.then(|| "a preview from fewer tie points".to_owned());
    let more: Vec<String> = more.into_iter().chain(preview).chain(doubt.clone()).chain(free).collect();
    let note = (!more.is_empty()).then(|| more.join(", "));
    let look = if is_preview { CellLook::First } else { CellLook::Whole };
    Some(Raw { note, doubt, look, ..Raw::plain(value, text, standing(outcome, measure.id)) })
}

/// What is said of a figure of images that fall into parts: what is accurate in each says nothing of how the parts lie to each
/// other, and coverage is judged on one.
fn in_parts(outcome: &Outcome, id: MeasureId) -> Option<String> {
    let parts = outcome.network.as_ref()?.parts.len();
    match id {
        MeasureId::AccuracyHorizontal
        | MeasureId::AccuracyVertical
        | MeasureId::PrecisionHorizontal
        | MeasureId::PrecisionVertical
            if parts > 1 =>
        {
            Some(format!("the block is in {parts} parts that no tie holds together"))
        }
        MeasureId::Coverage(_) => outcome.judgements.iter().find_map(|line| match line {
            Judgement::Missed { of, value, why: Reason::InParts { parts, .. }, .. } if *of == id => {
                let judged = show::percent(*value, None);
                Some(format!("the block is in {parts} parts; the one that is judged covers {judged}"))
            }
            _ => None,
        }),
        _ => None,
    }
}

/// What hours of the machine rest on; nothing of other figures.
fn standing_of(id: MeasureId, outcome: &Outcome) -> Option<&RateStanding> {
    outcome.load.as_ref().map(|load| &load.standing).filter(|_| id == MeasureId::ProcessingHours)
}

/// Hours as they are shown, so that differences are those of what is read.
fn shown_h(hours: f64, standing: Option<&RateStanding>) -> f64 {
    if let Some(standing) = standing {
        return show::machine_h(hours, standing);
    }
    let per_hour = 10_f64.powi(i32::from(hours < 1.0));
    (hours * per_hour).round() / per_hour
}

/// A surface's GSD: the coarse end, which is judged, as the figure; its spread as the bar. The other percentiles and the share
/// unseen are told beside it.
fn gsd(spec: &RowSpec, outcome: &Outcome) -> Option<Raw> {
    let form = spec.form.unwrap_or(wording::Form::of(Unit::GsdMetres));
    let beside = |unit: Unit| spec.measure.beside.iter().filter(move |beside| beside.unit == unit);
    let unseen = beside(Unit::Share).next()?.read(outcome)?;
    let (fine, judged): (Vec<f64>, _) = (
        beside(Unit::GsdMetres).filter_map(|beside| beside.read(outcome)).collect(),
        spec.measure.read(outcome),
    );
    let (&[low, middle], Some(high)) = (fine.as_slice(), judged) else {
        let text = "none seen".to_owned();
        return Some(Raw { bar: RawBar::None, ..Raw::plain(0.0, text, standing(outcome, spec.measure.id)) });
    };
    let decimals = form.decimals(&[low, middle, high], None);
    let number = |value_m: f64| form.number(value_m, decimals);
    let spread = format!("5th percentile {}, median {}", number(low), number(middle));
    // Where little is seen, a fine GSD says little.
    let doubt = (unseen > 0.5).then(|| format!("on the {} seen", show::percent(1.0 - unseen, None)));
    let unseen =
        (unseen >= 0.0005 && doubt.is_none()).then(|| format!("{} unseen", show::percent(unseen, None)));
    let note = std::iter::once(spread).chain(doubt.clone()).chain(unseen).collect::<Vec<_>>().join("; ");
    Some(Raw {
        bar: RawBar::Spread([low, middle, high]),
        note: Some(note),
        doubt,
        ..Raw::plain(
            0.0,
            form.against(high, spec.required_of(outcome.strategy)),
            standing(outcome, spec.measure.id),
        )
    })
}

/// The longest time of any strategy: all times stand on one scale, since flight is a part of the time on site.
fn longest_s(required_s: Option<f64>, subjects: &[BoardSubject<'_>]) -> f64 {
    let longest = subjects.iter().filter_map(|subject| {
        let known = subject.known?;
        let planned_s = known.quick.ok()?.timing.as_ref()?.time.time_on_site_s();
        Some(known.bands().map_or(planned_s, |bands| planned_s.max(bands.time_on_site_s.p90)))
    });
    longest.fold(required_s.map_or(0.0, |s| 1.1 * s), f64::max)
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
    fn new(
        measure: &'static Measure,
        scenario: &Scenario,
        subjects: &[BoardSubject<'_>],
        units: Units,
    ) -> Self {
        let common = measure.required_of_all(scenario);
        let of = |subject: &BoardSubject<'_>| {
            (subject.strategy.id, measure.required_of(scenario, subject.strategy.id))
        };
        let required: Vec<(Id, Option<f64>)> = subjects.iter().map(of).collect();
        let form = match measure.unit {
            Unit::GsdMetres => Some(units.gsd_form()),
            Unit::Millimetres => Some(units.error_form()),
            _ => None,
        };
        let fails = if measure.better == Better::More { Fails::Left } else { Fails::Right };
        let sign = if fails == Fails::Left { "≥" } else { "≤" };
        let limit = |required: f64| match measure.unit {
            Unit::Count => show::count(required),
            unit => form.unwrap_or(wording::Form::of(unit)).limit(required),
        };
        let unit_label = match common {
            Some(required) => format!(" {sign} {}", limit(required)),
            None if required.iter().any(|(_, own)| own.is_some()) => format!(" {sign} its own"),
            None if measure.id == MeasureId::ProcessingHours => {
                format!(", {}", scenario.rates.standing().brief())
            }
            None if measure.id == MeasureId::JobContribution && !scenario.job.currency.is_empty() => {
                format!(", {}", scenario.job.currency.trim())
            }
            None => String::new(),
        };
        let at_least = match measure.unit {
            Unit::Share => 1.0,
            Unit::GsdMetres => common.map_or(0.0, |required| 1.25 * required),
            Unit::Seconds => {
                let on_site = measure_of(MeasureId::TimeOnSite);
                longest_s(on_site.required_of_all(scenario), subjects)
            }
            _ => 0.0,
        };
        let band = band_title(measure.group);
        let (reference, priced) = (scenario.reference, scenario.job.price.is_some());
        let rests_on = match measure.id {
            MeasureId::ProcessingHours => format!(", {}", scenario.rates.standing().told()),
            _ => String::new(),
        };
        RowSpec { measure, band, reference, unit_label, rests_on, required, fails, at_least, form, priced }
    }

    /// What is asked of a strategy.
    fn required_of(&self, strategy: Id) -> Option<f64> {
        self.required.iter().find(|(id, _)| *id == strategy).and_then(|(_, required)| *required)
    }
}

/// What the band of a group is called.
fn band_title(group: MeasureGroup) -> &'static str {
    match group {
        MeasureGroup::Coverage => "Coverage",
        MeasureGroup::Gsd => "GSD",
        MeasureGroup::Accuracy => "Accuracy",
        MeasureGroup::Time => "Time",
        MeasureGroup::Images => "Images",
        MeasureGroup::Processing => "Processing",
        MeasureGroup::Money => "Money",
    }
}

impl Raw {
    fn plain(value: f64, text: String, standing: Standing) -> Self {
        let bar = RawBar::Length(value);
        Raw { bar, text, note: None, doubt: None, standing, likely: None, look: CellLook::Whole }
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
fn row(spec: &RowSpec, before: Option<&Before>, subjects: &[BoardSubject<'_>], units: Units) -> Row {
    let raws: Vec<(Option<Raw>, Freshness)> =
        subjects.iter().map(|subject| figure(subject, spec, units)).collect();
    let greatest =
        raws.iter().filter_map(|(raw, _)| raw.as_ref()).map(Raw::greatest).fold(spec.at_least, f64::max);
    let asked = spec.required.iter().filter_map(|(_, required)| *required);
    let room = |required: f64| if spec.fails == Fails::Left { required } else { 1.1 * required };
    let beyond_line = asked.map(room).fold(0.0, f64::max);
    let was = |subject: &BoardSubject<'_>| before?.figure(subject.strategy.id, spec.measure.id);
    let earlier = subjects.iter().filter_map(was).fold(0.0, f64::max);
    let full = greatest.max(beyond_line).max(earlier).max(f64::MIN_POSITIVE);
    let limit = |strategy| {
        spec.required_of(strategy).map(|required| Limit { at: required / full, fails: spec.fails })
    };
    let cells = subjects
        .iter()
        .zip(raws)
        .map(|(subject, (raw, freshness))| {
            let of = format!("{}, {} of {}", spec.band, spec.measure.label, subject.name);
            let whisker = raw.as_ref().and_then(|raw| whisker(raw, subject, full));
            let difference = difference(spec, subjects, subject, units);
            let cell = cell(raw, freshness, limit(subject.strategy.id), full, difference, &of);
            let before =
                was(subject).map(|value| (value / full).max(0.0)).filter(|at| cell.bar.is_elsewhere(*at));
            let cell = Cell { whisker, before, ..cell };
            unpriced(unasked(cell, spec.measure, subject, &of), spec, &of)
        })
        .collect();
    let Measure { id, name, label, explanation, .. } = *spec.measure;
    Row {
        measure: id,
        place: place(id),
        label: format!("{label}{}", spec.unit_label),
        hint: format!("{name}{}. {explanation}", spec.rests_on),
        cells,
    }
}

fn whisker(raw: &Raw, subject: &BoardSubject<'_>, full: f64) -> Option<Whisker> {
    let [low, high] = raw.likely?;
    let freshness = subject.known?.spread_freshness;
    Some(Whisker { low: low / full, high: high / full, freshness })
}

/// Adds how sure a figure is, where that is known of a strategy.
fn with_likely(raw: Raw, measure: &Measure, known: Known<'_>) -> Raw {
    let Some(band) = known.spread.and_then(|outcome| measure.band_of(outcome)) else { return raw };
    let late = if known.spread_freshness == Freshness::Stale { " …" } else { "" };
    let likely = format!("est. {}{late}", show::span(measure.unit, band.p10, band.p90));
    let note = raw.note.map_or_else(|| likely.clone(), |note| format!("{likely}; {note}"));
    Raw { note: Some(note), likely: Some([band.p10, band.p90]), ..raw }
}

/// How far a figure is from the reference strategy's, and whether that is better.
fn difference(
    spec: &RowSpec,
    subjects: &[BoardSubject<'_>],
    subject: &BoardSubject<'_>,
    units: Units,
) -> Option<Difference> {
    let reference = spec.reference.filter(|id| *id != subject.strategy.id)?;
    let other = subjects.iter().find(|other| other.strategy.id == reference)?;
    let measure = spec.measure;
    let value = |subject: &BoardSubject<'_>| {
        let known = subject.known?;
        let outcome = known.read_from(measure).0?;
        // What rests on little is not held against anything.
        let doubtful = measure.unit == Unit::GsdMetres && gsd(spec, outcome)?.doubt.is_some();
        let value = measure.read(outcome).filter(|_| !doubtful)?;
        Some(if measure.unit == Unit::Hours {
            shown_h(value, standing_of(measure.id, outcome))
        } else {
            value
        })
    };
    let (own, others) = (value(subject)?, value(other)?);
    let text = match (spec.form, measure.unit) {
        (Some(form), _) => show::difference_as(form, own - others),
        (None, Unit::Metres) => show::difference_of_lengths(units, own - others),
        (None, Unit::MoneyPerHectare) => show::difference_in(units, measure.unit, own - others),
        (None, unit) => show::difference(unit, own - others),
    };
    let text = text?;
    let sense = if own > others { Sense::More } else { Sense::Less };
    let better = if measure.better == Better::More { Sense::More } else { Sense::Less };
    let (worth, word) = if sense == better { (Worth::Better, "better") } else { (Worth::Worse, "worse") };
    let number = text.split(' ').next().unwrap_or(&text).to_owned();
    Some(Difference { number, text: format!("{text}, {word}"), sense, worth })
}

/// A strategy's figure, and whether it belongs to the scenario as it stands.
fn figure(subject: &BoardSubject<'_>, spec: &RowSpec, units: Units) -> (Option<Raw>, Freshness) {
    let Some(known) = subject.known else { return (None, Freshness::Pending) };
    let read = |outcome: &Outcome| raw(spec, outcome, units);
    let (outcome, freshness) = known.read_from(spec.measure);
    let raw = outcome.and_then(read);
    (raw.map(|raw| with_likely(raw, spec.measure, known)), freshness)
}

/// What stands in place of a figure that nobody has asked for: how many images its block has, and in the rows below that a click
/// works it out. Where there is a preview it stays, and a click asks for the whole.
fn unasked(cell: Cell, measure: &Measure, subject: &BoardSubject<'_>, of: &str) -> Cell {
    let Some(images) = subject.unasked.filter(|_| measure.group == MeasureGroup::Accuracy) else {
        return cell;
    };
    let images = show::counted(images, "image", "images");
    if cell.freshness != Freshness::Pending {
        let whole = format!("{}; the whole of {images} is worked out when it is asked for", cell.spoken);
        return match cell.look {
            CellLook::First => Cell { opens: CellOpens::Block, spoken: whole, ..cell },
            CellLook::Whole => cell,
        };
    }
    let state = format!("not worked out: {images}");
    let spoken = format!("{of}: {state}");
    let text = if measure.id == MeasureId::AccuracyHorizontal { state } else { WORK_IT_OUT.to_owned() };
    Cell { text, spoken, opens: CellOpens::Block, ..cell }
}

/// What stands in place of what the job leaves until it has a price.
fn unpriced(cell: Cell, spec: &RowSpec, of: &str) -> Cell {
    if spec.priced || spec.measure.known_of != KnownOf::Priced {
        return cell;
    }
    let text = ENTER_PRICE.to_owned();
    let spoken = format!("{of}: {text}");
    Cell { text, spoken, opens: CellOpens::Price, freshness: Freshness::Fresh, ..cell }
}

/// Offers to enter a price.
const ENTER_PRICE: &str = "enter the job's price";

/// Offers to adjust a block.
pub(super) const WORK_IT_OUT: &str = "click to work it out";

fn cell(
    raw: Option<Raw>,
    freshness: Freshness,
    limit: Option<Limit>,
    full: f64,
    difference: Option<Difference>,
    of: &str,
) -> Cell {
    let Some(raw) = raw else {
        let text = if freshness == Freshness::Pending { "…" } else { "–" };
        let state = if freshness == Freshness::Pending { "not worked out yet" } else { "none" };
        return Cell {
            bar: Bar::None,
            limit,
            whisker: None,
            before: None,
            text: text.to_owned(),
            note: None,
            doubt: None,
            difference: None,
            standing: Standing::Open,
            freshness,
            look: CellLook::Whole,
            opens: CellOpens::Working,
            spoken: format!("{of}: {state}"),
        };
    };
    let bar = match raw.bar {
        RawBar::None => Bar::None,
        // what costs more than it brings has no bar
        RawBar::Length(value) => Bar::Length((value / full).max(0.0)),
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
    let against = difference
        .as_ref()
        .map_or_else(String::new, |other| format!(", against the reference {}", other.text));
    let spoken = format!("{of}: {}{note}{verdict}{against}{stale}", raw.text);
    Cell {
        bar,
        limit,
        whisker: None,
        before: None,
        text: raw.text,
        note: raw.note,
        doubt: raw.doubt,
        difference,
        standing: raw.standing,
        freshness,
        look: raw.look,
        opens: CellOpens::Working,
        spoken,
    }
}
