//! What surfaces get.

use crate::base::wording::{Form, trimmed};
use crate::base::{SurfaceClass, Unit};
use crate::result::outcome::Finished;
use crate::result::working::layout;
use crate::result::working::terms::{CountedShare, Origin, Reached, Step, Term, Working};
use crate::view::{ClassFigures, Shortage};

const SAMPLES: &str =
    "counted on samples of the surface, each standing for its area; the rules are those of the requirement";

const SEEN: &str = "counted on samples of the surface, each standing for its area";

const BEST: &str = "the finest counted view of every sample, by area: the first GSD up to which 95 % of what is seen comes; that \
                    of a tilted view, from the projection itself, is coarser than the nominal one";

/// Sampled areas of a class.
fn area(symbol: &'static str, name: impl Into<String>, m2: f64) -> Term {
    Term::new(symbol, name, m2, "m²").from(Origin::Sampled)
}

/// The share covered, and why the rest is not.
pub(crate) fn coverage(stages: &Finished<'_>, class: SurfaceClass) -> Option<Working> {
    let limits = stages.views?.limits;
    let ClassFigures { area_m2, covered_ratio, shortage, .. } = stages.class(class)?;
    let Shortage { outside_frames, hidden, too_slanted, too_coarse, too_few, not_linked } = shortage;
    let degrees = |rad: f64| format!("{}°", trimmed(rad.to_degrees(), 1));
    let gsd = Form::of(Unit::GsdMetres);
    let coarsest = gsd.text(limits.max_gsd_m[class], 2);
    let slanted = degrees(limits.max_incidence_rad);
    let (few, linked) = (limits.min_views, degrees(limits.max_link_rad));
    let parted = degrees(limits.min_intersection_rad);
    let rest = [
        ("in no image's frame, or seen from behind only".to_owned(), *outside_frames),
        ("hidden in every image that points at it".to_owned(), *hidden),
        (format!("seen only beyond {slanted} from square on"), *too_slanted),
        (format!("seen only coarser than {coarsest}"), *too_coarse),
        (format!("in counted views, but fewer than {few}"), *too_few),
        (
            format!(
                "in {few} counted views or more, but not {few} within {linked} of a next one with two {parted} apart"
            ),
            *not_linked,
        ),
    ];
    let share = CountedShare {
        result: Term::new("c", format!("coverage of {}", class.plural()), 100.0 * covered_ratio, "%"),
        whole: area("A", format!("area of {}", class.plural()), *area_m2),
        counted: area("A_c", "covered", covered_ratio * area_m2),
        rest: rest.map(|(name, ratio)| area("", name, ratio * area_m2)).into_iter().collect(),
        source: SAMPLES,
    };
    Some(Working::new([Step::Share(share)]))
}

/// The nominal GSD of every pass, and what comes of it on the surface.
pub(crate) fn gsd(stages: &Finished<'_>, class: SurfaceClass) -> Option<Working> {
    let ClassFigures { area_m2, gsd, unseen_ratio, .. } = stages.class(class)?;
    let gsd = gsd.as_ref()?;
    let seen_m2 = (1.0 - unseen_ratio) * area_m2;
    let share = CountedShare {
        result: Term::new("u", "seen in a counted view", 100.0 * (1.0 - unseen_ratio), "%"),
        whole: area("A", format!("area of {}", class.plural()), *area_m2),
        counted: area("A_v", "with a counted view", seen_m2),
        rest: vec![area("", "without a counted view", unseen_ratio * area_m2)],
        source: SEEN,
    };
    let result =
        Term::new("GSD_95", format!("GSD of {}, 95th percentile", class.plural()), 100.0 * gsd.p95_m, "cm");
    let told = result.text();
    let reached = Reached {
        whole: area("A_v", "with a counted view", seen_m2).from(Origin::Step),
        share: Term::new("q", "share that is asked for", 95.0, "%").from(Origin::Practice),
        below: area("A_below", format!("finer than {told}"), gsd.finer_m2),
        up_to: area("A_up", format!("as fine as {told}, or finer"), gsd.as_fine_m2),
        result,
        source: BEST,
    };
    let plans = stages.passes.iter().enumerate().filter_map(|(k, pass)| Some((k, pass.laid()?)));
    let nominal = plans.flat_map(|(k, plan)| layout::nominal_gsd(k, plan));
    Some(Working::new(nominal.chain([Step::Share(share), Step::Reached(reached)])))
}
