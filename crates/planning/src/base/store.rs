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
    /// The keys of the entries by when they were last asked for.
    by_use: BTreeMap<u64, Key>,
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
        // what goes is let go of once others can use the store
        let gone = self.lock().put(key, Arc::clone(&value) as _, bytes, self.limit_bytes);
        drop(gone);
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
        // A panic elsewhere leaves whole entries only: nothing between the steps of a change can panic.
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Shelf {
    fn take_note(&mut self, key: Key) -> Option<Arc<dyn Any + Send + Sync>> {
        let entry = self.entries.get_mut(&key)?;
        self.clock += 1;
        self.by_use.remove(&entry.last_used);
        self.by_use.insert(self.clock, key);
        entry.last_used = self.clock;
        Some(Arc::clone(&entry.value))
    }

    /// Puts an entry there; gives those that make room for it.
    fn put(&mut self, key: Key, value: Arc<dyn Any + Send + Sync>, bytes: usize, limit: usize) -> Vec<Entry> {
        let mut gone = Vec::new();
        if bytes > limit {
            return gone;
        }
        self.clock += 1;
        self.bytes += bytes;
        self.by_use.insert(self.clock, key);
        let old = self.entries.insert(key, Entry { value, bytes, last_used: self.clock });
        if let Some(old) = old {
            self.by_use.remove(&old.last_used);
            self.bytes -= old.bytes;
            gone.push(old);
        }
        while self.bytes > limit {
            let oldest = self.by_use.pop_first();
            let Some(entry) = oldest.and_then(|(_, key)| self.entries.remove(&key)) else { break };
            self.bytes -= entry.bytes;
            gone.push(entry);
        }
        gone
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

    /// Derived: what is kept, asked for and let go of at random is what a plain list keeps that is searched for what was not asked
    /// for the longest.
    #[test]
    fn what_was_asked_for_last_is_kept() {
        let entry = 1000 + size_of::<Entry>();
        let (store, most) = (Store::new(7 * entry), 7);
        let (mut list, mut made, mut lot, mut hits) = (Vec::new(), 0, 7_u32, 0);
        for _ in 0..2000 {
            lot = lot.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let k = u64::from(lot >> 16) % 11;
            let before = made;
            ask(&store, k, &mut made);
            let place = list.iter().position(|other| *other == k);
            assert_eq!(made == before, place.is_some());
            hits += u32::from(place.is_some());
            list.retain(|other| *other != k);
            list.push(k);
            list.drain(..list.len().saturating_sub(most));
            assert_eq!(store.held_bytes(), list.len() * entry);
        }
        assert!(hits > 500 && made > 500, "{hits} {made}");
    }

    /// Derived: whatever is put and asked for, two of one key among it, every entry has one place in the order of use, and the
    /// bytes held are theirs.
    #[test]
    fn entries_and_their_order_of_use_stay_in_step() {
        let (mut shelf, mut let_go) = (Shelf::default(), 0);
        for k in 0..2000_u64 {
            let value = (k * 7919 + k * k) % 37;
            if k % 3 == 0 {
                let _ = shelf.take_note(key(value));
            } else {
                let bytes = 50 + (k as usize * 31) % 400;
                let_go += shelf.put(key(value), Arc::new(value), bytes, 3000).len();
            }
            assert_eq!(shelf.by_use.len(), shelf.entries.len());
            assert!(shelf.by_use.iter().all(|(used, key)| shelf.entries[key].last_used == *used));
            assert_eq!(shelf.bytes, shelf.entries.values().map(|entry| entry.bytes).sum::<usize>());
            assert!(shelf.bytes <= 3000);
        }
        assert!(let_go > 500 && shelf.entries.len() > 5, "{let_go}");
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
