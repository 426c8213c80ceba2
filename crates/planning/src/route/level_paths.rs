//! Paths on the level round what stands, kept by their ends as seen from above.
//!
//! Places over each other, as the rows before a wall have them, go home round the same outlines: at what height a way is level
//! says which of these count and where it has to rise over the ground, and nothing else.

use crate::geometry::detour::Block;
use glam::DVec2;
use std::collections::BTreeMap;

/// What has been found out about one site at one clearance; whoever prepares many ways there owns it.
#[derive(Debug, Default)]
pub(crate) struct LevelPaths {
    between: BTreeMap<[u64; 4], Vec<LevelPath>>,
    /// By obstacle and by how far it is grown.
    blocks: BTreeMap<(usize, u64), Block>,
}

/// An obstacle, by its index, with so much room round it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grown {
    pub(super) obstacle: usize,
    pub(super) by_m: f64,
}

/// The shortest path round some obstacles, and what is known of it.
#[derive(Debug)]
pub(super) struct LevelPath {
    round: Vec<Grown>,
    /// Both ends included; empty where none is as short as it was asked to be.
    corners: Vec<DVec2>,
    length_m: f64,
    /// What it was asked to be no longer than.
    most_m: f64,
    /// Indices of the obstacles that it comes near to.
    near: Option<Vec<usize>>,
    /// Whether it enters them.
    enters: Vec<(Grown, bool)>,
    /// A height, and that of the highest ground below the path if it is higher; else some that is not.
    ground_m: Option<(f64, f64)>,
}

impl LevelPaths {
    /// The path between two places round some obstacles, if it is no longer than that; found when it is first asked for.
    pub(super) fn path(
        &mut self,
        (from, to): (DVec2, DVec2),
        round: &[Grown],
        most_m: f64,
        block: impl Fn(&Grown) -> Block,
        find: impl FnOnce(&[&Block]) -> Option<Vec<DVec2>>,
    ) -> Option<&mut LevelPath> {
        let key = [from.x, from.y, to.x, to.y].map(f64::to_bits);
        let paths = self.between.entry(key).or_default();
        let known = paths.iter().position(|path| path.round == round);
        if known.is_none_or(|at| !paths[at].decides(most_m)) {
            let key = |grown: &Grown| (grown.obstacle, grown.by_m.to_bits());
            for grown in round {
                self.blocks.entry(key(grown)).or_insert_with(|| block(grown));
            }
            let blocks: Vec<&Block> = round.iter().map(|grown| &self.blocks[&key(grown)]).collect();
            let found = LevelPath::new(round, find(&blocks), most_m);
            match known {
                Some(at) => paths[at] = found,
                None => paths.push(found),
            }
        }
        let at = known.unwrap_or(paths.len() - 1);
        paths.get_mut(at).filter(|path| !path.corners.is_empty() && path.length_m <= most_m)
    }
}

impl LevelPath {
    fn new(round: &[Grown], corners: Option<Vec<DVec2>>, most_m: f64) -> Self {
        let corners = corners.unwrap_or_default();
        LevelPath {
            round: round.to_vec(),
            length_m: corners.windows(2).map(|pair| pair[0].distance(pair[1])).sum(),
            corners,
            most_m,
            near: None,
            enters: Vec::new(),
            ground_m: None,
        }
    }

    /// Whether it is known if it is no longer than that.
    fn decides(&self, most_m: f64) -> bool {
        !self.corners.is_empty() || most_m <= self.most_m
    }

    pub(super) fn corners(&self) -> &[DVec2] {
        &self.corners
    }

    /// Indices of the obstacles that it comes near to, as `is_near` says.
    pub(super) fn near(&mut self, count: usize, is_near: impl Fn(usize, &[DVec2]) -> bool) -> &[usize] {
        let corners = &self.corners;
        self.near.get_or_insert_with(|| (0..count).filter(|k| is_near(*k, corners)).collect())
    }

    /// Whether it enters a grown obstacle, as `find` says.
    pub(super) fn enters(&mut self, grown: Grown, find: impl FnOnce(&[DVec2]) -> bool) -> bool {
        if let Some((_, enters)) = self.enters.iter().find(|(of, _)| *of == grown) {
            return *enters;
        }
        let enters = find(&self.corners);
        self.enters.push((grown, enters));
        enters
    }

    /// Height of the highest ground below it where that is higher than something; else some height no greater than that.
    /// `find` says so of corners and a height.
    pub(super) fn highest_ground_m(
        &mut self,
        matters_m: f64,
        find: impl FnOnce(&[DVec2], f64) -> f64,
    ) -> f64 {
        match self.ground_m {
            // the highest itself, or no higher than what was asked about then
            Some((asked_m, found_m)) if found_m > asked_m || asked_m <= matters_m => found_m,
            _ => {
                let found_m = find(&self.corners, matters_m);
                self.ground_m = Some((matters_m, found_m));
                found_m
            }
        }
    }
}
