//! Two outcomes beside each other in sentences: what differs, and what of it causes what.

use crate::base::SurfaceClass;
use crate::base::wording::{Form, listed, thousands, within};
use crate::base::{GsdUnit, Unit};
use crate::result::{MeasureId, Outcome, TimePart, measure};
use crate::route::LegKind;

/// What is different in the second of two outcomes, in sentences; every number in them is one of the two outcomes' figures, or
/// the difference of two.
///
/// ```text
/// Crossed takes 9 min 40 s longer than Nadir: 6 more strips (+6 min 2 s), 1 more battery (+2 min 30 s).
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

/// What takes time, as it is called: one, several, and the part of the time on site that it makes up.
const TAKES_TIME: [(&str, &str, TimePart); 3] = [
    ("strip", "strips", TimePart::Strips),
    ("turn", "turns", TimePart::Turns),
    ("battery", "batteries", TimePart::Swaps),
];

/// What takes time, counted in an outcome, and the seconds that it takes: as [`TAKES_TIME`].
fn counts(outcome: &Outcome) -> [(i64, i64); 3] {
    let Some(timing) = &outcome.timing else { return [(0, 0); 3] };
    let strips: u32 = outcome.plans().map(|plan| plan.layout.strips).sum();
    let legs = timing.flight.legs.iter();
    let turns = legs.filter(|flown| flown.turn_s > 0.0 || flown.leg.kind == LegKind::Turn).count();
    let counted = [u64::from(strips), turns as u64, timing.flight.sorties.len() as u64];
    let budget = timing.time_budget();
    std::array::from_fn(|k| (counted[k].cast_signed(), budget.of(TAKES_TIME[k].2).cast_signed()))
}

/// What there is more or less of, and in brackets how much of the time is due to it.
struct TimeCause {
    count: Difference,
    longer_s: i64,
}

impl TimeCause {
    /// Whether it makes the time on site differ as it does; where the time is the same, all do.
    fn agrees(&self, longer_s: i64) -> bool {
        let own = if self.longer_s == 0 { self.count.more } else { self.longer_s };
        longer_s == 0 || (own > 0) == (longer_s > 0)
    }

    fn text(&self) -> String {
        match self.longer_s {
            0 => self.count.text(),
            more if more > 0 => format!("{} (+{})", self.count.text(), span(more)),
            less => format!("{} (−{})", self.count.text(), span(-less)),
        }
    }
}

/// How much longer the second of two outcomes takes than the first, and what there is more of, with its share of the time;
/// nothing where one cannot be flown, or where both take as long with as much of everything.
///
/// ```text
/// Crossed takes 9 min 40 s longer than Nadir: 6 more strips (+6 min 2 s), 11 more turns (+33 s), 1 more battery (+2 min 30 s).
/// ```
pub fn time_in_words(from: &Outcome, to: &Outcome) -> Option<String> {
    time(from, to)
}

/// How much longer it takes, and what there is more of; what makes it shorter though it takes longer stands behind.
fn time(from: &Outcome, to: &Outcome) -> Option<String> {
    let total = |outcome: &Outcome| Some(outcome.timing.as_ref()?.time_budget().total_s.cast_signed());
    let longer_s = total(to)? - total(from)?;
    let (before, after) = (counts(from), counts(to));
    let causes = TAKES_TIME.iter().zip(before.iter().zip(after));
    let mut causes: Vec<TimeCause> = causes
        .map(|((one, many, _), (before, after))| TimeCause {
            count: Difference { one, many, more: after.0 - before.0 },
            longer_s: after.1 - before.1,
        })
        .filter(|cause| cause.count.more != 0)
        .collect();
    causes.sort_by_key(|cause| -cause.longer_s.abs());
    let (with, against): (Vec<TimeCause>, Vec<TimeCause>) =
        causes.into_iter().partition(|cause| cause.agrees(longer_s));
    let texts = |causes: &[TimeCause]| causes.iter().map(TimeCause::text).collect::<Vec<_>>().join(", ");
    let because = if with.is_empty() { String::new() } else { format!(": {}", texts(&with)) };
    let despite = if against.is_empty() { String::new() } else { format!(", despite {}", texts(&against)) };
    let (name, other) = (&to.name, &from.name);
    Some(match longer_s {
        0 if with.is_empty() => return None,
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
