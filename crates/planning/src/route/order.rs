//! In which order passes are flown, and at which corner each is begun: the quickest of all combinations.

use super::PassPlan;
use crate::motion::{corner_time_s, trapezoid_time_s};
use crate::route::LegKind;
use crate::{Airframe, FlyingOrder};
use glam::{DVec2, DVec3};

/// A corner at which a pass of strips may be begun: the first strip or the last, at its start or at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Corner(u8);

impl Corner {
    pub(crate) const ALL: [Corner; 4] = [Corner(0), Corner(1), Corner(2), Corner(3)];

    pub(crate) fn code(self) -> u64 {
        u64::from(self.0)
    }

    pub(super) fn is_last_strip(self) -> bool {
        self.0 >= 2
    }

    pub(super) fn is_far_end(self) -> bool {
        self.0 % 2 == 1
    }
}

/// One way to run a pass: what time it costs beside its strips.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    /// Where it is begun.
    pub(crate) begin: Corner,
    pub(super) from_m: DVec3,
    pub(super) to_m: DVec3,
    /// Level directions in which it is begun and ended.
    pub(super) tracks: [DVec2; 2],
    /// From strip to strip.
    pub(super) links: Vec<Link>,
}

/// From the end of a strip to the start of the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub(super) way_m: DVec2,
    /// Level directions before and after it.
    pub(super) tracks: [DVec2; 2],
}

/// Which pass is flown, and the corner that it is begun at where it has a choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Chosen {
    /// Index into the passes.
    pub(crate) pass: usize,
    pub(crate) begin: Option<Corner>,
}

/// Passes up to this many are tried in every order; more keep theirs.
const MOST_ORDERED: usize = 8;

/// The order and the corners that take the least time, in still air, straight from place to place and with one battery for
/// everything: the exact optimum over all combinations of orders and corners (dynamic programming over the sets of passes
/// already flown).
///
/// # References
/// Held & Karp, *Journal of SIAM* 10(1), 1962 (from memory).
pub(crate) fn quickest(
    passes: &[Vec<Run>],
    home_m: DVec3,
    airframe: &Airframe,
    order: FlyingOrder,
) -> Vec<Chosen> {
    let search = Search { passes, home_m, airframe };
    let any_order = order == FlyingOrder::Quickest && passes.len() <= MOST_ORDERED;
    let flown = if any_order { search.all_orders() } else { search.one_order() };
    flown.into_iter().map(|(pass, run)| Chosen { pass, begin: Some(passes[pass][run].begin) }).collect()
}

struct Search<'a> {
    passes: &'a [Vec<Run>],
    home_m: DVec3,
    airframe: &'a Airframe,
}

/// A pass and the way that it is run.
type Step = (usize, usize);

impl Search<'_> {
    fn steps(&self, pass: usize) -> impl Iterator<Item = Step> + '_ {
        (0..self.passes[pass].len()).map(move |run| (pass, run))
    }

    fn run(&self, (pass, run): Step) -> &Run {
        &self.passes[pass][run]
    }

    /// The passes as listed, each begun at its best corner.
    fn one_order(&self) -> Vec<Step> {
        let mut table: Vec<Vec<(f64, usize)>> = Vec::new();
        for pass in 0..self.passes.len() {
            let row = self.steps(pass).map(|step| match pass.checked_sub(1) {
                None => (self.begun_s(step), 0),
                Some(before) => self.best_before(&table[before], before, step),
            });
            let row = row.collect();
            table.push(row);
        }
        let Some(last) = self.passes.len().checked_sub(1) else { return Vec::new() };
        let ended = |step: &Step| table[last][step.1].0 + self.ended_s(*step);
        let mut step = self.steps(last).min_by(|a, b| ended(a).total_cmp(&ended(b)));
        let mut flown = Vec::new();
        while let Some((pass, run)) = step {
            flown.push((pass, run));
            step = pass.checked_sub(1).map(|before| (before, table[pass][run].1));
        }
        flown.reverse();
        flown
    }

    fn best_before(&self, row: &[(f64, usize)], before: usize, step: Step) -> (f64, usize) {
        let own_s = self.own_s(step);
        self.steps(before)
            .map(|from| (row[from.1].0 + self.between_s(from, step) + own_s, from.1))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((f64::INFINITY, 0))
    }

    /// The passes in their best order, each begun at its best corner.
    fn all_orders(&self) -> Vec<Step> {
        let count = self.passes.len();
        let whole = (1_usize << count) - 1;
        let steps: Vec<Step> = (0..count).flat_map(|pass| self.steps(pass)).collect();
        let between: Vec<Vec<f64>> = steps
            .iter()
            .map(|from| steps.iter().map(|to| self.between_s(*from, *to) + self.own_s(*to)).collect())
            .collect();
        // Least time to have flown a set of passes, the last of them being a step, and the step before it.
        let mut table = vec![vec![(f64::INFINITY, usize::MAX); steps.len()]; whole + 1];
        for (k, step) in steps.iter().enumerate() {
            table[1 << step.0][k] = (self.begun_s(*step), usize::MAX);
        }
        for flown in 1..=whole {
            for from in (0..steps.len()).filter(|&k| flown >> steps[k].0 & 1 == 1) {
                let so_far_s = table[flown][from].0;
                for (to, step) in steps.iter().enumerate().filter(|(_, step)| flown >> step.0 & 1 == 0) {
                    let (time_s, next) = (so_far_s + between[from][to], flown | 1 << step.0);
                    if time_s < table[next][to].0 {
                        table[next][to] = (time_s, from);
                    }
                }
            }
        }
        let ended = |k: &usize| table[whole][*k].0 + self.ended_s(steps[*k]);
        let mut at = (0..steps.len()).min_by(|a, b| ended(a).total_cmp(&ended(b)));
        let (mut set, mut order) = (whole, Vec::with_capacity(count));
        while let Some(k) = at {
            order.push(steps[k]);
            let before = table[set][k].1;
            set &= !(1 << steps[k].0);
            at = (before != usize::MAX).then_some(before);
        }
        order.reverse();
        order
    }

    fn begun_s(&self, step: Step) -> f64 {
        let run = self.run(step);
        self.crossing_s(self.home_m, None, run.from_m, Some(run.tracks[0])) + self.own_s(step)
    }

    fn ended_s(&self, step: Step) -> f64 {
        let run = self.run(step);
        self.crossing_s(run.to_m, Some(run.tracks[1]), self.home_m, None)
    }

    fn between_s(&self, from: Step, to: Step) -> f64 {
        let (from, to) = (self.run(from), self.run(to));
        self.crossing_s(from.to_m, Some(from.tracks[1]), to.from_m, Some(to.tracks[0]))
    }

    /// From strip to strip within a pass; the strips themselves take as long whichever way.
    fn own_s(&self, step: Step) -> f64 {
        let link = |link: &Link| {
            let corners = corner_s(link.tracks[0], link.way_m) + corner_s(link.way_m, link.tracks[1]);
            self.level_s(link.way_m.length()) + corners
        };
        self.run(step).links.iter().map(link).sum()
    }

    /// Up or down and across, level at the higher end.
    fn crossing_s(&self, from: DVec3, before: Option<DVec2>, to: DVec3, after: Option<DVec2>) -> f64 {
        let way = (to - from).truncate();
        let rise_m = to.z - from.z;
        let vertical_mps = if rise_m > 0.0 { self.airframe.climb_mps } else { self.airframe.descent_mps };
        let vertical_s = trapezoid_time_s(rise_m.abs(), vertical_mps, self.airframe.acceleration_mps2);
        let corner = |a: Option<DVec2>, b: Option<DVec2>| a.zip(b).map_or(0.0, |(a, b)| corner_s(a, b));
        let corners_s = match way.try_normalize() {
            Some(way) => corner(before, Some(way)) + corner(Some(way), after),
            None => corner(before, after),
        };
        vertical_s + self.level_s(way.length()) + corners_s
    }

    fn level_s(&self, length_m: f64) -> f64 {
        trapezoid_time_s(length_m, self.airframe.top_speed_mps, self.airframe.acceleration_mps2)
    }
}

/// Turning on the spot from one level direction to another.
fn corner_s(before: DVec2, after: DVec2) -> f64 {
    let angle = before.angle_to(after).abs();
    if angle.is_nan() { 0.0 } else { corner_time_s(angle) }
}

impl Run {
    /// Memory that it takes.
    pub(crate) fn bytes(&self) -> usize {
        size_of::<Run>() + self.links.len() * size_of::<Link>()
    }

    /// How a plan that has no choice runs.
    pub(crate) fn of(plan: &PassPlan) -> Option<Run> {
        let exposed = || plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
        let track = |a: DVec3, b: DVec3| (b - a).truncate().normalize_or_zero();
        let (first, last) = exposed().next().zip(exposed().next_back())?;
        let start = first.pieces_m().map(|(a, b)| track(a, b)).next()?;
        let end = last.pieces_m().map(|(a, b)| track(a, b)).last()?;
        Some(Run {
            begin: Corner::ALL[0],
            from_m: first.from_m,
            to_m: last.to_m,
            tracks: [start, end],
            links: Vec::new(),
        })
    }
}
