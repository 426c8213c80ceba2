//! World files: six numbers in a file beside a picture, and a `.prj` file that says what they are in.

use super::lie::{Lie, frame_of};
use crate::files::read_bounded;
use crate::prj::{self, PlaneSystem};
use crate::raster::{RasterFrame, assumed};
use crate::{FileError, FileErrorKind};
use glam::DVec2;
use obliquity_planning::UnderlayFrame;
use std::path::{Path, PathBuf};

/// Longest file of either kind; they are a few hundred bytes.
const MOST_BYTES: u64 = 1 << 16;

/// The world file beside a picture: by the first and last letter of its ending and a w, by the whole ending and a w, or `.wld`.
fn world_file(picture: &Path) -> Option<PathBuf> {
    let ending = picture.extension()?.to_string_lossy().into_owned();
    let (first, last) = (ending.chars().next()?, ending.chars().last()?);
    let names = [format!("{first}{last}w"), format!("{ending}w"), "wld".to_owned()];
    let all = names.iter().flat_map(|name| [name.clone(), name.to_lowercase(), name.to_uppercase()]);
    all.map(|name| picture.with_extension(name)).find(|path| path.is_file())
}

/// How a picture lies by the world file beside it; nothing where there is none.
pub(super) fn beside(
    picture: &Path,
    frame: RasterFrame,
    notes: &mut Vec<String>,
) -> Result<Option<Lie>, FileError> {
    let Some(path) = world_file(picture) else { return Ok(None) };
    let name = path.display().to_string();
    let bytes = read_bounded(&path, MOST_BYTES)?;
    let [a, d, b, e, c, f] = numbers(&String::from_utf8_lossy(&bytes))
        .map_err(|told| FileError::new(&name, FileErrorKind::Syntax, told))?;
    let lie = |frame| Lie { frame, first: DVec2::new(c, f), right: DVec2::new(a, d), down: DVec2::new(b, e) };
    let prj = prj::beside(picture)?;
    let frame = match (prj, frame) {
        (Some(read), RasterFrame::OfFile) => {
            notes.extend(read.note);
            match read.system {
                PlaneSystem::Degrees => UnderlayFrame::Degrees,
                PlaneSystem::Utm { zone, south: false } => UnderlayFrame::UtmNorth { zone },
                PlaneSystem::Utm { zone, south: true } => UnderlayFrame::UtmSouth { zone },
            }
        }
        (_, frame) => {
            let known = assumed(frame).and_then(|frame| frame_of(&frame));
            known.map_err(|told| FileError::new(&name, FileErrorKind::Unplaced, told))?
        }
    };
    let lie = lie(frame);
    if !(lie.first.is_finite() && lie.right.perp_dot(lie.down).is_normal()) {
        let told = "the pixels of a picture must have a size, but the numbers of its world file give none; export it again";
        return Err(FileError::new(&name, FileErrorKind::Invalid, told));
    }
    Ok(Some(lie))
}

fn numbers(text: &str) -> Result<[f64; 6], String> {
    let words: Vec<&str> = text.split_ascii_whitespace().take(7).collect();
    let read = words.iter().map(|word| word.parse::<f64>().ok().filter(|number| number.is_finite()));
    let all: Option<Vec<f64>> = read.collect();
    all.and_then(|all| <[f64; 6]>::try_from(all).ok()).ok_or_else(|| {
        "a world file must hold six numbers, one a line, with points in them, but this does not; export the picture again"
            .to_owned()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_numbers_and_nothing_else() {
        let text = "0.05\n0.0\r\n0.0\n-0.05\n359666.725\n5651728.655\n";
        assert_eq!(numbers(text).unwrap(), [0.05, 0.0, 0.0, -0.05, 359_666.725, 5_651_728.655]);
        for wrong in ["", "1 2 3 4 5", "1 2 3 4 5 6 7", "1,5 0 0 1 0 0", "nan 0 0 1 0 0", "1 0 0 inf 0 0"] {
            assert!(numbers(wrong).is_err(), "{wrong}");
        }
    }
}
