//! The precision of a block's points, and of its camera, against reference covariances and closed forms.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::network_blocks::{CENTRE, CORNERS, Control, FREEDOMS, Ground, PIXEL_IN_CORNER, block};
use glam::DVec3;
use obliquity_planning::{
    Calibration, Functionals, ImageBlock, InteriorFreedom, InteriorTerm, Network, NoWatch, PointFunctional,
};

/// The middle's height less the mean of the corners'.
fn middle_over_corners() -> PointFunctional {
    let corners = CORNERS.map(|number| (number, DVec3::new(0.0, 0.0, -0.25)));
    PointFunctional { terms: [(CENTRE, DVec3::Z)].into_iter().chain(corners).collect() }
}

/// A block solved, with the dome as the first functional and then each point's coordinates.
struct Solved {
    network: Network,
    asked: Functionals,
}

impl Solved {
    fn new(block: &ImageBlock) -> Self {
        let network = Network::new(block, &NoWatch).unwrap();
        let coordinates =
            network.carried.points.iter().flat_map(|&point| PointFunctional::coordinates(point));
        let of: Vec<PointFunctional> = [middle_over_corners()].into_iter().chain(coordinates).collect();
        let asked = Functionals::new(&network, &of, &NoWatch).unwrap();
        Solved { network, asked }
    }

    /// Root mean square over all points and some axes, in millimetres.
    fn rms_mm(&self, axes: &[usize], calibration: &Calibration) -> f64 {
        let points = self.network.carried.points.len();
        let square = |k: usize| self.asked.covariance_m2(k, k, calibration).unwrap();
        let sum: f64 =
            (0..points).flat_map(|point| axes.iter().map(move |axis| 1 + 3 * point + axis)).map(square).sum();
        1000.0 * (sum / (points * axes.len()) as f64).sqrt()
    }

    fn dome_mm(&self, calibration: &Calibration) -> f64 {
        1000.0 * self.asked.sigma_m(0, calibration).unwrap()
    }

    fn dome_of_a_pixel_mm(&self, calibration: &Calibration) -> f64 {
        let bias = self.asked.bias_m(0, InteriorTerm::K1, PIXEL_IN_CORNER, &self.network, calibration);
        1000.0 * bias.unwrap()
    }
}

/// Derived: with level cameras only, no positions and k1 wrong by dk, level ground comes out bent by dk R²/H, whatever the
/// overlap: the middle over the corners by −dk R²/H, 74.858 mm here. Nothing holds the block, and the dome does not mind.
#[test]
fn domes_follow_the_closed_form() {
    for letter in ['A', 'B'] {
        let of = Solved::new(&block(letter, Ground::Flat, Control::Nothing));
        let fixed = Calibration::new(&of.network, &InteriorFreedom::FIXED);
        let law_mm = -1000.0 * PIXEL_IN_CORNER * 20000.0 / 100.0;
        assert!((of.dome_of_a_pixel_mm(&fixed) / law_mm - 1.0).abs() < 0.005); // the law is of the first order
        assert!(of.asked.sigma_m(0, &fixed).unwrap().is_finite());
        assert_eq!(of.asked.sigma_m(1, &fixed), None, "a coordinate of a block that nothing holds");
    }
}

/// Cross-check: dome and k1 of self-calibrating blocks on four control points by NumPy, given with the project's check
/// values. Level strips leave k1 at its prior: the dome is 200 m times 0.1.
#[test]
fn oblique_images_determine_the_dome_as_in_scipy() {
    let rows = [('A', 20001.0, 0.1), ('G', 284.17, 1.80e-3), ('D', 9.42, 2.98e-4), ('C', 5.35, 2.78e-4)];
    let mut last = f64::INFINITY;
    for (letter, dome_mm, k1) in rows {
        let of = Solved::new(&block(letter, Ground::Flat, Control::Four));
        let free = Calibration::new(&of.network, &InteriorFreedom::ALL);
        let found = of.dome_mm(&free);
        assert!((found / dome_mm - 1.0).abs() < 0.01, "{letter}: {found} mm"); // printed to three digits
        assert!((free.sigma(InteriorTerm::K1).unwrap() / k1 - 1.0).abs() < 0.01, "{letter}");
        assert!(found < last);
        last = found;
    }
}

/// Whether a value is the printed one: to half a per cent, or one unit of its last digit.
fn as_printed(value: f64, printed: &str) -> bool {
    let expected: f64 = printed.parse().unwrap();
    let mantissa = printed.split('e').next().unwrap();
    let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let exponent: f64 = printed.split_once('e').map_or(0.0, |(_, exponent)| exponent.parse().unwrap());
    (value - expected).abs() <= (0.005 * expected.abs()).max(10_f64.powf(exponent - decimals as f64))
}

/// Cross-check: covariances of the reference blocks by NumPy and SciPy, given with the project's check values.
#[test]
fn blocks_agree_with_scipy() {
    let mut wrong = Vec::new();
    let mut solved: Option<(String, Solved)> = None;
    let rows: Vec<Vec<&str>> = include_str!("network_reference.txt")
        .lines()
        .skip(1)
        .map(|line| line.split_whitespace().collect())
        .collect();
    assert_eq!(rows.len(), 60);
    for row in &rows {
        let case = row[..3].join(" ");
        if solved.as_ref().is_none_or(|(of, _)| *of != case) {
            let ground = if row[0] == "flat" { Ground::Flat } else { Ground::Relief };
            let control = match row[1] {
                "RTK" => Control::Rtk,
                "RTK+1GCP" => Control::RtkAndOne,
                _ => Control::Four,
            };
            let letter = row[2].chars().next().unwrap();
            solved = Some((case, Solved::new(&block(letter, ground, control))));
        }
        let of = &solved.as_ref().unwrap().1;
        compare(of, row, &mut wrong);
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

fn compare(of: &Solved, row: &[&str], wrong: &mut Vec<String>) {
    let carried = &of.network.carried;
    let counts = [
        carried.images.len().to_string(),
        (2 * carried.observations).to_string(), // the reference counts coordinates
        format!("{}-{}", carried.rays.0, carried.rays.1),
    ];
    if counts != row[3..6] {
        wrong.push(format!("{row:?}: {counts:?}"));
    }
    let freedom = FREEDOMS.iter().find(|(name, _)| *name == row[6]).unwrap().1;
    let calibration = Calibration::new(&of.network, &freedom);
    let is_fixed = freedom == InteriorFreedom::FIXED;
    let values = [
        Some(of.rms_mm(&[0, 1], &calibration)),
        Some(of.rms_mm(&[2], &calibration)),
        Some(of.dome_mm(&calibration)),
        calibration.sigma(InteriorTerm::Focal),
        calibration.sigma(InteriorTerm::K1),
        is_fixed.then(|| of.dome_of_a_pixel_mm(&calibration)),
    ];
    for (value, printed) in values.iter().zip(&row[7..]) {
        let agrees = value.map_or(*printed == "-", |value| as_printed(value, printed));
        if !agrees {
            wrong.push(format!("{row:?}: {value:?} for {printed}"));
        }
    }
}
