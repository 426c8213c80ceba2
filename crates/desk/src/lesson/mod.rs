//! Lessons in the window: the page that a class sees, and making one.

mod document;
mod making;
mod model;
mod page;

pub use document::LessonDocument;
pub(crate) use making::{LessonEdit, MakingAsk, first_step, making};
pub use model::{
    AnswerSheet, EndRow, EndSheet, GuessLine, Hidden, LessonSheet, ShownAnswer, StepSheet, TitleSheet,
    WorkingLine,
};
pub(crate) use model::{GivenStep, Moved, no_figure, typed_guess};
pub(crate) use page::{LessonAsk, LessonEntry, WayToLesson, lesson_page, no_lesson, shut_page};
