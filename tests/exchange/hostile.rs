//! Files that are broken, cut, absurd or made to do harm give errors, never panics.

use crate::sample;
use obliquity_exchange::{
    FileError, FileErrorKind, parse_boundaries, parse_library, parse_preferences, parse_scenario,
    read_scenario,
};
use std::fs;
use std::time::{Duration, Instant};

/// How long each reader is fed mutated seeds.
const FUZZ_TIME: Duration = Duration::from_secs(2);

fn refused(text: &str) -> FileError {
    match parse_scenario(text, "bad.ron") {
        Ok(_) => panic!("taken: {}", &text[..text.len().min(200)]),
        Err(error) => error,
    }
}

/// A change to the sample, and what the message must hold.
#[test]
fn bad_scenarios_are_refused_with_place_and_reason() {
    let change = |from: &str, to: &str| {
        assert!(sample::TEXT.contains(from), "{from}");
        sample::TEXT.replacen(from, to, 1)
    };
    let cases = [
        (String::new(), "bad.ron:1:1: the file must hold a scenario, but it is empty"),
        (" \n\t".to_owned(), "bad.ron:1:1: the file must hold a scenario, but it is empty"),
        (change("format: 1", "format: 7"), "bad.ron:3:11: format 7 is newer than this program reads (1)"),
        (change("format: 1", "format: 0"), "bad.ron:3:11: the format must be 1, but it is 0"),
        (change("format: 1", "format: \"one\""), "bad.ron:3:11: the format must be 1"),
        (change("format: 1,", ""), "bad.ron:4:3: a scenario must begin with"),
        (
            change("sidelap: 0.7", "sidelap: NaN"),
            "bad.ron:57:20: sidelap must be at least 0 and at most 0.98, but it is NaN",
        ),
        (
            change("sidelap: 0.7", "sidelap: inf"),
            "bad.ron:57:20: sidelap must be at least 0 and at most 0.98, but it is inf",
        ),
        (change("sidelap: 0.7", "sidelap: -inf"), "but it is -inf"),
        (change("sidelap: 0.7", "sidelap: 1e999"), "but it is inf"),
        (
            change("sidelap: 0.7", "sidelap: 1"),
            "bad.ron:57:20: sidelap must be at least 0 and at most 0.98, but it is 1",
        ),
        (change("sidelap: 0.7", "sidelap: \"70 %\""), "bad.ron:57:20: a number must stand here"),
        (
            change("sidelap: 0.7", "side_lap: 0.7"),
            "bad.ron:57:11: there is no field \"side_lap\" in Pass; write one of",
        ),
        (
            change("sidelap: 0.7,", ""),
            "the field \"sidelap\" must be given in Pass, but it is missing; add it",
        ),
        (
            change("sidelap: 0.7", "sidelap: 0.7, sidelap: 0.7"),
            "bad.ron:57:25: the field \"sidelap\" must be given once",
        ),
        (
            change("Automatic(", "Random("),
            "\"Random\" is not a choice here; write one of Automatic or FromNorth",
        ),
        (change("um: 2.5", "mm: 0.0025"), "there is no field \"mm\""),
        (
            change("take_off_m: (-10.0, 5)", "take_off_m: (165.0, 30.0)"),
            "bad.ron:9:17: the take-off point must lie outside every keep-out, but it lies inside \"Pond\"",
        ),
        (
            change("(200.0, 150.0), (0.0, 150.0)", "(0.0, 150.0), (200.0, 150.0)"),
            "must not cross or touch itself",
        ),
        (
            change("(0.0, 150.0)]", "(0.0, NaN)]"),
            "bad.ron:8:60: corner 4 of the boundary: the outline must lie within 20 km",
        ),
        (change("slope_east: 0.01", "slope_east: 5.0"), "give the rise"),
        (
            change("reference: 1", "reference: 44"),
            "bad.ron:83:14: the reference must be the id of a strategy",
        ),
        (change("width_px: 5200", "width_px: -5"), "bad.ron:22:2"),
        (change("width_px: 5200", "width_px: 5200.5"), "bad.ron:22:25: a comma or the closing bracket"),
        (change("\n)\n", "\n) more\n"), "the scenario must end with its closing bracket"),
        ("{\"format\": 1}".to_owned(), "a scenario must begin with"),
        ("\u{0}\u{1}\u{2}".to_owned(), "a scenario must begin with"),
    ];
    let mut wrong = String::new();
    for (text, expected) in cases {
        let told = refused(&text).to_string();
        if !told.contains(expected) {
            wrong += &format!("expected {expected}\n     got {told}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Where the numbers with a point stand in the sample: start and end of each.
fn numbers() -> Vec<(usize, usize)> {
    let is_number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = sample::TEXT[at..].find(is_number).map(|start| start + at) {
        let end = start + sample::TEXT[start..].find(|c| !is_number(c)).unwrap();
        if sample::TEXT[start..end].contains(|c: char| c.is_ascii_digit())
            && sample::TEXT[start..end].contains('.')
        {
            found.push((start, end));
        }
        at = end;
    }
    found
}

#[test]
fn no_number_may_be_absurd_and_each_is_told_in_its_place() {
    let numbers = numbers();
    assert!(numbers.len() > 70, "{}", numbers.len());
    for (start, end) in numbers {
        for absurd in ["NaN", "inf", "-inf", "1e300", "-1e300"] {
            let text = format!("{}{absurd}{}", &sample::TEXT[..start], &sample::TEXT[end..]);
            let error = refused(&text);
            let place = error.place().unwrap_or_else(|| panic!("no place: {error}"));
            let line = sample::TEXT[..start].split('\n').count();
            let column = start - sample::TEXT[..start].rfind('\n').unwrap();
            // A coordinate is told at its corner, some digits before it.
            assert!(place.line == line && place.column <= column, "{line}:{column} {absurd}: {error}");
        }
    }
}

#[test]
fn a_scenario_cut_anywhere_gives_an_error_with_a_place() {
    let whole = sample::TEXT.trim_end().len();
    for end in (0..whole).filter(|&end| sample::TEXT.is_char_boundary(end)) {
        let error = refused(&sample::TEXT[..end]);
        assert!(error.place().is_some(), "cut at {end}: {error}");
        assert!(error.to_string().contains("; "), "no mend when cut at {end}: {error}");
    }
}

#[test]
fn nesting_without_end_takes_no_stack() {
    for bracket in ["(", "[", "{", "Some(", "/*", "(a:", "[(", "\"", "r#", "#!["] {
        let many = bracket.repeat(100_000);
        refused(&many);
        refused(&sample::TEXT.replacen("(0.0, 0.0)", &many, 1));
        refused(&sample::TEXT.replacen("name: \"Yard\"", &format!("name: \"Yard\", other: {many}"), 1));
        refused(&format!("(format: 1, {many}"));
        refused(&format!("(format: {many}"));
    }
}

#[test]
fn files_that_are_no_text_or_too_large_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.ron");
    std::fs::write(&path, b"(\n  format: 1, name: \"\xff\xfe\"").unwrap();
    let told = read_scenario(&path).unwrap_err().to_string();
    assert!(told.contains("bad.ron:2:21: the file must be UTF-8 text"), "{told}");
    std::fs::File::create(&path).unwrap().set_len((64 << 20) + 1).unwrap();
    assert_eq!(read_scenario(&path).unwrap_err().kind, FileErrorKind::TooLarge);
    assert_eq!(read_scenario(folder.path()).unwrap_err().kind, FileErrorKind::Unreadable);
}

#[test]
fn an_absurd_number_of_things_is_refused_in_good_time() {
    let start = Instant::now();
    // Every side of a comb of 5,000 corners runs the whole height: the most work for a sweep along x.
    let comb: Vec<String> = (0..4_998)
        .map(|i| format!("({}, {})", f64::from(i) * 0.01, if i % 2 == 0 { 0.0 } else { 15_000.0 }))
        .collect();
    let comb = format!("{}, (49.97, -10.0), (0.0, -10.0)", comb.join(", "));
    let text = sample::TEXT.replacen("(0.0, 0.0), (200.0, 0.0), (200.0, 150.0), (0.0, 150.0)", &comb, 1);
    let _ = parse_scenario(&text, "comb.ron");
    let strategy = &sample::TEXT
        [sample::TEXT.find("strategies: [").unwrap() + 13..sample::TEXT.find("  ],\n  reference").unwrap()];
    let told = refused(&sample::TEXT.replacen(strategy, &strategy.repeat(500), 1)).to_string();
    assert!(told.contains("there must be at most 16 strategies, but there are 1000"), "{}", &told[..300]);
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
}

/// A small generator of our own, so that a failure comes again: xorshift64 with a fixed seed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % below.max(1) as u64).unwrap()
    }
}

/// Changes a seed in a few places: flipped, inserted, repeated, cut and swapped pieces, and words that mean something.
fn mutated(seed: &[u8], words: &[&str], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..=dice.roll(4) {
        let at = dice.roll(bytes.len());
        let end = (at + dice.roll(40)).min(bytes.len());
        match dice.roll(6) {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << dice.roll(8),
            1 => bytes.insert(at, u8::try_from(dice.roll(256)).unwrap()),
            2 => drop(bytes.splice(at..at, seed[dice.roll(seed.len())..].iter().copied().take(40)).count()),
            3 => drop(bytes.drain(at..end).count()),
            4 => bytes.truncate(at),
            _ => drop(bytes.splice(at..end, words[dice.roll(words.len())].bytes()).count()),
        }
    }
    bytes
}

/// Files that long fuzzing started from or tripped over.
pub(crate) fn kept(reader: &str) -> Vec<Vec<u8>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/fuzz/seeds/");
    let mut paths: Vec<_> =
        fs::read_dir(format!("{folder}{reader}")).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(!paths.is_empty(), "{reader}");
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

pub(crate) fn feed(seeds: &[Vec<u8>], words: &[&str], read: impl Fn(&[u8]) -> Result<(), FileError>) {
    for seed in seeds {
        drop(read(seed));
    }
    let mut dice = Dice(0x0B11_9017);
    let end = Instant::now() + FUZZ_TIME;
    let mut rounds = 0u32;
    while Instant::now() < end || rounds < 200 {
        let bytes = mutated(&seeds[dice.roll(seeds.len())], words, &mut dice);
        if let Err(error) = read(&bytes) {
            assert!(!error.faults.is_empty() && error.to_string().starts_with("fuzz"), "{error}");
        }
        rounds += 1;
    }
}

#[test]
fn mutated_scenarios_never_panic() {
    let words = [
        "NaN", "inf", "-1", "1e308", "(", ")", "[", "]", ",", "\"", "Some(", "None", "/*", "//", "r#\"",
        "format", "0x10", "'", "ä",
    ];
    feed(&kept("scenario"), &words, |bytes| {
        parse_scenario(&String::from_utf8_lossy(bytes), "fuzz.ron").map(drop)
    });
}

#[test]
fn mutated_boundaries_never_panic() {
    let words = [
        "null",
        "1e308",
        "-180",
        "180",
        "90",
        "{",
        "}",
        "[",
        "]",
        ",",
        "\"type\"",
        "\"Polygon\"",
        "<",
        ">",
        "</",
        "<Polygon>",
        "<coordinates>",
        "<![CDATA[",
        "<!--",
        "&amp;",
        "NaN",
        "inf",
        "PK\u{1}\u{2}",
    ];
    let seeds = kept("boundary");
    feed(&seeds, &words, |bytes| parse_boundaries(bytes, "fuzz").map(drop));
}

#[test]
fn mutated_libraries_never_panic() {
    let words = ["NaN", "inf", "-1", "1e308", "(", ")", "[", "]", ",", "\"", "Some(", "format", "'", "ä"];
    feed(&kept("own"), &words, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        // Preferences tell no place: what cannot be read is set aside whole.
        drop(parse_preferences(&text));
        parse_library(&text, "fuzz.ron").map(drop)
    });
}
