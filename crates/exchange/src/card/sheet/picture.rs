//! Site and route from above, on paper.

use super::super::sketch::CardSketch;
use super::flow::{LEAST_TYPE, Run, flow};
use super::head::Sizes;
use super::letters::{self, LEADING};
use super::{Area, Block, InkTone, PathEnd, PathMark, SheetMark, Weight};
use glam::DVec2;

/// From metres of the site to points of a block; north is up.
struct Projection {
    low_m: DVec2,
    high_m: DVec2,
    scale: f64,
    offset: [f32; 2],
}

impl Projection {
    fn new(sketch: &CardSketch, area: Area) -> Self {
        let (low_m, high_m) = sketch.bounds_m();
        let size_m = (high_m - low_m).max(DVec2::splat(1.0));
        let scale = (f64::from(area.width) / size_m.x).min(f64::from(area.height) / size_m.y);
        let drawn = (size_m * scale).as_vec2();
        let offset = [area.left + (area.width - drawn.x) / 2.0, area.top + (area.height - drawn.y) / 2.0];
        Projection { low_m, high_m, scale, offset }
    }

    fn at(&self, at_m: DVec2) -> [f32; 2] {
        let x = ((at_m.x - self.low_m.x) * self.scale) as f32;
        let y = ((self.high_m.y - at_m.y) * self.scale) as f32;
        [self.offset[0] + x, self.offset[1] + y]
    }

    fn path(&self, line_m: &[DVec2], end: PathEnd) -> PathMark {
        let points = line_m.iter().map(|at_m| self.at(*at_m)).collect();
        PathMark { points, end, fill: None, stroke: None, dash: None }
    }
}

/// How high a picture of this width can be before it is only wider than what it shows.
pub(super) fn most_height(sketch: &CardSketch, wide: f32) -> f32 {
    let (low_m, high_m) = sketch.bounds_m();
    let size_m = (high_m - low_m).max(DVec2::splat(1.0));
    (f64::from(wide) * size_m.y / size_m.x) as f32 + 40.0
}

/// The sketch in all of an area of this size, its legend below.
pub(super) fn picture(sketch: &CardSketch, sizes: Sizes, wide: f32, high: f32) -> Block {
    let mut block = Block::default();
    let legend = legend(sketch, sizes, wide);
    let frame = Area { left: 0.0, top: 0.0, width: wide, height: high - legend.height - 3.0 };
    block.rect(frame, None, Some((InkTone::Rule, 0.5)));
    let inner = 8.0;
    let area = Area {
        left: inner,
        top: inner,
        width: wide - 2.0 * inner,
        height: frame.height - 2.0 * inner - 1.6 * sizes.small,
    };
    let to = Projection::new(sketch, area);
    let room = Area { left: 2.0, top: 2.0, width: wide - 4.0, height: area.bottom() + 4.0 };
    let names = take_off_names(sketch, &to, sizes, room);
    grounds(&mut block, sketch, &to);
    route(&mut block, sketch, &to, sizes, &names);
    places(&mut block, sketch, &to, &names);
    measure(&mut block, &to, sizes, frame);
    block.put(legend, [0.0, frame.height + 3.0]);
    block.height = high;
    block.say(frame, said(sketch), None);
    block
}

fn said(sketch: &CardSketch) -> String {
    format!(
        "Sketch, north up: {} sorties, {} structures, {} keep-outs, {} stretches hidden from the pilot",
        sketch.sorties_m.len(),
        sketch.structures_m.len(),
        sketch.keep_outs_m.len(),
        sketch.hidden_m.len()
    )
}

/// Boundary, structures and keep-outs.
fn grounds(block: &mut Block, sketch: &CardSketch, to: &Projection) {
    for ring in &sketch.structures_m {
        let path = to.path(ring, PathEnd::Closed);
        block.marks.push(SheetMark::Path(PathMark {
            fill: Some(InkTone::Shade),
            stroke: Some((InkTone::Muted, 0.4)),
            ..path
        }));
    }
    for ring in &sketch.keep_outs_m {
        let path = to.path(ring, PathEnd::Closed);
        let hatch = hatched(&path.points);
        block.marks.push(SheetMark::Path(PathMark { stroke: Some((InkTone::Bad, 1.0)), ..path }));
        for (from, to) in hatch {
            block.line(from, to, InkTone::Bad, 0.3);
        }
    }
    let path = to.path(&sketch.boundary_m, PathEnd::Closed);
    block.marks.push(SheetMark::Path(PathMark { stroke: Some((InkTone::Ink, 1.0)), ..path }));
}

/// Level lines across an outline, a few points apart.
fn hatched(ring: &[[f32; 2]]) -> Vec<([f32; 2], [f32; 2])> {
    const APART: f32 = 3.0;
    let ys = ring.iter().map(|p| p[1]);
    let (low, high) = ys.fold((f32::INFINITY, f32::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    let mut lines = Vec::new();
    let mut level = low + APART / 2.0;
    while level < high {
        let mut cuts: Vec<f32> = (0..ring.len())
            .filter_map(|k| {
                let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
                let crosses = (a[1] <= level) != (b[1] <= level);
                crosses.then(|| a[0] + (level - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
            })
            .collect();
        cuts.sort_by(f32::total_cmp);
        lines.extend(cuts.chunks_exact(2).map(|pair| ([pair[0], level], [pair[1], level])));
        level += APART;
    }
    lines
}

/// The sorties, each numbered where it begins, and what is hidden of them.
fn route(block: &mut Block, sketch: &CardSketch, to: &Projection, sizes: Sizes, names: &[(Area, Run)]) {
    for (index, line) in sketch.sorties_m.iter().enumerate() {
        let dash = (index % 2 == 1).then_some(2.0);
        let path = to.path(line, PathEnd::Open);
        block.marks.push(SheetMark::Path(PathMark { stroke: Some((InkTone::Strategy, 0.6)), dash, ..path }));
    }
    for line in &sketch.hidden_m {
        let path = to.path(line, PathEnd::Open);
        block.marks.push(SheetMark::Path(PathMark {
            stroke: Some((InkTone::Warn, 2.0)),
            dash: Some(1.5),
            ..path
        }));
    }
    number(block, sketch, to, sizes, names);
}

/// The numbers of the sorties where they begin to work, clear of the names of take-offs; one whose place is taken goes without.
fn number(block: &mut Block, sketch: &CardSketch, to: &Projection, sizes: Sizes, names: &[(Area, Run)]) {
    let radius = (0.75 * sizes.small).max(5.0);
    let marked = sketch.take_offs_m.iter().map(|(_, at_m)| *at_m).chain(sketch.first_m);
    let mut taken: Vec<[f32; 2]> = marked.map(|at_m| to.at(at_m)).collect();
    for (index, line) in sketch.sorties_m.iter().enumerate() {
        let free = |at: &[f32; 2], taken: &[[f32; 2]]| {
            let round = around(*at, radius);
            taken.iter().all(|other| (at[0] - other[0]).hypot(at[1] - other[1]) > 2.2 * radius)
                && names.iter().all(|(name, _)| !name.meets(&round))
        };
        let corners = line.iter().map(|at_m| to.at(*at_m));
        let Some(at) = corners.into_iter().find(|at| free(at, &taken)) else { continue };
        taken.push(at);
        disc(block, at, radius, Some(InkTone::Paper), Some((InkTone::Strategy, 0.7)));
        let text = (index + 1).to_string();
        let size = (0.85 * sizes.small).max(LEAST_TYPE);
        let wide = letters::width(Weight::Strong, size, &text);
        let run = Run::strong(size, text);
        block.put(flow(&[run], 100.0), [at[0] - wide / 2.0, at[1] - 0.62 * size]);
    }
}

fn disc(block: &mut Block, at: [f32; 2], radius: f32, fill: Option<InkTone>, stroke: Option<(InkTone, f32)>) {
    let corner = |k: u8| {
        let (sin, cos) = (f32::from(k) * std::f32::consts::TAU / 20.0).sin_cos();
        [at[0] + radius * cos, at[1] + radius * sin]
    };
    let points = (0..20).map(corner).collect();
    block.marks.push(SheetMark::Path(PathMark { points, end: PathEnd::Closed, fill, stroke, dash: None }));
}

fn triangle(block: &mut Block, at: [f32; 2], half: f32) {
    let points = vec![[at[0], at[1] - half], [at[0] + half, at[1] + half], [at[0] - half, at[1] + half]];
    let fill = Some(InkTone::Ink);
    block.marks.push(SheetMark::Path(PathMark {
        points,
        end: PathEnd::Closed,
        fill,
        stroke: None,
        dash: None,
    }));
}

/// Half the breadth of the mark of a take-off.
const MARK: f32 = 4.0;

/// The square around a place.
fn around(at: [f32; 2], half: f32) -> Area {
    Area { left: at[0] - half, top: at[1] - half, width: 2.0 * half, height: 2.0 * half }
}

/// "T1" where there are several: beside, below or above its mark, within `room` and clear of all other marks and names; one for
/// which there is no place goes without.
fn take_off_names(sketch: &CardSketch, to: &Projection, sizes: Sizes, room: Area) -> Vec<(Area, Run)> {
    let marks: Vec<Area> =
        sketch.take_offs_m.iter().map(|(_, at_m)| around(to.at(*at_m), MARK + 0.5)).collect();
    let mut names: Vec<(Area, Run)> = Vec::new();
    let several = sketch.take_offs_m.len() > 1;
    for (number, at_m) in sketch.take_offs_m.iter().filter(|(number, _)| several || *number > 1) {
        let run = Run::strong((0.85 * sizes.small).max(LEAST_TYPE), format!("T{number}"));
        let (width, height) = (letters::width(run.weight, run.size, &run.text), LEADING * run.size);
        let [x, y] = to.at(*at_m);
        let (beside, level, middle) = (MARK + 1.5, y - 0.62 * run.size, x - width / 2.0);
        let places = [
            [x + beside, level],
            [x - beside - width, level],
            [middle, y + MARK + 1.0],
            [middle, y - MARK - 1.0 - height],
        ];
        let mut places = places.into_iter().map(|[left, top]| Area { left, top, width, height });
        let is_free = |place: &Area| {
            room.holds(place)
                && marks.iter().all(|mark| !mark.meets(place))
                && names.iter().all(|(name, _)| !name.meets(place))
        };
        if let Some(place) = places.find(is_free) {
            names.push((place, run));
        }
    }
    names
}

/// Take-off and first point.
fn places(block: &mut Block, sketch: &CardSketch, to: &Projection, names: &[(Area, Run)]) {
    if let Some(first_m) = sketch.first_m {
        disc(block, to.at(first_m), 2.4, Some(InkTone::Ink), None);
    }
    for (_, at_m) in &sketch.take_offs_m {
        triangle(block, to.at(*at_m), MARK);
    }
    for (area, name) in names {
        // Lines of the route run below it.
        block.rect(*area, Some(InkTone::Paper), None);
        block.put(flow(std::slice::from_ref(name), 100.0), [area.left, area.top]);
    }
}

/// A round length, and where north is.
fn measure(block: &mut Block, to: &Projection, sizes: Sizes, frame: Area) {
    let longest_m = f64::from(frame.width) / 3.0 / to.scale;
    let ten = 10.0_f64.powf(longest_m.log10().floor());
    let round_m = [5.0, 2.0, 1.0].into_iter().map(|k| k * ten).find(|m| *m <= longest_m).unwrap_or(ten);
    let (left, bottom) = (6.0, frame.bottom() - 5.0);
    let right = left + (round_m * to.scale) as f32;
    block.line([left, bottom], [right, bottom], InkTone::Ink, 1.0);
    for x in [left, right] {
        block.line([x, bottom - 3.0], [x, bottom], InkTone::Ink, 1.0);
    }
    let text = Run::muted(sizes.small, format!("{round_m} m"));
    block.put(flow(&[text], 80.0), [right + 3.0, bottom - sizes.small]);
    let north = [frame.right() - 8.0, frame.bottom() - 6.0];
    block.line(north, [north[0], north[1] - 9.0], InkTone::Ink, 0.8);
    triangle(block, [north[0], north[1] - 10.0], 2.0);
    block.put(
        flow(&[Run::muted(sizes.small, "N")], 20.0),
        [north[0] - 4.0 - sizes.small, north[1] - sizes.small],
    );
    block.height = block.height.max(frame.bottom());
}

/// What the signs stand for: those that are there.
fn legend(sketch: &CardSketch, sizes: Sizes, wide: f32) -> Block {
    let mut block = Block::default();
    let mut at = [0.0_f32, 0.0_f32];
    let mut entry = |block: &mut Block, text: &str, sign: &dyn Fn(&mut Block, [f32; 2])| {
        let width = 14.0 + letters::width(Weight::Regular, sizes.small, text) + sizes.gap;
        if at[0] > 0.0 && at[0] + width > wide {
            at = [0.0, at[1] + 1.25 * sizes.small];
        }
        sign(block, [at[0] + 5.0, at[1] + 0.62 * sizes.small]);
        block.put(flow(&[Run::muted(sizes.small, text.replace(' ', "\u{a0}"))], wide), [at[0] + 12.0, at[1]]);
        at[0] += width;
    };
    let several = sketch.take_offs_m.len() > 1;
    let take_off = if several { "take-offs T1, T2 …" } else { "take-off" };
    entry(&mut block, take_off, &|block, at| triangle(block, at, 3.0));
    if sketch.first_m.is_some() {
        entry(&mut block, "first point", &|block, at| disc(block, at, 2.2, Some(InkTone::Ink), None));
    }
    if !sketch.sorties_m.is_empty() {
        entry(&mut block, "sorties, numbered", &|block, at| {
            block.line([at[0] - 4.0, at[1]], [at[0] + 5.0, at[1]], InkTone::Strategy, 0.8);
        });
    }
    if !sketch.keep_outs_m.is_empty() {
        entry(&mut block, "keep-out", &|block, at| {
            let area = Area { left: at[0] - 4.0, top: at[1] - 2.5, width: 8.0, height: 5.0 };
            block.rect(area, None, Some((InkTone::Bad, 1.0)));
        });
    }
    if !sketch.hidden_m.is_empty() {
        entry(&mut block, "hidden from the pilot", &|block, at| {
            block.marks.push(SheetMark::Path(PathMark {
                points: vec![[at[0] - 4.0, at[1]], [at[0] + 5.0, at[1]]],
                end: PathEnd::Open,
                fill: None,
                stroke: Some((InkTone::Warn, 2.0)),
                dash: Some(1.5),
            }));
        });
    }
    block
}
