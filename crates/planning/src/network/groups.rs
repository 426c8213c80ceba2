//! Things that belong together, joined pair by pair.

/// Things joined to groups.
#[derive(Debug)]
pub(super) struct Groups {
    toward: Vec<usize>,
}

impl Groups {
    pub(super) fn new(len: usize) -> Self {
        Groups { toward: (0..len).collect() }
    }

    /// What stands for the whole group.
    pub(super) fn head(&mut self, mut of: usize) -> usize {
        while self.toward[of] != of {
            self.toward[of] = self.toward[self.toward[of]];
            of = self.toward[of];
        }
        of
    }

    pub(super) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.head(a), self.head(b));
        self.toward[a.max(b)] = a.min(b);
    }

    /// The group of each thing, groups numbered by the smallest name in them, and how many there are.
    pub(super) fn numbered(&mut self, names: &[u32]) -> (Vec<u32>, usize) {
        let mut by_name: Vec<usize> = (0..names.len()).collect();
        by_name.sort_by_key(|&thing| names[thing]);
        let mut number_of_head = vec![u32::MAX; names.len()];
        let mut count = 0;
        for thing in by_name {
            let head = self.head(thing);
            if number_of_head[head] == u32::MAX {
                number_of_head[head] = count;
                count += 1;
            }
        }
        ((0..names.len()).map(|thing| number_of_head[self.head(thing)]).collect(), count as usize)
    }
}
