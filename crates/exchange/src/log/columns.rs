//! The columns of logs.

/// A column of numbers: its name in files, its range, and whether a cell may be empty.
#[derive(Debug, Clone, Copy)]
pub struct LogColumn {
    /// In files.
    pub name: &'static str,
    /// On screens.
    pub title: &'static str,
    /// What to know of it.
    pub hint: &'static str,
    /// Least value.
    pub least: f64,
    /// Greatest value.
    pub most: f64,
    /// Whether a number must stand in every row.
    pub cells: Cells,
}

/// Whether a number must stand in every row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cells {
    /// In each.
    Given,
    /// Where it is known; the column itself may be missing.
    Known,
}

/// What a log is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LogKind {
    /// Jobs as they were processed.
    Processed,
    /// Flights as they were planned and as they went.
    Flown,
}

const fn column(
    name: &'static str,
    (title, hint): (&'static str, &'static str),
    (least, most): (f64, f64),
    cells: Cells,
) -> LogColumn {
    LogColumn { name, title, hint, least, most, cells }
}

const HOURS: (f64, f64) = (1e-4, 1e5);
const COUNT: (f64, f64) = (1.0, 1e6);
const MINUTES: (f64, f64) = (0.1, 1e4);

const PROCESSED: [LogColumn; 13] = [
    column("images", ("Images", "Images that were processed"), (2.0, 1e6), Cells::Given),
    column("megapixels", ("Mpx", "Pixels of an image, in millions"), (0.1, 1000.0), Cells::Given),
    column(
        "image_pairs",
        ("Pairs", "Pairs of images that were matched; the rate of matching needs them"),
        (1.0, 5e11),
        Cells::Known,
    ),
    column("area_ha", ("Area, ha", "What the products cover"), (1e-3, 1e6), Cells::Given),
    column("gsd_cm", ("GSD, cm", "Of the products"), (0.01, 1000.0), Cells::Given),
    column("features_h", ("Features, h", "Hours of finding features"), HOURS, Cells::Known),
    column("matching_h", ("Matching, h", "Hours of matching"), HOURS, Cells::Known),
    column("adjustment_h", ("Adjustment, h", "Hours of bundle adjustment"), HOURS, Cells::Known),
    column("dense_h", ("Dense, h", "Hours of dense reconstruction"), HOURS, Cells::Known),
    column("surface_h", ("Surface, h", "Hours of the surface"), HOURS, Cells::Known),
    column("orthomosaic_h", ("Mosaic, h", "Hours of the orthomosaic"), HOURS, Cells::Known),
    column("texture_h", ("Texture, h", "Hours of the texture"), HOURS, Cells::Known),
    column("total_h", ("All, h", "Hours of all stages"), HOURS, Cells::Known),
];

const FLOWN: [LogColumn; 8] = [
    column(
        "planned_flight_min",
        ("Planned, min", "Flight time that was planned, without corrections"),
        MINUTES,
        Cells::Given,
    ),
    column(
        "planned_turns_min",
        ("Turns, min", "Of the planned flight time, turning; without corrections"),
        (0.0, 1e4),
        Cells::Given,
    ),
    column(
        "planned_steady_min",
        (
            "Steady, min",
            "Of the planned flight time, at a steady speed: no turns, no speeding up or braking, no stops. Left empty, all that is no turn",
        ),
        (0.0, 1e4),
        Cells::Known,
    ),
    column("planned_images", ("Images planned", "Images that were planned"), COUNT, Cells::Known),
    column(
        "planned_battery_sets",
        ("Sets planned", "Full battery sets that were planned to be drawn, with decimals"),
        (0.01, 1000.0),
        Cells::Known,
    ),
    column(
        "flight_min",
        ("Flown, min", "Flight time of all sorties together, as the controller reports it"),
        MINUTES,
        Cells::Given,
    ),
    column("images", ("Images", "Images on the card"), COUNT, Cells::Known),
    column(
        "battery_sets",
        (
            "Sets drawn",
            "Full battery sets drawn: what every sortie took of its set, added up; 40 % left is 0.6 drawn",
        ),
        (0.01, 1000.0),
        Cells::Known,
    ),
];

impl LogKind {
    /// Both.
    pub const ALL: [LogKind; 2] = [LogKind::Processed, LogKind::Flown];

    /// What it holds, in sentences.
    pub fn told(self) -> &'static str {
        match self {
            LogKind::Processed => "processed jobs",
            LogKind::Flown => "flown jobs",
        }
    }

    /// Columns of text, before those of numbers.
    pub fn texts(self) -> &'static [&'static str] {
        match self {
            LogKind::Processed => &["job"],
            LogKind::Flown => &["job", "aircraft"],
        }
    }

    /// Columns of numbers.
    pub fn numbers(self) -> &'static [LogColumn] {
        match self {
            LogKind::Processed => &PROCESSED,
            LogKind::Flown => &FLOWN,
        }
    }

    /// Names of all columns.
    pub fn names(self) -> Vec<&'static str> {
        self.texts().iter().copied().chain(self.numbers().iter().map(|column| column.name)).collect()
    }

    /// The kind that has columns of such names: the one that shares more of them.
    pub(super) fn of_names<'a>(names: impl Iterator<Item = &'a str>) -> Option<Self> {
        let names: Vec<&str> = names.collect();
        let shared = |kind: LogKind| {
            let only = kind.numbers().iter().filter(|column| column.name != "images");
            only.filter(|column| names.contains(&column.name)).count()
        };
        LogKind::ALL.into_iter().filter(|kind| shared(*kind) > 0).max_by_key(|kind| shared(*kind))
    }
}

/// Whether what a file begins with is a line of names of a log.
pub(crate) fn is_log(head: &[u8]) -> bool {
    let line = head.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let names = String::from_utf8_lossy(line);
    LogKind::of_names(names.split([',', ';']).map(str::trim)).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;
    use obliquity_planning::ProcessingStage;

    #[test]
    fn columns_are_named_as_the_stages_are() {
        let names = ProcessingStage::ALL.map(|stage| format!("{}_h", stage.name()));
        let own: Vec<&str> = PROCESSED[5..12].iter().map(|column| column.name).collect();
        assert_eq!(names.as_slice(), own);
    }
}
