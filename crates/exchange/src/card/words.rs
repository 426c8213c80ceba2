//! Figures as an operator reads them: feet beside metres, gimbal pitch beside tilt.

/// Metres in a foot, exactly (international foot).
const METRES_PER_FOOT: f64 = 0.3048;

/// A mile an hour, exactly (5280 international feet).
const METRES_PER_SECOND_PER_MPH: f64 = 5280.0 * METRES_PER_FOOT / 3600.0;

/// Widest line of a paragraph.
pub(super) const WIDTH: usize = 92;

/// `73.0 m` and `240 ft`.
pub(super) fn height(m: f64) -> (String, String) {
    (format!("{m:.1} m"), format!("{:.0} ft", m / METRES_PER_FOOT))
}

/// `10.0 m/s` and `22.3 mph`: rounded down, so that keying it in never breaks the limit that it comes from.
pub(super) fn speed(mps: f64) -> (String, String) {
    // What lies a rounding error below a tenth is that tenth.
    let tenths = |value: f64| (value * 10.0 + 1e-9).floor() / 10.0;
    (format!("{:.1} m/s", tenths(mps)), format!("{:.1} mph", tenths(mps / METRES_PER_SECOND_PER_MPH)))
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

fn short(value: f64) -> String {
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
        assert_eq!(both(height(121.92)), "121.9 m (400 ft)");
        // 8.29 / 0.44704 = 18.54.
        assert_eq!(both(speed(8.29)), "8.2 m/s (18.5 mph)");
        assert!(both(speed(0.3 * 10.0 - 0.4)).starts_with("2.6 m/s"), "2.5999… is 2.6");
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
