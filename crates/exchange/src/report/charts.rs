//! The values of diagrams as a table.

use super::sweep::SWEEP_HEADING;
use crate::OutputKind;
use crate::cells::quoted;
use crate::chart::Chart;
use std::fmt::Write as _;

/// The values of diagrams, or of one input over a range, as a file.
pub const VALUES_TABLE: OutputKind = OutputKind::new("a table of values (CSV)", is_values);

fn is_values(head: &[u8]) -> bool {
    let line = head.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let line = String::from_utf8_lossy(line);
    line == HEADING || line.contains(SWEEP_HEADING)
}

/// How the table begins.
const HEADING: &str = "diagram,axis_across,axis_up,kind,name,across,across_to,up,up_to";

/// Every point of every line, every bar, mark and requirement of diagrams, in the units of their axes.
///
/// # Units
/// - those of the axes, which stand in each row
pub fn charts_csv(charts: &[Chart]) -> String {
    let mut text = format!("{HEADING}\n");
    for chart in charts {
        let axes =
            [&chart.title, &chart.across.title(), &chart.up.title()].map(|text| quoted(text)).join(",");
        let mut row = |kind: &str, name: &str, numbers: [Option<f64>; 4]| {
            let cell = |number: Option<f64>| number.map(|number| number.to_string()).unwrap_or_default();
            let _ = writeln!(text, "{axes},{kind},{},{}", quoted(name), numbers.map(cell).join(","));
        };
        for series in &chart.series {
            for [across, up] in series.points.iter().filter(|at| at.iter().all(|value| value.is_finite())) {
                row("line", &series.name, [Some(*across), None, Some(*up), None]);
            }
        }
        for bar in &chart.bars {
            let up = |at: f64| Some(at).filter(|_| chart.up.names.is_empty());
            let [across, to] = bar.across.map(Some);
            row("bar", &bar.name, [across, to, up(bar.up[0]), up(bar.up[1])]);
        }
        for mark in &chart.marks {
            row("mark", &mark.name, [Some(mark.at[0]), None, Some(mark.at[1]), None]);
        }
        for limit in &chart.limits {
            row("required", &limit.name, [None, None, Some(limit.at), None]);
        }
    }
    text
}
