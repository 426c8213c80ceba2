//! Shadows and shade while a strategy is flown: finished texts.

use super::light::clock;
use crate::long;
use crate::show;
use crate::units::{Unit, Units};
use obliquity_planning::SiteOutline;
use obliquity_planning::light::{
    CastShade, LightFigures, Shade, ShadeCause, Shadow, StructureShade, WallShade, structure_shades,
};

/// A wall in shade for less than this share of the flying is called sunlit, for more than the rest in shade.
const HARDLY: f64 = 0.02;

/// Beyond so many walls times structures, shade is worked out only when asked for.
const AT_ONCE: usize = 100_000;

/// What is known of the shade.
#[derive(Debug, Clone, Copy)]
pub enum Shades<'a> {
    /// It is worked out only when asked for.
    Unasked,
    /// It is being worked out.
    Working,
    /// One for each structure, or why there are none.
    Found(Result<&'a [StructureShade], &'a str>),
}

/// Whether the shade on a site is worked out without asking.
pub fn is_quick(outline: &SiteOutline) -> bool {
    let walls: usize = outline.structures.iter().map(|structure| structure.footprint_m.len()).sum();
    walls.saturating_mul(outline.obstacles.len()) <= AT_ONCE
}

/// Works out the shade on every structure; the sentence for people where there is none.
///
/// # Errors
/// Why nothing is known of the light.
pub fn work_out(outline: &SiteOutline, light: &LightFigures) -> Result<Vec<StructureShade>, String> {
    long::begins("shade");
    structure_shades(outline, light).map_err(|why| why.to_string())
}

/// One structure: its shadow and its walls, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShadeRow {
    /// Its name.
    pub name: String,
    /// How long its shadow is at take-off and at the last landing.
    pub shadow: String,
    /// How many of its walls lie in shade.
    pub walls: String,
    /// Every wall that lies in shade at some time: which way it faces, and when.
    pub each: Vec<String>,
}

/// Every structure in words.
pub fn shade_rows(shades: &[StructureShade], light: &LightFigures, units: Units) -> Vec<ShadeRow> {
    let row = |shade: &StructureShade| ShadeRow {
        name: shade.name.clone(),
        shadow: shadows(shade, units),
        walls: walls(shade),
        each: shade.walls.iter().filter_map(|wall| one_wall(wall, light)).collect(),
    };
    shades.iter().map(row).collect()
}

fn shadows(shade: &StructureShade, units: Units) -> String {
    let length = |shadow: Option<Shadow>| {
        shadow.map_or_else(|| "none".to_owned(), |shadow| units.text(Unit::Metres, shadow.length_m))
    };
    let (first, last) = (length(shade.at_take_off), length(shade.at_landing));
    let height = units.text(Unit::Metres, shade.height_m);
    if first == last {
        return format!("{height} tall, shadow {first}");
    }
    format!("{height} tall, shadow {first} at take-off, {last} at landing")
}

fn walls(shade: &StructureShade) -> String {
    let all = shade.walls.len();
    let always = shade.walls.iter().filter(|wall| wall.shaded_ratio > 1.0 - HARDLY).count();
    let never = shade.walls.iter().filter(|wall| wall.shaded_ratio < HARDLY).count();
    let partly = all - always - never;
    let mut text = match (always, partly) {
        _ if all == 0 => "no walls".to_owned(),
        (0, 0) => "all walls in the sun".to_owned(),
        (0, partly) => format!("{partly} of {all} walls in shade at times"),
        (always, 0) => format!("{always} of {all} walls in shade"),
        (always, partly) => format!("{always} of {all} walls in shade, {partly} at times"),
    };
    if shade.cast == CastShade::LeftOut {
        text.push_str("; shade cast by others is left out, there are too many structures");
    }
    text
}

fn one_wall(wall: &WallShade, light: &LightFigures) -> Option<String> {
    if wall.shaded_ratio < HARDLY {
        return None;
    }
    let facing_deg = wall.facing_rad.to_degrees();
    let faces =
        format!("Wall {}, faces {} ({facing_deg:.0}°)", wall.wall + 1, show::compass_name(facing_deg));
    let spans: Vec<String> = wall.shade.iter().map(|shade| span(shade, light)).collect();
    Some(format!("{faces}: {}", spans.join("; ")))
}

fn span(shade: &Shade, light: &LightFigures) -> String {
    let cause = match shade.cause {
        ShadeCause::SunDown => "sun down",
        ShadeCause::FacesAway => "faces away from the sun",
        ShadeCause::Cast => "in the shade of something",
    };
    let near = |a: f64, b: f64| (a - b).abs() < 1.0;
    let (first, last) = (near(shade.from_s, light.take_off_s), near(shade.to_s, light.landing_s));
    let at = |utc_s| clock(&light.day, utc_s);
    match (first, last) {
        (true, true) => format!("{cause} all the time"),
        (true, false) => format!("{cause} until {}", at(shade.to_s)),
        (false, true) => format!("{cause} from {}", at(shade.from_s)),
        (false, false) => format!("{cause} {} to {}", at(shade.from_s), at(shade.to_s)),
    }
}
