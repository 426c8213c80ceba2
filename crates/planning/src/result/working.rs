//! How a figure comes about: its terms with their values and where they are from, the formula or the sum, and the source.
//!
//! A working renders terms that the stages keep. All that it works out itself are areas of shares, and the unit in which a
//! figure is read.

pub(crate) mod counts;
pub(crate) mod digits;
pub(crate) mod expression;
pub(crate) mod flying;
pub(crate) mod layout;
pub(crate) mod load;
pub(crate) mod money;
pub(crate) mod network;
mod settle;
pub(crate) mod surfaces;
pub(crate) mod terms;
pub(crate) mod times;

pub use expression::Expression;
pub use terms::{
    Budget, CountedShare, Formula, Origin, Reached, Step, StepLine, StepTable, Term, Together, Working,
};
