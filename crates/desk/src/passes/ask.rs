use crate::amendment::Subject;
use crate::corner_advice::CornersAsk;
use crate::wind_advice::AdviceAsk;
use obliquity_planning::{FlyingOrder, Id, MeasureId, Pass};

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum PassesAsk {
    /// Show the settings of another pass.
    Select(Id),
    /// Other passes in place of the present ones.
    Put {
        /// What the edit is called.
        what: Subject,
        /// All of them, in flying order.
        passes: Vec<Pass>,
        /// The pass to choose, where that changes.
        select: Option<Id>,
    },
    /// Fly the passes in another order.
    Order(FlyingOrder),
    /// Show how a figure comes about.
    Figure(MeasureId),
    /// Read the rows of a pass's pattern from a file.
    ReadRows(Id),
    /// Something about the direction of the strips.
    Advice(AdviceAsk),
    /// Something about the corners that passes begin at.
    Corners(CornersAsk),
}
