//! The letters of the printed page: the program's own two fonts, which may be embedded in documents (SIL Open Font
//! License), and how wide they are. Letters stand side by side at their own widths, without pairs drawn together.

use super::Weight;
use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider};
use std::sync::LazyLock;

const REGULAR: &[u8] = include_bytes!("../../../../../assets/fonts/Lato-Regular.ttf");
const STRONG: &[u8] = include_bytes!("../../../../../assets/fonts/Lato-Semibold.ttf");

/// Height of a line, in sizes of its type.
pub(super) const LEADING: f32 = 1.2;

/// From the upper edge of a line to where its letters stand, in sizes of its type.
pub(super) const ASCENT: f32 = 0.96;

/// What stands for a letter that the font lacks.
const LACKING: char = '?';

/// Its file.
pub(super) fn font(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => REGULAR,
        Weight::Strong => STRONG,
    }
}

struct Face {
    letters: Charmap<'static>,
    widths: GlyphMetrics<'static>,
    units_per_em: f32,
}

impl Face {
    fn new(file: &'static [u8]) -> Option<Face> {
        let font = FontRef::new(file).ok()?;
        let units_per_em = f32::from(font.metrics(Size::unscaled(), LocationRef::default()).units_per_em);
        let widths = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        Some(Face { letters: font.charmap(), widths, units_per_em })
    }

    fn glyph(&self, letter: char) -> (u32, f32) {
        let found = self.letters.map(letter).or_else(|| self.letters.map(LACKING));
        let glyph = found.unwrap_or(GlyphId::NOTDEF);
        (glyph.to_u32(), self.widths.advance_width(glyph).unwrap_or(0.0) / self.units_per_em)
    }
}

static FACES: LazyLock<[Option<Face>; 2]> = LazyLock::new(|| [REGULAR, STRONG].map(Face::new));

/// The number of a letter's drawing in its font, and its width in sizes of its type.
pub(super) fn glyph(weight: Weight, letter: char) -> (u32, f32) {
    let face = &FACES[usize::from(weight == Weight::Strong)];
    face.as_ref().map_or((0, 0.5), |face| face.glyph(letter))
}

/// Width of a text.
pub(super) fn width(weight: Weight, size: f32, text: &str) -> f32 {
    text.chars().map(|letter| glyph(weight, letter).1).sum::<f32>() * size
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: both fonts are read, all signs that figures are written with are in them, and no letter is without a width.
    #[test]
    fn both_fonts_have_what_figures_are_written_with() {
        assert!(FACES.iter().all(Option::is_some));
        let lacking = glyph(Weight::Regular, LACKING).0;
        for weight in [Weight::Regular, Weight::Strong] {
            for sign in "0123456789.,−°%/()·–;:\u{a0}[]\"fISOEV".chars() {
                let (number, wide) = glyph(weight, sign);
                assert!(number != lacking && number != 0 && wide > 0.1, "{sign:?}");
            }
        }
        assert_eq!(glyph(Weight::Regular, '\u{5b57}').0, lacking);
    }
}
