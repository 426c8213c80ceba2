//! Money of one year against money of another.

/// Share of a sum that is paid at the end of every year so that the sum and its interest are paid back.
///
/// # Units
/// - `rate`: a share a year, above −1; `years`: above 0; returns a share a year
///
/// # References
/// Interest tables of engineering economy (from memory): i / (1 − (1 + i)^−n), which is 1 / n without interest.
///
/// # Examples
/// ```
/// use obliquity_planning::money::capital_recovery;
/// assert!((capital_recovery(0.10, 5.0) - 0.26379748).abs() < 1e-8);
/// assert_eq!(capital_recovery(0.0, 4.0), 0.25);
/// ```
pub fn capital_recovery(rate: f64, years: f64) -> f64 {
    if rate == 0.0 { 1.0 / years } else { rate / -(-years * rate.ln_1p()).exp_m1() }
}

/// Share of a sum that is put aside at the end of every year so that the sum is there at the end.
///
/// # Units
/// - `rate`: a share a year, above −1; `years`: above 0; returns a share a year
///
/// # References
/// Interest tables of engineering economy (from memory): i / ((1 + i)^n − 1), which is 1 / n without interest.
///
/// # Examples
/// ```
/// use obliquity_planning::money::{capital_recovery, sinking_fund};
/// // what is put aside and the interest on what is owed are what is paid back
/// assert!((sinking_fund(0.08, 10.0) + 0.08 - capital_recovery(0.08, 10.0)).abs() < 1e-15);
/// ```
pub fn sinking_fund(rate: f64, years: f64) -> f64 {
    if rate == 0.0 { 1.0 / years } else { rate / (years * rate.ln_1p()).exp_m1() }
}

/// Flows at the ends of years as one sum of today; the first flow is today's.
///
/// # Units
/// - `rate`: a share a year, above −1; `flows`: money; returns money
///
/// # References
/// Derived: the sum of the flows, each over (1 + i)^t.
///
/// # Examples
/// ```
/// use obliquity_planning::money::net_present_value;
/// let flows = [-12_000.0, 4500.0, 4500.0, 4500.0, 4500.0];
/// assert!((net_present_value(0.08, &flows) - 2904.570780).abs() < 1e-6);
/// ```
pub fn net_present_value(rate: f64, flows: &[f64]) -> f64 {
    flows.iter().rev().fold(0.0, |later, flow| flow + later / (1.0 + rate))
}

/// When flows at the ends of years have paid back what was laid out, and it stays so; within a year evenly. Nothing where
/// they never do. With a rate of 0 it is the simple one, else the discounted one.
///
/// # Units
/// - `rate`: a share a year, above −1; `flows`: money, the first one today's; returns years
///
/// # References
/// Common practice of capital budgeting, no source.
///
/// # Examples
/// ```
/// use obliquity_planning::money::payback_years;
/// let flows = [-12_000.0, 4500.0, 4500.0, 4500.0, 4500.0];
/// assert!((payback_years(0.0, &flows).unwrap() - 2.666667).abs() < 1e-6);
/// assert!((payback_years(0.08, &flows).unwrap() - 3.121859).abs() < 1e-6);
/// assert_eq!(payback_years(0.0, &[-10.0, 4.0, 4.0]), None);
/// ```
pub fn payback_years(rate: f64, flows: &[f64]) -> Option<f64> {
    let mut worth = 0.0;
    let mut paid_back = None;
    for (year, flow) in flows.iter().enumerate() {
        let flow = flow / (1.0 + rate).powf(year as f64);
        let before = worth;
        worth += flow;
        if worth < 0.0 {
            paid_back = None;
        } else if paid_back.is_none() {
            paid_back = Some(if before < 0.0 { year as f64 - worth / flow } else { year as f64 });
        }
    }
    paid_back
}
