//! From the parts of a card to its pages.

use super::super::model::Card;
use super::head::{self, Sizes};
use super::{Block, MARGIN, PaperSize, SheetPage, below, picture, table};

/// How large the type may be: the largest at which all of it stands on one page is taken.
const SCALES: [f32; 12] = [1.2, 1.15, 1.1, 1.05, 1.0, 0.95, 0.9, 0.86, 0.82, 0.78, 0.74, 0.7];

/// The same where it takes several pages.
const SEVERAL: f32 = 1.0;

/// Share of the width that the sketch takes beside what the controller reports.
const SKETCH: f32 = 0.44;

/// Least height of the sketch, in sizes of small type.
const LEAST_SKETCH: f32 = 17.0;

/// So many sorties stand beside the sketch; more have rows of their own below.
const BESIDE: usize = 9;

/// So many of them are kept together on a page.
const TOGETHER: usize = 40;

pub(super) fn pages(card: &Card, paper: PaperSize) -> Vec<SheetPage> {
    let one = SCALES.iter().find_map(|scale| {
        let mut composer = Composer::new(card, paper, *scale);
        composer.all();
        (composer.pages.len() == 1).then_some(composer)
    });
    let composer = one.unwrap_or_else(|| {
        let mut composer = Composer::new(card, paper, SEVERAL);
        composer.all();
        composer
    });
    composer.finish()
}

/// Pages as they fill.
struct Composer<'a> {
    card: &'a Card,
    sizes: Sizes,
    wide: f32,
    high: f32,
    /// Everything on a page but its head, which knows how many pages there are.
    pages: Vec<Block>,
    head: f32,
}

impl<'a> Composer<'a> {
    fn new(card: &'a Card, paper: PaperSize, scale: f32) -> Self {
        let (width, height) = paper.size_pt();
        let (wide, high) = (width - 2.0 * MARGIN, height - 2.0 * MARGIN);
        let sizes = Sizes::at(scale);
        let head = head::head(card, sizes, wide, [1, 1]).height + sizes.gap;
        Composer { card, sizes, wide, high, pages: vec![Block::default()], head }
    }

    /// What is left of the present page.
    fn room(&self) -> f32 {
        self.high - self.head - self.pages.last().map_or(0.0, |page| page.height)
    }

    fn is_fresh(&self) -> bool {
        self.pages.last().is_none_or(|page| page.height == 0.0)
    }

    fn turn(&mut self) {
        self.pages.push(Block::default());
    }

    /// Puts a part on the present page, or on a new one where it has no room.
    fn put(&mut self, block: Block, gap: f32) {
        if !self.is_fresh() && gap + block.height > self.room() {
            self.turn();
        }
        let gap = if self.is_fresh() { 0.0 } else { gap };
        if let Some(page) = self.pages.last_mut() {
            page.append(block, gap);
        }
    }

    fn all(&mut self) {
        let (card, sizes, wide) = (self.card, self.sizes, self.wide);
        if card.reasons.is_empty() {
            self.put(head::tiles(card, sizes, wide), 0.0);
        }
        self.passes();
        if card.reasons.is_empty() {
            self.beside_sketch();
        } else {
            let high = picture::most_height(&card.sketch, SKETCH * wide).min(0.4 * self.high);
            self.put(picture::picture(&card.sketch, sizes, SKETCH * wide, high), sizes.gap);
        }
        self.cautions();
        self.put(below::closing(card, sizes, wide), sizes.gap);
    }

    fn passes(&mut self) {
        let (card, sizes, wide) = (self.card, self.sizes, self.wide);
        let shared = table::Shared::new(card);
        let mut heading = Some(table::heading(sizes, wide));
        for pass in &card.passes {
            let row = table::row(pass, &shared, sizes, wide);
            let heading_height = heading.as_ref().map_or(0.0, |heading| heading.height);
            if !self.is_fresh() && row.height + heading_height + sizes.gap > self.room() {
                self.turn();
                // Every page says what its columns are.
                heading = Some(table::heading(sizes, wide));
            }
            if let Some(heading) = heading.take() {
                self.put(heading, sizes.gap);
            }
            self.put(row, 0.0);
        }
        if let Some(block) = shared.block(sizes, wide) {
            self.put(block, 0.0);
        }
    }

    /// The sketch, and beside it what the controller reports and what to take along.
    fn beside_sketch(&mut self) {
        let (card, sizes, wide) = (self.card, self.sizes, self.wide);
        let sketch_wide = SKETCH * wide - sizes.gap;
        let right = wide - SKETCH * wide;
        let few = card.sorties.len() <= BESIDE;
        let mut beside = below::reports(card, if few { &card.sorties } else { &[] }, sizes, right);
        beside.append(below::lists(card, sizes, right), sizes.gap);
        let least = (LEAST_SKETCH * sizes.small).max(beside.height);
        if least + sizes.gap > self.room() && !self.is_fresh() {
            self.turn();
        }
        let high = self.sketch_height(least, sketch_wide);
        let mut block = picture::picture(&card.sketch, sizes, sketch_wide, high);
        block.put(beside, [SKETCH * wide, 0.0]);
        self.put(block, sizes.gap);
        if !few {
            for sorties in card.sorties.chunks(TOGETHER) {
                self.put(below::more_sorties(sorties, sizes, wide), sizes.gap);
            }
        }
    }

    /// The sketch takes what the rest of the page leaves, as long as it grows by it.
    fn sketch_height(&self, least: f32, wide: f32) -> f32 {
        let (card, sizes) = (self.card, self.sizes);
        let more = if card.sorties.len() > BESIDE {
            below::more_sorties(&card.sorties, sizes, self.wide).height + sizes.gap
        } else {
            0.0
        };
        let after = below::cautions(&card.cautions, sizes, self.wide, f32::INFINITY).0.height
            + below::closing(card, sizes, self.wide).height
            + more
            + 3.0 * sizes.gap;
        let free = self.room() - after - 1.0;
        free.min(picture::most_height(&card.sketch, wide)).max(least)
    }

    fn cautions(&mut self) {
        let mut left = self.card.cautions.as_slice();
        while !left.is_empty() {
            let room = self.room() - self.sizes.gap;
            let (block, taken) = below::cautions(left, self.sizes, self.wide, room);
            self.put(block, self.sizes.gap);
            left = &left[taken..];
        }
    }

    /// Gives every page its head.
    fn finish(self) -> Vec<SheetPage> {
        let Composer { card, sizes, wide, pages, head, .. } = self;
        let of = pages.len();
        let page = |(index, block): (usize, Block)| {
            let mut page = SheetPage::default();
            page.add(head::head(card, sizes, wide, [index + 1, of]), [MARGIN, MARGIN]);
            page.add(block, [MARGIN, MARGIN + head]);
            page
        };
        pages.into_iter().enumerate().map(page).collect()
    }
}
