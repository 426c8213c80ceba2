use std::fmt;
use thiserror::Error;

/// A file could not be read, written or understood; says everything that is wrong with it.
///
/// Displays one line for each fault: `harbour.ron:41:27: forward overlap must be …`.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub struct FileError {
    /// The file as the user named it.
    pub file: String,
    /// What kind of trouble it is.
    pub kind: FileErrorKind,
    /// At least one, in the file's order where their places are known.
    pub faults: Vec<FileFault>,
}

/// What kind of trouble a file is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileErrorKind {
    /// The system would not give its contents.
    Unreadable,
    /// The system would not take its contents, or something that is not to be replaced is in its place.
    Unwritable,
    /// One of the same kind is there, and nobody has said that it may be replaced.
    Exists,
    /// It does not hold any more what was read from it or written to it.
    Changed,
    /// It is larger than this program reads.
    TooLarge,
    /// It does not follow its format.
    Syntax,
    /// It is of a format that this program does not read.
    Format,
    /// It follows its format, but what it says cannot be.
    Invalid,
    /// It does not say which coordinates it is in.
    Unplaced,
}

/// One thing wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileFault {
    /// Where, if known.
    pub place: Option<Place>,
    /// What was required, what came, and the mend; lower case, without a full stop.
    pub message: String,
}

/// A place in a text file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Counted from 1.
    pub line: usize,
    /// In characters, counted from 1.
    pub column: usize,
}

impl Place {
    /// The place of a byte of a text; the end of the text for a byte beyond it.
    pub fn of_byte(text: &str, byte: usize) -> Place {
        let bytes = text.as_bytes();
        let before = &bytes[..byte.min(bytes.len())];
        let line_start = before.iter().rposition(|&b| b == b'\n').map_or(0, |at| at + 1);
        let is_char_start = |b: &&u8| (**b & 0xC0) != 0x80;
        Place {
            line: before.split(|&b| b == b'\n').count(),
            column: before[line_start..].iter().filter(is_char_start).count() + 1,
        }
    }
}

impl FileError {
    pub(crate) fn new(file: &str, kind: FileErrorKind, message: impl Into<String>) -> Self {
        let fault = FileFault { place: None, message: message.into() };
        FileError { file: file.to_owned(), kind, faults: vec![fault] }
    }

    pub(crate) fn at(file: &str, kind: FileErrorKind, place: Place, message: impl Into<String>) -> Self {
        let fault = FileFault { place: Some(place), message: message.into() };
        FileError { file: file.to_owned(), kind, faults: vec![fault] }
    }

    /// Where the first fault is, if known.
    pub fn place(&self) -> Option<Place> {
        self.faults.first().and_then(|fault| fault.place)
    }
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.faults.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            f.write_str(&self.file)?;
            if let Some(place) = fault.place {
                write!(f, ":{}:{}", place.line, place.column)?;
            }
            write!(f, ": {}", fault.message)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let text = "aä\nbc";
        assert_eq!(Place::of_byte(text, 0), Place { line: 1, column: 1 });
        assert_eq!(Place::of_byte(text, 3), Place { line: 1, column: 3 }, "the ä takes two bytes");
        assert_eq!(Place::of_byte(text, 5), Place { line: 2, column: 2 });
        assert_eq!(Place::of_byte(text, 500), Place { line: 2, column: 3 });
    }

    #[test]
    fn every_fault_has_its_line() {
        let mut error = FileError::new("a.ron", FileErrorKind::Invalid, "first");
        error
            .faults
            .push(FileFault { place: Some(Place { line: 41, column: 27 }), message: "second".into() });
        assert_eq!(error.to_string(), "a.ron: first\na.ron:41:27: second");
    }
}
