//! Ties among images, parts and bridges, on drawn graphs against counting by removal.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use glam::DVec3;
use obliquity_planning::{Bridge, NoWatch, TieRules, TiedSample, TiedView, Ties, weakest_bridge};
use rand_distr::{Distribution, StandardUniform};
use rand_pcg::Pcg64Mcg;

/// Rays within 40° match.
fn rules() -> TieRules {
    TieRules::linked_within(40_f64.to_radians())
}

fn view(image: u32, tilt_deg: f64, gsd_m: f64) -> TiedView {
    let (sin, cos) = tilt_deg.to_radians().sin_cos();
    TiedView { image, toward: DVec3::new(sin, 0.0, cos), gsd_m }
}

fn patch(views: &[TiedView], samples: usize) -> Vec<TiedSample> {
    vec![TiedSample { area_m2: 4.0, views: views.to_vec() }; samples]
}

fn find(images: u32, samples: &[TiedSample]) -> Ties {
    Ties::find(images, samples, &rules(), &NoWatch).unwrap()
}

/// Derived: each rule, one after the other, just kept and just broken.
#[test]
fn each_rule_of_a_tie_decides() {
    let tied = |samples: &[TiedSample]| !find(2, samples).ties.is_empty();
    let alike = [view(0, 0.0, 0.02), view(1, 20.0, 0.02)];
    assert!(tied(&patch(&alike, 6)));
    assert!(!tied(&patch(&alike, 5)), "samples");
    assert!(tied(&patch(&[view(0, 0.0, 0.02), view(1, 39.9, 0.02)], 6)));
    assert!(!tied(&patch(&[view(0, 0.0, 0.02), view(1, 40.1, 0.02)], 6)), "angle");
    assert!(tied(&patch(&[view(0, 0.0, 0.02), view(1, 0.0, 0.049)], 6)));
    assert!(!tied(&patch(&[view(0, 0.0, 0.02), view(1, 0.0, 0.051)], 6)), "GSD");
    let with_own = |own: usize| {
        let each = [patch(&alike[..1], own), patch(&alike[1..], 2 * own), patch(&alike, 6)];
        each.concat()
    };
    assert!(tied(&with_own(54)), "6 of 60 of the smaller");
    assert!(!tied(&with_own(55)), "6 of 61 of the smaller");
}

/// Derived: the area that parts carry is all area that is counted, each square metre once.
#[test]
fn parts_carry_every_square_metre_once() {
    let samples = [
        patch(&[view(0, 0.0, 0.02), view(1, 10.0, 0.02)], 10),
        patch(&[view(1, 0.0, 0.02), view(2, 60.0, 0.02)], 10),
        patch(&[view(2, 0.0, 0.02), view(3, 10.0, 0.02)], 20),
        patch(&[], 7),
    ]
    .concat();
    let ties = find(5, &samples);
    assert_eq!(ties.part, [0, 0, 1, 1, 2]);
    let pairs: Vec<(u32, u32)> = ties.ties.iter().map(|tie| tie.images).collect();
    assert_eq!(pairs, [(0, 1), (2, 3)]);
    assert!((ties.part_m2.iter().sum::<f64>() - 160.0).abs() < 1e-9); // sums of halves
    assert_eq!(ties.part_m2, [60.0, 100.0, 0.0]);
    assert_eq!(ties.counted_m2, [40.0, 80.0, 120.0, 80.0, 0.0]);
}

/// Ties of drawn pairs: a chain of clusters with a few links between them.
fn drawn(seed: u64) -> Ties {
    let mut rng = Pcg64Mcg::new(u128::from(seed));
    let mut share = || -> f64 { StandardUniform.sample(&mut rng) };
    let images = 4 + (share() * 14.0) as u32;
    let mut samples = Vec::new();
    for a in 0..images {
        for b in a + 1..images {
            let near = a / 4 == b / 4;
            if share() < if near { 0.55 } else { 0.04 } {
                samples
                    .extend(patch(&[view(a, 0.0, 0.02), view(b, 5.0, 0.02)], 6 + (share() * 9.0) as usize));
            }
        }
        samples.extend(patch(&[view(a, 0.0, 0.02)], 1 + (share() * 12.0) as usize));
    }
    find(images, &samples)
}

/// Areas of the groups of images that hang together by some ties, an image left out.
fn groups_m2(ties: &Ties, without: Option<u32>, but: Option<(u32, u32)>, part: u32) -> Vec<f64> {
    let mut left: Vec<u32> = (0..ties.part.len() as u32)
        .filter(|&image| ties.part[image as usize] == part && Some(image) != without)
        .collect();
    let mut found = Vec::new();
    while let Some(first) = left.pop() {
        let (mut group, mut at) = (vec![first], 0);
        while at < group.len() {
            let is_tied = |other: &u32| {
                let pair = (group[at].min(*other), group[at].max(*other));
                Some(pair) != but && ties.ties.iter().any(|tie| tie.images == pair)
            };
            let (tied, rest) = left.iter().partition::<Vec<u32>, _>(|other| is_tied(other));
            left = rest;
            group.extend(tied);
            at += 1;
        }
        found.push(group.iter().map(|&image| ties.carried_m2[image as usize]).sum());
    }
    found
}

/// What falls off the largest group; nothing where one remains.
fn parted_m2(groups: &[f64]) -> Option<f64> {
    let largest = groups.iter().copied().fold(0.0, f64::max);
    (groups.len() > 1).then(|| groups.iter().sum::<f64>() - largest)
}

/// Derived: the weakest bridge of 300 drawn graphs is what removing every image and every tie, one by one, finds.
#[test]
fn bridges_are_those_that_removal_finds() {
    let (mut with, mut without) = (0, 0);
    for seed in 0..300 {
        let ties = drawn(seed);
        let images = (0..ties.part.len() as u32)
            .filter_map(|image| parted_m2(&groups_m2(&ties, Some(image), None, ties.part[image as usize])));
        let pairs = ties.ties.iter().filter_map(|tie| {
            let part = ties.part[tie.images.0 as usize];
            parted_m2(&groups_m2(&ties, None, Some(tie.images), part))
        });
        let worst = images.chain(pairs).fold(0.0, f64::max);
        let Some(bridge) = weakest_bridge(&ties, &NoWatch).unwrap() else {
            without += 1;
            assert!(worst <= 0.0, "{seed}: {worst}");
            continue;
        };
        with += 1;
        let groups = match bridge {
            Bridge::Image { image, .. } => groups_m2(&ties, Some(image), None, ties.part[image as usize]),
            Bridge::Pair { images, .. } => groups_m2(&ties, None, Some(images), ties.part[images.0 as usize]),
        };
        for found in [bridge.parted_m2(), parted_m2(&groups).unwrap()] {
            assert!((found - worst).abs() < 1e-9 * worst, "{seed}: {bridge:?}, {worst}"); // rounding
        }
    }
    assert!(with > 100 && without > 5, "{with} with, {without} without");
}

/// Derived: a chain hangs on its middle, a ring on nothing.
#[test]
fn a_ring_hangs_on_nothing() {
    let tied = |pairs: &[(u32, u32)], images: u32| {
        let of = |&(a, b): &(u32, u32)| patch(&[view(a.min(b), 0.0, 0.02), view(a.max(b), 5.0, 0.02)], 6);
        find(images, &pairs.iter().flat_map(of).collect::<Vec<_>>())
    };
    let chain = [(0, 1), (1, 2), (2, 3), (3, 4)];
    let hung = weakest_bridge(&tied(&chain, 5), &NoWatch).unwrap().unwrap();
    assert!(matches!(hung, Bridge::Pair { .. } | Bridge::Image { .. }));
    assert!((hung.parted_m2() - 36.0).abs() < 1e-9); // 24 m² a tie: an end image carries 12, the next 24
    let ring = [(0, 1), (1, 2), (2, 3), (3, 4), (0, 4)];
    assert_eq!(weakest_bridge(&tied(&ring, 5), &NoWatch).unwrap(), None);
}
