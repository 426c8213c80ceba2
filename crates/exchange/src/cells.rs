//! Cells of a line of a table (CSV), as readers of tables part and place them, and writers quote them.

/// What parts the cells of a file: semicolons where its line of names has one, else commas.
pub(crate) fn parting_of(head: &str) -> char {
    if head.contains(';') { ';' } else { ',' }
}

/// The cells of a line; what stands within quotes is not parted.
pub(crate) fn parted(line: &str, parting: char) -> Vec<&str> {
    let mut is_quoted = false;
    let parts = |letter: char| {
        is_quoted ^= letter == '"';
        letter == parting && !is_quoted
    };
    line.split(parts).collect()
}

/// A cell without blanks and without the quotes about it.
pub(crate) fn bare(cell: &str) -> &str {
    let cell = cell.trim();
    cell.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(cell)
}

/// Where a cell begins in its line, in characters from 1.
pub(crate) fn begins(cells: &[&str], at: usize) -> usize {
    1 + cells[..at].iter().map(|cell| cell.chars().count() + 1).sum::<usize>()
}

/// The first cell with something in it beyond so many that have a name.
pub(crate) fn beyond_names(cells: &[&str], names: usize) -> Option<usize> {
    (names..cells.len()).find(|at| !cells[*at].trim().is_empty())
}

/// What is wrong where a line has such a cell: most often a comma within a number.
pub(crate) fn beyond_names_told(names: usize) -> String {
    format!(
        "there must be at most as many cells as names ({names}), but there are more; write numbers with a point"
    )
}

/// A text as a field: in quotes where it holds a comma, a quote or the end of a line.
pub(crate) fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        return format!("\"{}\"", text.replace('"', "\"\""));
    }
    text.to_owned()
}
