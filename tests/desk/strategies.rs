//! What is done to strategies as a whole: named, undone, and identifiers survive.

use crate::made_up::{self, CROSSED, FIVE, NADIR};
use obliquity::document::{Document, Edit, EditError, Holding};
use obliquity::strategies::{Change, ChangeError, Lead, MOST_STRATEGIES, Toward, leading};
use obliquity_exchange::Slots;
use obliquity_exchange::{parse_scenario, write_scenario};
use obliquity_planning::{Above, Depth, Distance, Hold, Id, Pattern, StripDirection, Strips, Template};
use std::sync::Arc;

fn document() -> Document {
    Document::new(made_up::scenario(), None)
}

fn make(document: &mut Document, change: Change) {
    document.edit(&Edit::Strategy(change)).unwrap();
}

fn ids(document: &Document) -> Vec<Id> {
    document.scenario().strategies.iter().map(|strategy| strategy.id).collect()
}

fn names(document: &Document) -> Vec<&str> {
    document.scenario().strategies.iter().map(|strategy| strategy.name.as_str()).collect()
}

#[test]
fn every_change_is_a_named_step_that_comes_back() {
    let height = Distance::Height { m: 60.0, above: Above::MeanGround };
    let changes = [
        (Change::Add { template: Template::CycledGimbal }, "add Cycled gimbal"),
        (Change::Duplicate(NADIR), "duplicate Nadir block"),
        (Change::Rename(CROSSED, "Two ways".to_owned()), "rename Crossed strips"),
        (Change::Move(FIVE, Toward::Left), "move Five-direction oblique left"),
        (Change::Reference(Some(CROSSED)), "differences from Two ways"),
        (
            Change::Lead { strategy: NADIR, lead: Lead::Height, distances: vec![(Id(10), height)] },
            "Nadir block set by height",
        ),
        (
            Change::Direction { strategy: FIVE, from_north_deg: Some(30.0) },
            "strip direction of Five-direction oblique",
        ),
        (Change::Remove(NADIR), "remove Nadir block"),
    ];
    let mut document = document();
    let first = Arc::clone(document.scenario());
    let mut after = Vec::new();
    for (change, label) in changes {
        make(&mut document, change);
        assert_eq!(document.undo_label(), Some(label));
        assert_eq!(document.scenario().faults(), Vec::new(), "after {label}");
        after.push(Arc::clone(document.scenario()));
    }
    while document.undo_label().is_some() {
        document.undo();
    }
    assert!(Arc::ptr_eq(document.scenario(), &first));
    for scenario in after {
        document.redo();
        assert!(Arc::ptr_eq(document.scenario(), &scenario));
    }
    assert_eq!(document.redo_label(), None);
}

#[test]
fn a_new_strategy_has_identifiers_of_its_own_and_flies_as_its_neighbour_does() {
    let mut document = document();
    make(&mut document, Change::Add { template: Template::NadirBlock });
    make(&mut document, Change::Duplicate(CROSSED));
    assert_eq!(
        names(&document),
        ["Nadir block", "Crossed strips", "Crossed strips 2", "Five-direction oblique", "Nadir block 2"]
    );
    let scenario = document.scenario();
    assert_eq!(scenario.faults(), Vec::new(), "identifiers are unique");
    let added = scenario.strategies.last().unwrap();
    assert_eq!(added.passes[0].distance, Distance::Height { m: 80.0, above: Above::MeanGround });
    let (copy, original) = (&scenario.strategies[2], &scenario.strategies[1]);
    assert_eq!(copy.passes[1].attitudes, original.passes[1].attitudes);
}

#[test]
fn identifiers_survive_moving_and_renaming() {
    let mut document = document();
    make(&mut document, Change::Move(NADIR, Toward::Right));
    make(&mut document, Change::Rename(NADIR, "  Straight down ".to_owned()));
    assert_eq!(ids(&document), [CROSSED, NADIR, FIVE]);
    assert_eq!(names(&document), ["Crossed strips", "Straight down", "Five-direction oblique"]);
    make(&mut document, Change::Move(CROSSED, Toward::Left));
    assert_eq!(ids(&document), [CROSSED, NADIR, FIVE], "it stands at the end already");
    assert_eq!(document.undo_label(), Some("rename Nadir block"), "so there is no step");
}

#[test]
fn removing_the_reference_leaves_none() {
    let mut document = document();
    make(&mut document, Change::Reference(Some(FIVE)));
    make(&mut document, Change::Remove(FIVE));
    assert_eq!(document.scenario().reference, None);
    document.undo();
    assert_eq!(document.scenario().reference, Some(FIVE));
}

#[test]
fn what_does_not_fit_is_refused() {
    let mut document = document();
    let mut refused = |change| document.edit(&Edit::Strategy(change)).unwrap_err();
    let because = |error| EditError::Strategy(error);
    assert_eq!(refused(Change::Rename(NADIR, "  ".to_owned())), because(ChangeError::BadName(0)));
    assert_eq!(refused(Change::Remove(Id(99))), because(ChangeError::NoSuchStrategy(Id(99))));
    assert_eq!(
        refused(Change::Swap { strategy: NADIR, aircraft: Id(9) }),
        because(ChangeError::NoSuchAircraft(Id(9)))
    );
    for _ in 3..MOST_STRATEGIES {
        make(&mut document, Change::Duplicate(NADIR));
    }
    let one_more = Edit::Strategy(Change::Add { template: Template::NadirBlock });
    assert_eq!(document.edit(&one_more), Err(because(ChangeError::TooMany)));
}

// Derived: a level camera's GSD is pitch × height / focal length: 3 µm × 80 m / 12 mm = 2 cm.
#[test]
fn the_lead_changes_at_the_present_value() {
    let mut document = document();
    let outcome = made_up::outcome(document.scenario(), CROSSED, Depth::Quick);
    let distances = leading(&outcome, Lead::Gsd);
    make(&mut document, Change::Lead { strategy: CROSSED, lead: Lead::Gsd, distances });
    for pass in &document.scenario().strategy(CROSSED).unwrap().passes {
        let Distance::Gsd { cm, .. } = pass.distance else { panic!("the GSD leads") };
        assert!((cm - 2.0).abs() < 1e-9, "only the last bits of the arithmetic may differ: {cm}");
    }
}

#[test]
fn a_direction_turns_all_passes_and_lets_go_again() {
    let mut scenario = made_up::scenario();
    for (pass, turned_deg) in scenario.strategies[1].passes.iter_mut().zip([0.0, 90.0]) {
        let Pattern::Strips(Strips { direction, .. }) = &mut pass.pattern else { panic!("strips") };
        *direction = StripDirection::Automatic { turned_deg };
    }
    let first = scenario.clone();
    let mut document = Document::new(scenario, None);
    let directions = |document: &Document| {
        let passes = &document.scenario().strategy(CROSSED).unwrap().passes;
        let directions = passes.iter().map(|pass| {
            let Pattern::Strips(Strips { direction, .. }) = pass.pattern else { panic!("strips") };
            direction
        });
        directions.collect::<Vec<_>>()
    };
    make(&mut document, Change::Direction { strategy: CROSSED, from_north_deg: Some(300.0) });
    assert_eq!(
        directions(&document),
        [StripDirection::FromNorth { deg: 300.0 }, StripDirection::FromNorth { deg: 30.0 }]
    );
    make(&mut document, Change::Direction { strategy: CROSSED, from_north_deg: None });
    assert_eq!(**document.scenario(), first);
}

#[test]
fn what_is_held_is_undone_with_the_edit_and_ends_when_something_else_leads() {
    let mut document = document();
    let holding = Holding { hold: Hold::Height, lead: NADIR, out_of_reach: Vec::new() };
    let height = |m| Distance::Height { m, above: Above::MeanGround };
    let mut pass = document.scenario().pass(Id(20)).unwrap().clone();
    pass.distance = height(70.0);
    document.edit(&Edit::Hold { holding: Some(holding.clone()), passes: vec![pass] }).unwrap();
    assert_eq!((document.holding(), document.undo_label()), (Some(&holding), Some("equal height")));
    let lead = Change::Lead {
        strategy: NADIR,
        lead: Lead::Gsd,
        distances: vec![(Id(10), Distance::Gsd { cm: 2.0, above: Above::MeanGround })],
    };
    make(&mut document, lead);
    assert_eq!(document.holding(), None, "a GSD leads one of them");
    document.undo();
    assert_eq!(document.holding(), Some(&holding));
    document.undo();
    assert_eq!(document.holding(), None);
    assert_eq!(**document.scenario(), made_up::scenario());
}

// Derived: by the rule; the colours of those that stay must not change, and what is written and read back has the same.
#[test]
fn a_colour_stays_with_its_strategy() {
    let mut document = document();
    let of = |document: &Document, ids: &[Id]| {
        let now = Slots::of(document.scenario());
        let text = write_scenario(document.scenario());
        let reopened = Slots::of(&parse_scenario(&text, "a test").unwrap());
        let both = ids.iter().map(|&id| (now.slot(id), reopened.slot(id)));
        both.map(|(now, reopened)| {
            assert_eq!(now, reopened, "reopened, a colour is another one");
            now
        })
        .collect::<Vec<_>>()
    };
    assert_eq!(of(&document, &[NADIR, CROSSED, FIVE]), [0, 1, 2]);
    make(&mut document, Change::Move(FIVE, Toward::Left));
    make(&mut document, Change::Remove(NADIR));
    assert_eq!(of(&document, &[CROSSED, FIVE]), [1, 2]);
    make(&mut document, Change::Add { template: Template::NadirBlock });
    let added = document.scenario().strategies.last().unwrap().id;
    assert_eq!(of(&document, &[CROSSED, FIVE, added]), [1, 2, 0], "the colour that nobody has any more");
    for _ in 3..MOST_STRATEGIES {
        make(&mut document, Change::Duplicate(CROSSED));
    }
    let slots = Slots::of(document.scenario());
    assert_eq!(of(&document, &[CROSSED, FIVE, added]), [1, 2, 0]);
    let mut used: Vec<usize> = ids(&document).iter().map(|id| slots.slot(*id)).collect();
    used.sort_unstable();
    used.dedup();
    assert_eq!(used.len(), ids(&document).len(), "no two of those that are there share one");
}
