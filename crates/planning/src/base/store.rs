use crate::base::digest::Key;
use std::any::Any;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Results of stages, kept by their inputs and bounded in bytes.
///
/// An entry equals what working it out again would give, so a store changes how fast an outcome comes and nothing else.
/// The one that was not asked for the longest makes room for a new one.
#[derive(Debug)]
pub struct Store {
    limit_bytes: usize,
    shelf: Mutex<Shelf>,
}

#[derive(Debug, Default)]
struct Shelf {
    entries: BTreeMap<Key, Entry>,
    bytes: usize,
    clock: u64,
}

#[derive(Debug)]
struct Entry {
    value: Arc<dyn Any + Send + Sync>,
    bytes: usize,
    last_used: u64,
}

impl Store {
    /// An empty store that keeps at most about `limit_bytes` of results.
    ///
    /// # Units
    /// - `limit_bytes`: bytes
    pub fn new(limit_bytes: usize) -> Self {
        Store { limit_bytes, shelf: Mutex::default() }
    }

    /// The result for a key, worked out if it is not there. The store is not held while working.
    pub(crate) fn get_or<T: Any + Send + Sync, E>(
        &self,
        key: Key,
        bytes: impl FnOnce(&T) -> usize,
        make: impl FnOnce() -> Result<T, E>,
    ) -> Result<Arc<T>, E> {
        if let Some(found) = self.find(key) {
            return Ok(found);
        }
        let value = Arc::new(make()?);
        let bytes = bytes(&value) + size_of::<Entry>();
        self.lock().put(key, Arc::clone(&value) as _, bytes, self.limit_bytes);
        Ok(value)
    }

    /// The result for a key, where it is there.
    pub(crate) fn find<T: Any + Send + Sync>(&self, key: Key) -> Option<Arc<T>> {
        let found = self.lock().take_note(key)?;
        Some(found.downcast().unwrap_or_else(|_| unreachable!("two stages share the key {key:?}")))
    }

    /// Bytes held now.
    ///
    /// # Units
    /// - returns: bytes
    pub fn held_bytes(&self) -> usize {
        self.lock().bytes
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Shelf> {
        // A panic elsewhere leaves whole entries only: the shelf is changed in single steps.
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Shelf {
    fn take_note(&mut self, key: Key) -> Option<Arc<dyn Any + Send + Sync>> {
        self.clock += 1;
        let entry = self.entries.get_mut(&key)?;
        entry.last_used = self.clock;
        Some(Arc::clone(&entry.value))
    }

    fn put(&mut self, key: Key, value: Arc<dyn Any + Send + Sync>, bytes: usize, limit: usize) {
        if bytes > limit {
            return;
        }
        self.clock += 1;
        let entry = Entry { value, bytes, last_used: self.clock };
        if let Some(old) = self.entries.insert(key, entry) {
            self.bytes -= old.bytes;
        }
        self.bytes += bytes;
        while self.bytes > limit {
            let oldest = self.entries.iter().min_by_key(|(_, entry)| entry.last_used).map(|(key, _)| *key);
            let Some(gone) = oldest.and_then(|key| self.entries.remove(&key)) else { break };
            self.bytes -= gone.bytes;
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::base::digest::{Digest, Stage};
    use crate::base::store::*;
    use std::convert::Infallible;

    fn key(value: u64) -> Key {
        Digest::of_stage(Stage::Grid).whole(value).finish()
    }

    fn ask(store: &Store, k: u64, made: &mut u32) -> Arc<u64> {
        let make = || {
            *made += 1;
            Ok::<_, Infallible>(k * 10)
        };
        store.get_or(key(k), |_| 1000, make).expect("cannot fail")
    }

    #[test]
    fn kept_until_room_is_needed_and_oldest_goes_first() {
        let store = Store::new(2500);
        let mut made = 0;
        ask(&store, 1, &mut made);
        ask(&store, 2, &mut made);
        assert_eq!((*ask(&store, 1, &mut made), made), (10, 2));
        ask(&store, 3, &mut made);
        assert_eq!((*ask(&store, 1, &mut made), made), (10, 3));
        assert_eq!((*ask(&store, 2, &mut made), made), (20, 4));
        assert!(store.held_bytes() <= 2500);
    }

    #[test]
    fn what_is_larger_than_the_store_is_not_kept() {
        let store = Store::new(500);
        let mut made = 0;
        ask(&store, 1, &mut made);
        ask(&store, 1, &mut made);
        assert_eq!((made, store.held_bytes()), (2, 0));
    }
}
