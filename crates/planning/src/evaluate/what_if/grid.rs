//! The settings that a search looks at: every combination of a few listed values.

use crate::base::{Id, Unit};
use crate::scenario::knob::{Dial, KnobId};
use crate::scenario::{EditError, Knob, Scenario};

/// Most combinations that may be listed.
pub const MOST_SETTINGS: usize = 2_000_000;

/// Combinations that are looked at all; of more, first every second, third … value, then all about the best of those.
const AT_ONCE: usize = 640;

/// Values listed to each side of the present one, where it is for the program to say.
const ASIDE: u32 = 15;

/// An input that a search may set, and what it may set it to.
#[derive(Debug, Clone, PartialEq)]
pub struct Free {
    /// The input and where it is set.
    pub dial: Dial,
    /// What it may be, ascending.
    pub values: Vec<f64>,
}

impl Free {
    /// What can be keyed in from one value to another.
    ///
    /// # Units
    /// - `from`, `to`: the knob's own, [`Knob::unit`] as it is stored
    pub fn keyable(dial: Dial, (from, to): (f64, f64)) -> Self {
        let row = dial.knob();
        let step = row.keyed(1.0);
        let (first, last) = ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
        let count = (last - first + 1.0).max(0.0) as usize;
        let value = |k: usize| row.keyed(first + k as f64);
        Free { dial, values: (0..count).map(value).collect() }
    }

    /// What can be keyed in about the present value: fifteen steps to each side, within what is allowed.
    fn about_present(scenario: &Scenario, dial: Dial) -> Option<Self> {
        let (present, (least, most)) = (dial.value(scenario)?, dial.bounds(scenario));
        let step = dial.knob().key_step();
        let most = if dial.knob().unit == Unit::Share { most.min(MOST_OVERLAP) } else { most };
        let aside = f64::from(ASIDE) * step;
        let free = Free::keyable(dial, ((present - aside).max(least), (present + aside).min(most)));
        (free.values.len() > 1).then_some(free)
    }

    /// What a search of a strategy may set, the likeliest first, and whether it does unless it is told otherwise. Where the
    /// passes of a strategy stand at several values of an input, each value is a row of its own.
    pub fn usual(scenario: &Scenario, strategy: Id) -> Vec<(Free, SearchOf)> {
        const SEARCHED: [KnobId; 5] =
            [KnobId::GSD, KnobId::HEIGHT, KnobId::STAND_OFF, KnobId::SIDELAP, KnobId::TILT];
        let dials =
            |id: KnobId| Dial::of_strategy(scenario, id, strategy).map(|dial| dial.by_value(scenario));
        let usual = SEARCHED.into_iter().filter_map(dials);
        // Of an input that stands at several values the one with most passes is searched.
        let ticked = usual.filter_map(|groups| {
            let most = groups.iter().map(|dial| dial.places().len()).max()?;
            groups.into_iter().find(|dial| dial.places().len() == most)
        });
        let ticked: Vec<Dial> = ticked.take(MOST_FREE).collect();
        let all = SEARCHED.into_iter().chain([KnobId::FORWARD_OVERLAP]).filter_map(dials).flatten();
        let rows = all.filter_map(|dial| {
            let search = if ticked.contains(&dial) { SearchOf::Free } else { SearchOf::Left };
            Some((Free::about_present(scenario, dial)?, search))
        });
        rows.collect()
    }

    /// The input.
    pub fn knob(&self) -> Knob {
        self.dial.knob()
    }
}

/// Inputs that are searched unless the user says otherwise.
const MOST_FREE: usize = 3;

/// Overlaps beyond this are nobody's wish.
const MOST_OVERLAP: f64 = 0.95;

/// Whether an input is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SearchOf {
    /// It is.
    Free,
    /// It is left as it stands.
    Left,
}

/// One combination: the place of each input's value in its list.
pub(super) type Place = Vec<usize>;

/// All combinations of some lists, the last input fastest.
pub(super) struct Grid<'a> {
    pub(super) free: &'a [Free],
}

impl Grid<'_> {
    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.free.iter().map(|free| free.values.len()).fold(1, usize::saturating_mul)
    }

    /// Steps from one value to the next that is looked at first: one where all can be looked at.
    pub(super) fn strides(&self) -> Vec<usize> {
        let mut strides = vec![1; self.free.len()];
        let count = |strides: &[usize]| -> usize {
            let lists = self.free.iter().zip(strides);
            lists.map(|(free, stride)| free.values.len().div_ceil(*stride)).fold(1, usize::saturating_mul)
        };
        while count(&strides) > AT_ONCE {
            // The longest list is thinned; of equal ones the last.
            let lists =
                self.free.iter().zip(&strides).map(|(free, stride)| free.values.len().div_ceil(*stride));
            let Some((longest, _)) = lists.enumerate().max_by_key(|(_, left)| *left) else { break };
            strides[longest] += 1;
        }
        strides
    }

    /// Every combination of each list's every so-manieth value, its last one included.
    pub(super) fn thinned(&self, strides: &[usize]) -> Vec<Place> {
        let lists = self.free.iter().zip(strides);
        let kept = lists.map(|(free, stride)| {
            let last = free.values.len().saturating_sub(1);
            (0..free.values.len()).filter(|k| k % stride == 0 || *k == last).collect::<Vec<_>>()
        });
        combinations(&kept.collect::<Vec<_>>())
    }

    /// Every combination nearer to a place than the next one looked at first.
    pub(super) fn about(&self, middle: &Place, strides: &[usize]) -> Vec<Place> {
        let lists = self.free.iter().zip(middle).zip(strides);
        let near = lists.map(|((free, place), stride)| {
            let last = free.values.len().saturating_sub(1);
            (place.saturating_sub(stride - 1)..=(place + stride - 1).min(last)).collect::<Vec<_>>()
        });
        combinations(&near.collect::<Vec<_>>())
    }

    /// The values at a place.
    pub(super) fn values(&self, place: &Place) -> Vec<f64> {
        self.free.iter().zip(place).map(|(free, k)| free.values[*k]).collect()
    }

    /// A scenario set to a place.
    pub(super) fn set(&self, scenario: &Scenario, place: &Place) -> Result<Scenario, EditError> {
        let mut set = scenario.clone();
        let mut dials = self.free.iter().zip(self.values(place));
        dials.try_for_each(|(free, value)| free.dial.set(&mut set, value))?;
        Ok(set)
    }
}

fn combinations(lists: &[Vec<usize>]) -> Vec<Place> {
    lists.iter().fold(vec![Vec::new()], |found, list| {
        let longer = |place: &Place| {
            let place = place.clone();
            list.iter().map(move |k| [place.as_slice(), &[*k]].concat()).collect::<Vec<_>>()
        };
        found.iter().flat_map(longer).collect()
    })
}
