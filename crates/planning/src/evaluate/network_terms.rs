//! What a strategy's network rests on besides its images, from the scenario's inputs.

use crate::base::digest::Digest;
use crate::geometry::Brown;
use crate::ground::SiteOutline;
use crate::network::{ControlPlace, InteriorFreedom, NetworkTerms, Positioning, Thinning};
use crate::scenario::{Aircraft, Conditions, Site};
use glam::DVec3;

/// What a strategy's network rests on.
pub(super) fn network_terms(
    site: &Site,
    conditions: &Conditions,
    aircraft: &Aircraft,
    outline: &SiteOutline,
    thinning: Thinning,
) -> NetworkTerms {
    let survey = conditions.survey;
    let control = site.control_points.iter().filter(|point| point.role.is_control());
    let control = control.map(|point| ControlPlace {
        position_m: point.at_m.extend(outline.terrain.height_m(point.at_m)),
        sigma_m: DVec3::new(survey.horizontal_m, survey.horizontal_m, survey.vertical_m),
    });
    let camera = &aircraft.camera;
    NetworkTerms {
        lens: camera.distortion,
        freedom: InteriorFreedom::of_camera(camera),
        image_sigma_px: camera.image_noise_px,
        positioning: aircraft.airframe.gnss.as_ref().map(Positioning::of_aircraft),
        control: control.collect(),
        thinning,
    }
}

impl Digest {
    /// All that a network rests on besides its images.
    pub(super) fn network_terms(&mut self, terms: &NetworkTerms) -> &mut Self {
        let NetworkTerms { lens, freedom, image_sigma_px, positioning, control, thinning } = terms;
        let Brown { k1, k2, k3, p1, p2 } = *lens;
        let InteriorFreedom { prior_sigma } = freedom;
        let Thinning { points_an_image, ray_pairs, most_images } = *thinning;
        self.numbers(&[k1, k2, k3, p1, p2]).number(*image_sigma_px).numbers(&[points_an_image, ray_pairs]);
        prior_sigma.iter().fold(self.whole(u64::from(most_images)), |digest, sigma| digest.optional(*sigma));
        self.whole(u64::from(positioning.is_some()));
        if let Some(Positioning { random_sigma_m, constant_sigma_m, set_ups }) = positioning {
            self.numbers(&random_sigma_m.to_array()).numbers(&constant_sigma_m.to_array());
            set_ups
                .iter()
                .fold(self.whole(set_ups.len() as u64), |digest, set_up| digest.whole(u64::from(*set_up)));
        }
        self.whole(control.len() as u64);
        control.iter().fold(self, |digest, ControlPlace { position_m, sigma_m }| {
            digest.numbers(&position_m.to_array()).numbers(&sigma_m.to_array())
        })
    }
}
