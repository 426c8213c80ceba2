use crate::base::ByClass;
use serde::{Deserialize, Deserializer, Serialize};

/// What the job must deliver, and what coverage means for all the strategies compared.
///
/// A file may leave any of it out: GSD, coverage and the rules of views then have the defaults of common practice, and what
/// else is left out is not asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Requirement {
    /// Coarsest GSD allowed, tested on the 95th percentile; also bounds what counts as a view (twice this).
    #[serde(default = "usual_gsd_cm", deserialize_with = "gsd_cm_in_part")]
    pub gsd_cm: ByClass<f64>,
    /// Least share of each class's area that must be covered, 0 to 1; of classes absent: not asked for.
    #[serde(default = "usual_coverage")]
    pub coverage: ByClass<Option<f64>>,
    /// When a view counts and when views make coverage.
    #[serde(default)]
    pub views: ViewRules,
    /// Longest time on site.
    #[serde(default)]
    pub time_on_site_min: Option<f64>,
    /// Most images.
    #[serde(default)]
    pub images: Option<u32>,
    /// How far measured points may be off.
    #[serde(default, skip_serializing_if = "Accuracy::is_usual")]
    pub accuracy: Accuracy,
}

/// How far points that are measured in the block may be off, in the local frame.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Accuracy {
    /// What the limits are of.
    pub level: AccuracyLevel,
    /// Largest horizontal error; absent, none is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub horizontal_m: Option<f64>,
    /// Largest error of heights; absent, none is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vertical_m: Option<f64>,
}

impl Accuracy {
    /// Whether it is as where a file leaves it out: nothing is asked for.
    pub fn is_usual(&self) -> bool {
        *self == Accuracy::default()
    }
}

/// What a limit of accuracy is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum AccuracyLevel {
    /// One standard deviation: of east and of north each, and of the height.
    OneSigma,
    /// Root mean square error: of the horizontal distance, and of the height.
    #[default]
    Rmse,
    /// What 95 % of the errors stay below: of the horizontal distance, and of the height.
    At95,
}

impl AccuracyLevel {
    /// All, from the smallest number to the largest.
    pub const ALL: [AccuracyLevel; 3] = [AccuracyLevel::OneSigma, AccuracyLevel::Rmse, AccuracyLevel::At95];

    /// What stands behind a number: "5 cm RMSE", "5 cm at 95 %".
    pub fn words(self) -> &'static str {
        match self {
            AccuracyLevel::OneSigma => "1σ",
            AccuracyLevel::Rmse => "RMSE",
            AccuracyLevel::At95 => "at 95 %",
        }
    }
}

/// When a view counts and when views make coverage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ViewRules {
    /// Greatest angle between a surface's normal and the ray.
    pub max_incidence_deg: f64,
    /// Fewest counted views in a linked group.
    pub min_views: u32,
    /// Least angle between some two rays of the group.
    pub min_intersection_deg: f64,
    /// Two views are linked when their rays differ by no more than this.
    pub max_link_deg: f64,
}

impl Default for ViewRules {
    /// Common practice, no source.
    fn default() -> Self {
        ViewRules { max_incidence_deg: 55.0, min_views: 3, min_intersection_deg: 10.0, max_link_deg: 40.0 }
    }
}

impl Default for Requirement {
    /// Common practice, no source: ground and roof 2 cm, wall 4 cm; 98, 95 and 80 % covered; two hours on site.
    fn default() -> Self {
        Requirement {
            gsd_cm: usual_gsd_cm(),
            coverage: usual_coverage(),
            views: ViewRules::default(),
            time_on_site_min: Some(120.0),
            images: None,
            accuracy: Accuracy::default(),
        }
    }
}

fn usual_gsd_cm() -> ByClass<f64> {
    ByClass { ground: 2.0, roof: 2.0, wall: 4.0, underside: 4.0 }
}

fn usual_coverage() -> ByClass<Option<f64>> {
    ByClass { ground: Some(0.98), roof: Some(0.95), wall: Some(0.80), underside: None }
}

/// Reads the GSD of the classes that are given; the others have theirs of common practice.
fn gsd_cm_in_part<'de, D: Deserializer<'de>>(reader: D) -> Result<ByClass<f64>, D::Error> {
    #[derive(Deserialize)]
    #[serde(default, deny_unknown_fields, rename = "ByClass")]
    struct InPart {
        ground: f64,
        roof: f64,
        wall: f64,
        underside: f64,
    }
    impl Default for InPart {
        fn default() -> Self {
            let ByClass { ground, roof, wall, underside } = usual_gsd_cm();
            InPart { ground, roof, wall, underside }
        }
    }
    let InPart { ground, roof, wall, underside } = InPart::deserialize(reader)?;
    Ok(ByClass { ground, roof, wall, underside })
}
