//! Pixels on their way to a smaller picture: the mean of a square of them, wherever in the picture they come from.

/// Most pixels of a reduced picture: 105 MB.
pub const MOST_SHOWN_PX: usize = 5120 * 5120;

/// Pixels along the side of a tile.
const TILE_PX: usize = 512;

/// A picture, reduced and cut into tiles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Pixels of the file from left to right.
    pub columns: usize,
    /// Pixels of the file from top to bottom.
    pub rows: usize,
    /// So many pixels of the file along a side are one.
    pub factor: usize,
    /// Row by row from the top.
    pub tiles: Vec<PictureTile>,
}

/// A part of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureTile {
    /// Its left edge, in reduced pixels.
    pub left: usize,
    /// Its upper edge, in reduced pixels.
    pub top: usize,
    /// Reduced pixels.
    pub width: usize,
    /// Reduced pixels.
    pub height: usize,
    /// Red, green, blue and opacity of each, row by row.
    pub rgba: Vec<u8>,
}

/// Takes pixels in any order of rows and gives their means. Of a large square not every pixel is taken.
pub(super) struct Reducer {
    columns: usize,
    rows: usize,
    factor: usize,
    stride: usize,
    width: usize,
    /// Sums of red, green and blue, and how many there are.
    sums: Vec<[u16; 4]>,
}

/// The smallest factor that leaves few enough pixels.
pub(super) fn factor_for(columns: usize, rows: usize) -> usize {
    let fits = |k: &usize| columns.div_ceil(*k) * rows.div_ceil(*k) <= MOST_SHOWN_PX;
    // As many pixels on a side as the picture has leave one.
    (1..=columns.max(rows).max(1)).find(fits).unwrap_or(1)
}

impl Reducer {
    pub(super) fn new(columns: usize, rows: usize, factor: usize) -> Self {
        let (width, height) = (columns.div_ceil(factor), rows.div_ceil(factor));
        // Three by three of a square are enough for a mean, and keep sums below 2¹⁶.
        let stride = factor.div_ceil(3);
        Reducer { columns, rows, factor, stride, width, sums: vec![[0; 4]; width * height] }
    }

    /// Whether any pixel of a row is taken.
    pub(super) fn wants(&self, row: usize) -> bool {
        (row % self.factor).is_multiple_of(self.stride)
    }

    /// Takes pixels of a row from a column on; `colour` gives the `k`th of them, or nothing where it is clear.
    pub(super) fn take(
        &mut self,
        row: usize,
        from_column: usize,
        count: usize,
        colour: impl Fn(usize) -> Option<[u8; 3]>,
    ) {
        if row >= self.rows || !self.wants(row) {
            return;
        }
        let end = (from_column + count).min(self.columns);
        let (factor, stride) = (self.factor, self.stride);
        let line = &mut self.sums[row / factor * self.width..][..self.width];
        let mut cell = from_column / factor;
        while cell * factor < end {
            let (mut column, next) = (cell * factor, ((cell + 1) * factor).min(end));
            let sum = &mut line[cell];
            while column < next {
                if column >= from_column
                    && let Some([r, g, b]) = colour(column - from_column)
                {
                    sum[0] += u16::from(r);
                    sum[1] += u16::from(g);
                    sum[2] += u16::from(b);
                    sum[3] += 1;
                }
                column += stride;
            }
            cell += 1;
        }
    }

    /// The reduced picture of a file that has `times` as many pixels along a side as were taken.
    pub(super) fn picture(self, (columns, rows): (usize, usize), times: usize) -> Picture {
        let height = self.sums.len() / self.width.max(1);
        let mut tiles = Vec::new();
        for top in (0..height).step_by(TILE_PX) {
            for left in (0..self.width).step_by(TILE_PX) {
                let size = (TILE_PX.min(self.width - left), TILE_PX.min(height - top));
                tiles.push(self.tile(left, top, size));
            }
        }
        Picture { columns, rows, factor: self.factor * times, tiles }
    }

    fn tile(&self, left: usize, top: usize, (width, height): (usize, usize)) -> PictureTile {
        let mut rgba = Vec::with_capacity(4 * width * height);
        for row in top..top + height {
            for [r, g, b, count] in &self.sums[row * self.width + left..][..width] {
                let mean = |sum: u16| ((sum + count / 2) / (*count).max(1)) as u8;
                let opacity = if *count > 0 { 255 } else { 0 };
                rgba.extend([mean(*r), mean(*g), mean(*b), opacity]);
            }
        }
        PictureTile { left, top, width, height, rgba }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: squares of one colour keep it whatever the factor, and wherever pieces of rows begin; a clear pixel is left
    /// out of the mean; all tiles together have the reduced size.
    #[test]
    fn squares_of_one_colour_keep_it() {
        for factor in 1..=9 {
            let (columns, rows) = (100 * factor + 1, 7 * factor);
            let mut reducer = Reducer::new(columns, rows, factor);
            let value = |column: usize, row: usize| ((column / factor * 7 + row / factor * 31) % 256) as u8;
            for row in 0..rows {
                for from in (0..columns).step_by(13) {
                    reducer.take(row, from, 13, |k| Some([value(from + k, row), 1, 2]));
                }
            }
            let picture = reducer.picture((columns, rows), 1);
            assert_eq!((picture.tiles.len(), picture.factor), (1, factor));
            let tile = &picture.tiles[0];
            assert_eq!((tile.width, tile.height), (101, 7));
            for (k, pixel) in tile.rgba.as_chunks::<4>().0.iter().enumerate() {
                let (column, row) = (k % 101 * factor, k / 101 * factor);
                assert_eq!(*pixel, [value(column, row), 1, 2, 255], "factor {factor}, {column}, {row}");
            }
        }
    }

    #[test]
    fn large_pictures_fit() {
        for (columns, rows, factor) in
            [(5120, 5120, 1), (20_000, 20_000, 4), (100_000, 100_000, 20), (1, 1, 1)]
        {
            assert_eq!(factor_for(columns, rows), factor);
        }
        let mut reducer = Reducer::new(1300, 600, 1);
        reducer.take(0, 0, 1300, |k| (k % 2 == 0).then_some([9, 8, 7]));
        let picture = reducer.picture((2600, 1200), 2);
        assert_eq!((picture.tiles.len(), picture.factor), (6, 2));
        assert_eq!(picture.tiles.iter().map(|tile| tile.rgba.len()).sum::<usize>(), 4 * 1300 * 600);
        assert_eq!(picture.tiles[0].rgba[..8], [9, 8, 7, 255, 0, 0, 0, 0]);
    }
}
