//! Answers to a lesson: their files, a folder of a class's, and what is handed out.

use obliquity_exchange::chart::class_chart;
use obliquity_exchange::sheet::{HandoutPages, SheetPage};
use obliquity_exchange::{
    Answers, PaperSize, Units, class_csv, class_json, class_summary, class_text, handout, lesson_mark,
    parse_answers, read_answers_folder, read_lesson, save_answers, write_answers,
};
use obliquity_planning::lesson::{Guess, GuessOff, Lesson, LessonRun, StepFigures};
use obliquity_planning::{Evaluator, NoWatch, Store};
use std::path::Path;

fn lesson(file: &str) -> Lesson {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lessons").join(file);
    read_lesson(&path).unwrap_or_else(|error| panic!("{error}"))
}

/// Answers of a learner who guesses the same share at every step.
fn answers(lesson: &Lesson, learner: &str, at_unix_s: u64, guess: f64) -> Answers {
    let mut run = LessonRun::new(lesson.steps.len());
    learner.clone_into(&mut run.learner);
    for step in 0..lesson.steps.len() {
        run.guess(step, Guess { who: String::new(), value: guess }).unwrap();
        run.lock(step).unwrap();
        run.reveal(step).unwrap();
    }
    run.move_to(1, Some(25.0)).unwrap();
    Answers { lesson: lesson_mark(lesson), at_unix_s, run }
}

fn figures(lesson: &Lesson) -> Vec<StepFigures> {
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    (0..lesson.steps.len()).map(|step| evaluator.lesson_step(lesson, step, None).unwrap()).collect()
}

#[test]
fn answers_come_back_as_they_went() {
    let lesson = lesson("tilt_and_walls.ron");
    let own = answers(&lesson, "K. \"L\" M", 1_800_000_000, 0.123_456_789_012_345_67);
    let text = write_answers(&own);
    assert_eq!(parse_answers(&text, "kl.ron", &lesson).unwrap(), own);
    assert!(text.len() < 4096, "a small file: {}", text.len());
    assert!(!text.contains("coverage") && !text.contains("footprint"), "no lesson in it");
}

/// Derived: a folder of twelve: eight whole, one broken, one cut off, one of the same learner again, one of another lesson; each of
/// the four is told with its file and the mend, and the later one of the same learner counts. The lesson itself may lie there too.
#[test]
fn a_folder_of_twelve_is_merged_and_what_is_wrong_is_told() {
    let own = lesson("tilt_and_walls.ron");
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, answers: &Answers| {
        save_answers(&folder.path().join(name), answers, None).unwrap();
    };
    let names = ["AB", "CD", "EF", "GH", "IJ", "KL", "MN", "OP"];
    for (k, name) in names.iter().enumerate() {
        put(&format!("{name}.ron"), &answers(&own, name, 100, 0.1 * k as f64));
    }
    put("later.ron", &answers(&own, " ab", 200, 0.77));
    put("other.ron", &answers(&lesson("which_overlap_is_enough.ron"), "QR", 100, 0.5));
    let text = write_answers(&answers(&own, "ST", 100, 0.5));
    std::fs::write(folder.path().join("broken.ron"), text.replacen("value: 0.5", "value: half", 1)).unwrap();
    std::fs::write(folder.path().join("cut.ron"), &text[..text.len() / 2]).unwrap();
    std::fs::write(folder.path().join("notes.txt"), "no answers").unwrap();
    obliquity_exchange::save_lesson(&folder.path().join("lesson.ron"), &own, None).unwrap();

    let read = read_answers_folder(folder.path(), &own).unwrap();
    assert_eq!(read.answers.len(), 8);
    let of_ab: Vec<_> =
        read.answers.iter().filter(|(_, own)| own.run.learner.trim().to_lowercase() == "ab").collect();
    assert_eq!(of_ab.len(), 1);
    assert_eq!((of_ab[0].0.as_str(), of_ab[0].1.run.steps[0].guesses[0].value), ("later.ron", 0.77));
    let told = |file: &str| {
        let own: Vec<_> = read.not_taken.iter().filter(|own| own.file == file).collect();
        assert_eq!(own.len(), 1, "{file}: {:?}", read.not_taken);
        own[0].why.clone()
    };
    assert!(told("AB.ron").contains("has answered twice; later.ron, which was saved later, counts"));
    assert!(told("other.ron").contains("these are to another one or to an earlier version"));
    let broken = told("broken.ron");
    assert!(broken.starts_with("broken.ron:") && broken.contains(':'), "{broken}");
    assert!(told("cut.ron").starts_with("cut.ron:"));
    assert_eq!(read.not_taken.len(), 4);

    let known: Vec<Option<f64>> = figures(&own).iter().map(|own| own.figure).collect();
    let class = class_summary(&own, &known, &read.answers, &read.not_taken, Units::Metric);
    assert_eq!(class.rows.len(), 8);
    let cell = class.rows.iter().find(|row| row.who == "EF").unwrap().cells[2].clone().unwrap();
    let figure = known[2].unwrap();
    let Some(GuessOff::Points(points)) = cell.off else { panic!("{cell:?}") };
    assert!((points - 100.0 * (0.2 - figure)).abs() < 1e-9);
    assert_eq!(cell.is_near, points.abs() <= 10.0);
    let near = class
        .rows
        .iter()
        .filter(|row| row.cells[0].as_ref().unwrap().guess <= 0.1 + known[0].unwrap())
        .count();
    assert_eq!(class.steps[0].near, (near, 8));
    // 0.1 to 0.7 by tenths, and 0.77: the middle of eight.
    assert_eq!(class.steps[0].middle.as_deref(), Some("45 %"));
    let text = class_text(&class);
    assert!(
        text.contains("8 learners") && text.contains("Not counted") && text.contains("cut.ron"),
        "{text}"
    );
    let csv = class_csv(&own, &class);
    assert_eq!(csv.lines().count(), 1 + 8 * own.steps.len());
    let row = csv.lines().find(|line| line.starts_with("EF,EF.ron,2,")).unwrap();
    let fields: Vec<&str> = row.split(',').collect();
    assert_eq!((fields[4], fields[7], fields[9]), ("0.2", "points", "25"));
    assert_eq!(fields[5].parse::<f64>().unwrap(), known[1].unwrap());
    let json = class_json(&class);
    assert_eq!(json["learners"].as_array().unwrap().len(), 8);
    assert_eq!(json["not_counted"].as_array().unwrap().len(), 4);
    let chart = class_chart(&own, 0, &class, Units::Metric).unwrap();
    let guessed: f64 = chart.bars.iter().map(|bar| bar.up[1]).sum();
    assert_eq!(guessed, 8.0, "every guess stands in the diagram");
    assert!((chart.present.unwrap().at - 100.0 * known[0].unwrap()).abs() < 1e-9);
}

/// Derived: several guesses of one run, each with a name, are rows of their own.
#[test]
fn named_guesses_of_one_run_are_learners_of_their_own() {
    let own = lesson("tilt_and_walls.ron");
    let mut run = LessonRun::new(own.steps.len());
    for (who, value) in [("AB", 0.1), ("CD", 0.9), ("=1+1", 0.5)] {
        run.guess(0, Guess { who: who.to_owned(), value }).unwrap();
    }
    let answers = Answers { lesson: lesson_mark(&own), at_unix_s: 1, run };
    let class = class_summary(&own, &[], &[("class.ron".to_owned(), answers)], &[], Units::Metric);
    let who: Vec<&str> = class.rows.iter().map(|row| row.who.as_str()).collect();
    assert_eq!(who, ["AB", "CD", "=1+1"]);
    assert!(class_csv(&own, &class).contains("\n'=1+1,"), "no spreadsheet takes a name for a formula");
}

/// Derived: hostile files give errors and never panics.
#[test]
fn hostile_answers_are_refused() {
    let own = lesson("tilt_and_walls.ron");
    let good = write_answers(&answers(&own, "AB", 1, 0.5));
    for text in
        ["", "(", "(format: 1)", "(format: 2, learner: \"A\")", "(format: 1, learner: 5)", "\u{0}\u{1}"]
    {
        assert!(parse_answers(text, "x.ron", &own).is_err(), "{text}");
    }
    for (from, to) in
        [("value: 0.5", "value: NaN"), ("value: 0.5", "value: inf"), ("stage: Revealed", "stage: Seen")]
    {
        let text = good.replacen(from, to, 1);
        assert_ne!(text, good, "{from}");
        assert!(parse_answers(&text, "x.ron", &own).is_err(), "{to}");
    }
    let told = parse_answers(crate::sample::TEXT, "yard.ron", &own).unwrap_err().to_string();
    assert!(told.contains("nobody is named in it as the learner"), "{told}");
    for cut in 0..good.len() {
        if good.is_char_boundary(cut) && cut + 4 < good.len() {
            assert!(parse_answers(&good[..cut], "x.ron", &own).is_err(), "{cut}");
        }
    }
}

/// Derived: a page of each step's question without any figure, one with the figure and the whole working; everything within the paper.
#[test]
fn a_lesson_is_handed_out_page_by_page() {
    for (file, most_more) in [("tilt_and_walls.ron", 0), ("why_five_directions_take_long.ron", 3)] {
        let own = lesson(file);
        let figures = figures(&own);
        let whole = handout(&own, &figures, Units::Metric);
        for paper in PaperSize::ALL {
            let asked = whole.sheet(paper, HandoutPages::Questions);
            assert_eq!(asked.pages.len(), own.steps.len(), "{file}");
            let both = whole.sheet(paper, HandoutPages::WithAnswers);
            let (wide, high) = paper.size_pt();
            let is_more =
                |page: &SheetPage| page.texts().any(|text| text.text.contains("working, continued"));
            let first: Vec<_> = both.pages.iter().filter(|page| !is_more(page)).collect();
            assert_eq!(first.len(), 2 * own.steps.len(), "{file}");
            let more = both.pages.len() - first.len();
            assert!(more <= most_more, "{file}: one page each but where a working is very long: {more}");
            for page in &both.pages {
                for text in page.texts() {
                    let area = text.area;
                    let is_within = area.left >= 0.0 && area.top >= 0.0;
                    let is_within = is_within && area.right() <= wide && area.bottom() <= high;
                    assert!(is_within && text.size >= 6.0, "{}: {area:?}", text.text);
                }
            }
            for (k, page) in first.into_iter().enumerate() {
                let words: Vec<&str> = page.texts().map(|text| text.text.as_str()).collect();
                let words = words.join(" ").replace('\u{a0}', " ");
                let step = &whole.steps[k / 2];
                let (question, figure) =
                    (step.question.replace('\u{a0}', " "), step.figure.replace('\u{a0}', " "));
                assert!(words.contains(&question), "{words}");
                let is_answer = k % 2 == 1;
                assert_eq!(words.contains("answer and working"), is_answer);
                if is_answer {
                    assert!(words.contains(&figure), "{figure}: {words}");
                    let begun = step.working[1].trim().replace('\u{a0}', " ");
                    assert!(words.contains(&begun), "{begun}: {words}");
                } else {
                    assert!(words.contains("Guess (near"), "{words}");
                    assert!(
                        !words.contains(&step.after.replace('\u{a0}', " ")),
                        "no answer on the question's page"
                    );
                }
            }
            assert!(both.to_pdf([0, 0, 0]).unwrap().starts_with(b"%PDF-"));
        }
    }
}
