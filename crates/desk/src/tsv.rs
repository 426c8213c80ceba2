//! Tables for the clipboard: cells apart by tabs, as spreadsheets take them.

use crate::units::Units;
use obliquity_planning::{Knob, KnobGroup, Part};

/// A line; what would break its cells is a space in them.
pub fn line<T: AsRef<str>>(cells: impl IntoIterator<Item = T>) -> String {
    let clean = |cell: T| cell.as_ref().replace(['\t', '\n', '\r'], " ");
    let mut line = cells.into_iter().map(clean).collect::<Vec<_>>().join("\t");
    line.push('\n');
    line
}

/// The inputs of some parts: a row each, a column for each part; rows that no part has are left out.
pub fn of_knobs<T: Part>(groups: &[&KnobGroup], parts: &[(&str, &T)], units: Units) -> String {
    let head = std::iter::once("").chain(parts.iter().map(|(name, _)| *name));
    let mut text = line(head);
    for group in groups {
        for knob in group.knobs {
            let cells: Vec<Option<String>> = parts.iter().map(|(_, part)| cell(knob, *part, units)).collect();
            if cells.iter().any(Option::is_some) {
                let name = format!("{}: {}", group.name, knob.name);
                text += &line(std::iter::once(name).chain(cells.into_iter().map(Option::unwrap_or_default)));
            }
        }
    }
    text
}

/// An input's value with its unit, or what holds where it is left out; nothing where the part has no such input.
fn cell<T: Part>(knob: &Knob, part: &T, units: Units) -> Option<String> {
    let access = T::access(&knob.scope).filter(|access| (access.applies)(part))?;
    let value = (access.get)(part).map(|value| units.text(knob.unit, value));
    value.or_else(|| knob.left_out.map(ToOwned::to_owned))
}

#[cfg(test)]
mod tests {
    use super::*;
    use obliquity_planning::{Conditions, knob};

    // Derived: by hand.
    #[test]
    fn no_cell_breaks_its_line() {
        assert_eq!(line(["a\tb", "c\nd", ""]), "a b\tc d\t\n");
    }

    // Derived: the inputs of the group and the head.
    #[test]
    fn every_input_is_a_line_and_every_part_a_column() {
        let conditions = Conditions::default();
        let text = of_knobs(&[&knob::CREW], &[("now", &conditions), ("then", &conditions)], Units::Metric);
        assert_eq!(text.lines().count(), 1 + knob::CREW.knobs.len());
        assert!(text.lines().all(|line| line.matches('\t').count() == 2), "{text}");
        assert!(text.contains("min\t"), "{text}");
    }
}
