//! What the surfaces get, and what of it images share.

use super::{Evaluator, Stopped};
use crate::base::digest::{Digest, Key, Stage};
use crate::base::{ByClass, Cancelled};
use crate::ground::{SiteModel, SiteOutline};
use crate::load::{PassPairs, pairs_by_pass};
use crate::route::{PassPlan, Stations, Subject};
use crate::scenario::Scenario;
use crate::view::{ViewFigures, ViewLimits, ViewTable, sight, views};
use std::sync::Arc;

/// What the surfaces get.
pub(super) struct Seen {
    pub(super) figures: Arc<ViewFigures>,
    /// The site as sampled, that the figures refer to.
    pub(super) site: Arc<SiteModel>,
    /// Which samples the stations of each pass see, with the key of each.
    pub(super) sights: Vec<(Key, Arc<ViewTable>)>,
    /// The key of the figures.
    pub(super) key: Key,
}

/// Looks from the stations of a strategy at the surfaces of the site.
pub(super) struct Looker<'a> {
    pub(super) evaluator: &'a Evaluator<'a>,
    pub(super) scenario: &'a Scenario,
    pub(super) outline: &'a SiteOutline,
}

impl Evaluator<'_> {
    /// The site as sampled.
    pub(super) fn sampled_site(&self, scenario: &Scenario) -> Result<(Key, Arc<SiteModel>), Stopped> {
        let key = Digest::of_stage(Stage::Site).surfaces(&scenario.site).finish();
        let site = self.store.get_or(key, SiteModel::bytes, || {
            SiteModel::build_asking::<Stopped>(&scenario.site, |done, total| {
                Ok(self.watch.step(done, total)?)
            })
        })?;
        Ok((key, site))
    }
}

impl Looker<'_> {
    /// What the surfaces get from the stations of some plans.
    pub(super) fn seen(&self, plans: &[Arc<PassPlan>]) -> Result<Seen, Stopped> {
        let Looker { evaluator, scenario, .. } = *self;
        let (store, watch) = (evaluator.store, evaluator.watch);
        let (site_key, site) = evaluator.sampled_site(scenario)?;
        let stations: Vec<&Stations> = plans.iter().map(|plan| &*plan.stations).collect();
        let mut sights = Vec::with_capacity(stations.len());
        for &pass in &stations {
            let key = poses_digest(Digest::of_stage(Stage::Sight).key(site_key), pass);
            sights.push((key, store.get_or(key, ViewTable::bytes, || sight(&site, pass, watch))?));
        }
        let (key, figures) = self.view_figures(&site, &stations, &sights)?;
        Ok(Seen { figures, site, sights, key })
    }

    fn view_figures(
        &self,
        site: &SiteModel,
        stations: &[&Stations],
        sights: &[(Key, Arc<ViewTable>)],
    ) -> Result<(Key, Arc<ViewFigures>), Cancelled> {
        let evaluator = self.evaluator;
        let limits = ViewLimits::from(&self.scenario.requirement);
        let ViewLimits { min_views, max_incidence_rad, min_intersection_rad, max_link_rad, max_gsd_m } =
            limits;
        let mut digest = Digest::of_stage(Stage::Views);
        digest.whole(sights.len() as u64);
        for (key, _) in sights {
            digest.key(*key);
        }
        let ByClass { ground, roof, wall, underside } = max_gsd_m;
        let key = digest
            .whole(u64::from(min_views))
            .numbers(&[max_incidence_rad, min_intersection_rad, max_link_rad])
            .numbers(&[ground, roof, wall, underside])
            .finish();
        let passes: Vec<(&Stations, &ViewTable)> =
            stations.iter().zip(sights).map(|(stations, (_, table))| (*stations, &**table)).collect();
        let make = || views(site, &passes, &limits, evaluator.watch);
        Ok((key, evaluator.store.get_or(key, ViewFigures::bytes, make)?))
    }

    /// The pairs of images that some plans take.
    pub(super) fn pairs(&self, plans: &[Arc<PassPlan>]) -> Result<Arc<[PassPairs]>, Cancelled> {
        let Looker { evaluator, outline, .. } = *self;
        let passes: Vec<_> = plans.iter().map(|plan| (&*plan.stations, plan.subject)).collect();
        let mut digest = Digest::of_stage(Stage::Pairs);
        digest.number(outline.reference_z_m).whole(passes.len() as u64);
        let key = passes.iter().fold(digest.finish(), |key, (stations, subject)| {
            let mut digest = Digest::of_stage(Stage::Pairs);
            match *subject {
                Subject::Ground => digest.whole(0),
                Subject::Wall { stand_off_m, turned_rad } => {
                    digest.whole(1).numbers(&[stand_off_m, turned_rad])
                }
                Subject::Soffit { stand_off_m } => digest.whole(2).number(stand_off_m),
            };
            poses_digest(digest.key(key), stations)
        });
        let pairs = evaluator.store.get_or(
            key,
            |pairs: &Arc<[PassPairs]>| size_of_val::<[PassPairs]>(pairs),
            || pairs_by_pass(&passes, outline.reference_z_m, evaluator.watch),
        )?;
        Ok(Arc::clone(&*pairs))
    }
}

fn poses_digest(digest: &mut Digest, stations: &Stations) -> Key {
    let camera = stations.camera;
    digest
        .whole(u64::from(camera.width_px))
        .whole(u64::from(camera.height_px))
        .number(camera.focal_length_px)
        .lens(&camera.lens);
    digest.whole(stations.poses.len() as u64);
    for pose in &stations.poses {
        digest.pose(pose);
    }
    digest.finish()
}
