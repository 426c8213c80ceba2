//! Arithmetic on all samples of a tile at once, in plain loops that the compiler turns into vector code.

use crate::ground::{TILE_LEN, Tile};

/// One single-precision value for each sample of a tile.
pub(crate) type Lanes = [f32; TILE_LEN];

/// One flag for each sample of a tile: 0 or 1.
pub(crate) type Flags = [u8; TILE_LEN];

/// The flags as bits of a word, lane k in bit k.
pub(crate) fn pack(flags: &Flags) -> u64 {
    // moves bit 0 of byte k to bit 56 + k
    const GATHER: u64 = 0x0102_0408_1020_4080;
    let mut word = 0;
    for (k, eight) in flags.chunks_exact(8).enumerate() {
        let mut bytes = [0; 8];
        bytes.copy_from_slice(eight);
        word |= (u64::from_le_bytes(bytes).wrapping_mul(GATHER) >> 56) << (8 * k);
    }
    word
}

/// Bits of the lanes that a tile uses.
pub(crate) fn used(tile: &Tile) -> u64 {
    if tile.len >= TILE_LEN { u64::MAX } else { (1 << tile.len) - 1 }
}

/// Numbers of the bits that are set, ascending.
pub(crate) fn bits(mut word: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (word != 0).then(|| {
            let lowest = word.trailing_zeros() as usize;
            word &= word - 1;
            lowest
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Derived: packing flags and listing bits are each other's inverse.
        #[test]
        fn packing_and_listing_are_inverse(word in any::<u64>()) {
            let flags: Flags = std::array::from_fn(|k| u8::from(word >> k & 1 == 1));
            prop_assert_eq!(pack(&flags), word);
            prop_assert_eq!(bits(word).fold(0, |all, k| all | 1 << k), word);
        }
    }
}
