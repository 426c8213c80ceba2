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

/// What the job must deliver, and what coverage means for all the strategies compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Requirement {
    /// Coarsest GSD allowed, tested on the 95th percentile; also bounds what counts as a view (twice this).
    pub gsd_cm: ByClass<f64>,
    /// Least share of each class's area that must be covered, 0 to 1; absent: not asked for.
    pub coverage: ByClass<Option<f64>>,
    /// When a view counts and when views make coverage.
    #[serde(default)]
    pub views: ViewRules,
    /// Longest time on site.
    #[serde(default)]
    pub time_on_site_min: Option<f64>,
    /// Most images.
    #[serde(default)]
    pub images: Option<u32>,
}

/// When a view counts and when views make coverage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViewRules {
    /// Greatest angle between a surface's normal and the ray.
    pub max_incidence_deg: f64,
    /// Fewest counted views in a linked group.
    pub min_views: u32,
    /// Least angle between some two rays of the group.
    pub min_intersection_deg: f64,
    /// Two views are linked when their rays differ by no more than this.
    pub max_link_deg: f64,
}

impl Default for ViewRules {
    /// Common practice, no source.
    fn default() -> Self {
        ViewRules { max_incidence_deg: 55.0, min_views: 3, min_intersection_deg: 10.0, max_link_deg: 40.0 }
    }
}

impl Default for Requirement {
    /// Common practice, no source: ground and roof 2 cm, wall 4 cm; 98, 95 and 80 % covered; two hours on site.
    fn default() -> Self {
        Requirement {
            gsd_cm: ByClass { ground: 2.0, roof: 2.0, wall: 4.0, underside: 4.0 },
            coverage: ByClass { ground: Some(0.98), roof: Some(0.95), wall: Some(0.80), underside: None },
            views: ViewRules::default(),
            time_on_site_min: Some(120.0),
            images: None,
        }
    }
}
