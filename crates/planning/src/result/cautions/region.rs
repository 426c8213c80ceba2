//! What a region's rules ask for whatever the plan, and the limits on speed and mass.

use crate::base::wording::{held_speeds, length};
use crate::result::caution::{Caution, CautionSource, Severity, check, reminder};
use crate::result::cautions::edges::beyond_boundary;
use crate::result::cautions::facts::Facts;
use crate::result::cautions::rules;
use crate::scenario::HeightRule;

/// Whether the region's rule is this one.
fn under(facts: &Facts<'_>, rule: HeightRule) -> Option<()> {
    (facts.conditions.height_rule == rule).then_some(())
}

pub(super) fn speed_limit(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::UsPart107)?;
    let legs = facts.flight().legs.iter().map(|flown| flown.peak_mps).enumerate();
    let mut fast: Vec<(f64, usize)> =
        legs.filter(|(_, mps)| *mps > rules::us::SPEED_MPS).map(|(leg, mps)| (mps, leg)).collect();
    fast.sort_by(|a, b| b.0.total_cmp(&a.0));
    fast.first().map(|(fastest_mps, _)| {
        let told = held_speeds(*fastest_mps, rules::us::SPEED_MPS);
        let text = format!(
            "flies at up to {} over ground, above the limit of {}, 100 miles an hour; lower the speed",
            told.value, told.limit
        );
        let caution = check("speed-limit", text, CautionSource::Rule(rules::us::LIMITS));
        let caution = caution.gauged(*fastest_mps, told.value);
        Caution { severity: Severity::Limit, ..caution }.placed(facts.walk().of_legs(&fast))
    })
}

pub(super) fn clouds(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::UsPart107)?;
    let text = format!(
        "needs a visibility of 3 statute miles ({:.1} km) from the control station, and {} below and {} beside clouds",
        rules::us::VISIBILITY_M / 1000.0,
        length(rules::us::BELOW_CLOUD_M),
        length(rules::us::BESIDE_CLOUD_M)
    );
    Some(reminder("visibility-clouds", text, CautionSource::Rule(rules::us::LIMITS)))
}

pub(super) fn open_category(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::EuOpen)?;
    let source = CautionSource::Rule(rules::eu::OPEN);
    let limit_kg = rules::eu::MASS_KG;
    let mass_kg = facts.aircraft.airframe.energy.map(|energy| energy.mass_kg);
    if let Some(mass_kg) = mass_kg.filter(|kg| *kg >= limit_kg) {
        let text =
            format!("takes off with {mass_kg:.1} kg; the open category is for less than {limit_kg:.0} kg");
        let caution = check("open-category", text, source).gauged(mass_kg, format!("{mass_kg:.1} kg"));
        return Some(Caution { severity: Severity::Limit, ..caution });
    }
    let mass = mass_kg.map_or_else(
        || "the mass of this aircraft is not given".to_owned(),
        |kg| format!("this aircraft takes off with {kg:.1} kg; its maximum take-off mass counts"),
    );
    let text = format!(
        "open category: less than {limit_kg:.0} kg ({mass}), in sight, not over assemblies of people, no dangerous goods, \
         nothing dropped"
    );
    // A mass that nobody knows may be any.
    let gauge = mass_kg.map_or_else(|| "mass not given".to_owned(), |kg| format!("{kg:.1} kg"));
    Some(reminder("open-category", text, source).gauged(mass_kg.unwrap_or(f64::INFINITY), gauge))
}

pub(super) fn areas(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::EuOpen)?;
    let text = format!(
        "subcategory A3 keeps {} from residential, commercial, industrial or recreational areas, level; check which \
         subcategory this aircraft may fly in",
        length(rules::eu::AREAS_M)
    );
    Some(reminder("distance-from-areas", text, CautionSource::Rule(rules::eu::AREAS)))
}

/// What lies beyond the boundary belongs to neighbours, and is drawn nowhere.
pub(super) fn unknown(facts: &Facts<'_>) -> Caution {
    let text = "not known to this program: people and vehicles below, power lines and wires, airspace, obstacles that are \
                not drawn, weather and wind on the day; look before every flight";
    let Some((beyond_m, places)) = beyond_boundary(facts) else {
        let caution = reminder("unknown", text.to_owned(), CautionSource::Practice);
        return caution.gauged(0.0, length(0.0));
    };
    let text = format!("{text}, also up to {} beyond the boundary", length(beyond_m));
    let caution = reminder("unknown", text, CautionSource::Practice).placed(places);
    caution.gauged(beyond_m, length(beyond_m))
}

pub(super) fn local_rules(facts: &Facts<'_>) -> Caution {
    let text = "a prediction, not a permission: local rules and the remote pilot decide; legal boundaries and measured \
                results are for licensed practice";
    let source = match facts.conditions.height_rule {
        HeightRule::UsPart107 => CautionSource::Rule("14 CFR Part 107 and local rules"),
        HeightRule::EuOpen => CautionSource::Rule("Regulation (EU) 2019/947 and local rules"),
        HeightRule::Custom { .. } => CautionSource::Rule("local rules"),
    };
    reminder("local-rules", text.to_owned(), source)
}
