use crate::base::digest::Digest;
use crate::base::limits;
use crate::scenario::Site;
use crate::scenario::faults::{Checker, shown};
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::strips::COUNTING;
use crate::scenario::pattern::{
    About, Column, CountingRule, Leads, Looks, Margin, Naming, Near, Overlaps, Pattern, Runs, Settings, Table,
};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Shortest leg of a corridor's line.
const LEG_M: f64 = 1.0;

/// Parallel lines along a line with corners: a road, a river, a row of masts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corridor {
    /// The middle of what is to be captured.
    pub line_m: Vec<DVec2>,
    /// How wide it is; the strips are spread over this width.
    pub width_m: f64,
    /// How many strips there are and where.
    #[serde(default)]
    pub counting: CountingRule,
}

pub(super) const ABOUT: About = About {
    name: "corridor",
    title: "Corridor",
    explanation: "Parallel lines along a line with corners: a road, a river",
    leads: Leads::Height,
    lines: ["strips", "strip spacing"],
    runs: Some(Runs::AlongLine),
    margin: Some(Margin { beyond: "beyond the ends of the line", cycled: None }),
    overlaps: Overlaps::Both,
    looks: Looks::ByLine,
    near: Near::Open,
    begins: None,
    table: Some(Table {
        what: "corners of the line",
        columns: &[Column::needed("x_m"), Column::needed("y_m")],
        least: 2,
        most: limits::LINE_CORNERS,
        put: |pattern, rows| {
            if let Pattern::Corridor(corridor) = pattern {
                corridor.line_m = rows.iter().map(|row| DVec2::new(row[0], row[1])).collect();
            }
        },
    }),
    numbers: &[number!("strategies[].passes[].pattern.Corridor.width_m", "Corridor width",
        "The strips are spread over this width, half of it on each side of the line.",
        Metres, 1, CORRIDOR_WIDTH_M,
        Pattern::Corridor(Corridor { width_m: value, .. }) => value)],
    choices: &[COUNTING],
};

impl Settings for Corridor {
    fn has_places(&self) -> bool {
        true
    }

    fn title(&self, naming: &Naming<'_>) -> String {
        let length_m: f64 = self.line_m.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        format!(" of {}, {}", (naming.length)(length_m), naming.look)
    }

    fn check(&self, check: &mut Checker, _site: &Site, path: &str) {
        check_line(check, &format!("{path}.line_m"), &self.line_m);
        check.number(format!("{path}.width_m"), self.width_m, limits::CORRIDOR_WIDTH_M);
    }

    fn digest(&self, digest: &mut Digest) {
        let Corridor { line_m, width_m, counting } = self;
        digest.ring(line_m).number(*width_m);
        counting.digest(digest);
    }
}

fn check_line(check: &mut Checker, path: &str, line_m: &[DVec2]) {
    if line_m.len() < 2 {
        let message = format!(
            "a corridor's line must have at least 2 corners, but it has {}; add where it runs",
            line_m.len()
        );
        check.fault(path, message);
    }
    check.at_most(path, "corners in a corridor's line", line_m.len(), limits::LINE_CORNERS);
    for (index, corner) in line_m.iter().enumerate() {
        check.number(format!("{path}[{index}]"), corner.x, limits::COORDINATE_M);
        check.number(format!("{path}[{index}]"), corner.y, limits::COORDINATE_M);
    }
    for (index, pair) in line_m.windows(2).enumerate() {
        let length_m = pair[0].distance(pair[1]);
        if length_m < LEG_M {
            let message = format!(
                "corners of a corridor's line must be at least {LEG_M} m apart, but these are {} m; leave one out",
                shown(length_m)
            );
            check.fault(format!("{path}[{}]", index + 1), message);
        }
    }
    for (index, three) in line_m.windows(3).enumerate() {
        let turn_deg = (three[1] - three[0]).angle_to(three[2] - three[1]).to_degrees().abs();
        if turn_deg > limits::LINE_TURN_DEG {
            let message = format!(
                "a corridor's line must turn by at most {}° at a corner, but it turns by {turn_deg:.0}°; make two passes",
                limits::LINE_TURN_DEG
            );
            check.fault(format!("{path}[{}]", index + 1), message);
        }
    }
}
