//! Tie points: some of the samples, each with the views that match, standing for all of them.

use super::counted::Counted;
use super::terms::{NetworkTerms, POINTS_A_FRAME, Thinning};
use super::tied::{Tied, covers};
use crate::base::{ByClass, Cancelled, Watch, ask_now_and_then};
use crate::geometry::PosedCamera;
use crate::ground::Sample;
use crate::network::groups::Groups;
use crate::network::{LEAST_POINTS, Tie, TiePoint, TieRules, TiedSample, TiedView};
use crate::view::ViewLimits;
use std::collections::BTreeMap;

/// Tie points, and where they are from.
#[derive(Default)]
pub(super) struct ChosenPoints {
    pub(super) points: Vec<TiePoint>,
    /// How many images each that carries stands for.
    pub(super) step: usize,
    /// The sample of each that covers it, with the area that it stands for; nothing for a control point.
    pub(super) samples: Vec<Option<Sample>>,
}

/// Chooses tie points.
///
/// Going along the samples, each is taken as soon as the shares of those passed over and its own add up to one; a share is
/// what leaves the image that counts least of its class, of those that see it, [`super::Thinning::points_an_image`] of its own,
/// spread evenly over that area. Where a
/// tie that a part cannot do without has fewer than [`LEAST_POINTS`] of them, the first samples of that tie are added. The
/// views of a sample that are tied and match make one tie point; those that do not match with these make another. In large
/// blocks some images carry for all ([`super::Thinning::most_images`]): only their views count, as many times as there are
/// images for one.
pub(super) fn choose(
    counted: &Counted,
    tied: &Tied,
    (rules, limits): (&TieRules, &ViewLimits),
    terms: &NetworkTerms,
    watch: &dyn Watch,
) -> Result<ChosenPoints, Cancelled> {
    match carrying(counted, tied, &terms.thinning) {
        Some((step, carries)) => {
            chosen_of(counted, &tied.only(&carries, watch)?, step, (rules, limits), terms, watch)
        }
        None => chosen_of(counted, tied, 1, (rules, limits), terms, watch),
    }
}

/// Which images carry the adjustment, each for so many: of those that look one way every so manieth. Nothing where all do: in
/// small blocks, and in such as would fall apart.
fn carrying(counted: &Counted, tied: &Tied, thinning: &Thinning) -> Option<(usize, Vec<bool>)> {
    let counting = counted.samples.iter().filter(|samples| **samples > 0).count();
    let step = thinning.step_of(counting);
    if step == 1 {
        return None;
    }
    let mut seen: BTreeMap<[i8; 3], usize> = BTreeMap::new();
    let mut turn = |camera: &PosedCamera| {
        let looks = (camera.forward * DIRECTIONS).round().to_array().map(|share| share as i8);
        let count = seen.entry(looks).or_default();
        *count += 1;
        (*count - 1).is_multiple_of(step)
    };
    let carries: Vec<bool> = counted
        .cameras
        .iter()
        .zip(&counted.samples)
        .map(|(camera, samples)| *samples > 0 && turn(camera))
        .collect();
    let mut groups = Groups::new(carries.len());
    let both = |tie: &&Tie| carries[tie.images.0 as usize] && carries[tie.images.1 as usize];
    let kept = tied.ties.ties.iter().filter(both);
    kept.for_each(|tie| groups.join(tie.images.0 as usize, tie.images.1 as usize));
    let mut first_of_part = vec![None; tied.ties.part_m2.len()];
    let mut together = |image: usize| {
        let head = groups.head(image);
        *first_of_part[tied.ties.part[image] as usize].get_or_insert(head) == head
    };
    (0..carries.len()).filter(|image| carries[*image]).all(&mut together).then_some((step, carries))
}

/// Directions of optical axes count as one if their components agree to one in so many.
const DIRECTIONS: f64 = 8.0;

fn chosen_of(
    counted: &Counted,
    tied: &Tied,
    step: usize,
    (rules, limits): (&TieRules, &ViewLimits),
    terms: &NetworkTerms,
    watch: &dyn Watch,
) -> Result<ChosenPoints, Cancelled> {
    let shares = shares(counted, tied, terms.thinning.points_of(counted.cameras.len()), watch)?;
    watch.step(0, 1)?;
    let mut is_taken = vec![false; tied.views.len()];
    let mut sum = 0.5;
    for (share, is_taken) in shares.iter().zip(&mut is_taken) {
        sum += share;
        if sum >= 1.0 {
            sum -= 1.0;
            *is_taken = true;
        }
    }
    let mut areas: Vec<f64> =
        tied.places.iter().zip(&shares).map(|(place, share)| place.area_m2 / share).collect();
    for number in missing(tied, &is_taken, watch)? {
        (is_taken[number], areas[number]) = (true, tied.places[number].area_m2);
    }
    watch.step(0, 1)?;
    let linked = Linked::new(tied, rules);
    let mut chosen = ChosenPoints { step, ..ChosenPoints::default() };
    for (number, _) in is_taken.iter().enumerate().filter(|(_, taken)| **taken) {
        watch.step(number as u64, is_taken.len() as u64)?;
        let place = Sample { area_m2: areas[number], ..tied.places[number] };
        for views in linked.groups(&tied.views[number]) {
            let covered = covers(&views, limits).then_some(place);
            chosen.add(counted, &place, &views);
            chosen.samples.push(covered);
        }
    }
    chosen.add_control(counted, tied, terms);
    Ok(chosen)
}

/// With what share each sample is taken.
fn shares(
    counted: &Counted,
    tied: &Tied,
    points_an_image: f64,
    watch: &dyn Watch,
) -> Result<Vec<f64>, Cancelled> {
    let mut counted_m2 = ByClass::from_fn(|_| vec![0.0; counted.cameras.len()]);
    for (number, (place, sample)) in tied.places.iter().zip(&tied.views).enumerate() {
        ask_now_and_then(number, watch)?;
        sample.views.iter().for_each(|view| counted_m2[place.class][view.image as usize] += place.area_m2);
    }
    let share = |(number, (place, sample)): (usize, (&Sample, &TiedSample))| {
        ask_now_and_then(number, watch)?;
        let counted_m2 = &counted_m2[place.class];
        let own_m2 = sample.views.iter().map(|view| counted_m2[view.image as usize]);
        Ok((points_an_image * place.area_m2 / own_m2.fold(f64::INFINITY, f64::min)).min(1.0))
    };
    tied.places.iter().zip(&tied.views).enumerate().map(share).collect()
}

/// Samples that are not taken, though a part hangs on ties that have too few points without them.
fn missing(tied: &Tied, is_taken: &[bool], watch: &dyn Watch) -> Result<Vec<usize>, Cancelled> {
    let mut of_image = vec![Vec::new(); tied.ties.part.len()];
    for (number, sample) in tied.views.iter().enumerate() {
        ask_now_and_then(number, watch)?;
        sample.views.iter().for_each(|view| of_image[view.image as usize].push(number));
    }
    let mut found = Vec::new();
    for tie in spanning(tied) {
        watch.step(0, 1)?;
        let other = &of_image[tie.images.1 as usize];
        let shared =
            of_image[tie.images.0 as usize].iter().filter(|number| other.binary_search(number).is_ok());
        let (taken, left): (Vec<usize>, Vec<usize>) = shared.partition(|number| is_taken[**number]);
        found.extend(left.into_iter().take(LEAST_POINTS.saturating_sub(taken.len())));
    }
    Ok(found)
}

/// Ties that hold every part together, the strongest that do.
fn spanning(tied: &Tied) -> Vec<Tie> {
    let mut strongest = tied.ties.ties.clone();
    strongest.sort_by(|a, b| b.shared_m2.total_cmp(&a.shared_m2).then(a.images.cmp(&b.images)));
    let mut groups = Groups::new(tied.ties.part.len());
    let mut joins = |tie: &Tie| {
        let (one, other) = (tie.images.0 as usize, tie.images.1 as usize);
        let is_new = groups.head(one) != groups.head(other);
        groups.join(one, other);
        is_new
    };
    strongest.retain(|tie| joins(tie));
    strongest
}

/// Which images are tied with each, and when their views match.
struct Linked {
    tied_with: Vec<Vec<u32>>,
    least_cosine: f64,
    max_gsd_ratio: f64,
}

impl Linked {
    fn new(tied: &Tied, rules: &TieRules) -> Self {
        let mut tied_with = vec![Vec::new(); tied.ties.part.len()];
        // ascending, since ties are
        tied.ties.ties.iter().for_each(|tie| tied_with[tie.images.0 as usize].push(tie.images.1));
        Linked { tied_with, least_cosine: rules.max_link_rad.cos(), max_gsd_ratio: rules.max_gsd_ratio }
    }

    /// The views of a sample in groups of two or more that match, one leading to the next.
    fn groups(&self, sample: &TiedSample) -> Vec<Vec<TiedView>> {
        let views = &sample.views;
        let mut groups = Groups::new(views.len());
        for (k, view) in views.iter().enumerate() {
            let others = &self.tied_with[view.image as usize];
            for (j, other) in views.iter().enumerate().skip(k + 1) {
                if self.match_up(view, other) && others.binary_search(&other.image).is_ok() {
                    groups.join(k, j);
                }
            }
        }
        let names: Vec<u32> = views.iter().map(|view| view.image).collect();
        let (number, count) = groups.numbered(&names);
        let mut found = vec![Vec::new(); count];
        number.iter().zip(views).for_each(|(&group, view)| found[group as usize].push(*view));
        found.retain(|group| group.len() >= 2);
        found
    }

    fn match_up(&self, one: &TiedView, other: &TiedView) -> bool {
        let (fine, coarse) = (one.gsd_m.min(other.gsd_m), one.gsd_m.max(other.gsd_m));
        one.toward.dot(other.toward) >= self.least_cosine && coarse <= self.max_gsd_ratio * fine
    }
}

impl ChosenPoints {
    fn add(&mut self, counted: &Counted, place: &Sample, views: &[TiedView]) {
        let stands_for = |view: &TiedView| {
            let model = counted.cameras[view.image as usize].model;
            let frame_px = f64::from(model.width_px) * f64::from(model.height_px);
            POINTS_A_FRAME * place.area_m2 / (view.gsd_m * view.gsd_m * frame_px)
        };
        self.points.push(TiePoint {
            position_m: place.position_m,
            images: views.iter().map(|view| view.image).collect(),
            stands_for: self.step as f64 * views.iter().map(stands_for).sum::<f64>() / views.len() as f64,
            control_sigma_m: None,
        });
    }

    /// Adds control points, in the images that count the nearest sample and have the point itself in their frame.
    fn add_control(&mut self, counted: &Counted, tied: &Tied, terms: &NetworkTerms) {
        for control in &terms.control {
            let away = |number: &usize| tied.places[*number].position_m.distance_squared(control.position_m);
            let nearest = (0..tied.places.len()).min_by(|a, b| away(a).total_cmp(&away(b)));
            let Some(nearest) = nearest else { continue };
            let has = |image: &u32| {
                let camera = &counted.cameras[*image as usize];
                camera.project(control.position_m).is_some_and(|uv| camera.model.contains(uv))
            };
            self.points.push(TiePoint {
                position_m: control.position_m,
                images: tied.views[nearest].views.iter().map(|view| view.image).filter(has).collect(),
                stands_for: self.step as f64,
                control_sigma_m: Some(control.sigma_m),
            });
            self.samples.push(None);
        }
    }
}
