//! The layers of the crate, read from its sources: no path points up, and no two modules use each other.

use crate::sources::{circle, homes, named_twice, sources};

/// From the ground up; what stands in a layer uses its own and those before it.
const LAYERS: [&str; 14] = [
    "base", "geometry", "scenario", "ground", "route", "flight", "light", "view", "load", "network", "money",
    "result", "evaluate", "lesson",
];

/// Derived: the rule itself.
#[test]
fn no_path_points_up_and_none_goes_through_the_crates_face() {
    let place = |layer: &str| LAYERS.iter().position(|known| *known == layer);
    let mut wrong = Vec::new();
    let mut looked_at = 0;
    for source in sources().iter().filter(|source| !source.module.is_empty()) {
        let own = place(&source.module[0]);
        assert!(own.is_some(), "{:?} stands in no layer", source.module);
        for path in source.named() {
            looked_at += 1;
            let told = || format!("{} → {}", source.module.join("::"), path.join("::"));
            match place(&path[0]) {
                None => wrong.push(format!("{} by the crate's face", told())),
                other if other > own => wrong.push(told()),
                Some(_) => {}
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(looked_at > 800, "{looked_at} paths");
}

/// Derived: what a module needs can be read before it.
#[test]
fn no_modules_use_each_other() {
    let left: Vec<String> = circle(homes(&sources())).iter().map(|module| module.join("::")).collect();
    assert!(left.is_empty(), "in a circle, or using one: {left:#?}");
}

/// Derived: the rule itself.
#[test]
fn no_two_types_have_one_name() {
    assert_eq!(named_twice(&sources()), Vec::<String>::new());
}
