//! A learner's answers to a lesson: one small file each, and a folder of them.

use super::file::{is_lesson, lesson_mark};
use crate::files::{read_bounded, utf8};
use crate::scenario::{FORMAT, check_format, from_text, has_learner, pretty, save_known};
use crate::{FileError, FileErrorKind, FileStamp};
use obliquity_planning::lesson::{Lesson, LessonRun, MOST_STEPS, StepRun};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Largest file of answers that is read.
const MOST_BYTES: u64 = 1 << 20;

/// Most files of a folder that are read.
const MOST_FILES: usize = 500;

/// Most guesses of a step.
const MOST_GUESSES: usize = 200;

/// What a learner answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// The lesson's [`lesson_mark`].
    pub lesson: String,
    /// When they were saved, in seconds since 1970 (UTC).
    pub at_unix_s: u64,
    /// Guesses and own settings.
    pub run: LessonRun,
}

/// Answers as their file nests them.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Answers")]
struct AnswersFile {
    format: u32,
    /// Which lesson, by its mark.
    lesson: String,
    /// Name or initials.
    learner: String,
    #[serde(default)]
    at_unix_s: u64,
    steps: Vec<StepRun>,
}

/// A file that was not taken, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct NotTaken {
    /// The file's name.
    pub file: String,
    /// What was required, what came and the mend.
    pub why: String,
}

/// What a folder of answers gave.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AnswersRead {
    /// The answers that count, with the names of their files, by learner.
    pub answers: Vec<(String, Answers)>,
    /// What was not taken.
    pub not_taken: Vec<NotTaken>,
}

/// Reads answers from the text of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`crate::read_scenario`], and where they are another lesson's.
pub fn parse_answers(text: &str, name: &str, lesson: &Lesson) -> Result<Answers, FileError> {
    check_format(text, name, "answers to a lesson")?;
    let wrong = |message: String| FileError::new(name, FileErrorKind::Invalid, message);
    if !has_learner(text.as_bytes()) {
        let told = "answers to a lesson were required, but nobody is named in it as the learner; save answers in the program";
        return Err(wrong(told.to_owned()));
    }
    let AnswersFile { format: _, lesson: mark, learner, at_unix_s, steps } = from_text(text, name)?;
    let own = lesson_mark(lesson);
    if mark != own {
        return Err(wrong(format!(
            "answers to this lesson were required, but these are to another one or to an earlier version of it (mark {}, \
             this one's is {}); put them into the folder of their own lesson",
            short(&mark),
            short(&own)
        )));
    }
    if steps.len() != lesson.steps.len() || steps.len() > MOST_STEPS {
        return Err(wrong(format!(
            "answers must have as many steps as the lesson ({}), but these have {}; save them again in the program",
            lesson.steps.len(),
            steps.len()
        )));
    }
    let mut guesses = steps.iter().flat_map(|step| &step.guesses);
    if let Some(guess) = guesses.find(|guess| !guess.value.is_finite()) {
        return Err(wrong(format!("a guess must be a number, but it is {}; write one", guess.value)));
    }
    if let Some((k, step)) = steps.iter().enumerate().find(|(_, step)| step.guesses.len() > MOST_GUESSES) {
        return Err(wrong(format!(
            "a step must have at most {MOST_GUESSES} guesses, but step {} has {}; leave some out",
            k + 1,
            step.guesses.len()
        )));
    }
    Ok(Answers { lesson: mark, at_unix_s, run: LessonRun { learner, steps } })
}

/// The beginning of a mark, enough to tell two apart.
fn short(mark: &str) -> String {
    mark.chars().filter(char::is_ascii_hexdigit).take(8).collect()
}

/// The text of a file of answers; reading it gives the same.
pub fn write_answers(answers: &Answers) -> String {
    let Answers { lesson, at_unix_s, run } = answers.clone();
    let LessonRun { learner, steps } = run;
    let file = AnswersFile { format: FORMAT, lesson, learner, at_unix_s, steps };
    // Fails only beyond the recursion limit, which these types do not come near.
    pretty(&file).unwrap_or_default()
}

/// Writes answers in the place of what is known to be there; the version before is kept beside it.
///
/// # Errors
/// As [`crate::save_stamped_scenario`].
pub fn save_answers(
    path: &Path,
    answers: &Answers,
    known: Option<&FileStamp>,
) -> Result<FileStamp, FileError> {
    save_known(path, write_answers(answers).as_bytes(), known)
}

/// All answers in a folder to one lesson. Of the same learner the later ones are kept, and the others told; what is broken or
/// another lesson's is told too; the lesson itself may lie among them.
///
/// # Errors
/// When the folder cannot be read.
pub fn read_answers_folder(folder: &Path, lesson: &Lesson) -> Result<AnswersRead, FileError> {
    let unreadable = |error: std::io::Error| {
        let message = format!("cannot be read: {}; name a folder of answers", crate::files::told(&error));
        FileError::new(&folder.display().to_string(), FileErrorKind::Unreadable, message)
    };
    let entries = std::fs::read_dir(folder).map_err(unreadable)?;
    let is_one = |path: &PathBuf| path.extension().is_some_and(|own| own.eq_ignore_ascii_case("ron"));
    let mut files: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).filter(is_one).collect();
    files.sort();
    let mut read = AnswersRead::default();
    if files.len() > MOST_FILES {
        let why =
            format!("at most {MOST_FILES} files are read, but there are {}; leave some out", files.len());
        read.not_taken.push(NotTaken { file: folder.display().to_string(), why });
        files.truncate(MOST_FILES);
    }
    for path in files {
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        let bytes = match read_bounded(&path, MOST_BYTES) {
            Ok(bytes) if is_lesson(&bytes) => continue,
            Ok(bytes) => bytes,
            Err(error) => {
                read.refuse(name, &error);
                continue;
            }
        };
        match utf8(&bytes, &name).and_then(|text| parse_answers(text, &name, lesson)) {
            Ok(answers) => read.take(name, answers),
            Err(error) => read.refuse(name, &error),
        }
    }
    read.answers.sort_by(|one, other| key(&one.1).cmp(&key(&other.1)).then_with(|| one.0.cmp(&other.0)));
    Ok(read)
}

/// By what a learner is the same: case and blanks about a name do not matter.
fn key(answers: &Answers) -> String {
    answers.run.learner.trim().to_lowercase()
}

impl AnswersRead {
    fn refuse(&mut self, file: String, error: &FileError) {
        self.not_taken.push(NotTaken { file, why: error.to_string() });
    }

    fn take(&mut self, file: String, answers: Answers) {
        let same = |own: &&mut (String, Answers)| !key(&answers).is_empty() && key(&own.1) == key(&answers);
        let Some(known) = self.answers.iter_mut().find(same) else {
            self.answers.push((file, answers));
            return;
        };
        // What was saved later counts; of two saved at once the one whose name comes later.
        let is_later = (answers.at_unix_s, &file) >= (known.1.at_unix_s, &known.0);
        let learner = answers.run.learner.clone();
        let (left, kept) = if is_later {
            let left = std::mem::replace(known, (file.clone(), answers)).0;
            (left, file)
        } else {
            (file, known.0.clone())
        };
        let why = format!("{learner} has answered twice; {kept}, which was saved later, counts");
        self.not_taken.push(NotTaken { file: left, why });
    }
}
