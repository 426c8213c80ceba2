//! Every figure as data: what tables, charts, files and verdicts need to know of it.

use crate::base::{Id, SurfaceClass, Unit};
use crate::flight::{Band, Timing};
use crate::money::JobTerms;
use crate::result::outcome::Finished;
use crate::result::working::{Working, counts, flying, load, money, network, surfaces, times};
use crate::result::{Depth, MeasureId, Outcome};
use crate::scenario::{Conditions, Requirement, Scenario};

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// Less is.
    Less,
    /// More is.
    More,
}

/// What a figure is about: figures of one kind stand together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasureGroup {
    /// Shares of surfaces seen well.
    Coverage,
    /// Ground sample distance that surfaces get.
    Gsd,
    /// How well points and the camera come out of the images' adjustment.
    Accuracy,
    /// On the clock, from the batteries and on the way.
    Time,
    /// Images and the room for them.
    Images,
    /// What the computer has to do.
    Processing,
    /// What the job brings and takes.
    Money,
}

/// Of which strategies that can be flown a figure is known, once the evaluation is deep enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnownOf {
    /// Of all.
    All,
    /// Of those whose batteries' capacity is known; the other figure says the same without it.
    Capacity {
        /// The figure that stands where this one is not known of all.
        instead: MeasureId,
    },
    /// Of those that start from more than one place.
    SeveralTakeOffs,
    /// Of all once a price is given.
    Priced,
}

/// One figure: everything that tables, charts, files and verdicts need to know of it.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// Which one.
    pub id: MeasureId,
    /// The way to it in files, its unit in it: `coverage.wall`, `flight_time_s`.
    pub key: &'static str,
    /// Name on screens and in sentences.
    pub name: &'static str,
    /// Name beside others of its group.
    pub label: &'static str,
    /// What it is, how it is worked out and by which practice, in a sentence or two.
    pub explanation: &'static str,
    /// What it is in.
    pub unit: Unit,
    /// Which way is better.
    pub better: Better,
    /// What it stands with.
    pub group: MeasureGroup,
    /// From which depth on it is known.
    pub depth: Depth,
    /// Of which strategies it is known.
    pub known_of: KnownOf,
    /// What the requirement, or what is on hand, asks of it, in its unit.
    pub required: fn(&Requirement, &Conditions) -> Option<f64>,
    /// How sure it is, from [`Depth::Spread`] on; absent where nothing is drawn of it.
    pub band: Option<fn(&Timing) -> Option<Band>>,
    /// What is said beside it.
    pub beside: &'static [Beside],
    from: fn(&Finished<'_>) -> Option<f64>,
    work: fn(&Finished<'_>) -> Option<Working>,
}

/// A figure that is told beside a measure, and never judged.
#[derive(Debug, Clone, Copy)]
pub struct Beside {
    /// The way to it in files.
    pub key: &'static str,
    /// Name under the measure's.
    pub name: &'static str,
    /// What it is in.
    pub unit: Unit,
    from: fn(&Finished<'_>) -> Option<f64>,
}

impl Measure {
    /// Reads it; nothing where it is not known or the strategy cannot be flown.
    ///
    /// # Units
    /// - returns: the measure's own, [`Measure::unit`] as it is stored
    pub fn read(&self, outcome: &Outcome) -> Option<f64> {
        self.of(&outcome.finished())
    }

    /// What is asked of it in a strategy.
    ///
    /// # Units
    /// - returns: the measure's own, [`Measure::unit`] as it is stored
    pub fn required_of(&self, scenario: &Scenario, strategy: Id) -> Option<f64> {
        (self.required)(&scenario.requirement, &scenario.conditions_of(strategy))
    }

    /// What is asked of it in every strategy alike; nothing where that differs, or where nothing is asked.
    ///
    /// # Units
    /// - returns: the measure's own, [`Measure::unit`] as it is stored
    pub fn required_of_all(&self, scenario: &Scenario) -> Option<f64> {
        let mut asked = scenario.strategies.iter().map(|strategy| self.required_of(scenario, strategy.id));
        let Some(first) = asked.next() else {
            return (self.required)(&scenario.requirement, &scenario.conditions);
        };
        first.filter(|_| asked.all(|other| other == first))
    }

    /// Reads it from finished stages.
    pub(crate) fn of(&self, stages: &Finished<'_>) -> Option<f64> {
        (self.from)(stages)
    }

    /// How sure it is, where that is drawn.
    pub fn band_of(&self, outcome: &Outcome) -> Option<Band> {
        (self.band?)(outcome.timing.as_ref()?)
    }

    /// How it comes about; nothing where it is not known.
    pub fn working(&self, outcome: &Outcome) -> Option<Working> {
        (self.work)(&outcome.finished())
    }

    /// The way to its band in files, the unit at its end.
    pub fn band_key(&self) -> String {
        let unit = ["_s", "_wh", "_sets"].into_iter().find(|unit| self.key.ends_with(unit)).unwrap_or("");
        format!("{}_band{unit}", self.key.strip_suffix(unit).unwrap_or(self.key))
    }
}

impl Beside {
    /// Reads it; nothing where it is not known or the strategy cannot be flown.
    ///
    /// # Units
    /// - returns: its own, [`Beside::unit`] as it is stored
    pub fn read(&self, outcome: &Outcome) -> Option<f64> {
        (self.from)(&outcome.finished())
    }
}

/// The figure with this identifier.
///
/// # Panics
/// Never: every identifier has its row (a test reads them all).
pub fn measure(id: MeasureId) -> &'static Measure {
    MEASURES.iter().find(|row| row.id == id).unwrap_or_else(|| unreachable!("{id:?} has no row"))
}

/// What most rows have: less is better, known at once of all, nothing is asked, nothing is drawn, nothing stands beside.
const USUAL: Measure = Measure {
    id: MeasureId::FlightTime,
    key: "",
    name: "",
    label: "",
    explanation: "",
    unit: Unit::Count,
    better: Better::Less,
    group: MeasureGroup::Time,
    depth: Depth::Quick,
    known_of: KnownOf::All,
    required: |_, _| None,
    band: None,
    beside: &[],
    from: |_| None,
    work: |_| None,
};

macro_rules! surface_rows {
    ($coverage:ident, $gsd:ident, $class:expr, $one:literal, $many:literal) => {
        const $coverage: Measure = Measure {
            id: MeasureId::Coverage($class),
            key: concat!("coverage.", $one),
            name: concat!("Coverage of ", $many),
            label: $one,
            explanation: concat!(
                "Share of the area of ", $many, " that enough counted views see, close enough to each other to be \
                 matched and far enough apart to intersect well. Counted: in the frame, not hidden, not too slanted, \
                 not coarser than twice the required GSD."
            ),
            unit: Unit::Share,
            better: Better::More,
            group: MeasureGroup::Coverage,
            depth: Depth::Views,
            required: |requirement, _| requirement.coverage[$class],
            from: |stages| Some(stages.class($class)?.covered_ratio),
            work: |stages| surfaces::coverage(stages, $class),
            ..USUAL
        };
        const $gsd: Measure = Measure {
            id: MeasureId::GsdP95($class),
            key: concat!("gsd_cm.", $one, ".p95"),
            name: concat!("GSD of ", $many, ", 95th percentile"),
            label: $one,
            explanation: concat!(
                "Side of a pixel's area on the ", $one, " in the best counted view; 95 % of the seen area is as fine \
                 as this or finer."
            ),
            unit: Unit::GsdMetres,
            group: MeasureGroup::Gsd,
            depth: Depth::Views,
            // It is judged where coverage is asked for.
            required: |requirement, _| {
                requirement.coverage[$class].and(Some(requirement.gsd_cm[$class] / 100.0))
            },
            beside: &[
                Beside {
                    key: concat!("gsd_cm.", $one, ".p5"),
                    name: "5th percentile",
                    unit: Unit::GsdMetres,
                    from: |stages| Some(stages.class($class)?.gsd?.p5_m),
                },
                Beside {
                    key: concat!("gsd_cm.", $one, ".p50"),
                    name: "50th percentile",
                    unit: Unit::GsdMetres,
                    from: |stages| Some(stages.class($class)?.gsd?.p50_m),
                },
                Beside {
                    key: concat!("gsd_cm.", $one, ".unseen"),
                    name: "without a counted view",
                    unit: Unit::Share,
                    from: |stages| Some(stages.class($class)?.unseen_ratio),
                },
            ],
            from: |stages| Some(stages.class($class)?.gsd?.p95_m),
            work: |stages| surfaces::gsd(stages, $class),
            ..USUAL
        };
    };
}

surface_rows!(GROUND_COVERAGE, GROUND_GSD, SurfaceClass::Ground, "ground", "the ground");
surface_rows!(ROOF_COVERAGE, ROOF_GSD, SurfaceClass::Roof, "roof", "roofs");
surface_rows!(WALL_COVERAGE, WALL_GSD, SurfaceClass::Wall, "wall", "walls");
surface_rows!(UNDERSIDE_COVERAGE, UNDERSIDE_GSD, SurfaceClass::Underside, "underside", "undersides");

/// What is worked out in passing, up to [`Depth::Views`]: what settings are tried for and charts can show.
pub fn swept_measures() -> impl Iterator<Item = &'static Measure> {
    MEASURES.iter().filter(|row| row.depth <= Depth::Views)
}

macro_rules! money_row {
    ($id:ident, $key:literal, $name:literal, $label:literal, $explanation:literal, $from:expr, $work:path) => {
        Measure {
            id: MeasureId::$id,
            key: $key,
            name: $name,
            label: $label,
            explanation: $explanation,
            unit: Unit::Money,
            group: MeasureGroup::Money,
            depth: Depth::Views,
            known_of: KnownOf::Priced,
            from: |stages| {
                let amount: fn(&JobTerms) -> f64 = $from;
                Some(amount(&stages.job?.terms))
            },
            work: $work,
            ..USUAL
        }
    };
}

/// Millimetres of metres.
const MM: f64 = 1000.0;

const PRECISION_HORIZONTAL: Measure = Measure {
    id: MeasureId::PrecisionHorizontal,
    key: "precision_mm.horizontal.p95",
    name: "Horizontal precision, 95th percentile",
    label: "σ horizontal, 95 %",
    explanation: "Standard deviation of the place (√(σx² + σy²)) of points measured on what is covered: 95 % of that area \
                  is as precise as this, or more. From the covariance of the images' adjustment: noise of image points, \
                  poses, calibration, positioning with the part that all images share, control points.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    beside: &[Beside {
        key: "precision_mm.horizontal.p50",
        name: "50th percentile",
        unit: Unit::Millimetres,
        from: |stages| Some(MM * stages.network?.overall?.horizontal.p50_m),
    }],
    from: |stages| Some(MM * stages.network?.overall?.horizontal.p95_m),
    work: |stages| network::reached(stages, |own| &own.horizontal, "horizontal precision, 95th percentile"),
    ..USUAL
};

const PRECISION_VERTICAL: Measure = Measure {
    id: MeasureId::PrecisionVertical,
    key: "precision_mm.vertical.p95",
    name: "Vertical precision, 95th percentile",
    label: "σ vertical, 95 %",
    explanation: "Standard deviation of the height of points measured on what is covered: 95 % of that area is as precise \
                  as this, or more. As horizontal precision.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    beside: &[Beside {
        key: "precision_mm.vertical.p50",
        name: "50th percentile",
        unit: Unit::Millimetres,
        from: |stages| Some(MM * stages.network?.overall?.vertical.p50_m),
    }],
    from: |stages| Some(MM * stages.network?.overall?.vertical.p95_m),
    work: |stages| network::reached(stages, |own| &own.vertical, "vertical precision, 95th percentile"),
    ..USUAL
};

const ACCURACY_HORIZONTAL: Measure = Measure {
    id: MeasureId::AccuracyHorizontal,
    key: "accuracy_mm.horizontal",
    name: "Horizontal accuracy, RMSE",
    label: "horizontal RMSE",
    explanation: "Expected root mean square error of the place (√(σx² + σy²)) of points measured on what is covered: what check \
                  points all over it would show, errors of their own survey left out. Expected, not certified.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    required: |requirement, _| Some(MM * requirement.accuracy.horizontal_rmse_m()?),
    from: |stages| Some(MM * stages.network?.overall?.horizontal.rms_m),
    work: |stages| network::rmse(stages, |own| &own.horizontal, "horizontal accuracy"),
    ..USUAL
};

const ACCURACY_VERTICAL: Measure = Measure {
    id: MeasureId::AccuracyVertical,
    key: "accuracy_mm.vertical",
    name: "Vertical accuracy, RMSE",
    label: "vertical RMSE",
    explanation: "Expected root mean square error of the height of points measured on what is covered: what check points all \
                  over it would show, errors of their own survey left out. Expected, not certified.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    required: |requirement, _| Some(MM * requirement.accuracy.vertical_rmse_m()?),
    from: |stages| Some(MM * stages.network?.overall?.vertical.rms_m),
    work: |stages| network::rmse(stages, |own| &own.vertical, "vertical accuracy"),
    ..USUAL
};

const FOCAL_SIGMA: Measure = Measure {
    id: MeasureId::FocalSigma,
    key: "calibration.focal_sigma_px",
    name: "Focal length, standard deviation",
    label: "focal length",
    explanation: "How well the block determines the camera's focal length, with what is known of it before. Where that is \
                  no better than before, heights are off as a whole. Nothing where the calibration holds it.",
    unit: Unit::Pixels,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    from: |stages| stages.network?.calibration.as_ref()?.focal_sigma_px,
    work: network::focal,
    ..USUAL
};

const DOMING: Measure = Measure {
    id: MeasureId::Doming,
    key: "calibration.doming_mm",
    name: "Doming, standard deviation",
    label: "doming",
    explanation: "Standard deviation of the mean height of the tenth of the ground nearest to its middle less that of the \
                  farthest tenth: how far the model may bend.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    from: |stages| Some(MM * stages.network?.calibration.as_ref()?.doming_m?),
    work: network::doming,
    ..USUAL
};

const DOME_PER_PIXEL: Measure = Measure {
    id: MeasureId::DomePerPixel,
    key: "calibration.dome_per_px_mm",
    name: "Dome of a calibration wrong by a pixel",
    label: "dome per pixel",
    explanation: "Dome that is left if the calibration is held fixed and its radial distortion is wrong by one pixel in the \
                  corner of the frame; the sign is left out.",
    unit: Unit::Millimetres,
    group: MeasureGroup::Accuracy,
    depth: Depth::Network,
    from: |stages| Some(MM * stages.network?.calibration.as_ref()?.dome_per_px_m?.abs()),
    work: network::dome_per_pixel,
    ..USUAL
};

/// Every figure, what it delivers before what it costs.
pub const MEASURES: &[Measure] = &[
    GROUND_COVERAGE,
    ROOF_COVERAGE,
    WALL_COVERAGE,
    UNDERSIDE_COVERAGE,
    GROUND_GSD,
    ROOF_GSD,
    WALL_GSD,
    UNDERSIDE_GSD,
    ACCURACY_HORIZONTAL,
    ACCURACY_VERTICAL,
    PRECISION_HORIZONTAL,
    PRECISION_VERTICAL,
    FOCAL_SIGMA,
    DOMING,
    DOME_PER_PIXEL,
    Measure {
        id: MeasureId::FlightTime,
        key: "flight_time_s",
        name: "Flight time",
        label: "flying",
        explanation: "Take-off to landing of all sorties, with the way out, back and to where a sortie resumes. Every \
                      leg with constant acceleration at the speed that the wind allows, from rest to rest but where a \
                      turn is flown in one sweep; yaw 60°/s and one second at each corner on the spot.",
        unit: Unit::Seconds,
        band: Some(|timing| Some(timing.bands.as_ref()?.flight_s)),
        from: |stages| Some(stages.timing?.time.flight_s),
        work: times::flight_time,
        ..USUAL
    },
    Measure {
        id: MeasureId::TimeOnSite,
        key: "time_on_site_s",
        name: "Time on site",
        label: "on site",
        explanation: "Set-up, control points, flight, battery changes, waits for chargers and pack-up.",
        unit: Unit::Seconds,
        required: |requirement, _| Some(60.0 * requirement.time_on_site_min?),
        band: Some(|timing| Some(timing.bands.as_ref()?.time_on_site_s)),
        from: |stages| Some(stages.timing?.time.time_on_site_s()),
        work: times::time_on_site,
        ..USUAL
    },
    Measure {
        id: MeasureId::Moves,
        key: "moves_s",
        name: "Moves between take-offs",
        label: "moves",
        explanation: "What the crew takes to go from one take-off point to the next between sorties, part of the time on site. \
                      Common practice.",
        unit: Unit::Seconds,
        known_of: KnownOf::SeveralTakeOffs,
        beside: &[Beside {
            key: "moves",
            name: "moves",
            unit: Unit::Count,
            from: |stages| {
                let timing = stages.timing?;
                timing.has_several_take_offs().then(|| f64::from(timing.time.moves))
            },
        }],
        from: |stages| {
            let timing = stages.timing?;
            timing.has_several_take_offs().then_some(timing.time.moves_s)
        },
        work: times::time_of_moves,
        ..USUAL
    },
    Measure {
        id: MeasureId::Sorties,
        key: "sorties",
        name: "Batteries",
        label: "batteries",
        explanation: "Battery sets used: a sortie ends when what is left just covers the return and the landing above \
                      the reserve.",
        // Sets that are charged on site fly again; waiting for them is part of the time.
        required: |_, conditions| conditions.charging.is_none().then_some(f64::from(conditions.battery_sets)),
        band: Some(|timing| Some(timing.bands.as_ref()?.sorties)),
        from: |stages| Some(stages.timing?.flight.sorties.len() as f64),
        work: flying::sorties,
        ..USUAL
    },
    Measure {
        id: MeasureId::Energy,
        key: "energy_wh",
        name: "Energy",
        label: "energy, Wh",
        explanation: "Drawn from the batteries by all sorties: level flight at the airspeed of every leg, corners and \
                      stops in hover, and the weight lifted. Known where the aircraft's battery capacity is.",
        unit: Unit::WattHours,
        known_of: KnownOf::Capacity { instead: MeasureId::EnergySets },
        band: Some(Timing::energy_wh_band),
        from: |stages| stages.timing?.flight.energy_wh(),
        work: times::energy,
        ..USUAL
    },
    Measure {
        id: MeasureId::EnergySets,
        key: "energy_sets",
        name: "Energy in battery sets",
        label: "energy, battery sets",
        explanation: "What all sorties draw, over what a full battery set gives on the day. Less than the sets used, \
                      since each keeps its reserve and the way home.",
        unit: Unit::BatterySets,
        band: Some(Timing::energy_sets_band),
        from: |stages| Some(stages.timing?.flight.energy_sets()),
        work: times::energy_sets,
        ..USUAL
    },
    Measure {
        id: MeasureId::RouteLength,
        key: "route_length_m",
        name: "Route length",
        label: "route",
        explanation: "Path of all sorties, climbs and descents included.",
        unit: Unit::Metres,
        from: |stages| Some(stages.timing?.flight.route_length_m),
        work: flying::route_length,
        ..USUAL
    },
    Measure {
        id: MeasureId::Farthest,
        key: "farthest_m",
        name: "Farthest from take-off",
        label: "farthest",
        explanation: "Largest horizontal distance of the route flown from the take-off point: what line of sight and \
                      radio have to reach.",
        unit: Unit::Metres,
        from: |stages| Some(stages.timing?.flight.farthest_m),
        work: flying::farthest,
        ..USUAL
    },
    Measure {
        id: MeasureId::ImageCount,
        key: "image_count",
        name: "Images",
        label: "images",
        explanation: "Exposures taken; those whose frame would show nothing of the site are skipped and not counted.",
        group: MeasureGroup::Images,
        required: |requirement, _| requirement.images.map(f64::from),
        beside: &[Beside {
            key: "skipped_exposures",
            name: "skipped",
            unit: Unit::Count,
            from: |stages| Some(f64::from(stages.load?.skipped_exposures)),
        }],
        from: |stages| Some(f64::from(stages.load?.image_count)),
        work: counts::images,
        ..USUAL
    },
    Measure {
        id: MeasureId::Storage,
        key: "storage_gb",
        name: "Card space",
        label: "card space",
        explanation: "Images times the size of an image file.",
        unit: Unit::Gigabytes,
        group: MeasureGroup::Images,
        from: |stages| Some(stages.load?.storage_gb),
        work: counts::storage,
        ..USUAL
    },
    Measure {
        id: MeasureId::Gigapixels,
        key: "load.gigapixels",
        name: "Pixels to process",
        label: "gigapixels",
        explanation: "Images times the pixels of an image.",
        unit: Unit::Gigapixels,
        group: MeasureGroup::Processing,
        from: |stages| Some(stages.load?.gigapixels),
        work: load::gigapixels,
        ..USUAL
    },
    Measure {
        id: MeasureId::ImagePairs,
        key: "load.image_pairs",
        name: "Image pairs",
        label: "image pairs",
        explanation: "Pairs of images whose footprints share at least a quarter of the smaller and whose axes lie \
                      within 60°: what matching has to look at.",
        group: MeasureGroup::Processing,
        depth: Depth::Views,
        from: |stages| stages.load?.image_pairs.map(|pairs| pairs as f64),
        work: load::pairs,
        ..USUAL
    },
    Measure {
        id: MeasureId::ProcessingHours,
        key: "load.hours",
        name: "Processing",
        label: "hours",
        explanation: "Machine hours, from features to texture: counted work times the stage rates. Until the rates are \
                      calibrated on logged jobs only the ratio between strategies means something.",
        unit: Unit::Hours,
        group: MeasureGroup::Processing,
        depth: Depth::Views,
        from: |stages| stages.load?.hours.map(|hours| hours.total_h()),
        work: load::hours,
        ..USUAL
    },
    Measure {
        id: MeasureId::AttendedHours,
        key: "load.attended_h",
        name: "Attended hours",
        label: "attended",
        explanation: "Hours of somebody at the workstation, apart from those of the machine: so much for a job, each control \
                      point and a thousand images. Common practice.",
        unit: Unit::Hours,
        group: MeasureGroup::Processing,
        from: |stages| Some(stages.load?.attended.total_h()),
        work: load::attended,
        ..USUAL
    },
    Measure {
        id: MeasureId::ProcessingMemory,
        key: "load.memory_gb",
        name: "Memory for processing",
        label: "memory",
        explanation: "What the stage that takes the most memory takes, with system and program: an estimate from counted \
                      work and common practice.",
        unit: Unit::Gigabytes,
        group: MeasureGroup::Processing,
        depth: Depth::Views,
        from: |stages| Some(stages.load?.memory?.total_gb()),
        work: load::memory,
        ..USUAL
    },
    Measure {
        id: MeasureId::ProcessingDisk,
        key: "load.disk_gb",
        name: "Disk for processing",
        label: "disk",
        explanation: "Images and everything that is made of them on the way, all at once: an estimate from counted work and \
                      common practice.",
        unit: Unit::Gigabytes,
        group: MeasureGroup::Processing,
        depth: Depth::Views,
        from: |stages| Some(stages.load?.disk?.total_gb()),
        work: load::disk,
        ..USUAL
    },
    Measure {
        better: Better::More,
        ..money_row!(
            JobContribution,
            "job.contribution",
            "Contribution of the job",
            "contribution",
            "What the job leaves of its price: less crew, travel, control survey, battery wear, processing, visits that \
             are expected to be made again, and sign-off. The aircraft's own cost a year is not in it. In your own currency.",
            JobTerms::contribution,
            money::contribution
        )
    },
    Measure {
        id: MeasureId::JobContributionPerArea,
        key: "job.contribution_per_ha",
        name: "Contribution for each hectare or acre",
        label: "for the area",
        explanation: "What the job leaves over the land inside the boundary.",
        unit: Unit::MoneyPerHectare,
        better: Better::More,
        group: MeasureGroup::Money,
        depth: Depth::Views,
        known_of: KnownOf::Priced,
        from: |stages| Some(stages.job?.contribution_per_ha()),
        work: money::contribution_per_ha,
        ..USUAL
    },
    money_row!(
        JobCost,
        "job.cost",
        "Cost of the job",
        "cost",
        "All that the job takes; the aircraft's own cost a year is not in it.",
        JobTerms::costs,
        money::cost
    ),
    money_row!(
        JobCrew,
        "job.crew",
        "Crew",
        "crew",
        "Wages of all people on site and on the road, for one visit.",
        |terms| terms.crew,
        money::crew
    ),
    money_row!(
        JobTravel,
        "job.travel",
        "Travel",
        "travel",
        "Kilometres on the road, wages left out, for one visit.",
        |terms| terms.travel,
        money::travel
    ),
    money_row!(
        JobControlSurvey,
        "job.control_survey",
        "Control survey",
        "control survey",
        "Measuring the control points, the crew's time left out.",
        |terms| terms.control_survey,
        money::control_survey
    ),
    money_row!(
        JobBatteryWear,
        "job.battery_wear",
        "Battery wear",
        "battery wear",
        "Price of a battery set over the cycles that it lasts, for each full set that a visit draws.",
        |terms| terms.battery_wear,
        money::battery_wear
    ),
    money_row!(
        JobProcessing,
        "job.processing",
        "Cost of processing",
        "processing",
        "Hours of the workstation, attended or not, and of somebody at it, each times what one costs.",
        JobTerms::processing,
        money::processing
    ),
    money_row!(
        JobAgain,
        "job.again",
        "Visits made again",
        "made again",
        "Crew, travel and battery wear of the visits that are expected beyond the first: with a share p of visits made \
         again these are p / (1 − p).",
        |terms| terms.again,
        money::again
    ),
    money_row!(
        JobSignOff,
        "job.sign_off",
        "Sign-off",
        "sign-off",
        "A licensed practice's signature.",
        |terms| terms.sign_off,
        money::sign_off
    ),
];

#[cfg(test)]
mod tests {
    use crate::result::measure::*;

    #[test]
    fn every_identifier_has_one_row() {
        for (k, row) in MEASURES.iter().enumerate() {
            assert_eq!(MEASURES.iter().position(|other| other.id == row.id), Some(k));
            assert_eq!(measure(row.id).name, row.name);
        }
        let surfaces = SurfaceClass::ALL.map(|class| [MeasureId::Coverage(class), MeasureId::GsdP95(class)]);
        let others = [
            MeasureId::FlightTime,
            MeasureId::TimeOnSite,
            MeasureId::Moves,
            MeasureId::Sorties,
            MeasureId::RouteLength,
            MeasureId::Farthest,
        ];
        let energy = [MeasureId::Energy, MeasureId::EnergySets];
        let network = [
            MeasureId::AccuracyHorizontal,
            MeasureId::AccuracyVertical,
            MeasureId::PrecisionHorizontal,
            MeasureId::PrecisionVertical,
            MeasureId::FocalSigma,
            MeasureId::Doming,
            MeasureId::DomePerPixel,
        ];
        let more = [MeasureId::ImageCount, MeasureId::Storage, MeasureId::Gigapixels, MeasureId::ImagePairs];
        let ids = surfaces
            .into_iter()
            .flatten()
            .chain(others)
            .chain(energy)
            .chain(network)
            .chain(more)
            .chain([MeasureId::ProcessingHours, MeasureId::AttendedHours])
            .chain([MeasureId::ProcessingMemory, MeasureId::ProcessingDisk])
            .chain([MeasureId::JobContribution, MeasureId::JobContributionPerArea, MeasureId::JobCost])
            .chain([MeasureId::JobCrew, MeasureId::JobTravel, MeasureId::JobControlSurvey])
            .chain([MeasureId::JobBatteryWear, MeasureId::JobProcessing, MeasureId::JobAgain])
            .chain([MeasureId::JobSignOff]);
        let mut listed = 0;
        for id in ids {
            assert_eq!(measure(id).id, id);
            listed += 1;
        }
        assert_eq!(listed, MEASURES.len());
    }
}
