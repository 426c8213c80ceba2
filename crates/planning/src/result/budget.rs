use crate::flight::Timing;
use crate::route::LegKind;

/// A part of the time on site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimePart {
    /// Before anything else.
    SetUp,
    /// Placing and measuring control points.
    ControlPoints,
    /// Along strips, exposing.
    Strips,
    /// Corners and sweeps.
    Turns,
    /// From strip to strip and from pass to pass.
    Links,
    /// Climbs and descents.
    Vertical,
    /// To the route and back.
    Transits,
    /// Battery changes.
    Swaps,
    /// Waiting for chargers.
    Waits,
    /// From one take-off point to another.
    Moves,
    /// After the last landing.
    PackUp,
}

impl TimePart {
    /// All of them, as they are listed.
    pub const ALL: [TimePart; 11] = [
        TimePart::SetUp,
        TimePart::ControlPoints,
        TimePart::Strips,
        TimePart::Turns,
        TimePart::Links,
        TimePart::Vertical,
        TimePart::Transits,
        TimePart::Swaps,
        TimePart::Waits,
        TimePart::Moves,
        TimePart::PackUp,
    ];

    /// Those that are flown, as they are listed.
    pub const FLOWN: [TimePart; 5] =
        [TimePart::Strips, TimePart::Turns, TimePart::Links, TimePart::Vertical, TimePart::Transits];

    /// Its name on screens.
    pub fn name(self) -> &'static str {
        match self {
            TimePart::SetUp => "set-up",
            TimePart::ControlPoints => "control points",
            TimePart::Strips => "strips",
            TimePart::Turns => "turns",
            TimePart::Links => "links",
            TimePart::Vertical => "climbs and descents",
            TimePart::Transits => "transits",
            TimePart::Swaps => "battery changes",
            TimePart::Waits => "waits for chargers",
            TimePart::Moves => "take-off moves",
            TimePart::PackUp => "pack-up",
        }
    }

    /// What is counted in it.
    pub fn explanation(self) -> &'static str {
        match self {
            TimePart::SetUp => "On site before the first take-off: unpacking, checks, the receiver",
            TimePart::ControlPoints => "Placing and measuring control points before the flight",
            TimePart::Strips => {
                "Flying along strips, rings and rows while exposing, stops to expose included"
            }
            TimePart::Turns => "Turning at corners, on the spot or in one sweep",
            TimePart::Links => "Flying without exposing, from strip to strip and from pass to pass",
            TimePart::Vertical => "Climbing and descending",
            TimePart::Transits => {
                "Flying from the take-off point to the route and back, after every battery anew"
            }
            TimePart::Swaps => "Changing batteries on the ground",
            TimePart::Waits => "Waiting on the ground until a battery is charged",
            TimePart::Moves => "Moving the crew from one take-off point to another",
            TimePart::PackUp => "On site after the last landing",
        }
    }

    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            TimePart::SetUp => "set_up",
            TimePart::ControlPoints => "control_points",
            TimePart::Strips => "strips",
            TimePart::Turns => "turns",
            TimePart::Links => "links",
            TimePart::Vertical => "climbs_and_descents",
            TimePart::Transits => "transits",
            TimePart::Swaps => "battery_changes",
            TimePart::Waits => "waits_for_chargers",
            TimePart::Moves => "moves_between_take_off_points",
            TimePart::PackUp => "pack_up",
        }
    }

    /// Whether the aircraft is in the air meanwhile.
    pub fn is_flown(self) -> bool {
        TimePart::FLOWN.contains(&self)
    }
}

/// The time on site in whole seconds: the parts add up to the total, and those flown to the flight time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeBudget {
    /// Every part, in the order of [`TimePart::ALL`].
    pub parts_s: [(TimePart, u64); 11],
    /// Arriving to leaving.
    pub total_s: u64,
    /// Take-off to landing of all sorties.
    pub flight_s: u64,
}

impl TimeBudget {
    /// One part.
    pub fn of(&self, part: TimePart) -> u64 {
        self.parts_s.iter().find(|(own, _)| *own == part).map_or(0, |(_, seconds)| *seconds)
    }
}

/// Where what a leg draws is counted.
fn energy_part(kind: LegKind) -> TimePart {
    match kind {
        LegKind::Strip => TimePart::Strips,
        LegKind::Link => TimePart::Links,
        LegKind::Turn => TimePart::Turns,
        LegKind::Transit => TimePart::Transits,
        LegKind::Climb | LegKind::Descent => TimePart::Vertical,
    }
}

impl Timing {
    /// What the energy goes into; a turn on the spot counts with the leg that it leads to, a sweep as a turn.
    ///
    /// # Units
    /// - returns: joules, in the order of [`TimePart::FLOWN`]
    pub fn energy_parts_j(&self) -> [(TimePart, f64); 5] {
        TimePart::FLOWN.map(|part| {
            let legs = self.flight.legs.iter().filter(|flown| energy_part(flown.leg.kind) == part);
            (part, legs.map(|flown| flown.energy_j).sum())
        })
    }

    /// What the time on site is made of, to the second.
    ///
    /// # References
    /// As [`whole_parts`]: the time on site first, then the flight's share of it.
    pub fn time_budget(&self) -> TimeBudget {
        let (time, terms) = (&self.time, &self.flight.terms);
        let whole = whole_parts(&[
            time.set_up_s,
            time.control_s,
            time.flight_s,
            time.swaps_s,
            time.waits_s,
            time.moves_s,
            time.pack_up_s,
        ]);
        let flown = [terms.strips_s, terms.turns_s, terms.links_s, terms.vertical_s, terms.transits_s];
        let flown = parts_of(whole[2], &flown);
        let seconds = [
            whole[0], whole[1], flown[0], flown[1], flown[2], flown[3], flown[4], whole[3], whole[4],
            whole[5], whole[6],
        ];
        TimeBudget {
            parts_s: std::array::from_fn(|k| (TimePart::ALL[k], seconds[k])),
            total_s: whole.iter().sum(),
            flight_s: whole[2],
        }
    }
}

/// Rounds parts so that they add up to the rounded sum: each is rounded down, and those with the largest remainders get
/// one more (of equal ones the first).
///
/// # Units
/// - `parts`: any, the same, not negative
/// - returns: whole ones of the same
///
/// # References
/// Largest remainders (from memory).
///
/// # Examples
/// ```
/// use obliquity_planning::whole_parts;
/// // 4.2 in all, so one gets one more: of equal remainders the first
/// assert_eq!(whole_parts(&[1.4, 1.4, 1.4]), [2, 1, 1]);
/// ```
pub fn whole_parts<const N: usize>(parts: &[f64; N]) -> [u64; N] {
    parts_of(parts.iter().sum::<f64>().round() as u64, parts)
}

/// As [`whole_parts`], to a total that is at most `N` more than the parts rounded down.
fn parts_of<const N: usize>(total: u64, parts: &[f64; N]) -> [u64; N] {
    let mut whole = parts.map(|part| part.max(0.0).floor() as u64);
    let mut largest: [usize; N] = std::array::from_fn(|k| k);
    let remainder = |k: usize| parts[k].max(0.0).fract();
    largest.sort_by(|&a, &b| remainder(b).total_cmp(&remainder(a)));
    let given: u64 = whole.iter().sum();
    let lacking = total.saturating_sub(given) as usize;
    for &k in largest.iter().take(lacking) {
        whole[k] += 1;
    }
    // Rounded down, the parts may be one too many where the total was rounded down in its turn.
    if let Some(k) = largest.iter().rev().find(|&&k| whole[k] > 0).filter(|_| given > total) {
        whole[*k] -= 1;
    }
    whole
}

#[cfg(test)]
mod tests {
    use crate::result::budget::*;

    // Derived: by hand. 1.4 + 2.4 + 3.4 = 7.2 is 7; 1.5 + 1.5 = 3; 0.9 + 0.8 + 0.3 = 2.
    #[test]
    fn rounded_parts_add_up_to_the_rounded_sum() {
        assert_eq!(whole_parts(&[1.4, 2.4, 3.4]), [2, 2, 3]);
        assert_eq!(whole_parts(&[1.5, 1.5]), [2, 1]);
        assert_eq!(whole_parts(&[0.9, 0.8, 0.3]), [1, 1, 0]);
        assert_eq!(whole_parts(&[0.0, 60.0]), [0, 60]);
    }

    // Derived: floors add up to 8 or less, and a total one below them takes one away again.
    #[test]
    fn a_total_that_was_rounded_down_is_kept() {
        assert_eq!(parts_of(7, &[3.0, 5.0]).iter().sum::<u64>(), 7);
        assert_eq!(parts_of(9, &[3.2, 5.9]), [3, 6]);
    }
}
