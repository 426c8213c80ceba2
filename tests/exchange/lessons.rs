//! Lessons: their file, what is wrong with one, and that the examples teach what their texts say.

use obliquity_exchange::{
    figure_text, guess_field, is_lesson, lesson_mark, lesson_text, off_text, parse_lesson, parse_scenario,
    question_text, read_lesson, save_lesson, tolerance_text,
};
use obliquity_planning::lesson::{AskedOf, GuessOff, Lesson, StepFigures, StepSetting, Tolerance};
use obliquity_planning::{
    Depth, Evaluator, Id, MeasureId, NoWatch, Outcome, Store, SurfaceClass, Units, measure,
};
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lessons")
}

fn example(file: &str) -> Lesson {
    read_lesson(&folder().join(file)).unwrap_or_else(|error| panic!("{error}"))
}

fn text(file: &str) -> String {
    std::fs::read_to_string(folder().join(file)).unwrap()
}

fn figures(lesson: &Lesson) -> Vec<StepFigures> {
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let one = |step| evaluator.lesson_step(lesson, step, None).unwrap();
    (0..lesson.steps.len()).map(one).collect()
}

/// What each step comes to, held against a range, with the words of the text that say so.
fn holds(file: &str, claims: &[(usize, std::ops::Range<f64>, &str)]) -> Vec<StepFigures> {
    let lesson = example(file);
    let all = figures(&lesson);
    for (step, range, words) in claims {
        let figure = all[*step].figure.unwrap();
        assert!(range.contains(&figure), "{file}, step {}: {figure}, said {words:?}", step + 1);
        let own = &lesson.steps[*step];
        let said = format!("{} {}", own.text, own.after);
        assert!(said.contains(words), "{file}, step {}: {words:?} is not said", step + 1);
    }
    let claimed: Vec<usize> = claims.iter().map(|(step, ..)| *step).collect();
    assert!((0..lesson.steps.len()).all(|step| claimed.contains(&step)), "{file}: a step without a test");
    all
}

fn value(figures: &StepFigures, strategy: u32, of: MeasureId) -> f64 {
    let outcome: &Outcome = figures.outcomes.iter().find(|own| own.strategy == Id(strategy)).unwrap();
    measure(of).read(outcome).unwrap()
}

fn pass_speeds(figures: &StepFigures, strategy: u32) -> Vec<f64> {
    let outcome = figures.outcomes.iter().find(|own| own.strategy == Id(strategy)).unwrap();
    outcome.plans().map(|plan| plan.speed.speed_mps).collect()
}

/// Half the field of view along or across a side of so many pixels, in degrees: the catalogue's camera.
fn half_view_deg(lesson: &Lesson, px: u32) -> f64 {
    let camera = &lesson.scenario.equipment.aircraft[0].camera;
    (f64::from(px) / 2.0 * 2.5e-3 / camera.focal_length_mm).atan().to_degrees()
}

/// Derived: what the lesson says, from its figures.
#[test]
fn the_tilt_lesson_says_what_its_figures_say() {
    let file = "tilt_and_walls.ron";
    holds(
        file,
        &[
            (0, 0.0..0.05, "Next to nothing"),
            (1, 0.0..0.15, "Still little"),
            (2, 0.4..0.6, "About half"),
            (3, 0.95..1.01, "Nearly all"),
            (4, 1.2..2.0, "Less than twice"),
        ],
    );
    let lesson = example(file);
    let (along, across) = (half_view_deg(&lesson, 3584), half_view_deg(&lesson, 5376));
    assert!(((2.0 * along).round(), (2.0 * across).round()) == (52.0, 73.0), "{along} {across}");
    assert_eq!(along.round(), 26.0);
    assert_eq!(
        lesson.scenario.requirement.views.max_incidence_deg, 55.0,
        "so 35° or more from straight down"
    );
    assert!(across > 35.0 && along < 35.0, "edges across the track alone reach 35°");
    let skipped = figures(&lesson)[4].outcomes.iter().find(|own| own.strategy == Id(2)).cloned().unwrap();
    assert!(skipped.load.unwrap().skipped_exposures > 0, "frames at the ends are skipped");
}

/// Derived: the same.
#[test]
fn the_overlap_lesson_says_what_its_figures_say() {
    let all = holds(
        "which_overlap_is_enough.ron",
        &[
            (0, 3.2..4.0, "about four times, less"),
            (1, 0.5..0.9, "that is not everywhere"),
            (2, 0.0..0.4, "Far less"),
            (3, 0.9..1.0, "Nearly all"),
            (4, 2.0..3.0, "More than twice"),
        ],
    );
    assert!(all[2].figure < all[1].figure);
    let height_m = all[0].outcomes[0].plans().next().unwrap().stations.poses[0].position_m.z;
    let over_roof = |overlap: f64| 100.0 * (1.0 - (1.0 - overlap) * height_m / (height_m - 26.0));
    assert_eq!((over_roof(0.6).round(), over_roof(0.4).round()), (38.0, 7.0), "o(h) = 1 − (1 − o) H/(H − h)");
    assert_eq!(height_m.round(), 73.0);
}

/// Derived: the same.
#[test]
fn the_lesson_of_five_directions_says_what_its_figures_say() {
    let all = holds(
        "why_five_directions_take_long.ron",
        &[
            (0, 2.5..3.2, "About three times, not five"),
            (1, 4.0..5.0, "More than four times"),
            (2, 3.6..4.0, "Nearly four times"),
            (3, 0.99..1.01, "All of them"),
        ],
    );
    assert!(all[0].figure.unwrap() < 3.0, "images are under three times");
    let per_pass: Vec<usize> = all[0].outcomes[0].plans().map(|plan| plan.stations.poses.len()).collect();
    let nadir = value(&all[0], 1, MeasureId::ImageCount);
    assert!(
        per_pass[1..].iter().all(|count| (*count as f64) < nadir),
        "a tilted block takes fewer: {per_pass:?}"
    );
    let speeds = pass_speeds(&all[2], 3);
    assert!(speeds[1..].iter().all(|speed| *speed < speeds[0]), "tilted passes fly slower: {speeds:?}");
}

/// Derived: the same.
#[test]
fn the_lesson_of_the_cycling_gimbal_says_what_its_figures_say() {
    let all = holds(
        "what_a_cycling_gimbal_buys.ron",
        &[
            (0, 0.3..0.5, "Less than half"),
            (1, 0.99..1.01, "As much as five directions do"),
            (2, 1.35..1.65, "About one and a half times"),
            (3, 1.7..2.0, "Nearly twice"),
            (4, 1.0001..1.5, "Longer than five directions"),
        ],
    );
    let speeds = (pass_speeds(&all[0], 4), pass_speeds(&all[0], 3));
    assert!((4.5..5.5).contains(&speeds.0[0]) && speeds.1.iter().all(|speed| (8.0..=10.0).contains(speed)));
    assert!(all[3].figure > all[2].figure, "pairs grow faster than images");
}

/// Derived: the same.
#[test]
fn the_lesson_of_the_hillside_says_what_its_figures_say() {
    let file = "one_height_or_following_the_ground.ron";
    let all = holds(
        file,
        &[
            (0, 0.0235..0.0265, "about a quarter more"),
            (1, 0.0175..0.02, "Within what was asked for"),
            (2, 0.95..1.05, "it takes as long"),
            (3, 1.25..1.42, "A third more"),
        ],
    );
    let lesson = example(file);
    assert_eq!(
        (pass_speeds(&all[2], 2)[0], lesson.scenario.equipment.aircraft[0].airframe.climb_mps),
        (10.0, 4.0)
    );
    let plan = all[2].outcomes[0].plans().next().unwrap();
    let (first, next) = (plan.stations.poses[0].position_m, plan.stations.poses[1].position_m);
    assert!(((next.z - first.z) / (next - first).truncate().length() - 0.15).abs() < 1e-6, "up the slope");
    let store = Store::new(1 << 30);
    let scenario = lesson.scenario_of(3, None).unwrap();
    let lower =
        Evaluator { store: &store, watch: &NoWatch }.evaluate(&scenario, Id(1), Depth::Views).unwrap();
    let gsd = lower.gsd(SurfaceClass::Ground).unwrap();
    assert!((0.02..0.0215).contains(&gsd.p95_m), "nearly meets: {}", gsd.p95_m);
    assert!(gsd.p95_m / gsd.p5_m > 1.9, "the high side is twice as fine");
}

/// Derived: what is written is read again; the mark follows what is asked and no text.
#[test]
fn a_lesson_survives_its_file_and_its_mark_follows_what_is_asked() {
    let dir = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        let lesson = read_lesson(&path).unwrap_or_else(|error| panic!("{error}"));
        assert!((4..=6).contains(&lesson.steps.len()), "ten minutes");
        let copy = dir.path().join(path.file_name().unwrap());
        save_lesson(&copy, &lesson, None).unwrap();
        assert_eq!(read_lesson(&copy).unwrap(), lesson);
        let own = lesson_mark(&lesson);
        let mut told = lesson.clone();
        told.name.push('!');
        told.steps[0].after = "mended".to_owned();
        assert_eq!(lesson_mark(&told), own);
        let mut other = lesson.clone();
        other.scenario.strategies[0].passes[0].sidelap = 0.61;
        assert_ne!(lesson_mark(&other), own);
        let mut asked = lesson;
        asked.steps.pop();
        assert_ne!(lesson_mark(&asked), own);
    }
    assert!(std::fs::read_dir(dir.path()).unwrap().count() >= 5);
}

#[test]
fn a_lesson_is_told_from_a_scenario() {
    let own = text("tilt_and_walls.ron");
    assert!(is_lesson(own.as_bytes()) && !is_lesson(crate::sample::TEXT.as_bytes()));
    let told = parse_scenario(&own, "tilt.ron").unwrap_err().to_string();
    assert!(told.starts_with("tilt.ron:"), "{told}");
    let told = parse_lesson(crate::sample::TEXT, "yard.ron").unwrap_err().to_string();
    assert!(told.starts_with("yard.ron:"), "{told}");
}

/// Derived: what is wrong is told with its place and the mend.
#[test]
fn what_is_wrong_with_a_lesson_is_told_with_its_place() {
    let own = text("tilt_and_walls.ron");
    let told = |from: &str, to: &str| {
        let text = own.replacen(from, to, 1);
        assert_ne!(text, own, "{from}");
        let told = parse_lesson(&text, "tilt.ron").unwrap_err().to_string();
        let line = 1 + text[..text.find(to).unwrap_or(0)].matches('\n').count();
        (told, line)
    };
    let cases = [
        ("\"coverage.wall\"", "\"coverage.walls\"", "no figure has the key"),
        ("of: Strategy(1)", "of: Strategy(7)", "no strategy of the scenario has the id 7"),
        ("Points(10.0)", "Factor(1.2)", "the tolerance of this figure must be as Points"),
        ("of: 2, over: 1", "of: 2, over: 2", "both are one"),
        ("attitudes\", strategy: 2, value", "attitude\", strategy: 2, value", "no input is called"),
        ("values: 10", "values: 1", "at least 2"),
        ("value: 15.0", "value: 300.0", "must be at least"),
        ("height_m: 14.0", "height_m: -14.0", "must be at least"),
        ("text: \"The nadir", "txt: \"The nadir", "txt"),
        ("format: 1", "format: 9", "newer"),
    ];
    for (from, to, says) in cases {
        let (told, line) = told(from, to);
        assert!(told.contains(says), "{from} → {to}: {told}");
        let begins = told.starts_with(&format!("tilt.ron:{line}:"));
        assert!(begins, "{from} → {to}: line {line} of {told}");
    }
}

/// Derived: a step that would show what a later one asks is refused, and told what is not to be told.
#[test]
fn no_step_shows_what_a_later_one_asks() {
    let lesson = example("tilt_and_walls.ron");
    let says = |lesson: &Lesson, words: &str| {
        let faults = lesson.faults();
        assert!(faults.iter().any(|fault| fault.message.contains(words)), "{words}: {faults:?}");
    };
    let mut twice = lesson.clone();
    twice.steps.insert(0, lesson.steps[3].clone());
    says(&twice, "revealing step 1 answers step 5");
    let mut ratio = lesson.clone();
    let mut whole = lesson.steps[4].clone();
    whole.asked.of = AskedOf::Difference { of: Id(2), less: Id(1) };
    whole.tolerance = Tolerance::Within(10.0);
    ratio.steps.push(whole);
    says(&ratio, "revealing step 5 answers step 6");
    let mut told = lesson.clone();
    told.steps[0].told = vec![Id(1)];
    says(&told, "must leave something to guess");
    // Moving the tilt of the second step to 20° would answer the third, and to 30° the fourth.
    let hidden = |step: usize| step > 1;
    let moved = |value| lesson.answers(1, Some(value), hidden);
    assert_eq!([15.0, 20.0, 25.0, 30.0].map(moved), [None, Some(2), None, Some(3)]);
    assert_eq!(lesson.answers(1, Some(20.0), |step| step > 2), None, "once it is revealed");
    // Nor is it moved beyond one that is hidden: figures on both sides bound what lies between.
    let tells = |first_hidden: usize| {
        [0.0, 15.0, 20.0, 25.0, 30.0, 45.0].map(|to| lesson.tells(1, to, |step| step >= first_hidden))
    };
    assert_eq!(tells(2), [None, None, Some(2), Some(2), Some(3), Some(2)]);
    assert_eq!(tells(3), [None, None, None, None, Some(3), Some(3)]);
    assert_eq!(tells(4), [None; 6]);
    assert_eq!(lesson.asked_at(1), Some(15.0));
    // What other strategies are set to does not matter.
    let mut other = lesson.clone();
    let setting =
        StepSetting { knob: "strategies[].passes[].sidelap".to_owned(), strategy: Some(Id(1)), value: 0.5 };
    other.steps[1].settings.push(setting);
    assert_eq!(other.answers(1, Some(20.0), hidden), Some(2));
}

/// Derived: in words as the rest of the program has them.
#[test]
fn questions_figures_and_errors_are_in_words() {
    let lesson = example("tilt_and_walls.ron");
    let (wall, images) = (&lesson.steps[1], &lesson.steps[4]);
    let metric = Units::Metric;
    assert_eq!(question_text(&lesson, wall, metric), "Coverage of walls of Crossed strips, in %?");
    assert_eq!(
        question_text(&lesson, images, metric),
        "Images of Crossed strips: how many times that of Nadir block?"
    );
    assert_eq!(figure_text(wall, 0.056, metric), "5.6 %");
    assert_eq!(figure_text(wall, 0.9997, metric), "99.97 %");
    assert_eq!(figure_text(wall, 0.4, metric), "40 %");
    assert_eq!(figure_text(images, 1.685, metric), "1.69 times");
    let off = |step: &obliquity_planning::lesson::LessonStep, guess: f64, figure: f64| {
        let unit = step.measure().unwrap().unit;
        off_text(GuessOff::of(&step.asked, unit, guess, figure), step, metric)
    };
    assert_eq!(off(wall, 0.2, 0.056), "14.4 points too high");
    // near is within 10 points, and a factor of 1.25: what is not near does not read as if it were
    assert_eq!(off(wall, 0.7, 0.5997), "10.03 points too high");
    assert_eq!(off(images, 2.0, 1.5996), "1.2503 times too high");
    assert_eq!(off(images, 2.0, 1.6), "1.25 times too high");
    assert_eq!(off(images, 0.8, 1.6), "2.00 times too low");
    assert_eq!(tolerance_text(wall.tolerance, wall, metric), "near: within 10 points");
    assert_eq!(guess_field(wall, metric).read("62").unwrap(), 0.62);
    assert_eq!(guess_field(images, metric).read("1,8").unwrap(), 1.8);
    assert!(guess_field(wall, metric).read("140").is_err());
    let told = lesson_text(&lesson, metric);
    assert!(told.contains("Then tilt may be moved from 0° to 45°."), "{told}");
    assert!(!told.contains("51 %") && !told.contains("1.68"), "no figure: {told}");
    let hillside = example("one_height_or_following_the_ground.ron");
    assert_eq!(guess_field(&hillside.steps[0], metric).read("2.4").unwrap(), 0.024);
    assert_eq!(figure_text(&hillside.steps[0], 0.0249, metric), "2.49 cm");
}
