//! What can fill the window, by name.

/// A screen, by its name on the command line. What it is called, its key and how it is drawn stand in one row of
/// [`crate::app::SCREENS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Screen(&'static str);

/// A question of the job that screens answer; they stand together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// Which strategy to take.
    Which,
    /// What its images show of the site.
    Seen,
    /// How it is flown.
    Flown,
    /// What all of this rests on.
    Given,
}

impl Question {
    /// In few words, before the screens that answer it.
    pub const fn text(self) -> &'static str {
        match self {
            Question::Which => "Which one?",
            Question::Seen => "What is seen?",
            Question::Flown => "How is it flown?",
            Question::Given => "What is given?",
        }
    }
}

impl Screen {
    /// The strategies beside each other.
    pub const BOARD: Screen = Screen("board");
    /// Every strategy at the settings that take least and meet the requirement.
    pub const BEST: Screen = Screen("best");
    /// What the strategy in focus flies over the site, and from where the surfaces are seen.
    pub const PLAN: Screen = Screen("plan");
    /// Ground, structures and routes in 3D, coloured by what is delivered.
    pub const SPACE: Screen = Screen("space");
    /// Walls and undersides drawn flat, coloured by what is delivered.
    pub const WALLS: Screen = Screen("walls");
    /// Whether the images of the strategy in focus hold together, and what they tell.
    pub const BLOCK: Screen = Screen("block");
    /// The stay on site along a clock.
    pub const TIMELINE: Screen = Screen("timeline");
    /// The values to key into a flight controller for the strategy in focus.
    pub const CARD: Screen = Screen("card");
    /// Every pass of the strategy in focus, with all its settings.
    pub const PASSES: Screen = Screen("passes");
    /// What stands on the site, its ground, and how densely surfaces are sampled.
    pub const SITE: Screen = Screen("site");
    /// Every aircraft's numbers.
    pub const EQUIPMENT: Screen = Screen("equipment");
    /// What the job must deliver, and processing rates.
    pub const REQUIREMENT: Screen = Screen("requirement");
    /// What the job is flown under, and what follows from it.
    pub const CONDITIONS: Screen = Screen("conditions");
    /// Whether another fleet of aircraft pays over the jobs of a year.
    pub const PURCHASE: Screen = Screen("purchase");
    /// A lesson: one question after the other.
    pub const LESSON: Screen = Screen("lesson");
    /// Logs of processed and of flown jobs, and what is fitted to them.
    pub const LOGS: Screen = Screen("logs");
    /// The steps of a lesson, to make one.
    pub const LESSON_STEPS: Screen = Screen("lesson-steps");
    /// How a figure comes about.
    pub const WORKING: Screen = Screen("working");
    /// The ways to begin.
    pub const BEGIN: Screen = Screen("begin");

    /// A screen that only its own row names.
    pub const fn named(name: &'static str) -> Self {
        Screen(name)
    }

    /// Its name on the command line.
    pub const fn name(self) -> &'static str {
        self.0
    }
}

impl Default for Screen {
    fn default() -> Self {
        Screen::BOARD
    }
}
