use super::{Eye, Frame, Layer, Legend, Pane, Paper, Picked, Scene, render};
use crate::figures::{Figures, Freshness};
use egui::{Color32, ColorImage, TextureHandle, TextureOptions};
use glam::DVec2;
use obliquity_planning::{Id, Scenario};
use std::sync::Arc;

/// Most strategies beside each other.
pub(super) const MOST: usize = 4;

/// How many strategies are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Arrangement {
    /// The one in focus.
    #[default]
    One,
    /// Up to four beside each other.
    SideBySide,
}

/// Whether strategies beside each other are looked at from one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Cameras {
    /// All from the same place.
    #[default]
    Linked,
    /// Each from its own.
    Apart,
}

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpaceAsk {
    /// Put another strategy in focus.
    Focus(Id),
    /// Go back to the board.
    Close,
}

/// One strategy as it can be shown.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The strategy.
    pub strategy: Id,
    /// Its name.
    pub name: String,
    /// Which colour it has.
    pub slot: usize,
    /// What is drawn; nothing while it is worked out or where it cannot be.
    pub scene: Option<Arc<Scene>>,
    /// Why nothing is drawn.
    pub empty: String,
    /// Whether what is drawn belongs to the scenario as it stands.
    pub freshness: Freshness,
}

/// The screen's own state. Nothing of it is saved.
#[derive(Debug, Default)]
pub struct Space {
    /// What the colours tell.
    pub layer: Layer,
    /// How many strategies are shown.
    pub arrangement: Arrangement,
    /// Whether they are looked at from one place.
    pub cameras: Cameras,
    pub(super) shown: Vec<Shown>,
    pub(super) focus: usize,
    pub(super) eyes: [Option<Eye>; MOST],
    pub(super) canvases: Vec<Canvas>,
    pub(super) picked: Option<(Id, Picked)>,
    coloring: Option<Coloring>,
    drawn: u64,
}

/// A legend and the colours of some scenes.
#[derive(Debug)]
struct Coloring {
    layer: Layer,
    scenes: Vec<Arc<Scene>>,
    legend: Legend,
    colors: Vec<Arc<Vec<Color32>>>,
}

/// What a picture depends on.
#[derive(Debug, Clone)]
struct Key {
    scene: Arc<Scene>,
    colors: Arc<Vec<Color32>>,
    eye: Eye,
    picked: Option<u32>,
    paper: Paper,
    size_px: (usize, usize),
}

impl Key {
    fn equals(&self, other: &Key) -> bool {
        Arc::ptr_eq(&self.scene, &other.scene)
            && Arc::ptr_eq(&self.colors, &other.colors)
            && self.eye == other.eye
            && self.picked == other.picked
            && self.paper == other.paper
            && self.size_px == other.size_px
    }
}

/// A picture kept until something that it depends on changes.
#[derive(Default)]
pub(super) struct Canvas {
    key: Option<Key>,
    frame: Option<Frame>,
    texture: Option<TextureHandle>,
}

impl std::fmt::Debug for Canvas {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Canvas").field("key", &self.key.as_ref().map(|key| key.eye)).finish_non_exhaustive()
    }
}

impl Canvas {
    pub(super) fn texture(&self) -> Option<&TextureHandle> {
        self.texture.as_ref()
    }

    pub(super) fn sample_at(&self, column: usize, row: usize) -> Option<u32> {
        self.frame.as_ref()?.sample_at(column, row)
    }
}

impl Space {
    /// Brings the scenes up to the document. `strategies` are in the board's order, with their colours.
    pub fn follow(
        &mut self,
        scenario: &Scenario,
        figures: &Figures,
        strategies: &[(Id, String, usize)],
        focus: Option<Id>,
    ) {
        let before = std::mem::take(&mut self.shown);
        for (id, name, slot) in strategies {
            let old = before.iter().find(|shown| shown.strategy == *id).and_then(|shown| shown.scene.clone());
            self.shown.push(shown(scenario, figures, (*id, name, *slot), old));
        }
        self.focus = self.shown.iter().position(|shown| Some(shown.strategy) == focus).unwrap_or(0);
        let site = |all: &[Shown]| all.iter().find_map(|shown| shown.scene.as_ref().map(|s| s.site.extent_m));
        if let (Some(old), Some(new)) = (site(&before), site(&self.shown))
            && old != new
        {
            self.fit();
        }
        self.follow_picked();
    }

    /// Works the picked sample out anew where its scene has changed, or forgets it.
    fn follow_picked(&mut self) {
        let Some((strategy, picked)) = self.picked.take() else { return };
        let scene = self.scene_of(strategy);
        let unchanged = self.coloring.as_ref().is_some_and(|coloring| {
            scene.as_ref().is_some_and(|scene| coloring.scenes.iter().any(|own| Arc::ptr_eq(own, scene)))
        });
        self.picked = if unchanged {
            Some((strategy, picked))
        } else {
            scene.and_then(|scene| Some((strategy, Picked::new(&scene, picked.sample)?)))
        };
    }

    fn scene_of(&self, strategy: Id) -> Option<Arc<Scene>> {
        self.shown.iter().find(|shown| shown.strategy == strategy)?.scene.clone()
    }

    /// Tells about a sample of a strategy, or about none.
    pub fn pick(&mut self, strategy: Id, sample: Option<u32>) {
        self.picked = sample.and_then(|sample| {
            let picked = Picked::new(&*self.scene_of(strategy)?, sample)?;
            Some((strategy, picked))
        });
    }

    /// What is told about, and of which strategy.
    pub fn picked(&self) -> Option<&(Id, Picked)> {
        self.picked.as_ref()
    }

    /// Shows the whole site again.
    pub fn fit(&mut self) {
        self.eyes = [None; MOST];
    }

    /// From where a pane is looked at; nothing where it shows the whole site.
    pub fn eye(&self, pane: usize) -> Option<Eye> {
        let pane = if self.cameras == Cameras::Linked { 0 } else { pane };
        self.eyes.get(pane).copied().flatten()
    }

    pub(super) fn set_eye(&mut self, pane: usize, eye: Eye) {
        match self.cameras {
            Cameras::Linked => self.eyes = [Some(eye); MOST],
            Cameras::Apart => self.eyes[pane.min(MOST - 1)] = Some(eye),
        }
    }

    /// Which strategies stand beside each other, as places in the board's order: the one in focus always among them.
    pub fn panes(&self) -> Vec<usize> {
        if self.arrangement == Arrangement::One || self.shown.len() < 2 {
            return (self.focus..self.shown.len()).take(1).collect();
        }
        let mut panes: Vec<usize> = (0..self.shown.len().min(MOST)).collect();
        if !panes.contains(&self.focus) {
            panes[MOST - 1] = self.focus;
        }
        panes
    }

    /// How many pictures have been drawn so far: a frame in which nothing changes draws none.
    pub fn drawn(&self) -> u64 {
        self.drawn
    }

    /// The legend of what is shown.
    pub fn legend(&mut self) -> Legend {
        let scenes: Vec<Arc<Scene>> =
            self.panes().iter().filter_map(|&pane| self.shown[pane].scene.clone()).collect();
        let same = |own: &Coloring| {
            own.layer == self.layer
                && own.scenes.len() == scenes.len()
                && own.scenes.iter().zip(&scenes).all(|(a, b)| Arc::ptr_eq(a, b))
        };
        if let Some(coloring) = self.coloring.as_ref().filter(|own| same(own)) {
            return coloring.legend.clone();
        }
        let all: Vec<&Scene> = scenes.iter().map(|scene| &**scene).collect();
        let legend = Legend::new(self.layer, &all);
        let colors = all.iter().map(|scene| Arc::new(legend.colors(scene))).collect();
        self.coloring = Some(Coloring { layer: self.layer, scenes, legend: legend.clone(), colors });
        legend
    }

    fn colors_of(&self, scene: &Arc<Scene>) -> Option<Arc<Vec<Color32>>> {
        let coloring = self.coloring.as_ref()?;
        let at = coloring.scenes.iter().position(|own| Arc::ptr_eq(own, scene))?;
        coloring.colors.get(at).cloned()
    }

    /// Draws a pane anew if anything that it depends on has changed. Call [`Space::legend`] before.
    pub(super) fn draw(
        &mut self,
        ctx: &egui::Context,
        pane: usize,
        scene: &Arc<Scene>,
        eye: Eye,
        paper: Paper,
        size_px: (usize, usize),
    ) {
        let Some(colors) = self.colors_of(scene) else { return };
        let picked = self
            .picked
            .as_ref()
            .filter(|(strategy, _)| *strategy == scene.strategy)
            .map(|(_, picked)| picked);
        let key = Key {
            scene: Arc::clone(scene),
            colors,
            eye,
            picked: picked.map(|picked| picked.sample),
            paper,
            size_px,
        };
        if self.canvases.len() <= pane {
            self.canvases.resize_with(pane + 1, Canvas::default);
        }
        let canvas = &mut self.canvases[pane];
        if canvas.key.as_ref().is_some_and(|old| old.equals(&key)) {
            return;
        }
        let frame = render(&Pane {
            scene,
            colors: &key.colors,
            eye,
            picked,
            paper,
            size_px,
            pixels_per_point: ctx.pixels_per_point(),
        });
        let image = ColorImage::new([size_px.0, size_px.1], frame.pixels.clone());
        if let Some(texture) = &mut canvas.texture {
            texture.set(image, TextureOptions::NEAREST);
        } else {
            let name = format!("site in 3D, {pane}");
            canvas.texture = Some(ctx.load_texture(name, image, TextureOptions::NEAREST));
        }
        canvas.frame = Some(frame);
        canvas.key = Some(key);
        self.drawn += 1;
    }
}

pub(super) fn size_of(size: (usize, usize)) -> DVec2 {
    DVec2::new(size.0 as f64, size.1 as f64)
}

fn shown(
    scenario: &Scenario,
    figures: &Figures,
    (strategy, name, slot): (Id, &str, usize),
    old: Option<Arc<Scene>>,
) -> Shown {
    let known = figures.known(scenario, strategy);
    let outcome = known.and_then(|known| known.views);
    let scene = outcome.and_then(|outcome| match old {
        Some(old) if old.shows(scenario, outcome) => Some(old),
        _ => Scene::new(scenario, outcome).map(Arc::new),
    });
    let why = known.and_then(|known| known.quick.err().or(known.failure));
    let empty = match why {
        Some(why) => format!("It could not be worked out: {why}"),
        None => "The views of every surface are being counted; then the site is drawn.".to_owned(),
    };
    let freshness = known.map_or(Freshness::Pending, |known| known.freshness);
    Shown { strategy, name: name.to_owned(), slot, scene, empty, freshness }
}
