//! In which order passes are flown, and at which corner each is begun: the quickest of all combinations.

use super::PassPlan;
use crate::base::choice::EQUAL_RATIO;
use crate::geometry::motion::{corner_time_s, trapezoid_time_s};
use crate::route::LegKind;
use crate::scenario::{Airframe, BeginAt, FlyingOrder};
use glam::{DVec2, DVec3};

/// A corner at which a pass of strips may be begun: the first strip or the last, at its start or at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Corner(u8);

impl Corner {
    pub(super) const ALL: [Corner; 4] = [Corner(0), Corner(1), Corner(2), Corner(3)];

    pub(super) fn is_last_strip(self) -> bool {
        self.0 >= 2
    }

    pub(super) fn is_far_end(self) -> bool {
        self.0 % 2 == 1
    }

    /// The corner as seen from this one.
    pub(super) fn seen(self, begin: BeginAt) -> Corner {
        Corner(self.0 ^ begin as u8)
    }
}

/// One way to run a pass: what time it costs beside its strips.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    /// Where it is begun.
    pub(crate) begin: BeginAt,
    pub(super) from_m: DVec3,
    pub(super) to_m: DVec3,
    /// Level directions in which the nose points when it is begun and ended.
    pub(super) noses: [DVec2; 2],
    /// From strip to strip.
    pub(super) links: Vec<Link>,
}

/// From the end of a strip to the start of the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub(super) way_m: DVec2,
    /// Level directions in which the nose points before and after it; zero where it is held.
    pub(super) noses: [DVec2; 2],
}

/// Which pass is flown, and the corner that it is begun at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Chosen {
    /// Index into the passes.
    pub(crate) pass: usize,
    pub(crate) begin: BeginAt,
}

/// Passes up to this many are tried in every order; more keep theirs.
const MOST_ORDERED: usize = 8;

/// The order and the corners that take the least time, in still air, straight from place to place and with one battery for
/// everything: the exact optimum over all combinations of orders and corners (dynamic programming over the sets of passes
/// still to be flown). Of several that take equally long, the one that comes first as the passes are listed.
///
/// # References
/// Held & Karp, *Journal of SIAM* 10(1), 1962 (from memory).
pub(crate) fn quickest(
    passes: &[Vec<Run>],
    home_m: DVec3,
    airframe: &Airframe,
    order: FlyingOrder,
) -> Vec<Chosen> {
    let search = OrderSearch { passes, home_m, airframe };
    let any_order = order == FlyingOrder::Quickest && passes.len() <= MOST_ORDERED;
    let flown = if any_order { search.all_orders() } else { search.one_order() };
    flown.into_iter().map(|(pass, run)| Chosen { pass, begin: passes[pass][run].begin }).collect()
}

struct OrderSearch<'a> {
    passes: &'a [Vec<Run>],
    home_m: DVec3,
    airframe: &'a Airframe,
}

/// A pass and the way that it is run.
type PassRun = (usize, usize);

/// Walks from step to step along the least total: always the first that comes to it but for rounding.
struct OrderWalk {
    spent_s: f64,
    most_s: f64,
}

impl OrderWalk {
    /// The first of some ways on whose cost, with the least that is then left, comes to the least total; spends the cost.
    fn on(&mut self, ways: impl Iterator<Item = (usize, f64, f64)>) -> Option<usize> {
        let (mut ways, spent_s, most_s) = (ways, self.spent_s, self.most_s);
        let (next, cost_s, _) = ways.find(|(_, cost_s, left_s)| spent_s + cost_s + left_s <= most_s)?;
        self.spent_s += cost_s;
        Some(next)
    }

    fn to(least_s: f64) -> OrderWalk {
        OrderWalk { spent_s: 0.0, most_s: least_s * (1.0 + EQUAL_RATIO) }
    }
}

impl OrderSearch<'_> {
    fn steps(&self, pass: usize) -> impl Iterator<Item = PassRun> + '_ {
        (0..self.passes[pass].len()).map(move |run| (pass, run))
    }

    fn run(&self, (pass, run): PassRun) -> &Run {
        &self.passes[pass][run]
    }

    /// The passes as listed, each begun at its best corner.
    fn one_order(&self) -> Vec<PassRun> {
        let count = self.passes.len();
        // Least time from the end of a pass on, for each way of running it.
        let mut left: Vec<Vec<f64>> = vec![Vec::new(); count];
        for pass in (0..count).rev() {
            let after = |step: PassRun| match left.get(pass + 1) {
                None => self.ended_s(step),
                Some(next) => self
                    .steps(pass + 1)
                    .map(|to| self.between_s(step, to) + self.own_s(to) + next[to.1])
                    .fold(f64::INFINITY, f64::min),
            };
            left[pass] = self.steps(pass).map(after).collect();
        }
        let Some(first) = left.first() else { return Vec::new() };
        let begun = || self.steps(0).map(|step| (step.1, self.begun_s(step), first[step.1]));
        let mut walk =
            OrderWalk::to(begun().map(|(_, cost_s, left_s)| cost_s + left_s).fold(f64::INFINITY, f64::min));
        let mut at = walk.on(begun()).map(|run| (0, run));
        let mut flown = Vec::with_capacity(count);
        while let Some(step) = at {
            flown.push(step);
            let next = step.0 + 1;
            let Some(after) = left.get(next) else { break };
            let ways =
                self.steps(next).map(|to| (to.1, self.between_s(step, to) + self.own_s(to), after[to.1]));
            at = walk.on(ways).map(|run| (next, run));
        }
        flown
    }

    /// The passes in their best order, each begun at its best corner.
    fn all_orders(&self) -> Vec<PassRun> {
        let count = self.passes.len();
        let whole = (1_usize << count) - 1;
        let steps: Vec<PassRun> = (0..count).flat_map(|pass| self.steps(pass)).collect();
        let between: Vec<Vec<f64>> = steps
            .iter()
            .map(|from| steps.iter().map(|to| self.between_s(*from, *to) + self.own_s(*to)).collect())
            .collect();
        let others = |flown: usize| {
            let open = move |step: &PassRun| flown >> step.0 & 1 == 0;
            steps.iter().enumerate().filter(move |(_, step)| open(step))
        };
        // Least time from the end of a step on, a set of passes being flown.
        let mut left = vec![vec![f64::INFINITY; steps.len()]; whole + 1];
        for flown in (1..=whole).rev() {
            for from in (0..steps.len()).filter(|&k| flown >> steps[k].0 & 1 == 1) {
                let next = |(to, step): (usize, &PassRun)| between[from][to] + left[flown | 1 << step.0][to];
                left[flown][from] = if flown == whole {
                    self.ended_s(steps[from])
                } else {
                    others(flown).map(next).fold(f64::INFINITY, f64::min)
                };
            }
        }
        let begun = || others(0).map(|(k, step)| (k, self.begun_s(*step), left[1 << step.0][k]));
        let mut walk =
            OrderWalk::to(begun().map(|(_, cost_s, left_s)| cost_s + left_s).fold(f64::INFINITY, f64::min));
        let mut at = walk.on(begun());
        let (mut flown, mut order) = (0, Vec::with_capacity(count));
        while let Some(from) = at {
            order.push(steps[from]);
            flown |= 1 << steps[from].0;
            at = walk
                .on(others(flown).map(|(to, step)| (to, between[from][to], left[flown | 1 << step.0][to])));
        }
        order
    }

    fn begun_s(&self, step: PassRun) -> f64 {
        let run = self.run(step);
        self.crossing_s(self.home_m, None, run.from_m, Some(run.noses[0])) + self.own_s(step)
    }

    fn ended_s(&self, step: PassRun) -> f64 {
        let run = self.run(step);
        self.crossing_s(run.to_m, Some(run.noses[1]), self.home_m, None)
    }

    fn between_s(&self, from: PassRun, to: PassRun) -> f64 {
        let (from, to) = (self.run(from), self.run(to));
        self.crossing_s(from.to_m, Some(from.noses[1]), to.from_m, Some(to.noses[0]))
    }

    /// From strip to strip within a pass; the strips themselves take as long whichever way.
    fn own_s(&self, step: PassRun) -> f64 {
        let link = |link: &Link| {
            let corners = corner_s(link.noses[0], link.way_m) + corner_s(link.way_m, link.noses[1]);
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

    /// How a plan runs.
    pub(crate) fn of(plan: &PassPlan) -> Option<Run> {
        let exposed = || plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
        let (first, last) = exposed().next().zip(exposed().next_back())?;
        let way =
            |nose_rad: Option<f64>| nose_rad.map_or(DVec2::ZERO, |rad| DVec2::new(rad.sin(), rad.cos()));
        Some(Run {
            begin: BeginAt::NearestCorner,
            from_m: first.from_m,
            to_m: last.to_m,
            noses: [way(first.noses_rad()[0]), way(last.noses_rad()[1])],
            links: Vec::new(),
        })
    }
}
