//! Locks that say which window has something in hand.
//!
//! The system holds the lock and lets go of it when the process ends, however it ends: what a dead process has left is not
//! believed. Where a folder has no such locks, the process's number decides.

use crate::files::is_alive;
use serde::{Deserialize, Serialize};
use siphasher::sip128::{Hasher128, SipHasher13};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::hash::Hasher;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Longest text of a lock that is read.
const MOST_BYTES: u64 = 4096;

/// Who has a lock, as its file says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LockHolder {
    /// The process.
    pub process: u32,
    /// The computer that it runs on.
    pub host: String,
    /// Since when, in seconds since 1970 (UTC).
    pub since_unix_s: u64,
}

impl LockHolder {
    /// This process, from now on.
    pub fn this(now_unix_s: u64) -> Self {
        LockHolder { process: std::process::id(), host: host(), since_unix_s: now_unix_s }
    }

    /// Whether it runs on this computer.
    pub fn is_here(&self) -> bool {
        self.host == host()
    }

    /// Whether it may still be there, as far as can be told where the system keeps no locks.
    fn may_live(&self) -> bool {
        !self.is_here() || (self.process != std::process::id() && is_alive(self.process))
    }
}

/// The computer's name; empty where it has none.
fn host() -> String {
    #[cfg(unix)]
    {
        rustix::system::uname().nodename().to_string_lossy().into_owned()
    }
    #[cfg(not(unix))]
    {
        std::env::var("COMPUTERNAME").unwrap_or_default()
    }
}

/// A lock that is held as long as this lives.
#[derive(Debug)]
pub struct WindowLock {
    path: PathBuf,
    /// Holds the system's lock while it is open.
    _file: File,
}

/// What came of asking for a lock.
#[derive(Debug)]
pub enum LockTaken {
    /// It is held now.
    Ours(WindowLock),
    /// Another window has it: who, where its file can be read.
    Theirs(Option<LockHolder>),
}

impl WindowLock {
    /// Takes the lock of a file that a window works on, in the user's folder.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn of_file(folder: &Path, file: &Path, holder: &LockHolder) -> io::Result<LockTaken> {
        let place = folder.join("open");
        fs::create_dir_all(&place)?;
        let whole = fs::canonicalize(file).or_else(|_| std::path::absolute(file))?;
        let mut hasher = SipHasher13::new();
        hasher.write(whole.as_os_str().as_encoded_bytes());
        let hash = hasher.finish128();
        WindowLock::take(&place.join(format!("{:016x}{:016x}.lock", hash.h1, hash.h2)), holder)
    }

    /// Takes a lock, if no living process has it.
    ///
    /// # Errors
    /// When the system refuses the file.
    pub fn take(path: &Path, holder: &LockHolder) -> io::Result<LockTaken> {
        // One that is let go of in between is gone from its folder: then it is made anew.
        for _ in 0..3 {
            let mut file =
                OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Ok(LockTaken::Theirs(written(&mut file))),
                Err(TryLockError::Error(_)) => {
                    if let Some(holder) = written(&mut file).filter(LockHolder::may_live) {
                        return Ok(LockTaken::Theirs(Some(holder)));
                    }
                }
            }
            if path.exists() {
                file.set_len(0)?;
                file.seek(SeekFrom::Start(0))?;
                file.write_all(ron::to_string(holder).unwrap_or_default().as_bytes())?;
                return Ok(LockTaken::Ours(WindowLock { path: path.to_owned(), _file: file }));
            }
        }
        Err(io::Error::other("it comes and goes"))
    }

    /// Whether a living process has a lock.
    pub(super) fn is_held(path: &Path) -> bool {
        let Ok(mut file) = OpenOptions::new().read(true).write(true).open(path) else { return false };
        match file.try_lock() {
            Ok(()) => false,
            Err(TryLockError::WouldBlock) => true,
            Err(TryLockError::Error(_)) => written(&mut file).is_some_and(|holder| holder.may_live()),
        }
    }

    /// Lets go of it, and takes its file away.
    pub fn release(self) {
        // What stays of it is not believed.
        let _ = fs::remove_file(&self.path);
    }
}

fn written(file: &mut File) -> Option<LockHolder> {
    let mut text = String::new();
    file.take(MOST_BYTES).read_to_string(&mut text).ok()?;
    ron::from_str(&text).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::own::alone;

    fn holder() -> LockHolder {
        LockHolder::this(1_700_000_000)
    }

    #[test]
    fn one_window_has_it_and_the_second_is_told_which() {
        let _alone = alone();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.lock");
        let LockTaken::Ours(first) = WindowLock::take(&path, &holder()).unwrap() else {
            panic!("it is free")
        };
        assert!(WindowLock::is_held(&path));
        let LockTaken::Theirs(told) = WindowLock::take(&path, &holder()).unwrap() else {
            panic!("it is held")
        };
        // Where locks keep others from reading, nobody is named.
        assert!(told.is_none_or(|told| told == holder() && told.is_here()));
        first.release();
        assert!(!WindowLock::is_held(&path) && !path.exists());
        assert!(matches!(WindowLock::take(&path, &holder()).unwrap(), LockTaken::Ours(_)));
    }

    #[test]
    fn a_file_has_one_lock_by_whatever_name_it_is_called() {
        let _alone = alone();
        let folder = tempfile::tempdir().unwrap();
        let (own, file) = (folder.path().join("own"), folder.path().join("yard.ron"));
        fs::write(&file, "").unwrap();
        let LockTaken::Ours(_first) = WindowLock::of_file(&own, &file, &holder()).unwrap() else {
            panic!("it is free")
        };
        let roundabout = folder.path().join("own/../yard.ron");
        assert!(matches!(WindowLock::of_file(&own, &roundabout, &holder()).unwrap(), LockTaken::Theirs(_)));
        let other = folder.path().join("other.ron");
        assert!(matches!(WindowLock::of_file(&own, &other, &holder()).unwrap(), LockTaken::Ours(_)));
    }

    /// A process that is killed lets go of the system's lock but leaves its file: whatever it says is not believed.
    #[test]
    fn what_a_dead_process_has_left_is_not_believed() {
        let _alone = alone();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.lock");
        for left in ["(process:1,host:\"elsewhere\",since_unix_s:0)", "", "\u{0}garbage(((", "(process:-1)"] {
            fs::write(&path, left).unwrap();
            assert!(!WindowLock::is_held(&path), "{left:?}");
            let taken = WindowLock::take(&path, &holder()).unwrap();
            assert!(matches!(taken, LockTaken::Ours(_)), "{left:?}");
        }
    }

    #[test]
    fn without_the_systems_locks_the_process_decides() {
        let _alone = alone();
        let here = holder();
        assert!(!here.may_live(), "its own is nobody else's");
        assert!(LockHolder { host: "elsewhere".to_owned(), ..here.clone() }.may_live());
        #[cfg(unix)]
        {
            let parent = std::os::unix::process::parent_id();
            assert!(LockHolder { process: parent, ..here.clone() }.may_live());
            let mut child = std::process::Command::new("true").spawn().unwrap();
            child.wait().unwrap();
            assert!(!LockHolder { process: child.id(), ..here }.may_live());
        }
    }
}
