//! The lesson file: RON, `format: 1` first, with the scenario in it. What is asked is in words here too.

mod answers;
mod file;
mod secret;
mod summary;
mod told;

pub use answers::{
    Answers, AnswersRead, NotTaken, parse_answers, read_answers_folder, save_answers, write_answers,
};
pub use file::{
    is_lesson, is_lesson_file, lesson_mark, parse_lesson, read_lesson, read_stamped_lesson, save_lesson,
    write_lesson,
};
pub(crate) use file::{parse_kept_lesson, write_kept_lesson};
pub use secret::Secret;
pub use summary::{
    ClassCell, ClassRow, ClassStep, ClassSummary, class_csv, class_json, class_summary, class_text,
};
pub use told::{
    asked_unit, figure_text, guess_field, lesson_json, lesson_text, off_text, question_text, settings_text,
    strategy_name, tolerance_text,
};
