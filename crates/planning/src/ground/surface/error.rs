use thiserror::Error;

/// Most samples of a site: a spacing that asks for more is refused before memory is taken.
pub const SAMPLE_LIMIT: u32 = 4_000_000;

/// Most boxes that a typical building may be multiplied to.
pub const ASSUMED_LIMIT: u32 = 50_000;

/// Why a site has no model.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SiteError {
    /// The sample spacing is too small for the site.
    #[error(
        "a site has at most {limit} samples, but a spacing of {spacing_m} m gives about {count}; \
         write a larger sample_spacing_m"
    )]
    TooManySamples {
        /// Samples asked for, roughly.
        count: u64,
        /// Samples allowed.
        limit: u32,
        /// The spacing that asks for them.
        spacing_m: f64,
    },
    /// The typical building stands too often.
    #[error(
        "a typical building stands at most {limit} times, but a spacing of {spacing_m} m gives about {count}; \
         write a larger spacing_m"
    )]
    TooManyStructures {
        /// Boxes asked for, roughly.
        count: u64,
        /// Boxes allowed.
        limit: u32,
        /// The spacing that asks for them.
        spacing_m: f64,
    },
    /// A length that must be positive is not.
    #[error("{what} must be above 0 m, but it is {got_m}; write the length in metres")]
    NotPositive {
        /// The field.
        what: &'static str,
        /// Its value.
        got_m: f64,
    },
    /// A coordinate or height is not a finite number.
    #[error("{what} must be a finite number of metres, but one is not; write it as a plain number")]
    NotFinite {
        /// The field.
        what: &'static str,
    },
}
