//! Figures as words in sentences; lengths in both systems of units, since crews fly in either.

use crate::SurfaceClass;

/// The class as the subject of a sentence.
pub(crate) fn plural(class: SurfaceClass) -> &'static str {
    match class {
        SurfaceClass::Ground => "ground",
        SurfaceClass::Roof => "roofs",
        SurfaceClass::Wall => "walls",
        SurfaceClass::Underside => "undersides",
    }
}

/// A share in per cent, with as many decimals as it takes to tell it from `beside`; below 1 % with those that it takes
/// to tell it from nothing, up to three.
pub(crate) fn percent(share: f64, beside: f64) -> String {
    let shown = apart(share * 100.0, beside * 100.0);
    if share <= 0.0 || share >= 0.01 {
        return shown;
    }
    let finer = (1..=3).map(|decimals| format!("{:.decimals$}", share * 100.0));
    finer.into_iter().find(|text| text.bytes().any(|digit| (b'1'..=b'9').contains(&digit))).unwrap_or(shown)
}

/// A number with as few decimals (up to three) as it takes to tell it from another.
pub(crate) fn apart(value: f64, beside: f64) -> String {
    (0..3)
        .map(|decimals| (format!("{value:.decimals$}"), format!("{beside:.decimals$}")))
        .find(|(shown, other)| shown != other)
        .map_or_else(|| trimmed(value, 3), |(shown, _)| shown)
}

/// A number with at most `decimals` decimals, trailing zeros dropped.
pub(crate) fn trimmed(value: f64, decimals: usize) -> String {
    let shown = format!("{value:.decimals$}");
    if shown.contains('.') { shown.trim_end_matches('0').trim_end_matches('.').to_owned() } else { shown }
}

/// A length in whole metres, and in whole feet (0.3048 m, exact): "73 m (240 ft)".
pub(crate) fn length(length_m: f64) -> String {
    format!("{length_m:.0} m ({:.0} ft)", length_m / 0.3048)
}

/// A speed: "9 m/s (17 kn)", a knot being 1852 m an hour, exact.
pub(crate) fn speed(speed_mps: f64) -> String {
    format!("{} m/s ({:.0} kn)", trimmed(speed_mps, 1), speed_mps * 3600.0 / 1852.0)
}

/// Whole minutes.
pub(crate) fn minutes(seconds: f64) -> String {
    format!("{:.0} min", seconds / 60.0)
}

/// "1 battery", "3 batteries".
pub(crate) fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: 73.2 / 0.3048 = 240.2; the limits of 14 CFR 107.51 and EU 2019/947 are 400 ft and 120 m.
    #[test]
    fn lengths_stand_in_both_units() {
        assert_eq!(length(73.2), "73 m (240 ft)");
        assert_eq!(length(121.92), "122 m (400 ft)");
        assert_eq!(length(120.0), "120 m (394 ft)");
        assert_eq!(length(-2.0), "-2 m (-7 ft)");
    }

    #[test]
    fn near_misses_are_told_apart() {
        assert_eq!(percent(0.41, 0.80), "41");
        assert_eq!(percent(0.0031, 0.80), "0.3");
        assert_eq!(percent(0.0004, 0.80), "0.04");
        assert_eq!(percent(0.0, 0.80), "0");
        assert_eq!(percent(0.798, 0.80), "79.8");
        assert_eq!(apart(2.4, 2.0), "2.4");
        assert_eq!(apart(2.004, 2.0), "2.004");
        assert_eq!(trimmed(2.50, 2), "2.5");
    }
}
