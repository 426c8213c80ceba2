//! Diagrams as Scalable Vector Graphics: text stays text, and every thing says in its class what it is.
//!
//! # References
//! Scalable Vector Graphics (SVG) 1.1, second edition, W3C 2011: <https://www.w3.org/TR/SVG11/>.

use super::{Axis, Bar, BarText, Chart, CloudDot, Fill, Tone, UnderKind};
use quick_xml::Writer;
use quick_xml::events::BytesText;
use std::io;

/// Red, green and blue.
pub type Rgb = [u8; 3];

/// The colours of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Behind everything.
    pub surface: Rgb,
    /// Lines that divide.
    pub rule: Rgb,
    /// Text and requirement lines.
    pub ink: Rgb,
    /// Text that matters less.
    pub muted: Rgb,
    /// The program's own colour.
    pub accent: Rgb,
    /// What is reached.
    pub good: Rgb,
    /// What is missed.
    pub bad: Rgb,
    /// One for each strategy; after the last they come again.
    pub strategies: [Rgb; 8],
}

impl Palette {
    fn of(&self, tone: Tone) -> String {
        hex(self.rgb(tone))
    }

    fn rgb(&self, tone: Tone) -> Rgb {
        match tone {
            Tone::Accent => self.accent,
            Tone::Ink => self.ink,
            Tone::Muted => self.muted,
            Tone::Good => self.good,
            Tone::Bad => self.bad,
            Tone::Strategy(slot) => self.strategies[slot % self.strategies.len()],
        }
    }
}

fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Room round what is drawn, for title, names and numbers: left, top, right, bottom.
const MARGINS: [f64; 4] = [64.0, 50.0, 20.0, 46.0];
/// Charts stand beside each other where each is at least this wide.
const ROOMY: f64 = 380.0;
/// Room that a number on the axis across, and one on the axis up, has for itself.
const TICK: [f64; 2] = [70.0, 36.0];
const LETTERS: f64 = 12.0;
/// Width of a letter, as most are.
const LETTER: f64 = 6.4;
/// Height of a row below the axis across.
const UNDER: f64 = 10.0;
/// Between the lines of a hatched bar, and their width.
const HATCH: [f64; 2] = [6.0, 1.6];
/// How much of its colour a bar has that is not filled whole.
const LIGHT: f64 = 0.22;

/// Writes charts as one picture, beside and below each other.
///
/// # Units
/// - `size_px`: width and height of the picture
///
/// # Errors
/// Those of the writer, which has only memory to write to.
pub fn svg(charts: &[Chart], size_px: (u32, u32), palette: &Palette) -> io::Result<String> {
    let (width, height) = (f64::from(size_px.0), f64::from(size_px.1));
    let columns = ((width / ROOMY).floor() as usize).clamp(1, charts.len().max(1));
    let rows = charts.len().div_ceil(columns).max(1);
    let cell = [width / columns as f64, height / rows as f64];
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
    let box_px = format!("0 0 {} {}", size_px.0, size_px.1);
    let root = writer.create_element("svg").with_attributes([
        ("xmlns", "http://www.w3.org/2000/svg"),
        ("viewBox", box_px.as_str()),
        ("width", size_px.0.to_string().as_str()),
        ("height", size_px.1.to_string().as_str()),
        ("font-family", "sans-serif"),
        ("font-size", LETTERS.to_string().as_str()),
    ]);
    root.write_inner_content(|writer| {
        rect(writer, "page", [0.0, 0.0, width, height], &hex(palette.surface))?;
        for (k, chart) in charts.iter().enumerate() {
            let corner = [(k % columns) as f64 * cell[0], (k / columns) as f64 * cell[1]];
            Pen { palette, frame: PlotFrame::within(corner, cell, chart) }.chart(writer, chart)?;
        }
        Ok(())
    })?;
    String::from_utf8(writer.into_inner()).map_err(|error| io::Error::other(error.to_string()))
}

type Xml = Writer<Vec<u8>>;

/// Where a chart's axes lie on the page.
#[derive(Clone, Copy)]
struct PlotFrame {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
}

impl PlotFrame {
    fn within(corner: [f64; 2], cell: [f64; 2], chart: &Chart) -> Self {
        let [left, top, right, bottom] = MARGINS;
        let longest = chart.up.names.iter().map(|(_, name)| name.chars().count()).max().unwrap_or(0);
        let left = left.max(16.0 + LETTER * longest as f64);
        let bottom = bottom + UNDER * chart.under.len() as f64;
        PlotFrame {
            left: corner[0] + left,
            top: corner[1] + top,
            width: (cell[0] - left - right).max(1.0),
            height: (cell[1] - top - bottom).max(1.0),
        }
    }

    fn x(&self, axis: &Axis, value: f64) -> f64 {
        self.left + axis.share(value) * self.width
    }

    fn y(&self, axis: &Axis, value: f64) -> f64 {
        self.top + (1.0 - axis.share(value)) * self.height
    }

    fn right(&self) -> f64 {
        self.left + self.width
    }

    fn bottom(&self) -> f64 {
        self.top + self.height
    }
}

struct Pen<'a> {
    palette: &'a Palette,
    frame: PlotFrame,
}

impl Pen<'_> {
    fn chart(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        let group = writer.create_element("g").with_attribute(("class", "chart"));
        group.write_inner_content(|writer| {
            writer.create_element("title").write_text_content(BytesText::new(&chart.title))?;
            writer.create_element("desc").write_text_content(BytesText::new(&chart.spoken))?;
            let at = [self.frame.left, self.frame.top - 30.0];
            text(writer, "heading", at, "start", (&chart.title, self.palette.ink))?;
            self.axes(writer, chart)?;
            self.areas(writer, chart)?;
            self.lines(writer, chart)
        })?;
        Ok(())
    }

    fn axes(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        let (frame, muted) = (self.frame, self.palette.muted);
        let under = UNDER * chart.under.len() as f64;
        let most = |room: f64, each: f64| (room / each).max(1.0) as u32;
        for (at, told) in chart.up.told(most(frame.height, TICK[1])) {
            let y = frame.y(&chart.up, at);
            line(writer, "grid", [frame.left, y, frame.right(), y], (self.palette.rule, 1.0))?;
            let place = [frame.left - 8.0, y + LETTERS / 3.0];
            text(writer, "tick up", place, "end", (&told, muted))?;
        }
        for (at, told) in chart.across.told(most(frame.width, TICK[0])) {
            let x = frame.x(&chart.across, at);
            line(writer, "grid", [x, frame.top, x, frame.bottom()], (self.palette.rule, 1.0))?;
            let place = [x, frame.bottom() + 16.0 + under];
            text(writer, "tick across", place, "middle", (&told, muted))?;
        }
        let below = [frame.right(), frame.bottom() + 34.0 + under];
        text(writer, "name across", below, "end", (&chart.across.title(), muted))?;
        let above = [frame.left, frame.top - 12.0];
        text(writer, "name up", above, "start", (&chart.up.title(), muted))
    }

    fn areas(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        let at = |x: f64, y: f64| [x, y];
        for band in &chart.bands {
            let low = band.points.iter().map(|[x, low, _]| at(*x, *low));
            let high = band.points.iter().rev().map(|[x, _, high]| at(*x, *high));
            let ring = self.places(chart, low.chain(high));
            let color = self.palette.of(band.tone);
            let area = writer.create_element("polygon").with_attributes([
                ("class", "band"),
                ("points", ring.as_str()),
                ("fill", color.as_str()),
                ("fill-opacity", "0.2"),
            ]);
            named(area, &band.name)?;
        }
        for bar in &chart.bars {
            self.bar(writer, chart, bar)?;
        }
        for (k, under) in chart.under.iter().enumerate() {
            for span in &under.across {
                let [x0, x1] = span.across.map(|at| self.frame.x(&chart.across, at));
                let top = self.frame.bottom() + 2.0 + UNDER * k as f64;
                let of = [x0, top, (x1 - x0).max(2.0), UNDER - 3.0];
                let (class, opacity) = match under.kind {
                    UnderKind::Meets => ("under", 1.0),
                    UnderKind::Capped => ("under capped", 0.3),
                };
                rect_named(writer, (class, &under.name), of, (self.palette.rgb(under.tone), opacity))?;
                let place = [x0 + 4.0, top + UNDER - 3.5];
                text_sized(
                    writer,
                    "capped",
                    place,
                    "start",
                    (&span.name, self.palette.ink),
                    Some(UNDER - 1.0),
                )?;
            }
        }
        Ok(())
    }

    fn bar(&self, writer: &mut Xml, chart: &Chart, bar: &Bar) -> io::Result<()> {
        let ([x0, x1], [y0, y1]) = (
            bar.across.map(|at| self.frame.x(&chart.across, at)),
            bar.up.map(|at| self.frame.y(&chart.up, at)),
        );
        let of = [x0.min(x1), y0.min(y1), (x1 - x0).abs(), (y1 - y0).abs()];
        let color = self.palette.rgb(bar.tone);
        let opacity = if bar.fill == Fill::Solid { 1.0 } else { LIGHT };
        rect_named(writer, ("bar", &bar.name), of, (color, opacity))?;
        for ends in hatch(bar.fill, of, HATCH[0]) {
            line(writer, "hatch", ends, (color, HATCH[1]))?;
        }
        if bar.fill != Fill::Solid {
            let [x, y, width, height] = of;
            for ends in [[x, y, x + width, y], [x, y + height, x + width, y + height]] {
                line(writer, "hatch", ends, (color, 1.0))?;
            }
        }
        let middle = y0.midpoint(y1) + LETTERS / 3.0;
        match &bar.text {
            BarText::None => Ok(()),
            BarText::Within(told) => {
                let fits = LETTER * told.chars().count() as f64 + 6.0 < of[2];
                let ink = if bar.fill == Fill::Solid { self.palette.surface } else { self.palette.ink };
                let told = if fits { told.as_str() } else { "" };
                text(writer, "bar", [x0.midpoint(x1), middle], "middle", (told, ink))
            }
            BarText::Beyond(told) => {
                let (x, anchor) = if x1 < x0 { (x1 - 4.0, "end") } else { (x1 + 4.0, "start") };
                text(writer, "bar", [x, middle], anchor, (told, self.palette.ink))
            }
        }
    }

    fn lines(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        for series in &chart.series {
            let color = self.palette.of(series.tone);
            let broken = series.points.split(|place| !place.iter().all(|value| value.is_finite()));
            for part in broken.filter(|part| !part.is_empty()) {
                let points = self.places(chart, part.iter().copied());
                let line = writer.create_element("polyline").with_attributes([
                    ("class", "series"),
                    ("points", points.as_str()),
                    ("fill", "none"),
                    ("stroke", color.as_str()),
                    ("stroke-width", "1.6"),
                ]);
                named(line, &series.name)?;
            }
        }
        if let Some(present) = &chart.present {
            let (x, frame) = (self.frame.x(&chart.across, present.at), self.frame);
            line(writer, "present", [x, frame.top, x, frame.bottom()], (self.palette.accent, 1.0))?;
            text(writer, "present", [x, frame.top - 3.0], "middle", (&present.name, self.palette.accent))?;
        }
        for limit in &chart.limits {
            let (y, frame) = (self.frame.y(&chart.up, limit.at), self.frame);
            line(writer, "limit", [frame.left, y, frame.right(), y], (self.palette.ink, 1.5))?;
            text(writer, "limit", [frame.right(), y - 4.0], "end", (&limit.name, self.palette.ink))?;
        }
        self.clouds(writer, chart)?;
        for mark in &chart.marks {
            let (x, y) = (self.frame.x(&chart.across, mark.at[0]), self.frame.y(&chart.up, mark.at[1]));
            let (color, fill) = (self.palette.of(mark.tone), hex(self.palette.surface));
            let dot = writer.create_element("circle").with_attributes([
                ("class", "mark"),
                ("cx", px(x).as_str()),
                ("cy", px(y).as_str()),
                ("r", "3.5"),
                ("fill", fill.as_str()),
                ("stroke", color.as_str()),
                ("stroke-width", "1.6"),
            ]);
            named(dot, &mark.name)?;
        }
        self.numbers(writer, chart)
    }

    fn clouds(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        for cloud in &chart.clouds {
            let color = self.palette.of(Tone::Strategy(cloud.slot));
            let fill = if cloud.dot == CloudDot::Full { color.as_str() } else { "none" };
            let group = writer.create_element("g").with_attributes([
                ("class", "cloud"),
                ("fill", fill),
                ("stroke", color.as_str()),
            ]);
            group.write_inner_content(|writer| {
                writer.create_element("title").write_text_content(BytesText::new(&cloud.name))?;
                for [x, y] in &cloud.points {
                    let (x, y) = (self.frame.x(&chart.across, *x), self.frame.y(&chart.up, *y));
                    let dot = writer.create_element("circle").with_attributes([
                        ("cx", px(x).as_str()),
                        ("cy", px(y).as_str()),
                        ("r", "2.5"),
                    ]);
                    dot.write_empty()?;
                }
                Ok(())
            })?;
        }
        Ok(())
    }

    /// The marks of strategies with their numbers.
    fn numbers(&self, writer: &mut Xml, chart: &Chart) -> io::Result<()> {
        for number in &chart.numbers {
            let (x, y) = (self.frame.x(&chart.across, number.at[0]), self.frame.y(&chart.up, number.at[1]));
            let of = [x - 8.0, y - 8.0, 16.0, 16.0];
            let color = self.palette.rgb(Tone::Strategy(number.slot));
            rect_named(writer, ("number", &number.name), of, (color, 1.0))?;
            let place = [x, y + LETTERS / 3.0];
            text(writer, "number", place, "middle", (&(number.slot + 1).to_string(), on(color)))?;
        }
        Ok(())
    }

    fn places(&self, chart: &Chart, places: impl Iterator<Item = [f64; 2]>) -> String {
        let place = |[x, y]: [f64; 2]| {
            format!("{},{}", px(self.frame.x(&chart.across, x)), px(self.frame.y(&chart.up, y)))
        };
        places.map(place).collect::<Vec<_>>().join(" ")
    }
}

/// The ink that is read on a colour: black or white, whichever is farther from it in lightness.
fn on([r, g, b]: Rgb) -> Rgb {
    let light = 0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b);
    if light > 140.0 { [0, 0, 0] } else { [255, 255, 255] }
}

/// A rectangle with its name.
fn rect_named(
    writer: &mut Xml,
    (class, name): (&str, &str),
    of: [f64; 4],
    (color, opacity): (Rgb, f64),
) -> io::Result<()> {
    let [x, y, width, height] = of.map(px);
    let area = writer.create_element("rect").with_attributes([
        ("class", class),
        ("x", x.as_str()),
        ("y", y.as_str()),
        ("width", width.as_str()),
        ("height", height.as_str()),
        ("fill", hex(color).as_str()),
        ("fill-opacity", opacity.to_string().as_str()),
    ]);
    named(area, name)
}

fn rect(writer: &mut Xml, class: &str, [x, y, w, h]: [f64; 4], fill: &str) -> io::Result<()> {
    let [x, y, w, h] = [x, y, w, h].map(px);
    let rect = writer.create_element("rect").with_attributes([
        ("class", class),
        ("x", x.as_str()),
        ("y", y.as_str()),
        ("width", w.as_str()),
        ("height", h.as_str()),
        ("fill", fill),
    ]);
    rect.write_empty().map(drop)
}

fn line(writer: &mut Xml, class: &str, ends: [f64; 4], (color, width): (Rgb, f64)) -> io::Result<()> {
    let [x1, y1, x2, y2] = ends.map(px);
    let line = writer.create_element("line").with_attributes([
        ("class", class),
        ("x1", x1.as_str()),
        ("y1", y1.as_str()),
        ("x2", x2.as_str()),
        ("y2", y2.as_str()),
        ("stroke", hex(color).as_str()),
        ("stroke-width", width.to_string().as_str()),
    ]);
    line.write_empty().map(drop)
}

fn text(writer: &mut Xml, class: &str, at: [f64; 2], anchor: &str, told: (&str, Rgb)) -> io::Result<()> {
    text_sized(writer, class, at, anchor, told, None)
}

/// A text with letters of a height of its own; nothing is written of an empty one.
fn text_sized(
    writer: &mut Xml,
    class: &str,
    [x, y]: [f64; 2],
    anchor: &str,
    (text, color): (&str, Rgb),
    letters: Option<f64>,
) -> io::Result<()> {
    if text.is_empty() {
        return Ok(());
    }
    let element = writer.create_element("text").with_attributes([
        ("class", class),
        ("x", px(x).as_str()),
        ("y", px(y).as_str()),
        ("text-anchor", anchor),
        ("fill", hex(color).as_str()),
    ]);
    let size = letters.map(|letters| letters.to_string());
    let own = size.as_deref().map(|size| ("font-size", size));
    element.with_attributes(own).write_text_content(BytesText::new(text)).map(drop)
}

/// A thing with its name, which viewers show where it is pointed at.
fn named(element: quick_xml::writer::ElementWriter<'_, Vec<u8>>, name: &str) -> io::Result<()> {
    element
        .write_inner_content(|writer| {
            writer.create_element("title").write_text_content(BytesText::new(name)).map(drop)
        })
        .map(drop)
}

/// The lines of a hatched rectangle, `each` apart: from and to.
///
/// # Units
/// - `of`: left, top, width, height of the page; `each`, returns: the same
pub fn hatch(fill: Fill, [x, y, width, height]: [f64; 4], each: f64) -> Vec<[f64; 4]> {
    let count = ((width + height) / each) as u32;
    let line = |k: u32| {
        // Along the top by so much, then down the right side: the same from the other end, mirrored.
        let by = f64::from(k) * each;
        let from = [(by - height).max(0.0), by.min(height)];
        let to = [by.min(width), (by - width).max(0.0)];
        [from, to]
    };
    let rising = (1..=count).map(line).map(|[from, to]| [x + from[0], y + from[1], x + to[0], y + to[1]]);
    let falling = (1..=count)
        .map(line)
        .map(|[from, to]| [x + from[0], y + height - from[1], x + to[0], y + height - to[1]]);
    match fill {
        Fill::Solid | Fill::Light => Vec::new(),
        Fill::Rising => rising.collect(),
        Fill::Falling => falling.collect(),
        Fill::Crossed => rising.chain(falling).collect(),
    }
}

/// A place on the page, to a hundredth of a pixel.
fn px(value: f64) -> String {
    format!("{value:.2}")
}
