//! Checks of what several patterns are flown at.

use crate::base::{Id, limits};
use crate::scenario::Site;
use crate::scenario::faults::Checker;

pub(super) fn check_structure(check: &mut Checker, site: &Site, path: &str, id: Id) {
    if !site.structures.iter().any(|structure| structure.id == id) {
        let message = format!(
            "the structure must be the id of one on the site, but none there has the id {id}; take one of them or add it"
        );
        check.fault(path, message);
    }
}

/// Structures that are taken as one with those `before`: each there, and none twice.
pub(super) fn check_structures(check: &mut Checker, site: &Site, path: &str, ids: &[Id], before: &[Id]) {
    check.at_most(path, "structures taken as one", ids.len(), limits::STRUCTURES);
    for (index, id) in ids.iter().enumerate() {
        let path = format!("{path}[{index}]");
        check_structure(check, site, &path, *id);
        if before.contains(id) || ids[..index].contains(id) {
            let message = format!("each structure must be named once, but {id} comes again; leave one out");
            check.fault(path, message);
        }
    }
}
