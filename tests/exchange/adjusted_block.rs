//! A corner of the demo, planned by the program, adjusted with drawn errors by a general library.
//!
//! `OBLIQUITY_WRITE_BLOCK=1` writes the block for `tests/reference/adjust_demo_block.py`, which then makes the spreads anew.

use crate::block_figures::{passes_of, tables_of};
use glam::{DVec2, DVec3};
use obliquity_exchange::parse_scenario;
use obliquity_planning::*;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// A piece of the quay with the work house, the dryer and a corner of a store.
const CORNER_M: [DVec2; 4] =
    [DVec2::new(-45.0, -165.0), DVec2::new(5.0, -165.0), DVec2::new(5.0, -125.0), DVec2::new(-45.0, -125.0)];

/// Overlap along and across, and metres between samples: fewer images and tie points than usual are many enough.
const OVERLAP: (f64, f64) = (0.7, 0.6);
const SPACING_M: f64 = 2.0;

/// Samples that are checked, spread over all that are covered.
const CHECKED: usize = 60;

/// A corner of the demo and its crossed strips.
fn corner() -> (Scenario, Id) {
    let path = "assets/demo.ron";
    let text = std::fs::read_to_string(root().join(path)).unwrap();
    let mut demo = parse_scenario(&text, path).unwrap();
    let mut site = (*demo.site).clone();
    site.boundary_m = CORNER_M.to_vec();
    site.sample_spacing_m = Some(SPACING_M);
    demo.site = site.into();
    let crossed = demo.strategies.iter_mut().find(|strategy| strategy.name == "Crossed strips").unwrap();
    for pass in &mut crossed.passes {
        (pass.forward_overlap, pass.sidelap) = OVERLAP;
    }
    let id = crossed.id;
    (demo, id)
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A sample with the images that count it.
struct Checked {
    sample: Sample,
    images: Vec<u32>,
}

/// The program's side: what it would adjust, what it says of it, and the samples that are checked.
struct Planned {
    outcome: Outcome,
    block: ImageBlock,
    poses: Vec<Pose>,
    checked: Vec<Checked>,
}

impl Planned {
    fn new() -> Self {
        let (scenario, id) = corner();
        let store = Store::new(256 << 20);
        let outcome =
            Evaluator { store: &store, watch: &NoWatch }.evaluate(&scenario, id, Depth::Network).unwrap();
        let (site, seen) = (outcome.site.clone().unwrap(), outcome.views.clone().unwrap());
        let tables = tables_of(&outcome);
        let passes = passes_of(&tables);
        let network = outcome.network.as_ref().unwrap();
        assert_eq!((network.parts.len(), network.loose_images.len()), (1, 0));
        let block = network_block(&site, &passes, &seen.limits, &network.terms, &NoWatch).unwrap();
        let poses = passes.iter().flat_map(|(stations, _)| stations.poses.iter().copied()).collect();
        let mut counted: Vec<Vec<u32>> = vec![Vec::new(); site.sample_count as usize];
        let mut first = 0;
        for (stations, table) in &passes {
            for (number, tile) in site.tiles.iter().enumerate() {
                for (station, lanes) in counted_masks(&site, number, stations, table, &seen.limits) {
                    for lane in (0..tile.len).filter(|lane| lanes >> lane & 1 == 1) {
                        counted[tile.sample(lane).number as usize].push(first + station);
                    }
                }
            }
            first += stations.poses.len() as u32;
        }
        let covered: Vec<Sample> =
            site.samples().filter(|sample| seen.samples.covered[sample.number as usize]).collect();
        let of = |k: usize| {
            let sample = covered[(2 * k + 1) * covered.len() / (2 * CHECKED)];
            Checked { sample, images: counted[sample.number as usize].clone() }
        };
        let checked = (0..CHECKED).map(of).collect();
        Planned { outcome, block, poses, checked }
    }

    fn network(&self) -> &NetworkFigures {
        self.outcome.network.as_ref().unwrap()
    }

    /// What the other side reads: a file's name and its text.
    fn files(&self) -> Vec<(&'static str, String)> {
        let list = |images: &[u32]| images.iter().map(u32::to_string).collect::<Vec<_>>().join(" ");
        let mut images = "x_m,y_m,z_m,heading_deg,tilt_deg,roll_deg\n".to_owned();
        for Pose { position_m: at, heading_rad, tilt_rad, roll_rad } in &self.poses {
            let [heading, tilt, roll] = [heading_rad, tilt_rad, roll_rad].map(|rad| rad.to_degrees());
            writeln!(images, "{:.6},{:.6},{:.6},{heading:.9},{tilt:.9},{roll:.9}", at.x, at.y, at.z).unwrap();
        }
        let mut points = "x_m,y_m,z_m,stands_for,images\n".to_owned();
        for point in &self.block.points {
            assert!(point.control_sigma_m.is_none());
            let (at, seen) = (point.position_m, list(&point.images));
            writeln!(points, "{:.6},{:.6},{:.6},{:.6},{seen}", at.x, at.y, at.z, point.stands_for).unwrap();
        }
        let mut checks = "x_m,y_m,z_m,nx,ny,nz,images\n".to_owned();
        for Checked { sample, images } in &self.checked {
            let (at, n, seen) = (sample.position_m, sample.normal, list(images));
            writeln!(checks, "{:.6},{:.6},{:.6},{:.9},{:.9},{:.9},{seen}", at.x, at.y, at.z, n.x, n.y, n.z)
                .unwrap();
        }
        let (terms, model) = (&self.network().terms, self.block.images[0].model);
        let positioning = self.block.positioning.as_ref().unwrap();
        assert!(terms.lens.is_none() && positioning.set_ups.is_empty());
        let prior = terms.freedom.prior_sigma.map(Option::unwrap);
        let numbers = [
            vec![f64::from(model.width_px), f64::from(model.height_px), model.focal_length_px],
            vec![terms.image_sigma_px],
            positioning.random_sigma_m.to_array().to_vec(),
            positioning.constant_sigma_m.to_array().to_vec(),
            prior.to_vec(),
        ];
        let numbers: Vec<String> = numbers.concat().iter().map(f64::to_string).collect();
        let terms = format!(
            "width_px,height_px,focal_px,image_px,own_x_m,own_y_m,own_z_m,common_x_m,common_y_m,common_z_m,\
             prior_focal_px,prior_cx_px,prior_cy_px,prior_k1,prior_k2,prior_k3,prior_p1,prior_p2\n{}\n",
            numbers.join(",")
        );
        vec![("images.csv", images), ("points.csv", points), ("checks.csv", checks), ("terms.csv", terms)]
    }
}

/// Numbers of a text, row by row; words that hold several are told apart by blanks.
fn rows(text: &str) -> Vec<Vec<f64>> {
    let row = |line: &str| line.split([',', ' ']).filter_map(|word| word.parse().ok()).collect::<Vec<f64>>();
    text.lines().skip(1).map(row).collect()
}

/// Cross-check: `SciPy` 1.17 and `NumPy` 2.4, a bundle adjustment of its own, non-linear to the end, of one block with drawn errors
/// (`tests/reference/adjust_demo_block.py`): images, tie points with what they stand for, positions in two parts, priors of all
/// eight terms of the camera, and samples intersected afterwards from their own drawn image points. With n draws, (n − 1) s²/σ²
/// of each is distributed as χ² with n − 1 degrees of freedom; the script writes the bounds that one figure in ten thousand
/// oversteps, of some two hundred. Their mean square must be nearer: figures that move together have that of a single one at worst,
/// and it is held to 95 % of that.
#[test]
fn standard_deviations_of_a_corner_of_the_demo_agree_with_adjustments_by_scipy() {
    let planned = Planned::new();
    let folder = root().join("tests/reference/demo_block");
    let writes = std::env::var("OBLIQUITY_WRITE_BLOCK").is_ok();
    for (name, text) in planned.files() {
        let path = folder.join(name);
        if writes {
            std::fs::write(&path, &text).unwrap();
        }
        let stored = rows(&std::fs::read_to_string(&path).unwrap());
        let found = rows(&text);
        let alike = stored.len() == found.len()
            && stored.iter().zip(&found).all(|(a, b)| {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= 2e-6 * b.abs().max(1.0))
            });
        assert!(
            alike,
            "{name}: the program plans another block by now; make the reference anew (tests/reference/README.md)"
        );
    }
    let read = |name: &str| rows(&std::fs::read_to_string(folder.join(name)).unwrap());
    let (shared, spread) = (&read("shared.csv")[0], read("spread.csv"));
    let [focal, cx, cy, k1, dome, level, draws, least, most, off] = shared[..] else { panic!("{shared:?}") };
    assert!(draws >= 200.0 && spread.len() == CHECKED);

    let network = planned.network();
    let camera = network.calibration.as_ref().unwrap();
    let [right, down] = camera.centre_sigma_px.unwrap();
    let model = planned.block.images[0].model;
    let corner = model.focal_length_px * model.half_extent().length().powi(3);
    let solved = Network::new(&planned.block, &NoWatch).unwrap();
    let at = |&number: &u32| (number, planned.block.points[number as usize].position_m);
    let points: Vec<(u32, DVec3)> = solved.carried.points.iter().map(at).collect();
    let one = 1.0 / points.len() as f64;
    let mean =
        PointFunctional { terms: points.iter().map(|(number, _)| (*number, DVec3::Z * one)).collect() };
    let asked = Functionals::new(&solved, &[PointFunctional::dome(&points), mean], &NoWatch).unwrap();
    let calibration = Calibration::new(&solved, &network.terms.freedom);
    let mut told = vec![
        ("focal length".to_owned(), focal, camera.focal_sigma_px.unwrap()),
        ("principal point to the right".to_owned(), cx, right),
        ("principal point down".to_owned(), cy, down),
        ("k1".to_owned(), k1 * corner, camera.k1_sigma_px.unwrap()),
        ("dome of the tie points".to_owned(), dome, asked.sigma_m(0, &calibration).unwrap()),
        ("their mean height".to_owned(), level, asked.sigma_m(1, &calibration).unwrap()),
    ];
    for (Checked { sample, .. }, found) in planned.checked.iter().zip(&spread) {
        let number = sample.number as usize;
        let of = [&network.samples.horizontal_m, &network.samples.vertical_m, &network.samples.normal_m];
        for ((what, of), found) in
            ["horizontally", "in height", "along the normal"].into_iter().zip(of).zip(found)
        {
            let name = format!("{} at {:.1} {what}", sample.class.name(), sample.position_m);
            told.push((name, *found, f64::from(of[number])));
        }
    }
    let mut squares = Vec::new();
    for (what, found, predicted) in told {
        let ratio = found / predicted;
        assert!((least..=most).contains(&ratio), "{what}: {found} found, {predicted} predicted");
        squares.push(ratio * ratio);
    }
    let mean = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    assert!((mean - 1.0).abs() < off, "all of them: {mean}");
}
