//! Paths on the level round what stands, kept by their ends as seen from above.
//!
//! Places over each other, as the rows before a wall have them, go home round the same outlines: at what height a way is level
//! says which of these count and where it has to rise over the ground, and nothing else. Places beside each other go home along
//! the same pieces but for the first.

use crate::geometry::detour::Block;
use glam::DVec2;
use std::collections::BTreeMap;

/// What has been found out about one site at one clearance; whoever prepares many ways there owns it.
#[derive(Debug, Default)]
pub(crate) struct LevelPaths {
    between: BTreeMap<[u64; 4], Vec<KnownPath>>,
    /// By obstacle and by how far it is grown.
    blocks: BTreeMap<(usize, u64), Block>,
    /// By their ends: many paths end in the same ones.
    pieces: BTreeMap<[u64; 4], PathPiece>,
}

/// What is known of a straight piece of a path.
#[derive(Debug, Default)]
struct PathPiece {
    near: Option<Vec<usize>>,
    ground: GroundBelow,
}

/// A height, and that of the highest ground below something if it is higher; else some that is not.
#[derive(Debug, Default, Clone, Copy)]
struct GroundBelow(Option<(f64, f64)>);

impl GroundBelow {
    /// Height of the highest ground where that is higher than something; else some height no greater than that. `find` says so.
    fn highest_m(&mut self, matters_m: f64, find: impl FnOnce() -> f64) -> f64 {
        match self.0 {
            // the highest itself, or no higher than what was asked about then
            Some((asked_m, found_m)) if found_m > asked_m || asked_m <= matters_m => found_m,
            _ => {
                let found_m = find();
                self.0 = Some((matters_m, found_m));
                found_m
            }
        }
    }
}

/// An obstacle, by its index, with so much room round it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grown {
    pub(super) obstacle: usize,
    pub(super) by_m: f64,
}

/// The shortest path round some obstacles, with what is known of it and of its pieces.
pub(super) struct LevelPath<'k> {
    path: &'k mut KnownPath,
    pieces: &'k mut BTreeMap<[u64; 4], PathPiece>,
}

/// A path, and what is known of it.
#[derive(Debug)]
struct KnownPath {
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
    ground: GroundBelow,
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
    ) -> Option<LevelPath<'_>> {
        let paths = self.between.entry(key_of(from, to)).or_default();
        let known = paths.iter().position(|path| path.round == round);
        if known.is_none_or(|at| !paths[at].decides(most_m)) {
            let key = |grown: &Grown| (grown.obstacle, grown.by_m.to_bits());
            for grown in round {
                self.blocks.entry(key(grown)).or_insert_with(|| block(grown));
            }
            let blocks: Vec<&Block> = round.iter().map(|grown| &self.blocks[&key(grown)]).collect();
            let found = KnownPath::new(round, find(&blocks), most_m);
            match known {
                Some(at) => paths[at] = found,
                None => paths.push(found),
            }
        }
        let at = known.unwrap_or(paths.len() - 1);
        let path = paths.get_mut(at).filter(|path| !path.corners.is_empty() && path.length_m <= most_m)?;
        Some(LevelPath { path, pieces: &mut self.pieces })
    }
}

fn key_of(from: DVec2, to: DVec2) -> [u64; 4] {
    [from.x, from.y, to.x, to.y].map(f64::to_bits)
}

impl KnownPath {
    fn new(round: &[Grown], corners: Option<Vec<DVec2>>, most_m: f64) -> Self {
        let corners = corners.unwrap_or_default();
        KnownPath {
            round: round.to_vec(),
            length_m: corners.windows(2).map(|pair| pair[0].distance(pair[1])).sum(),
            corners,
            most_m,
            near: None,
            enters: Vec::new(),
            ground: GroundBelow::default(),
        }
    }

    /// Whether it is known if it is no longer than that.
    fn decides(&self, most_m: f64) -> bool {
        !self.corners.is_empty() || most_m <= self.most_m
    }
}

impl LevelPath<'_> {
    pub(super) fn corners(&self) -> &[DVec2] {
        &self.path.corners
    }

    /// Indices of the obstacles that it comes near to, ascending; `find` says which ones a straight piece does.
    pub(super) fn near(&mut self, find: impl Fn(DVec2, DVec2) -> Vec<usize>) -> &[usize] {
        let LevelPath { path, pieces } = self;
        let corners = &path.corners;
        path.near.get_or_insert_with(|| {
            let mut near = Vec::new();
            for (a, b) in corners.windows(2).map(|pair| (pair[0], pair[1])) {
                let piece = pieces.entry(key_of(a, b)).or_default();
                near.extend_from_slice(piece.near.get_or_insert_with(|| find(a, b)));
            }
            near.sort_unstable();
            near.dedup();
            near
        })
    }

    /// Whether it enters a grown obstacle, as `find` says.
    pub(super) fn enters(&mut self, grown: Grown, find: impl FnOnce(&[DVec2]) -> bool) -> bool {
        if let Some((_, enters)) = self.path.enters.iter().find(|(of, _)| *of == grown) {
            return *enters;
        }
        let enters = find(&self.path.corners);
        self.path.enters.push((grown, enters));
        enters
    }

    /// Height of the highest ground below it where that is higher than something; else some height no greater than that.
    /// `find` says so of a straight piece and a height.
    pub(super) fn highest_ground_m(
        &mut self,
        matters_m: f64,
        find: impl Fn(DVec2, DVec2, f64) -> f64,
    ) -> f64 {
        let LevelPath { path, pieces } = self;
        let corners = &path.corners;
        path.ground.highest_m(matters_m, || {
            let mut highest_m = f64::NEG_INFINITY;
            for (a, b) in corners.windows(2).map(|pair| (pair[0], pair[1])) {
                let (piece, above_m) = (pieces.entry(key_of(a, b)).or_default(), matters_m.max(highest_m));
                highest_m = highest_m.max(piece.ground.highest_m(above_m, || find(a, b, above_m)));
            }
            highest_m
        })
    }
}
