use crate::evaluate::{Evaluator, Stopped};
use crate::scenario::Scenario;
use std::sync::Arc;

/// Sites with more samples than this are first looked at with fewer.
const MANY_SAMPLES: u32 = 6_000;

/// How many times as far apart samples are then.
const SPARSER: f64 = 3.0;

/// The scenario with fewer samples, where it has many: for a first look.
pub(super) fn fewer_samples(
    evaluator: &Evaluator<'_>,
    scenario: &Scenario,
) -> Result<Option<Scenario>, Stopped> {
    let (_, site) = evaluator.sampled_site(scenario)?;
    if site.sample_count <= MANY_SAMPLES {
        return Ok(None);
    }
    let mut sparse = scenario.clone();
    Arc::make_mut(&mut sparse.site).sample_spacing_m = Some(site.spacing_m * SPARSER);
    Ok(Some(sparse))
}
