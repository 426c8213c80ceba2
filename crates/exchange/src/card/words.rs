//! Figures as an operator reads them: feet beside metres, gimbal pitch beside tilt.

/// Metres in a foot, exactly (international foot).
const METRES_PER_FOOT: f64 = 0.3048;

/// Widest line of a paragraph.
const WIDTH: usize = 92;

/// `73.0 m (240 ft)`.
pub(super) fn height(m: f64) -> String {
    format!("{m:.1} m ({:.0} ft)", m / METRES_PER_FOOT)
}

pub(super) fn metres(m: f64) -> String {
    format!("{m:.1} m")
}

/// Rounded down, so that keying it in never breaks the limit that it comes from.
pub(super) fn speed(mps: f64) -> String {
    // What lies a rounding error below a tenth is that tenth.
    let tenths = (mps * 10.0 + 1e-9).floor();
    format!("{:.1} m/s", tenths / 10.0)
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

/// `tilt 30° (gimbal −60°)`: the second is the pitch that gimbals are set by, from level.
pub(super) fn tilt(tilt_deg: f64) -> String {
    let pitch_deg = tilt_deg - 90.0;
    let sign = if pitch_deg < 0.0 { "−" } else { "" };
    format!("tilt {}° (gimbal {sign}{}°)", short(tilt_deg), short(pitch_deg.abs()))
}

/// `020°`: three digits, 0 to 359.
pub(super) fn azimuth(rad: f64) -> String {
    format!("{:03.0}°", rad.to_degrees().round().rem_euclid(360.0).abs())
}

fn short(value: f64) -> String {
    let shown = format!("{value:.1}");
    shown.strip_suffix(".0").map_or_else(|| shown.clone(), str::to_owned)
}

/// Lines of at most [`WIDTH`] characters, broken at spaces.
pub(super) fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= WIDTH {
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
        assert_eq!(height(121.92), "121.9 m (400 ft)");
        assert_eq!(speed(8.29), "8.2 m/s");
        assert_eq!(speed(0.3 * 10.0 - 0.4), "2.6 m/s", "2.5999… is 2.6");
        assert_eq!((percent(0.8).as_str(), percent(0.725).as_str()), ("80 %", "72.5 %"));
        assert_eq!(tilt(30.0), "tilt 30° (gimbal −60°)");
        assert_eq!(tilt(0.0), "tilt 0° (gimbal −90°)");
        assert_eq!(tilt(110.5), "tilt 110.5° (gimbal 20.5°)");
        assert_eq!(azimuth(-0.001), "000°");
        assert_eq!(azimuth(std::f64::consts::TAU + 0.35), "020°");
    }

    #[test]
    fn paragraphs_break_at_spaces() {
        let lines = wrapped(&"word ".repeat(50));
        assert!(lines.len() > 1 && lines.iter().all(|line| line.len() <= WIDTH));
    }
}
