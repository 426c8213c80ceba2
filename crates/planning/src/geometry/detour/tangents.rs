//! Which steps lead from corner to corner round some convex rings: found once for all ways round some of them.

use crate::geometry::detour::Block;
use crate::geometry::detour::level::Bend;
use glam::DVec2;
use std::sync::OnceLock;

/// Some of the blocks of [`Tangents`], by the bits of their indices.
pub(super) type BlockSet = u128;

/// Blocks that ways go round time and again, now these of them, now those. A way that follows what it goes round steps from a
/// block to another only along one of their four common tangents: of the places beside many blocks it comes to few.
#[derive(Debug)]
pub(crate) struct Tangents {
    blocks: Vec<Block>,
    /// Index of the first of each block's places among those of all.
    firsts: Vec<usize>,
    /// From each place beside them, found when it is first asked for.
    steps: Vec<OnceLock<Vec<TangentStep>>>,
}

/// A step from a place beside a block to another one.
#[derive(Debug, Clone, Copy)]
pub(super) struct TangentStep {
    /// The block that it leads to.
    pub(super) block: usize,
    /// Which of the places beside it.
    pub(super) bend: usize,
    /// The blocks that it enters.
    pub(super) enters: BlockSet,
}

impl Tangents {
    /// Of blocks made of convex counter-clockwise rings; nothing of more than can be told apart.
    pub(crate) fn new(rings_m: impl Iterator<Item = Vec<DVec2>>) -> Option<Self> {
        let blocks: Vec<Block> = rings_m
            .enumerate()
            .map(|(k, ring_m)| Block { tangents: Some(k), ..Block::new(&ring_m) })
            .collect();
        let mut count = 0;
        let firsts = blocks.iter().map(|block| {
            let first = count;
            count += block.bends.len();
            first
        });
        let firsts: Vec<usize> = firsts.collect();
        let steps = (0..count).map(|_| OnceLock::new()).collect();
        (blocks.len() <= BlockSet::BITS as usize).then_some(Tangents { blocks, firsts, steps })
    }

    /// How many blocks there are.
    pub(super) fn count(&self) -> usize {
        self.blocks.len()
    }

    pub(crate) fn block(&self, index: usize) -> &Block {
        &self.blocks[index]
    }

    /// The steps from a place beside a block to all others that it and they let pass.
    pub(super) fn steps_from(&self, block: usize, bend: usize) -> &[TangentStep] {
        self.steps[self.firsts[block] + bend].get_or_init(|| {
            let here = self.blocks[block].bends[bend];
            let leads = |there: &Bend| {
                let way = there.at_m - here.at_m;
                here.passes(way) && there.passes(way)
            };
            let enters = |to: DVec2| {
                let entered = (0..).zip(&self.blocks).filter(|(_, block)| block.is_entered(here.at_m, to));
                entered.fold(0, |set, (k, _): (u32, _)| set | 1 << k)
            };
            let beside = |(k, of): (usize, &Block)| {
                let all = of.bends.iter().enumerate().filter(move |(other, _)| (k, *other) != (block, bend));
                let led = all.filter(|(_, there)| leads(there));
                led.map(|(other, there)| TangentStep { block: k, bend: other, enters: enters(there.at_m) })
                    .collect::<Vec<_>>()
            };
            self.blocks.iter().enumerate().flat_map(beside).collect()
        })
    }

    /// Memory that they take at most, about: a place steps to its own neighbours, and by two tangents to every other block. Of more
    /// blocks than a set holds there are none.
    pub(crate) fn most_bytes(blocks: usize, corners: usize) -> usize {
        if blocks > BlockSet::BITS as usize {
            return 0;
        }
        corners * (2 * blocks + 2) * size_of::<TangentStep>() + 200 * corners
    }
}

#[cfg(test)]
mod tests {
    use crate::geometry::detour::Fences;
    use crate::geometry::detour::homeward::tests::Lots;
    use crate::geometry::detour::tangents::*;

    /// Derived: round some of many generated convex rings, apart and across each other, and round one of which nothing is known,
    /// the way is the same, corner by corner, whether it is searched for with what is known of the others or without; and there
    /// is none where that finds none or a longer one than asked for.
    #[test]
    fn ways_along_known_steps_are_those_searched_for_without() {
        let fences = Fences::new(std::iter::empty(), DVec2::ZERO);
        let (mut bent, mut shut, mut unknown) = (0, 0, 0);
        for seed in 0..40 {
            let mut drawn = Lots(f64::from(seed) * 0.019 + 0.15);
            let mut ring = |size_m: f64| drawn.ring(|share| size_m * (0.3 + share));
            let rings: Vec<Vec<DVec2>> = (0..12).map(|_| ring(60.0)).collect();
            let other = Block::new(&ring(90.0));
            let tangents = Tangents::new(rings.iter().cloned()).expect("few enough");
            let plain: Vec<Block> = rings.iter().map(|ring| Block::new(ring)).collect();
            for _ in 0..40 {
                let mut round: Vec<usize> = (0..12).filter(|_| drawn.next() < 0.6).collect();
                round.sort_by_key(|k| (k * 7 + 3) % 12);
                let has_other = drawn.next() < 0.5;
                let others = || has_other.then_some(&other);
                let of_plain: Vec<&Block> =
                    others().into_iter().chain(round.iter().map(|k| &plain[*k])).collect();
                let known = round.iter().map(|k| tangents.block(*k));
                let of_known: Vec<&Block> = others().into_iter().chain(known).collect();
                let ends = (drawn.place(), drawn.place());
                let most_m = if drawn.next() < 0.3 { 1.05 * ends.0.distance(ends.1) } else { f64::INFINITY };
                let searched = fences.way(ends, &of_plain, None, most_m);
                let found = fences.way(ends, &of_known, Some(&tangents), most_m);
                assert_eq!(found, searched, "{seed}: {ends:?} {round:?}");
                bent += u32::from(found.as_ref().is_some_and(|way| way.len() > 3));
                shut += u32::from(found.is_none());
                let is_beside = |at: &DVec2| other.bends.iter().any(|bend| bend.at_m == *at);
                unknown += u32::from(found.is_some_and(|way| way.iter().any(is_beside)));
            }
        }
        assert!(bent > 120 && shut > 100 && unknown > 30, "{bent} {shut} {unknown}");
    }
}
