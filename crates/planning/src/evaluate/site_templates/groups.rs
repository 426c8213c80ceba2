//! Which structures are gone round, and which of them as one.

use crate::base::Id;
use crate::geometry::polygon::{circle_m, gap_m, hull_m, rings_meet};
use crate::ground::{OutlineStructure, SiteOutline};
use glam::DVec2;

/// Lower structures are not gone round. Common practice, no source.
const LOWEST_TALL_M: f64 = 6.0;

/// Nor those below this share of the tallest one's height. Common practice, no source.
const TALL_SHARE: f64 = 0.5;

/// The site's own structures that meet the boundary and stand on the ground, tallest first.
pub(super) fn standing(outline: &SiteOutline) -> Vec<&OutlineStructure> {
    let inside = |s: &&OutlineStructure| rings_meet(&s.footprint_m, &outline.boundary_m);
    let own = |s: &&OutlineStructure| s.id.is_some() && s.soffit_z_m.is_none();
    let mut found: Vec<_> = outline.structures.iter().filter(own).filter(inside).collect();
    found.sort_by(|a, b| height_m(b).total_cmp(&height_m(a)));
    found
}

/// Those of them that are tall: at least 6 m, and at least half as high as the tallest; tallest first.
pub(super) fn tall(outline: &SiteOutline) -> Vec<&OutlineStructure> {
    let mut found = standing(outline);
    let least_m = found.first().map_or(0.0, |tallest| TALL_SHARE * height_m(tallest)).max(LOWEST_TALL_M);
    found.retain(|structure| height_m(structure) >= least_m);
    found
}

fn height_m(structure: &OutlineStructure) -> f64 {
    structure.top_z_m - structure.base_z_m
}

/// Structures that are gone round as one.
#[derive(Debug, Clone)]
pub(super) struct Group {
    /// In the order in which they were found: of [`tall`], the tallest first.
    pub(super) ids: Vec<Id>,
    hull_m: Vec<DVec2>,
    /// The circle that an orbit is measured from: that of a footprint, or of a hull.
    circle_m: (DVec2, f64),
}

/// When two groups are gone round as one.
#[derive(Debug, Clone, Copy)]
pub(super) enum Joined {
    /// Where rows at a stand-off from one would come nearer than a clearance to the other: the sum of the two.
    WithinRows {
        /// Stand-off and clearance.
        reach_m: f64,
    },
    /// Where the ring about one would come nearer than a clearance to the other, or hold it.
    WithinRing {
        /// Stand-off and clearance, beyond the circle about the group.
        reach_m: f64,
    },
}

impl Joined {
    /// Least and greatest coordinates: where those of two groups do not overlap, the groups stay apart.
    fn bounds_m(self, group: &Group) -> (DVec2, DVec2) {
        let bounds = |places: &[DVec2], reach_m: f64| {
            let (low, high) = crate::geometry::polygon::bounds(places);
            (low - reach_m, high + reach_m)
        };
        match self {
            Joined::WithinRows { reach_m } => bounds(&group.hull_m, reach_m / 2.0),
            Joined::WithinRing { reach_m } => {
                let (middle_m, circle_m) = group.circle_m;
                bounds(&[middle_m], circle_m + reach_m)
            }
        }
    }

    fn holds(self, a: &Group, b: &Group) -> bool {
        match self {
            Joined::WithinRows { reach_m } => gap_m(&a.hull_m, &b.hull_m) < reach_m,
            Joined::WithinRing { reach_m } => {
                let reaches = |a: &Group, b: &Group| {
                    let (middle_m, circle_m) = a.circle_m;
                    crate::geometry::polygon::distance_m(&b.hull_m, middle_m) < circle_m + reach_m
                };
                reaches(a, b) || reaches(b, a)
            }
        }
    }
}

/// Structures grouped until no two groups are to be joined any more; in the order of their first members.
pub(super) fn grouped(structures: &[&OutlineStructure], joined: Joined) -> Vec<Group> {
    let alone = |s: &&OutlineStructure| {
        let circle_m = circle_m(&s.footprint_m);
        Some(Group { ids: vec![s.id?], hull_m: hull_m(s.footprint_m.iter().copied()), circle_m })
    };
    let mut groups: Vec<Group> = structures.iter().filter_map(alone).collect();
    loop {
        let of = families(&groups, joined);
        let count = of.iter().max().map_or(0, |last| last + 1);
        if count == groups.len() {
            return groups;
        }
        let mut merged: Vec<Option<Group>> = vec![None; count];
        for (group, family) in groups.into_iter().zip(of) {
            merged[family] = Some(match merged[family].take() {
                None => group,
                Some(first) => {
                    let hull_m = hull_m(first.hull_m.into_iter().chain(group.hull_m));
                    Group { ids: [first.ids, group.ids].concat(), circle_m: circle_m(&hull_m), hull_m }
                }
            });
        }
        groups = merged.into_iter().flatten().collect();
    }
}

/// For each group the number of its family, from 0 in the order of their first members; groups of one family are linked
/// by pairs that are to be joined.
fn families(groups: &[Group], joined: Joined) -> Vec<usize> {
    let bounds: Vec<(DVec2, DVec2)> = groups.iter().map(|group| joined.bounds_m(group)).collect();
    let mut by_west: Vec<usize> = (0..groups.len()).collect();
    by_west.sort_by(|a, b| bounds[*a].0.x.total_cmp(&bounds[*b].0.x).then(a.cmp(b)));
    let mut first: Vec<usize> = (0..groups.len()).collect();
    for (rank, &a) in by_west.iter().enumerate() {
        for &b in by_west[rank + 1..].iter().take_while(|&&b| bounds[b].0.x <= bounds[a].1.x) {
            let overlap = bounds[b].0.y <= bounds[a].1.y && bounds[a].0.y <= bounds[b].1.y;
            let (root_a, root_b) = (root(&first, a), root(&first, b));
            if overlap && root_a != root_b && joined.holds(&groups[a], &groups[b]) {
                first[root_a.max(root_b)] = root_a.min(root_b);
            }
        }
    }
    let mut number = vec![usize::MAX; groups.len()];
    let mut count = 0;
    (0..groups.len())
        .map(|k| {
            let root = root(&first, k);
            if number[root] == usize::MAX {
                number[root] = count;
                count += 1;
            }
            number[root]
        })
        .collect()
}

fn root(first: &[usize], mut k: usize) -> usize {
    while first[k] != k {
        k = first[k];
    }
    k
}
