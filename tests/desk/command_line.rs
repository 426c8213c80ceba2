//! The built program, run as a script would run it.

use crate::made_up;
use obliquity_exchange::save_scenario;
use obliquity_planning::{Above, Distance, Id, Scenario, Site, Structure, StructureKind};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs the program without a display.
pub(crate) fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_obliquity"))
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .unwrap()
}

pub(crate) fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub(crate) fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A folder with the made-up scenario in `yard.ron`, edited beforehand.
fn yard(edit: impl FnOnce(&mut Scenario)) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    let mut scenario = made_up::scenario();
    edit(&mut scenario);
    save_scenario(&path, &scenario).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

/// The demo looked at in few places, for what is not about coverage.
fn sparse_demo() -> Scenario {
    let mut scenario = obliquity::files::demo().unwrap();
    std::sync::Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(10.0);
    scenario
}

#[test]
fn compare_prints_figures_as_rows_and_strategies_as_columns() {
    let (_folder, file) = yard(|_| ());
    let done = run(&["compare", &file]);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    let text = out(&done);
    let heads = text.lines().find(|line| line.contains("Nadir block")).unwrap();
    assert!(heads.contains("Crossed strips") && heads.contains("Five-direction oblique"));
    for row in [
        "Coverage of walls (≥ 80 %)",
        "Flight time",
        "Time on site (≤ 120 min)",
        "Images",
        "Image pairs",
        "not calibrated",
    ] {
        assert!(text.contains(row), "{row} in\n{text}");
    }
    let table: Vec<&str> = text.lines().skip(2).take_while(|line| !line.is_empty()).collect();
    let widths: Vec<usize> = table.iter().map(|line| line.chars().count()).collect();
    assert!(widths.iter().all(|width| *width == widths[0]), "the last column is aligned:\n{text}");
}

#[test]
fn compare_as_json_is_one_object() {
    let (_folder, file) = yard(|_| ());
    let done = run(&["compare", &file, "--json"]);
    assert_eq!(done.status.code(), Some(0));
    let value: serde_json::Value = serde_json::from_str(&out(&done)).unwrap();
    assert_eq!(value["strategies"].as_array().unwrap().len(), 3);
    assert!(value["strategies"][1]["coverage"]["wall"].is_number());
}

#[test]
fn without_a_display_the_comparison_is_printed_and_why() {
    let (folder, file) = yard(|_| ());
    let done = run(&[&file]);
    assert_eq!(done.status.code(), Some(0));
    assert!(err(&done).contains("no window: none of WAYLAND_DISPLAY"), "{}", err(&done));
    assert_eq!(out(&done), out(&run(&["compare", &file])));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is written");
}

#[test]
fn without_a_file_the_demo_is_compared() {
    let done = run(&[]);
    assert_eq!(done.status.code(), Some(0));
    assert!(out(&done).starts_with("Harbour grain terminal"));
}

/// Derived: a GSD is 2.54 cm to the inch, and every length of the table is in feet.
#[test]
fn the_table_is_in_the_units_asked_for() {
    let (_folder, file) = yard(|_| ());
    let table = out(&run(&["compare", &file, "--units", "us-inches"]));
    let row = |name: &str| table.lines().find(|line| line.starts_with(name)).expect(name);
    for (name, sign) in
        [("Height", " ft"), ("Nominal GSD", " in"), ("Speed", " mph"), ("Route length", " ft")]
    {
        assert!(row(name).ends_with(sign), "{}", row(name));
    }
    assert!(out(&run(&["compare", &file])).contains(" cm"), "metric unless asked otherwise");
}

#[test]
fn the_card_and_the_export_find_a_strategy_by_name() {
    let (folder, file) = yard(|_| ());
    let card = run(&["card", &file, "--strategy", "crossed STRIPS"]);
    assert_eq!(card.status.code(), Some(0));
    assert!(out(&card).contains("Crossed strips"));
    let pdf = folder.path().join("card.pdf");
    let printed = ["card", &file, "--strategy", "Crossed strips", "--out", pdf.to_str().unwrap()];
    let done = run(&printed);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-") && out(&done).is_empty());
    let unasked = run(&printed);
    assert!(unasked.status.code() == Some(2) && err(&unasked).contains("--replace"), "{}", err(&unasked));
    assert_eq!(run(&[&printed[..], &["--replace", "--paper", "letter"]].concat()).status.code(), Some(0));
    let text = folder.path().join("card.txt");
    let written = run(&["card", &file, "--strategy", "Crossed strips", "--out", text.to_str().unwrap()]);
    assert_eq!(written.status.code(), Some(0), "{}", err(&written));
    assert_eq!(std::fs::read_to_string(&text).unwrap(), out(&card));
    let odd = run(&["card", &file, "--strategy", "Crossed strips", "--out", "card.odt"]);
    assert!(odd.status.code() == Some(2) && err(&odd).contains(".pdf or .txt"), "{}", err(&odd));
    let to = folder.path().join("export");
    let export = run(&["export", &file, "--strategy", "Nadir block", "--out", to.to_str().unwrap()]);
    assert_eq!(
        (export.status.code(), err(&export).contains("panicked")),
        (Some(0), false),
        "{}",
        err(&export)
    );
    for name in ["stations.csv", "samples.csv", "camera.json", "scene.obj"] {
        assert!(to.join(name).exists(), "{name}");
    }
    assert!(!to.join("views.csv").exists());
    let again = ["export", &file, "--strategy", "Nadir block", "--out", to.to_str().unwrap(), "--views"];
    let unasked = run(&again);
    assert_eq!(unasked.status.code(), Some(2));
    assert!(err(&unasked).contains("--replace") && !to.join("views.csv").exists(), "{}", err(&unasked));
    let with_views = run(&[&again[..], &["--replace"]].concat());
    assert_eq!(with_views.status.code(), Some(0));
    assert!(to.join("views.csv").exists());
}

#[test]
fn an_unknown_strategy_is_bad_usage_and_the_names_are_told() {
    let (_folder, file) = yard(|_| ());
    let done = run(&["card", &file, "--strategy", "spiral"]);
    assert_eq!((done.status.code(), out(&done).as_str()), (Some(2), ""));
    assert!(err(&done).contains("write one of \"Nadir block\", \"Crossed strips\""), "{}", err(&done));
}

#[test]
fn what_cannot_be_read_is_status_2_with_file_and_place() {
    let (folder, file) = yard(|_| ());
    let missing = run(&["compare", "no/such.ron"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(err(&missing).contains("no/such.ron"));
    let text = fs::read_to_string(&file).unwrap();
    let broken = folder.path().join("broken.ron");
    for (what, broken_text) in [
        ("empty", String::new()),
        ("cut", text[..text.len() / 2].to_owned()),
        ("of a future format", text.replacen("format: 1", "format: 99", 1)),
        ("NaN", text.replacen("reserve: 0.25", "reserve: NaN", 1)),
        ("an unknown field", text.replacen("reserve: 0.25", "reserve: 0.25, colour: 3", 1)),
        ("an overlap of 1", text.replacen("sidelap: 0.7", "sidelap: 1.0", 1)),
        ("nested", "(".repeat(100_000)),
    ] {
        assert_ne!(broken_text, text, "{what}");
        fs::write(&broken, broken_text).unwrap();
        let done = run(&["compare", broken.to_str().unwrap()]);
        assert_eq!((done.status.code(), out(&done).as_str()), (Some(2), ""), "{what}: {}", err(&done));
        assert!(err(&done).contains("broken.ron:"), "{what}: {}", err(&done));
        assert!(!err(&done).contains("panicked"), "{what}: {}", err(&done));
    }
}

#[test]
fn bad_usage_is_status_2() {
    for arguments in [
        &["compare"][..],
        &["compare", "a.ron", "--xml"],
        &["picture", "a.ron", "--size", "0x9", "--out", "a.png"],
        &["picture", "a.ron", "--size", "16385x9", "--out", "a.png"],
    ] {
        assert_eq!(run(arguments).status.code(), Some(2), "{arguments:?}");
    }
    assert_eq!(run(&["--help"]).status.code(), Some(0));
}

/// Derived: four bytes a pixel, 16,384 × 16,384 of them are 1.07 GB before anything is encoded; 16,384 × 4,096 are as many as
/// 8,192 × 8,192.
#[test]
fn a_picture_takes_no_more_memory_than_is_allowed() {
    let picture = |size: &str| run(&["picture", "no/such.ron", "--size", size, "--out", "a.png"]);
    for size in ["16384x16384", "8193x8192", "16384x4097"] {
        let told = err(&picture(size));
        assert!(told.contains("at most 67 million pixels") && told.contains("8192x8192"), "{told}");
    }
    for size in ["8192x8192", "16384x4096", "7680x4320"] {
        let told = err(&picture(size));
        assert!(told.contains("no/such.ron") && !told.contains("pixels"), "{told}");
    }
}

// Derived: at 20 m the footprint is 25 m by 20 m, so 98 % of overlap both ways asks for a base of 40 cm and a spacing of
// 50 cm: some hundreds of thousands of exposures on 300 m by 200 m.
fn with_one_that_is_too_much() -> (tempfile::TempDir, String) {
    yard(|scenario| {
        let pass = &mut scenario.strategies[1].passes[1];
        pass.distance = Distance::Height { m: 20.0, above: Above::MeanGround };
        (pass.forward_overlap, pass.sidelap) = (0.98, 0.98);
    })
}

#[test]
fn what_one_strategy_cannot_do_never_silences_the_others() {
    let (folder, file) = with_one_that_is_too_much();
    for arguments in [&["compare", &file][..], &[&file]] {
        let done = run(arguments);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        let table = out(&done);
        assert!(
            table.contains("exposures; at most 100\u{a0}000: fly higher or lower the overlap"),
            "{table}"
        );
        let row = |name: &str| {
            let line = table.lines().find(|line| line.starts_with(name)).unwrap_or_else(|| panic!("{name}"));
            line.rsplit("  ")
                .filter(|cell| !cell.trim().is_empty())
                .take(3)
                .map(str::trim)
                .collect::<Vec<_>>()
        };
        for name in ["Height", "Nominal GSD", "Speed ", "Flight time", "Images", "Coverage of the ground"] {
            let [last, refused, first] = row(name)[..] else { panic!("{name}: {table}") };
            assert!(refused == "–" && first != "–" && last != "–", "{name}: {table}");
        }
        assert_eq!(row("Meets the requirement")[1], "cannot be flown");
    }
    let done = run(&["compare", &file, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&out(&done)).unwrap();
    let [first, refused] = [0, 1].map(|k| &json["strategies"][k]);
    for key in ["flight_time_s", "time_on_site_s", "sorties", "image_count", "load", "coverage", "gsd_cm"] {
        assert!(refused[key].is_null() && !first[key].is_null(), "{key}: {json:#}");
    }
    for pass in refused["passes"].as_array().unwrap() {
        assert!(pass["speed_mps"].is_null() && pass["image_count"].is_null() && pass["strips"].is_null());
    }
    let to = folder.path().join("out");
    let done = run(&["export", &file, "--strategy", "Crossed strips", "--out", to.to_str().unwrap()]);
    assert_eq!((done.status.code(), out(&done).as_str()), (Some(1), ""));
    assert!(err(&done).contains("needs a strategy that can be flown"), "{}", err(&done));
    let done = run(&["card", &file, "--strategy", "Crossed strips"]);
    assert!(done.status.success() && out(&done).contains("CANNOT BE FLOWN"));
    let png = folder.path().join("board.png");
    let done = run(&["picture", &file, "--size", "800x600", "--out", png.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
}

// Derived: 300 m by 200 m at 15 cm are 2.7 million samples; a deck over all of it adds as many above and below.
#[test]
fn what_can_be_read_but_not_evaluated_is_status_1() {
    let (_folder, file) = yard(|scenario| {
        let site = (*scenario.site).clone();
        let footprint_m = site.boundary_m.clone();
        let kind = StructureKind::Deck { soffit_m: 20.0, top_m: 21.0, piers: Vec::new() };
        let deck = Structure { id: Id(900), name: "Deck".to_owned(), footprint_m, kind };
        let structures = site.structures.iter().cloned().chain([deck]).collect();
        let take_off_m = site.boundary_m[0] - 20.0;
        scenario.site =
            std::sync::Arc::new(Site { sample_spacing_m: Some(0.15), structures, take_off_m, ..site });
    });
    for arguments in
        [&["compare", &file][..], &[&file], &["picture", &file, "--out", "/no/such/folder/x.png"]]
    {
        let done = run(arguments);
        assert_eq!((done.status.code(), out(&done).as_str()), (Some(1), ""), "{}", err(&done));
        assert!(err(&done).contains("at most 4000000 samples"), "{}", err(&done));
    }
}

#[test]
fn a_picture_has_the_size_asked_for() {
    // One block is adjusted for the board.
    let (folder, file) = yard(|scenario| scenario.strategies.truncate(1));
    let to = folder.path().join("board.png");
    let to_text = to.to_str().unwrap();
    let arguments = [
        "picture", &file, "--view", "board", "--size", "640x400", "--scale", "2", "--theme", "dark", "--out",
    ];
    let done = run(&[&arguments[..], &[to_text]].concat());
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    let reader =
        png::Decoder::new(std::io::BufReader::new(fs::File::open(&to).unwrap())).read_info().unwrap();
    assert_eq!((reader.info().width, reader.info().height), (640, 400));
    let nowhere = Path::new("no/such/folder/board.png");
    let done = run(&["picture", &file, "--out", nowhere.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(2));
    assert!(err(&done).contains("no/such/folder/board.png"));
}

/// Derived: of a lesson its steps can be drawn as they are made, one of them chosen, and none of its figures is worked out for it.
#[test]
fn a_picture_shows_the_steps_of_a_lesson() {
    let folder = tempfile::tempdir().unwrap();
    let lesson = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lessons/tilt_and_walls.ron");
    let picture = |step: &str| {
        let to = folder.path().join(format!("{step}.png"));
        let (lesson, to_text) = (lesson.to_str().unwrap(), to.to_str().unwrap());
        let size = ["--view", "lesson-steps", "--size", "640x400", "--open", step, "--out", to_text];
        let done = run(&[&["picture", lesson][..], &size].concat());
        assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
        fs::read(to).unwrap()
    };
    let first = picture("1");
    assert_eq!(picture("0"), first);
    assert_ne!(picture("2"), first);
}

/// Derived: the demo's aircraft have a curve of power each, the board has no diagram.
#[test]
fn diagrams_are_written_as_svg_and_other_screens_say_that_they_have_none() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = sparse_demo();
    let demo = folder.path().join("demo.ron");
    save_scenario(&demo, &scenario).unwrap();
    let (demo, to) = (demo.to_str().unwrap(), folder.path().join("power.SVG"));
    let arguments = ["picture", demo, "--view", "equipment", "--out", to.to_str().unwrap()];
    let done = run(&arguments);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    let written = fs::read_to_string(&to).unwrap();
    assert!(written.starts_with("<svg ") && written.trim_end().ends_with("</svg>"));
    let flown = scenario.equipment.aircraft.iter().filter(|one| one.airframe.energy.is_some());
    assert!(flown.clone().count() > 0);
    for aircraft in flown {
        for of in ["Power", "Endurance"] {
            assert!(written.contains(&format!("{}: {of}", aircraft.name)), "{of} of {}", aircraft.name);
        }
    }
    assert_eq!(run(&arguments).status.code(), Some(2), "it is there already");
    assert_eq!(run(&[&arguments[..], &["--replace"]].concat()).status.code(), Some(0));
    let board = folder.path().join("board.svg");
    let done = run(&["picture", demo, "--view", "board", "--out", board.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(2));
    assert!(err(&done).contains("a screen with diagrams was required") && !board.exists(), "{}", err(&done));
}

/// Derived: a boundary file becomes a site with a strategy from each template, and all five figures of each.
/// Derived: along a line the cut is as long as the line, heights above the surface are those that the strategy keeps, and GSD
/// is that height by the camera's pixels (common practice); a strip, a pass or a strategy that is not there is told.
#[test]
fn a_section_is_written_as_csv_and_what_cannot_be_cut_is_told() {
    let (_folder, file) = yard(|_| ());
    let done = run(&["section", &file, "--strategy", "Nadir block", "--from", "20,20", "--to", "80,60"]);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    let text = out(&done);
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("heights,along_m,surface_m,above_surface_m,gsd_cm,forward_overlap,sidelap")
    );
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let number = |row: &[&str], at: usize| -> f64 { row[at].parse().expect("a number") };
    let length_m = rows.iter().map(|row| number(row, 1)).fold(0.0, f64::max);
    assert!((length_m - 60.0_f64.hypot(40.0)).abs() < 1e-6, "{length_m}");
    let kinds: std::collections::BTreeSet<&str> = rows.iter().map(|row| row[0]).collect();
    assert!(kinds.len() == 2 && kinds.contains("above_ground"), "as set and as it might be: {kinds:?}");
    let scale = number(&rows[0], 4) / number(&rows[0], 3);
    assert!(rows.iter().all(|row| (number(row, 4) / number(row, 3) / scale - 1.0).abs() < 1e-9));

    for (more, told) in [
        (["--strip", "900"], "strip"),
        (["--strip", "0"], "counted from 1"),
        (["--pass", "7"], "pass 7 was asked for"),
    ] {
        let done = run(&[&["section", &file, "--strategy", "Nadir block"][..], &more].concat());
        assert!(!done.status.success() && out(&done).is_empty());
        assert!(err(&done).contains(told), "{more:?}: {}", err(&done));
    }
}

#[test]
fn boundaries_are_compared_too() {
    for file in ["salt_marsh.geojson", "hamlet.kml"] {
        let path = format!("{}/../../examples/{file}", env!("CARGO_MANIFEST_DIR"));
        let done = std::process::Command::new(env!("CARGO_BIN_EXE_obliquity"))
            .args(["compare", &path, "--json"])
            .output()
            .expect("the program runs");
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        assert!(String::from_utf8_lossy(&done.stderr).contains("nothing is modelled"));
        let told: serde_json::Value = serde_json::from_slice(&done.stdout).expect("it prints JSON");
        let strategies = told["strategies"].as_array().expect("strategies");
        assert_eq!(strategies.len(), 4, "{file}");
        for strategy in strategies {
            assert!(strategy["coverage"]["ground"].as_f64().expect("coverage") > 0.98);
            assert!(strategy["gsd_cm"]["ground"]["p95"].as_f64().expect("GSD") <= 2.1);
            assert!(strategy["flight_time_s"].as_f64().expect("time") > 60.0);
            assert!(strategy["image_count"].as_u64().expect("count") > 20);
            assert!(strategy["load"]["image_pairs"].as_u64().expect("pairs") > 100);
            assert_eq!(strategy["load"]["fitted"], false);
            assert!(strategy.get("precision_mm").is_none() && strategy.get("cost").is_none());
        }
    }
}

#[test]
fn of_thousands_of_polygons_a_few_names_are_printed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parcels.geojson");
    let ring = "[[[7.0,51.0],[7.001,51.0],[7.001,51.001],[7.0,51.001],[7.0,51.0]]]";
    let feature = |number: usize| {
        format!(
            r#"{{"type":"Feature","properties":{{"name":"parcel {number}"}},"geometry":{{"type":"Polygon","coordinates":{ring}}}}}"#
        )
    };
    let features: Vec<String> = (1..=20_000).map(feature).collect();
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    fs::write(&path, text).unwrap();
    let done = run(&["card", path.to_str().unwrap(), "--strategy", "none"]);
    let told = err(&done);
    assert!(told.len() < 2_000, "{} bytes", told.len());
    assert!(told.contains("Using \"parcel 1\", first of 20000"), "{told}");
    assert!(told.contains("parcel 11 and 19989 more"), "{told}");
}

/// The names in a folder, and how much each holds.
fn sizes(folder: &Path) -> Vec<(String, u64)> {
    let mut found: Vec<(String, u64)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.metadata().unwrap().len()))
        .collect();
    found.sort();
    found
}

#[test]
fn a_picture_takes_no_place_that_is_taken() {
    let (folder, file) = yard(|_| ());
    let before = fs::read(&file).unwrap();
    let picture = |to: &str, more: &[&str]| {
        let arguments = ["picture", &file, "--view", "begin", "--size", "320x200", "--out", to];
        run(&[&arguments[..], more].concat())
    };
    let onto_itself = picture(&file, &["--replace"]);
    assert_eq!(onto_itself.status.code(), Some(2));
    assert!(err(&onto_itself).contains("is what was read"), "{}", err(&onto_itself));
    assert_eq!(fs::read(&file).unwrap(), before);
    let to = folder.path().join("begin.png");
    let to = to.to_str().unwrap();
    for (more, status) in [(&[][..], 0), (&[], 2), (&["--replace"], 0)] {
        assert_eq!(picture(to, more).status.code(), Some(status), "{more:?}");
    }
    assert_eq!(sizes(folder.path()).len(), 2, "nothing is left beside them");
}

/// A disk that takes no file of more than a few kilobytes: the shell's limit, its signal ignored so that writing fails as
/// it does on a full disk.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_what_was_there() {
    let (folder, file) = yard(|_| ());
    let to = folder.path().join("export");
    let export = ["export", &file, "--strategy", "Nadir block", "--out", to.to_str().unwrap(), "--replace"];
    assert_eq!(run(&export).status.code(), Some(0));
    let board = folder.path().join("board.png");
    let picture = ["picture", &file, "--view", "card", "--out", board.to_str().unwrap(), "--replace"];
    assert_eq!(run(&picture).status.code(), Some(0));
    let before = (sizes(folder.path()), sizes(&to));
    for arguments in [&export[..], &picture[..]] {
        let done = Command::new("sh")
            .args(["-c", "trap '' XFSZ; ulimit -f 4; exec \"$@\"", "sh", env!("CARGO_BIN_EXE_obliquity")])
            .args(arguments)
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(2), "{}", err(&done));
        assert!(err(&done).contains("cannot be written"), "{}", err(&done));
        assert_eq!((sizes(folder.path()), sizes(&to)), before);
    }
}

/// Rates are printed with how sure they are, and nothing is written; a log that tells too little can be read but not fitted.
#[test]
fn rates_are_fitted_and_printed() {
    let log = format!("{}/../../examples/processed_jobs.csv", env!("CARGO_MANIFEST_DIR"));
    let done = run(&["calibrate", &log]);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    assert!(out(&done).contains("alibrated on 14 jobs, ±") && out(&done).contains("rates: (fitted: true"));
    let json: serde_json::Value = serde_json::from_str(&out(&run(&["calibrate", &log, "--json"]))).unwrap();
    assert_eq!((&json["jobs"], &json["rates"]["fitted"]), (&14.into(), &true.into()));
    let folder = tempfile::tempdir().unwrap();
    calibrates_a_copy(folder.path(), &log);
    let path = folder.path().join("log.csv");
    fs::write(&path, "images,megapixels,area_ha,gsd_cm,total_h\n500,20,4,2,3\n").unwrap();
    let few = run(&["calibrate", path.to_str().unwrap()]);
    assert_eq!(few.status.code(), Some(1));
    assert!(err(&few).contains("at least 6 jobs with their total hours"), "{}", err(&few));
    fs::write(&path, "images,megapixels,area_ha,gsd_cm,total_h\n500,20,4,2,long\n").unwrap();
    let wrong = run(&["calibrate", path.to_str().unwrap()]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(err(&wrong).contains("log.csv:2:12: total_h"), "{}", err(&wrong));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "the copy and the log");
}

/// A copy of a scenario has the rates and says on what they rest, in every output of hours; what was read is never replaced.
fn calibrates_a_copy(folder: &Path, log: &str) {
    let quarry = format!("{}/../../examples/quarry.ron", env!("CARGO_MANIFEST_DIR"));
    let copy = folder.join("copy.ron");
    let into = |to: &str, more: &[&str]| {
        run(&[&["calibrate", log, "--into", quarry.as_str(), "--out", to], more].concat())
    };
    let copied = into(copy.to_str().unwrap(), &[]);
    assert_eq!((copied.status.code(), err(&copied).as_str()), (Some(0), ""));
    assert!(out(&copied).contains("copy.ron: calibrated on 14 jobs, ±"), "{}", out(&copied));
    let table = out(&run(&["compare", copy.to_str().unwrap()]));
    assert!(table.contains("Processing, calibrated on 14 jobs, ±"), "{table}");
    let json: serde_json::Value =
        serde_json::from_str(&out(&run(&["compare", copy.to_str().unwrap(), "--json"]))).unwrap();
    let load = &json["strategies"][0]["load"];
    assert_eq!((&load["fitted"], &load["calibration"]["jobs"]), (&true.into(), &14.into()), "{load}");
    let again = into(copy.to_str().unwrap(), &[]);
    assert!(err(&again).contains("add --replace to replace it"), "{}", err(&again));
    assert_eq!(into(copy.to_str().unwrap(), &["--replace"]).status.code(), Some(0));
    let over = into(&quarry, &["--replace"]);
    assert!(over.status.code() == Some(2) && err(&over).contains("is what was read"), "{}", err(&over));
    assert_eq!(run(&["calibrate", log, "--into", &quarry]).status.code(), Some(2), "where to is not said");
}
