//! Figures as an operator reads them: in the chosen system of units first, in the other one beside it. How numbers are
//! written is decided by [`obliquity_planning::wording`].

use crate::Units;
use obliquity_planning::Unit;
use obliquity_planning::exact::{FOOT_M, MPH_MPS};
use obliquity_planning::wording::{Form, trimmed};

/// Widest line of a paragraph.
pub(super) const WIDTH: usize = 92;

/// A figure in the chosen system, and the same in the other one. Both are written from the exact figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Said {
    pub(super) value: String,
    pub(super) also: String,
}

impl Said {
    fn of(units: Units, metric: String, us: String) -> Said {
        if units.is_us() { Said { value: us, also: metric } } else { Said { value: metric, also: us } }
    }
}

/// Metres to a decimal: what a controller takes.
const METRES: Form = Form::new(1.0, "m", |_| 1);

/// Feet, with a decimal below a hundred.
const FEET: Form = Form::new(FOOT_M, "ft", |feet| usize::from(feet.abs() < 99.95));

/// `73.0 m` and `240 ft`; feet with a decimal below a hundred.
pub(super) fn length(units: Units, m: f64) -> Said {
    let [metric, us] = [METRES, FEET].map(|form| form.alone(m).replace('-', "−"));
    Said::of(units, metric, us)
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
    const METRIC: Form = Form::new(1.0, "m/s", |_| 2);
    const US: Form = Form::new(MPH_MPS, "mph", |_| 1);
    Said::of(units, METRIC.down(mps), US.down(mps))
}

/// A GSD: in centimetres, or in inches where these were chosen.
pub(super) fn gsd(units: Units, gsd_m: f64) -> String {
    units.gsd_form().text(gsd_m, if units == Units::UsInches { 3 } else { 2 })
}

pub(super) fn percent(share: f64) -> String {
    format!("{} %", trimmed(100.0 * share, 1))
}

pub(super) fn gigabytes(gb: f64) -> String {
    Form::of(Unit::Gigabytes).text(gb, 1)
}

pub(super) fn minutes(seconds: f64) -> String {
    Form::of(Unit::Seconds).text(seconds, 1)
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
    (format!("tilt {}°", short(tilt_deg)), format!("gimbal {}", pitch(tilt_deg - 90.0)))
}

/// `−60°`.
pub(super) fn pitch(pitch_deg: f64) -> String {
    let sign = if pitch_deg < 0.0 { "−" } else { "" };
    format!("{sign}{}°", short(pitch_deg.abs()))
}

/// `020°`: three digits, 0 to 359.
pub(super) fn azimuth(rad: f64) -> String {
    format!("{:03.0}°", rad.to_degrees().round().rem_euclid(360.0).abs())
}

pub(super) fn short(value: f64) -> String {
    trimmed(value, 1)
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

    /// Derived: both numbers are the exact figure to half of their own last digit, whatever the other one reads; a speed to
    /// all of it, and never above.
    #[test]
    fn both_systems_are_written_from_the_exact_figure() {
        let number = |text: &str| {
            let number = text.split(' ').next().unwrap_or("").replace('−', "-").replace('\u{a0}', "");
            let decimals = number.split_once('.').map_or(0, |(_, part)| part.len());
            (number.parse::<f64>().unwrap_or(f64::NAN), 10_f64.powi(-i32::try_from(decimals).unwrap_or(0)))
        };
        for k in 0..5000_u32 {
            let exact = f64::from(k).powf(1.37) * 0.0123 - 20.0;
            let said = length(Units::Metric, exact);
            for (text, shown) in [(&said.value, exact), (&said.also, exact / 0.3048)] {
                let (read, digit) = number(text);
                assert!((read - shown).abs() <= 0.5 * digit + 1e-9, "{exact} m as {text}");
            }
            let mps = f64::from(k) * 0.00713 + 0.1;
            let said = speed(Units::UsInches, mps);
            for (text, shown, digit) in [(&said.value, mps / 0.44704, 0.1), (&said.also, mps, 0.01)] {
                let read = number(text).0;
                assert!((-1e-9..digit).contains(&(shown - read)), "{mps} m/s as {text}");
            }
        }
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
