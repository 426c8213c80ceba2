//! Tie points: some of the samples, each with the views that match, standing for all of them.

use super::counted::Counted;
use super::terms::{NetworkTerms, POINTS_A_FRAME};
use super::tied::Tied;
use crate::ground::Sample;
use crate::network::groups::Groups;
use crate::network::{LEAST_POINTS, Tie, TiePoint, TieRules, TiedSample, TiedView};

/// Tie points, and where they are from.
#[derive(Default)]
pub(super) struct ChosenPoints {
    pub(super) points: Vec<TiePoint>,
    /// The sample of each, with the area that it stands for; nothing for a control point.
    pub(super) samples: Vec<Option<Sample>>,
}

/// Chooses tie points.
///
/// Going along the samples, each is taken as soon as the shares of those passed over and its own add up to one; a share is
/// what leaves the image with the fewest samples, of those that see it, [`super::Thinning::points_an_image`] of its own. Where a
/// tie that a part cannot do without has fewer than [`LEAST_POINTS`] of them, the first samples of that tie are added. The
/// views of a sample that are tied and match make one tie point; those that do not match with these make another.
pub(super) fn choose(counted: &Counted, tied: &Tied, rules: &TieRules, terms: &NetworkTerms) -> ChosenPoints {
    let shares = shares(counted, tied, terms.thinning.points_of(counted.cameras.len()));
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
    for number in missing(tied, &is_taken) {
        (is_taken[number], areas[number]) = (true, tied.places[number].area_m2);
    }
    let linked = Linked::new(tied, rules);
    let mut chosen = ChosenPoints::default();
    for (number, _) in is_taken.iter().enumerate().filter(|(_, taken)| **taken) {
        let place = Sample { area_m2: areas[number], ..tied.places[number] };
        for views in linked.groups(&tied.views[number]) {
            chosen.add(counted, &place, &views);
        }
    }
    chosen.add_control(counted, tied, terms);
    chosen
}

/// With what share each sample is taken.
fn shares(counted: &Counted, tied: &Tied, points_an_image: f64) -> Vec<f64> {
    let mut count = vec![0_u32; counted.cameras.len()];
    for view in tied.views.iter().flat_map(|sample| &sample.views) {
        count[view.image as usize] += 1;
    }
    let share = |sample: &TiedSample| {
        let fewest = sample.views.iter().map(|view| count[view.image as usize]).min().unwrap_or(1);
        (points_an_image / f64::from(fewest)).min(1.0)
    };
    tied.views.iter().map(share).collect()
}

/// Samples that are not taken, though a part hangs on ties that have too few points without them.
fn missing(tied: &Tied, is_taken: &[bool]) -> Vec<usize> {
    let mut of_image = vec![Vec::new(); tied.ties.part.len()];
    for (number, sample) in tied.views.iter().enumerate() {
        sample.views.iter().for_each(|view| of_image[view.image as usize].push(number));
    }
    let mut found = Vec::new();
    for tie in spanning(tied) {
        let other = &of_image[tie.images.1 as usize];
        let shared =
            of_image[tie.images.0 as usize].iter().filter(|number| other.binary_search(number).is_ok());
        let (taken, left): (Vec<usize>, Vec<usize>) = shared.partition(|number| is_taken[**number]);
        found.extend(left.into_iter().take(LEAST_POINTS.saturating_sub(taken.len())));
    }
    found
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
            stands_for: views.iter().map(stands_for).sum::<f64>() / views.len() as f64,
            control_sigma_m: None,
        });
        self.samples.push(Some(*place));
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
                stands_for: 1.0,
                control_sigma_m: Some(control.sigma_m),
            });
            self.samples.push(None);
        }
    }
}
