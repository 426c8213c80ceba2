//! What may be set of a pass, its pattern's own settings apart.

use crate::base::{Unit, limits};
use crate::scenario::knob::{Access, Knob, KnobGroup, KnobId, Scope, row};
use crate::scenario::{Aim, Attitude, Distance, Overlaps, Pass};

/// How far from the subject.
pub const DISTANCE: KnobGroup = KnobGroup {
    name: "Distance",
    note: "",
    knobs: &[
        row!(
            Pass,
            KnobId::HEIGHT.0,
            "Height",
            "Height",
            "Above the mean ground inside the boundary, unless the pass says otherwise; the GSD follows from the camera. Higher is \
             quicker and coarser.",
            Metres,
            1,
            HEIGHT_M,
            |pass| if let Distance::Height { m, .. } = pass.distance { Some(m) } else { None },
            |pass, value| if let Distance::Height { m, .. } = &mut pass.distance {
                *m = value;
            }
        ),
        row!(
            Pass,
            KnobId::GSD.0,
            "GSD",
            "GSD",
            "Of a camera that faces its surface; height or stand-off follows from it, up to the height ceiling.",
            GsdCentimetres,
            2,
            GSD_CM,
            |pass| if let Distance::Gsd { cm, .. } = pass.distance { Some(cm) } else { None },
            |pass, value| if let Distance::Gsd { cm, .. } = &mut pass.distance {
                *cm = value;
            }
        ),
        row!(
            Pass,
            KnobId::STAND_OFF.0,
            "Stand-off",
            "Stand-off",
            "From the wall, from the structure's circle or from the soffit.",
            Metres,
            1,
            STAND_OFF_M,
            |pass| if let Distance::StandOff { m } = pass.distance { Some(m) } else { None },
            |pass, value| if let Distance::StandOff { m } = &mut pass.distance {
                *m = value;
            }
        ),
    ],
};

/// How fast, and whether it stops.
pub const SPEED: KnobGroup = KnobGroup {
    name: "Speed",
    note: "",
    knobs: &[
        row!(
            Pass,
            KnobId::SPEED.0,
            "Speed limit",
            "Speed limit",
            "Your own; aircraft, shot interval and motion blur have theirs, and the least counts.",
            MetresPerSecond,
            1,
            SPEED_MPS,
            |pass| pass.speed_mps,
            |pass, value| pass.speed_mps = value,
            "automatic",
            |_| true,
            |_| 8.0
        ),
        row!(
            Pass,
            "strategies[].passes[].hover_s",
            "Stop to expose",
            "Stop to expose",
            "Time for which the aircraft stands still at each exposure: no motion blur, but a stop and a start for each. Off, \
             it exposes while moving.",
            BriefSeconds,
            1,
            HOVER_S,
            |pass| pass.hover_s,
            |pass, value| pass.hover_s = value,
            "exposes while moving",
            |_| true,
            |_| 1.0
        ),
    ],
};

/// How images overlap, and how far beyond the subject the pass reaches.
pub const OVERLAP: KnobGroup = KnobGroup {
    name: "Overlap and margin",
    note: "",
    knobs: &[
        only_where(
            row!(
                Pass,
                "strategies[].passes[].",
                forward_overlap,
                "Forward overlap",
                "Forward overlap",
                "Share of a nadir image that the next one along the track shows again.",
                Share,
                0,
                FORWARD_OVERLAP
            ),
            has_forward_overlap,
        ),
        only_where(
            row!(
                Pass,
                KnobId::SIDELAP.0,
                "Sidelap",
                "Sidelap",
                "Share of a nadir image that the neighbouring strip or row shows again.",
                Share,
                0,
                SIDELAP,
                |pass| Some(pass.sidelap),
                |pass, value| pass.sidelap = value
            ),
            has_sidelap,
        ),
        row!(
            Pass,
            KnobId::MARGIN.0,
            "Margin",
            "Margin",
            "How far the pass reaches beyond the boundary, or beyond the ends of a corridor's line or a wall. Automatic: one \
             air base; over a boundary at least a quarter of the swath.",
            Metres,
            1,
            MARGIN_M,
            |pass| pass.margin_m,
            |pass, value| pass.margin_m = value,
            "automatic",
            has_margin,
            |_| 20.0
        ),
    ],
};

/// Where the camera looks.
pub const ATTITUDE: KnobGroup = KnobGroup {
    name: "Camera",
    note: "",
    knobs: &[
        Knob {
            id: KnobId::TILT,
            name: "Tilt",
            whole: "Tilt",
            explanation: "Angle of the camera from straight down; 45° sees walls well, 20° to 35° helps the geometry.",
            unit: Unit::Degrees,
            decimals: 1,
            range: limits::TILT_DEG,
            left_out: None,
            scope: Scope::Pass(Access {
                get: |pass| tilted(pass).next().map(|attitude| attitude.tilt_deg),
                set: |pass, value| {
                    let own = sets_tilt(pass);
                    for attitude in pass.attitudes.iter_mut().filter(|attitude| own && is_tilted(attitude)) {
                        attitude.tilt_deg = value.unwrap_or(attitude.tilt_deg);
                    }
                },
                applies: |pass| tilted(pass).next().is_some(),
                begins_at: |_| 45.0,
                narrowed: |_, range| (range.least, range.most),
            }),
        },
        row!(
            Attitude,
            "strategies[].passes[].attitudes[].",
            tilt_deg,
            "Tilt",
            "Tilt of an attitude",
            "From straight down: 90° is level, 180° straight up.",
            Degrees,
            1,
            TILT_DEG
        ),
        row!(
            Attitude,
            "strategies[].passes[].attitudes[].aim.*.deg",
            "Offset",
            "Offset of an attitude",
            "Clockwise from what the heading of the optical axis is measured from.",
            Degrees,
            1,
            DIRECTION_DEG,
            |attitude| Some(attitude.aim.deg()),
            |attitude, value| match &mut attitude.aim {
                Aim::FromTrack { deg }
                | Aim::FromStrips { deg }
                | Aim::FromNorth { deg }
                | Aim::AtSubject { deg } => {
                    *deg = value;
                }
            }
        ),
    ],
};

/// An input that only some passes show.
const fn only_where(knob: Knob, applies: fn(&Pass) -> bool) -> Knob {
    let Scope::Pass(access) = knob.scope else { return knob };
    Knob { scope: Scope::Pass(Access { applies, ..access }), ..knob }
}

/// Stations that are given one by one are not spread by an overlap.
fn has_forward_overlap(pass: &Pass) -> bool {
    pass.pattern.about().overlaps != Overlaps::Neither
}

/// Rings have no neighbours to the side but the next ring, whose height is set.
fn has_sidelap(pass: &Pass) -> bool {
    pass.pattern.about().overlaps == Overlaps::Both
}

/// A cycled pass reaches as far as its tilted images need; rings and undersides have no ends.
fn has_margin(pass: &Pass) -> bool {
    let margin = pass.pattern.about().margin;
    margin.is_some_and(|margin| margin.cycled.is_none() || pass.attitudes.len() == 1)
}

/// Whether the tilt is set by itself; an orbit's follows from its rings and its target.
fn sets_tilt(pass: &Pass) -> bool {
    !pass.pattern.about().looks.is_own_tilt()
}

/// The attitudes that a tilt slider moves. One that points somewhere keeps being tilted when its tilt passes through 0;
/// one that never had an aim but the track stays straight down.
fn tilted(pass: &Pass) -> impl Iterator<Item = &Attitude> {
    let own = sets_tilt(pass);
    pass.attitudes.iter().filter(move |attitude| own && is_tilted(attitude))
}

fn is_tilted(attitude: &Attitude) -> bool {
    let straight_ahead = attitude.aim == Aim::FromTrack { deg: 0.0 };
    attitude.tilt_deg != 0.0 || !straight_ahead
}
