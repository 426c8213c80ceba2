//! From the parts of a card to its pages.

use super::super::model::{Card, CardSortie};
use super::head::{self, Setting, Sizes};
use super::{Block, MARGIN, PaperSize, SheetPage, below, picture, table};

/// How large the type may be, and how it is set: the first in which all of it stands on one page is taken. From 0.83 on only
/// what is large gets smaller, so that setting it closer comes first.
const SETTINGS: [(f32, Setting); 14] = [
    (1.2, Setting::Open),
    (1.15, Setting::Open),
    (1.1, Setting::Open),
    (1.05, Setting::Open),
    (1.0, Setting::Open),
    (0.95, Setting::Open),
    (0.9, Setting::Open),
    (0.86, Setting::Open),
    (0.82, Setting::Open),
    (0.86, Setting::Close),
    (0.82, Setting::Close),
    (0.78, Setting::Close),
    (0.74, Setting::Close),
    (0.7, Setting::Close),
];

/// The same where it takes several pages.
const SEVERAL: (f32, Setting) = (1.0, Setting::Open);

/// Share of the width that the sketch takes beside what the controller reports.
const SKETCH: f32 = 0.44;

/// Least height of the sketch, in sizes of small type.
const LEAST_SKETCH: f32 = 17.0;

/// So many sorties stand beside the sketch; more have rows of their own below.
const BESIDE: usize = 9;

/// So many of them are kept together on a page.
const TOGETHER: usize = 40;

pub(super) fn pages(card: &Card, paper: PaperSize) -> Vec<SheetPage> {
    let laid_out = |setting: (f32, Setting)| {
        let mut composer = Composer::new(card, paper, Sizes::at(setting));
        composer.all();
        composer
    };
    let all = SETTINGS.into_iter().map(laid_out);
    let one = all.into_iter().find(|composer| composer.pages.len() == 1);
    one.unwrap_or_else(|| laid_out(SEVERAL)).finish()
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
    fn new(card: &'a Card, paper: PaperSize, sizes: Sizes) -> Self {
        let (width, height) = paper.size_pt();
        let (wide, high) = (width - 2.0 * MARGIN, height - 2.0 * MARGIN);
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
        let few = card.sorties.len() <= BESIDE;
        let (beside, under) = self.around_sketch(if few { &card.sorties } else { &[] }, sketch_wide);
        let under_high = if under.height > 0.0 { under.height + sizes.gap } else { 0.0 };
        let least = (LEAST_SKETCH * sizes.small).max(beside.height - under_high);
        if least + under_high + sizes.gap > self.room() && !self.is_fresh() {
            self.turn();
        }
        let high = self.sketch_height(least, under_high, sketch_wide);
        let mut block = picture::picture(&card.sketch, sizes, sketch_wide, high);
        block.append(under, under_high.min(sizes.gap));
        block.put(beside, [SKETCH * wide, 0.0]);
        self.put(block, sizes.gap);
        if !few {
            for sorties in card.sorties.chunks(TOGETHER) {
                self.put(below::more_sorties(sorties, sizes, wide), sizes.gap);
            }
        }
    }

    /// What stands to the right of the sketch and what below it: set close, what to take along stands where it costs less.
    fn around_sketch(&self, sorties: &[CardSortie], sketch_wide: f32) -> (Block, Block) {
        let (card, sizes, right) = (self.card, self.sizes, (1.0 - SKETCH) * self.wide);
        let reports = below::reports(card, sorties, sizes, right);
        let under = below::lists(card, sizes, sketch_wide);
        let mut beside = reports.clone();
        beside.append(below::lists(card, sizes, right), sizes.gap);
        let least = LEAST_SKETCH * sizes.small;
        let lower = reports.height.max(least + sizes.gap + under.height) < beside.height.max(least);
        match sizes.setting {
            Setting::Close if lower => (reports, under),
            _ => (beside, Block::default()),
        }
    }

    /// The sketch takes what the rest of the page leaves above what stands `under` it, as long as it grows by it.
    fn sketch_height(&self, least: f32, under: f32, wide: f32) -> f32 {
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
        let free = self.room() - after - under - 1.0;
        free.min(picture::most_height(&card.sketch, wide)).max(least)
    }

    fn cautions(&mut self) {
        let mut left = self.card.cautions.as_slice();
        while !left.is_empty() {
            if below::cautions(&left[..1], self.sizes, self.wide, 0.0).0.height + self.sizes.gap > self.room()
            {
                self.turn();
            }
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
