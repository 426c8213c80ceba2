//! Heights of a GeoTIFF: the pixels by the tiff crate, the geokeys read here.

use super::mercator::{TransverseMercator, WGS_84};
use super::packed_jpeg::PackedJpegs;
use super::source::{Affine, Frame, MOST_SIDE, RasterHeader, Window, unreadable};
use crate::{FileError, FileErrorKind};
use glam::DVec2;
use obliquity_planning::GeoPoint;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Seek};
use tiff::ColorType;
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::Tag;

/// Most bytes of one strip or tile, unpacked.
const MOST_CHUNK_BYTES: usize = 64 << 20;

/// Most bytes of one tag: the lists of strips of a large file.
const MOST_TAG_BYTES: usize = 16 << 20;

/// A file whose header is understood.
pub(super) struct GeoTiff<'a> {
    decoder: Decoder<Cursor<&'a [u8]>>,
    name: &'a str,
    pub(super) header: RasterHeader,
}

impl<'a> GeoTiff<'a> {
    pub(super) fn read(bytes: &'a [u8], name: &'a str) -> Result<Self, FileError> {
        let mut limits = Limits::default();
        limits.decoding_buffer_size = MOST_CHUNK_BYTES;
        limits.intermediate_buffer_size = MOST_CHUNK_BYTES;
        limits.ifd_value_size = MOST_TAG_BYTES;
        let decoder = Decoder::new(Cursor::new(bytes)).map_err(|error| unreadable(name, &error))?;
        let mut decoder = decoder.with_limits(limits);
        let (columns, rows) = decoder.dimensions().map_err(|error| unreadable(name, &error))?;
        let (columns, rows) = (columns as usize, rows as usize);
        if columns < 2 || rows < 2 || columns.max(rows) > MOST_SIDE {
            let told = format!(
                "a raster must have from 2 to {MOST_SIDE} columns and rows, but this has {columns} and {rows}; cut it to the site"
            );
            return Err(FileError::new(name, FileErrorKind::Invalid, told));
        }
        match decoder.colortype().map_err(|error| unreadable(name, &error))? {
            ColorType::Gray(8 | 16 | 32 | 64) => {}
            other => {
                let told = format!(
                    "a raster of heights must have one band of numbers, but this has {other:?}; export the heights alone"
                );
                return Err(FileError::new(name, FileErrorKind::Format, told));
            }
        }
        let header = header(&mut decoder, columns, rows)
            .map_err(|told| FileError::new(name, FileErrorKind::Invalid, told))?;
        Ok(GeoTiff { decoder, name, header })
    }

    /// Heights of a window, row by row from the top; NaN where there is none. Only the strips and tiles that meet it are
    /// unpacked, one at a time.
    pub(super) fn window(&mut self, window: &Window) -> Result<Vec<f32>, FileError> {
        let (width, height) = chunk_size(&mut self.decoder, self.header.rows, self.name)?;
        let across = self.header.columns.div_ceil(width);
        let jpegs = PackedJpegs::of(&mut self.decoder, self.name)?;
        let mut heights = vec![f32::NAN; window.len()];
        for row in window.rows.start / height..window.rows.end.div_ceil(height) {
            for column in window.columns.start / width..window.columns.end.div_ceil(width) {
                if let Some(jpegs) = &jpegs {
                    jpegs.bound(self.decoder.inner(), row * across + column, MOST_CHUNK_BYTES, self.name)?;
                }
                let chunk = u32::try_from(row * across + column).unwrap_or(u32::MAX);
                let values = self.decoder.read_chunk(chunk).map_err(|error| unreadable(self.name, &error))?;
                let chunk_width = width.min(self.header.columns - column * width);
                let chunk_height = height.min(self.header.rows - row * height);
                let values = numbers(values);
                if values.len() < chunk_width * chunk_height {
                    let told =
                        "a strip of the raster holds fewer heights than its size says; look for a whole copy";
                    return Err(FileError::new(self.name, FileErrorKind::Syntax, told));
                }
                self.place(
                    &values,
                    (column * width, row * height),
                    (chunk_width, chunk_height),
                    window,
                    &mut heights,
                );
            }
        }
        Ok(heights)
    }

    fn place(
        &self,
        values: &[f64],
        (west, top): (usize, usize),
        (width, height): (usize, usize),
        window: &Window,
        heights: &mut [f32],
    ) {
        for (k, &value) in values.iter().take(width * height).enumerate() {
            let (column, row) = (west + k % width, top + k / width);
            if window.columns.contains(&column) && window.rows.contains(&row) {
                let at = (row - window.rows.start) * window.columns.len() + column - window.columns.start;
                heights[at] = self.header.height(value);
            }
        }
    }
}

/// Width and height of a strip or tile, checked before the tiff crate is asked for what it would panic on.
pub(crate) fn chunk_size<R: Read + Seek>(
    decoder: &mut Decoder<R>,
    rows: usize,
    name: &str,
) -> Result<(usize, usize), FileError> {
    let tiled = decoder.get_chunk_type() == ChunkType::Tile;
    let tags = if tiled { [Tag::TileWidth, Tag::TileLength] } else { [Tag::ImageWidth, Tag::RowsPerStrip] };
    let mut side = |tag| decoder.find_tag_unsigned::<u32>(tag).map_err(|error| unreadable(name, &error));
    let (width, height) = (side(tags[0])?, side(tags[1])?);
    let (width, height) = (width.map(|w| w as usize), height.map(|h| h as usize));
    let height = height.unwrap_or(rows).min(if tiled { usize::MAX } else { rows });
    match width {
        Some(width) if width > 0 && height > 0 => Ok((width, height)),
        _ => {
            let told =
                "the strips or tiles of the raster must have a size, but they have none; export it again";
            Err(FileError::new(name, FileErrorKind::Invalid, told))
        }
    }
}

fn numbers(values: DecodingResult) -> Vec<f64> {
    match values {
        DecodingResult::U8(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::U16(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::U32(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::U64(values) => values.into_iter().map(|v| v as f64).collect(),
        DecodingResult::F16(values) => values.into_iter().map(Into::into).collect(),
        DecodingResult::F32(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::F64(values) => values,
        DecodingResult::I8(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::I16(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::I32(values) => values.into_iter().map(f64::from).collect(),
        DecodingResult::I64(values) => values.into_iter().map(|v| v as f64).collect(),
    }
}

type Told<T> = Result<T, String>;

/// Where the pixels of a GeoTIFF lie.
pub(crate) struct Placement {
    pub(crate) to_world: Affine,
    /// The coordinates' system, if the file says it.
    pub(crate) frame: Option<Frame>,
    /// Sentences for people.
    pub(crate) notes: Vec<String>,
}

/// Whether a TIFF has tags that say where it lies.
pub(crate) fn is_placed<R: Read + Seek>(decoder: &mut Decoder<R>) -> bool {
    let mut has = |tag| decoder.find_tag(tag).is_ok_and(|found| found.is_some());
    has(Tag::ModelTransformationTag) || (has(Tag::ModelPixelScaleTag) && has(Tag::ModelTiepointTag))
}

/// Where the pixels of a GeoTIFF lie, from their centres.
pub(crate) fn placement<R: Read + Seek>(decoder: &mut Decoder<R>) -> Told<Placement> {
    let keys = GeoKeys::read(decoder)?;
    placement_by(&keys, decoder)
}

fn placement_by<R: Read + Seek>(keys: &GeoKeys, decoder: &mut Decoder<R>) -> Told<Placement> {
    let mut to_world = transform(decoder)?;
    // where a pixel is an area, the transform gives its corner
    if keys.short(RASTER_TYPE).unwrap_or(1) == 1 {
        to_world.origin += (to_world.across + to_world.down) / 2.0;
    }
    if !to_world.is_sound() {
        return Err(
            "the pixels of the raster must have a size, but its geographic tags give none; export it again"
                .into(),
        );
    }
    let mut notes = Vec::new();
    let frame = keys.frame(&mut notes)?;
    Ok(Placement { to_world, frame, notes })
}

/// The value that stands for none, where a TIFF says it.
pub(crate) fn no_data<R: Read + Seek>(decoder: &mut Decoder<R>) -> Option<f64> {
    let text = decoder.get_tag_ascii_string(Tag::GdalNodata).ok()?;
    text.trim_matches(['\0', ' ']).parse().ok()
}

fn header<R: Read + Seek>(decoder: &mut Decoder<R>, columns: usize, rows: usize) -> Told<RasterHeader> {
    let keys = GeoKeys::read(decoder)?;
    let Placement { to_world, frame, notes } = placement_by(&keys, decoder)?;
    let unit_m = unit(keys.short(VERTICAL_UNITS), "heights")?;
    let no_data = no_data(decoder);
    Ok(RasterHeader { columns, rows, to_world, frame, no_data, unit_m, notes })
}

/// From the corner of the first pixel: a matrix, or a scale and a tie point.
fn transform<R: Read + Seek>(decoder: &mut Decoder<R>) -> Told<Affine> {
    let mut list = |tag| decoder.get_tag_f64_vec(tag).ok();
    if let Some(m) = list(Tag::ModelTransformationTag) {
        let [a, b, _, d, e, f, _, h, ..] = m[..] else {
            return Err(
                "the raster's transformation must have 16 numbers, but it has fewer; export it again".into(),
            );
        };
        return Ok(Affine { origin: DVec2::new(d, h), across: DVec2::new(a, e), down: DVec2::new(b, f) });
    }
    let (scale, tie) = (list(Tag::ModelPixelScaleTag), list(Tag::ModelTiepointTag));
    let (Some([sx, sy, ..]), Some([i, j, _, x, y, ..])) = (scale.as_deref(), tie.as_deref()) else {
        return Err(
            "the raster must say where it lies, by a pixel scale and a tie point or a transformation, but it does not; \
             export it as GeoTIFF with its coordinates"
                .into(),
        );
    };
    let origin = DVec2::new(x - i * sx, y + j * sy);
    Ok(Affine { origin, across: DVec2::new(*sx, 0.0), down: DVec2::new(0.0, -*sy) })
}

const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const GEOGRAPHIC_TYPE: u16 = 2048;
const ANGULAR_UNITS: u16 = 2054;
const PROJECTED_TYPE: u16 = 3072;
const PROJECTION_METHOD: u16 = 3075;
const LINEAR_UNITS: u16 = 3076;
const VERTICAL_UNITS: u16 = 4099;

/// Keys of a GeoTIFF, numbers only.
struct GeoKeys {
    shorts: BTreeMap<u16, u16>,
    doubles: BTreeMap<u16, f64>,
}

impl GeoKeys {
    fn read<R: Read + Seek>(decoder: &mut Decoder<R>) -> Told<GeoKeys> {
        let mut keys = GeoKeys { shorts: BTreeMap::new(), doubles: BTreeMap::new() };
        let Ok(directory) = decoder.get_tag_u16_vec(Tag::GeoKeyDirectoryTag) else { return Ok(keys) };
        let doubles = decoder.get_tag_f64_vec(Tag::GeoDoubleParamsTag).unwrap_or_default();
        let Some((&[1, _, _, count], entries)) = directory.split_first_chunk::<4>() else {
            return Err("the raster's geokeys must be of version 1, but they are not; export it again".into());
        };
        for entry in entries.chunks_exact(4).take(usize::from(count)) {
            let (key, place, value) = (entry[0], entry[1], entry[3]);
            match place {
                0 => drop(keys.shorts.insert(key, value)),
                34736 => drop(doubles.get(usize::from(value)).map(|v| keys.doubles.insert(key, *v))),
                _ => {}
            }
        }
        Ok(keys)
    }

    fn short(&self, key: u16) -> Option<u16> {
        self.shorts.get(&key).copied()
    }

    fn double(&self, keys: &[u16]) -> Option<f64> {
        keys.iter().find_map(|key| self.doubles.get(key).copied())
    }

    /// The coordinates' system; nothing where the file has no geokeys.
    fn frame(&self, notes: &mut Vec<String>) -> Told<Option<Frame>> {
        match self.short(MODEL_TYPE) {
            None => Ok(None),
            Some(1) => self.projected(notes).map(Some),
            Some(2) => self.geographic(notes).map(Some),
            Some(other) => Err(format!(
                "a raster must be projected or geographic, but its model type is {other}; convert it to a UTM zone"
            )),
        }
    }

    fn geographic(&self, notes: &mut Vec<String>) -> Told<Frame> {
        datum(self.short(GEOGRAPHIC_TYPE), notes)?;
        match self.short(ANGULAR_UNITS) {
            None | Some(9102) => Ok(Frame::Geographic),
            Some(other) => Err(format!(
                "angles must be in degrees, but their unit is {other}; convert the raster to degrees"
            )),
        }
    }

    fn projected(&self, notes: &mut Vec<String>) -> Told<Frame> {
        let unit_m = unit(self.short(LINEAR_UNITS), "coordinates")?;
        if unit_m != 1.0 {
            return Err(
                "coordinates must be in metres, but these are in feet; convert the raster to a UTM zone"
                    .into(),
            );
        }
        let code = self.short(PROJECTED_TYPE);
        if let Some((zone, south)) = code.and_then(utm_zone) {
            return Ok(Frame::Projected(TransverseMercator::utm(zone, south)));
        }
        if self.short(PROJECTION_METHOD) == Some(1) && matches!(code, None | Some(32767)) {
            datum(self.short(GEOGRAPHIC_TYPE), notes)?;
            return self.transverse_mercator().map(Frame::Projected);
        }
        Err(format!(
            "coordinates must be those of a UTM zone (WGS 84, ETRS89 or NAD83) or a transverse Mercator on one of these, \
             but they are of system {}; convert the raster to a UTM zone",
            code.map_or("unknown".to_owned(), |code| code.to_string())
        ))
    }

    fn transverse_mercator(&self) -> Told<TransverseMercator> {
        let needed = |what: &str, keys: &[u16]| {
            self.double(keys).ok_or_else(|| {
                format!(
                    "the raster's projection must give its {what}, but it does not; convert it to a UTM zone"
                )
            })
        };
        let origin = GeoPoint {
            latitude_deg: needed("latitude of origin", &[3081, 3085])?,
            longitude_deg: needed("central meridian", &[3080, 3084, 3088])?,
        };
        let false_m = DVec2::new(needed("false easting", &[3082])?, needed("false northing", &[3083])?);
        let scale = needed("scale", &[3092, 3093])?;
        let all = [origin.latitude_deg, origin.longitude_deg, false_m.x, false_m.y, scale];
        if !all.iter().all(|v| v.is_finite()) {
            return Err(
                "the numbers of the raster's projection must be finite, but one is not; export it again"
                    .into(),
            );
        }
        Ok(TransverseMercator { semi_major_m: WGS_84.0, flattening: 1.0 / WGS_84.1, origin, scale, false_m })
    }
}

/// Zones of WGS 84 (326xx, 327xx), ETRS89 (258xx) and NAD83 (269xx).
fn utm_zone(code: u16) -> Option<(u8, bool)> {
    let (system, zone) = (code / 100, (code % 100) as u8);
    let (fits, south) = match system {
        326 => (1..=60, false),
        327 => (1..=60, true),
        258 => (28..=38, false),
        269 => (1..=23, false),
        _ => return None,
    };
    fits.contains(&zone).then_some((zone, south))
}

/// Datums that lie within a metre or two of WGS 84 are taken as it, with a note.
fn datum(code: Option<u16>, notes: &mut Vec<String>) -> Told<()> {
    match code {
        None | Some(4326 | 4979 | 32767) => Ok(()),
        Some(4258 | 4269 | 4937) => {
            notes.push(
                "the raster's datum is taken as WGS 84: the two differ by up to a metre or two, the same all over the site"
                    .to_owned(),
            );
            Ok(())
        }
        Some(other) => Err(format!(
            "a raster must be on WGS 84, ETRS89 or NAD83, but it is on system {other}; convert it to a UTM zone of WGS 84"
        )),
    }
}

/// Metres for one unit.
fn unit(code: Option<u16>, what: &str) -> Told<f64> {
    match code {
        None | Some(0 | 9001) => Ok(1.0),
        Some(9002) => Ok(0.3048),
        Some(9003) => Ok(1200.0 / 3937.0),
        Some(other) => Err(format!(
            "{what} must be in metres or feet, but their unit is {other}; convert the raster to metres"
        )),
    }
}
