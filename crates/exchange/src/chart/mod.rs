//! Diagrams as plain values: what is drawn over which axes, in finished texts. A window paints them; [`svg`] writes them
//! without one.

mod block;
mod budgets;
mod control;
mod cut;
mod lesson;
mod off;
mod power;
mod purchase;
mod svg;
mod what_if;

pub use block::block_charts;
pub use budgets::{Budget, BudgetOf, PartLook, budgets, part_look};
pub use control::{control_chart, control_text};
pub use cut::cut_charts;
pub use lesson::{StepShown, class_chart, step_chart};
pub use off::{JobCounts, OffJob, flown_chart, off_chart};
pub use power::{PowerPoint, endurance_min, power_charts, power_text};
pub use purchase::{swing_chart, yearly_chart};
pub use svg::{Palette, Rgb, hatch, svg};
pub use what_if::{
    FrontChart, FrontPoint, SweepOf, TradeOf, front_chart, nudge_charts, nudge_text, sweep_chart,
};

/// A diagram. Everything in it is in the units of its axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What it shows, with the range of it.
    pub title: String,
    /// All of it in words.
    pub spoken: String,
    /// To the right.
    pub across: Axis,
    /// Upward.
    pub up: Axis,
    /// Ranges that something lies in, drawn behind everything.
    pub bands: Vec<Band>,
    /// Bars.
    pub bars: Vec<Bar>,
    /// Lines.
    pub series: Vec<Series>,
    /// What is required, drawn across everything.
    pub limits: Vec<Limit>,
    /// Many places of one kind, drawn small.
    pub clouds: Vec<Cloud>,
    /// Single places, drawn on top.
    pub marks: Vec<Mark>,
    /// Where strategies stand, each by its mark with its number, drawn on top.
    pub numbers: Vec<NumberMark>,
    /// What stands now: a line from bottom to top.
    pub present: Option<Present>,
    /// Below the axis across, one row each: where something is so.
    pub under: Vec<Under>,
}

/// One direction of a diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it measures.
    pub name: String,
    /// In which unit; empty for a count.
    pub unit: &'static str,
    /// Where it begins.
    pub from: f64,
    /// Where it ends: above `from`.
    pub to: f64,
    /// What stands at places of it, where it has names in place of numbers.
    pub names: Vec<(f64, String)>,
}

/// What a thing is drawn in; the painter knows the colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// The program's own colour.
    Accent,
    /// As text.
    Ink,
    /// As text that matters less.
    Muted,
    /// What is reached.
    Good,
    /// What is missed.
    Bad,
    /// The colour of a strategy.
    Strategy(usize),
}

/// A line through places; it is broken where a place is not finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is.
    pub name: String,
    /// Its colour.
    pub tone: Tone,
    /// From left to right: across and up.
    pub points: Vec<[f64; 2]>,
}

/// A stretch of the axis across.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// What holds there, to be written on it; empty where its row says it.
    pub name: String,
    /// From where to where across.
    pub across: [f64; 2],
}

/// What stands now.
#[derive(Debug, Clone, PartialEq)]
pub struct Present {
    /// What it is, with its number.
    pub name: String,
    /// Where across.
    pub at: f64,
}

/// What a row below the axis across tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnderKind {
    /// Where the requirement is met.
    Meets,
    /// Where a limit changes what is asked for.
    Capped,
}

impl UnderKind {
    /// What stands above rows of the kind.
    pub fn title(self) -> &'static str {
        match self {
            UnderKind::Meets => "Meets the requirement",
            UnderKind::Capped => "Capped by a limit",
        }
    }
}

/// A row below the axis across.
#[derive(Debug, Clone, PartialEq)]
pub struct Under {
    /// What is so, with its numbers.
    pub name: String,
    /// What it tells of; rows of a kind stand together.
    pub kind: UnderKind,
    /// The colour of what it is about.
    pub tone: Tone,
    /// Where.
    pub across: Vec<Span>,
}

/// What is written at a bar.
#[derive(Debug, Clone, PartialEq)]
pub enum BarText {
    /// Nothing.
    None,
    /// In it: the first of these for which it has the room.
    Within(Vec<String>),
    /// Beyond its second end.
    Beyond(String),
}

/// How a bar is filled, so that bars of one colour are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// With all of its colour.
    Solid,
    /// With little of it, within a line.
    Light,
    /// With lines that rise to the right.
    Rising,
    /// With lines that fall to the right.
    Falling,
    /// With both.
    Crossed,
}

/// A bar that stands over a stretch of the axis across.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What it is.
    pub name: String,
    /// What is written at it.
    pub text: BarText,
    /// Its colour.
    pub tone: Tone,
    /// How it is filled.
    pub fill: Fill,
    /// From where to where across.
    pub across: [f64; 2],
    /// From where to where up.
    pub up: [f64; 2],
}

/// A range that something lies in.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// What it is.
    pub name: String,
    /// Its colour.
    pub tone: Tone,
    /// From left to right: across, least and greatest.
    pub points: Vec<[f64; 3]>,
}

/// What is required: a line across the whole diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What is required, with its number.
    pub name: String,
    /// How far up.
    pub at: f64,
}

/// Many places of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Cloud {
    /// What they are.
    pub name: String,
    /// Which strategy's: its colour, and in a window its shape.
    pub slot: usize,
    /// How each is drawn.
    pub dot: CloudDot,
    /// Across and up, each.
    pub points: Vec<[f64; 2]>,
}

/// How a place of a cloud is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CloudDot {
    /// Filled.
    Full,
    /// As an outline.
    Hollow,
}

/// The mark of a strategy at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberMark {
    /// What is there.
    pub name: String,
    /// The strategy's slot; its number is one more.
    pub slot: usize,
    /// Across and up.
    pub at: [f64; 2],
}

/// A single place.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What is there.
    pub name: String,
    /// Its colour.
    pub tone: Tone,
    /// Across and up.
    pub at: [f64; 2],
}

impl Chart {
    /// A diagram with nothing in it yet.
    pub fn new(title: String, spoken: String, across: Axis, up: Axis) -> Self {
        Chart {
            title,
            spoken,
            across,
            up,
            bands: Vec::new(),
            bars: Vec::new(),
            series: Vec::new(),
            limits: Vec::new(),
            clouds: Vec::new(),
            marks: Vec::new(),
            numbers: Vec::new(),
            present: None,
            under: Vec::new(),
        }
    }
}

impl Axis {
    /// An axis; one without an extent is given one.
    pub fn new(name: &str, unit: &'static str, from: f64, to: f64) -> Self {
        let to = if to > from { to } else { from + 1.0 };
        Axis { name: name.to_owned(), unit, from, to, names: Vec::new() }
    }

    /// An axis on which names stand, one below or beside the other, each at its whole number.
    pub fn of_names(name: &str, names: impl IntoIterator<Item = String>) -> Self {
        let names: Vec<(f64, String)> = (0..).map(f64::from).zip(names).collect();
        let axis = Axis::new(name, "", -0.5, names.len() as f64 - 0.5);
        Axis { names, ..axis }
    }

    /// What stands on it, at most `most` numbers and an end, or its names.
    pub fn told(&self, most: u32) -> Vec<(f64, String)> {
        if !self.names.is_empty() {
            return self.names.clone();
        }
        let ticks = self.ticks(most);
        let texts = tick_texts(&ticks);
        ticks.into_iter().zip(texts).collect()
    }

    /// Where a value lies on it: 0 where it begins, 1 where it ends.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.from) / (self.to - self.from)
    }

    /// Name and unit.
    pub fn title(&self) -> String {
        if self.unit.is_empty() { self.name.clone() } else { format!("{}, {}", self.name, self.unit) }
    }

    /// Round values on it, at most `most` of them and an end: steps of 1, 2 or 5 with zeros.
    ///
    /// # Examples
    /// ```
    /// use obliquity_exchange::chart::Axis;
    /// assert_eq!(Axis::new("Speed", "m/s", 0.0, 17.0).ticks(5), [0.0, 5.0, 10.0, 15.0]);
    /// ```
    pub fn ticks(&self, most: u32) -> Vec<f64> {
        let rough = (self.to - self.from) / f64::from(most.max(1));
        let power = 10_f64.powf(rough.log10().floor());
        let steps = [1.0, 2.0, 5.0, 10.0];
        // A hair of rounding must not make the steps twice as long.
        let step = steps.map(|step| step * power).into_iter().find(|step| *step >= rough * (1.0 - 1e-9));
        let step = step.unwrap_or(10.0 * power);
        let (first, last) = ((self.from / step - 1e-9).ceil(), (self.to / step + 1e-9).floor());
        let count = (last - first).max(-1.0) as u32;
        // Through whole numbers, so that 0.3 is not 0.30000000000000004.
        let at = |k: u32| {
            let whole = first + f64::from(k);
            if step >= 1.0 { whole * step } else { whole / (1.0 / step).round() }
        };
        if last < first { Vec::new() } else { (0..=count).map(at).collect() }
    }
}

/// Values with as many decimals as they need to be told apart.
fn tick_texts(ticks: &[f64]) -> Vec<String> {
    let written = |decimals: usize| ticks.iter().map(move |at| format!("{at:.decimals$}"));
    let step = ticks.windows(2).map(|pair| pair[1] - pair[0]).next().unwrap_or(1.0);
    let is_exact = |decimals: &usize| {
        let read = written(*decimals).map(|text| text.parse().unwrap_or(f64::NAN));
        read.zip(ticks).all(|(read, at): (f64, _)| (read - at).abs() < 1e-6 * step)
    };
    let decimals = (0..9).find(is_exact).unwrap_or(9);
    written(decimals).map(|text| text.replace('-', "−")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ticks(from: f64, to: f64, most: u32) -> Vec<f64> {
        Axis::new("", "", from, to).ticks(most)
    }

    // Derived: steps of 1, 2, 5 times a power of ten.
    #[test]
    fn ticks_are_round() {
        assert_eq!(ticks(0.0, 1.0, 5), [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]);
        assert_eq!(ticks(0.0, 0.9, 3), [0.0, 0.5]);
        assert_eq!(ticks(-3.0, 4.0, 4), [-2.0, 0.0, 2.0, 4.0]);
        assert_eq!(ticks(190.0, 260.0, 4), [200.0, 220.0, 240.0, 260.0]);
        assert_eq!(ticks(2.0, 2.0, 2), [2.0, 2.5, 3.0]);
    }

    // Derived: no more decimals than the steps have.
    #[test]
    fn ticks_are_written_out() {
        assert_eq!(tick_texts(&[-0.5, 0.0, 0.5]), ["−0.5", "0.0", "0.5"]);
        assert_eq!(tick_texts(&[1000.0, 1005.0]), ["1000", "1005"]);
        assert_eq!(tick_texts(&ticks(0.0, 0.07, 4)), ["0.00", "0.02", "0.04", "0.06"]);
        assert!(tick_texts(&[]).is_empty());
    }

    // Derived: whatever the range, ticks lie on it, are evenly apart, and are not more than asked for and one.
    #[test]
    fn ticks_lie_on_the_axis() {
        for k in 1..400_u32 {
            let from = f64::from(k % 7) * 13.7 - 40.0;
            let to = from + 0.003 * 1.05_f64.powf(f64::from(k % 380));
            for most in [1, 3, 6, 10] {
                let axis = Axis::new("", "", from, to);
                let found = axis.ticks(most);
                assert!(found.len() <= most as usize + 1, "{from} to {to}: {found:?}");
                assert!(found.iter().all(|at| (-1e-6..=1.0 + 1e-6).contains(&axis.share(*at))));
                let steps: Vec<f64> = found.windows(2).map(|pair| pair[1] - pair[0]).collect();
                assert!(
                    steps.windows(2).all(|pair| (pair[0] - pair[1]).abs() < 1e-6 * pair[0].abs().max(1e-3))
                );
            }
        }
    }
}
