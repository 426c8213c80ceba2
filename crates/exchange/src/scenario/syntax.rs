//! What is wrong with the syntax of a scenario, in the words of someone who edits one.

use crate::{FileError, FileErrorKind, Place};
use ron::error::{Error, SpannedError};

pub(super) fn explain(text: &str, name: &str, error: &SpannedError) -> FileError {
    let place = place_of(text, error);
    FileError::at(name, FileErrorKind::Syntax, place, message(&error.code))
}

/// The parser stands behind a name when it finds that it does not know it: go back to its first letter.
fn place_of(text: &str, error: &SpannedError) -> Place {
    let end = error.span.end;
    let named = match &error.code {
        Error::NoSuchStructField { found, .. } | Error::NoSuchEnumVariant { found, .. } => found.as_str(),
        Error::DuplicateStructField { field, .. } => field,
        _ => return next_word(text, error.span.start),
    };
    let before = text.split_inclusive('\n').take(end.line).collect::<String>();
    let line_start = before.trim_end_matches('\n').rfind('\n').map_or(0, |at| at + 1);
    let line: String = before[line_start..].chars().take(end.col.saturating_sub(1)).collect();
    let upto = line_start + line.len();
    let byte = before.get(..upto).and_then(|seen| seen.rfind(named));
    byte.map_or(Place { line: end.line, column: end.col }, |byte| Place::of_byte(text, byte))
}

/// The place of the first character at or behind a position that is not a space.
fn next_word(text: &str, position: ron::error::Position) -> Place {
    let line_start: usize = text.split_inclusive('\n').take(position.line - 1).map(str::len).sum();
    let rest = &text[line_start..];
    let before: usize = rest.chars().take(position.col - 1).map(char::len_utf8).sum();
    let spaces = rest[before..].len() - rest[before..].trim_start().len();
    Place::of_byte(text, line_start + before + spaces)
}

fn message(error: &Error) -> String {
    match error {
        Error::Eof | Error::ExpectedStringEnd | Error::UnclosedBlockComment => {
            "the scenario must go on here, but the file ends; it may have been cut, look for a whole copy or NAME.previous".to_owned()
        }
        Error::ExceededRecursionLimit => {
            "a scenario never nests this deep, but this file does; it is not a scenario, or a bracket is not closed".to_owned()
        }
        Error::NoSuchStructField { expected, found, outer } => {
            format!("there is no field \"{found}\"{}; {}", inside(outer.as_deref()), one_of(expected))
        }
        Error::NoSuchEnumVariant { expected, found, .. } => {
            format!("\"{found}\" is not a choice here; {}", one_of(expected))
        }
        Error::MissingStructField { field, outer } => {
            format!("the field \"{field}\" must be given{}, but it is missing; add it", inside(outer.as_deref()))
        }
        Error::DuplicateStructField { field, outer } => {
            format!("the field \"{field}\" must be given once{}, but it comes again; leave one out", inside(outer.as_deref()))
        }
        Error::InvalidValueForType { expected, found } => {
            format!("{expected} must stand here, but it is {found}; change it")
        }
        Error::ExpectedFloat => must_stand("a number"),
        Error::ExpectedInteger | Error::IntegerOutOfBounds | Error::InvalidIntegerDigit { .. } => {
            must_stand("a whole number, not below 0,")
        }
        Error::ExpectedString => must_stand("text in double quotes"),
        Error::ExpectedBoolean => must_stand("true or false"),
        Error::ExpectedArray => must_stand("a list in square brackets"),
        Error::ExpectedNamedStructLike("DVec2") => must_stand("a pair of numbers in round brackets, (east, north),"),
        Error::ExpectedNamedStructLike(_) | Error::ExpectedStructLike => must_stand("fields in round brackets"),
        Error::ExpectedComma => must_stand("a comma or the closing bracket"),
        Error::Message(told) if told.contains("terrain") => told.clone(),
        Error::TrailingCharacters => {
            "the scenario must end with its closing bracket, but something follows it; take that out".to_owned()
        }
        other => format!("this is not the syntax of a scenario: {}; compare with one of the examples", lower(&other.to_string())),
    }
}

fn must_stand(what: &str) -> String {
    format!("{what} must stand here, but something else does; change it")
}

fn inside(outer: Option<&str>) -> String {
    outer.map_or_else(String::new, |outer| format!(" in {outer}"))
}

fn one_of(expected: &[&str]) -> String {
    match expected {
        [] => "leave it out".to_owned(),
        [only] => format!("write {only}"),
        [most @ .., last] => format!("write one of {} or {last}", most.join(", ")),
    }
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + chars.as_str())
}
