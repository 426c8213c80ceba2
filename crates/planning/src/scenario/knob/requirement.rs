//! What may be set of the requirement and of the processing rates.

use crate::base::SurfaceClass;
use crate::scenario::knob::{KnobGroup, KnobId, row};

macro_rules! coverage {
    ($class:ident, $whole:literal, $begins_at:literal) => {
        row!(
            Requirement,
            KnobId::coverage(SurfaceClass::$class).0,
            $whole,
            $whole,
            "Least share of the area that must be covered; what that means stands below",
            Share,
            1,
            COVERAGE,
            |r| r.coverage[SurfaceClass::$class],
            |r, value| r.coverage[SurfaceClass::$class] = value,
            "not asked for",
            |_| true,
            |_| $begins_at
        )
    };
}

macro_rules! gsd {
    ($class:ident, $whole:literal) => {
        row!(
            Requirement,
            KnobId::gsd_on(SurfaceClass::$class).0,
            $whole,
            $whole,
            "Coarsest allowed on 95 % of the area seen; a view more than twice as coarse does not count",
            GsdCentimetres,
            2,
            GSD_CM,
            |r| Some(r.gsd_cm[SurfaceClass::$class]),
            |r, value| r.gsd_cm[SurfaceClass::$class] = value
        )
    };
}

/// What the job must deliver.
pub const DELIVERS: KnobGroup = KnobGroup {
    name: "Must deliver",
    note: "A strategy meets the requirement when it reaches all of this",
    knobs: &[
        coverage!(Ground, "Coverage of ground", 0.95),
        gsd!(Ground, "GSD on ground"),
        coverage!(Roof, "Coverage of roofs", 0.95),
        gsd!(Roof, "GSD on roofs"),
        coverage!(Wall, "Coverage of walls", 0.8),
        gsd!(Wall, "GSD on walls"),
        coverage!(Underside, "Coverage of undersides", 0.8),
        gsd!(Underside, "GSD on undersides"),
        row!(
            Requirement,
            "requirement.time_on_site_min",
            "Time on site",
            "Time on site",
            "Longest stay, from arriving to leaving: set-up, flying, battery changes, control points, pack-up",
            Minutes,
            0,
            TIME_ON_SITE_MIN,
            |r| r.time_on_site_min,
            |r, value| r.time_on_site_min = value,
            "not asked for",
            |_| true,
            |_| 120.0
        ),
        row!(
            Requirement,
            "requirement.images",
            "Images",
            "Images",
            "Most images, for instance what your processing takes",
            Count,
            0,
            IMAGES,
            |r| r.images.map(f64::from),
            |r, value| r.images = value.map(|value| value.round() as u32),
            "not asked for",
            |_| true,
            |_| 2000.0
        ),
    ],
};

/// How far measured points may be off.
pub const ACCURACY: KnobGroup = KnobGroup {
    name: "Accuracy",
    note: "Of points that are measured in the block, in the site's frame; expected, not certified",
    knobs: &[
        row!(
            Requirement,
            "requirement.accuracy.horizontal_m",
            "Horizontal",
            "Horizontal accuracy",
            "Largest error of the place of a point that is measured in the block, at the level above",
            SizeMetres,
            1,
            ACCURACY_M,
            |r| r.accuracy.horizontal_m,
            |r, value| r.accuracy.horizontal_m = value,
            "not asked for",
            |_| true,
            |_| 0.05
        ),
        row!(
            Requirement,
            "requirement.accuracy.vertical_m",
            "Vertical",
            "Vertical accuracy",
            "Largest error of the height of a point that is measured in the block, at the level above",
            SizeMetres,
            1,
            ACCURACY_M,
            |r| r.accuracy.vertical_m,
            |r, value| r.accuracy.vertical_m = value,
            "not asked for",
            |_| true,
            |_| 0.05
        ),
    ],
};

/// When a view counts, and when views cover.
pub const VIEWS: KnobGroup = KnobGroup {
    name: "Coverage means",
    note: "When a view counts, and when views cover a surface; the same for all strategies",
    knobs: &[
        row!(
            Requirement,
            "requirement.",
            views.max_incidence_deg,
            "Maximum incidence",
            "Maximum incidence",
            "A view counts when its ray meets the surface within this angle of the surface's normal",
            Degrees,
            0,
            INCIDENCE_DEG
        ),
        row!(
            Requirement,
            "requirement.",
            views.min_views as u32,
            "Minimum views",
            "Minimum views",
            "Counted views that a covered point has in one linked group",
            Count,
            0,
            MIN_VIEWS
        ),
        row!(
            Requirement,
            "requirement.",
            views.min_intersection_deg,
            "Minimum intersection angle",
            "Minimum intersection angle",
            "Between some two rays of the group; a smaller angle leaves the distance uncertain",
            Degrees,
            0,
            INTERSECTION_DEG
        ),
        row!(
            Requirement,
            "requirement.",
            views.max_link_deg,
            "Maximum link angle",
            "Maximum link angle",
            "Two views are linked, and can be matched, when their rays differ by no more than this",
            Degrees,
            0,
            LINK_DEG
        ),
    ],
};

/// How long processing takes for each unit of work.
pub const STAGES: KnobGroup = KnobGroup {
    name: "Processing rates",
    note: "Hours for each unit of counted work, on your own machines. Assumed orders of magnitude until you fit them to \
           jobs that you have logged.",
    knobs: &[
        row!(
            Rates,
            "rates.",
            stages.features_h_per_gigapixel,
            "Image features, each gigapixel",
            "Image features, each gigapixel",
            "Hours to find features in 10⁹ pixels",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.matching_h_per_thousand_pairs,
            "Matching, each 1000 pairs",
            "Matching, each 1000 pairs",
            "Hours to match a thousand overlapping pairs",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.adjustment_h_per_thousand_images,
            "Adjustment, each 1000 images",
            "Adjustment, each 1000 images",
            "Hours of bundle adjustment for a thousand images",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.dense_h_per_gigapixel,
            "Dense points, each gigapixel",
            "Dense points, each gigapixel",
            "Hours of dense reconstruction for 10⁹ pixels",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.surface_h_per_gigapoint,
            "Surface, each 10⁹ points",
            "Surface, each 10⁹ points",
            "Hours to make a surface of 10⁹ points, one for each cell as large as the GSD; 0 where you make none",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.orthomosaic_h_per_gigapixel,
            "Orthomosaic, each gigapixel",
            "Orthomosaic, each gigapixel",
            "Hours to make an orthomosaic of 10⁹ pixels; 0 where you make none",
            Hours,
            3,
            STAGE_RATE_H
        ),
        row!(
            Rates,
            "rates.",
            stages.texture_h_per_gigapixel,
            "Texture, each gigapixel",
            "Texture, each gigapixel",
            "Hours to lay a texture of 10⁹ pixels on the surface; 0 where you make none",
            Hours,
            3,
            STAGE_RATE_H
        ),
    ],
};

/// How long somebody sits at the workstation.
pub const ATTENDED: KnobGroup = KnobGroup {
    name: "Attended hours",
    note: "Of somebody at the workstation, apart from the hours of the machine. Common practice until you set your own.",
    knobs: &[
        row!(
            Rates,
            "rates.",
            attended.job_h,
            "For a job",
            "For a job",
            "Hours to set up, check and hand over a job",
            Hours,
            2,
            ATTENDED_H
        ),
        row!(
            Rates,
            "rates.",
            attended.control_point_min,
            "For each control point",
            "For each control point",
            "Minutes to mark a control point in its images",
            Minutes,
            1,
            CREW_TIME_MIN
        ),
        row!(
            Rates,
            "rates.",
            attended.thousand_images_h,
            "For each 1000 images",
            "For each 1000 images",
            "Hours to look through a thousand images",
            Hours,
            2,
            ATTENDED_H
        ),
    ],
};
