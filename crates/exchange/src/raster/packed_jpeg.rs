//! JPEGs inside a TIFF say themselves how large they are: that is read before one is unpacked, since it need not be the size
//! of the strip or tile that it fills.

use super::source::unreadable;
use crate::{FileError, FileErrorKind};
use std::io::{Cursor, Read, Seek, SeekFrom};
use tiff::decoder::Decoder;
use tiff::tags::Tag;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;

/// How [`Tag::Compression`] names JPEG.
const JPEG: u16 = 7;

/// Strips or tiles that are JPEGs.
pub(crate) struct PackedJpegs {
    offsets: Vec<u64>,
    lengths: Vec<u64>,
    /// What all of them have in common, to stand before each.
    tables: Vec<u8>,
}

impl PackedJpegs {
    /// Those of a file; nothing where it is packed in another way.
    pub(crate) fn of<R: Read + Seek>(
        decoder: &mut Decoder<R>,
        name: &str,
    ) -> Result<Option<Self>, FileError> {
        let wrong = |error| unreadable(name, &error);
        if decoder.find_tag_unsigned::<u16>(Tag::Compression).map_err(wrong)? != Some(JPEG) {
            return Ok(None);
        }
        let mut list = |tiles, strips| {
            let tiles = decoder.find_tag_unsigned_vec::<u64>(tiles).map_err(wrong)?;
            if let Some(tiles) = tiles {
                return Ok(tiles);
            }
            Ok(decoder.find_tag_unsigned_vec::<u64>(strips).map_err(wrong)?.unwrap_or_default())
        };
        let offsets = list(Tag::TileOffsets, Tag::StripOffsets)?;
        let lengths = list(Tag::TileByteCounts, Tag::StripByteCounts)?;
        let tables = match decoder.find_tag(Tag::JPEGTables).map_err(wrong)? {
            Some(tables) => tables.into_u8_vec().map_err(wrong)?,
            None => Vec::new(),
        };
        Ok(Some(PackedJpegs { offsets, lengths, tables }))
    }

    /// Refuses a part that would take more than so many bytes; what is no whole JPEG is left to whoever unpacks it.
    pub(crate) fn bound<R: Read + Seek>(
        &self,
        source: &mut R,
        number: usize,
        most_bytes: usize,
        name: &str,
    ) -> Result<(), FileError> {
        let (Some(offset), Some(length)) = (self.offsets.get(number), self.lengths.get(number)) else {
            return Ok(());
        };
        if *length > most_bytes as u64 {
            return Ok(());
        }
        let packed =
            self.packed(source, *offset, *length).map_err(|error| unreadable(name, &error.into()))?;
        let mut jpeg = JpegDecoder::new(ZCursor::new(packed));
        if jpeg.decode_headers().is_err() {
            return Ok(());
        }
        let Some(info) = jpeg.info() else { return Ok(()) };
        let bytes = usize::from(info.width) * usize::from(info.height) * usize::from(info.components.max(1));
        if bytes <= most_bytes {
            return Ok(());
        }
        let told = format!(
            "a strip or tile of the file must take at most {} MB in memory, but number {} says that it is {} × {} pixels, {} MB; \
             export it again in tiles of 256 or 512 pixels",
            most_bytes >> 20,
            number + 1,
            info.width,
            info.height,
            bytes >> 20
        );
        Err(FileError::new(name, FileErrorKind::TooLarge, told))
    }

    /// A part, behind what all have in common: as it is unpacked.
    fn packed<R: Read + Seek>(&self, source: &mut R, offset: u64, length: u64) -> std::io::Result<Vec<u8>> {
        source.seek(SeekFrom::Start(offset))?;
        let mut own = source.take(length);
        let mut packed = Vec::new();
        match self.tables.len().checked_sub(2) {
            // The end of the tables and the beginning of the part are left out where they meet.
            Some(end) => {
                Cursor::new(&self.tables[..end]).read_to_end(&mut packed)?;
                own.read_exact(&mut [0; 2])?;
                own.read_to_end(&mut packed)?;
            }
            None => drop(own.read_to_end(&mut packed)?),
        }
        Ok(packed)
    }
}
