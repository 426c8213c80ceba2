//! Two outcomes beside each other in sentences: what differs, and what of it causes what.

use crate::base::SurfaceClass;
use crate::base::wording::{Form, listed, thousands, within};
use crate::base::{GsdUnit, Unit};
use crate::flight::Timing;
use crate::result::{MeasureId, Outcome, TimePart, measure};
use crate::route::LegKind;

/// What is different in the second of two outcomes, in sentences; every number in them is one of the two outcomes' figures, or
/// the difference of two.
///
/// ```text
/// Crossed takes 9 min 40 s longer than Nadir: 6 more strips (+6 min 2 s), 1 more battery (+2 min 30 s), the rest (+1 min 8 s).
/// It brings walls from 3 to 71 %.
/// ```
pub fn in_words(from: &Outcome, to: &Outcome, gsd: GsdUnit) -> Vec<String> {
    if let Some(outcome) = [to, from].into_iter().find(|outcome| !outcome.feasible()) {
        return vec![format!("{} cannot be flown: {}.", outcome.name, outcome.reasons.join("; "))];
    }
    let surfaces = SurfaceClass::ALL.into_iter();
    let fine = surfaces.filter_map(|class| fineness(from, to, class, gsd));
    let told = time(from, to).into_iter().chain(covered(from, to)).chain(images(from, to)).chain(fine);
    let told: Vec<String> = told.chain(verdict(from, to)).collect();
    if told.is_empty() { vec![format!("{} and {} come to the same.", from.name, to.name)] } else { told }
}

/// So many more or fewer of something.
struct Difference {
    one: &'static str,
    many: &'static str,
    more: i64,
}

impl Difference {
    fn text(&self) -> String {
        let (count, name) =
            (self.more.unsigned_abs(), if self.more.abs() == 1 { self.one } else { self.many });
        let sign = if self.more > 0 { "more" } else { "fewer" };
        format!("{} {sign} {name}", thousands(count as f64))
    }
}

/// How a part of the time on site is called as a cause, and what there is of it that can be counted: one, and several.
fn cause_names(part: TimePart) -> (&'static str, Option<[&'static str; 2]>) {
    match part {
        TimePart::Strips => ("time along strips", Some(["strip", "strips"])),
        TimePart::Turns => ("turns", Some(["turn", "turns"])),
        TimePart::Swaps => ("battery changes", Some(["battery", "batteries"])),
        TimePart::Links => ("links from strip to strip", None),
        TimePart::Transits => ("transits to the route and back", None),
        TimePart::Vertical
        | TimePart::SetUp
        | TimePart::ControlPoints
        | TimePart::Waits
        | TimePart::Moves
        | TimePart::PackUp => (part.name(), None),
    }
}

/// So many strips, turns or batteries; nothing of what is not counted.
fn count(outcome: &Outcome, part: TimePart) -> i64 {
    let Some(flight) = outcome.flight() else { return 0 };
    let turns = || flight.legs.iter().filter(|flown| flown.turn_s > 0.0 || flown.leg.kind == LegKind::Turn);
    match part {
        TimePart::Strips => outcome.plans().map(|plan| i64::from(plan.layout.strips)).sum(),
        TimePart::Turns => turns().count().cast_signed() as i64,
        TimePart::Swaps => flight.sorties.len().cast_signed() as i64,
        _ => 0,
    }
}

/// How fast strips are flown on average, stops to expose included; nothing where there are none.
fn along_strips_mps(outcome: &Outcome) -> Option<f64> {
    let length_m: f64 = outcome.plans().map(|plan| plan.layout.strips_length_m).sum();
    let speed_mps = length_m / outcome.flight()?.terms.strips_s;
    (speed_mps.is_finite() && speed_mps > 0.0).then_some(speed_mps)
}

/// Speeds along strips that differ by less, as a share, are not told of.
const LIKE_FAST: f64 = 0.05;

/// Parts of a difference that are less of it, as a share, are told of together.
const OF_THE_REST: f64 = 0.05;

/// What makes the time on site differ, and in brackets by how much: what is in all brackets adds up to the whole difference.
struct TimeCause {
    what: String,
    longer_s: i64,
}

impl TimeCause {
    /// A part of the time on site; nothing where both have as much of it.
    fn of(part: TimePart, from: &Outcome, to: &Outcome) -> Option<Self> {
        let seconds = |outcome: &Outcome| {
            let budget = outcome.timing.as_ref().map(Timing::time_budget);
            budget.map_or(0, |budget| budget.of(part).cast_signed())
        };
        let longer_s = seconds(to) - seconds(from);
        let (name, counted) = cause_names(part);
        let more = count(to, part) - count(from, part);
        let mut what = match counted {
            Some([one, many]) if more != 0 => Difference { one, many, more }.text(),
            _ => name.to_owned(),
        };
        if part == TimePart::Strips
            && let Some((before, after)) = along_strips_mps(from).zip(along_strips_mps(to))
            && (after / before - 1.0).abs() >= LIKE_FAST
        {
            what = format!("{what}, flown at {:.0} % of the speed", 100.0 * after / before);
        }
        (longer_s != 0).then_some(TimeCause { what, longer_s })
    }

    /// Whether it makes the time on site differ as it does; where the time is the same, all do.
    fn agrees(&self, longer_s: i64) -> bool {
        longer_s == 0 || (self.longer_s > 0) == (longer_s > 0)
    }

    fn text(&self) -> String {
        let sign = if self.longer_s > 0 { '+' } else { '−' };
        format!("{} ({sign}{})", self.what, span(self.longer_s.abs()))
    }
}

/// The largest first; those that are little of them all come together at the end.
fn gathered(mut causes: Vec<TimeCause>, all_s: i64) -> Vec<TimeCause> {
    causes.sort_by_key(|cause| -cause.longer_s.abs());
    let is_large = |cause: &TimeCause| cause.longer_s.abs() as f64 >= OF_THE_REST * all_s as f64;
    let (mut told, little): (Vec<TimeCause>, Vec<TimeCause>) = causes.into_iter().partition(is_large);
    match little.len() {
        0 | 1 => told.extend(little),
        _ => {
            let longer_s = little.iter().map(|cause| cause.longer_s).sum();
            let what = if told.is_empty() { "many small parts" } else { "the rest" };
            told.extend((longer_s != 0).then(|| TimeCause { what: what.to_owned(), longer_s }));
        }
    }
    told
}

/// How much longer the second of two outcomes takes than the first, and what makes it so, part by part of the time on site;
/// nothing where one cannot be flown, or where both take as long in every part.
///
/// ```text
/// Crossed takes 9 min 40 s longer than Nadir: 6 more strips (+6 min 2 s), 1 more battery (+2 min 30 s), the rest (+1 min 8 s).
/// ```
pub fn time_in_words(from: &Outcome, to: &Outcome) -> Option<String> {
    time(from, to)
}

/// How much longer it takes, and why; what makes it shorter though it takes longer stands behind.
fn time(from: &Outcome, to: &Outcome) -> Option<String> {
    let total = |outcome: &Outcome| Some(outcome.timing.as_ref()?.time_budget().total_s.cast_signed());
    let longer_s = total(to)? - total(from)?;
    let causes: Vec<TimeCause> =
        TimePart::ALL.into_iter().filter_map(|part| TimeCause::of(part, from, to)).collect();
    let all_s = causes.iter().map(|cause| cause.longer_s.abs()).sum();
    let (with, against): (Vec<TimeCause>, Vec<TimeCause>) =
        causes.into_iter().partition(|cause| cause.agrees(longer_s));
    let texts = |causes: Vec<TimeCause>| {
        gathered(causes, all_s).iter().map(TimeCause::text).collect::<Vec<_>>().join(", ")
    };
    let because = if with.is_empty() { String::new() } else { format!(": {}", texts(with)) };
    let despite = if against.is_empty() { String::new() } else { format!(", despite {}", texts(against)) };
    let (name, other) = (&to.name, &from.name);
    Some(match longer_s {
        0 if because.is_empty() => return None,
        0 => format!("{name} takes as long as {other}{because}."),
        more if more > 0 => format!("{name} takes {} longer than {other}{because}{despite}.", span(more)),
        less => format!("{name} takes {} less than {other}{because}{despite}.", span(-less)),
    })
}

/// A length of time to the second.
fn span(seconds: i64) -> String {
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

fn images(from: &Outcome, to: &Outcome) -> Option<String> {
    let count = |outcome: &Outcome| outcome.load.as_ref().map(|load| i64::from(load.image_count));
    let (before, after) = (count(from)?, count(to)?);
    let more = Difference { one: "image", many: "images", more: after - before };
    let told = |count: i64| thousands(count as f64);
    (more.more != 0)
        .then(|| format!("It takes {}: {} instead of {}.", more.text(), told(after), told(before)))
}

/// Both figures of a measure with decimals that show which is more; nothing where they are alike as they are shown.
fn both(from: &Outcome, to: &Outcome, of: MeasureId, form: Form) -> Option<(f64, f64, [String; 2])> {
    let (before, after) = (measure(of).read(from)?, measure(of).read(to)?);
    // No one is told of the fifth digit.
    let decimals = form.decimals(&[before, after], None);
    let texts = [before, after].map(|value| form.number(value, decimals));
    (texts[0] != texts[1]).then_some((before, after, texts))
}

/// Coverage of each class, the largest change first.
fn covered(from: &Outcome, to: &Outcome) -> Vec<String> {
    let share = |outcome: &Outcome, class| outcome.coverage()[class].unwrap_or(0.0);
    let change = |class: &SurfaceClass| (share(to, *class) - share(from, *class)).abs();
    let mut classes = SurfaceClass::ALL;
    classes.sort_by(|a, b| change(b).total_cmp(&change(a)));
    classes.into_iter().filter_map(|class| coverage(from, to, class)).collect()
}

fn coverage(from: &Outcome, to: &Outcome, class: SurfaceClass) -> Option<String> {
    let form = Form::of(Unit::Share);
    let (before, after, [old, new]) = both(from, to, MeasureId::Coverage(class), form)?;
    let way = if after > before { "brings" } else { "lets" };
    let down = if after > before { "" } else { " fall" };
    Some(format!("It {way} {}{down} from {old} to {new} %.", class.plural()))
}

fn fineness(from: &Outcome, to: &Outcome, class: SurfaceClass, gsd: GsdUnit) -> Option<String> {
    // Where little is seen, a fine GSD says little.
    let little = |outcome: &Outcome| {
        let views = outcome.views.as_ref().and_then(|views| views.classes[class].as_ref());
        views.is_some_and(|figures| figures.unseen_ratio > 0.5)
    };
    if little(from) || little(to) {
        return None;
    }
    let form = Form::of_in(Unit::GsdMetres, gsd);
    let (before, after, [old, new]) = both(from, to, MeasureId::GsdP95(class), form)?;
    let word = if after < before { "finer" } else { "coarser" };
    let sign = form.sign;
    Some(format!("GSD of {} is {word}: {new} instead of {old} {sign}.", class.plural()))
}

/// Where the one meets the requirement and the other does not.
fn verdict(from: &Outcome, to: &Outcome) -> Option<String> {
    let told = |meets: &Outcome, misses: &Outcome| {
        let lines: Vec<String> = misses.missed().map(|line| within(measure(line.of()).name)).collect();
        let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        format!("{} meets the requirement; {} misses {}.", meets.name, misses.name, listed(&lines))
    };
    match (from.meets()?, to.meets()?) {
        (false, true) => Some(told(to, from)),
        (true, false) => Some(told(from, to)),
        _ => None,
    }
}
