//! Diagrams as SVG: well-formed, text as text, and every thing where the model has it.

use obliquity_exchange::Units;
use obliquity_exchange::chart::{
    Axis, Band, Bar, BarText, Chart, Fill, Limit, Mark, Palette, Series, Tone, power_charts, svg,
};
use obliquity_exchange::parse_scenario;
use quick_xml::Reader;
use quick_xml::events::Event;
use rand_distr::{Distribution, Uniform};
use rand_pcg::Pcg64;
use std::collections::BTreeMap;

pub(crate) const PALETTE: Palette = Palette {
    surface: [255, 255, 255],
    rule: [200, 200, 200],
    ink: [0, 0, 0],
    muted: [90, 90, 90],
    accent: [0, 90, 80],
    good: [0, 120, 0],
    bad: [160, 0, 0],
    strategies: [[1, 2, 3]; 8],
};

/// An element: its name, attributes and the text directly in it.
#[derive(Debug, Default, Clone)]
struct Element {
    name: String,
    attributes: BTreeMap<String, String>,
    text: String,
}

impl Element {
    fn number(&self, name: &str) -> f64 {
        self.attributes[name].parse().unwrap_or_else(|_| panic!("{name} of {self:?}"))
    }

    fn places(&self) -> Vec<[f64; 2]> {
        let pair = |place: &str| {
            let (x, y) = place.split_once(',').expect("two numbers");
            [x.parse().expect("a number"), y.parse().expect("a number")]
        };
        self.attributes["points"].split(' ').map(pair).collect()
    }
}

/// Everything in a file, in its order; the reader refuses what is not well-formed.
fn elements(text: &str) -> Vec<Element> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().check_end_names = true;
    let (mut found, mut open): (Vec<Element>, Vec<usize>) = (Vec::new(), Vec::new());
    loop {
        let event = reader.read_event().expect("well-formed");
        let is_empty = matches!(event, Event::Empty(_));
        match event {
            Event::Eof => break,
            Event::Start(start) | Event::Empty(start) => {
                let attributes = start.attributes().map(|attribute| {
                    let attribute = attribute.expect("well-formed");
                    let key = String::from_utf8(attribute.key.as_ref().to_vec()).expect("text");
                    (
                        key,
                        attribute
                            .normalized_value(quick_xml::XmlVersion::Explicit1_0)
                            .expect("well-formed")
                            .into_owned(),
                    )
                });
                let name = String::from_utf8(start.name().as_ref().to_vec()).expect("text");
                found.push(Element { name, attributes: attributes.collect(), text: String::new() });
                if !is_empty {
                    open.push(found.len() - 1);
                }
            }
            Event::End(_) => drop(open.pop().expect("it was opened")),
            Event::Text(text) => {
                let text = text.decode().expect("text");
                if let Some(at) = open.last() {
                    found[*at].text.push_str(&text);
                }
            }
            Event::GeneralRef(entity) => {
                let named = match &*entity.decode().expect("text") {
                    "amp" => '&',
                    "lt" => '<',
                    "gt" => '>',
                    "quot" => '"',
                    "apos" => '\'',
                    other => panic!("{other}"),
                };
                if let Some(at) = open.last() {
                    found[*at].text.push(named);
                }
            }
            _ => {}
        }
    }
    assert!(open.is_empty(), "everything is closed");
    found
}

fn classed<'a>(all: &'a [Element], name: &'a str, class: &'a str) -> Vec<&'a Element> {
    let is = |one: &&Element| one.name == name && one.attributes.get("class").is_some_and(|own| own == class);
    all.iter().filter(is).collect()
}

/// Pixels of a value on an axis, from the numbers written at its first and last tick: what a reader of the file would do.
fn by_ticks(all: &[Element], class: &str, coordinate: &str) -> impl Fn(f64) -> f64 {
    let ticks = classed(all, "text", class);
    let read = |tick: &Element| {
        (tick.text.replace('−', "-").parse::<f64>().expect("a number"), tick.number(coordinate))
    };
    let ((a, a_px), (b, b_px)) = (read(ticks[0]), read(ticks[ticks.len() - 1]));
    move |value| a_px + (value - a) / (b - a) * (b_px - a_px)
}

fn drawn(seed: u64) -> Chart {
    let mut random = Pcg64::new(seed.into(), 11);
    let mut draw = |low: f64, high: f64| Uniform::new(low, high).expect("a range").sample(&mut random);
    let (from, up_from) = (draw(-50.0, 50.0).round(), draw(-5.0, 900.0).round());
    let across = Axis::new("Height & <gap>", "m", from, from + draw(20.0, 300.0).round());
    let up = Axis::new("Cost", "min", up_from, up_from + draw(3.0, 400.0).round());
    let mut x = || draw(0.0, 1.0);
    let mut xs: Vec<f64> = (0..9).map(|_| across.from + x() * (across.to - across.from)).collect();
    xs.sort_by(f64::total_cmp);
    let mut y = || up.from + x() * (up.to - up.from);
    let points: Vec<[f64; 2]> = xs.iter().map(|x| [*x, y()]).collect();
    let band = xs.iter().map(|x| [*x, y(), y()].map(|v| v)).collect();
    let (limit, low, high) = (y(), y(), y());
    let mut chart = Chart::new("\"A\" < B & C".to_owned(), "in words".to_owned(), across, up);
    chart.marks = vec![Mark { name: "here".to_owned(), tone: Tone::Bad, at: points[4] }];
    chart.series = vec![Series { name: "line".to_owned(), tone: Tone::Strategy(9), points }];
    chart.bands = vec![Band { name: "likely".to_owned(), tone: Tone::Accent, points: band }];
    chart.bars = vec![Bar {
        name: "bar".to_owned(),
        text: BarText::None,
        tone: Tone::Good,
        fill: Fill::Solid,
        across: [xs[1], xs[6]],
        up: [low, high],
    }];
    chart.limits = vec![Limit { name: "at most".to_owned(), at: limit }];
    chart
}

/// Half of the last digit of a place, and as much of each of the two ticks that it is held against, which lie at least half
/// as far apart as anything lies from them.
const TOLERANCE_PX: f64 = 0.005 * 6.0;

/// Derived: the axes are linear, so that places follow from the numbers beside them. Places are written to 0.01 px, and
/// the axes have whole numbers at their ticks' steps.
#[test]
fn everything_stands_where_the_numbers_of_the_axes_say() {
    for seed in 0..60 {
        let chart = drawn(seed);
        let text = svg(std::slice::from_ref(&chart), (900, 600), &PALETTE).expect("written");
        let all = elements(&text);
        let (x, y) = (by_ticks(&all, "tick across", "x"), by_ticks(&all, "tick up", "y"));
        // A number stands a third of its height below its place.
        let y = move |value: f64| y(value) - 4.0;
        let near = |found: [f64; 2], wanted: [f64; 2]| {
            let wanted_px = [x(wanted[0]), y(wanted[1])];
            let off = (found[0] - wanted_px[0]).abs().max((found[1] - wanted_px[1]).abs());
            assert!(off < TOLERANCE_PX, "seed {seed}: {found:?} for {wanted_px:?}");
        };
        let line = classed(&all, "polyline", "series")[0].places();
        assert_eq!(line.len(), chart.series[0].points.len());
        line.iter().zip(&chart.series[0].points).for_each(|(found, wanted)| near(*found, *wanted));
        let ring = classed(&all, "polygon", "band")[0].places();
        let band = &chart.bands[0].points;
        for (k, [at, low, high]) in band.iter().enumerate() {
            near(ring[k], [*at, *low]);
            near(ring[2 * band.len() - 1 - k], [*at, *high]);
        }
        let mark = classed(&all, "circle", "mark")[0];
        near([mark.number("cx"), mark.number("cy")], chart.marks[0].at);
        let bar = classed(&all, "rect", "bar")[0];
        let (left, top) = (bar.number("x"), bar.number("y"));
        let [low, high] = chart.bars[0].up;
        near([left, top], [chart.bars[0].across[0], low.max(high)]);
        near(
            [left + bar.number("width"), top + bar.number("height")],
            [chart.bars[0].across[1], low.min(high)],
        );
        let limit = classed(&all, "line", "limit")[0];
        near([line[0][0], limit.number("y1")], [chart.series[0].points[0][0], chart.limits[0].at]);
        assert!(limit.number("y1") == limit.number("y2") && limit.number("x2") - limit.number("x1") > 700.0);
    }
}

/// Derived: what is text in the model is text in the file, whatever letters it has.
#[test]
fn text_stays_text() {
    let chart = drawn(1);
    let text = svg(std::slice::from_ref(&chart), (900, 600), &PALETTE).expect("written");
    let all = elements(&text);
    assert_eq!(classed(&all, "text", "heading")[0].text, chart.title);
    assert_eq!(classed(&all, "text", "name across")[0].text, "Height & <gap>, m");
    let named: Vec<&str> =
        all.iter().filter(|one| one.name == "title").map(|one| one.text.as_str()).collect();
    assert_eq!(named, [chart.title.as_str(), "likely", "bar", "line", "here"]);
    assert!(all.iter().any(|one| one.name == "desc" && one.text == "in words"));
    assert_eq!((all[0].name.as_str(), all[0].attributes["viewBox"].as_str()), ("svg", "0 0 900 600"));
}

/// Derived: a line is broken where there is nothing, and several diagrams do not overlap.
#[test]
fn gaps_break_a_line_and_diagrams_stand_beside_each_other() {
    let mut chart = drawn(2);
    chart.series[0].points[3][1] = f64::NAN;
    let text = svg(&[chart, drawn(3), drawn(4)], (900, 900), &PALETTE).expect("written");
    let all = elements(&text);
    assert!(!text.contains("NaN"));
    let lines: Vec<usize> =
        classed(&all, "polyline", "series").iter().map(|line| line.places().len()).collect();
    assert_eq!(lines, [3, 5, 9, 9]);
    let corners: Vec<[f64; 2]> =
        classed(&all, "text", "heading").iter().map(|one| [one.number("x"), one.number("y")]).collect();
    assert!((corners[1][0] - corners[0][0] - 450.0).abs() < 0.02 && corners[1][1] == corners[0][1]);
    assert!((corners[2][1] - corners[0][1] - 450.0).abs() < 0.02 && corners[2][0] == corners[0][0]);
}

/// Cross-check: the endurances that are given lie on the curves, since these are bent through them: a new set in standard
/// air. The curve between them is sampled at 61 places, so that it meets a given one within its own bend.
#[test]
fn power_over_airspeed_goes_through_the_endurances_given() {
    let demo =
        parse_scenario(include_str!("../../assets/demo.ron"), "the demo").expect("it is read by a test");
    let mut looked_at = 0;
    for aircraft in &demo.equipment.aircraft {
        let Some(energy) = &aircraft.airframe.energy else { continue };
        let [power, endurance] = power_charts(aircraft, Units::Metric).expect("the energy is known");
        let given = endurance.marks.iter().find(|mark| (mark.at[0] - energy.endurance_at_mps).abs() < 1e-9);
        let given = given.expect("it is marked").at[1];
        assert!(
            (given - aircraft.airframe.endurance_min).abs() < 1e-6 * aircraft.airframe.endurance_min,
            "{given}"
        );
        for (power, endurance) in power.series[0].points.iter().zip(&endurance.series[0].points) {
            assert_eq!(power[0], endurance[0]);
            // W · min / 60 = Wh of the set.
            assert!((power[1] * endurance[1] / 60.0 - energy.battery_wh).abs() < 1e-9 * energy.battery_wh);
        }
        assert!(power.up.from == 0.0 && power.series[0].points.iter().all(|place| place[1] <= power.up.to));
        looked_at += 1;
    }
    assert!(looked_at > 0);
}
