//! What a region's rules ask for whatever the plan, and the limits on speed and mass.

use crate::base::wording::InUnits;
use crate::base::{Unit, Units};
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
        let held = |units: Units| units.held_speeds(*fastest_mps, rules::us::SPEED_MPS);
        let text = InUnits::of(|units| {
            let told = held(units);
            format!(
                "flies at up to {} over ground, above the limit of {} (87 knots, 100 miles an hour); lower the speed",
                told.value, told.limit
            )
        });
        let caution = check("speed-limit", text, CautionSource::Rule(rules::us::LIMITS));
        let caution = caution.gauged(*fastest_mps, InUnits::of(|units| held(units).value));
        Caution { severity: Severity::Limit, ..caution }.placed(facts.walk().of_legs(&fast))
    })
}

pub(super) fn clouds(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::UsPart107)?;
    let text = InUnits::of(|units| {
        let legal = |m: f64| units.legal_length(m, Units::UsCustomary);
        let miles = if units.is_us() {
            "3 statute miles".to_owned()
        } else {
            format!("{:.1} km (3 statute miles)", rules::us::VISIBILITY_M / 1000.0)
        };
        format!(
            "needs a visibility of {miles} from the control station, and {} below and {} beside clouds",
            legal(rules::us::BELOW_CLOUD_M),
            legal(rules::us::BESIDE_CLOUD_M)
        )
    });
    Some(reminder("visibility-clouds", text, CautionSource::Rule(rules::us::LIMITS)))
}

/// A mass in the units asked for, to a tenth.
fn mass(units: Units, kg: f64) -> String {
    format!("{:.1}{}", units.shown(Unit::Kilograms, kg), units.suffix(Unit::Kilograms))
}

/// A mass that a metric law states.
fn legal_mass(units: Units, kg: f64) -> String {
    let own = units.text(Unit::Kilograms, kg);
    if units.is_us() { format!("{own} ({kg:.0} kg)") } else { own }
}

pub(super) fn open_category(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::EuOpen)?;
    let source = CautionSource::Rule(rules::eu::OPEN);
    let limit_kg = rules::eu::MASS_KG;
    let mass_kg = facts.aircraft.airframe.energy.map(|energy| energy.mass_kg);
    if let Some(mass_kg) = mass_kg.filter(|kg| *kg >= limit_kg) {
        let own = InUnits::of(|units| mass(units, mass_kg));
        let text = InUnits::of(|units| {
            let limit = legal_mass(units, limit_kg);
            format!("takes off with {}; the open category is for less than {limit}", own.in_units(units))
        });
        let caution = check("open-category", text, source).gauged(mass_kg, own);
        return Some(Caution { severity: Severity::Limit, ..caution });
    }
    let text = InUnits::of(|units| {
        let own = mass_kg.map_or_else(
            || "the mass of this aircraft is not given".to_owned(),
            |kg| {
                format!("this aircraft takes off with {}; its maximum take-off mass counts", mass(units, kg))
            },
        );
        let limit = legal_mass(units, limit_kg);
        format!(
            "open category: less than {limit} ({own}), in sight, not over assemblies of people, no dangerous goods, \
             nothing dropped"
        )
    });
    // A mass that nobody knows may be any.
    let gauge = mass_kg.map_or_else(|| "mass not given".into(), |kg| InUnits::of(|units| mass(units, kg)));
    Some(reminder("open-category", text, source).gauged(mass_kg.unwrap_or(f64::INFINITY), gauge))
}

pub(super) fn areas(facts: &Facts<'_>) -> Option<Caution> {
    under(facts, HeightRule::EuOpen)?;
    let text = InUnits::of(|units| {
        format!(
            "subcategory A3 keeps {} from residential, commercial, industrial or recreational areas, level; check which \
             subcategory this aircraft may fly in",
            units.legal_length(rules::eu::AREAS_M, Units::Metric)
        )
    });
    Some(reminder("distance-from-areas", text, CautionSource::Rule(rules::eu::AREAS)))
}

/// What lies beyond the boundary belongs to neighbours, and is drawn nowhere.
pub(super) fn unknown(facts: &Facts<'_>) -> Caution {
    let text = "not known to this program: people and vehicles below, power lines and wires, airspace, obstacles that are \
                not drawn, weather and wind on the day; look before every flight";
    let Some((beyond_m, places)) = beyond_boundary(facts) else {
        let caution = reminder("unknown", text.to_owned(), CautionSource::Practice);
        return caution.gauged(0.0, InUnits::of(|units| units.length(0.0)));
    };
    let beyond = InUnits::of(|units| units.length(beyond_m));
    let text =
        InUnits::of(|units| format!("{text}, also up to {} beyond the boundary", beyond.in_units(units)));
    let caution = reminder("unknown", text, CautionSource::Practice).placed(places);
    caution.gauged(beyond_m, beyond)
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
