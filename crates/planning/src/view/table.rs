/// Which stations of one pass see which samples: one bit for each (sample, station), by tile.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ViewTable {
    /// Where each tile's views start in `views`, and at the end where the last one's stop: one longer than the tiles.
    pub starts: Vec<u32>,
    /// By tile, then by station in order; only stations that see something of the tile.
    pub views: Vec<TileView>,
    /// For each tile, the samples that are in some station's frame and face it, hidden or not.
    pub framed: Vec<u64>,
}

/// What one station sees of one tile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TileView {
    /// Index into the pass's stations.
    pub station: u32,
    /// Bit k: the tile's sample k is in the frame, faces the station and is not hidden.
    pub samples: u64,
}

impl ViewTable {
    /// Memory it takes, about.
    pub fn bytes(&self) -> usize {
        self.starts.len() * size_of::<u32>()
            + self.views.len() * size_of::<TileView>()
            + self.framed.len() * size_of::<u64>()
    }

    /// The views of one tile.
    pub fn of_tile(&self, tile: usize) -> &[TileView] {
        &self.views[self.starts[tile] as usize..self.starts[tile + 1] as usize]
    }
}
