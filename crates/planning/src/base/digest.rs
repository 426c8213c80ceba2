use crate::base::Id;
use glam::DVec2;
use siphasher::sip128::{Hasher128, SipHasher13};
use std::hash::Hasher;

/// A digest of one stage's whole input: equal inputs have equal keys, whatever else the scenario holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Key(u128);

/// What is kept by its inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Stage {
    /// A grid of heights; a part of other keys.
    Grid,
    /// The samples of a site.
    Site,
    /// The plan of a pass.
    Plan,
    /// Which samples the stations of a pass see.
    Sight,
    /// What counts, and what the surfaces get.
    Views,
    /// Pairs of images.
    Pairs,
    /// What routes are laid on.
    Outline,
    /// The sun on a day.
    Day,
    /// The ways to fly a pass.
    Runs,
    /// What hides a route from the take-off point.
    Lookout,
    /// Ways to a take-off point and from it.
    Ways,
    /// What a pass comes to before it is laid out.
    Count,
    /// The passes in their order; a part of other keys.
    Route,
    /// A route on the clock.
    Flight,
    /// The draws of a flight.
    Bands,
    /// What the images would tell if they were adjusted together.
    Network,
}

/// Collects the parts of an input in order.
#[derive(Clone)]
pub(crate) struct Digest(SipHasher13);

impl Digest {
    /// A digest for one stage; stages with equal inputs still have different keys.
    pub(crate) fn of_stage(stage: Stage) -> Self {
        let mut digest = Digest(SipHasher13::new());
        digest.0.write_u8(stage as u8);
        digest
    }

    pub(crate) fn whole(&mut self, value: u64) -> &mut Self {
        self.0.write_u64(value);
        self
    }

    /// Negative zero equals zero.
    pub(crate) fn number(&mut self, value: f64) -> &mut Self {
        self.0.write_u64((value + 0.0).to_bits());
        self
    }

    pub(crate) fn optional(&mut self, value: Option<f64>) -> &mut Self {
        self.whole(u64::from(value.is_some())).number(value.unwrap_or_default())
    }

    pub(crate) fn numbers(&mut self, values: &[f64]) -> &mut Self {
        self.whole(values.len() as u64);
        values.iter().fold(self, |digest, value| digest.number(*value))
    }

    pub(crate) fn text(&mut self, text: &str) -> &mut Self {
        self.whole(text.len() as u64).0.write(text.as_bytes());
        self
    }

    pub(crate) fn wholes(&mut self, values: &[i32]) -> &mut Self {
        self.whole(values.len() as u64);
        for value in values {
            self.0.write_i32(*value);
        }
        self
    }

    pub(crate) fn ids(&mut self, ids: &[Id]) -> &mut Self {
        self.whole(ids.len() as u64);
        ids.iter().fold(self, |digest, id| digest.whole(u64::from(id.0)))
    }

    pub(crate) fn key(&mut self, key: Key) -> &mut Self {
        self.0.write_u128(key.0);
        self
    }

    pub(crate) fn ring(&mut self, ring: &[DVec2]) -> &mut Self {
        self.whole(ring.len() as u64);
        ring.iter().fold(self, |digest, p| digest.number(p.x).number(p.y))
    }

    pub(crate) fn finish(&self) -> Key {
        Key(self.0.finish128().as_u128())
    }
}

#[cfg(test)]
mod tests {
    use crate::base::digest::*;

    #[test]
    fn negative_zero_is_zero_and_stages_differ() {
        let key = |stage, value| Digest::of_stage(stage).number(value).finish();
        assert_eq!(key(Stage::Site, 0.0), key(Stage::Site, -0.0));
        assert_ne!(key(Stage::Site, 0.0), key(Stage::Plan, 0.0));
        assert_ne!(key(Stage::Site, 0.0), key(Stage::Site, f64::MIN_POSITIVE));
    }

    #[test]
    fn lists_do_not_run_into_each_other() {
        let two = Digest::of_stage(Stage::Grid).numbers(&[1.0]).numbers(&[2.0, 3.0]).finish();
        assert_ne!(two, Digest::of_stage(Stage::Grid).numbers(&[1.0, 2.0]).numbers(&[3.0]).finish());
    }
}
