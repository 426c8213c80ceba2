//! The screen of a purchase, found by what a screen reader would say.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number};
use crate::window::{nothing_long_began, shared};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::{App, Screen};
use obliquity::document::Document;
use obliquity::files;
use obliquity::preferences::Home;
use obliquity::purchase::{
    BesideOrInstead, FleetState, JobPart, Listed, Making, PortfolioDocument, PortfolioEdit, PortfolioInput,
    PortfolioPlace, PurchaseProgress, Way,
};
use obliquity::theme::Mode;
use obliquity_exchange::{
    PortfolioRead, is_portfolio, purchase_sentence, read_portfolio, save_scenario, write_portfolio,
};
use obliquity_planning::money::{FreedHours, JobSettings, Portfolio, PortfolioJob, PortfolioMember};
use obliquity_planning::purchase::{Flights, FlightsOf};
use obliquity_planning::{Cancelled, Evaluator, NoWatch, Store, Watch};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_mins(1);

/// The example with viaducts alone, flown at one GSD: nothing is searched.
fn small() -> PortfolioRead {
    let mut read = files::example_portfolio().unwrap();
    read.portfolio.settings = JobSettings::EqualGsd;
    read.held.drain(..2);
    read.scenarios.drain(..2);
    read.portfolio.jobs.drain(..2);
    read
}

static FLIGHTS: LazyLock<Flights> = LazyLock::new(|| {
    let (read, store) = (small(), Store::new(64 << 20));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.flights(&FlightsOf::new(&read.portfolio), &read.scenarios).unwrap()
});

fn sentence(portfolio: &Portfolio, fleet: usize) -> String {
    purchase_sentence(&FLIGHTS.purchase(portfolio).case, fleet)
}

/// A window on a portfolio, or on none, whose user's own files are in a folder.
fn window(portfolio: Option<PortfolioDocument>, own: Option<&Path>) -> Window {
    let own: Option<PathBuf> = own.map(Path::to_owned);
    let mut window =
        Harness::builder().with_size([1280.0, 1100.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let home = own.map_or_else(Home::nowhere, Home::at);
            let app = shared(App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light));
            let mut app = app.at_once().with_home(ctx, home);
            app.turn_to(Screen::PURCHASE);
            match portfolio {
                Some(portfolio) => app.with_portfolio(portfolio),
                None => app,
            }
        });
    window.step();
    window
}

/// Steps until everything of the portfolio is worked out.
fn settle(window: &mut Window) {
    let begun = Instant::now();
    // the jobs of the window are at once, but what takes long is asked for in one frame and shown in the next
    for _ in 0..3 {
        window.step();
    }
    while window.state().purchase_sheet().is_some_and(|sheet| sheet.progress != PurchaseProgress::Known) {
        assert!(begun.elapsed() < PATIENCE, "it does not come");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run_ok();
}

fn open() -> Window {
    let mut window = window(Some(PortfolioDocument::new(small(), PortfolioPlace::Example)), None);
    settle(&mut window);
    window
}

/// Derived: the screen says the sentence that the case gives of the fleet that leaves most; a click on another one says its own, and
/// one click more shows how it comes about, down to the same amount.
#[test]
fn the_screen_tells_what_the_case_gives() {
    let mut window = open();
    let portfolio = small().portfolio;
    let case = FLIGHTS.purchase(&portfolio).case;
    let gain = |fleet: usize| case.gain(fleet, &case.counts()).total();
    let best = (1..case.fleets.len()).max_by(|a, b| gain(*a).total_cmp(&gain(*b))).unwrap();
    assert!(shows(&window, &sentence(&portfolio, best)), "{}", sentence(&portfolio, best));
    let added = case.fleets.iter().position(|fleet| fleet.name.starts_with("Add")).unwrap();
    assert_ne!(added, best);
    window.get_by_label_contains(&format!("{}: +", case.fleets[added].name)).click();
    window.run_ok();
    assert!(shows(&window, &sentence(&portfolio, added)));
    let sheet = window.state().purchase_sheet().unwrap();
    let known = sheet.known.unwrap();
    let states: Vec<FleetState> = known.jobs[0].cells.iter().map(|cell| cell.state).collect();
    assert_eq!(
        states,
        [
            FleetState::Closed,
            FleetState::Closed,
            FleetState::Opened,
            FleetState::Opened,
            FleetState::BoughtIn
        ]
    );
    assert!(known.jobs[0].closed.iter().any(|line| line.contains("gimbal stops at")), "{:?}", known.jobs[0]);
    assert!(!shows(&window, "Own cost a year: Treecreeper"));
    click(&mut window, "How it comes about");
    assert!(shows(&window, "Own cost a year: Treecreeper"));
    let total = obliquity_planning::wording::trimmed(gain(added), 2);
    assert!(window.query_all_by_label(&total).next().is_some(), "{total}");
    let table = window.state().table().unwrap();
    assert!(table.contains("Viaduct\tAdd the one that looks up\topened"), "{table}");
    assert!(window.state().charts().unwrap().len() == 2);
}

/// Derived: a number that is typed changes the answer at once without flying anything anew, and undo brings it back; the scenario's
/// own history is untouched.
#[test]
fn a_number_is_typed_and_undone() {
    let mut window = open();
    let mut portfolio = small().portfolio;
    window.state_mut().focus_on_fleet(2);
    window.run_ok();
    let before = sentence(&portfolio, 2);
    assert!(shows(&window, &before));
    type_number(&mut window, "Viaduct, jobs a year", "2");
    settle(&mut window);
    portfolio.jobs[0].count = 2.0;
    let after = sentence(&portfolio, 2);
    assert_ne!(before, after);
    assert!(shows(&window, &after), "{after}");
    let state = window.state();
    assert!(state.portfolio().unwrap().is_changed() && !state.document().is_changed());
    assert_eq!(state.portfolio().unwrap().undo_label(), Some("Viaduct, jobs a year"));
    press(&mut window, Key::Z);
    settle(&mut window);
    assert!(shows(&window, &before));
    assert!(!window.state().portfolio().unwrap().is_changed());
    press_shifted(&mut window, Key::Z);
    settle(&mut window);
    assert!(shows(&window, &after));
    nothing_long_began();
}

/// Derived: every kind of input is found in its own panel under its own name, and an edit that would be wrong is refused.
#[test]
fn inputs_stand_in_their_panels() {
    let mut window = open();
    window.state_mut().focus_on_fleet(2);
    for (panel, label) in [
        ("Fleet", "Price of Treecreeper"),
        ("Firm", "Interest a year"),
        ("Ranges", "10 % of price of Viaduct"),
        ("Jobs", "Price of Viaduct"),
    ] {
        click(&mut window, panel);
        let sheet = window.state().purchase_sheet().unwrap();
        assert!(
            window.query_by_label(label).is_some(),
            "{label} in {panel}: {:?}, {}",
            sheet.panel,
            sheet.focus
        );
    }
    click(&mut window, "Fleet");
    type_number(&mut window, "Would fetch today of Dunnock", "2000");
    let portfolio = window.state().portfolio().unwrap().portfolio().clone();
    let text = write_portfolio(&portfolio);
    assert_eq!(text.matches("resale_today: 2000").count(), 4, "the same aircraft in all fleets that keep it");
    let mut document = PortfolioDocument::new(small(), PortfolioPlace::Example);
    let wrong = PortfolioEdit::Set(PortfolioInput::Low(0), 99.0);
    let why = document.edit(&wrong).unwrap_err();
    assert!(why.contains("must not be above the 90th"), "{why}");
    assert!(!document.is_changed());
    document.edit(&PortfolioEdit::Freed(FreedHours::NotPaid)).unwrap();
    assert_eq!(document.undo_label(), Some("hours saved"));
    // a drag is one step, whatever it passes through
    for count in [3.0, 4.0, 5.0] {
        document.edit(&PortfolioEdit::Set(PortfolioInput::Job(0, JobPart::Count), count)).unwrap();
    }
    document.undo();
    assert_eq!(document.portfolio().jobs[0].count.to_bits(), 8.0_f64.to_bits());
}

fn type_path(window: &mut Window, key: Key, path: &Path) {
    let other = if key == Key::S { Modifiers::ALT } else { Modifiers::SHIFT };
    window.key_press_modifiers(Modifiers::COMMAND.plus(other), key);
    window.run_ok();
    let field = |window: &Window| {
        let named = window.query_all_by_label_contains("Path");
        named.into_iter().find(|node| node.accesskit_node().is_text_input()).map(|node| node.focus())
    };
    field(window).unwrap();
    window.run_ok();
    press(window, Key::A);
    let named = window.query_all_by_label_contains("Path");
    named
        .into_iter()
        .find(|node| node.accesskit_node().is_text_input())
        .unwrap()
        .type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

/// Derived: the example is offered where nothing is open; saved, it lies in a file with its scenarios beside it; a scenario that is
/// something else since is said, and accepting it is written down.
#[test]
fn a_portfolio_is_saved_and_a_changed_scenario_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.ron");
    let empty = window(None, None);
    assert!(empty.query_by_label("Open the example").is_some());
    assert!(empty.query_by_label("Open a portfolio…").is_some());
    drop(empty);
    let mut window = open();
    type_number(&mut window, "Price of Viaduct", "1700");
    type_path(&mut window, Key::S, &path);
    let state = window.state();
    assert!(!state.portfolio().unwrap().is_changed());
    assert_eq!(state.portfolio().unwrap().path(), Some(path.as_path()));
    let saved = read_portfolio(&path).unwrap();
    assert!((saved.portfolio.jobs[0].money.price - 1700.0).abs() < 1e-9);
    assert!(saved.notes.is_empty() && saved.portfolio.jobs[0].held.is_some());
    assert!(is_portfolio(&fs::read(&path).unwrap()));
    let viaduct = folder.path().join("viaduct.ron");
    assert!(!is_portfolio(&fs::read(&viaduct).unwrap()));
    let mut scenario = saved.scenarios[0].clone();
    scenario.name = "Another name".to_owned();
    save_scenario(&viaduct, &scenario).unwrap();
    type_path(&mut window, Key::O, &path);
    settle(&mut window);
    assert!(shows(&window, "The scenario of Viaduct holds something else"));
    click(&mut window, "Accept the scenarios as they are");
    assert!(!shows(&window, "holds something else"));
    press(&mut window, Key::S);
    window.run_ok();
    assert_eq!(read_portfolio(&path).unwrap().notes, Vec::<String>::new());
}

/// Derived: saved into another folder a portfolio still names the same scenarios.
#[test]
fn scenarios_are_found_from_another_folder() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files::FIRM_SCENARIOS {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let mut read = small();
    read.portfolio.name = "Elsewhere".to_owned();
    let first = folder.path().join("first.ron");
    fs::write(&first, write_portfolio(&read.portfolio)).unwrap();
    let document = PortfolioDocument::new(read_portfolio(&first).unwrap(), PortfolioPlace::File(first));
    let below = folder.path().join("below");
    fs::create_dir(&below).unwrap();
    let other = below.join("second.ron");
    fs::write(&other, write_portfolio(&document.written_to(&other))).unwrap();
    assert_eq!(read_portfolio(&other).unwrap().scenarios, document.scenarios()[..]);
    let beside = folder.path().join("third.ron");
    assert_eq!(document.written_to(&beside).jobs[0].scenario, "viaduct.ron");
}

/// Derived: what is typed is kept within seconds, offered after a sudden end under its own name, and goes on with its file and its
/// number; saved, nothing of it is left.
#[test]
fn an_unsaved_portfolio_survives_a_sudden_end() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    for (name, text) in files::FIRM_SCENARIOS {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let path = folder.path().join("firm.ron");
    fs::write(&path, write_portfolio(&small().portfolio)).unwrap();
    let kept = || {
        let files = fs::read_dir(own.path().join("unsaved")).into_iter().flatten().flatten();
        files.filter(|file| file.path().extension().is_some_and(|end| end == "ron")).count()
    };
    {
        let document =
            PortfolioDocument::new(read_portfolio(&path).unwrap(), PortfolioPlace::File(path.clone()));
        let mut window = window(Some(document), Some(own.path()));
        settle(&mut window);
        type_number(&mut window, "Price of Viaduct", "1750");
        let until = window.ctx.input(|input| input.time) + 5.0;
        while window.ctx.input(|input| input.time) < until {
            window.step();
        }
        assert_eq!(kept(), 1);
    }
    let mut window = window(None, Some(own.path()));
    window.run_ok();
    assert!(shows(&window, "The program ended before this was saved"));
    assert!(shows(&window, "Three fleets for a small firm") && shows(&window, path.to_str().unwrap()));
    click(&mut window, "Recover");
    settle(&mut window);
    let recovered = window.state().portfolio().unwrap();
    assert!(recovered.is_changed() && recovered.path() == Some(path.as_path()));
    assert!((recovered.portfolio().jobs[0].money.price - 1750.0).abs() < 1e-9);
    assert!(!window.state().document().is_changed(), "the scenario is as it was");
    press(&mut window, Key::S);
    window.run_ok();
    assert!((read_portfolio(&path).unwrap().portfolio.jobs[0].money.price - 1750.0).abs() < 1e-9);
    assert_eq!(kept(), 0);
}

/// Derived: opening a portfolio leaves the scenario and its changes alone; another portfolio in its place is asked about first.
#[test]
fn nothing_unsaved_goes_unasked() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files::FIRM_SCENARIOS {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let path = folder.path().join("firm.ron");
    fs::write(&path, write_portfolio(&small().portfolio)).unwrap();
    let mut window = open();
    type_number(&mut window, "Price of Viaduct", "1750");
    type_path(&mut window, Key::O, &path);
    assert!(shows(&window, "The portfolio has changes that are not saved"));
    click(&mut window, "Cancel");
    assert!((window.state().portfolio().unwrap().portfolio().jobs[0].money.price - 1750.0).abs() < 1e-9);
    type_path(&mut window, Key::O, &path);
    click(&mut window, "Discard the changes");
    settle(&mut window);
    let state = window.state();
    assert_eq!(state.portfolio().unwrap().path(), Some(path.as_path()));
    assert!(!state.portfolio().unwrap().is_changed());
    assert_eq!(state.screen_shown(), Screen::PURCHASE);
}

/// Derived: the button asks for a path, and what is written there is a workbook.
#[test]
fn the_case_is_saved_as_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = open();
    assert!(window.query_by_label("Workbook…").is_some());
    let path = folder.path().join("case.xlsx");
    window.state_mut().save_workbook_to(&path).unwrap();
    settle(&mut window);
    let bytes = fs::read(&path).unwrap();
    assert!(bytes.starts_with(b"PK"), "{} bytes", bytes.len());
    assert!(shows(&window, "case.xlsx"), "it is said in passing");
}

/// Presses a button as the keyboard does, wherever it is scrolled to.
fn press_button(window: &mut Window, label: &str) {
    window.get_by_label(label).focus();
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

/// Derived: from nothing to an answer: two jobs on files, two aircraft, the fleet that is there and one against it; each step is undone
/// and brought back, and what is saved is the same when it is read.
#[test]
fn a_case_is_made_from_nothing() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files::FIRM_SCENARIOS {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let mut window = window(None, None);
    click(&mut window, "New purchase case");
    assert!(shows(&window, "Next: a job: its scenario, how often it comes a year, and its price."));
    for name in ["viaduct.ron", "quarry.ron"] {
        window.state_mut().add_job_of(&folder.path().join(name));
        window.run_ok();
    }
    assert!(shows(&window, "Next: the aircraft that you have"));
    let viaduct = read_portfolio(&folder.path().join("viaduct.ron"));
    assert!(viaduct.is_err(), "a scenario is no portfolio");
    let own = |window: &Window| window.state().portfolio().unwrap().portfolio().clone();
    for aircraft in small().portfolio.aircraft.iter().take(2) {
        let add = Making::AddAircraft(Box::new(aircraft.aircraft.clone()));
        window.state_mut().make_in_portfolio(&PortfolioEdit::Make(add));
        window.run_ok();
    }
    let names: Vec<String> = own(&window).aircraft.iter().map(|own| own.aircraft.name.clone()).collect();
    assert!(shows(&window, "Next: the fleet that you have"));
    press_button(&mut window, &format!("Keep {}", names[0]));
    assert!(shows(&window, "Next: a fleet to hold against what you have"));
    press_button(&mut window, &format!("Buy {} beside yours", names[1]));
    window.state_mut().make_in_portfolio(&PortfolioEdit::Settings(JobSettings::EqualGsd));
    settle(&mut window);
    let sheet = window.state().purchase_sheet().unwrap();
    assert!(sheet.known.is_some() && sheet.lacks.is_empty());
    assert!(shows(&window, &format!("price of {}", names[1])), "what is still 0 is said");
    assert!(shows(&window, "not an answer yet") && !shows(&window, "✔ pays"));
    // jobs change places, one is copied and taken out, and all of it is undone
    let before = own(&window);
    let job = before.jobs[1].name.clone();
    press_button(&mut window, &format!("Move {job} up"));
    assert_eq!(own(&window).jobs[0].name, job);
    press_button(&mut window, &format!("Copy {job}"));
    assert_eq!(own(&window).jobs[1].name, format!("{job} 2"));
    press_button(&mut window, &format!("Remove {}", before.jobs[0].name));
    assert_eq!(own(&window).jobs.len(), 2);
    for _ in 0..3 {
        press(&mut window, Key::Z);
    }
    assert_eq!(own(&window), before);
    press_shifted(&mut window, Key::Z);
    assert_eq!(own(&window).jobs[0].name, job);
    press(&mut window, Key::Z);
    settle(&mut window);
    let path = folder.path().join("own.ron");
    type_path(&mut window, Key::S, &path);
    let saved = read_portfolio(&path).unwrap();
    assert_eq!(saved.portfolio, *own(&window));
    assert_eq!(saved.portfolio.jobs[0].scenario, "viaduct.ron", "named from the folder that both lie in");
    assert!(saved.notes.is_empty());
}

/// Derived: whatever is done to the lists of a portfolio leaves one without faults, whose file gives it back, and undo leads back to
/// where it began.
#[test]
fn lists_stay_sound_whatever_is_done() {
    let mut dice = crate::generate::Dice::new(77);
    let begun = files::example_portfolio().unwrap();
    let mut document = PortfolioDocument::new(begun, PortfolioPlace::Example);
    let first = document.portfolio().clone();
    let (mut done, mut steps) = (0, 0);
    for _ in 0..400 {
        let (jobs, fleets) = (document.portfolio().jobs.len(), document.portfolio().fleets.len());
        let at =
            |dice: &mut crate::generate::Dice, count: usize| dice.whole(0, count.max(1) as u32 - 1) as usize;
        let (job, fleet) = (at(&mut dice, jobs), at(&mut dice, fleets));
        let aircraft = at(&mut dice, document.portfolio().aircraft.len());
        let name = document.portfolio().aircraft.get(aircraft).map(|own| own.aircraft.name.clone());
        let members = document.portfolio().fleets.get(fleet).map_or(0, |own| own.members.len());
        let member = at(&mut dice, members);
        let of = match dice.whole(0, 3) {
            0 => Listed::Job(job),
            1 => Listed::Aircraft(aircraft),
            2 => Listed::Fleet(fleet),
            _ => Listed::Member(fleet, member),
        };
        let making = match dice.whole(0, 9) {
            0 if dice.chance(0.5) => Making::Remove(of),
            0 | 1 => Making::Copy(of),
            2 => Making::Up(of),
            3 => Making::Down(of),
            4 => Making::Name(of, format!("Called {}", dice.whole(0, 5))),
            5 => Making::Subcontract,
            6 => Making::UsualRanges,
            7 => Making::Hold(fleet, member, Way::ALL[at(&mut dice, 4)]),
            8 => Making::Asks(job, vec!["insured".to_owned()]),
            _ => Making::Candidate(name.unwrap_or_default(), Way::Lease, BesideOrInstead::Beside),
        };
        let (before, label) = (document.portfolio().clone(), document.undo_label().map(str::to_owned));
        match document.edit(&PortfolioEdit::Make(making)) {
            Ok(()) => done += usize::from(document.portfolio() != &before),
            Err(_) => {
                assert_eq!(
                    (document.portfolio(), document.undo_label().map(str::to_owned)),
                    (&before, label)
                );
            }
        }
        document.end_gesture();
        let now = document.portfolio();
        assert!(now.faults().is_empty());
        assert_eq!(document.scenarios().len(), now.jobs.len());
        steps += usize::from(
            obliquity_exchange::parse_portfolio(&write_portfolio(now), "own.ron").unwrap() == **now,
        );
    }
    assert!(done > 100 && steps == 400, "{done} {steps}");
    while document.undo_label().is_some() {
        document.undo();
    }
    assert_eq!(*document.portfolio(), first);
}

/// Derived: a job more flies what is new and nothing else, and comes to what flying all of it comes to; with nothing new not even a
/// work that is given up at once is asked. What is not hired flies as its aircraft does.
#[test]
fn what_is_known_is_not_flown_anew() {
    struct GivesUp;
    impl Watch for GivesUp {
        fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
            Err(Cancelled)
        }
    }
    let read = small();
    let mut more = read.portfolio.clone();
    let copied = PortfolioJob { name: "Again".to_owned(), ..more.jobs[0].clone() };
    more.jobs.push(copied);
    let scenarios = [read.scenarios[0].clone(), read.scenarios[0].clone()];
    let of = FlightsOf::new(&more);
    let (first, other) = (Store::new(64 << 20), Store::new(64 << 20));
    let all = Evaluator { store: &first, watch: &NoWatch }.flights(&of, &scenarios).unwrap();
    let unwilling = Evaluator { store: &other, watch: &GivesUp };
    assert_eq!(unwilling.flights_after(&of, &scenarios, Some(&FLIGHTS)).unwrap(), all);
    assert!(unwilling.flights(&of, &scenarios).is_err(), "without what is known it would have to fly");
    let changed = FlightsOf::new(&Portfolio { settings: JobSettings::EqualHeight, ..more.clone() });
    assert!(
        unwilling.flights_after(&changed, &scenarios, Some(&FLIGHTS)).is_err(),
        "other settings are flown"
    );
    let purchase = all.purchase(&more);
    let mut told = 0;
    for (fleet, members) in more.fleets.iter().zip(&purchase.members) {
        for (member, flown) in fleet.members.iter().zip(members) {
            let PortfolioMember::Aircraft { name, holding } = member else {
                assert_eq!(*flown, None);
                continue;
            };
            let place = more.aircraft.iter().position(|own| own.aircraft.name == *name).unwrap();
            if holding.hire_a_day() == 0.0 {
                assert_eq!(flown, &purchase.flown[place], "{name}");
                told += 1;
            }
        }
    }
    assert!(told >= 4, "{told}");
}
