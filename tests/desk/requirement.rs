//! Requirement, conditions and rates on their screen.

use crate::opened::{click, press, press_shifted, shows, type_number, yard};
use egui::Key;
use obliquity_planning::{HeightRule, SurfaceClass};

#[test]
fn terms_are_edited_and_undone() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    type_number(&mut window, "Battery sets", "1");
    press(&mut window, Key::T);
    type_number(&mut window, "Coverage of walls, as a number", "65");
    let scenario = window.state().document().scenario().clone();
    assert_eq!(scenario.conditions.battery_sets, 1);
    assert_eq!(scenario.requirement.coverage[SurfaceClass::Wall], Some(0.65));
    click(&mut window, "Time on site");
    assert_eq!(window.state().document().scenario().requirement.time_on_site_min, None);
    click(&mut window, "Images");
    assert!(window.state().document().scenario().requirement.images.is_some());
    for undone in ["Images", "Time on site", "Coverage of walls", "Battery sets"] {
        assert_eq!(window.state().document().undo_label(), Some(undone));
        press(&mut window, Key::Z);
    }
    assert!(!window.state().document().is_changed());
}

#[test]
fn a_height_limit_of_ones_own_is_typed_in_feet() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    click(&mut window, "A limit of my own");
    type_number(&mut window, "Height limit", "300 ft");
    let HeightRule::Custom { limit_m } = window.state().document().scenario().conditions.height_rule else {
        panic!("the rule is not one's own")
    };
    assert!((limit_m - 91.44).abs() < 0.51, "the number shows whole metres");
    press(&mut window, Key::U);
    assert!(shows(&window, "Height limit"));
    assert!(!window.state().document().scenario().faults().iter().any(|fault| fault.path.contains("height")));
}

#[test]
fn what_is_typed_beyond_the_limits_stops_at_them() {
    let mut window = yard();
    press_shifted(&mut window, Key::W);
    type_number(&mut window, "Motion blur", "900");
    let blur_px = window.state().document().scenario().conditions.blur_px;
    assert_eq!(blur_px, obliquity_planning::limits::BLUR_PX.most);
    assert_eq!(window.state().document().scenario().faults(), Vec::new());
}
