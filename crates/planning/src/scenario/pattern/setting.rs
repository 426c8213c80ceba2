use crate::base::Unit;
use crate::base::limits::Range;
use crate::scenario::pattern::Pattern;

/// One number of a pattern.
#[derive(Debug, Clone, Copy)]
pub struct Setting {
    /// Its path in a pass of the scenario file: `pattern.orbit.target_height_m`.
    pub key: &'static str,
    /// On screens, beside the row.
    pub name: &'static str,
    /// What it is, in a sentence or two.
    pub explanation: &'static str,
    /// What its value is in.
    pub unit: Unit,
    /// Most decimals shown.
    pub decimals: usize,
    /// Values allowed.
    pub range: Range,
    /// Reads it; nothing where the pattern has no such number.
    pub get: fn(&Pattern) -> Option<f64>,
    /// Sets it, where the pattern has it.
    pub set: fn(&mut Pattern, f64),
}

/// One thing of a pattern that is chosen from a few.
#[derive(Debug, Clone, Copy)]
pub struct Choice {
    /// On screens, beside the row.
    pub name: &'static str,
    /// What it is, in a sentence.
    pub explanation: &'static str,
    /// What it sets, as undo names it.
    pub what: &'static str,
    /// The choices and what each means.
    pub options: &'static [(&'static str, &'static str)],
    /// Which of them is taken; nothing where the pattern has no such choice.
    pub get: fn(&Pattern) -> Option<usize>,
    /// Takes another, beginning with what there is.
    pub set: fn(&mut Pattern, usize, &Present),
}

/// What a pattern can be read from: rows of numbers under names.
#[derive(Debug, Clone, Copy)]
pub struct Table {
    /// What a row is one of, as sentences name them: "corners of the line".
    pub what: &'static str,
    /// The columns that it knows.
    pub columns: &'static [Column],
    /// Fewest rows.
    pub least: usize,
    /// Most rows.
    pub most: usize,
    /// Puts the rows in place of what the pattern has, each with a number for every column.
    pub put: fn(&mut Pattern, &[Vec<f64>]),
}

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// In the table's first line.
    pub name: &'static str,
    /// What it is where the table has no such column; nothing where it must have it.
    pub left_out: Option<f64>,
}

impl Column {
    pub(super) const fn needed(name: &'static str) -> Self {
        Column { name, left_out: None }
    }
}

/// What a pass is at present, as laid out: what a setting begins with that was left to the program before.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Present {
    /// Which way its strips run, clockwise from north.
    pub direction_rad: Option<f64>,
    /// Radius of its rings.
    pub radius_m: Option<f64>,
}

/// One thing that is keyed into a flight controller.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// What it is.
    pub label: &'static str,
    /// What is keyed in.
    pub value: ToldValue,
    /// What it is measured from, or what it means.
    pub note: Option<&'static str>,
}

/// What is keyed in.
#[derive(Debug, Clone, PartialEq)]
pub enum ToldValue {
    /// As it stands.
    Text(String),
    /// A length.
    Metres(f64),
    /// Several of them, in flying order.
    ListMetres(Vec<f64>),
}

impl Told {
    pub(super) fn text(label: &'static str, text: impl Into<String>) -> Self {
        Told { label, value: ToldValue::Text(text.into()), note: None }
    }

    pub(super) fn metres(label: &'static str, m: f64) -> Self {
        Told { label, value: ToldValue::Metres(m), note: None }
    }

    pub(super) fn note(self, note: &'static str) -> Self {
        Told { note: Some(note), ..self }
    }
}

/// A number of one pattern: the same path reads and sets it.
macro_rules! number {
    ($key:literal, $name:literal, $explanation:literal, $unit:ident, $decimals:literal, $range:ident,
     $shape:pat => $value:ident) => {
        crate::scenario::pattern::Setting {
            key: $key,
            name: $name,
            explanation: $explanation,
            unit: crate::base::Unit::$unit,
            decimals: $decimals,
            range: crate::base::limits::$range,
            get: |pattern| {
                if let $shape = pattern {
                    Some(crate::scenario::pattern::setting::Kept::read($value))
                } else {
                    None
                }
            },
            set: |pattern, value| {
                if let $shape = pattern {
                    crate::scenario::pattern::setting::Kept::keep($value, value);
                }
            },
        }
    };
}
pub(super) use number;

/// A number as its place keeps it.
pub(super) trait Kept {
    fn read(&self) -> f64;
    fn keep(&mut self, value: f64);
}

impl Kept for f64 {
    fn read(&self) -> f64 {
        *self
    }

    fn keep(&mut self, value: f64) {
        *self = value;
    }
}

impl Kept for u32 {
    fn read(&self) -> f64 {
        f64::from(*self)
    }

    fn keep(&mut self, value: f64) {
        *self = value.round() as u32;
    }
}
