use crate::base::{SurfaceClass, Unit};
use crate::result::{Depth, MeasureId, Outcome};

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// Less is.
    Less,
    /// More is.
    More,
}

/// One figure: everything that tables, charts, files and verdicts need to know of it.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// Which one.
    pub id: MeasureId,
    /// Name on screens and in sentences.
    pub name: &'static str,
    /// What it is, how it is worked out and by which practice, in a sentence or two.
    pub explanation: &'static str,
    /// What it is in.
    pub unit: Unit,
    /// Which way is better.
    pub better: Better,
    /// From which depth on it is known.
    pub depth: Depth,
    /// Reads it; nothing where it is not known or the strategy cannot be flown.
    pub read: fn(&Outcome) -> Option<f64>,
}

/// The figure with this identifier.
///
/// # Panics
/// Never: every identifier has its row (a test reads them all).
pub fn measure(id: MeasureId) -> &'static Measure {
    MEASURES.iter().find(|row| row.id == id).unwrap_or_else(|| unreachable!("{id:?} has no row"))
}

macro_rules! surface_rows {
    ($coverage:ident, $gsd:ident, $class:expr, $one:literal, $many:literal) => {
        const $coverage: Measure = Measure {
            id: MeasureId::Coverage($class),
            name: concat!("Coverage of ", $many),
            explanation: concat!(
                "Share of the area of ", $many, " that enough counted views see, close enough to each other to be \
                 matched and far enough apart to intersect well. Counted: in the frame, not hidden, not too slanted, \
                 not coarser than twice the required GSD."
            ),
            unit: Unit::Share,
            better: Better::More,
            depth: Depth::Views,
            read: |outcome| outcome.coverage()[$class],
        };
        const $gsd: Measure = Measure {
            id: MeasureId::GsdP95($class),
            name: concat!("GSD of ", $many, ", 95th percentile"),
            explanation: concat!(
                "Side of a pixel's area on the ", $one, " in the best counted view; 95 % of the seen area is as fine \
                 as this or finer."
            ),
            unit: Unit::GsdMetres,
            better: Better::Less,
            depth: Depth::Views,
            read: |outcome| outcome.gsd($class).map(|spread| spread.p95_m),
        };
    };
}

surface_rows!(GROUND_COVERAGE, GROUND_GSD, SurfaceClass::Ground, "ground", "the ground");
surface_rows!(ROOF_COVERAGE, ROOF_GSD, SurfaceClass::Roof, "roof", "roofs");
surface_rows!(WALL_COVERAGE, WALL_GSD, SurfaceClass::Wall, "wall", "walls");
surface_rows!(UNDERSIDE_COVERAGE, UNDERSIDE_GSD, SurfaceClass::Underside, "underside", "undersides");

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
    Measure {
        id: MeasureId::FlightTime,
        name: "Flight time",
        explanation: "Take-off to landing of all sorties, with the way out, back and to where a sortie resumes. Every \
                      leg with constant acceleration at the speed that the wind allows, from rest to rest but where a \
                      turn is flown in one sweep; yaw 60°/s and one second at each corner on the spot.",
        unit: Unit::Seconds,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.timing.as_ref()?.time.flight_s),
    },
    Measure {
        id: MeasureId::TimeOnSite,
        name: "Time on site",
        explanation: "Set-up, control points, flight, battery changes, waits for chargers and pack-up.",
        unit: Unit::Seconds,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.timing.as_ref()?.time.time_on_site_s()),
    },
    Measure {
        id: MeasureId::Sorties,
        name: "Batteries",
        explanation: "Battery sets used: a sortie ends when what is left just covers the return and the landing above \
                      the reserve.",
        unit: Unit::Count,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.flight()?.sorties.len() as f64),
    },
    Measure {
        id: MeasureId::Energy,
        name: "Energy",
        explanation: "Drawn from the batteries by all sorties: level flight at the airspeed of every leg, corners and \
                      stops in hover, and the weight lifted. Known where the aircraft's battery capacity is.",
        unit: Unit::WattHours,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| outcome.flight()?.energy_wh(),
    },
    Measure {
        id: MeasureId::EnergySets,
        name: "Energy in battery sets",
        explanation: "What all sorties draw, over what a full battery set gives on the day. Less than the sets used, \
                      since each keeps its reserve and the way home.",
        unit: Unit::BatterySets,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.flight()?.energy_sets()),
    },
    Measure {
        id: MeasureId::RouteLength,
        name: "Route length",
        explanation: "Path of all sorties, climbs and descents included.",
        unit: Unit::Metres,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.flight()?.route_length_m),
    },
    Measure {
        id: MeasureId::ImageCount,
        name: "Images",
        explanation: "Exposures taken; those whose frame would show nothing of the site are skipped and not counted.",
        unit: Unit::Count,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(f64::from(outcome.load.as_ref()?.image_count)),
    },
    Measure {
        id: MeasureId::Storage,
        name: "Card space",
        explanation: "Images times the size of an image file.",
        unit: Unit::Gigabytes,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.load.as_ref()?.storage_gb),
    },
    Measure {
        id: MeasureId::Gigapixels,
        name: "Pixels to process",
        explanation: "Images times the pixels of an image.",
        unit: Unit::Gigapixels,
        better: Better::Less,
        depth: Depth::Quick,
        read: |outcome| Some(outcome.load.as_ref()?.gigapixels),
    },
    Measure {
        id: MeasureId::ImagePairs,
        name: "Image pairs",
        explanation: "Pairs of images whose footprints share at least a quarter of the smaller and whose axes lie \
                      within 60°: what matching has to look at.",
        unit: Unit::Count,
        better: Better::Less,
        depth: Depth::Views,
        read: |outcome| outcome.load.as_ref()?.image_pairs.map(|pairs| pairs as f64),
    },
    Measure {
        id: MeasureId::ProcessingHours,
        name: "Processing",
        explanation: "Counted work times the stage rates. Until the rates are fitted to logged jobs only the ratio \
                      between strategies means something.",
        unit: Unit::Hours,
        better: Better::Less,
        depth: Depth::Views,
        read: |outcome| outcome.load.as_ref()?.hours.map(|hours| hours.total_h()),
    },
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
        let others =
            [MeasureId::FlightTime, MeasureId::TimeOnSite, MeasureId::Sorties, MeasureId::RouteLength];
        let energy = [MeasureId::Energy, MeasureId::EnergySets];
        let more = [MeasureId::ImageCount, MeasureId::Storage, MeasureId::Gigapixels, MeasureId::ImagePairs];
        let ids = surfaces
            .into_iter()
            .flatten()
            .chain(others)
            .chain(energy)
            .chain(more)
            .chain([MeasureId::ProcessingHours]);
        let mut listed = 0;
        for id in ids {
            assert_eq!(measure(id).id, id);
            listed += 1;
        }
        assert_eq!(listed, MEASURES.len());
    }
}
