//! Where an aircraft goes: one type and one module a pattern, which holds its settings and says all that is asked of it.
//!
//! Whatever is outside asks a [`Pattern`] or its [`About`] and lists no patterns: the only list of them is here, and that of
//! their planners beside the planners.

mod corridor;
mod facade;
mod file;
mod listed;
mod orbit;
mod setting;
mod strips;
mod structures;
mod underside;

pub use corridor::Corridor;
pub use facade::Facade;
pub use listed::{Listed, ListedStation};
pub use orbit::{Orbit, OrbitCentre, OrbitRadius, Rings};
pub use setting::{Choice, Column, Present, Setting, Table, Told, ToldValue};
pub use strips::{BeginAt, CountingRule, StripDirection, Strips};
pub use underside::Underside;

use crate::base::Id;
use crate::base::digest::Digest;
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use serde::de::VariantAccess;
use serde::{Deserialize, Serialize, Serializer};

/// Makes the types that know all patterns out of one list of them.
macro_rules! patterns {
    ($($(#[$doc:meta])* $name:ident: $module:ident;)*) => {
        /// Where the aircraft goes.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Pattern {
            $($(#[$doc])* $name($name),)*
        }

        /// A pattern without its settings.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Deserialize)]
        pub enum PatternKind {
            $(#[doc = concat!("[`Pattern::", stringify!($name), "`].")] $name,)*
        }

        impl PatternKind {
            /// All of them.
            pub const ALL: [PatternKind; Self::KEYS.len()] = [$(PatternKind::$name),*];

            /// In the scenario file.
            const KEYS: &[&str] = &[$(stringify!($name)),*];

            /// Everything known of the pattern.
            pub fn about(self) -> &'static About {
                match self {
                    $(PatternKind::$name => &$module::ABOUT,)*
                }
            }

            /// Its settings, read as those of this pattern.
            fn read<'de, A: VariantAccess<'de>>(self, settings: A) -> Result<Pattern, A::Error> {
                match self {
                    $(PatternKind::$name => file::read(settings).map(Pattern::$name),)*
                }
            }
        }

        impl Pattern {
            /// Which of the patterns it is.
            pub fn kind(&self) -> PatternKind {
                match self {
                    $(Pattern::$name(_) => PatternKind::$name,)*
                }
            }

            /// Its settings, as everything here asks them.
            fn settings(&self) -> &dyn Settings {
                match self {
                    $(Pattern::$name(settings) => settings,)*
                }
            }

            /// Its settings, written as those of this pattern.
            fn write<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                match self {
                    $(Pattern::$name(settings) => settings.serialize(to),)*
                }
            }
        }
    };
}

patterns! {
    /// Parallel lines over an area, flown to and fro.
    Strips: strips;
    /// Parallel lines along a line with corners: a road, a river, a row of masts.
    Corridor: corridor;
    /// Closed rings about a structure or a place, the camera looking inward.
    Orbit: orbit;
    /// Rows in front of the walls of a structure, the camera looking at the wall.
    Facade: facade;
    /// Strips below a deck, the camera looking up.
    Underside: underside;
    /// Stations given one by one, flown in their order.
    Listed: listed;
}

impl PatternKind {
    /// Name in files and sentences.
    pub fn name(self) -> &'static str {
        self.about().name
    }

    /// Whether it flies above its subject at a height; the others keep a stand-off.
    pub fn flies_over(self) -> bool {
        self.about().leads == Leads::Height
    }
}

impl Pattern {
    /// What is known of all patterns of its kind.
    pub fn about(&self) -> &'static About {
        self.kind().about()
    }

    /// The structures that it is flown at, the first one first.
    pub fn structures(&self) -> Vec<Id> {
        self.settings().structures()
    }

    /// The pattern flown at those of its structures that are there; nothing where none is left of them. Round fewer
    /// structures it has other walls: then it takes all.
    #[must_use]
    pub fn at_those(&self, there: impl Fn(Id) -> bool) -> Option<Pattern> {
        let all = self.structures();
        let left: Vec<Id> = all.iter().copied().filter(|id| there(*id)).collect();
        if left.len() == all.len() {
            return Some(self.clone());
        }
        self.settings().at(&left)
    }

    /// Whether it goes by coordinates of its own, which mean nothing in another frame.
    pub fn has_places(&self) -> bool {
        self.settings().has_places()
    }

    /// The pattern and what it is flown at: "Orbit about Silo 1".
    ///
    /// `subject` names its structures, `look` says where the camera looks, and `length` writes a length in metres.
    ///
    /// # Units
    /// - `length`: of metres
    pub fn title(&self, subject: &str, look: &str, length: &dyn Fn(f64) -> String) -> String {
        let after = self.settings().title(&Naming { subject, look, length });
        format!("{}{after}", self.about().title)
    }

    /// What has to be keyed in of the pattern alone; `subject` names its structures.
    pub fn told(&self, subject: &str) -> Vec<Told> {
        self.settings().told(subject)
    }

    /// What the camera looks at where the pattern aims it, as the end of a sentence: "inward at 10.0 m".
    ///
    /// `length` writes a length in metres.
    ///
    /// # Units
    /// - `length`: of metres
    pub fn aimed(&self, length: &dyn Fn(f64) -> String) -> Option<String> {
        self.settings().aimed(length)
    }

    /// Adds everything that is wrong with it.
    pub(in crate::scenario) fn check(&self, check: &mut Checker, site: &Site, path: &str) {
        self.settings().check(check, site, path);
    }
}

impl Digest {
    /// A pattern with all its settings.
    pub(crate) fn pattern(&mut self, pattern: &Pattern) -> &mut Self {
        self.whole(pattern.kind() as u64);
        pattern.settings().digest(self);
        self
    }
}

/// What every pattern says of itself.
trait Settings {
    /// The structures that it is flown at, the first one first.
    fn structures(&self) -> Vec<Id> {
        Vec::new()
    }

    /// The pattern at those of its structures that are left, fewer than all; nothing where it cannot be.
    fn at(&self, _left: &[Id]) -> Option<Pattern> {
        None
    }

    /// Whether it goes by coordinates of its own.
    fn has_places(&self) -> bool {
        false
    }

    /// What comes behind the pattern's name in its title.
    fn title(&self, naming: &Naming<'_>) -> String;

    /// What has to be keyed in of it alone.
    fn told(&self, _subject: &str) -> Vec<Told> {
        Vec::new()
    }

    /// What the camera looks at, where the pattern aims it.
    fn aimed(&self, _length: &dyn Fn(f64) -> String) -> Option<String> {
        None
    }

    /// Adds everything that is wrong with it.
    fn check(&self, check: &mut Checker, site: &Site, path: &str);

    /// Its settings as parts of a digest, which has its kind already.
    fn digest(&self, digest: &mut Digest);
}

/// What a title is made with.
struct Naming<'a> {
    subject: &'a str,
    look: &'a str,
    length: &'a dyn Fn(f64) -> String,
}

/// What is known of a pattern without its settings.
#[derive(Debug)]
pub struct About {
    /// Name in files and sentences.
    pub name: &'static str,
    /// As buttons and lists begin with it.
    pub title: &'static str,
    /// What it is, in a sentence.
    pub explanation: &'static str,
    /// What leads it beside a GSD.
    pub leads: Leads,
    /// What its lines are called, and the distance between them.
    pub lines: [&'static str; 2],
    /// Which way its lines run, where that can be said.
    pub runs: Option<Runs>,
    /// What its margin reaches beyond; nothing where it has no ends.
    pub margin: Option<Margin>,
    /// Which overlaps are set.
    pub overlaps: Overlaps,
    /// What the camera's headings are told from.
    pub looks: Looks,
    /// Where it takes the aircraft.
    pub near: Near,
    /// A pattern to begin with on a site, where nothing has to stand there.
    pub begins: Option<fn(&Site) -> Pattern>,
    /// What it can be read from, row by row.
    pub table: Option<Table>,
    /// Its numbers.
    pub numbers: &'static [Setting],
    /// What of it is chosen from a few.
    pub choices: &'static [Choice],
}

/// What leads a pass beside a GSD.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leads {
    /// It flies over its subject.
    Height,
    /// It faces its subject.
    StandOff,
}

/// Which way lines run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Runs {
    /// All of them one way and back.
    Straight,
    /// Along a line with corners.
    AlongLine,
}

/// What a margin reaches beyond.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Margin {
    /// As the end of a sentence.
    pub beyond: &'static str,
    /// What a cycle of attitudes has in place of a margin, where it has none.
    pub cycled: Option<&'static str>,
}

/// Which overlaps are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Overlaps {
    /// Along the track and across it.
    Both,
    /// Along the track; the distance across it is set itself.
    Forward,
    /// None: every exposure is set itself.
    Neither,
}

/// What headings of the camera are told from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looks {
    /// The strips.
    ByStrips,
    /// The line.
    ByLine,
    /// The wall before it.
    AtWall,
    /// The pattern tilts it and turns it to its middle.
    ByItself {
        /// Why there is no tilt to be set.
        note: &'static str,
    },
    /// Every exposure has a heading and a tilt of its own.
    AsGiven {
        /// Why there is nothing to be set.
        note: &'static str,
    },
}

impl Looks {
    /// Whether there is a subject to look at.
    pub fn has_subject(self) -> bool {
        matches!(self, Looks::AtWall | Looks::ByItself { .. })
    }

    /// Whether the tilt is the pattern's own, and not to be set.
    pub fn is_own_tilt(self) -> bool {
        matches!(self, Looks::ByItself { .. } | Looks::AsGiven { .. })
    }

    /// Whether heading and tilt are both the pattern's own.
    pub fn is_given(self) -> bool {
        matches!(self, Looks::AsGiven { .. })
    }
}

/// Where a pattern takes the aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Near {
    /// Above everything.
    Open,
    /// Beside walls.
    Walls,
    /// Below a deck.
    Deck,
}
