//! What the documentation of the crate must say, read from its sources.

use crate::sources::sources;

/// Types that hold numbers with a unit, or may.
const NUMBERS: [&str; 4] = ["f64", "f32", "DVec2", "DVec3"];

/// Words of which a reference has one: what it was read in, or that it was not read.
const KINDS: [&str; 7] =
    ["derived", "from memory", "common practice", "textbook", "as [`", "kinematics", "own interpolation"];

/// A function as the crate shows it.
struct Shown {
    name: String,
    documentation: Vec<String>,
    signature: String,
}

/// The lines of documentation that end above a line, attributes skipped, the mark stripped.
fn above(lines: &[&str], line: usize) -> Vec<String> {
    let upward = lines[..line].iter().rev().map(|line| line.trim());
    let own = upward.skip_while(|line| line.starts_with("#[")).take_while(|line| line.starts_with("///"));
    let mut told: Vec<String> = own.map(|line| line[3..].trim().to_owned()).collect();
    told.reverse();
    told
}

/// Every `pub fn` of a text. What is public but not reached is refused by the lint `unreachable_pub`.
fn shown(module: &str, text: &str) -> Vec<Shown> {
    let lines: Vec<&str> = text.lines().collect();
    let starts = ["pub fn ", "pub const fn "];
    let named =
        |line: &str| starts.iter().find_map(|start| line.trim().strip_prefix(start)).map(str::to_owned);
    let heads = lines.iter().enumerate().filter_map(|(k, line)| Some((k, named(line)?)));
    heads
        .map(|(k, head)| Shown {
            name: format!("{module}::{}", head.split(['(', '<']).next().unwrap_or_default()),
            documentation: above(&lines, k),
            signature: lines[k..].join(" ").split('{').next().unwrap_or_default().to_owned(),
        })
        .collect()
}

fn all_shown() -> Vec<Shown> {
    sources().iter().flat_map(|source| shown(&source.module.join("::"), &source.documented)).collect()
}

fn takes_or_gives_numbers(function: &Shown) -> bool {
    let mut words = function.signature.split(|letter: char| !letter.is_alphanumeric());
    words.any(|word| NUMBERS.contains(&word))
}

/// The lines of a section of a documentation.
fn section<'a>(documentation: &'a [String], title: &str) -> Option<&'a [String]> {
    let begins = documentation.iter().position(|line| *line == format!("# {title}"))? + 1;
    let rest = &documentation[begins..];
    Some(&rest[..rest.iter().position(|line| line.starts_with("# ")).unwrap_or(rest.len())])
}

/// Derived: the rule itself.
#[test]
fn every_function_of_numbers_tells_their_units() {
    let functions: Vec<Shown> = all_shown().into_iter().filter(takes_or_gives_numbers).collect();
    assert!(functions.len() > 150, "{} functions", functions.len());
    let told = |function: &Shown| {
        section(&function.documentation, "Units").is_some_and(|lines| lines.iter().any(|line| line.len() > 3))
    };
    let silent: Vec<&str> =
        functions.iter().filter(|function| !told(function)).map(|function| function.name.as_str()).collect();
    assert!(silent.is_empty(), "no units: {silent:#?}");
}

/// Derived: the rule itself. A year stands for something published.
#[test]
fn every_reference_says_where_it_is_from() {
    let published = |text: &str| {
        let words = text.split(|letter: char| !letter.is_ascii_digit());
        words.filter_map(|word| word.parse().ok()).any(|year: u32| (1900..2100).contains(&year))
    };
    let mut looked_at = 0;
    for function in all_shown() {
        let Some(lines) = section(&function.documentation, "References") else { continue };
        let text = lines.join(" ").to_lowercase();
        looked_at += 1;
        let says = KINDS.iter().any(|kind| text.contains(kind)) || published(&text);
        assert!(says, "{}: {text}", function.name);
    }
    assert!(looked_at > 60, "{looked_at} references");
}

/// Derived: the rule itself. Examples of text are not run and do not count.
#[test]
fn many_functions_have_an_example_that_runs() {
    let runs = |function: &Shown| {
        let lines = section(&function.documentation, "Examples");
        lines.is_some_and(|lines| lines.iter().any(|line| line == "```") && lines.concat().contains("assert"))
    };
    let examples = all_shown().iter().filter(|function| runs(function)).count();
    assert!(examples >= 30, "{examples} examples");
}

/// Derived: by hand, what the reader of sources takes for what.
#[test]
fn sections_are_read_as_they_are_written() {
    let text = "/// Gives it.\n///\n/// # Units\n/// - returns: metres\n///\n/// # Errors\n/// None.\n#[must_use]\n\
                pub fn far_m<T>(\n    at: T,\n) -> f64 {\n    0.0\n}\npub(crate) fn hidden(x: f64) {}\n";
    let found = shown("a", text);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].name, "a::far_m");
    assert!(takes_or_gives_numbers(&found[0]));
    assert_eq!(section(&found[0].documentation, "Units").map(<[String]>::len), Some(2));
    assert!(section(&found[0].documentation, "References").is_none());
}
