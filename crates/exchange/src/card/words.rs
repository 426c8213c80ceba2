//! Figures as an operator reads them: in the chosen system of units first, in the other one beside it.

use crate::Units;

/// Metres in a foot, exactly (international foot).
const METRES_PER_FOOT: f64 = 0.3048;

/// A mile an hour, exactly (5280 international feet).
const METRES_PER_SECOND_PER_MPH: f64 = 5280.0 * METRES_PER_FOOT / 3600.0;

/// Widest line of a paragraph.
pub(super) const WIDTH: usize = 92;

/// A figure in the chosen system, and the same in the other one. Both are rounded from the exact figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Said {
    pub(super) value: String,
    pub(super) also: String,
}

impl Said {
    fn of(units: Units, metric: String, us: String) -> Said {
        match units {
            Units::Metric => Said { value: metric, also: us },
            Units::UsCustomary => Said { value: us, also: metric },
        }
    }
}

/// `73.0 m` and `240 ft`; feet with a decimal below a hundred.
pub(super) fn length(units: Units, m: f64) -> Said {
    let feet = m / METRES_PER_FOOT;
    let us = if feet.abs() < 99.95 { format!("{feet:.1} ft") } else { format!("{feet:.0} ft") };
    let signed = |text: String| text.replace('-', "−");
    Said::of(units, signed(format!("{m:.1} m")), signed(us))
}

/// Two lengths in one figure: "5.2 m to 5.9 m"; one where both read the same.
pub(super) fn lengths(units: Units, (low_m, high_m): (f64, f64)) -> Said {
    let (low, high) = (length(units, low_m), length(units, high_m));
    let both = |a: String, b: String| if a == b { a } else { format!("{a} to {b}") };
    Said { value: both(low.value, high.value), also: both(low.also, high.also) }
}

/// Lengths one after the other.
pub(super) fn list(units: Units, lengths_m: impl IntoIterator<Item = f64>) -> Said {
    let (values, also): (Vec<_>, Vec<_>) =
        lengths_m.into_iter().map(|m| length(units, m)).map(|said| (said.value, said.also)).unzip();
    Said { value: values.join(", "), also: also.join(", ") }
}

/// `7.69 m/s` and `17.2 mph`: rounded down, so that keying it in never breaks the limit that it comes from.
pub(super) fn speed(units: Units, mps: f64) -> Said {
    // What lies a rounding error below a step is that step.
    let down = |value: f64, steps: f64| (value * steps + 1e-9).floor() / steps;
    let metric = format!("{} m/s", down(mps, 100.0));
    Said::of(units, metric, format!("{:.1} mph", down(mps / METRES_PER_SECOND_PER_MPH, 10.0)))
}

/// A GSD in centimetres.
pub(super) fn gsd(gsd_m: f64) -> String {
    format!("{:.2} cm", gsd_m * 100.0)
}

pub(super) fn percent(share: f64) -> String {
    let shown = format!("{:.1}", share * 100.0);
    format!("{} %", shown.strip_suffix(".0").unwrap_or(&shown))
}

pub(super) fn gigabytes(gb: f64) -> String {
    format!("{gb:.1} GB")
}

pub(super) fn minutes(seconds: f64) -> String {
    format!("{:.1} min", seconds / 60.0)
}

/// What another count or time differs by, in per cent of what is predicted; nothing where nothing is predicted.
pub(super) fn difference(theirs: f64, ours: f64) -> Option<String> {
    let percent = 100.0 * (theirs - ours) / ours;
    percent.is_finite().then(|| {
        let shown = format!("{:.1}", percent.abs());
        match shown.as_str() {
            "0.0" => "no difference".to_owned(),
            _ => format!("{shown} % {}", if percent > 0.0 { "more" } else { "less" }),
        }
    })
}

/// `tilt 30°` and `gimbal −60°`: the second is the pitch that gimbals are set by, from level.
pub(super) fn tilt(tilt_deg: f64) -> (String, String) {
    let pitch_deg = tilt_deg - 90.0;
    let sign = if pitch_deg < 0.0 { "−" } else { "" };
    (format!("tilt {}°", short(tilt_deg)), format!("gimbal {sign}{}°", short(pitch_deg.abs())))
}

/// `020°`: three digits, 0 to 359.
pub(super) fn azimuth(rad: f64) -> String {
    format!("{:03.0}°", rad.to_degrees().round().rem_euclid(360.0).abs())
}

pub(super) fn short(value: f64) -> String {
    let shown = format!("{value:.1}");
    shown.strip_suffix(".0").map_or_else(|| shown.clone(), str::to_owned)
}

/// Lines of at most `width` characters, broken at spaces.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= width {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_operators_read_them() {
        let both = |(a, b): (String, String)| format!("{a} ({b})");
        let said = |said: Said| format!("{} ({})", said.value, said.also);
        assert_eq!(said(length(Units::Metric, 121.92)), "121.9 m (400 ft)");
        assert_eq!(said(length(Units::UsCustomary, 121.92)), "400 ft (121.9 m)");
        // Derived: 4.86 / 0.3048 = 15.94.
        assert_eq!(said(length(Units::Metric, 4.86)), "4.9 m (15.9 ft)", "from the exact length");
        assert_eq!(said(lengths(Units::Metric, (4.86, 4.88))), "4.9 m (15.9 ft to 16.0 ft)");
        // 8.297 / 0.44704 = 18.56.
        assert_eq!(said(speed(Units::Metric, 8.297)), "8.29 m/s (18.5 mph)");
        assert_eq!(said(speed(Units::UsCustomary, 10.0)), "22.3 mph (10 m/s)");
        assert!(said(speed(Units::Metric, 0.3 * 10.0 - 0.4)).starts_with("2.6 m/s"), "2.5999… is 2.6");
        assert_eq!((percent(0.8).as_str(), percent(0.725).as_str()), ("80 %", "72.5 %"));
        assert_eq!(both(tilt(30.0)), "tilt 30° (gimbal −60°)");
        assert_eq!(both(tilt(0.0)), "tilt 0° (gimbal −90°)");
        assert_eq!(both(tilt(110.5)), "tilt 110.5° (gimbal 20.5°)");
        assert_eq!(azimuth(-0.001), "000°");
        assert_eq!(azimuth(std::f64::consts::TAU + 0.35), "020°");
    }

    // Derived: by hand.
    #[test]
    fn differences_are_of_the_prediction() {
        assert_eq!(difference(52.0, 50.0).as_deref(), Some("4.0 % more"));
        assert_eq!(difference(40.0, 50.0).as_deref(), Some("20.0 % less"));
        assert_eq!(difference(100.01, 100.0).as_deref(), Some("no difference"));
        assert_eq!(difference(1.0, 0.0), None);
    }

    #[test]
    fn paragraphs_break_at_spaces() {
        let lines = wrapped(&"word ".repeat(50), WIDTH);
        assert!(lines.len() > 1 && lines.iter().all(|line| line.len() <= WIDTH));
    }
}
