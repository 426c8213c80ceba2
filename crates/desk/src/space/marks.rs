//! What is drawn in 3D besides the surfaces: each can be left out.

/// One kind of thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SceneMark {
    /// The ways flown.
    Route,
    /// Where images are taken.
    Exposures,
    /// Where the camera looks: a small frame at an exposure.
    Frames,
    /// What must not be flown over.
    KeepOuts,
    /// The ground round the site.
    Ground,
}

/// Which of them are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SceneMarks(u8);

impl SceneMark {
    /// All, in the order of their switches.
    pub const ALL: [SceneMark; 5] =
        [SceneMark::Route, SceneMark::Exposures, SceneMark::Frames, SceneMark::KeepOuts, SceneMark::Ground];

    /// On its switch.
    pub fn name(self) -> &'static str {
        match self {
            SceneMark::Route => "Route",
            SceneMark::Exposures => "Exposures",
            SceneMark::Frames => "Camera frames",
            SceneMark::KeepOuts => "Keep-outs",
            SceneMark::Ground => "Ground around",
        }
    }

    /// What it shows.
    pub fn hint(self) -> &'static str {
        match self {
            SceneMark::Route => "The ways flown, climbs and returns included",
            SceneMark::Exposures => "A dot wherever an image is taken",
            SceneMark::Frames => {
                "Which way the camera looks, at every exposure, or at some of them where there are many"
            }
            SceneMark::KeepOuts => "Outlines of what is flown round, drawn up to the highest flight",
            SceneMark::Ground => "The ground outside the boundary, which is not judged",
        }
    }

    fn bit(self) -> u8 {
        1 << self as u8
    }
}

impl Default for SceneMarks {
    /// All but the frames.
    fn default() -> Self {
        let all = SceneMark::ALL.into_iter().filter(|mark| *mark != SceneMark::Frames);
        SceneMarks(all.fold(0, |bits, mark| bits | mark.bit()))
    }
}

impl SceneMarks {
    /// Whether it is drawn.
    pub fn has(self, mark: SceneMark) -> bool {
        self.0 & mark.bit() != 0
    }

    /// The same with one of them switched over.
    #[must_use]
    pub fn switched(self, mark: SceneMark) -> Self {
        SceneMarks(self.0 ^ mark.bit())
    }
}
