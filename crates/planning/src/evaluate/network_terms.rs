//! What a strategy's network rests on besides its images, from the scenario's inputs.

use crate::base::digest::Digest;
use crate::geometry::Brown;
use crate::ground::SiteOutline;
use crate::network::{ControlPlace, InteriorFreedom, NetworkTerms, Positioning, Thinning};
use crate::scenario::{Aircraft, Conditions, Gnss, Site};
use glam::DVec3;

/// Standard deviation of an image coordinate: common practice, no source.
const IMAGE_SIGMA_PX: f64 = 0.5;

/// Standard deviation of a control point's coordinates: a corrected satellite receiver on a pole; common practice, no source.
const CONTROL_SIGMA_M: DVec3 = DVec3::new(0.01, 0.01, 0.02);

/// What a strategy's network rests on.
pub(super) fn network_terms(
    site: &Site,
    _conditions: &Conditions,
    aircraft: &Aircraft,
    outline: &SiteOutline,
) -> NetworkTerms {
    let control = site.control_points.iter().map(|point| ControlPlace {
        position_m: point.at_m.extend(outline.terrain.height_m(point.at_m)),
        sigma_m: CONTROL_SIGMA_M,
    });
    NetworkTerms {
        lens: Brown::NONE,
        freedom: InteriorFreedom::ALL,
        image_sigma_px: IMAGE_SIGMA_PX,
        positioning: Some(positioning(&aircraft.airframe.gnss)),
        control: control.collect(),
        thinning: Thinning::USUAL,
    }
}

fn positioning(gnss: &Gnss) -> Positioning {
    let of = |horizontal_m: f64, vertical_m: f64| DVec3::new(horizontal_m, horizontal_m, vertical_m);
    Positioning {
        random_sigma_m: of(gnss.random_horizontal_m, gnss.random_vertical_m),
        constant_sigma_m: of(gnss.constant_horizontal_m, gnss.constant_vertical_m),
        set_ups: Vec::new(),
    }
}

impl Digest {
    /// All that a network rests on besides its images.
    pub(super) fn network_terms(&mut self, terms: &NetworkTerms) -> &mut Self {
        let NetworkTerms { lens, freedom, image_sigma_px, positioning, control, thinning } = terms;
        let Brown { k1, k2, k3, p1, p2 } = *lens;
        let InteriorFreedom { prior_sigma } = freedom;
        let Thinning { points_an_image, samples_a_tile } = *thinning;
        self.numbers(&[k1, k2, k3, p1, p2]).number(*image_sigma_px).number(points_an_image);
        prior_sigma
            .iter()
            .fold(self.whole(u64::from(samples_a_tile)), |digest, sigma| digest.optional(*sigma));
        self.whole(u64::from(positioning.is_some()));
        if let Some(Positioning { random_sigma_m, constant_sigma_m, set_ups }) = positioning {
            self.numbers(&random_sigma_m.to_array()).numbers(&constant_sigma_m.to_array());
            set_ups
                .iter()
                .fold(self.whole(set_ups.len() as u64), |digest, set_up| digest.whole(u64::from(*set_up)));
        }
        let place = |digest: &mut Self, ControlPlace { position_m, sigma_m }: &ControlPlace| {
            digest.numbers(&position_m.to_array()).numbers(&sigma_m.to_array());
        };
        self.whole(control.len() as u64);
        control.iter().for_each(|control| place(self, control));
        self
    }
}
