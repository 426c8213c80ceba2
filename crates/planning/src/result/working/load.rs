//! What the computer has to do.

use crate::base::SurfaceClass;
use crate::load::{CountedWork, FROM_ABOVE, LoadFigures, PassPairs, bytes};
use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{
    Budget, Formula, Origin, Step, StepLine, StepTable, Term, Together, Working,
};
use crate::scenario::{KnobId, ProcessingStage};

const RATES: &str =
    "counted work times the stage rates; only ratios mean something until the rates are calibrated";

const CALIBRATED: &str = "counted work times the stage rates, which were fitted to processed jobs";

const CELLS: &str = "a cell as large as a pixel on the surface for everything that is seen; that products are as fine as the \
                     median GSD is common practice, no source";

const FEATURES: &str = "40,000 features of 128 bytes with a place of 16: common practice, no source";

const BYTES: &str = "numbers of 4 bytes and colours of 1, not compressed (derived)";

const ATTENDED: &str = "so much for a job, a control point and a thousand images: common practice, no source";

const POINT: &str = "a point with its normal and its places in the tree: common practice, no source";

/// What rates of a thousand things are in.
const PER_THOUSAND: &str = "h/1000";

const PAIRS: &str = "counted on the footprints, image by image: those that share at least a quarter of the smaller and whose axes \
                     lie within 60°; common practice, no source";

/// Pixels of all images.
pub(crate) fn gigapixels(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let formula = Formula {
        result: Term::new("G", "pixels", load.gigapixels, "Gpx"),
        expression: Expression::symbol("n") * Expression::symbol("m") / Expression::number(1000.0),
        terms: vec![
            images(load),
            Term::new("m", "pixels of an image", load.megapixels, "Mpx")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.width_px"))),
        ],
        source: "10^9 pixels in a gigapixel, 10^6 in a megapixel",
    };
    Some(Working::new([Step::Formula(formula)]))
}

fn images(load: &LoadFigures) -> Term {
    Term::new("n", "images", f64::from(load.image_count), "").from(Origin::Measure(MeasureId::ImageCount))
}

/// Pairs of images, by the passes that the two are of.
pub(crate) fn pairs(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let flown: Vec<usize> = (0..stages.passes.len()).filter(|k| stages.passes[*k].laid().is_some()).collect();
    let number = |place: usize| flown.get(place).map_or(0, |k| k + 1);
    let part = |of: &PassPairs| {
        let (first, second) = (number(of.first), number(of.second));
        let name = if first == second {
            format!("within pass {first}")
        } else {
            format!("between pass {first} and pass {second}")
        };
        Term::new("", name, of.pairs as f64, "")
    };
    let result = Term::new("q", "image pairs", load.image_pairs? as f64, "");
    let parts = load.pairs_by_pass.iter().map(part).collect();
    Some(Working::new([Step::Budget(Budget { result, parts, source: PAIRS })]))
}

/// Cells of surfaces, class by class.
fn cells(load: &LoadFigures, result: Term, classes: &[SurfaceClass]) -> Step {
    let line = |class: &SurfaceClass| {
        let work = load.surfaces[*class]?;
        let own = vec![
            Term::new("A", "area", work.area_m2, "m²").from(Origin::Sampled),
            Term::new("u", "share without a counted view", work.unseen_ratio, "").from(Origin::Sampled),
            Term::new("g", "median GSD", work.gsd_m, "m").from(Origin::Sampled),
        ];
        let gives = Term::new(result.symbol, "cells", work.giga_cells(), result.unit);
        Some(StepLine { name: class.name().to_owned(), own, gives })
    };
    let lines: Vec<StepLine> = classes.iter().filter_map(line).collect();
    if lines.is_empty() {
        let parts = vec![Term::new("", "nothing is seen", 0.0, result.unit)];
        return Step::Budget(Budget { result, parts, source: CELLS });
    }
    let seen = Expression::symbol("A") * (Expression::number(1.0) - Expression::symbol("u"));
    let cell = Expression::symbol("g") * Expression::symbol("g");
    Step::Table(StepTable {
        expression: seen / cell / Expression::number(1e9),
        shared: Vec::new(),
        lines,
        together: Together::Sum,
        source: CELLS,
        result,
    })
}

/// Points of the surface, which are the texels of its texture too.
fn points_step(load: &LoadFigures, work: &CountedWork) -> Step {
    cells(load, Term::new("P", "points of the surface", work.surface_gigapoints, "Gpt"), &SurfaceClass::ALL)
}

/// Pixels of the orthomosaic.
fn mosaic_step(load: &LoadFigures, work: &CountedWork) -> Step {
    let mosaic = work.orthomosaic_gigapixels;
    cells(load, Term::new("O", "pixels of the orthomosaic", mosaic, "Gpx"), &FROM_ABOVE)
}

fn points(work: &CountedWork) -> Term {
    Term::new("P", "points of the surface", work.surface_gigapoints, "Gpt").from(Origin::Step)
}

fn mosaic(work: &CountedWork) -> Term {
    Term::new("O", "pixels of the orthomosaic", work.orthomosaic_gigapixels, "Gpx").from(Origin::Step)
}

fn pixels(load: &LoadFigures) -> Term {
    Term::new("G", "pixels", load.gigapixels, "Gpx").from(Origin::Measure(MeasureId::Gigapixels))
}

fn pair_count(work: &CountedWork) -> Term {
    Term::new("q", "image pairs", work.image_pairs as f64, "").from(Origin::Measure(MeasureId::ImagePairs))
}

/// A stage's symbol, name, work, and where and in what its rate is set.
fn rated_work(
    stage: ProcessingStage,
    load: &LoadFigures,
    work: &CountedWork,
) -> (&'static str, &'static str, Term, &'static str, &'static str) {
    match stage {
        ProcessingStage::Features => {
            ("t_features", "finding features", pixels(load), "rates.stages.features_h_per_gigapixel", "h/Gpx")
        }
        ProcessingStage::Matching => (
            "t_matching",
            "matching pairs",
            pair_count(work),
            "rates.stages.matching_h_per_thousand_pairs",
            PER_THOUSAND,
        ),
        ProcessingStage::Adjustment => (
            "t_adjustment",
            "bundle adjustment",
            images(load),
            "rates.stages.adjustment_h_per_thousand_images",
            PER_THOUSAND,
        ),
        ProcessingStage::Dense => {
            ("t_dense", "dense reconstruction", pixels(load), "rates.stages.dense_h_per_gigapixel", "h/Gpx")
        }
        ProcessingStage::Surface => {
            ("t_surface", "surface", points(work), "rates.stages.surface_h_per_gigapoint", "h/Gpt")
        }
        ProcessingStage::Orthomosaic => {
            let key = "rates.stages.orthomosaic_h_per_gigapixel";
            ("t_orthomosaic", "orthomosaic", mosaic(work), key, "h/Gpx")
        }
        ProcessingStage::Texture => {
            ("t_texture", "texture", points(work), "rates.stages.texture_h_per_gigapixel", "h/Gpx")
        }
    }
}

/// Hours of the machine, stage by stage.
pub(crate) fn hours(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let (hours, work) = (load.hours?, load.work?);
    let source = if load.standing.is_calibrated() { CALIBRATED } else { RATES };
    let of = |stage: ProcessingStage| {
        let (symbol, name, amount, key, unit) = rated_work(stage, load, &work);
        let rate = Term::new("r", "rate", load.rates.of(stage), unit).from(Origin::Input(KnobId(key)));
        let scale = if unit == PER_THOUSAND { 1000.0 } else { 1.0 };
        times(Term::new(symbol, name, hours.of(stage), "h"), (amount, scale), rate, source)
    };
    let part = |stage: ProcessingStage| {
        let (symbol, name, ..) = rated_work(stage, load, &work);
        Term::new(symbol, name, hours.of(stage), "h").from(Origin::Step)
    };
    let result = Term::new("t", format!("processing, {}", load.standing.told()), hours.total_h(), "h");
    let sum = Step::Budget(Budget { result, parts: ProcessingStage::ALL.map(part).to_vec(), source });
    let counted = [points_step(load, &work), mosaic_step(load, &work)];
    Some(Working::new(counted.into_iter().chain(ProcessingStage::ALL.map(of)).chain([sum])))
}

/// So many pieces of work, a scale's in one, times what each takes.
fn times(result: Term, (work, scale): (Term, f64), each: Term, source: &'static str) -> Step {
    let amount = Expression::symbol(work.symbol);
    let amount = if scale == 1.0 { amount } else { amount / Expression::number(scale) };
    let expression = amount * Expression::symbol(each.symbol);
    Step::Formula(Formula { result, expression, terms: vec![work, each], source })
}

/// What everybody reckons with.
fn usual(symbol: &'static str, name: &str, value: f64, unit: &'static str) -> Term {
    Term::new(symbol, name, value, unit).from(Origin::Practice)
}

/// Memory of the stage that takes the most.
pub(crate) fn memory(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let (memory, work) = (load.memory?, load.work?);
    let part = |symbol, name, value| Term::new(symbol, name, value, "GB");
    let adjustment = part("m_adjustment", "bundle adjustment", memory.adjustment_gb);
    let dense = part("m_dense", "dense reconstruction", memory.dense_gb);
    let surface = part("m_surface", "surface", memory.surface_gb);
    let each = [&adjustment, &dense, &surface].map(|term| term.clone().from(Origin::Step));
    let most = part("m", "the most of a stage", memory.most_gb());
    let greatest = Formula {
        result: most.clone(),
        expression: Expression::Greatest(each.iter().map(|term| Expression::symbol(term.symbol)).collect()),
        terms: each.to_vec(),
        source: "stages run one after the other",
    };
    let whole = Formula {
        result: part("M", "memory", memory.total_gb()),
        expression: Expression::symbol("b") + Expression::symbol("m"),
        terms: vec![usual("b", "system and program", bytes::PROGRAM_GB, "GB"), most.from(Origin::Step)],
        source: "the program's own is common practice, no source",
    };
    let point = usual("s", "point", bytes::POINT_IN_MEMORY, "B");
    Some(Working::new([
        points_step(load, &work),
        blocks_step(load, &work, adjustment),
        neighbours_step(load, &work),
        others_step(&work),
        depth_step(load, &work, dense),
        times(surface, (points(&work), 1.0), point, POINT),
        Step::Formula(greatest),
        Step::Formula(whole),
    ]))
}

fn blocks_step(load: &LoadFigures, work: &CountedWork, result: Term) -> Step {
    let blocks = Expression::symbol("n") + Expression::symbol("q");
    Step::Formula(Formula {
        result,
        expression: Expression::symbol("c") * blocks / Expression::number(1e9),
        terms: vec![
            usual("c", "block of 6 × 6 numbers", bytes::CAMERA_BLOCK, "B"),
            images(load),
            pair_count(work),
        ],
        source: "a block for each image and each pair, without what filling in adds (derived)",
    })
}

fn others(work: &CountedWork) -> Term {
    Term::new("v", "other images of a depth map", work.neighbours().min(bytes::MOST_NEIGHBOURS), "")
}

fn neighbours(work: &CountedWork) -> Term {
    Term::new("w", "images matched with one, on average", work.neighbours(), "")
}

fn neighbours_step(load: &LoadFigures, work: &CountedWork) -> Step {
    let ends = Expression::number(2.0) * Expression::symbol("q");
    // without images there are no pairs either
    let expression = if load.image_count == 0 { ends } else { ends / Expression::symbol("n") };
    Step::Formula(Formula {
        result: neighbours(work),
        expression,
        terms: vec![pair_count(work), images(load)],
        source: "each pair has two images (derived)",
    })
}

fn others_step(work: &CountedWork) -> Step {
    Step::Formula(Formula {
        result: others(work),
        expression: Expression::Least(["w", "k"].map(Expression::symbol).to_vec()),
        terms: vec![
            neighbours(work).from(Origin::Step),
            usual("k", "most that are used", bytes::MOST_NEIGHBOURS, ""),
        ],
        source: "the most is common practice, no source",
    })
}

fn depth_step(load: &LoadFigures, work: &CountedWork, result: Term) -> Step {
    let held = Expression::number(1.0) + Expression::symbol("v");
    let size = Expression::symbol("p") * Expression::symbol("m");
    Step::Formula(Formula {
        result,
        expression: size * held / Expression::number(1000.0),
        terms: vec![
            usual("p", "pixel", bytes::PIXEL, "B"),
            Term::new("m", "pixels of an image", load.megapixels, "Mpx")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.width_px"))),
            others(work).from(Origin::Step),
        ],
        source: "an image and those that its depth map is made with, a number a pixel: common practice, no source",
    })
}

/// Room on disk for images and everything that is made of them.
pub(crate) fn disk(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let (disk, work) = (load.disk?, load.work?);
    let part = |symbol, name, value| Term::new(symbol, name, value, "GB");
    let images_gb = part("S", "images", disk.images_gb).from(Origin::Measure(MeasureId::Storage));
    let features = part("d_features", "features", disk.features_gb);
    let depth = part("d_depth", "depth maps", disk.depth_gb);
    let cloud = part("d_points", "points", disk.points_gb);
    let ortho = part("d_orthomosaic", "orthomosaic and heights", disk.orthomosaic_gb);
    let texture = part("d_texture", "texture", disk.texture_gb);
    let made = [&features, &depth, &cloud, &ortho, &texture].map(|term| term.clone().from(Origin::Step));
    let sum = Budget {
        result: part("D", "disk", disk.total_gb()),
        parts: [images_gb].into_iter().chain(made).collect(),
        source: "all of it at once, nothing compressed but the images",
    };
    let feature = usual("f", "features of an image", bytes::FEATURES_MB, "MB");
    let depth_pixel = usual("p", "pixel of a depth map", bytes::PIXEL, "B");
    let point = usual("c", "point", bytes::POINT, "B");
    let pixel = usual("o", "pixel with its height", bytes::ORTHOMOSAIC_PIXEL, "B");
    let texel = usual("x", "texel", bytes::TEXEL, "B");
    Some(Working::new([
        points_step(load, &work),
        mosaic_step(load, &work),
        times(features, (images(load), 1000.0), feature, FEATURES),
        times(depth, (pixels(load), 1.0), depth_pixel, BYTES),
        times(cloud, (points(&work), 1.0), point, BYTES),
        times(ortho, (mosaic(&work), 1.0), pixel, BYTES),
        times(texture, (points(&work), 1.0), texel, BYTES),
        Step::Budget(sum),
    ]))
}

/// Hours of somebody at the workstation.
pub(crate) fn attended(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let attended = load.attended;
    let rate =
        |name: &str, value, unit, key| Term::new("r", name, value, unit).from(Origin::Input(KnobId(key)));
    let (minutes, hours) = (attended.rates.control_point_min, attended.rates.thousand_images_h);
    let a_point = rate("for each", minutes, "min", "rates.attended.control_point_min");
    let a_thousand = rate("for 1000 of them", hours, "h", "rates.attended.thousand_images_h");
    let points = Term::new("c", "control points", f64::from(attended.control_points), "")
        .from(Origin::Input(KnobId("conditions.control_points")));
    let job = Term::new("t_job", "for the job", attended.job_h, "h")
        .from(Origin::Input(KnobId("rates.attended.job_h")));
    let control = Term::new("t_control", "marking control points", attended.control_h, "h");
    let looking = Term::new("t_images", "looking through images", attended.images_h, "h");
    let made = [&control, &looking].map(|term| term.clone().from(Origin::Step));
    let whole = Budget {
        result: Term::new("t", "attended", attended.total_h(), "h"),
        parts: [job].into_iter().chain(made).collect(),
        source: ATTENDED,
    };
    Some(Working::new([
        times(control, (points, 60.0), a_point, ATTENDED),
        times(looking, (images(load), 1000.0), a_thousand, ATTENDED),
        Step::Budget(whole),
    ]))
}
