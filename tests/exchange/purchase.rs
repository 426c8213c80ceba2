//! Fleets held against each other: the portfolio file, and what the example teaches.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use obliquity_exchange::chart::{swing_chart, yearly_chart};
use obliquity_exchange::{
    FileErrorKind, MoneyTerm, foremost_text, is_portfolio, parse_portfolio, purchase_json, purchase_sentence,
    purchase_text, purchase_working, purchase_xlsx, read_portfolio, swing_matters, write_portfolio,
};
use obliquity_planning::money::{BreakEven, Portfolio, Turn};
use obliquity_planning::purchase::{NotFlown, Purchase, Refusal};
use obliquity_planning::{Evaluator, NoWatch, Store};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/portfolio/firm.ron")
}

/// Worked out once for all tests.
static FIRM: LazyLock<(Portfolio, Purchase)> = LazyLock::new(|| {
    let read = read_portfolio(&example()).unwrap();
    let store = Store::new(64 << 20);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let purchase = evaluator.purchase(&read.portfolio, &read.scenarios).unwrap();
    (read.portfolio, purchase)
});

/// Derived: what the example says of itself.
#[test]
fn the_larger_sensor_does_not_pay_and_the_one_that_looks_up_does() {
    let (portfolio, purchase) = &*FIRM;
    let case = &purchase.case;
    let counts = case.counts();
    let named = |name: &str| case.fleets.iter().position(|fleet| fleet.name.starts_with(name)).unwrap();
    let larger = case.gain(named("Swap"), &counts);
    // it saves minutes on both kinds of job, and no day
    let site_h = |aircraft: usize, job: usize| {
        purchase.flown[aircraft].as_ref().unwrap()[job].as_ref().unwrap().facts.on_site_h
    };
    assert!(site_h(1, 0) < site_h(0, 0) && site_h(1, 1) < site_h(0, 1));
    assert_eq!(larger.freed_days, 0.0);
    assert!(larger.total() < -larger.own_cost / 2.0, "{larger:?}");
    assert_eq!(case.break_even(named("Swap"), 1), BreakEven::Never);
    // beside the ceiling of 110 m: at 3.5 cm it would have to fly at 182 m
    let camera = &portfolio.aircraft[1].aircraft.camera;
    assert!((0.035 / camera.model().vertical_gsd_m(1.0) - 182.0).abs() < 1.0);
    // viaducts are closed for both aircraft that do not look up, because of their gimbals
    for aircraft in 0..2 {
        let Err(NotFlown::Refused(why)) = &purchase.flown[aircraft].as_ref().unwrap()[2] else {
            panic!("closed")
        };
        let Refusal::CannotFly(reasons) = &why[0].1 else { panic!("{why:?}") };
        assert!(reasons.iter().any(|reason| reason.contains("gimbal stops at")), "{reasons:?}");
    }
    let added = named("Add");
    assert!(case.gain(added, &counts).total() > 0.0);
    let BreakEven::At(turns) = case.break_even(added, 2) else { panic!("it turns") };
    assert!(matches!(turns[..], [Turn { count: 2..8, pays: true }]), "{turns:?}");
}

/// Derived: the sentence holds the figures of the case.
#[test]
fn the_sentence_says_what_the_case_says() {
    let (portfolio, purchase) = &*FIRM;
    let case = &purchase.case;
    let added = 2;
    let BreakEven::At(turns) = case.break_even(added, 2) else { panic!("it turns") };
    let gain = case.gain(added, &case.counts()).total();
    let sentence = purchase_sentence(case, added);
    let plain = sentence.replace('\u{a0}', "");
    assert_eq!(
        plain,
        format!(
            "Leaves {gain:.0} crowns a year more than keeping what you have; breaks even at {} jobs of Viaduct a year, you have 8.",
            turns[0].count
        )
    );
    assert!(purchase_sentence(case, 1).starts_with("Costs "));
    // hired or bought in, viaducts leave something from the first on, and the estates' days are not what it is about
    for fleet in [3, 4] {
        assert_eq!(case.break_even(fleet, 2), BreakEven::Always);
        let sentence = purchase_sentence(case, fleet);
        let wanted = "; pays at any number of jobs of Viaduct that the days of a year hold, you have 8.";
        assert!(sentence.ends_with(wanted), "{sentence}");
    }
    // the one that is hired pays for few viaducts, the one that is bought for many
    let told = foremost_text(case, 2);
    let found = case.foremost_by_jobs(2);
    let [kept, hired, bought] = found[..] else { panic!("{found:?}") };
    assert_eq!((kept.from, kept.fleet, hired.from, hired.fleet, bought.fleet), (0, 0, 1, 3, 2));
    // as far as the days of the year hold viaducts
    assert_eq!(f64::from(bought.to), case.full_from(2, 2).unwrap().floor());
    let at =
        |fleet: usize, count: f64| case.gain(fleet, &[case.jobs[0].count, case.jobs[1].count, count]).total();
    let turn = f64::from(bought.from);
    assert!(at(2, turn) > at(3, turn) && at(2, turn - 1.0) <= at(3, turn - 1.0));
    assert_eq!(
        told,
        format!(
            "Leaves most, by jobs of Viaduct a year: Keep the light one at 0, Hire the one that looks up from 1 to {}, Add \
             the one that looks up from {turn} to {}.",
            bought.from - 1,
            bought.to
        )
    );
    // the larger sensor never leaves more than what is kept
    let mut two = case.clone();
    two.fleets.truncate(2);
    let told = foremost_text(&two, 2);
    assert_eq!(
        told,
        "At any number of jobs of Viaduct that the days of a year hold, Keep the light one leaves most of all fleets."
    );
    let mut dear = case.clone();
    dear.jobs[2].money.price = 100.0;
    dear.jobs[2].count = 1.0;
    let told = purchase_sentence(&dear, added);
    assert_eq!(dear.break_even(added, 2), BreakEven::Never);
    let wanted = "; no number of jobs of Viaduct that the days of a year hold turns that, you have 1.";
    assert!(told.ends_with(wanted), "{told}");
    let text = purchase_text(portfolio, purchase);
    assert!(text.contains(&sentence) && text.contains("not financial advice"));
    assert!(!text.contains("NaN") && !text.contains("inf"));
    let json = purchase_json(portfolio, purchase);
    let fleet = &json["fleets"][added];
    assert_eq!(fleet["sentence"], sentence);
    assert!((fleet["gain"]["total"].as_f64().unwrap() - gain).abs() < 1e-9);
    // what is told adds up from what is told
    let part = |key: &str| fleet["gain"][key].as_f64().unwrap();
    let sum = part("contribution") - part("paid_anyway") + part("sold") - part("own_cost");
    assert!((sum - gain).abs() < 1e-9);
    for job in fleet["jobs"].as_array().unwrap() {
        let term = |key: &str| job["terms"][key].as_f64().unwrap();
        let costs: f64 = [
            "crew",
            "travel",
            "control_survey",
            "battery_wear",
            "hire",
            "machine",
            "attended",
            "again",
            "bought_in",
            "sign_off",
        ]
        .iter()
        .map(|key| term(key))
        .sum();
        assert!((term("price") - costs - term("contribution")).abs() < 1e-9, "{job}");
    }
    assert!(json["fleets"][0].get("sentence").is_none(), "it is not held against itself");
}

/// Derived: what is written is read back, and a file that was not written by the program is told its faults with their places.
#[test]
fn portfolios_are_read_as_they_are_written_and_faults_have_places() {
    let (portfolio, _) = &*FIRM;
    assert_eq!(parse_portfolio(&write_portfolio(portfolio), "copy.ron").unwrap(), *portfolio);
    let text = std::fs::read_to_string(example()).unwrap();
    let wrong = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        parse_portfolio(&text.replacen(from, to, 1), "firm.ron").unwrap_err()
    };
    let line_of = |needle: &str| text.lines().position(|line| line.contains(needle)).unwrap() + 1;
    let error = wrong("interest: 0.06", "interest: 6.0");
    assert_eq!(
        (error.kind, error.place().unwrap().line),
        (FileErrorKind::Invalid, line_of("interest: 0.06"))
    );
    assert!(error.to_string().contains("write 0.06 for 6 %"), "{error}");
    let error = wrong("Aircraft(name: \"Dunnock\"", "Aircraft(name: \"Dunlin\"");
    assert!(error.to_string().contains("no aircraft is called \"Dunlin\""), "{error}");
    let error = wrong("lever: Count(\"Viaduct\")", "lever: Count(\"Bridge\")");
    assert!(error.to_string().contains("names no job or aircraft"), "{error}");
    let error = wrong("again_share: 0.05", "again_share: 1.0");
    assert!(error.to_string().contains("share of visits that are made again must be at least 0"), "{error}");
    let error = wrong("width_px: 5376", "width_px: 0");
    assert_eq!(error.place().unwrap().line, line_of("width_px: 5376"), "{error}");
    let error = wrong("name: \"Quarry\"", "name: \"Estate\"");
    assert!(error.to_string().contains("stands twice"), "{error}");
    let entry = portfolio.aircraft.iter().find(|entry| entry.aircraft.name == "Dunnock").unwrap();
    let mut nameless = portfolio.clone();
    nameless.aircraft = vec![entry.clone()];
    nameless.aircraft[0].aircraft.name = " ".to_owned();
    let faults = nameless.faults().into_iter().filter(|fault| fault.path == "aircraft[0].aircraft.name");
    assert_eq!(faults.count(), 1, "each fault is told once");
    let error = wrong("years: 4.0", "years: 4.5");
    assert!(error.to_string().contains("must be whole"), "{error}");
}

/// Derived: a scenario that is not what it was is said, one that is gone is an error that names the job.
#[test]
fn a_scenario_that_changed_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let source = example();
    for name in ["firm.ron", "estate.ron", "quarry.ron", "viaduct.ron"] {
        std::fs::copy(source.parent().unwrap().join(name), folder.path().join(name)).unwrap();
    }
    let path = folder.path().join("firm.ron");
    let mut read = read_portfolio(&path).unwrap();
    assert_eq!(read.notes, Vec::<String>::new());
    read.portfolio.jobs.iter_mut().zip(&read.held).for_each(|(job, held)| job.held = Some(held.clone()));
    std::fs::write(&path, write_portfolio(&read.portfolio)).unwrap();
    assert_eq!(read_portfolio(&path).unwrap().notes, Vec::<String>::new());
    let quarry = folder.path().join("quarry.ron");
    let text = std::fs::read_to_string(&quarry).unwrap();
    std::fs::write(&quarry, text.replacen("set_up_min: 15.0", "set_up_min: 16.0", 1)).unwrap();
    let notes = read_portfolio(&path).unwrap().notes;
    assert!(notes.len() == 1 && notes[0].starts_with("Quarry: quarry.ron"), "{notes:?}");
    std::fs::remove_file(&quarry).unwrap();
    let error = read_portfolio(&path).unwrap_err().to_string();
    assert!(error.contains("quarry.ron") && error.contains("\"Quarry\""), "{error}");
}

/// Derived: a line crosses that of the kept fleet between the last number of jobs at which it does not pay and the first at which it
/// does, and lies there on it; where the days of the year are full it bends.
#[test]
fn the_diagram_crosses_where_the_answer_turns() {
    let (_, purchase) = &*FIRM;
    let case = &purchase.case;
    let added = case.fleets.iter().position(|fleet| fleet.name.starts_with("Add")).unwrap();
    let chart = yearly_chart(case, 2);
    assert_eq!(chart.series.len(), case.fleets.len());
    let BreakEven::At(turns) = case.break_even(added, 2) else { panic!("it turns") };
    let named = chart.marks.iter().filter(|mark| mark.name.starts_with("Add"));
    let crossing = named.map(|mark| mark.at).next().unwrap();
    let first = f64::from(turns[0].count);
    assert!(crossing[0] > first - 1.0 && crossing[0] <= first, "{crossing:?} and {turns:?}");
    let kept = case.year(0, &case.counts()).result();
    assert!((crossing[1] - kept).abs() < 1e-6, "viaducts change nothing of a fleet that does none");
    // with few days the estates fill the year
    let mut full = case.clone();
    full.firm.flying_days = 60.0;
    let chart = yearly_chart(&full, 0);
    let bends = chart.marks.iter().filter(|mark| mark.name.contains("days of the year are full"));
    assert!(bends.count() >= 2 && !chart.under.is_empty());
    let [at, _] = chart.marks.iter().find(|mark| mark.name.starts_with("Keep")).unwrap().at;
    let slope = |from: f64, to: f64| {
        let value = |jobs: f64| {
            let mut counts = full.counts();
            counts[0] = jobs;
            full.year(0, &counts).result()
        };
        (value(to) - value(from)) / (to - from)
    };
    assert!(slope(at - 1.0, at) - slope(at, at + 1.0) > 1.0, "at {at}");
}

/// Derived: bars end where the gain at the percentiles lies, and the names say where the answer turns.
#[test]
fn the_swings_end_at_the_percentiles() {
    let (portfolio, purchase) = &*FIRM;
    let case = &purchase.case;
    let added = case.fleets.iter().position(|fleet| fleet.name.starts_with("Add")).unwrap();
    let swings = case.swings(added, &portfolio.unsure);
    let chart = swing_chart(case, added, &swings);
    let ends: Vec<f64> = chart.bars.iter().map(|bar| bar.across[1]).collect();
    let shown = swings.iter().filter(|swing| swing_matters(swing)).rev();
    let wanted: Vec<f64> = shown.flat_map(|swing| [swing.at_p10, swing.at_p90]).collect();
    assert_eq!(ends, wanted);
    let top = &chart.up.names.last().unwrap().1;
    assert!(top.starts_with("jobs of Viaduct a year, now 8: turns at"), "{top}");
}

/// Derived: every step is recomputed from its texts alone.
#[test]
fn the_working_is_recomputed_from_what_it_says() {
    let (_, purchase) = &*FIRM;
    let case = &purchase.case;
    for fleet in 1..case.fleets.len() {
        let steps = purchase_working(case, fleet);
        let read = |term: &MoneyTerm| term.text.parse::<f64>().unwrap();
        let mut seen = [0; 3];
        for step in &steps {
            let named =
                |begin: &str| step.terms.iter().find(|term| term.name.starts_with(begin)).map_or(0.0, read);
            let result = read(&step.result);
            if step.title.starts_with("Difference") {
                let [new, kept, own, own_kept] = [0, 1, 2, 3].map(|at| read(&step.terms[at]));
                let paid = named("wages saved") - named("freed days sold");
                assert!((new - kept - (own - own_kept) - paid - result).abs() < 0.05, "{step:?}");
                assert!((result - case.gain(fleet, &case.counts()).total()).abs() < 0.006);
                seen[0] += 1;
            } else if step.title.starts_with("Own cost") {
                let (i, n) = (named("i,"), named("n,"));
                let (a, s) = (i / (1.0 - (1.0 + i).powf(-n)), i / ((1.0 + i).powf(n) - 1.0));
                assert!((a - named("a =")).abs() < 1e-6 && (s - named("s =")).abs() < 1e-6);
                let cost = (named("P,") + named("one-off")) * a - named("S,") * s
                    + named("running")
                    + named("losses") * named("deductible");
                assert!((cost - result).abs() < 0.02, "{cost}: {step:?}");
                seen[1] += 1;
            } else {
                let costs = step.terms.iter().filter(|term| term.name.starts_with('−')).map(read);
                let left = named("price") - costs.sum::<f64>();
                assert!((left - named("= one job leaves")).abs() < 0.06, "{step:?}");
                assert!((left * named("jobs done") - result).abs() < 0.06 * 40.0, "{step:?}");
                seen[2] += 1;
            }
        }
        assert!(seen[0] == 1 && seen[1] >= 1 && seen[2] >= 3, "{seen:?}");
    }
}

/// Derived: told by its fields, wherever the words stand else.
#[test]
fn a_portfolio_is_told_from_a_scenario() {
    let text = std::fs::read_to_string(example()).unwrap();
    assert!(is_portfolio(text.as_bytes()));
    assert!(is_portfolio(b"// firm\n(format: 1, name: \"a \\\" firm: b\", firm: (crew: 2))"));
    for other in [
        "(format: 1, name: \"firm: mine\")",
        "(format: 1, // firm: (\n site: ())",
        "(format: 1, site: (firm: 3))",
        "",
        "(format: 1, name: \"",
    ] {
        assert!(!is_portfolio(other.as_bytes()), "{other}");
    }
    let estate = example().with_file_name("estate.ron");
    assert!(!is_portfolio(&std::fs::read(estate).unwrap()));
}

/// Derived: beside every formula of the workbook stands what it comes to, and those of the answer are the case's own; what an aircraft
/// is called is never a formula. (That a spreadsheet engine comes to the same: `tests/reference/recompute_purchase.py`.)
#[test]
fn the_workbook_holds_formulas_and_what_they_come_to() {
    let (portfolio, purchase) = &*FIRM;
    let (mut portfolio, case) = (portfolio.clone(), &purchase.case);
    portfolio.name = "=1+1".to_owned();
    let bytes = purchase_xlsx(&portfolio, purchase).unwrap();
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    let mut read = |name: &str| {
        let mut text = String::new();
        archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    };
    let answer = read("xl/worksheets/sheet1.xml");
    let value = |cell: &str| -> f64 {
        let (_, rest) = answer.split_once(&format!("r=\"{cell}\"")).unwrap();
        let (_, rest) = rest.split_once("<v>").unwrap();
        rest.split_once("</v>").unwrap().0.parse().unwrap()
    };
    let counts = case.counts();
    for fleet in 0..case.fleets.len() {
        let row = fleet + 3;
        let gain = case.gain(fleet, &counts).total();
        assert!((value(&format!("J{row}")) - gain).abs() < 1e-9, "{row}");
        assert!((value(&format!("K{row}")) - case.net_present_value(fleet)).abs() < 1e-6);
        assert!(answer.contains(&format!("<f>E{row}-F{row}+H{row}-I{row}</f>")));
    }
    let formulas: usize = (1..=7)
        .map(|sheet| {
            let text = read(&format!("xl/worksheets/sheet{sheet}.xml"));
            let (formulas, empty) = (text.matches("<f>").count(), text.matches("</f><v></v>").count());
            assert_eq!(empty, 0, "sheet {sheet}");
            formulas
        })
        .sum();
    assert!(formulas > 500, "{formulas}");
    assert!(!answer.contains("<f>1+1</f>") && read("xl/sharedStrings.xml").contains("=1+1"));
}
