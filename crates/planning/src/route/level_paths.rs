//! Paths on the level round what stands, kept by their ends as seen from above.
//!
//! Places over each other, as the rows before a wall have them, go home round the same outlines: at what height a way is level
//! says which of these count and where it has to rise over the ground, and nothing else. Places beside each other go home along
//! the same pieces but for the first.

use crate::geometry::detour::{Block, Homeward, Tangents};
use crate::ground::SiteOutline;
use glam::DVec2;
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;
use std::sync::{Arc, OnceLock};

/// What has been found out about one site at one clearance; whoever prepares many ways there keeps it.
#[derive(Debug, Default)]
pub(crate) struct LevelPaths {
    hub: Option<Hub>,
    whole: Option<WholeBlocks>,
    /// The ways to the hub by the obstacles gone round, ascending: they hold whatever is flown.
    homeward: FxHashMap<Vec<usize>, Homeward>,
    between: FxHashMap<[u64; 4], Vec<KnownPath>>,
    /// By obstacle and by how far it is grown.
    blocks: FxHashMap<GrownKey, Block>,
    pieces: PathPieces,
}

/// A place that many paths lead to or from.
#[derive(Debug)]
struct Hub {
    at_m: DVec2,
    /// The clearance of all ways.
    clearance_m: f64,
}

/// What ways at one clearance go round for obstacles whose clearance is kept whole: the same for all that ask.
#[derive(Debug, Clone)]
pub(super) struct WholeBlocks {
    /// By how much these are grown.
    grown_m: f64,
    /// Of each obstacle; found when a way first goes round one, nothing where there are too many.
    tangents: Arc<OnceLock<Option<Tangents>>>,
}

impl WholeBlocks {
    pub(super) fn new(grown_m: f64) -> Self {
        WholeBlocks { grown_m, tangents: Arc::default() }
    }

    fn is_whole(&self, grown: &Grown) -> bool {
        grown.by_m == self.grown_m
    }
}

/// Most solids that a way goes round before it goes over them.
pub(super) const MOST_ROUND: usize = 12;

/// Pairs of ends, and ways to the hub, of which so many are kept: what was found out before is let go at once.
const MOST_KEPT: usize = if cfg!(test) { 64 } else { 1024 };

/// An obstacle and by how much it is grown.
type GrownKey = (usize, u64);

/// Straight pieces of paths: many paths end in the same ones.
#[derive(Debug, Default)]
struct PathPieces {
    all: Vec<PathPiece>,
    /// Their indices, by their ends.
    by_ends: FxHashMap<[u64; 4], usize>,
}

/// What is known of a straight piece of a path.
#[derive(Debug)]
struct PathPiece {
    ends_m: (DVec2, DVec2),
    /// Indices of the obstacles that it comes near to, ascending.
    near: Option<Vec<usize>>,
    /// Whether it enters them with the whole clearance round them.
    enters_whole: Vec<(usize, bool)>,
    ground: GroundBelow,
}

impl PathPieces {
    /// Indices of those between the corners of a path.
    fn along(&mut self, corners: &[DVec2]) -> Vec<usize> {
        let PathPieces { all, by_ends } = self;
        let mut index = |a: DVec2, b: DVec2| match by_ends.entry(key_of(a, b)) {
            Entry::Occupied(known) => *known.get(),
            Entry::Vacant(new) => {
                let (near, enters_whole, ground) = (None, Vec::new(), GroundBelow::default());
                all.push(PathPiece { ends_m: (a, b), near, enters_whole, ground });
                *new.insert(all.len() - 1)
            }
        };
        corners.windows(2).map(|pair| index(pair[0], pair[1])).collect()
    }

    fn clear(&mut self) {
        self.all.clear();
        self.by_ends.clear();
    }
}

impl PathPiece {
    /// Whether it enters an obstacle with the whole clearance round it, one that it comes near to, as `find` says.
    fn enters_whole(&mut self, obstacle: usize, find: impl FnOnce(DVec2, DVec2) -> bool) -> bool {
        if let Some((_, enters)) = self.enters_whole.iter().find(|(of, _)| *of == obstacle) {
            return *enters;
        }
        let enters = find(self.ends_m.0, self.ends_m.1);
        self.enters_whole.push((obstacle, enters));
        enters
    }
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
    pieces: &'k mut PathPieces,
}

/// A path, and what is known of it.
#[derive(Debug)]
struct KnownPath {
    round: Vec<Grown>,
    /// Both ends included; empty where none is as short as it was asked to be.
    corners: Vec<DVec2>,
    /// Indices of its pieces.
    pieces: Vec<usize>,
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
    /// For many paths that lead to one place or from it, at a clearance.
    pub(super) fn about(at_m: DVec2, clearance_m: f64, whole: WholeBlocks) -> Self {
        LevelPaths { hub: Some(Hub { at_m, clearance_m }), ..LevelPaths::among(Some(whole)) }
    }

    /// For paths from anywhere to anywhere.
    pub(super) fn among(whole: Option<WholeBlocks>) -> Self {
        LevelPaths { whole, ..LevelPaths::default() }
    }

    /// What is shared with others at the same clearance.
    pub(super) fn whole_blocks(&self) -> Option<WholeBlocks> {
        self.whole.clone()
    }

    /// Whether it is about ways at a clearance.
    pub(super) fn keeps(&self, clearance_m: f64) -> bool {
        self.hub.as_ref().is_none_or(|hub| hub.clearance_m == clearance_m)
    }

    /// Memory that it takes at most, about: a way with what is known of its pieces, and one place of each way to the hub.
    pub(crate) fn most_bytes(site: &SiteOutline) -> usize {
        let corners: usize = site.obstacles.iter().map(|obstacle| obstacle.growth().corners()).sum();
        // where there are fences no steps are kept
        let steps =
            if site.fences.is_empty() { Tangents::most_bytes(site.obstacles.len(), corners) } else { 0 };
        MOST_KEPT * (1300 + 125 * corners.min(24)) + steps
    }

    fn make_room(&mut self) {
        if self.between.len() >= MOST_KEPT {
            self.between.clear();
            self.pieces.clear();
        }
        if self.homeward.len() >= MOST_KEPT {
            self.homeward.clear();
        }
        if self.blocks.len() >= MOST_KEPT {
            self.blocks.clear();
        }
    }

    /// The path between two places round some obstacles, if it is no longer than that; found when it is first asked for.
    pub(super) fn path(
        &mut self,
        (from, to): (DVec2, DVec2),
        round: &[Grown],
        most_m: f64,
        (obstacles, ring): (usize, impl Fn(&Grown) -> Vec<DVec2>),
        find: impl FnOnce(&[&Block], Option<&Tangents>) -> Option<Vec<DVec2>>,
    ) -> Option<LevelPath<'_>> {
        self.make_room();
        let LevelPaths { hub, whole, homeward, between, blocks, pieces } = self;
        let paths = between.entry(key_of(from, to)).or_default();
        let known = paths.iter().position(|path| path.round == round);
        if known.is_none_or(|at| !paths[at].decides(most_m)) {
            let is_whole = |grown: &Grown| whole.as_ref().is_some_and(|whole| whole.is_whole(grown));
            let tangents = whole.as_ref().filter(|_| round.iter().any(is_whole)).and_then(|whole| {
                let ring = |obstacle| ring(&Grown { obstacle, by_m: whole.grown_m });
                whole.tangents.get_or_init(|| Tangents::new((0..obstacles).map(ring))).as_ref()
            });
            let known_of = |grown: &Grown| tangents.filter(|_| is_whole(grown));
            for grown in round.iter().filter(|grown| known_of(grown).is_none()) {
                blocks.entry(grown.key()).or_insert_with(|| Block::new(&ring(grown)));
            }
            let of = |grown: &Grown| {
                known_of(grown)
                    .map_or_else(|| &blocks[&grown.key()], |tangents| tangents.block(grown.obstacle))
            };
            let hub = hub
                .as_ref()
                .filter(|hub| hub.ends(from, to) && !round.is_empty() && round.iter().all(is_whole));
            let corners = if let Some(Hub { at_m, .. }) = hub {
                let mut keys = [0; MOST_ROUND];
                let keys = &mut keys[..round.len()];
                keys.iter_mut().zip(round).for_each(|(key, grown)| *key = grown.obstacle);
                keys.sort_unstable();
                let of = |obstacle: &usize| of(&Grown { obstacle: *obstacle, ..round[0] });
                let blocks: Vec<&Block> = keys.iter().map(of).collect();
                if !homeward.contains_key(&*keys) {
                    homeward.insert(keys.to_vec(), Homeward::new(*at_m, &blocks));
                }
                let mut way = homeward[&*keys].way(if *at_m == to { from } else { to }, &blocks, most_m);
                way.iter_mut().filter(|_| *at_m != to).for_each(|way| way.reverse());
                way
            } else {
                find(&round.iter().map(of).collect::<Vec<_>>(), tangents)
            };
            let found = KnownPath::new(round, corners, most_m, pieces);
            match known {
                Some(at) => paths[at] = found,
                None => paths.push(found),
            }
        }
        let at = known.unwrap_or(paths.len() - 1);
        let path = paths.get_mut(at).filter(|path| !path.corners.is_empty() && path.length_m <= most_m)?;
        Some(LevelPath { path, pieces })
    }
}

impl Hub {
    /// Whether a path between two places leads to it or from it.
    fn ends(&self, from: DVec2, to: DVec2) -> bool {
        self.at_m == from || self.at_m == to
    }
}

impl Grown {
    fn key(&self) -> GrownKey {
        (self.obstacle, self.by_m.to_bits())
    }
}

fn key_of(from: DVec2, to: DVec2) -> [u64; 4] {
    [from.x, from.y, to.x, to.y].map(f64::to_bits)
}

impl KnownPath {
    fn new(round: &[Grown], corners: Option<Vec<DVec2>>, most_m: f64, pieces: &mut PathPieces) -> Self {
        let corners = corners.unwrap_or_default();
        KnownPath {
            round: round.to_vec(),
            length_m: corners.windows(2).map(|pair| pair[0].distance(pair[1])).sum(),
            pieces: pieces.along(&corners),
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
        path.near.get_or_insert_with(|| {
            let mut near = Vec::with_capacity(4 * path.pieces.len());
            for piece in &path.pieces {
                let piece = &mut pieces.all[*piece];
                let of_piece = piece.near.get_or_insert_with(|| find(piece.ends_m.0, piece.ends_m.1));
                near.extend_from_slice(of_piece);
            }
            near.sort_unstable();
            near.dedup();
            near
        })
    }

    /// Whether it enters a grown obstacle, one that it comes near to; `find` says so of a straight piece.
    pub(super) fn enters(
        &mut self,
        grown: Grown,
        is_whole: bool,
        find: impl Fn(DVec2, DVec2) -> bool,
    ) -> bool {
        let LevelPath { path, pieces } = self;
        if let Some((_, enters)) = path.enters.iter().find(|(of, _)| *of == grown) {
            return *enters;
        }
        let enters = path.pieces.iter().any(|piece| {
            let piece = &mut pieces.all[*piece];
            if is_whole {
                let is_near = piece.near.as_ref().is_none_or(|near| near.contains(&grown.obstacle));
                is_near && piece.enters_whole(grown.obstacle, &find)
            } else {
                find(piece.ends_m.0, piece.ends_m.1)
            }
        });
        path.enters.push((grown, enters));
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
        path.ground.highest_m(matters_m, || {
            let mut highest_m = f64::NEG_INFINITY;
            for piece in &path.pieces {
                let PathPiece { ends_m: (a, b), ground, .. } = &mut pieces.all[*piece];
                let above_m = matters_m.max(highest_m);
                highest_m = highest_m.max(ground.highest_m(above_m, || find(*a, *b, above_m)));
            }
            highest_m
        })
    }
}
