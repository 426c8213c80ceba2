use super::unreadable;
use crate::raster::is_tiff;
use crate::{FileError, FileErrorKind};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// What a picture is, by how its file begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PictureKind {
    Png,
    Jpeg,
    Tiff,
}

impl PictureKind {
    pub(super) fn of(path: &Path) -> Result<Self, FileError> {
        let name = path.display().to_string();
        let mut head = Vec::new();
        let read = File::open(path).and_then(|file| file.take(16).read_to_end(&mut head));
        read.map_err(|error| unreadable(&name, &error))?;
        if head.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Ok(PictureKind::Png);
        }
        if head.starts_with(&[0xff, 0xd8, 0xff]) {
            return Ok(PictureKind::Jpeg);
        }
        if is_tiff(&head) {
            return Ok(PictureKind::Tiff);
        }
        let told = "a picture must be a GeoTIFF, a PNG or a JPEG, but this is none of them; export it as one of these";
        Err(FileError::new(&name, FileErrorKind::Format, told))
    }
}
