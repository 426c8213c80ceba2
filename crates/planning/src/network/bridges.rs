//! What a part of a block hangs on: images and ties whose loss would part it.

use super::ties::Ties;
use crate::base::{Cancelled, Watch, ask_now_and_then};

/// What holds two sides of a part together alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bridge {
    /// An image without which its part falls apart.
    Image {
        /// Its number.
        image: u32,
        /// Area that the smaller sides carry.
        parted_m2: f64,
    },
    /// A tie that is the only one between two sides.
    Pair {
        /// Numbers of its images, the smaller first.
        images: (u32, u32),
        /// Area that the smaller side carries.
        parted_m2: f64,
    },
}

impl Bridge {
    /// Area that is parted from the largest side if it goes.
    ///
    /// # Units
    /// - returns: square metres
    pub fn parted_m2(&self) -> f64 {
        match *self {
            Bridge::Image { parted_m2, .. } | Bridge::Pair { parted_m2, .. } => parted_m2,
        }
    }
}

/// The image or pair whose removal parts the most area; nothing where no part hangs on one. Of equals, the first image,
/// then the first pair.
///
/// # Errors
/// [`Cancelled`], when the watch says so.
///
/// # References
/// Cut vertices and bridges by one walk: Tarjan 1972 and 1974 (from memory).
pub fn weakest_bridge(ties: &Ties, watch: &dyn Watch) -> Result<Option<Bridge>, Cancelled> {
    let mut walk = TieWalk::new(ties);
    watch.step(0, 1)?;
    for image in 0..ties.part.len() {
        if walk.entered[image] == 0 {
            walk.from(image as u32, ties, watch)?;
        }
    }
    let mut found = walk.found;
    found.sort_by(|a, b| b.parted_m2().total_cmp(&a.parted_m2()).then(order(a).cmp(&order(b))));
    Ok(found.into_iter().next())
}

fn order(bridge: &Bridge) -> (u32, u32, u32) {
    match *bridge {
        Bridge::Image { image, .. } => (0, image, image),
        Bridge::Pair { images, .. } => (1, images.0, images.1),
    }
}

/// A walk in depth over tied images.
struct TieWalk {
    others: Vec<Vec<u32>>,
    /// When each image was entered, from 1; 0 before.
    entered: Vec<u32>,
    /// The earliest entered that can be reached from what hangs below each, without the way down.
    reach: Vec<u32>,
    /// Area of each image and all that hangs below.
    below_m2: Vec<f64>,
    /// Sides that fall off if an image goes: their sum and the largest.
    sides_m2: Vec<(f64, f64)>,
    clock: u32,
    found: Vec<Bridge>,
}

impl TieWalk {
    fn new(ties: &Ties) -> Self {
        let n = ties.part.len();
        let mut others = vec![Vec::new(); n];
        for tie in &ties.ties {
            others[tie.images.0 as usize].push(tie.images.1);
            others[tie.images.1 as usize].push(tie.images.0);
        }
        TieWalk {
            others,
            entered: vec![0; n],
            reach: vec![0; n],
            below_m2: ties.carried_m2.clone(),
            sides_m2: vec![(0.0, 0.0); n],
            clock: 0,
            found: Vec::new(),
        }
    }

    /// Walks all that hangs together with an image.
    fn from(&mut self, root: u32, ties: &Ties, watch: &dyn Watch) -> Result<(), Cancelled> {
        let whole_m2 = ties.part_m2[ties.part[root as usize] as usize];
        let mut path: Vec<(u32, usize)> = vec![(root, 0)];
        self.enter(root);
        let mut steps = 0;
        while let Some((image, next)) = path.last_mut() {
            ask_now_and_then(steps, watch)?;
            steps += 1;
            let (at, place) = (*image, *next);
            *next += 1;
            let above = path.len().checked_sub(2).map(|k| path[k].0);
            match self.others[at as usize].get(place).copied() {
                Some(other) if self.entered[other as usize] == 0 => {
                    self.enter(other);
                    path.push((other, 0));
                }
                Some(other) if Some(other) != above => {
                    self.reach[at as usize] = self.reach[at as usize].min(self.entered[other as usize]);
                }
                Some(_) => {}
                None => {
                    path.pop();
                    self.leave(at, above, whole_m2, ties.carried_m2[at as usize]);
                }
            }
        }
        Ok(())
    }

    fn enter(&mut self, image: u32) {
        self.clock += 1;
        self.entered[image as usize] = self.clock;
        self.reach[image as usize] = self.clock;
    }

    /// Done with an image and all below it.
    fn leave(&mut self, image: u32, above: Option<u32>, whole_m2: f64, own_m2: f64) {
        let at = image as usize;
        self.tell_image(image, whole_m2 - own_m2, above.is_some());
        let Some(parent) = above.map(|parent| parent as usize) else { return };
        let below_m2 = self.below_m2[at];
        self.below_m2[parent] += below_m2;
        self.reach[parent] = self.reach[parent].min(self.reach[at]);
        if self.reach[at] >= self.entered[parent] {
            let (sum, largest) = self.sides_m2[parent];
            self.sides_m2[parent] = (sum + below_m2, largest.max(below_m2));
        }
        if self.reach[at] > self.entered[parent] {
            let images = (image.min(parent as u32), image.max(parent as u32));
            let parted_m2 = below_m2.min(whole_m2 - below_m2);
            self.found.push(Bridge::Pair { images, parted_m2 });
        }
    }

    /// An image whose loss parts something: sides below it that reach no higher, and the rest above.
    fn tell_image(&mut self, image: u32, others_m2: f64, has_above: bool) {
        let (sides_m2, largest) = self.sides_m2[image as usize];
        let rest_m2 = if has_above { others_m2 - sides_m2 } else { 0.0 };
        let parted_m2 = others_m2 - largest.max(rest_m2);
        let is_cut = sides_m2 > 0.0 && (has_above || sides_m2 > largest);
        if is_cut && parted_m2 > 0.0 {
            self.found.push(Bridge::Image { image, parted_m2 });
        }
    }
}
