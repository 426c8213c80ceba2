//! The cards with every setting of the pass that is chosen.

use super::ask::PassesAsk;
use super::choices::{ABOVE, AIMS, above, aim_at, aim_place, companions, lead_place, leads, led, subjects};
use super::model::{Follow, Passes, gimbal_text, wall_text};
use crate::amendment::Subject;
use crate::form::{self, Enabled, Kind, Named, Rows};
use crate::show;
use crate::theme;
use crate::units::{Unit, Units};
use egui::Ui;
use obliquity_planning::{
    Aim, At, Attitude, Choice, Corridor, Facade, Knob, KnobGroup, KnobId, Looks, Orbit, OrbitCentre,
    OrbitRadius, Pass, PassOutcome, Pattern, PatternKind, Present, Rings, Setting, Underside, knob, limits,
    polygon,
};

/// A change of the pass: what it is called, and the pass afterwards.
pub(super) type Changed = Option<(Subject, Pass)>;

/// What is drawn: the screen's model, and the number of the pass that is chosen.
#[derive(Clone, Copy)]
pub(super) struct PassForm<'a> {
    pub(super) shown: &'a Passes<'a>,
    pub(super) number: usize,
}

impl PassForm<'_> {
    fn pass(&self) -> &Pass {
        self.shown.pass()
    }

    fn units(&self) -> Units {
        self.shown.given.units
    }

    /// The whole name of an input.
    fn spoken(&self, name: &str) -> String {
        format!("{name} of pass {}", self.number)
    }

    /// The pass with a change made to it.
    #[expect(clippy::unnecessary_wraps, reason = "what every card gives where something was changed")]
    fn with(&self, what: &str, change: impl FnOnce(&mut Pass)) -> Changed {
        let mut pass = self.pass().clone();
        change(&mut pass);
        Some((self.spoken(what).into(), pass))
    }

    fn choose(
        &self,
        ui: &mut Ui,
        name: &str,
        hint: &str,
        choices: &[(&str, &str)],
        at: Option<usize>,
    ) -> Option<usize> {
        let spoken = self.spoken(name);
        form::choice(ui, Named { name, spoken: &spoken, hint }, choices, at)
    }
}

/// Where the pass goes: what it is flown at, what is chosen from a few, and its numbers.
pub(super) fn pattern(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    let about = of.pass().pattern.about();
    let name = format!("{} of pass {}", about.title, of.number);
    form::card(ui, &name, about.explanation, |ui| {
        let flown_at = match &of.pass().pattern {
            Pattern::Orbit(orbit) => centre(ui, of, &orbit.around),
            Pattern::Facade(facade) => walls_of(ui, of, facade.walls.as_deref()),
            Pattern::Underside(underside) => deck(ui, of, underside.structure),
            _ => None,
        };
        let chosen = picked(ui, of, about.choices);
        let listed = match &of.pass().pattern {
            Pattern::Corridor(corridor) => line(ui, of, &corridor.line_m),
            Pattern::Orbit(Orbit { rings: Rings::At { heights_m }, .. }) => ring_heights(ui, of, heights_m),
            _ => None,
        };
        numbers(ui, of, about.numbers).or(flown_at).or(chosen).or(listed)
    })
}

/// What of a pattern is chosen from a few.
fn picked(ui: &mut Ui, of: PassForm<'_>, rows: &[Choice]) -> Changed {
    let mut changed = None;
    for row in rows {
        let Some(at) = (row.get)(&of.pass().pattern) else { continue };
        if let Some(place) = of.choose(ui, row.name, row.explanation, row.options, Some(at)) {
            let direction_rad =
                of.shown.planned().and_then(PassOutcome::laid).and_then(|plan| plan.layout.direction_rad);
            let present = Present { direction_rad, radius_m: present_radius_m(of) };
            changed = of.with(row.what, |pass| (row.set)(&mut pass.pattern, place, &present));
        }
    }
    changed
}

/// The numbers of a pattern.
fn numbers(ui: &mut Ui, of: PassForm<'_>, rows: &'static [Setting]) -> Changed {
    let mut changed = None;
    for row in rows {
        let Some(value) = (row.get)(&of.pass().pattern) else { continue };
        let spoken = of.spoken(row.name);
        let named = Named { name: row.name, spoken: &spoken, hint: row.explanation };
        let kind = Kind { unit: row.unit, decimals: row.decimals, range: row.range };
        if let Some(value) = form::number(ui, named, kind, value, of.units()) {
            let mut pass = of.pass().clone();
            (row.set)(&mut pass.pattern, value);
            let what = Subject::input(&Knob::of_pattern(row), At::Pass(pass.id), of.spoken(row.name));
            changed = Some((what, pass));
        }
    }
    changed
}

/// The corners of a corridor's line.
fn line(ui: &mut Ui, of: PassForm<'_>, line_m: &[glam::DVec2]) -> Changed {
    let name = format!("the line of pass {}", of.number);
    form::corners(ui, &name, line_m, 2, of.units()).map(|(what, line)| {
        let mut pass = of.pass().clone();
        if let Pattern::Corridor(Corridor { line_m, .. }) = &mut pass.pattern {
            *line_m = line;
        }
        (what.into(), pass)
    })
}

/// What rings go round.
fn centre(ui: &mut Ui, of: PassForm<'_>, around: &OrbitCentre) -> Changed {
    let scenario = of.shown.given.scenario;
    let structures = subjects(scenario, PatternKind::Orbit);
    let mut names: Vec<(&str, &str)> = structures.iter().map(|(_, name)| (name.as_str(), "")).collect();
    names.push(("a place", "Anywhere, by its coordinates"));
    let taken = around.structures();
    let at = match taken.first() {
        Some(id) => structures.iter().position(|(known, _)| known == id),
        None => Some(structures.len()),
    };
    let centred =
        of.choose(ui, "Around", "What is in the middle of the rings", &names, at).and_then(|place| {
            let middle = middle_of(of, around);
            of.with("Middle", |pass| {
                if let Pattern::Orbit(Orbit { around, .. }) = &mut pass.pattern {
                    *around = match structures.get(place) {
                        Some((id, _)) => OrbitCentre::about(&headed(*id, &taken)),
                        None => OrbitCentre::Point { x_m: middle.x, y_m: middle.y },
                    };
                }
            })
        });
    let joined = with_others(ui, of, &taken).and_then(|ids| {
        of.with("Structures", |pass| {
            if let Pattern::Orbit(Orbit { around, .. }) = &mut pass.pattern {
                *around = OrbitCentre::about(&ids);
            }
        })
    });
    centred.or(joined)
}

/// The heights of rings that are given one by one.
fn ring_heights(ui: &mut Ui, of: PassForm<'_>, heights_m: &[f64]) -> Changed {
    let mut changed: Option<(String, Vec<f64>)> = None;
    let kind = Kind { unit: Unit::Metres, decimals: 1, range: limits::RING_HEIGHT_M };
    for (at, height_m) in heights_m.iter().enumerate() {
        let name = format!("Height of ring {}", at + 1);
        let spoken = of.spoken(&name);
        let named = Named { name: &name, spoken: &spoken, hint: "Above the ground in the middle" };
        if let Some(value) = form::number(ui, named, kind, *height_m, of.units()) {
            let mut heights = heights_m.to_vec();
            heights[at] = value;
            changed = Some((name, heights));
        }
    }
    ui.horizontal(|ui| {
        let room = Enabled::when(|| heights_m.len() < limits::RINGS.most as usize);
        if form::small(ui, "Add a ring", &of.spoken("Add a ring"), "One more above the last", room) {
            let next = heights_m.last().map_or(40.0, |last| limits::RING_HEIGHT_M.nearest(last + 10.0));
            changed = Some(("Rings".to_owned(), [heights_m, &[next]].concat()));
        }
        let some = Enabled::when(|| heights_m.len() > 1);
        if form::small(ui, "Remove the last ring", &of.spoken("Remove the last ring"), "One ring stays", some)
        {
            changed = Some(("Rings".to_owned(), heights_m[..heights_m.len() - 1].to_vec()));
        }
    });
    let (what, heights) = changed?;
    of.with(&what, |pass| {
        if let Pattern::Orbit(Orbit { rings, .. }) = &mut pass.pattern {
            *rings = Rings::At { heights_m: heights };
        }
    })
}

fn middle_of(of: PassForm<'_>, around: &OrbitCentre) -> glam::DVec2 {
    if let OrbitCentre::Point { x_m, y_m } = around {
        return glam::DVec2::new(*x_m, *y_m);
    }
    let group = of.shown.given.outline.and_then(|outline| outline.group(&around.structures()));
    let boundary_m = &of.shown.given.scenario.site.boundary_m;
    let middle = polygon::centroid_m(group.as_ref().map_or(boundary_m, |group| &group.footprint_m));
    (middle * 10.0).round() / 10.0
}

/// The radius that the rings are flown at.
fn present_radius_m(of: PassForm<'_>) -> Option<f64> {
    let Pattern::Orbit(Orbit { around, .. }) = &of.pass().pattern else { return None };
    let pose = of.shown.planned()?.laid()?.stations.poses.first()?;
    Some(pose.position_m.truncate().distance(middle_of(of, around)))
}

/// The walls that rows are flown in front of.
fn walls_of(ui: &mut Ui, of: PassForm<'_>, walls: Option<&[u32]>) -> Changed {
    let structures = subjects(of.shown.given.scenario, PatternKind::Facade);
    let names: Vec<(&str, &str)> = structures.iter().map(|(_, name)| (name.as_str(), "")).collect();
    let taken = of.pass().pattern.structures();
    let at = structures.iter().position(|(known, _)| taken.first() == Some(known));
    let put = |ids: &[obliquity_planning::Id]| {
        let (first, rest) = ids.split_first()?;
        of.with("Structure", |pass| {
            if let Pattern::Facade(Facade { structure, others, walls, .. }) = &mut pass.pattern {
                // Another footprint has other walls.
                (*structure, *others, *walls) = (*first, rest.to_vec(), None);
            }
        })
    };
    let moved = of
        .choose(ui, "Structure", "Whose walls", &names, at)
        .and_then(|place| put(&headed(structures[place].0, &taken)));
    let joined = with_others(ui, of, &taken).and_then(|ids| put(&ids));
    wall_list(ui, of, &taken, walls).or(moved).or(joined)
}

/// The structures taken with another one at their head: it takes the first one's place, the others stay.
fn headed(first: obliquity_planning::Id, taken: &[obliquity_planning::Id]) -> Vec<obliquity_planning::Id> {
    let rest = taken.iter().skip(1).copied().filter(|id| *id != first);
    std::iter::once(first).chain(rest).collect()
}

/// Which other structures are taken together with the first; gives all of them where one was added or left out.
fn with_others(
    ui: &mut Ui,
    of: PassForm<'_>,
    taken: &[obliquity_planning::Id],
) -> Option<Vec<obliquity_planning::Id>> {
    let others = companions(of.shown.given.scenario, taken);
    if others.is_empty() {
        return None;
    }
    let count = u32::try_from(taken.len() - 1).unwrap_or(u32::MAX);
    let title = match count {
        0 => "Together with others…".to_owned(),
        _ => format!("Together with {}", show::counted(count, "other", "others")),
    };
    let mut changed = None;
    let shown = egui::CollapsingHeader::new(title).id_salt(("others", of.number)).show(ui, |ui| {
        form::muted(ui, "Taken as one, by the hull of all of them: for what is too near to fly between.");
        egui::ScrollArea::vertical().id_salt("others").max_height(180.0).show(ui, |ui| {
            for (id, name) in &others {
                let mut is_taken = taken.contains(id);
                let response = ui.checkbox(&mut is_taken, name);
                form::spoken(ui, &response, &of.spoken(&format!("{name} as one with the first")));
                if response.changed() {
                    let rest = taken.iter().copied().filter(|known| known != id);
                    changed = Some(rest.chain(is_taken.then_some(*id)).collect());
                }
            }
        });
    });
    form::spoken(ui, &shown.header_response, &of.spoken("Structures together"));
    changed
}

fn wall_list(
    ui: &mut Ui,
    of: PassForm<'_>,
    ids: &[obliquity_planning::Id],
    walls: Option<&[u32]>,
) -> Changed {
    let structure = &of.shown.given.outline?.group(ids)?;
    let count = structure.walls_m().len() as u32;
    let flown: Vec<u32> = walls.map_or_else(|| (0..count).collect(), <[u32]>::to_vec);
    let mut changed = None;
    let mut all = walls.is_none();
    let box_for_all =
        ui.checkbox(&mut all, "All walls, one after the other").on_hover_text("In the order of the rows");
    form::spoken(ui, &box_for_all, &of.spoken("All walls"));
    if box_for_all.changed() {
        changed = Some(if all { None } else { Some(flown.clone()) });
    }
    if !all {
        egui::ScrollArea::vertical().id_salt("walls").max_height(180.0).show(ui, |ui| {
            for wall in 0..count {
                let mut is_flown = flown.contains(&wall);
                let text = wall_text(structure, wall as usize, of.units());
                let last = is_flown && flown.len() == 1;
                let response = ui.add_enabled(!last, egui::Checkbox::new(&mut is_flown, text));
                form::spoken(ui, &response, &of.spoken(&format!("Wall {}", wall + 1)));
                let response = response.on_disabled_hover_text("One wall stays");
                if response.changed() {
                    changed = Some(Some(toggled(&flown, wall)));
                }
            }
        });
    }
    let chosen = changed?;
    of.with("Walls", |pass| {
        if let Pattern::Facade(Facade { walls, .. }) = &mut pass.pattern {
            *walls = chosen;
        }
    })
}

/// The walls without one of them, or with it at its place round the structure.
fn toggled(flown: &[u32], wall: u32) -> Vec<u32> {
    let mut walls: Vec<u32> = flown.iter().copied().filter(|known| *known != wall).collect();
    if walls.len() == flown.len() {
        walls.push(wall);
        walls.sort_unstable();
    }
    walls
}

/// The deck that strips run below.
fn deck(ui: &mut Ui, of: PassForm<'_>, structure: obliquity_planning::Id) -> Changed {
    let decks = subjects(of.shown.given.scenario, PatternKind::Underside);
    let names: Vec<(&str, &str)> = decks.iter().map(|(_, name)| (name.as_str(), "")).collect();
    let at = decks.iter().position(|(known, _)| *known == structure);
    let place = of.choose(ui, "Deck", "Whose underside", &names, at)?;
    of.with("Deck", |pass| {
        if let Pattern::Underside(Underside { structure, .. }) = &mut pass.pattern {
            *structure = decks[place].0;
        }
    })
}

/// How far from the subject, and how fast.
pub(super) fn distance(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    form::card(ui, "Distance and speed", "", |ui| {
        let pass = of.pass();
        let kind = pass.pattern.kind();
        if matches!(pass.pattern, Pattern::Orbit(Orbit { radius: OrbitRadius::Set { .. }, .. })) {
            form::muted(ui, "The radius sets the distance; stand-off and GSD follow from it.");
            return group(ui, of, &knob::SPEED);
        }
        let hint = "What is kept when the aircraft or its camera changes; the other follows";
        let planned = of.shown.planned().and_then(PassOutcome::laid);
        let layout = planned.map(|plan| &plan.layout);
        let lead = of.choose(ui, "Set by", hint, &leads(kind), Some(lead_place(pass.distance)));
        let lead = lead.and_then(|place| of.with("Set by", |pass| pass.distance = led(pass, place, layout)));
        let set = group(ui, of, &knob::DISTANCE);
        if pass.pattern.about().looks.is_given() {
            form::muted(
                ui,
                "The stations keep their places: nominal GSD and motion blur are told for this distance.",
            );
        }
        let set = set.or(group(ui, of, &knob::SPEED));
        let raised = if kind.flies_over() { above_choice(ui, of) } else { None };
        if let Some(note) = &of.shown.climb_note {
            form::muted(ui, note);
        }
        set.or(lead).or(raised)
    })
}

fn above_choice(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    let choices = ABOVE.map(|(_, choice)| choice);
    let at = ABOVE.iter().position(|(known, _)| *known == of.pass().distance.above());
    let hint = "What the height, set or from the GSD, is above";
    let picked = of.choose(ui, "Height above", hint, &choices, at)?;
    of.with("Height above", |pass| pass.distance = above(pass.distance, ABOVE[picked].0))
}

/// Overlaps and margin, where the pass has any.
pub(super) fn overlap(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    if !knob::OVERLAP.knobs.iter().any(|knob| knob.applies(of.pass())) {
        return None;
    }
    form::card(ui, "Overlap and margin", "On the footprint of a nadir image", |ui| {
        group(ui, of, &knob::OVERLAP)
    })
}

/// Where the camera looks.
pub(super) fn camera(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    let kind = of.pass().pattern.kind();
    let note = match kind.about().looks {
        Looks::ByItself { note } | Looks::AsGiven { note } => note,
        Looks::ByStrips | Looks::ByLine | Looks::AtWall => {
            "Tilt 0° is straight down, 90° level, 180° straight up."
        }
    };
    form::card(ui, "Camera", note, |ui| {
        if kind.about().looks.is_given() {
            return None;
        }
        let attitudes = &of.pass().attitudes;
        let mut changed = None;
        for (at, attitude) in attitudes.iter().enumerate() {
            let one = one_attitude(ui, of, (at, attitudes.len()), *attitude);
            changed = changed.or(one);
        }
        if kind.flies_over() {
            changed = changed.or(cycle(ui, of));
        }
        changed
    })
}

fn one_attitude(ui: &mut Ui, of: PassForm<'_>, (at, count): (usize, usize), attitude: Attitude) -> Changed {
    let name = |what: &str| if count == 1 { what.to_owned() } else { format!("{what} {}", at + 1) };
    let place = At::Attitude(of.pass().id, at);
    let mut changed = None;
    let looks = of.pass().pattern.about().looks;
    let (tilt, offset) = (knob(KnobId::ATTITUDE_TILT), knob(KnobId::ATTITUDE_OFFSET));
    let with = |row: &Knob, to: Option<Attitude>| {
        let mut pass = of.pass().clone();
        pass.attitudes[at] = to?;
        Some((Subject::input(row, place, of.spoken(&name(row.name))), pass))
    };
    if !looks.is_own_tilt() {
        let (tilt_name, gimbal) = (name(tilt.name), gimbal_text(attitude.tilt_deg));
        let spoken = of.spoken(&tilt_name);
        let named = Named { name: &tilt_name, spoken: &spoken, hint: tilt.explanation };
        let kind = form::kind_of(&tilt, &attitude);
        let tilt_deg = form::number_and(ui, named, kind, attitude.tilt_deg, of.units(), &gimbal);
        let to = tilt_deg.and_then(|deg| form::with(&attitude, &tilt, Some(deg)));
        changed = with(&tilt, to);
    }
    let aims = if looks.has_subject() { &AIMS[..] } else { &AIMS[..3] };
    let aim = name("Heading");
    let hint = "What the heading of the optical axis is measured from";
    let from = aim_place(attitude.aim);
    if let Some(from) = of.choose(ui, &aim, hint, aims, Some(from)) {
        let aim_now = aim_at(from, attitude.aim.deg());
        changed = of.with(&aim, |pass| pass.attitudes[at] = Attitude { aim: aim_now, ..attitude });
    }
    let turned = name(offset.name);
    let spoken = of.spoken(&turned);
    let named = Named { name: &turned, spoken: &spoken, hint: offset.explanation };
    let kind = form::kind_of(&offset, &attitude);
    if let Some(deg) = form::number(ui, named, kind, attitude.aim.deg(), of.units()) {
        changed = with(&offset, form::with(&attitude, &offset, Some(deg)));
    }
    if count > 1 {
        let spoken = of.spoken(&format!("Remove attitude {}", at + 1));
        if form::small(ui, "Remove", &spoken, "Leave this attitude out of the cycle", Enabled::Yes) {
            changed = of.with("Attitudes", |pass| {
                pass.attitudes.remove(at);
            });
        }
        ui.separator();
    }
    changed
}

/// More attitudes: a cycle through them within each air base.
fn cycle(ui: &mut Ui, of: PassForm<'_>) -> Changed {
    let count = of.pass().attitudes.len();
    let hint = "The camera goes through all attitudes within each air base; the pass gets slower";
    let room = Enabled::when(|| count < limits::ATTITUDES);
    if form::small(ui, "Add an attitude", &of.spoken("Add an attitude"), hint, room) {
        return of.with("Attitudes", |pass| {
            let deg = 90.0 * pass.attitudes.len().saturating_sub(1) as f64;
            pass.attitudes.push(Attitude { tilt_deg: 45.0, aim: Aim::FromTrack { deg: deg % 360.0 } });
        });
    }
    None
}

/// What follows from the settings of the pass.
pub(super) fn follows(ui: &mut Ui, of: PassForm<'_>, asks: &mut Vec<PassesAsk>) {
    let refused = of.shown.rows[of.shown.selected].refused.as_deref();
    form::card(ui, "Result", "", |ui| {
        if let Some(why) = refused {
            form::colored(ui, &format!("The pass is left out: {why}"), theme::of(ui).bad);
        }
        for Follow { name, text, measure } in &of.shown.follows {
            match measure {
                Some(measure) if form::opening_figure(ui, name, text) => {
                    asks.push(PassesAsk::Figure(*measure));
                }
                Some(_) => {}
                None => form::figure(ui, name, text),
            }
        }
        if refused.is_none() && of.shown.follows.is_empty() {
            form::muted(ui, "Nothing is worked out yet.");
        }
    });
}

fn group(ui: &mut Ui, of: PassForm<'_>, group: &KnobGroup) -> Changed {
    let pass_of = of.spoken("");
    let begins_at = |knob: &Knob| begins_at(of, knob.id);
    let rows = Rows { of: &pass_of, begins_at: &begins_at, ..Rows::plain(of.units()) };
    let (knob, pass) = rows.group(ui, group, of.pass())?;
    let at = At::Pass(pass.id);
    Some((Subject::input(&knob, at, of.spoken(knob.name)), pass))
}

/// What a number that was left to the program is when it is first set: what the plan has.
fn begins_at(of: PassForm<'_>, id: KnobId) -> Option<f64> {
    let planned = of.shown.planned().and_then(PassOutcome::laid)?;
    match id {
        KnobId::SPEED => Some((10.0 * planned.speed.speed_mps).round() / 10.0),
        KnobId::MARGIN => planned.layout.margin_m.map(f64::round),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn walls_come_and_go_at_their_place() {
        assert_eq!(toggled(&[0, 3], 2), [0, 2, 3]);
        assert_eq!(toggled(&[0, 2, 3], 0), [2, 3]);
    }
}
