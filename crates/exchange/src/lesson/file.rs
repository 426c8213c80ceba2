//! Lessons read and written.

use crate::files::{read_bounded, too_large, utf8};
use crate::scenario::{
    FORMAT, ScenarioFile, check_format, check_saved, from_text, has_learner, has_steps, pretty, save_known,
    sound,
};
use crate::{FileError, FileErrorKind, FileStamp, Place};
use obliquity_planning::Scenario;
use obliquity_planning::lesson::{Lesson, LessonRun, LessonStep};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Largest lesson file that is read: a scenario's and some text.
const MOST_BYTES: u64 = 64 << 20;

/// A lesson as its file nests it.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Lesson")]
struct LessonFile {
    format: u32,
    name: String,
    #[serde(default)]
    note: String,
    steps: Vec<LessonStep>,
    scenario: ScenarioFile,
    /// What is done with it, where that is kept against a sudden end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    run: Option<LessonRun>,
}

/// Whether a text is a lesson's, told from its fields: a scenario has no steps.
pub fn is_lesson(head: &[u8]) -> bool {
    has_steps(head) && !has_learner(head)
}

/// Whether a file is a lesson's. One that cannot be read is not: whoever opens it says why.
pub fn is_lesson_file(path: &Path) -> bool {
    read_bounded(path, MOST_BYTES).is_ok_and(|bytes| is_lesson(&bytes))
}

/// Reads a lesson file.
///
/// # Errors
/// As [`crate::read_scenario`].
pub fn read_lesson(path: &Path) -> Result<Lesson, FileError> {
    read_stamped_lesson(path).map(|(lesson, _)| lesson)
}

/// Reads a lesson file, with what tells later whether it still holds this.
///
/// # Errors
/// As [`crate::read_scenario`].
pub fn read_stamped_lesson(path: &Path) -> Result<(Lesson, FileStamp), FileError> {
    let bytes = read_bounded(path, MOST_BYTES)?;
    let name = path.display().to_string();
    let lesson = parse_lesson(utf8(&bytes, &name)?, &name)?;
    Ok((lesson, FileStamp::of(path, &bytes)))
}

/// Reads a lesson from the text of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`crate::read_scenario`].
pub fn parse_lesson(text: &str, name: &str) -> Result<Lesson, FileError> {
    if text.len() as u64 > MOST_BYTES {
        return Err(too_large(name, MOST_BYTES));
    }
    check_format(text, name, "a lesson")?;
    if has_learner(text.as_bytes()) {
        let told = "a lesson was required, but these are a learner's answers to one; open the lesson itself";
        let place = Place { line: 1, column: 1 };
        return Err(FileError::at(name, FileErrorKind::Invalid, place, told));
    }
    let file: LessonFile = from_text(text, name)?;
    let (lesson, _) = parts(file);
    sound(text, name, lesson.faults())?;
    Ok(lesson)
}

fn parts(file: LessonFile) -> (Lesson, Option<LessonRun>) {
    let LessonFile { format: _, name, note, steps, scenario, run } = file;
    (Lesson { name, note, scenario: Scenario::from(scenario), steps }, run)
}

/// A lesson in the making, with what is done with it, from the text that was kept: what is wrong with its steps is no matter.
///
/// # Errors
/// Where it cannot be read, or its scenario is not sound.
pub(crate) fn parse_kept_lesson(text: &str, name: &str) -> Result<(Lesson, LessonRun), FileError> {
    check_format(text, name, "a lesson")?;
    let (lesson, run) = parts(from_text(text, name)?);
    sound(text, name, lesson.scenario.faults())?;
    let steps = lesson.steps.len();
    Ok((lesson, run.unwrap_or_else(|| LessonRun::new(steps)).fitted(steps)))
}

/// The text of a lesson's file; reading it gives the same lesson.
pub fn write_lesson(lesson: &Lesson) -> String {
    text_of(lesson, None)
}

/// The same with what is done with it.
pub(crate) fn write_kept_lesson(lesson: &Lesson, run: &LessonRun) -> String {
    text_of(lesson, Some(run.clone()))
}

fn text_of(lesson: &Lesson, run: Option<LessonRun>) -> String {
    let Lesson { name, note, scenario, steps } = lesson.clone();
    let file = LessonFile { format: FORMAT, name, note, steps, scenario: ScenarioFile::from(scenario), run };
    // Fails only beyond the recursion limit, which these types do not come near.
    pretty(&file).unwrap_or_default()
}

/// Writes a lesson in the place of what is known to be there; the version before is kept beside it.
///
/// # Errors
/// As [`crate::save_stamped_scenario`].
pub fn save_lesson(path: &Path, lesson: &Lesson, known: Option<&FileStamp>) -> Result<FileStamp, FileError> {
    check_saved(&path.display().to_string(), lesson.faults())?;
    save_known(path, write_lesson(lesson).as_bytes(), known)
}

/// What answers name their lesson by: a digest of everything that decides its figures and guesses. Texts may be mended without
/// the answers becoming another lesson's.
pub fn lesson_mark(lesson: &Lesson) -> String {
    let [high, low] = FileStamp::of(Path::new(""), write_lesson(&lesson.without_texts()).as_bytes()).digest;
    format!("{high:016x}{low:016x}")
}
