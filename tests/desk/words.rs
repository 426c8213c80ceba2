//! The trade's words: none of those that practitioners stumbled over stands anywhere, drawn or written.

use crate::made_up;
use crate::reading::Reader;
use crate::window::{shared, witness};
use obliquity::app::{App, SCREENS, command_rows};
use obliquity::cli;
use obliquity::document::Document;
use obliquity::files;
use obliquity::theme::Mode;
use obliquity_exchange::{Card, comparison_csv, read_scenario};
use obliquity_planning::{Depth, MEASURES, NoWatch, Outcome, Scenario, Units, knobs};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What once stood there; what stands instead.
const OLD: [(&str, &str); 50] = [
    ("level camera", "nadir camera"),
    ("level image", "nadir image"),
    ("meets the job", "meets the requirement"),
    ("oblique passes (", "the pattern's name"),
    ("images taken", "images"),
    (" pts", "points"),
    ("mind:", "note"),
    ("likewise", "also, less:"),
    ("odd sorties", "sortie numbers"),
    ("even sorties", "sortie numbers"),
    ("to and fro", "transit"),
    ("the only pass", "1 pass"),
    ("set for the pilot", "from the pilot"),
    ("counted views of a point", "views per point"),
    ("walls flat", "elevations"),
    ("drawn flat", "elevations"),
    ("lines of height", "contours"),
    ("least incidence", "smallest incidence"),
    ("widest angle", "intersection angle"),
    ("come nearer", "zoom in"),
    (" swap", "battery change"),
    ("how sure", "uncertainty"),
    ("together:", "total"),
    (", flown with ", "aircraft"),
    ("by themselves", "automatic"),
    ("as fast as it can", "automatic"),
    ("by itself", "automatic"),
    ("counting rule", "strip placement"),
    ("turned to", "offset"),
    ("what follows", "result"),
    ("extrusion", "building or tank"),
    ("it is known when", "plan for a date"),
    ("ahead of utc", "UTC±hh:mm"),
    ("holding ceiling", "limits"),
    ("no direction of the strips is better", "direction makes no difference"),
    ("fewest views", "minimum views"),
    ("greatest incidence", "maximum incidence"),
    ("greatest tilt", "maximum tilt"),
    ("least tilt", "minimum tilt"),
    ("greatest link angle", "maximum link angle"),
    ("keep in my library", "save to library"),
    ("sharp from", "near focus limit"),
    ("from the shape", "estimated"),
    ("reference or not", "toggle reference"),
    ("as the system", "theme: system"),
    ("is taken, ", "using …, first of 2"),
    ("not fitted", "not calibrated"),
    ("over level ground (under", "once, in a footnote"),
    ("height leads", "set by height"),
    ("gsd leads", "set by GSD"),
];

/// The old words in a text, each with what it stands in and what is to stand instead.
fn old_in(of: &str, text: &str, found: &mut Vec<String>) {
    let lower = text.to_lowercase();
    for (old, new) in OLD {
        if let Some(at) = lower.find(old) {
            let from = lower[..at].char_indices().rev().nth(40).map_or(0, |(at, _)| at);
            let around: String = lower[from..].chars().take(100).collect();
            found.push(format!("{of}: {old:?}, now {new:?}, in {around:?}"));
        }
    }
    // "0.3 of 80 %" was read as a share of the 80 %.
    let words: Vec<&str> = lower.split_whitespace().collect();
    for four in words.windows(4) {
        let number = |word: &str| word.trim_start_matches('(').parse::<f64>().is_ok();
        if number(four[0]) && four[1] == "of" && number(four[2]) && four[3].starts_with('%') {
            found.push(format!("{of}: {}", four.join(" ")));
        }
    }
}

fn scenarios() -> Vec<Scenario> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(root)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "ron"))
        .collect();
    paths.sort();
    assert!(paths.len() >= 5, "{paths:?}");
    paths.iter().map(|path| read_scenario(path).unwrap()).collect()
}

/// The same strategies with few images, looked at in few places: a sweep works out some thirty of them.
fn thinned(mut scenario: Scenario) -> Scenario {
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(8.0);
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        (pass.forward_overlap, pass.sidelap) = (0.5, 0.4);
    }
    scenario
}

/// Derived: the list itself. Texts are read from the shapes that each screen is drawn of.
#[test]
fn no_old_word_is_drawn() {
    let (mut found, mut count) = (Vec::new(), 0);
    for scenario in [files::demo().unwrap(), made_up::scenario()] {
        let app = |scenario| {
            let mut app = shared(App::still(Document::new(scenario, None)));
            app.work_out();
            app
        };
        let (mut whole, mut swept) = (app(scenario.clone()), app(thinned(scenario)));
        let mut reader = Reader::new(Mode::Light);
        for row in SCREENS {
            let app = if row.title == "Curves" { &mut swept } else { &mut whole };
            app.turn_to(row.id);
            for drawn in reader.texts(app, (1600.0, 1900.0)) {
                count += 1;
                old_in(row.title, &drawn.text, &mut found);
            }
        }
    }
    assert!(count > 2000, "{count} texts were read");
    assert!(found.is_empty(), "{found:#?}");
}

/// Derived: the list itself, over what menus, hints, workings and files say.
#[test]
fn no_old_word_is_written() {
    let mut found = Vec::new();
    for row in command_rows() {
        old_in("command", &format!("{} {}", row.text, row.hint), &mut found);
    }
    for row in SCREENS {
        old_in("screen", &format!("{} {} {}", row.title, row.hint, row.help), &mut found);
    }
    for measure in MEASURES {
        old_in("measure", &format!("{} {}", measure.name, measure.explanation), &mut found);
    }
    for knob in knobs() {
        old_in("input", &format!("{} {} {}", knob.name, knob.whole, knob.explanation), &mut found);
    }
    for scenario in scenarios() {
        let engine = witness();
        let evaluated = |id| engine.evaluate(&Arc::new(scenario.clone()), id, Depth::Spread, &NoWatch);
        let outcomes: Vec<Outcome> =
            scenario.strategies.iter().filter_map(|strategy| evaluated(strategy.id).ok()).collect();
        for units in Units::ALL {
            old_in(&scenario.name, &cli::table(&scenario, &outcomes, units), &mut found);
            for outcome in &outcomes {
                old_in(&scenario.name, &Card::new(&scenario, outcome, units).to_text(), &mut found);
            }
        }
        old_in(&scenario.name, &comparison_csv(&outcomes), &mut found);
        for outcome in &outcomes {
            for caution in &outcome.cautions {
                old_in(&scenario.name, &caution.text, &mut found);
            }
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}
