//! Drawing the site, without a screen: snapping, gestures and their undoing, keys against the pointer.

use crate::made_up::{self, CROSSED};
use glam::DVec2;
use obliquity::document::Document;
use obliquity::drawn_edits;
use obliquity::plan::draw::{
    Angle, Closed, Draw, DrawForm, DrawKey, DrawView, Hold, KeyUse, Outlines, Rail, Reach, Run, SnapTo,
    Snapping, Stride, Tool, beside_pointer, hint, moved, squares_after, squares_at, turned,
};
use obliquity::target::Target;
use obliquity::units::Units;
use obliquity_exchange::write_scenario;
use obliquity_planning::{Id, Pattern, PatternKind, Scenario, Site, StructureKind, outline_faults, polygon};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};
use std::sync::Arc;

/// The shed of the made-up yard: from (100, 80) to (160, 120), 12 m high.
const SHED: Target = Target::Structure(Id(1));

struct Dice(Pcg64);

impl Dice {
    fn new(seed: u64) -> Self {
        Dice(Pcg64::seed_from_u64(seed))
    }

    /// Evenly between two numbers.
    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, count: usize) -> usize {
        (self.0.next_u64() % count as u64) as usize
    }

    fn place(&mut self) -> DVec2 {
        DVec2::new(self.between(-20.0, 320.0), self.between(-20.0, 220.0))
    }
}

/// A document that is drawn on.
struct Board {
    document: Document,
    draw: Draw,
    snapping: Snapping,
}

impl Board {
    fn new() -> Self {
        Board {
            document: Document::new(made_up::scenario(), None),
            draw: Draw::default(),
            snapping: Snapping::On,
        }
    }

    fn site(&self) -> Site {
        (*self.document.scenario().site).clone()
    }

    /// Does something with the present outlines, then what it asks for.
    fn with<T>(&mut self, act: impl FnOnce(&mut Draw, DrawView<'_>) -> T) -> T {
        let outlines = Outlines::of(self.document.scenario(), Some(CROSSED));
        self.draw.follow(&outlines);
        let seen = DrawView {
            outlines: &outlines,
            reach_m: 1.0,
            angle_reach_m: 1.0,
            snapping: self.snapping,
            units: Units::Metric,
        };
        let done = act(&mut self.draw, seen);
        drawn_edits::follow(&mut self.document, &mut self.draw, Some(CROSSED));
        done
    }

    fn click(&mut self, east: f64, north: f64) {
        let at_m = DVec2::new(east, north);
        self.with(|draw, seen| draw.pointer(seen, at_m));
        self.with(|draw, seen| draw.click(seen, at_m));
        self.document.end_gesture();
    }

    fn key(&mut self, key: DrawKey) -> KeyUse {
        let used = self.with(|draw, seen| draw.key(seen, key));
        self.document.end_gesture();
        used
    }

    fn type_in(&mut self, text: &str) {
        for letter in text.chars() {
            self.key(DrawKey::Letter(letter));
        }
        self.key(DrawKey::Enter);
    }

    fn take(&mut self, at_m: DVec2) -> Hold {
        self.with(|draw, seen| draw.take_hold(seen, at_m))
    }

    fn to(&mut self, at_m: DVec2) {
        self.with(|draw, seen| draw.pointer(seen, at_m));
    }

    fn drop(&mut self) {
        self.with(|draw, _| draw.let_go());
        self.document.end_gesture();
    }

    fn drag(&mut self, from: (f64, f64), to: (f64, f64)) -> Hold {
        let (from_m, to_m) = (DVec2::from(from), DVec2::from(to));
        let hold = self.take(from_m);
        for share in [0.3, 0.7, 1.0] {
            self.to(from_m.lerp(to_m, share));
        }
        self.drop();
        hold
    }

    fn steps(&self) -> usize {
        let mut document = self.document.clone();
        std::iter::from_fn(|| document.undo_label().is_some().then(|| document.undo())).count()
    }

    fn shed(&self) -> Vec<DVec2> {
        Outlines::of(self.document.scenario(), None).corners_m(SHED).unwrap()
    }
}

fn ring(corners: &[(f64, f64)]) -> Vec<DVec2> {
    corners.iter().map(|corner| DVec2::from(*corner)).collect()
}

/// Derived: moved and turned together with everything, the same place is found, for the same reason.
#[test]
fn snapping_knows_no_frame() {
    let mut dice = Dice::new(11);
    let mut snapped = 0;
    for _ in 0..2_000 {
        let corners: Vec<DVec2> = (0..5).map(|_| dice.place()).collect();
        let other: Vec<DVec2> = (0..4).map(|_| dice.place()).collect();
        let at = dice.below(5);
        let near = [corners[at], corners[(at + 1) % 5].midpoint(corners[at]), other[0].lerp(other[1], 0.3)];
        let at_m = near[dice.below(3)] + DVec2::new(dice.between(-4.0, 4.0), dice.between(-4.0, 4.0));
        let to = |turn: &dyn Fn(DVec2) -> DVec2| {
            let corners: Vec<DVec2> = corners.iter().map(|c| turn(*c)).collect();
            let rails = vec![Rail {
                name: "Other".to_owned(),
                corners_m: other.iter().map(|c| turn(*c)).collect(),
                closed: Closed::Yes,
            }];
            let between = Some((corners[(at + 4) % 5], corners[(at + 1) % 5]));
            let square = squares_at(&corners, Closed::Yes, at);
            SnapTo { rails, square, between, but_m: None }.find(turn(at_m), 3.0)
        };
        let (by, way) = (dice.place() * 3.0, DVec2::from_angle(dice.between(0.0, std::f64::consts::TAU)));
        let turn = |at_m: DVec2| way.rotate(at_m) + by;
        let (plain, turned) = (to(&|at_m| at_m), to(&turn));
        assert_eq!(plain.why, turned.why);
        // Numbers of some hundred metres keep 1e-13; two lines that meet at no less than 6° lose a factor of 10.
        assert!(turn(plain.at_m).distance(turned.at_m) < 1e-9, "{plain:?} {turned:?}");
        assert_eq!(plain.guides_m.len(), turned.guides_m.len());
        snapped += usize::from(!plain.why.is_empty());
    }
    assert!((400..1_900).contains(&snapped), "some snap, some do not: {snapped}");
}

/// Derived: what is snapped to is within one and a half times the reach, and a right angle is one.
#[test]
fn a_right_angle_is_right_and_never_far() {
    let mut dice = Dice::new(5);
    let mut right = 0;
    for _ in 0..1_000 {
        let corners: Vec<DVec2> = (0..4).map(|_| dice.place()).collect();
        let at_m = dice.place();
        let square = squares_at(&corners, Closed::Yes, 2);
        let snap = SnapTo { square, ..SnapTo::default() }.find(at_m, 8.0);
        assert!(snap.at_m.distance(at_m) <= 12.0);
        for (from_m, to_m) in snap.guides_m.iter().filter(|_| snap.why.starts_with("right angle")) {
            let side = if *from_m == corners[1] { corners[0] - corners[1] } else { corners[0] - corners[3] };
            let cosine = (*to_m - *from_m).normalize_or_zero().dot(side.normalize_or_zero());
            // "twice" and "straight on" have both lines among the guides.
            right += usize::from(cosine.abs() < 1e-9);
        }
    }
    assert!(right > 50, "{right}");
}

/// Derived: by hand.
#[test]
fn corners_go_before_edges_and_a_square_corner_before_both_lines() {
    let rail =
        Rail { name: "Hall".to_owned(), corners_m: ring(&[(0.0, 0.0), (50.0, 0.0)]), closed: Closed::No };
    let to = SnapTo { rails: vec![rail.clone()], ..SnapTo::default() };
    let found = to.find(DVec2::new(49.5, 0.4), 1.0);
    assert_eq!((found.at_m, found.why.as_str()), (DVec2::new(50.0, 0.0), "corner of Hall"));
    let found = to.find(DVec2::new(20.0, 0.4), 1.0);
    assert_eq!((found.at_m, found.why.as_str()), (DVec2::new(20.0, 0.0), "edge of Hall"));
    let square = squares_after(DVec2::new(30.0, 20.0), DVec2::new(20.3, 20.0));
    assert!(square.iter().any(|square| square.angle == Angle::Right));
    let both = SnapTo { rails: vec![rail], square, ..SnapTo::default() }.find(DVec2::new(20.6, 0.5), 1.0);
    assert_eq!(both.at_m, DVec2::new(20.3, 0.0));
    assert_eq!(both.why, "right angle, edge of Hall");
}

/// Derived: areas and sides stay to the rounding of corners to the millimetre.
#[test]
fn moving_and_turning_keep_the_shape() {
    let mut dice = Dice::new(3);
    for _ in 0..300 {
        let corners: Vec<DVec2> = (0..6).map(|_| dice.place()).collect();
        let there = turned(&moved(&corners, dice.place()), dice.between(0.0, 360.0));
        for k in 0..6 {
            let side = |ring: &[DVec2]| ring[k].distance(ring[(k + 1) % 6]);
            // Each of two corners is rounded twice, by at most 0.71 mm.
            assert!((side(&corners) - side(&there)).abs() < 4.0 * 0.71e-3);
        }
    }
}

#[test]
fn a_dragged_corner_is_one_step_and_undone_gives_the_same_bytes() {
    let mut board = Board::new();
    let before = write_scenario(board.document.scenario());
    board.click(130.0, 100.0);
    assert_eq!(board.draw.chosen(), Some(SHED));
    assert_eq!(board.steps(), 0, "choosing changes nothing");
    assert_eq!(board.drag((160.0, 120.0), (175.0, 131.0)), Hold::Taken);
    assert_eq!(board.shed()[2], DVec2::new(175.0, 131.0));
    assert_eq!(board.document.undo_label(), Some("corner 3 of Shed"));
    assert_eq!(board.steps(), 1);
    let after = write_scenario(board.document.scenario());
    board.document.undo();
    assert_eq!(write_scenario(board.document.scenario()), before);
    board.document.redo();
    assert_eq!(write_scenario(board.document.scenario()), after);
}

/// Derived: from the corner (160, 120) along its own sides a right angle stays within 1 m of the side's line.
#[test]
fn a_dragged_corner_snaps_to_right_angles_unless_told_not_to() {
    let mut board = Board::new();
    board.click(130.0, 100.0);
    board.drag((160.0, 120.0), (170.0, 120.6));
    assert_eq!(board.shed()[2], DVec2::new(170.0, 120.0), "square with the neighbour's side");
    board.document.undo();
    board.snapping = Snapping::Off;
    board.drag((160.0, 120.0), (170.0, 120.6));
    assert_eq!(board.shed()[2], DVec2::new(170.0, 120.6));
}

/// Derived: 0.3 m and 0.4 m from where it was, a corner is 0.5 m away, half of what is taken for meant.
#[test]
fn a_dragged_corner_does_not_go_back_by_itself() {
    let mut board = Board::new();
    board.click(130.0, 100.0);
    board.drag((160.0, 120.0), (160.3, 120.4));
    assert_ne!(board.shed()[2], DVec2::new(160.0, 120.0));
    assert!(board.shed()[2].distance(DVec2::new(160.3, 120.4)) < 0.5);
}

/// Derived: over a picture a right angle is meant from 0.4 m, a corner that is drawn from 1 m.
#[test]
fn over_a_picture_right_angles_pull_less_than_corners() {
    let square = squares_after(DVec2::ZERO, DVec2::new(50.0, 0.0));
    let rail = Rail {
        name: "Hall".to_owned(),
        corners_m: ring(&[(80.0, 0.0), (90.0, 0.0), (90.0, 9.0)]),
        closed: Closed::Yes,
    };
    let to = SnapTo { rails: vec![rail], square, ..SnapTo::default() };
    let over = Reach { drawn_m: 1.0, angle_m: 0.4 };
    let off = DVec2::new(50.7, 30.0);
    assert_eq!(to.find(off, 1.0).why, "right angle");
    assert_eq!(to.find_within(off, over).at_m, off);
    let on = to.find_within(DVec2::new(50.3, 30.0), over);
    assert_eq!((on.at_m, on.why.as_str()), (DVec2::new(50.0, 30.0), "right angle"));
    assert_eq!(to.find_within(DVec2::new(80.0, 0.9), over).why, "corner of Hall");
}

/// A shape chosen for one tool is not that of the next, and comes back with its own.
#[test]
fn every_tool_keeps_its_own_shape() {
    let mut draw = Draw::default();
    for tool in [Tool::Boundary, Tool::Building, Tool::Deck, Tool::KeepOut] {
        draw.take_up(tool);
        assert_eq!(draw.form(), DrawForm::Corners, "{tool:?} begins so");
    }
    draw.take_up(Tool::Building);
    draw.draw_as(DrawForm::Circle);
    draw.take_up(Tool::KeepOut);
    assert_eq!(draw.form(), DrawForm::Corners);
    draw.draw_as(DrawForm::Rectangle);
    draw.take_up(Tool::Building);
    assert_eq!(draw.form(), DrawForm::Circle);
    draw.take_up(Tool::KeepOut);
    assert_eq!(draw.form(), DrawForm::Rectangle);
}

/// Derived: two opposite corners, clicked, dragged between, or typed as sides, are one and the same rectangle along the screen,
/// in one step; its width and depth are told before.
#[test]
fn a_rectangle_is_drawn_by_opposite_corners() {
    let wanted = ring(&[(40.0, 150.0), (70.0, 150.0), (70.0, 138.0), (40.0, 138.0)]);
    for way in 0..4 {
        let mut board = Board::new();
        board.draw.take_up(Tool::KeepOut);
        board.key(DrawKey::Letter('r'));
        let (from_m, to_m) = (DVec2::new(40.0, 150.0), DVec2::new(70.0, 138.0));
        match way {
            0 => {
                board.click(40.0, 150.0);
                board.to(to_m);
                let outlines = Outlines::of(board.document.scenario(), None);
                assert_eq!(beside_pointer(&board.draw, &outlines, Units::Metric)[0], "30 m x 12 m");
                board.click(70.0, 138.0);
            }
            1 => {
                assert_eq!(board.take(from_m), Hold::Taken);
                board.to(to_m);
                board.with(|draw, seen| draw.release(seen, to_m));
                board.document.end_gesture();
            }
            2 => {
                board.type_in("40e 150n");
                board.key(DrawKey::Nudge { way: DVec2::NEG_Y, stride: Stride::Whole, run: Run::First });
                board.type_in("30 x 12");
            }
            _ => {
                board.type_in("40e 150n");
                board.type_in("30e -12n");
            }
        }
        assert_eq!(board.site().keep_outs[0].outline_m, wanted, "way {way}");
        assert_eq!(board.steps(), 1);
    }
}

/// Derived: one that begins on an edge of a building that stands at 45° lies along it, and so does one for which that edge was
/// chosen by its key; the key over no edge goes back to the screen. A place on one line is no rectangle.
#[test]
fn a_rectangle_lies_along_an_edge() {
    let mut board = Board::new();
    board.draw.take_up(Tool::KeepOut);
    board.draw.draw_as(DrawForm::Side);
    for (east, north) in [(200.0, 140.0), (220.0, 160.0), (210.0, 170.0)] {
        board.click(east, north);
    }
    let square_to = |outline: &[DVec2], along: DVec2| {
        let side = (outline[1] - outline[0]).normalize();
        assert_eq!(outline.len(), 4);
        assert!(
            side.perp_dot(along.normalize()).abs() < 1e-3,
            "{outline:?}: corners are kept to the millimetre"
        );
    };
    let outline = |board: &Board, k: usize| board.site().keep_outs[k].outline_m.clone();
    let slanted = DVec2::new(1.0, 1.0);
    board.draw.take_up(Tool::KeepOut);
    board.draw.draw_as(DrawForm::Rectangle);
    board.click(210.0, 150.0);
    assert!(
        hint(&board.draw, &Outlines::of(board.document.scenario(), None), Units::Metric)
            .contains("Along an edge")
    );
    board.click(230.0, 145.0);
    square_to(&outline(&board, 1), slanted);
    board.draw.take_up(Tool::KeepOut);
    board.to(DVec2::new(205.2, 145.0));
    board.key(DrawKey::Letter('a'));
    board.click(30.0, 140.0);
    board.click(50.0, 170.0);
    square_to(&outline(&board, 2), slanted);
    board.draw.take_up(Tool::KeepOut);
    board.to(DVec2::new(100.0, 185.0));
    board.key(DrawKey::Letter('a'));
    board.click(100.0, 185.0);
    board.click(130.0, 185.0);
    assert_eq!(board.site().keep_outs.len(), 3, "no width: {:?}", board.draw.notice());
    assert!(board.draw.notice().is_some());
    board.click(130.0, 170.0);
    square_to(&outline(&board, 3), DVec2::X);
    assert_eq!(board.steps(), 4);
}

/// Derived: a drag is a click where it begins and one where it ends.
#[test]
fn a_drag_draws_what_two_clicks_do() {
    for (form, more) in [(DrawForm::Circle, &[][..]), (DrawForm::Side, &[(60.0, 170.0)][..])] {
        let [clicked, dragged] = [true, false].map(|clicks| {
            let mut board = Board::new();
            board.draw.take_up(Tool::KeepOut);
            board.draw.draw_as(form);
            if clicks {
                board.click(40.0, 150.0);
                board.click(60.0, 150.0);
            } else {
                let (from_m, to_m) = (DVec2::new(40.0, 150.0), DVec2::new(60.0, 150.0));
                assert_eq!(board.take(from_m), Hold::Taken);
                board.to(to_m);
                board.with(|draw, seen| draw.release(seen, to_m));
                board.document.end_gesture();
            }
            for (east, north) in more {
                board.click(*east, *north);
            }
            assert_eq!(board.steps(), 1);
            board.site()
        });
        assert_eq!(clicked.keep_outs.len(), 1);
        assert_eq!(clicked, dragged, "{form:?}");
    }
}

#[test]
fn a_shape_that_crosses_itself_is_shown_so_and_goes_back() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    board.click(130.0, 100.0);
    board.take(DVec2::new(160.0, 120.0));
    board.to(DVec2::new(150.0, 110.0));
    board.to(DVec2::new(90.0, 100.0));
    let held = board.draw.held().unwrap();
    assert!(held.crossed().unwrap().contains("must not cross"), "{held:?}");
    assert_eq!(held.now_m[2], DVec2::new(90.0, 100.0), "the corner follows the pointer");
    assert_eq!(board.shed()[2], DVec2::new(150.0, 110.0), "the document has the last sound one");
    board.drop();
    assert!(board.draw.notice().unwrap().ends_with("It went back."), "{:?}", board.draw.notice());
    assert_eq!((board.document.scenario(), board.steps()), (&before, 0));
    // Through the crossing and out again is fine.
    board.take(DVec2::new(160.0, 120.0));
    board.to(DVec2::new(90.0, 100.0));
    board.to(DVec2::new(170.0, 125.0));
    board.drop();
    assert_eq!((board.shed()[2], board.steps()), (DVec2::new(170.0, 125.0), 1));
}

#[test]
fn escape_lets_go_and_everything_is_as_before() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    board.click(130.0, 100.0);
    board.take(DVec2::new(130.0, 100.0));
    board.to(DVec2::new(140.0, 90.0));
    assert_ne!(board.document.scenario(), &before);
    assert_eq!(board.key(DrawKey::Escape), KeyUse::Used);
    assert_eq!((board.document.scenario(), board.steps(), board.draw.held()), (&before, 0, None));
}

#[test]
fn the_document_refuses_with_a_reason_and_nothing_stays() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    // The take-off point of the yard is at (20, 20).
    board.draw.take_up(Tool::KeepOut);
    board.draw.draw_as(DrawForm::Circle);
    board.click(20.0, 25.0);
    board.click(20.0, 40.0);
    let why = board.draw.notice().unwrap().to_owned();
    assert!(why.contains("take-off point must lie outside every keep-out"), "{why}");
    assert_eq!((board.document.scenario(), board.steps()), (&before, 0));
    assert_eq!(board.draw.tool(), Tool::KeepOut, "what was drawn is taken up again");
    board.key(DrawKey::Escape);
    board.click(200.0, 60.0);
    board.click(200.0, 70.0);
    assert_eq!(board.document.scenario().site.keep_outs.len(), 1);
    // Dragged over the take-off point it goes back.
    let made = Arc::clone(board.document.scenario());
    board.drag((200.0, 60.0), (20.0, 22.0));
    assert!(board.draw.notice().unwrap().contains("take-off"), "{:?}", board.draw.notice());
    assert_eq!((board.document.scenario(), board.steps()), (&made, 1));
}

#[test]
fn a_building_is_drawn_its_height_typed_and_both_are_one_step() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    board.draw.take_up(Tool::Building);
    board.draw.draw_as(DrawForm::Side);
    board.click(200.0, 50.0);
    board.click(230.0, 50.0);
    board.click(215.0, 64.0);
    let site = board.site();
    let new = site.structures.last().unwrap();
    assert_eq!(new.footprint_m, ring(&[(200.0, 50.0), (230.0, 50.0), (230.0, 64.0), (200.0, 64.0)]));
    assert_eq!(new.kind, StructureKind::Extrusion { height_m: 8.0 });
    let mut kept =
        Board { document: board.document.clone(), draw: board.draw.clone(), snapping: Snapping::On };
    kept.key(DrawKey::Enter);
    assert_eq!((kept.steps(), kept.draw.corner()), (1, None), "Enter keeps the height, and no more");
    board.type_in("14.5");
    let kind = board.site().structures.last().unwrap().kind.clone();
    assert_eq!(kind, StructureKind::Extrusion { height_m: 14.5 });
    assert_eq!((board.steps(), board.document.undo_label()), (1, Some("draw Building 1")));
    board.key(DrawKey::Enter);
    assert_eq!(board.draw.corner(), Some(0), "nothing is new any more: Enter goes to its corners");
    board.key(DrawKey::Escape);
    board.type_in("15");
    assert_eq!(board.steps(), 2, "a height typed later is a step of its own");
    board.document.undo();
    board.document.undo();
    assert_eq!(board.document.scenario(), &before);
}

/// Derived: 30 by 20 less 10 by 8 at its north-east.
#[test]
fn an_l_is_cut_out_of_a_rectangle_by_pointer_and_by_keys() {
    let drawn = |board: &mut Board| {
        board.draw.take_up(Tool::Building);
        board.draw.draw_as(DrawForm::Side);
        board.snapping = Snapping::Off;
        board.click(200.0, 50.0);
        board.click(230.0, 50.0);
        board.click(230.0, 70.0);
    };
    let (mut by_pointer, mut by_keys) = (Board::new(), Board::new());
    drawn(&mut by_pointer);
    by_pointer.draw.take_up(Tool::Cut);
    by_pointer.click(230.0, 70.0);
    by_pointer.click(220.0, 62.0);
    let mut at_once = Board::new();
    drawn(&mut at_once);
    at_once.draw.take_up(Tool::Cut);
    at_once.click(220.0, 62.0);
    assert_eq!(at_once.site(), by_pointer.site(), "one click inside means the nearest corner");
    drawn(&mut by_keys);
    // The first keeps the height, the second goes to the corners.
    by_keys.key(DrawKey::Enter);
    by_keys.key(DrawKey::Enter);
    by_keys.key(DrawKey::Next);
    by_keys.key(DrawKey::Next);
    assert_eq!(by_keys.draw.corner(), Some(2));
    by_keys.key(DrawKey::Letter('x'));
    by_keys.type_in("8 x 10");
    let ell = by_pointer.site().structures.last().unwrap().footprint_m.clone();
    assert!((polygon::area_m2(&ell) - 520.0).abs() < 1e-9 && ell.len() == 6, "{ell:?}");
    assert_eq!(by_pointer.site(), by_keys.site());
    assert_eq!((by_pointer.steps(), by_keys.steps()), (2, 2));
}

/// Derived: the same places, pointed at and typed, give the same site.
#[test]
fn keys_and_pointer_draw_the_same_site() {
    let mut dice = Dice::new(29);
    let tools = [Tool::Boundary, Tool::Building, Tool::Deck, Tool::KeepOut];
    let mut drawn = 0;
    for round in 0..120 {
        let tool = tools[round % 4];
        let forms = [DrawForm::Rectangle, DrawForm::Side, DrawForm::Corners, DrawForm::Circle];
        let form = forms[dice.below(4)];
        let count = match form {
            DrawForm::Side => 3,
            DrawForm::Corners => 3 + dice.below(3),
            DrawForm::Rectangle | DrawForm::Circle => 2,
        };
        let places: Vec<DVec2> = (0..count).map(|_| (dice.place() * 10.0).round() / 10.0).collect();
        let (mut by_pointer, mut by_keys) = (Board::new(), Board::new());
        by_pointer.snapping = Snapping::Off;
        for board in [&mut by_pointer, &mut by_keys] {
            board.draw.take_up(tool);
            board.draw.draw_as(form);
        }
        for place in &places {
            by_pointer.click(place.x, place.y);
        }
        let mut last = DVec2::ZERO;
        for place in &places {
            let by = *place - last;
            by_keys.type_in(&format!("{:.1}e {:.1}n", by.x, by.y));
            last = *place;
        }
        if form == DrawForm::Corners {
            by_pointer.key(DrawKey::Enter);
            by_keys.key(DrawKey::Enter);
        }
        assert_eq!(by_pointer.site(), by_keys.site(), "{tool:?} {form:?} {places:?}");
        assert_eq!(by_pointer.draw.notice(), by_keys.draw.notice());
        drawn += by_pointer.steps();
    }
    assert!((30..120).contains(&drawn), "some cross themselves and are refused: {drawn}");
}

/// Derived: arrows move by 1 m and 0.1 m; a key that is held down is one gesture.
#[test]
fn arrows_move_what_is_chosen() {
    let mut board = Board::new();
    let east = |stride, run| DrawKey::Nudge { way: DVec2::X, stride, run };
    assert_eq!(board.key(east(Stride::Whole, Run::First)), KeyUse::Left, "nothing is chosen");
    board.key(DrawKey::Next);
    assert_eq!(board.draw.chosen(), Some(Target::Boundary));
    board.key(DrawKey::Next);
    assert_eq!(board.draw.chosen(), Some(SHED));
    board.key(east(Stride::Whole, Run::First));
    for _ in 0..5 {
        board.key(east(Stride::Whole, Run::Held));
    }
    board.key(east(Stride::Fine, Run::First));
    assert_eq!(board.shed()[0], DVec2::new(106.1, 80.0));
    assert_eq!(board.steps(), 2);
    board.key(DrawKey::Enter);
    board.key(DrawKey::Previous);
    assert_eq!(board.draw.corner(), Some(3), "the one before the first is the last");
    board.key(DrawKey::Nudge { way: DVec2::Y, stride: Stride::Whole, run: Run::First });
    assert_eq!(board.shed()[3], DVec2::new(106.1, 121.0));
    board.type_in("3w 1s");
    assert_eq!(board.shed()[3], DVec2::new(103.1, 120.0));
    board.type_in("50");
    assert!((board.shed()[3].distance(board.shed()[2]) - 50.0).abs() < 2e-3, "the side before it is 50 m");
    board.key(DrawKey::Insert);
    assert_eq!((board.shed().len(), board.draw.corner()), (5, Some(4)));
    board.key(DrawKey::Delete);
    assert_eq!(board.shed().len(), 4);
    board.key(DrawKey::Escape);
    board.type_in("90 turn");
    board.key(DrawKey::Delete);
    assert!(board.site().structures.is_empty());
    assert_eq!(board.draw.chosen(), Some(SHED), "forgotten with the next look");
    while board.document.undo_label().is_some() {
        board.document.undo();
    }
    assert_eq!(board.site(), *made_up::scenario().site);
}

#[test]
fn points_are_put_moved_and_counted() {
    let mut board = Board::new();
    assert_eq!(board.drag((20.0, 20.0), (40.0, 31.0)), Hold::Taken, "a point needs no choosing first");
    assert_eq!(board.site().take_off_m, DVec2::new(40.0, 31.0));
    board.draw.take_up(Tool::ControlPoint);
    board.click(50.0, 60.0);
    board.type_in("250e 150n");
    assert_eq!(board.document.scenario().conditions.control_points, 2);
    assert_eq!(board.steps(), 3);
    board.key(DrawKey::Escape);
    board.click(250.0, 150.0);
    assert_eq!(board.draw.chosen(), Some(Target::ControlPoint(1)));
    board.key(DrawKey::Copy);
    board.key(DrawKey::Delete);
    board.draw.choose(Some(Target::ControlPoint(0)));
    board.key(DrawKey::Delete);
    assert_eq!(board.document.scenario().conditions.control_points, 1);
    let names: Vec<String> = board.site().control_points.iter().map(|point| point.name.clone()).collect();
    assert_eq!(names, ["2"]);
    board.draw.choose(Some(Target::TakeOff));
    board.key(DrawKey::Delete);
    assert!(board.draw.notice().unwrap().contains("always has the take-off point"));
}

/// Derived: further take-off points are the strategy's in focus; each gesture is one step, and all of them go back.
#[test]
fn further_take_off_points_are_put_moved_copied_and_removed() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    let own = |board: &Board| board.document.scenario().strategy(CROSSED).unwrap().take_offs_m.clone();
    let further = |at| Some(Target::Further { strategy: CROSSED, at });
    board.draw.take_up(Tool::FurtherTakeOff);
    board.click(250.0, 20.0);
    board.type_in("30e 170n");
    assert_eq!(own(&board), [DVec2::new(250.0, 20.0), DVec2::new(30.0, 170.0)]);
    board.key(DrawKey::Escape);
    board.drag((250.0, 20.0), (262.0, 33.0));
    assert_eq!(own(&board)[0], DVec2::new(262.0, 33.0));
    board.click(30.0, 170.0);
    assert_eq!(board.draw.chosen(), further(1));
    board.key(DrawKey::Copy);
    assert_eq!((own(&board).len(), board.draw.chosen()), (3, further(2)));
    board.draw.choose(further(0));
    board.key(DrawKey::Delete);
    assert_eq!((own(&board).len(), own(&board)[0]), (2, DVec2::new(30.0, 170.0)));
    assert_eq!(board.steps(), 5);
    let others = |board: &Board| {
        let scenario = board.document.scenario();
        (
            scenario.site.clone(),
            scenario.strategies.iter().filter(|s| s.id != CROSSED).cloned().collect::<Vec<_>>(),
        )
    };
    assert!(others(&board).0 == before.site && others(&board).1.iter().all(|s| s.take_offs_m.is_empty()));
    for _ in 0..5 {
        board.document.undo();
    }
    assert_eq!(**board.document.scenario(), *before);
    board.draw.take_up(Tool::FurtherTakeOff);
    board.click(2e6, 20.0);
    assert!(board.draw.notice().unwrap().contains("ake-off point 2"), "{:?}", board.draw.notice());
    assert_eq!(**board.document.scenario(), *before);
}

#[test]
fn a_corridor_line_makes_a_pass_and_its_corners_are_dragged() {
    let mut board = Board::new();
    let before = Arc::clone(board.document.scenario());
    board.draw.take_up(Tool::Line);
    board.click(10.0, 150.0);
    board.click(120.0, 160.0);
    board.click(250.0, 150.0);
    board.key(DrawKey::Enter);
    let lines = |board: &Board| -> Vec<Vec<DVec2>> {
        let passes = &board.document.scenario().strategy(CROSSED).unwrap().passes;
        let corridors = passes.iter().filter_map(|pass| match &pass.pattern {
            Pattern::Corridor(corridor) => Some(corridor.line_m.clone()),
            _ => None,
        });
        corridors.collect()
    };
    assert_eq!(board.draw.notice(), None);
    assert_eq!(lines(&board), [ring(&[(10.0, 150.0), (120.0, 160.0), (250.0, 150.0)])]);
    let passes = &board.document.scenario().strategy(CROSSED).unwrap().passes;
    assert_eq!(passes.iter().filter(|pass| pass.pattern.kind() == PatternKind::Corridor).count(), 1);
    board.drag((120.0, 160.0), (125.0, 170.0));
    assert_eq!(lines(&board)[0][1], DVec2::new(125.0, 170.0));
    assert_eq!(board.steps(), 2);
    board.document.undo();
    board.document.undo();
    assert_eq!(board.document.scenario(), &before);
}

/// Derived: the rule itself. Whatever is dragged, copied, turned or typed: no gesture makes more than one step, the
/// document is always sound, and undone step by step it is what it was before each, byte by byte.
#[test]
fn every_gesture_is_one_step_and_is_undone() {
    let mut dice = Dice::new(77);
    let mut board = Board::new();
    board.draw.take_up(Tool::KeepOut);
    board.draw.draw_as(DrawForm::Corners);
    for (east, north) in [(220.0, 120.0), (260.0, 120.0), (240.0, 160.0)] {
        board.click(east, north);
    }
    board.key(DrawKey::Enter);
    let mut states: Vec<String> = vec![write_scenario(board.document.scenario())];
    let first = board.steps();
    for _ in 0..250 {
        let before = board.steps();
        gesture(&mut board, &mut dice);
        let after = board.steps();
        assert!(after == before || after == before + 1, "{before} steps, then {after}");
        assert_eq!(board.document.scenario().faults(), Vec::new());
        if after > before {
            states.push(write_scenario(board.document.scenario()));
        } else {
            assert_eq!(states.last().unwrap(), &write_scenario(board.document.scenario()));
        }
    }
    assert!(states.len() > 60, "{}", states.len());
    while board.steps() > first {
        assert_eq!(write_scenario(board.document.scenario()), states.pop().unwrap());
        board.document.undo();
    }
    assert_eq!(states, [write_scenario(board.document.scenario())]);
}

fn gesture(board: &mut Board, dice: &mut Dice) {
    let outlines = Outlines::of(board.document.scenario(), Some(CROSSED));
    let targets = outlines.targets();
    let target = targets[dice.below(targets.len())];
    let corners = outlines.corners_m(target).unwrap();
    let corner = corners[dice.below(corners.len())];
    let by = DVec2::new(dice.between(-30.0, 30.0), dice.between(-30.0, 30.0));
    board.draw.choose(Some(target));
    match dice.below(8) {
        0..=2 => {
            board.drag(corner.into(), (corner + by).into());
        }
        3 => {
            let middle = corners[0].midpoint(corners[1 % corners.len()]);
            board.drag(middle.into(), (middle + by).into());
        }
        4 => board.type_in(&format!("{:.0} turn", by.x)),
        5 => {
            board.key(DrawKey::Copy);
        }
        6 if outlines.targets().len() > 5 => {
            board.key(DrawKey::Delete);
        }
        _ => {
            board.key(DrawKey::Nudge { way: DVec2::Y, stride: Stride::Fine, run: Run::First });
        }
    }
    let made: &Scenario = board.document.scenario();
    assert!(made.site.structures.iter().all(|s| outline_faults(&s.footprint_m).is_empty()));
}
