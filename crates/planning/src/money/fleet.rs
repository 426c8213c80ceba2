//! What aircraft cost to have, whether they fly or not.

use super::finance::{capital_recovery, sinking_fund};
use super::job::{BatteryWear, Offer};
use serde::{Deserialize, Serialize};

/// Aircraft that do a firm's jobs together.
#[derive(Debug, Clone, PartialEq)]
pub struct Fleet {
    /// For people.
    pub name: String,
    /// The aircraft.
    pub members: Vec<FleetMember>,
}

/// One aircraft of a fleet, or somebody who is paid for doing the jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetMember {
    /// For people.
    pub name: String,
    /// How the firm comes by it.
    pub holding: Holding,
    /// What its batteries cost.
    pub wear: BatteryWear,
    /// How it does each kind of job, in the order of [`super::FleetCase::jobs`].
    pub offers: Vec<Offer>,
}

/// How a firm comes by an aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Holding {
    /// It is there. What was paid for it is spent whatever is decided; what it would fetch today is not.
    Kept {
        /// What it would fetch today.
        resale_today: f64,
        /// What it will fetch when it is given up.
        resale: f64,
        /// Years until then.
        years: f64,
        /// What it costs meanwhile.
        running: Running,
    },
    /// It is bought, without the battery sets, whose wear every job pays for.
    Bought {
        /// What it costs.
        price: f64,
        /// Training, permits, fittings.
        #[serde(default)]
        one_off: f64,
        /// What it will fetch when it is given up.
        resale: f64,
        /// Years until then.
        years: f64,
        /// What it costs meanwhile.
        running: Running,
    },
    /// It is rented by the year.
    Leased {
        /// Rent a year.
        rent: f64,
        /// Training, permits, fittings.
        #[serde(default)]
        one_off: f64,
        /// Years of the contract.
        years: f64,
        /// What it costs meanwhile.
        running: Running,
    },
    /// It is rented for the days of a job.
    Hired {
        /// Rent a day.
        a_day: f64,
    },
    /// Somebody else does the jobs.
    Subcontracted,
}

/// What an aircraft costs every year.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Running {
    /// Insurance, upkeep, licences.
    pub a_year: f64,
    /// Losses a year, as a share of one.
    pub losses: f64,
    /// What a loss costs after insurance.
    pub deductible: f64,
}

/// What an aircraft costs a year to have, part by part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OwnCost {
    /// Price and what is paid once, with interest, in equal yearly sums.
    pub capital: f64,
    /// What it fetches in the end, in equal yearly sums put aside; taken off.
    pub resale: f64,
    /// Rent.
    pub rent: f64,
    /// Insurance, upkeep, licences.
    pub running: f64,
    /// Expected losses.
    pub losses: f64,
}

impl OwnCost {
    /// All of it.
    ///
    /// # Units
    /// - returns: money a year
    pub fn total(&self) -> f64 {
        self.capital - self.resale + self.rent + self.running + self.losses
    }
}

impl Holding {
    /// What it costs a year: (P + one-off) · i / (1 − (1 + i)^−n) − S · i / ((1 + i)^n − 1) + running + losses × deductible.
    /// Depreciation is in the first two and never added. Of what is kept, P is what it would fetch today.
    ///
    /// # Units
    /// - `interest`: a share a year; returns money a year
    ///
    /// # References
    /// Equivalent annual cost of engineering economy (from memory).
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::money::{Holding, Running};
    /// let running = Running { a_year: 900.0, losses: 0.05, deductible: 2000.0 };
    /// let bought = Holding::Bought { price: 11_000.0, one_off: 1000.0, resale: 3000.0, years: 4.0, running };
    /// // without interest 12,000 − 3,000 in four parts, and 900 + 100
    /// assert_eq!(bought.own_cost(0.0).total(), 2250.0 + 1000.0);
    /// ```
    pub fn own_cost(&self, interest: f64) -> OwnCost {
        let Some(terms) = self.own_terms() else { return OwnCost::default() };
        OwnCost {
            capital: terms.laid_out() * capital_recovery(interest, terms.years),
            resale: terms.resale * sinking_fund(interest, terms.years),
            rent: terms.rent,
            running: terms.running.a_year,
            losses: terms.running.losses * terms.running.deductible,
        }
    }

    /// What a day of a job costs.
    ///
    /// # Units
    /// - returns: money
    pub fn hire_a_day(&self) -> f64 {
        match *self {
            Holding::Hired { a_day } => a_day,
            _ => 0.0,
        }
    }

    /// What it costs in each year of a study: the first entry is today, the others the ends of years. What wears out is had again
    /// on the same terms; what is in the middle of its life at the end fetches what lies on a straight line.
    ///
    /// # Units
    /// - `years`: years; returns money
    ///
    /// # Shape
    /// One more than years.
    pub fn outlays(&self, years: u32) -> Vec<f64> {
        let mut flows = vec![0.0; years as usize + 1];
        let Some(terms) = self.own_terms() else { return flows };
        let yearly = terms.rent + terms.running.a_year + terms.running.losses * terms.running.deductible;
        flows[1..].iter_mut().for_each(|flow| *flow += yearly);
        let life = terms.years.round().max(1.0) as u32;
        let mut begun = 0;
        while begun < years {
            flows[begun as usize] += terms.laid_out();
            let ends = (begun + life).min(years);
            let used = f64::from(ends - begun) / f64::from(life);
            flows[ends as usize] -= terms.price + (terms.resale - terms.price) * used;
            begun = ends;
        }
        flows
    }

    /// Years for which it is had at once; nothing where it is had by the job.
    ///
    /// # Units
    /// - returns: years
    pub fn years(&self) -> Option<f64> {
        self.own_terms().map(|terms| terms.years)
    }

    /// What having it comes to; nothing where it is had by the job.
    pub fn own_terms(&self) -> Option<OwnTerms> {
        match *self {
            Holding::Kept { resale_today, resale, years, running } => {
                Some(OwnTerms { price: resale_today, one_off: 0.0, resale, years, rent: 0.0, running })
            }
            Holding::Bought { price, one_off, resale, years, running } => {
                Some(OwnTerms { price, one_off, resale, years, rent: 0.0, running })
            }
            Holding::Leased { rent, one_off, years, running } => {
                Some(OwnTerms { price: 0.0, one_off, resale: 0.0, years, rent, running })
            }
            Holding::Hired { .. } | Holding::Subcontracted => None,
        }
    }
}

/// What having an aircraft comes to, however it is had.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OwnTerms {
    /// What it costs, or what it would fetch today where it is there.
    pub price: f64,
    /// Training, permits, fittings.
    pub one_off: f64,
    /// What it will fetch when it is given up.
    pub resale: f64,
    /// Years until then.
    pub years: f64,
    /// Rent a year.
    pub rent: f64,
    /// What it costs every year beside that.
    pub running: Running,
}

impl OwnTerms {
    fn laid_out(&self) -> f64 {
        self.price + self.one_off
    }
}

impl Fleet {
    /// What all of it costs a year to have.
    ///
    /// # Units
    /// - `interest`: a share a year; returns money a year
    pub fn own_cost(&self, interest: f64) -> f64 {
        self.members.iter().map(|member| member.holding.own_cost(interest).total()).sum()
    }
}
