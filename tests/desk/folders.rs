//! The folders of the crate, read from its sources: no two of them use each other, nor do two modules of one folder.

use crate::sources::{Module, circle, homes, named_twice, sources};
use std::collections::{BTreeMap, BTreeSet};

/// Derived: the rule itself. A folder's own root is its face and may be used from within; it counts as none of its modules.
#[test]
fn nothing_stands_in_a_circle() {
    let uses = homes(&sources());
    let folders: BTreeSet<Module> = uses.keys().map(|module| module[..module.len() - 1].to_vec()).collect();
    assert!(folders.len() > 5 && uses.len() > 40, "{} folders, {} modules", folders.len(), uses.len());
    let mut wrong = Vec::new();
    for folder in &folders {
        let within = |module: &Module| {
            (module.len() > folder.len() && module.starts_with(folder))
                .then(|| module[..=folder.len()].to_vec())
        };
        let mut between: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
        for (module, others) in &uses {
            let Some(own) = within(module) else { continue };
            let others = others.iter().filter_map(within).filter(|other| *other != own);
            between.entry(own.clone()).or_default().extend(others);
        }
        wrong.extend(circle(between).iter().map(|module| module.join("::")));
    }
    assert!(wrong.is_empty(), "in a circle, or using one: {wrong:#?}");
}

/// Derived: the rule itself.
#[test]
fn no_two_types_have_one_name() {
    assert_eq!(named_twice(&sources()), Vec::<String>::new());
}
