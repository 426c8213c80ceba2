//! Finds fields in the text of a scenario, so that a fault found in the values is told with its line and column.
//!
//! A tolerant reader: it follows brackets, names, strings and comments and makes nothing of the values.

/// The first field of the outermost struct.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct FirstField<'a> {
    pub(super) key: &'a str,
    pub(super) key_byte: usize,
    pub(super) value: &'a str,
    pub(super) value_byte: usize,
}

pub(super) fn first_field(text: &str) -> Option<FirstField<'_>> {
    let mut cursor = PlaceCursor { text, at: 0 };
    cursor.skip_attributes();
    cursor.open()?;
    let key_byte = cursor.at;
    let key = cursor.name()?;
    cursor.skip_trivia();
    cursor.take(b':')?;
    cursor.skip_trivia();
    let value_byte = cursor.at;
    let value = text[value_byte..].split(|c: char| !c.is_alphanumeric() && !"_.+-".contains(c)).next()?;
    Some(FirstField { key, key_byte, value, value_byte })
}

/// Whether the outermost struct of a text has a field, as far as it can be read.
pub(super) fn has_field(text: &str, field: &str) -> bool {
    let mut cursor = PlaceCursor { text, at: 0 };
    cursor.skip_attributes();
    cursor.enter_field(field).is_some()
}

/// The byte where the value of a field begins; of the nearest field around it if the text leaves it out.
///
/// `path` nests as `strategies[1].passes[0].forward_overlap`; the names of structs and of choices are not part of it.
pub(super) fn locate(text: &str, path: &str) -> Option<usize> {
    let mut cursor = PlaceCursor { text, at: 0 };
    cursor.skip_attributes();
    let mut found = cursor.at;
    for step in path.split(['.', '[']).filter(|step| !step.is_empty()) {
        let entered = match step.strip_suffix(']') {
            Some(index) => cursor.enter_item(index.parse().ok()?),
            None => cursor.enter_field(step),
        };
        if entered.is_none() {
            break;
        }
        found = cursor.at;
    }
    Some(found)
}

struct PlaceCursor<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> PlaceCursor<'a> {
    fn bytes(&self) -> &'a [u8] {
        &self.text.as_bytes()[self.at..]
    }

    fn peek(&self) -> Option<u8> {
        self.bytes().first().copied()
    }

    fn take(&mut self, byte: u8) -> Option<()> {
        (self.peek()? == byte).then(|| self.at += 1)
    }

    fn skip_while(&mut self, keep: impl Fn(u8) -> bool) {
        self.at += self.bytes().iter().take_while(|&&byte| keep(byte)).count();
    }

    /// Goes past spaces and comments; block comments nest.
    fn skip_trivia(&mut self) {
        loop {
            self.skip_while(|byte| byte.is_ascii_whitespace());
            match self.bytes() {
                [b'/', b'/', ..] => self.skip_while(|byte| byte != b'\n'),
                [b'/', b'*', ..] => self.skip_block_comment(),
                _ => return,
            }
        }
    }

    fn skip_block_comment(&mut self) {
        let mut depth = 0usize;
        while let Some(byte) = self.peek() {
            match (byte, self.bytes().get(1)) {
                (b'/', Some(b'*')) => (depth, self.at) = (depth + 1, self.at + 2),
                (b'*', Some(b'/')) => (depth, self.at) = (depth - 1, self.at + 2),
                _ => self.at += 1,
            }
            if depth == 0 {
                return;
            }
        }
    }

    /// Goes past `#![enable(…)]` lines before the scenario.
    fn skip_attributes(&mut self) {
        self.skip_trivia();
        while self.bytes().starts_with(b"#!") {
            self.skip_while(|byte| byte != b']');
            let _ = self.take(b']');
            self.skip_trivia();
        }
    }

    fn name(&mut self) -> Option<&'a str> {
        let start = self.at;
        self.skip_while(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
        (self.at > start).then(|| &self.text[start..self.at])
    }

    /// Goes past a struct's or choice's name and its opening bracket, whatever kind.
    fn open(&mut self) -> Option<()> {
        loop {
            self.skip_trivia();
            let name = self.name();
            self.skip_trivia();
            if !matches!(self.peek()?, b'(' | b'[' | b'{') {
                return None;
            }
            self.at += 1;
            self.skip_trivia();
            // `Some(…)` only wraps a value, which may be a struct itself.
            if name != Some("Some") {
                return Some(());
            }
        }
    }

    fn enter_field(&mut self, field: &str) -> Option<()> {
        let mut ahead = PlaceCursor { text: self.text, at: self.at };
        ahead.open()?;
        loop {
            let name = ahead.name()?;
            ahead.skip_trivia();
            ahead.take(b':')?;
            ahead.skip_trivia();
            if name == field {
                self.at = ahead.at;
                return Some(());
            }
            ahead.next_item()?;
        }
    }

    fn enter_item(&mut self, index: usize) -> Option<()> {
        let mut ahead = PlaceCursor { text: self.text, at: self.at };
        ahead.open()?;
        for _ in 0..index {
            ahead.next_item()?;
        }
        self.at = ahead.at;
        Some(())
    }

    /// Goes past a value and the comma behind it; nothing if it was the last one.
    fn next_item(&mut self) -> Option<()> {
        self.skip_value();
        self.take(b',')?;
        self.skip_trivia();
        (!matches!(self.peek()?, b')' | b']' | b'}')).then_some(())
    }

    /// Goes to the comma or closing bracket behind a value.
    fn skip_value(&mut self) {
        let mut depth = 0usize;
        loop {
            self.skip_trivia();
            match self.peek() {
                None => return,
                Some(b',' | b')' | b']' | b'}') if depth == 0 => return,
                Some(b'(' | b'[' | b'{') => (depth, self.at) = (depth + 1, self.at + 1),
                Some(b')' | b']' | b'}') => (depth, self.at) = (depth - 1, self.at + 1),
                Some(b'"') => self.skip_string(),
                Some(b'\'') => self.skip_char(),
                Some(b'r') if self.skip_raw_string() => {}
                Some(byte) if byte.is_ascii_alphanumeric() || byte == b'_' => {
                    let _ = self.name();
                }
                Some(_) => self.at += 1,
            }
        }
    }

    fn skip_string(&mut self) {
        self.at += 1;
        while let Some(byte) = self.peek() {
            self.at += if byte == b'\\' { 2.min(self.bytes().len()) } else { 1 };
            if byte == b'"' {
                return;
            }
        }
    }

    fn skip_char(&mut self) {
        self.at += 1;
        while let Some(byte) = self.peek() {
            self.at += if byte == b'\\' { 2.min(self.bytes().len()) } else { 1 };
            if byte == b'\'' {
                return;
            }
        }
    }

    fn skip_raw_string(&mut self) -> bool {
        let hashes = self.bytes()[1..].iter().take_while(|&&byte| byte == b'#').count();
        if self.bytes().get(1 + hashes) != Some(&b'"') {
            return false;
        }
        let mut close = vec![b'"'];
        close.resize(1 + hashes, b'#');
        let inside = &self.bytes()[2 + hashes..];
        let length =
            inside.windows(close.len()).position(|window| window == close).map(|at| at + close.len());
        self.at += 2 + hashes + length.unwrap_or(inside.len());
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r##"// (not: this)
#![enable(implicit_some)]
Scenario(
  format: 1, /* nor /* ( */ this */ name: "a \" , ) [", note: r#"raw " ] "#,
  site: (origin: Some((latitude_deg: 51.0)), boundary_m: [(0.0, 1.0), (2.0, 3.0),],),
  strategies: [
    (name: "one", passes: [(pattern: Strips(direction: FromNorth(deg: 400.0)))]),
    (name: "two", passes: [(a: 'x', b: '\'', forward_overlap: 1.2)]),
  ],
)"##;

    fn at(path: &str) -> &'static str {
        let text = &TEXT[locate(TEXT, path).expect("a place")..];
        &text[..text.len().min(6)]
    }

    #[test]
    fn paths_lead_to_their_values() {
        assert_eq!(at("strategies[1].passes[0].forward_overlap"), "1.2)])");
        assert_eq!(at("strategies[0].passes[0].pattern.direction.deg"), "400.0)");
        assert_eq!(at("site.boundary_m[1]"), "(2.0, ");
        assert_eq!(at("site.origin.latitude_deg"), "51.0))");
        assert_eq!(at("name"), "\"a \\\" ");
    }

    #[test]
    fn what_the_text_leaves_out_leads_to_what_is_around_it() {
        assert_eq!(at("conditions.blur_px"), "Scenar");
        assert_eq!(at("strategies[1].passes[0].sidelap"), "(a: 'x");
        assert_eq!(at("strategies[7]"), "[\n    ");
    }

    #[test]
    fn the_first_field_is_found_behind_comments() {
        let first = first_field(TEXT).expect("a field");
        assert_eq!((first.key, first.value), ("format", "1"));
        assert_eq!(first_field("nothing"), None);
        assert_eq!(first_field("(format"), None);
    }

    #[test]
    fn no_text_is_too_odd() {
        let odd = [
            "",
            "(",
            "((((",
            "(a:",
            "(a:\"",
            "(a:\"\\",
            "(a:r#\"",
            "/*",
            "(a:'",
            "#![",
            "Some(Some(",
            "(a: 1, b",
        ];
        for text in odd {
            let _ = first_field(text);
            assert!(locate(text, "a[0].b").expect("a place") <= text.len());
        }
        // Deep nesting takes no stack.
        let deep = format!("(a: {}", "(".repeat(1_000_000));
        assert_eq!(locate(&deep, "b"), Some(0));
    }
}
