//! What tells whether a file still holds what it held.

use crate::files::told;
use crate::{FileError, FileErrorKind};
use serde::{Deserialize, Serialize};
use siphasher::sip128::{Hasher128, SipHasher13};
use std::fs::{self, File, Metadata};
use std::hash::Hasher;
use std::io::{self, Read};
use std::path::Path;
use std::time::UNIX_EPOCH;

/// What a file held at a time: its size, when it was written, and a digest of every byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileStamp {
    /// Size of the file.
    pub bytes: u64,
    /// When it was last written, in milliseconds since 1970 (UTC); absent where the system does not tell.
    #[serde(default)]
    pub written_unix_ms: Option<u64>,
    /// SipHash-1-3 of its bytes, 128 bits.
    pub digest: [u64; 2],
}

impl FileStamp {
    /// That of bytes just read from a path or written to it.
    pub fn of(path: &Path, bytes: &[u8]) -> Self {
        let mut hasher = SipHasher13::new();
        hasher.write(bytes);
        let written_unix_ms = fs::metadata(path).ok().as_ref().and_then(written_unix_ms);
        FileStamp { bytes: bytes.len() as u64, written_unix_ms, digest: digest(&hasher) }
    }

    /// That of a file as it is now, however large: it is read in pieces.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn read(path: &Path) -> io::Result<Self> {
        let mut file = File::open(path)?;
        let found = file.metadata()?;
        let mut hasher = SipHasher13::new();
        let mut piece = vec![0; 1 << 16];
        let mut bytes = 0;
        loop {
            let length = file.read(&mut piece)?;
            if length == 0 {
                break;
            }
            hasher.write(&piece[..length]);
            bytes += length as u64;
        }
        Ok(FileStamp { bytes, written_unix_ms: written_unix_ms(&found), digest: digest(&hasher) })
    }

    /// Whether both hold the same, whenever they were written.
    pub fn holds_the_same(&self, other: &FileStamp) -> bool {
        self.bytes == other.bytes && self.digest == other.digest
    }

    /// Whether a file may be replaced by one who knows it as this: it still holds the same, or is gone.
    ///
    /// # Errors
    /// [`FileErrorKind::Changed`] where it holds something else, [`FileErrorKind::Unreadable`] where that cannot be told.
    pub fn check(&self, path: &Path) -> Result<(), FileError> {
        let refused = |kind, told: String| Err(FileError::new(&path.display().to_string(), kind, told));
        match FileStamp::read(path) {
            Ok(now) if self.holds_the_same(&now) => Ok(()),
            Ok(now) => {
                let told = format!(
                    "the file must still hold what was read, but it was written by something else since ({} bytes, before \
                     {}); save under another name, or replace it",
                    now.bytes, self.bytes
                );
                refused(FileErrorKind::Changed, told)
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            Err(error) => {
                let told = format!(
                    "cannot be read to see whether it has changed: {}; check its permissions",
                    told(&error)
                );
                refused(FileErrorKind::Unreadable, told)
            }
        }
    }
}

fn digest(hasher: &SipHasher13) -> [u64; 2] {
    let hash = hasher.finish128();
    [hash.h1, hash.h2]
}

fn written_unix_ms(found: &Metadata) -> Option<u64> {
    let since = found.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
    u64::try_from(since.as_millis()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: what is read in pieces is what is read at once; a touched file holds the same, one with a byte turned not,
    /// though its size is the same.
    #[test]
    fn a_stamp_tells_contents_and_not_when_they_were_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("yard.ron");
        let mut bytes: Vec<u8> = (0..200_000_u32).map(|k| (k % 251) as u8).collect();
        fs::write(&path, &bytes).unwrap();
        let known = FileStamp::of(&path, &bytes);
        assert_eq!(FileStamp::read(&path).unwrap(), known);
        let later = std::time::SystemTime::now() + std::time::Duration::from_mins(1);
        File::options().write(true).open(&path).unwrap().set_modified(later).unwrap();
        assert!(FileStamp::read(&path).unwrap().written_unix_ms > known.written_unix_ms);
        known.check(&path).unwrap();
        bytes[150_000] ^= 1;
        fs::write(&path, &bytes).unwrap();
        assert_eq!(known.check(&path).unwrap_err().kind, FileErrorKind::Changed);
        fs::remove_file(&path).unwrap();
        known.check(&path).unwrap();
    }
}
