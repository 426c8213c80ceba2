//! What the adjustment of the images tells: parts that nothing ties, what nothing holds, a focal length that is not determined.

use crate::base::Id;
use crate::base::wording::{InUnits, counted, listed, trimmed};
use crate::network::{BlockPart, NetworkFigures};
use crate::result::caution::{Caution, CautionSource, check};
use crate::result::cautions::capture::{NADIR_DEG, prior_told};
use crate::result::cautions::facts::Facts;
use crate::scenario::rows_that_tie;

/// Parts that are told one by one.
const NAMED: usize = 4;

/// Images that fall into parts: each lies where its own positions put it.
pub(super) fn in_parts(facts: &Facts<'_>) -> Option<Caution> {
    let network = facts.network?;
    let count = network.parts.len();
    if count < 2 {
        return None;
    }
    let mut named: Vec<String> =
        network.parts.iter().take(NAMED).map(|part| part_told(network, part)).collect();
    if count > NAMED {
        named.push(format!("{} more", count - NAMED));
    }
    let named: Vec<&str> = named.iter().map(String::as_str).collect();
    let has_rows = !rows_that_tie(facts.strategy, Id(0)).is_empty();
    let alike = format!("from within {}° and at about the same GSD", trimmed(facts.max_link_deg, 1));
    let mend = if has_rows {
        format!(
            "add the rows in front of the walls once more, tilted by 45°, so that neighbouring images see the same surface {alike}"
        )
    } else {
        // What looks up at an underside has nothing to share with what looks down: no pass of the templates ties them.
        format!(
            "add a pass whose images see the same surface as those of neighbouring parts, {alike}, or lay out three control points \
             or more in the images of each"
        )
    };
    let text = format!(
        "the images fall into {count} parts that no tie holds together ({}): they may lie apart by as much as their positions are \
         wrong, and nothing shows it; {mend}",
        listed(&named)
    );
    Some(
        check("block-in-parts", text, CautionSource::Plan)
            .gauged(count as f64, counted(count as u64, "part", "parts")),
    )
}

/// "207 images of pass 1".
fn part_told(network: &NetworkFigures, part: &BlockPart) -> String {
    let mut passes: Vec<usize> = part.images.iter().map(|image| network.pass_of(*image) + 1).collect();
    passes.dedup();
    let images = counted(part.images.len() as u64, "image", "images");
    let numbers: Vec<String> = passes.iter().map(usize::to_string).collect();
    let numbers: Vec<&str> = numbers.iter().map(String::as_str).collect();
    format!("{images} of {} {}", if passes.len() == 1 { "pass" } else { "passes" }, listed(&numbers))
}

/// A part that neither positions nor control points hold.
pub(super) fn not_held(facts: &Facts<'_>) -> Option<Caution> {
    let network = facts.network?;
    let open = network.held.defects.iter().filter(|defects| defects.count() > 0);
    let (parts, worst) = (open.clone().count(), open.max_by_key(|defects| defects.count())?);
    let ways = [(worst.shifts, "place"), (worst.turns, "turn"), (worst.scales, "scale")];
    let ways: Vec<&str> = ways.iter().filter(|(open, _)| *open > 0).map(|(_, name)| *name).collect();
    let whose = if network.held.defects.len() == 1 {
        "the block".to_owned()
    } else {
        counted(parts as u64, "part of the block", "parts of the block")
    };
    let text = format!(
        "neither positions nor control points tell the {} of {whose}: no precision is told of it; log positions, or lay out \
         three control points or more that are not on one line",
        listed(&ways)
    );
    Some(check("block-not-held", text, CautionSource::Plan))
}

/// Heights may be off by so many pixels on the ground before it is told.
const TOLD_PX: f64 = 2.0;

/// A focal length that the block leaves open: all heights are off together.
pub(super) fn focal_length(facts: &Facts<'_>) -> Option<Caution> {
    let network = facts.network?;
    let camera = network.calibration.as_ref()?;
    let (sigma_px, prior_px) = (camera.focal_sigma_px?, network.terms.freedom.prior_sigma[0]?);
    let gsd_m = facts.plans().map(|plan| plan.layout.vertical_gsd_m).fold(0.0, f64::max);
    let off_m = camera.level_of_camera_m();
    let is_open = off_m.map_or(sigma_px > 0.5 * prior_px, |off_m| off_m > TOLD_PX * gsd_m);
    if !is_open {
        return None;
    }
    let attitudes = || facts.strategy.passes.iter().flat_map(|pass| &pass.attitudes);
    // Level ground seen from one attitude leaves it as open as nadir images do.
    let more = if attitudes().all(|look| look.tilt_deg.abs() > NADIR_DEG) {
        "images that look another way and are tied to these"
    } else {
        "oblique images"
    };
    let text = InUnits::of(|units| {
        let off = off_m.map_or_else(
            || "heights may be off as a whole".to_owned(),
            |off_m| format!("heights may be off by {} as a whole", units.error(off_m)),
        );
        format!(
            "focal length is not determined by this block: {off}. Add {more}, control points, or a fixed calibration. (One sigma, \
             {})",
            prior_told(&network.terms)
        )
    });
    let told = InUnits::of(|units| off_m.map_or_else(|| "open".to_owned(), |off_m| units.error(off_m)));
    Some(check("focal-length", text, CautionSource::Plan).gauged(off_m.unwrap_or(f64::MAX), told))
}
