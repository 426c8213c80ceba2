//! The card on paper: the layout of drawn scenarios and of all examples, and the PDF read back by another library.

use crate::{generate, sample};
use lopdf::Document;
use obliquity_exchange::sheet::{Area, SheetMark};
use obliquity_exchange::{Card, CardFigure, CardSheet, PaperSize, Units, read_scenario};
use obliquity_planning::{
    Caution, CautionSource, Depth, Evaluator, Id, NoWatch, Outcome, Scenario, Severity, Store,
};
use std::path::Path;

/// Boxes are laid out in single precision; they touch where lines follow each other.
const TOUCH_PT: f32 = 0.02;

const BLUE: [u8; 3] = [0x2b, 0x4a, 0x9e];

fn outcomes(scenario: &Scenario, depth: Depth) -> Vec<Outcome> {
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    scenario.strategies.iter().map(|s| evaluator.evaluate(scenario, s.id, depth).unwrap()).collect()
}

fn overlap(a: &Area, b: &Area) -> bool {
    a.left + TOUCH_PT < b.right()
        && b.left + TOUCH_PT < a.right()
        && a.top + TOUCH_PT < b.bottom()
        && b.top + TOUCH_PT < a.bottom()
}

/// Everything that a card says in figures.
fn figures(card: &Card) -> Vec<CardFigure> {
    let passes = card
        .passes
        .iter()
        .flat_map(|pass| pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows).chain(&pass.listed));
    let lists = [&card.set_once, &card.take_offs, &card.day, &card.on_hand, &card.surroundings, &card.time];
    passes.chain(lists.into_iter().flatten()).cloned().collect()
}

fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// What is wrong with the layout of a card.
fn faults(card: &Card, sheet: &CardSheet) -> Vec<String> {
    let mut faults = Vec::new();
    let (width, height) = sheet.paper.size_pt();
    for (number, page) in sheet.pages.iter().enumerate() {
        let texts: Vec<_> = page.texts().collect();
        for text in &texts {
            let Area { left, top, .. } = text.area;
            if left < 20.0
                || top < 20.0
                || text.area.right() > width - 20.0
                || text.area.bottom() > height - 20.0
            {
                faults.push(format!("page {number}: {:?} leaves the page at {:?}", text.text, text.area));
            }
            // Nothing smaller is read at arm's length.
            if text.size < 6.0 {
                faults.push(format!("page {number}: {:?} is set in {} pt", text.text, text.size));
            }
        }
        for (k, a) in texts.iter().enumerate() {
            for b in &texts[k + 1..] {
                if overlap(&a.area, &b.area) {
                    faults.push(format!("page {number}: {:?} lies on {:?}", a.text, b.text));
                }
            }
        }
        for mark in &page.marks {
            let SheetMark::Path(path) = mark else { continue };
            let out = |p: &[f32; 2]| !(0.0..=width).contains(&p[0]) || !(0.0..=height).contains(&p[1]);
            if path.points.iter().any(out) {
                faults.push(format!("page {number}: a line leaves the page"));
            }
        }
    }
    let read = plain(&sheet.texts().map(|text| text.text.as_str()).collect::<String>());
    let said: Vec<&str> =
        sheet.pages.iter().flat_map(|page| &page.said).map(|saying| saying.text.as_str()).collect();
    for figure in figures(card) {
        let large = figure.key.as_ref().and_then(|key| key.large.clone()).unwrap_or(figure.value.clone());
        if !read.contains(&plain(&large)) {
            faults.push(format!("{}: {large:?} is not on the sheet", figure.label));
        }
        let sentence = format!("{}: {}", figure.label, figure.sentence());
        if !said.iter().any(|said| said.ends_with(&sentence)) {
            faults.push(format!("{sentence:?} is not said"));
        }
    }
    for pass in &card.passes {
        if !sheet.texts().any(|text| text.text.split(' ').any(|word| word == pass.pattern)) {
            faults.push(format!("{:?} is broken", pass.pattern));
        }
    }
    let cautions = card.cautions.iter().map(|caution| caution.text.to_string());
    let reasons = card.reasons.iter().chain(card.passes.iter().filter_map(|pass| pass.refused.as_ref()));
    for text in cautions.chain(reasons.cloned()).chain([card.closing.clone(), card.strategy.clone()]) {
        if !read.contains(&plain(&text)) {
            faults.push(format!("{text:?} is cut"));
        }
    }
    faults
}

fn files() -> Vec<(String, Scenario)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut paths = vec![root.join("assets/demo.ron")];
    let found = std::fs::read_dir(root.join("examples")).unwrap();
    paths.extend(
        found.map(|entry| entry.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "ron")),
    );
    paths.sort();
    paths.iter().map(|path| (path.display().to_string(), read_scenario(path).unwrap())).collect()
}

/// Derived: no text lies on another or leaves the page, no figure, caution or reason is cut, and up to five passes stand on
/// one page, for the demo and all examples in all units on both papers.
#[test]
fn every_example_stands_on_one_page() {
    let mut cards = 0;
    for (name, scenario) in files() {
        for outcome in &outcomes(&scenario, Depth::Spread) {
            let units = [Units::Metric, Units::UsCustomary, Units::UsInches];
            for (units, paper) in units.iter().flat_map(|units| PaperSize::ALL.map(|paper| (*units, paper))) {
                let card = Card::new(&scenario, outcome, units);
                let sheet = CardSheet::new(&card, paper);
                let faults = faults(&card, &sheet);
                assert!(faults.is_empty(), "{name}, {}, {}: {faults:#?}", outcome.name, paper.name());
                assert_eq!(sheet.pages.len(), 1, "{name}, {}, {}", outcome.name, paper.name());
                cards += 1;
            }
        }
    }
    assert!(cards > 150, "{cards}");
}

/// A drawn scenario, all of whose strategies have further take-off points with odd seeds.
fn drawn(seed: u64) -> Scenario {
    let mut scenario = generate::scenario(seed);
    if seed % 2 == 1 {
        let mut dice = generate::Dice::new(9_000 + seed);
        scenario.conditions.pilot_distance_m = dice.within(60.0, 250.0);
        for strategy in &mut scenario.strategies {
            strategy.take_offs_m = generate::take_offs(&mut dice, &scenario.site);
        }
    }
    scenario
}

/// Derived: the same of drawn scenarios, whose strategies have passes of all patterns and several take-offs, in all units on
/// both papers: up to five passes on up to nine sorties stand on one page.
#[test]
fn no_text_of_a_drawn_scenario_lies_on_another_or_leaves_its_page() {
    let (mut one, mut moving, mut several) = (0, 0, 0);
    // The last two are the fullest of 300.
    for seed in (0..60).chain([111, 295]) {
        let scenario = drawn(seed);
        for (index, outcome) in outcomes(&scenario, Depth::Quick).iter().enumerate() {
            let units = [Units::UsInches, Units::Metric, Units::UsCustomary][(seed as usize + index) % 3];
            let card = Card::new(&scenario, outcome, units);
            for paper in PaperSize::ALL {
                let sheet = CardSheet::new(&card, paper);
                let told = format!("seed {seed}, {}, {units:?}, {}", outcome.name, paper.name());
                let faults = faults(&card, &sheet);
                assert!(faults.is_empty(), "{told}: {faults:#?}");
                if card.passes.len() <= 5 && card.sorties.len() <= 9 {
                    assert_eq!(sheet.pages.len(), 1, "{told}");
                    one += 1;
                    moving += usize::from(!card.take_offs.is_empty());
                } else {
                    several += usize::from(sheet.pages.len() > 1);
                }
            }
        }
    }
    assert!(
        one > 200 && moving > 40 && several < one,
        "{one} on one page, {moving} of them with moves, {several} on more"
    );
}

/// Derived: a strategy of many passes, sorties and long cautions goes on further pages, each with the same head and its number,
/// and the table's head above the first row of each; nothing is cut.
#[test]
fn what_one_page_cannot_hold_goes_on_pages_that_repeat_the_head() {
    let mut scenario = sample::with_every_pattern();
    let passes = scenario.strategies[0].passes.clone();
    for copy in 1..5_u32 {
        for pass in &passes {
            let id = Id(1_000 * copy + pass.id.0);
            scenario.strategies[0].passes.push(obliquity_planning::Pass { id, ..pass.clone() });
        }
    }
    let mut outcome = outcomes(&scenario, Depth::Quick).remove(0);
    let caution = |number: u32| Caution {
        id: "drawn",
        severity: Severity::Check,
        text: format!("number {number}: {}", "something that takes its room on the page ".repeat(6)).into(),
        source: CautionSource::Plan,
        places: Vec::new(),
        gauge: None,
    };
    outcome.cautions.extend((0..40).map(caution));
    let card = Card::new(&scenario, &outcome, Units::Metric);
    for paper in PaperSize::ALL {
        let sheet = CardSheet::new(&card, paper);
        assert!(faults(&card, &sheet).is_empty(), "{:#?}", faults(&card, &sheet));
        let count = sheet.pages.len();
        assert!(count > 2, "{count}");
        for (index, page) in sheet.pages.iter().enumerate() {
            let has = |wanted: &str| page.texts().any(|text| plain(&text.text) == plain(wanted));
            assert!(has(&card.strategy) && has(&format!("page {} of {count}", index + 1)), "{index}");
            let rows = page.texts().any(|text| text.text == "strips" || text.text == "orbit");
            assert!(!rows || has("Gimbal pitch"), "page {index} has rows without a heading");
        }
        let pdf = Document::load_mem(&sheet.to_pdf(BLUE).unwrap()).unwrap();
        assert_eq!(pdf.get_pages().len(), count);
    }
}

/// Cross-check: lopdf 0.47 reads from the PDF every text of the layout, in its order, and so every figure of the card; both
/// fonts are embedded, with the letters used alone.
#[test]
fn the_pdf_reads_back_as_the_card() {
    let demo = files().into_iter().find(|(name, _)| name.ends_with("demo.ron")).unwrap().1;
    let drawn = sample::with_every_pattern();
    let cards = [(&demo, 2), (&demo, 0), (&drawn, 0)].map(|(scenario, index)| {
        Card::new(scenario, &outcomes(scenario, Depth::Quick)[index], Units::Metric)
    });
    for (card, paper) in cards.iter().zip([PaperSize::A4, PaperSize::Letter, PaperSize::A4]) {
        let sheet = CardSheet::new(card, paper);
        let bytes = sheet.to_pdf(BLUE).unwrap();
        assert!(bytes.starts_with(b"%PDF-") && bytes.len() < 150_000, "{} bytes", bytes.len());
        let pdf = Document::load_mem(&bytes).unwrap();
        let pages = pdf.get_pages();
        assert_eq!(pages.len(), sheet.pages.len());
        for ((number, id), page) in pages.iter().zip(&sheet.pages) {
            let size = pdf.get_object(*id).unwrap().as_dict().unwrap().get(b"MediaBox").unwrap();
            let size: Vec<f32> = size.as_array().unwrap().iter().map(|n| n.as_float().unwrap()).collect();
            let (width, height) = paper.size_pt();
            // Written to a thousandth of a point or finer.
            assert!((size[2] - width).abs() < 1e-2 && (size[3] - height).abs() < 1e-2, "{size:?}");
            let read = plain(&pdf.extract_text(&[*number]).unwrap());
            let mut at = 0;
            for text in page.texts() {
                let wanted = plain(&text.text);
                let found = read[at..].find(&wanted);
                let found = found.unwrap_or_else(|| panic!("no {wanted:?} after {at} in {read}"));
                at += found + wanted.len();
            }
        }
        let read =
            plain(&(1..=pages.len() as u32).map(|n| pdf.extract_text(&[n]).unwrap()).collect::<String>());
        for figure in figures(card) {
            let large = figure.key.and_then(|key| key.large).unwrap_or(figure.value);
            assert!(read.contains(&plain(&large)), "{}: {large}", figure.label);
        }
        fonts_are_embedded(&pdf);
    }
}

fn fonts_are_embedded(pdf: &Document) {
    let dictionaries: Vec<_> = pdf.objects.values().filter_map(|object| object.as_dict().ok()).collect();
    let named = |name: &[u8]| {
        let is = |value: &lopdf::Object| value.as_name().is_ok_and(|own| own == name);
        dictionaries.iter().filter(move |d| d.get(b"Type").is_ok_and(is)).collect::<Vec<_>>()
    };
    let descriptors = named(b"FontDescriptor");
    assert_eq!(descriptors.len(), 2);
    for descriptor in descriptors {
        let name = descriptor.get(b"FontName").unwrap().as_name().unwrap();
        let name = String::from_utf8_lossy(name);
        let (tag, font) = name.split_once('+').expect("the name of a subset");
        assert!(tag.len() == 6 && font.starts_with("Lato-"), "{name}");
        let file = descriptor.get(b"FontFile2").and_then(lopdf::Object::as_reference).unwrap();
        let letters = pdf.get_object(file).unwrap().as_stream().unwrap().decompressed_content().unwrap();
        assert!((5_000..120_000).contains(&letters.len()), "{} bytes of a font of 660 kB", letters.len());
    }
    assert!(named(b"Font").iter().any(|font| font.has(b"ToUnicode")), "text can be copied");
}

/// Derived: what is keyed in never lets the overlap fall below the one set: interval × speed is no longer than the air base
/// that follows from it, nor shorter by more than both are rounded, and no shorter than the camera can do.
#[test]
fn speed_and_interval_keyed_in_keep_the_overlap() {
    let mut checked = 0;
    for (name, scenario) in files() {
        for (strategy, outcome) in scenario.strategies.iter().zip(outcomes(&scenario, Depth::Quick)) {
            let aircraft = scenario.equipment.aircraft(strategy.aircraft).unwrap();
            let card = Card::new(&scenario, &outcome, Units::Metric);
            let order = outcome.flight().map(|flight| flight.order.clone()).unwrap_or_default();
            for (row, index) in card.passes.iter().zip(order) {
                let plan = outcome.passes[index].laid().unwrap();
                let number = |label: &str| -> f64 {
                    let figure = row.to_key_in.iter().find(|figure| figure.label == label).unwrap();
                    figure.value.split(' ').next().unwrap().parse().unwrap()
                };
                let (speed, interval_s) = (number("speed"), number("shot interval"));
                let base_m = plan.layout.air_base_m;
                let slack_m = 0.01 * (speed + interval_s) + 1e-9;
                assert!(speed * interval_s <= base_m + 1e-9, "{name}: {speed} × {interval_s} > {base_m}");
                assert!(speed * interval_s > base_m - slack_m, "{name}: {speed} × {interval_s} < {base_m}");
                assert!(interval_s + 0.01 > aircraft.camera.shortest_interval_s, "{name}: {interval_s}");
                checked += 1;
            }
        }
    }
    assert!(checked > 40, "{checked}");
}

/// Derived: a scenario with an origin and a silo of 38 m between route and take-off: the return height is that and the
/// clearance; without anything standing it is the clearance over the ground. A hill on the way counts.
#[test]
fn the_return_height_clears_the_tallest_thing_on_the_way() {
    let mut scenario = sample::scenario();
    let told = |scenario: &Scenario| {
        let card = Card::new(scenario, &outcomes(scenario, Depth::Quick)[0], Units::Metric);
        let figure = card.set_once.iter().find(|figure| figure.label == "return height").unwrap();
        (figure.value.clone(), figure.note.clone().unwrap())
    };
    // The shed is 9 m over the ground in its middle, x = 65 on a slope of 1 %; take-off is at x = −10, 0.75 m lower.
    let (value, note) = told(&scenario);
    assert_eq!(value, "19.8 m", "{note}");
    assert!(note.contains("10.0 m over Shed, the tallest on the way at 9.7 m"), "{note}");
    assert!(note.ends_with("a straight way home may lead over Pond: keep clear of it"), "{note}");
    let site = std::sync::Arc::make_mut(&mut scenario.site);
    site.structures.clear();
    site.terrain = obliquity_planning::Terrain::default();
    site.keep_outs.clear();
    let (value, note) = told(&scenario);
    assert_eq!(value, "10.0 m", "{note}");
    assert!(note.ends_with("over the ground, the tallest on the way at 0.0 m"), "{note}");
}
