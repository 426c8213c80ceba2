//! Replies, by the type of their keys.

use super::key::Key;
use super::thread::Reply;
use std::any::{Any, TypeId};
use std::collections::{BTreeMap, VecDeque};

/// What came back under a key; the sentence for people where the work broke off.
pub type Answer<K> = Result<<K as Key>::Reply, String>;

/// The replies under keys of one type, the newest last.
struct KeptRow<K: Key> {
    replies: VecDeque<(K, Answer<K>)>,
}

/// All replies.
#[derive(Default)]
pub(super) struct JobShelf {
    rows: BTreeMap<TypeId, Box<dyn Any>>,
}

impl JobShelf {
    fn row<K: Key>(&self) -> Option<&KeptRow<K>> {
        self.rows.get(&TypeId::of::<K>())?.downcast_ref()
    }

    fn row_mut<K: Key>(&mut self) -> Option<&mut KeptRow<K>> {
        self.rows.get_mut(&TypeId::of::<K>())?.downcast_mut()
    }

    /// Puts a reply under its key; of those that are kept, the oldest goes.
    pub(super) fn put<K: Key>(&mut self, key: K, answer: Answer<K>) {
        let row = self.rows.entry(TypeId::of::<K>());
        let row = row.or_insert_with(|| Box::new(KeptRow::<K> { replies: VecDeque::new() }));
        let Some(row) = row.downcast_mut::<KeptRow<K>>() else { return };
        row.replies.push_back((key, answer));
        if K::KEPT > 0 && row.replies.len() > K::KEPT {
            row.replies.pop_front();
        }
    }

    /// Gives out what has come.
    pub(super) fn take<K: Key>(&mut self) -> Vec<(K, Answer<K>)> {
        self.row_mut::<K>().map(|row| row.replies.drain(..).collect()).unwrap_or_default()
    }

    /// What is kept under a key.
    pub(super) fn get<K: Key>(&self, key: &K) -> Option<&Answer<K>> {
        self.row::<K>()?.replies.iter().find(|(own, _)| own == key).map(|(_, answer)| answer)
    }
}

/// Gives a reply its type back.
pub(super) fn typed<K: Key>(reply: Reply) -> Answer<K> {
    let reply = reply?.downcast::<K::Reply>();
    reply
        .map(|reply| *reply)
        .map_err(|_| "the work brought something else; this is a fault of the program".to_owned())
}
