use super::{
    AbovePane, Eye, Flat, FlatPane, Frame, Layer, Layout, Legend, Paper, Picked, Relief, Scene, SceneMarks,
    ScenePane, Sheet, render, render_above, render_flat,
};
use crate::canvas::CursorMark;
use crate::figures::{Figures, Freshness};
use crate::units::Units;
use egui::{Color32, ColorImage, TextureHandle, TextureOptions, Vec2};
use glam::{DVec2, DVec3};
use obliquity_planning::{Id, Sample, Scenario};
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

/// How surfaces are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// In 3D.
    Solid,
    /// Walls and undersides drawn flat.
    Flat,
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
    /// The same of what its images give when they are adjusted together.
    pub block_freshness: Freshness,
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
    /// What is drawn in 3D besides the surfaces.
    pub marks: SceneMarks,
    /// How walls drawn flat are looked at.
    pub flat: Flat,
    pub(super) most: usize,
    pub(super) sheets: Vec<(Arc<Scene>, Arc<Sheet>)>,
    pub(super) shown: Vec<Shown>,
    pub(super) focus: usize,
    pub(super) eyes: [Option<Eye>; MOST],
    pub(super) canvases: Vec<PaneCanvas>,
    fits: [Option<Fit>; MOST],
    layouts: [Option<Laid>; MOST],
    /// Where the timeline's cursor has the aircraft.
    pub cursor: Option<CursorMark>,
    pub(super) picked: Option<(Id, Picked)>,
    coloring: Option<Coloring>,
    drawn: u64,
}

/// An eye that has all of some scenes on a canvas.
#[derive(Debug)]
struct Fit {
    scenes: Vec<Arc<Scene>>,
    size_px: (usize, usize),
    eye: Eye,
}

/// A sheet laid out for a room and a scale.
#[derive(Debug)]
struct Laid {
    sheet: Arc<Sheet>,
    room: Vec2,
    points_per_m: Option<f64>,
    layout: Arc<Layout>,
}

/// A legend and the colours of some scenes.
#[derive(Debug)]
struct Coloring {
    layer: Layer,
    units: Units,
    scenes: Vec<Arc<Scene>>,
    legend: Legend,
    colors: Vec<Arc<Vec<Color32>>>,
}

/// How a picture is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Glance {
    /// From somewhere in space.
    Solid(Eye),
    /// From above, north up.
    Above { centre_m: DVec2, points_per_m: f64 },
    /// At a sheet of walls.
    Flat { points_per_m: f64, scrolled: f32 },
}

/// What a picture depends on.
#[derive(Debug, Clone)]
struct SceneKey {
    scene: Arc<Scene>,
    colors: Arc<Vec<Color32>>,
    glance: Glance,
    picked: Option<u32>,
    marks: SceneMarks,
    paper: Paper,
    size_px: (usize, usize),
}

impl SceneKey {
    fn equals(&self, other: &SceneKey) -> bool {
        Arc::ptr_eq(&self.scene, &other.scene)
            && Arc::ptr_eq(&self.colors, &other.colors)
            && self.glance == other.glance
            && self.picked == other.picked
            && self.marks == other.marks
            && self.paper == other.paper
            && self.size_px == other.size_px
    }
}

/// A picture kept until something that it depends on changes.
#[derive(Default)]
pub(super) struct PaneCanvas {
    key: Option<SceneKey>,
    frame: Option<Frame>,
    texture: Option<TextureHandle>,
}

impl std::fmt::Debug for PaneCanvas {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Canvas")
            .field("key", &self.key.as_ref().map(|key| key.glance))
            .finish_non_exhaustive()
    }
}

impl PaneCanvas {
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
        let focused = before.get(self.focus).map(|shown| shown.strategy);
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
        let is_of_focus = self.picked.as_ref().is_some_and(|(of, _)| Some(*of) == focused);
        if is_of_focus && self.shown.get(self.focus).map(|shown| shown.strategy) != focused {
            self.carry_picked();
        }
        let shown = &self.shown;
        let used = |own: &Arc<Scene>| {
            shown.iter().any(|shown| shown.scene.as_ref().is_some_and(|scene| Arc::ptr_eq(scene, own)))
        };
        self.sheets.retain(|(scene, _)| used(scene));
    }

    /// Where the walls of a pane are, laid out anew only for another sheet, room or scale.
    pub(super) fn layout(&mut self, pane: usize, sheet: &Arc<Sheet>, room: Vec2) -> Arc<Layout> {
        let points_per_m = self.flat.points_per_m;
        let slot = &mut self.layouts[pane.min(MOST - 1)];
        let same = |own: &&Laid| {
            Arc::ptr_eq(&own.sheet, sheet) && own.room == room && own.points_per_m == points_per_m
        };
        if let Some(laid) = slot.as_ref().filter(same) {
            return Arc::clone(&laid.layout);
        }
        let layout = Arc::new(match points_per_m {
            Some(points_per_m) => Layout::new(sheet, room.x, points_per_m),
            None => Layout::fitted(sheet, room),
        });
        *slot = Some(Laid { sheet: Arc::clone(sheet), room, points_per_m, layout: Arc::clone(&layout) });
        layout
    }

    /// The walls of a scene, laid flat once.
    pub(super) fn sheet(&mut self, scene: &Arc<Scene>) -> Arc<Sheet> {
        let sheet = sheet_of(&self.sheets, scene);
        if !self.sheets.iter().any(|(own, _)| Arc::ptr_eq(own, scene)) {
            self.sheets.push((Arc::clone(scene), Arc::clone(&sheet)));
        }
        sheet
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

    /// Tells of the same place for the strategy that has come into focus.
    fn carry_picked(&mut self) {
        if let Some(place_m) = self.picked.take().map(|(_, picked)| picked.position_m) {
            self.pick_near(place_m);
        }
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

    /// The strategies that can be shown, in the board's order.
    pub(crate) fn shown(&self) -> &[Shown] {
        &self.shown
    }

    /// What is told about, and of which strategy.
    pub fn picked(&self) -> Option<&(Id, Picked)> {
        self.picked.as_ref()
    }

    /// Puts so many strategies beside each other, at most four; one for none beside it.
    pub fn put_beside(&mut self, count: usize) {
        self.most = count.clamp(2, MOST);
        self.arrangement = if count > 1 { Arrangement::SideBySide } else { Arrangement::One };
    }

    /// Most strategies beside each other.
    pub fn most(&self) -> usize {
        if self.most == 0 { MOST } else { self.most }
    }

    /// Tells about the sample nearest to a place, of the strategy in focus.
    pub fn pick_near(&mut self, place_m: DVec3) {
        let Some(shown) = self.shown.get(self.focus) else { return };
        let strategy = shown.strategy;
        let nearest = shown.scene.as_ref().and_then(|scene| {
            let apart = |sample: &Sample| sample.position_m.distance_squared(place_m);
            scene.site.samples().min_by(|a, b| apart(a).total_cmp(&apart(b))).map(|sample| sample.number)
        });
        self.pick(strategy, nearest);
    }

    /// Looks at the place picked, or else at the middle of the site: azimuth and angle below level in degrees, and
    /// distance in metres.
    pub fn look_from(&mut self, [azimuth_deg, down_deg, distance_m]: [f64; 3]) {
        let middle = || {
            let scene = self.shown.get(self.focus)?.scene.as_ref()?;
            let (low, high) = scene.site.extent_m;
            let middle = low.midpoint(high);
            Some(middle.extend(scene.site.terrain.height_m(middle)))
        };
        let picked = self.picked.as_ref().map(|(_, picked)| picked.position_m);
        let Some(target_m) = picked.or_else(middle) else { return };
        let mut eye = Eye { target_m, azimuth_rad: azimuth_deg.to_radians(), down_rad: 0.0, distance_m: 1.0 };
        eye.down_rad = down_deg.to_radians();
        eye.zoom(1.0 / distance_m.max(1.0));
        eye.orbit(DVec2::ZERO, 1.0);
        self.eyes = [Some(eye); MOST];
    }

    /// Shows the whole site again.
    pub fn fit(&mut self) {
        self.eyes = [None; MOST];
        self.flat = Flat::default();
    }

    /// From where a pane is looked at; nothing where it shows the whole site.
    pub fn eye(&self, pane: usize) -> Option<Eye> {
        let pane = if self.cameras == Cameras::Linked { 0 } else { pane };
        self.eyes.get(pane).copied().flatten()
    }

    /// The eye that has the whole site on a pane; linked panes have one that suits all of them.
    pub(super) fn fitted(&mut self, pane: usize, scene: &Arc<Scene>, size_px: (usize, usize)) -> Eye {
        let shown = || self.panes().into_iter().filter_map(|pane| self.shown[pane].scene.clone());
        let scenes: Vec<Arc<Scene>> = match self.cameras {
            Cameras::Linked => shown().collect(),
            Cameras::Apart => vec![Arc::clone(scene)],
        };
        let same = |a: &[Arc<Scene>]| {
            a.len() == scenes.len() && a.iter().zip(&scenes).all(|(a, b)| Arc::ptr_eq(a, b))
        };
        let slot = &mut self.fits[pane.min(MOST - 1)];
        if let Some(fit) = slot.as_ref().filter(|fit| fit.size_px == size_px && same(&fit.scenes)) {
            return fit.eye;
        }
        let ends: Vec<DVec3> = scenes.iter().flat_map(|scene| scene.ends_m()).collect();
        let eye = Eye::fitted(&ends, size_of(size_px));
        *slot = Some(Fit { scenes, size_px, eye });
        eye
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
        let mut panes: Vec<usize> = (0..self.shown.len().min(self.most())).collect();
        if let Some(last) = panes.last_mut().filter(|last| **last < self.focus) {
            *last = self.focus;
        }
        panes
    }

    /// How many pictures have been drawn so far: a frame in which nothing changes draws none.
    pub fn drawn(&self) -> u64 {
        self.drawn
    }

    /// The legend of what is shown.
    pub fn legend(&mut self, units: Units) -> Legend {
        let scenes: Vec<Arc<Scene>> =
            self.panes().iter().filter_map(|&pane| self.shown[pane].scene.clone()).collect();
        let same = |own: &Coloring| {
            own.layer == self.layer
                && own.units == units
                && own.scenes.len() == scenes.len()
                && own.scenes.iter().zip(&scenes).all(|(a, b)| Arc::ptr_eq(a, b))
        };
        if let Some(coloring) = self.coloring.as_ref().filter(|own| same(own)) {
            return coloring.legend.clone();
        }
        let all: Vec<&Scene> = scenes.iter().map(|scene| &**scene).collect();
        let legend = Legend::new(self.layer, &all, units);
        let colors = all.iter().map(|scene| Arc::new(legend.colors(scene))).collect();
        self.coloring = Some(Coloring { layer: self.layer, units, scenes, legend: legend.clone(), colors });
        legend
    }

    fn colors_of(&self, scene: &Arc<Scene>) -> Option<Arc<Vec<Color32>>> {
        let coloring = self.coloring.as_ref()?;
        let at = coloring.scenes.iter().position(|own| Arc::ptr_eq(own, scene))?;
        coloring.colors.get(at).cloned()
    }

    /// Only colours that stand for no values are shaded.
    fn relief(&self) -> Relief {
        if self.layer == Layer::Covered { Relief::Half } else { Relief::None }
    }

    /// Draws a pane anew if anything that it depends on has changed. Call [`Space::legend`] before.
    pub(super) fn draw(
        &mut self,
        ctx: &egui::Context,
        pane: usize,
        scene: &Arc<Scene>,
        glance: Glance,
        paper: Paper,
        size_px: (usize, usize),
    ) {
        let Some(colors) = self.colors_of(scene) else { return };
        let picked = self
            .picked
            .as_ref()
            .filter(|(strategy, _)| *strategy == scene.strategy)
            .map(|(_, picked)| picked);
        let key = SceneKey {
            scene: Arc::clone(scene),
            colors,
            glance,
            // From above, what is told about is drawn over the picture.
            picked: picked.filter(|_| !matches!(glance, Glance::Above { .. })).map(|picked| picked.sample),
            marks: self.marks,
            paper,
            size_px,
        };
        if self.canvases.len() <= pane {
            self.canvases.resize_with(pane + 1, PaneCanvas::default);
        }
        let relief = self.relief();
        let canvas = &mut self.canvases[pane];
        if canvas.key.as_ref().is_some_and(|old| old.equals(&key)) {
            return;
        }
        let (colors, pixels_per_point) = (key.colors.as_slice(), ctx.pixels_per_point());
        let frame = match glance {
            Glance::Solid(eye) => render(&ScenePane {
                scene,
                colors,
                eye,
                relief,
                marks: key.marks,
                picked,
                paper,
                size_px,
                pixels_per_point,
            }),
            Glance::Above { centre_m, points_per_m } => {
                render_above(&AbovePane { scene, colors, centre_m, points_per_m, size_px, pixels_per_point })
            }
            Glance::Flat { points_per_m, scrolled } => {
                let sheet = sheet_of(&self.sheets, scene);
                let layout = Layout::new(&sheet, size_px.0 as f32 / pixels_per_point, points_per_m);
                let pane = FlatPane {
                    scene,
                    sheet: &sheet,
                    layout: &layout,
                    scrolled,
                    colors,
                    picked,
                    paper,
                    size_px,
                    pixels_per_point,
                };
                render_flat(&pane)
            }
        };
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

fn sheet_of(sheets: &[(Arc<Scene>, Arc<Sheet>)], scene: &Arc<Scene>) -> Arc<Sheet> {
    let known = sheets.iter().find(|(own, _)| Arc::ptr_eq(own, scene));
    known.map_or_else(|| Arc::new(Sheet::new(scene)), |(_, sheet)| Arc::clone(sheet))
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
    let block = known.and_then(|known| known.block?.ok()).map(Arc::as_ref);
    let scene = scene.map(|scene| scene.with_block(block));
    let why = known.and_then(|known| known.quick.err().or(known.failure));
    let empty = match why {
        Some(why) => format!("It could not be worked out: {why}"),
        None => "The views of every surface are being counted; then the site is drawn.".to_owned(),
    };
    let freshness = known.map_or(Freshness::Pending, |known| known.freshness);
    let block_freshness = known.map_or(Freshness::Pending, |known| known.block_freshness);
    Shown { strategy, name: name.to_owned(), slot, scene, empty, freshness, block_freshness }
}
