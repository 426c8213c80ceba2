//! Numbers as people write them: what is typed is read as it is meant, asked about, or refused, and never silently another.

use obliquity_exchange::{EntryField, EntryKind, Misread, Unit, Units, count, short, written};
use proptest::prelude::*;

/// Wide enough for everything below.
const WIDE: std::ops::RangeInclusive<f64> = -1e12..=1e12;

fn field(unit: Unit) -> EntryField {
    EntryField { unit, units: Units::Metric, range: WIDE, decimals: 2, kind: EntryKind::Any }
}

const LENGTH: Unit = Unit::Metres;
const CM: Unit = Unit::GsdCentimetres;
const MIN: Unit = Unit::Minutes;
const COUNT: Unit = Unit::Count;

/// Source: international foot 0.3048 m, inch 0.0254 m, mile 1609.344 m, knot 1852 m an hour, acre 4046.8564224 m², pound
/// 0.45359237 kg (NIST SP 811, 2008, app. B.8), all exact; gon: 400 make 360°. Derived: the rest by hand.
#[test]
fn every_spelling_that_is_taken() {
    let cases: &[(Unit, &str, f64)] = &[
        // decimal marks
        (CM, "1.5", 1.5),
        (CM, "1,5", 1.5),
        (CM, ".5", 0.5),
        (CM, ",5", 0.5),
        (CM, "5.", 5.0),
        (CM, "0,125", 0.125),
        (CM, "1250,5", 1250.5),
        (CM, "1,25", 1.25),
        (CM, "1,2505", 1.2505),
        (CM, "1234,567", 1234.567),
        // thousands
        (COUNT, "1 250", 1250.0),
        (COUNT, "1\u{a0}250", 1250.0),
        (COUNT, "1\u{202f}250", 1250.0),
        (COUNT, "1\u{2009}250", 1250.0),
        (COUNT, "1\u{2007}250\u{2007}000", 1_250_000.0),
        (COUNT, "1'250'000", 1_250_000.0),
        (COUNT, "1’250", 1250.0),
        (COUNT, "1,250,000", 1_250_000.0),
        (COUNT, "1.250.000", 1_250_000.0),
        (CM, "1 250,5", 1250.5),
        (CM, "1 250.5", 1250.5),
        (CM, "1,250.5", 1250.5),
        (CM, "1.250,5", 1250.5),
        (CM, "1'234,567", 1234.567),
        (CM, "1,234.567", 1234.567),
        (CM, "1.234,567", 1234.567),
        // signs, powers, fractions
        (LENGTH, "-3", -3.0),
        (LENGTH, "−3", -3.0),
        (LENGTH, "– 3", -3.0),
        (LENGTH, "+3", 3.0),
        (CM, "6.25e-1", 0.625),
        (CM, "1E3", 1000.0),
        (LENGTH, "1/2", 0.5),
        (LENGTH, "1 / 1250", 1.0 / 1250.0),
        (LENGTH, "-3/4 m", -0.75),
        (LENGTH, "1/2 ft", 0.1524),
        // units
        (LENGTH, "12.5 ft", 3.81),
        (LENGTH, "12.5ft", 3.81),
        (LENGTH, "12,5 FT", 3.81),
        (LENGTH, "6'", 1.8288),
        (LENGTH, "6′", 1.8288),
        (LENGTH, "5 ft 6 in", 1.6764),
        (LENGTH, "5' 6\"", 1.6764),
        (LENGTH, "5'6\"", 1.6764),
        (LENGTH, "1.2 km", 1200.0),
        (LENGTH, "1 mi", 1609.344),
        (CM, "0.6 in", 1.524),
        (CM, "0,6\"", 1.524),
        (CM, "1.5 cm", 1.5),
        (CM, "15 mm", 1.5),
        (CM, "2 cm/px", 2.0),
        (Unit::Degrees, "45°", 45.0),
        (Unit::Degrees, "45 deg", 45.0),
        (Unit::Degrees, "50 gon", 45.0),
        (Unit::Share, "80", 0.8),
        (Unit::Share, "80 %", 0.8),
        (Unit::Share, "80%", 0.8),
        (Unit::MetresPerSecond, "7 m/s", 7.0),
        (Unit::MetresPerSecond, "36 km/h", 10.0),
        (Unit::MetresPerSecond, "17 mph", 17.0 * 0.44704),
        (Unit::MetresPerSecond, "10 kn", 10.0 * 1852.0 / 3600.0),
        (Unit::VerticalMetresPerSecond, "600 ft/min", 3.048),
        (Unit::MetresPerSecondSquared, "2 m/s2", 2.0),
        (Unit::SquareMetres, "2 ha", 20_000.0),
        (Unit::SquareMetres, "1 acre", 4046.8564224),
        (MIN, "25 min", 25.0),
        (MIN, "2 h", 120.0),
        (MIN, "1 h 58 min", 118.0),
        (MIN, "90 s", 1.5),
        (Unit::ReadoutSeconds, "30", 0.03),
        (Unit::Gigabytes, "500 MB", 0.5),
        (Unit::Kilograms, "2 lb", 0.90718474),
        (Unit::Celsius, "50 °F", 10.0),
        (Unit::Celsius, "-40 F", -40.0),
        (Unit::DegreesPerSecond, "120 °/s", 120.0),
        (Unit::ExposureValue, "13 EV", 13.0),
        (Unit::ExposureValue, "13", 13.0),
    ];
    let mut wrong = String::new();
    for (unit, text, expected) in cases {
        match field(*unit).read(text) {
            Ok(stored) if (stored - expected).abs() <= 1e-12 * expected.abs() => {} // a few roundings
            other => wrong += &format!("{text:?} is {other:?}, not {expected}\n"),
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn what_may_mean_two_numbers_is_asked() {
    for (text, thousands, decimal) in [
        ("1,250", 1250.0, 1.25),
        ("12,345", 12_345.0, 12.345),
        ("999,999", 999_999.0, 999.999),
        ("-1,250", -1250.0, -1.25),
        ("1,250 m", 1250.0, 1.25),
        ("1,000 ft", 304.8, 0.3048),
        ("1/1,250", 1.0 / 1250.0, 1.0 / 1.25),
    ] {
        let asked = field(LENGTH).read(text).unwrap_err();
        assert_eq!(asked.readings.len(), 2, "{text}: {asked:?}");
        for (reading, expected) in asked.readings.iter().zip([thousands, decimal]) {
            assert!((reading - expected).abs() <= 1e-12 * expected.abs(), "{text}: {asked:?}");
        }
        assert!(asked.reason.contains(" or ") && asked.reason.contains("with a point"), "{}", asked.reason);
    }
    let asked = field(LENGTH).read("1,250").unwrap_err();
    assert!(asked.reason.contains("1\u{a0}250 m or 1.25 m"), "{}", asked.reason);
}

#[test]
fn what_cannot_be_read_says_why() {
    for (unit, text, told) in [
        (LENGTH, "", "a number in m was required, but it is nothing; write for instance 12 m"),
        (LENGTH, "twelve", "a number in m was required"),
        (LENGTH, "1.2.3", "a number in m was required"),
        (LENGTH, "1,23,456", "a number in m was required"),
        (LENGTH, "1 23", "a number in m was required"),
        (LENGTH, "1.234 567", "a number in m was required"),
        (LENGTH, "1/0", "a number in m was required"),
        (LENGTH, "--5", "a number in m was required"),
        (LENGTH, "1 2 m", "a number in m was required"),
        (LENGTH, "1e999", "a number in m was required"),
        (LENGTH, "NaN", "a number in m was required"),
        (LENGTH, "12 kg", "a length was required, but 12 kg is a mass"),
        (LENGTH, "12 acres", "a length was required, but 12 acres is an area"),
        (LENGTH, "7 m/s", "a length was required, but 7 m/s is a speed"),
        (MIN, "12 m", "a time was required, but 12 m is a length"),
        (Unit::Degrees, "45 %", "an angle was required, but 45 % is a share"),
        (Unit::Share, "45°", "a share was required, but 45° is an angle"),
        (
            LENGTH,
            "12 metres",
            "\"metres\" behind the number is no unit that fits here; write one of m, km, cm",
        ),
        (LENGTH, "12 smoots", "no unit that fits here"),
        (LENGTH, "12,", "no unit that fits here"),
        (COUNT, "12 m", "a plain number was required, but 12 m is a length"),
        (COUNT, "12 dozen", "leave it out"),
        (Unit::ExposureValue, "13 IL", "write one of EV"),
    ] {
        let Misread { reason, readings } = field(unit).read(text).unwrap_err();
        assert!(reason.contains(told) && reason.contains("; "), "{text:?}: {reason}");
        assert!(readings.is_empty());
    }
}

#[test]
fn what_lies_outside_is_refused_and_not_moved_inside() {
    let height = EntryField { range: 5.0..=500.0, decimals: 1, ..field(LENGTH) };
    for text in ["4", "501", "5000", "-73", "0.9 km"] {
        let told = height.read(text).unwrap_err().reason;
        assert!(told.contains("it must be from 5 m to 500 m"), "{text}: {told}");
    }
    // Derived: 5 m are 16.404 ft and 500 m 1640.42 ft; as they are shown, 16.4 and 1640.4, they are the limits.
    let feet = EntryField { units: Units::UsCustomary, ..height };
    assert_eq!((feet.read("16.4"), feet.read("1640.4 ft").map(f64::round)), (Ok(5.0), Ok(500.0)));
    assert!(feet.read("16.3").unwrap_err().reason.contains("from 16.4 ft to 1\u{a0}640.4 ft"));
    let images = EntryField { kind: EntryKind::Whole, decimals: 0, range: 0.0..=1e6, ..field(COUNT) };
    assert_eq!(images.read("2 000"), Ok(2000.0));
    let told = images.read("3.5").unwrap_err().reason;
    assert!(told.contains("a whole number was required, but it is 3.5; write 3 or 4"), "{told}");
}

/// Derived: 1/1250 s is 0.0008 s, 0.8 ms.
#[test]
fn an_exposure_time_is_read_as_on_a_camera_or_as_a_time() {
    let exposure = EntryField { range: 1.0 / 32_000.0..=1.0, decimals: 0, ..field(Unit::ExposureSeconds) };
    for text in ["1/1250", "1 / 1250 s", "1250", "1 250", "1/1 250", "0.0008 s", "0,0008 s", "0.8 ms"] {
        let time_s = exposure.read(text).unwrap_or_else(|told| panic!("{text}: {told:?}"));
        assert!((time_s - 0.0008).abs() < 1e-12, "{text}: {time_s}");
    }
    assert_eq!(exposure.read("1/1,250").unwrap_err().readings, [0.0008, 0.8]);
    assert_eq!(exposure.text(1.0 / 1600.0), "1/1600 s");
}

const QUANTITIES: [Unit; 17] = [
    Unit::Metres,
    Unit::SquareMetres,
    Unit::MetresPerSecond,
    Unit::VerticalMetresPerSecond,
    Unit::MetresPerSecondSquared,
    Unit::Share,
    Unit::Degrees,
    CM,
    MIN,
    COUNT,
    Unit::BriefSeconds,
    Unit::Hours,
    Unit::Millimetres,
    Unit::Gigabytes,
    Unit::WattHours,
    Unit::Kilograms,
    Unit::Celsius,
];

proptest! {
    /// Derived: what a field shows, typed again with or without its unit, is shown as before, and is the stored number to
    /// half of the last decimal shown.
    #[test]
    fn what_is_written_reads_back_to_itself(
        stored in prop_oneof![-1e7..1e7f64, -100.0..100.0f64, (-1000..1000i32).prop_map(f64::from)],
        unit in prop::sample::select(&QUANTITIES[..]),
        units in prop::sample::select(&Units::ALL[..]),
        decimals in 0..4usize,
    ) {
        let field = EntryField { units, decimals, ..field(unit) };
        let half = 0.5001 * units.stored(unit, 0.1_f64.powf(decimals as f64)).abs();
        for text in [field.text(stored), field.number(stored)] {
            let back = field.read(&text);
            prop_assert!(back.is_ok(), "{}: {:?}", text, back);
            let back = back.unwrap();
            prop_assert_eq!(field.text(back), field.text(stored));
            // Rounding of the conversion there and back.
            prop_assert!((back - stored).abs() <= half + 1e-9 * stored.abs(), "{} is {}, not {}", text, back, stored);
        }
    }

    /// Every other text of numbers that the program makes can be typed too.
    #[test]
    fn what_is_said_elsewhere_reads_back(
        stored in prop_oneof![0.0..1e7f64, 0.0..100.0f64],
        unit in prop::sample::select(&QUANTITIES[..]),
        units in prop::sample::select(&Units::ALL[..]),
    ) {
        let field = EntryField { units, decimals: 6, ..field(unit) };
        for text in [units.text(unit, stored), short(units.shown(unit, stored))] {
            let back = field.read(&text);
            prop_assert!(back.is_ok(), "{}: {:?}", text, back);
            let again = units.text(unit, back.unwrap());
            prop_assert_eq!(again, units.text(unit, stored));
        }
        let back = field.read(&count(stored)).map(|value| count(units.shown(unit, value)));
        prop_assert_eq!(back, Ok(count(stored)));
        prop_assert!(!written(stored, 2).contains(','), "no comma sets thousands apart");
        prop_assert!(!count(stored).contains(',') && !short(stored).contains(','));
    }

    /// Derived: digits alone, with at most one mark, in every way of writing thousands: the number is known beforehand.
    #[test]
    fn spellings_of_a_known_number_give_it(
        whole in 0..10_000_000u32,
        part in prop::option::of("[0-9]{1,5}"),
        gap in prop::sample::select(&["", " ", "\u{a0}", "\u{202f}", "\u{2009}", "'", "’", ",", "."][..]),
        mark in prop::sample::select(&[".", ","][..]),
    ) {
        let digits = whole.to_string();
        let mut grouped = String::new();
        for (at, digit) in digits.chars().enumerate() {
            let apart = at > 0 && (digits.len() - at).is_multiple_of(3);
            grouped.push_str(if apart { gap } else { "" });
            grouped.push(digit);
        }
        prop_assume!(gap != mark || part.is_none());
        let text = part.as_ref().map_or(grouped.clone(), |part| format!("{grouped}{mark}{part}"));
        let known: f64 = format!("{whole}.{}", part.as_deref().unwrap_or("0")).parse().unwrap();
        let commas = text.matches(',').count();
        let points = text.matches('.').count();
        let apart = grouped.len() > digits.len();
        let other_gaps = apart && gap != ",";
        let behind = text.rsplit(',').next().map_or(0, str::len);
        let asked = commas == 1 && points == 0 && !other_gaps && behind == 3
            && (1..=3).contains(&(text.len() - 4)) && !text.starts_with('0');
        // One point is the decimal mark, as everywhere in this program: so it is read.
        let one_point = points == 1 && commas == 0 && apart && gap == ".";
        match field(LENGTH).read(&text) {
            Ok(read) if one_point => prop_assert!((read - known / 1000.0).abs() <= 1e-12 * known, "{}", text),
            Ok(read) => {
                prop_assert!(!asked, "{} was guessed", text);
                prop_assert_eq!(read, known, "{}", text);
            }
            Err(told) => {
                prop_assert!(asked, "{}: {:?}", text, told);
                prop_assert!(told.readings.contains(&known), "{}: {:?}", text, told);
            }
        }
    }

    /// No text makes it panic, and what is taken is finite and within the range.
    #[test]
    fn any_text_is_read_or_refused(text in "[-0-9.,'/ emkft%°\u{202f}\u{3b1}]{0,12}") {
        let field = EntryField { range: 5.0..=500.0, ..field(LENGTH) };
        if let Ok(read) = field.read(&text) {
            prop_assert!((5.0..=500.0).contains(&read), "{} is {}", text, read);
        }
    }
}
