//! The built program, run as a script would run it.

use crate::made_up;
use obliquity_exchange::save_scenario;
use obliquity_planning::{Above, Distance, Scenario};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs the program without a display.
fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_obliquity"))
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
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
        "Time on site (≤ 2 h)",
        "Images",
        "Image pairs",
        "not fitted",
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

#[test]
fn the_card_and_the_export_find_a_strategy_by_name() {
    let (folder, file) = yard(|_| ());
    let card = run(&["card", &file, "--strategy", "crossed STRIPS"]);
    assert_eq!(card.status.code(), Some(0));
    assert!(out(&card).contains("Crossed strips"));
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
    let with_views =
        run(&["export", &file, "--strategy", "Nadir block", "--out", to.to_str().unwrap(), "--views"]);
    assert_eq!(with_views.status.code(), Some(0));
    assert!(to.join("views.csv").exists());
}

#[test]
fn an_unknown_strategy_is_bad_usage_and_the_names_are_told() {
    let (_folder, file) = yard(|_| ());
    let done = run(&["card", &file, "--strategy", "spiral"]);
    assert_eq!((done.status.code(), out(&done).as_str()), (Some(2), ""));
    assert!(err(&done).contains("\"Nadir block\" or \"Crossed strips\""), "{}", err(&done));
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
    ] {
        assert_eq!(run(arguments).status.code(), Some(2), "{arguments:?}");
    }
    assert_eq!(run(&["--help"]).status.code(), Some(0));
}

// Derived: at 5 m the footprint is 6.25 m by 5 m, so 98 % of overlap both ways asks for a base of 10 cm and a spacing of
// 12.5 cm: nearly five million exposures on 300 m by 200 m.
#[test]
fn what_can_be_read_but_not_evaluated_is_status_1() {
    let (_folder, file) = yard(|scenario| {
        let pass = &mut scenario.strategies[1].passes[1];
        pass.distance = Distance::Height { m: 5.0, above: Above::MeanGround };
        (pass.forward_overlap, pass.sidelap) = (0.98, 0.98);
    });
    for arguments in
        [&["compare", &file][..], &[&file], &["picture", &file, "--out", "/no/such/folder/x.png"]]
    {
        let done = run(arguments);
        assert_eq!((done.status.code(), out(&done).as_str()), (Some(1), ""), "{}", err(&done));
        assert!(err(&done).contains("yard.ron: strategy Crossed strips, pass 2:"), "{}", err(&done));
    }
}

#[test]
fn a_picture_has_the_size_asked_for() {
    let (folder, file) = yard(|_| ());
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

/// Derived: a boundary file becomes a site with a strategy from each template, and all five figures of each.
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
