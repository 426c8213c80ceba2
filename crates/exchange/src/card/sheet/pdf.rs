//! The card as a PDF: text as text, lines as lines, the letters that are used embedded.

use super::letters::{font, glyph};
use super::{CardSheet, InkTone, PathEnd, PathMark, SheetMark, SheetPage, TextMark, Weight};
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use thiserror::Error;

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PdfError {
    /// The program's own fonts cannot be read.
    #[error("the program's own fonts cannot be read; this is a fault of the program")]
    Fonts,
    /// The writer refused.
    #[error("the PDF could not be written: {0}; this is a fault of the program")]
    Refused(String),
}

/// Both fonts, and the strategy's colour.
struct Inks {
    regular: Font,
    strong: Font,
    strategy: [u8; 3],
}

impl Inks {
    fn font(&self, weight: Weight) -> Font {
        match weight {
            Weight::Regular => self.regular.clone(),
            Weight::Strong => self.strong.clone(),
        }
    }

    /// Dark enough for any printer; what is red or brown has a word or a shape of its own as well.
    fn color(&self, tone: InkTone) -> rgb::Color {
        let [red, green, blue] = match tone {
            InkTone::Ink => [0x14, 0x18, 0x1a],
            InkTone::Muted => [0x50, 0x58, 0x5e],
            InkTone::Rule => [0xb4, 0xb0, 0xa8],
            InkTone::Shade => [0xe2, 0xdf, 0xd8],
            InkTone::Bad => [0xa3, 0x2a, 0x1e],
            InkTone::Warn => [0x85, 0x53, 0x00],
            InkTone::Strategy => self.strategy,
            InkTone::Paper => [0xff; 3],
        };
        rgb::Color::new(red, green, blue)
    }

    fn fill(&self, tone: InkTone) -> Fill {
        Fill { paint: self.color(tone).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
    }
}

impl CardSheet {
    /// The sheet as a PDF; `strategy` is the strategy's colour, red, green and blue.
    ///
    /// # Errors
    /// [`PdfError`], which a test shows not to come up.
    pub fn to_pdf(&self, strategy: [u8; 3]) -> Result<Vec<u8>, PdfError> {
        let read = |weight: Weight| Font::new(font(weight).to_vec().into(), 0).ok_or(PdfError::Fonts);
        let inks = Inks { regular: read(Weight::Regular)?, strong: read(Weight::Strong)?, strategy };
        let mut document = Document::new();
        document.set_metadata(
            Metadata::new()
                .title(self.title.clone())
                .creator("Obliquity".to_owned())
                .language("en".to_owned()),
        );
        let (width, height) = self.paper.size_pt();
        for page in &self.pages {
            let settings = PageSettings::from_wh(width, height)
                .ok_or_else(|| PdfError::Refused("a page has no size".to_owned()))?;
            let mut paper = document.start_page_with(settings);
            let mut surface = paper.surface();
            draw(page, &inks, &mut surface);
            surface.finish();
            paper.finish();
        }
        document.finish().map_err(|error| PdfError::Refused(format!("{error:?}")))
    }
}

fn draw(page: &SheetPage, inks: &Inks, surface: &mut Surface<'_>) {
    for mark in &page.marks {
        match mark {
            SheetMark::Text(text) => write(text, inks, surface),
            SheetMark::Path(path) => trace(path, inks, surface),
        }
    }
}

fn write(mark: &TextMark, inks: &Inks, surface: &mut Surface<'_>) {
    surface.set_stroke(None);
    surface.set_fill(Some(inks.fill(mark.tone)));
    let letter = |(at, letter): (usize, char)| {
        let (number, width) = glyph(mark.weight, letter);
        let range = at..at + letter.len_utf8();
        KrillaGlyph::new(GlyphId::new(number), width, 0.0, 0.0, 0.0, range, None)
    };
    let glyphs: Vec<KrillaGlyph> = mark.text.char_indices().map(letter).collect();
    let start = Point::from_xy(mark.area.left, mark.baseline);
    surface.draw_glyphs(start, &glyphs, inks.font(mark.weight), &mark.text, mark.size, false);
}

fn outline(mark: &PathMark) -> Option<Path> {
    let mut builder = PathBuilder::new();
    let [first, others @ ..] = mark.points.as_slice() else { return None };
    builder.move_to(first[0], first[1]);
    for point in others {
        builder.line_to(point[0], point[1]);
    }
    if mark.end == PathEnd::Closed {
        builder.close();
    }
    builder.finish()
}

fn trace(mark: &PathMark, inks: &Inks, surface: &mut Surface<'_>) {
    let Some(path) = outline(mark) else { return };
    surface.set_fill(mark.fill.map(|tone| inks.fill(tone)));
    surface.set_stroke(mark.stroke.map(|(tone, width)| Stroke {
        paint: inks.color(tone).into(),
        width,
        dash: mark.dash.map(|length| StrokeDash { array: vec![length, length], offset: 0.0 }),
        ..Stroke::default()
    }));
    surface.draw_path(&path);
}
