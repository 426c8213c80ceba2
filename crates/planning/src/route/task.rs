use crate::ground::SiteOutline;
use crate::scenario::{Aircraft, Conditions, Pass};

/// A pass to be laid out: what flies it, where, and under what.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PassTask<'a> {
    pub(crate) pass: &'a Pass,
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) site: &'a SiteOutline,
    pub(crate) conditions: &'a Conditions,
}
