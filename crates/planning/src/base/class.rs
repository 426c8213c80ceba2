//! Classes of surface, and a value for each.

use serde::{Deserialize, Serialize};

/// What kind of surface a point lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum SurfaceClass {
    /// The terrain inside the boundary.
    Ground,
    /// The top of a structure.
    Roof,
    /// The side of a structure.
    Wall,
    /// The lower side of a deck.
    Underside,
}

impl SurfaceClass {
    /// All classes, in the order of reports.
    pub const ALL: [SurfaceClass; 4] =
        [SurfaceClass::Ground, SurfaceClass::Roof, SurfaceClass::Wall, SurfaceClass::Underside];

    /// The class's name in files and sentences.
    pub fn name(self) -> &'static str {
        match self {
            SurfaceClass::Ground => "ground",
            SurfaceClass::Roof => "roof",
            SurfaceClass::Wall => "wall",
            SurfaceClass::Underside => "underside",
        }
    }

    /// All of the class, as the subject of a sentence.
    pub fn plural(self) -> &'static str {
        match self {
            SurfaceClass::Ground => "ground",
            SurfaceClass::Roof => "roofs",
            SurfaceClass::Wall => "walls",
            SurfaceClass::Underside => "undersides",
        }
    }
}

/// One value for each surface class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByClass<T> {
    /// The terrain inside the boundary.
    pub ground: T,
    /// The tops of structures.
    pub roof: T,
    /// The sides of structures.
    pub wall: T,
    /// The lower sides of decks.
    pub underside: T,
}

impl<T> ByClass<T> {
    /// Makes a value for each class.
    pub fn from_fn(mut make: impl FnMut(SurfaceClass) -> T) -> Self {
        ByClass {
            ground: make(SurfaceClass::Ground),
            roof: make(SurfaceClass::Roof),
            wall: make(SurfaceClass::Wall),
            underside: make(SurfaceClass::Underside),
        }
    }

    /// The classes with their values, in the order of reports.
    pub fn iter(&self) -> impl Iterator<Item = (SurfaceClass, &T)> {
        SurfaceClass::ALL.into_iter().map(|class| (class, &self[class]))
    }
}

impl<T> std::ops::Index<SurfaceClass> for ByClass<T> {
    type Output = T;
    fn index(&self, class: SurfaceClass) -> &T {
        match class {
            SurfaceClass::Ground => &self.ground,
            SurfaceClass::Roof => &self.roof,
            SurfaceClass::Wall => &self.wall,
            SurfaceClass::Underside => &self.underside,
        }
    }
}

impl<T> std::ops::IndexMut<SurfaceClass> for ByClass<T> {
    fn index_mut(&mut self, class: SurfaceClass) -> &mut T {
        match class {
            SurfaceClass::Ground => &mut self.ground,
            SurfaceClass::Roof => &mut self.roof,
            SurfaceClass::Wall => &mut self.wall,
            SurfaceClass::Underside => &mut self.underside,
        }
    }
}
