//! Memory and disk that processing takes.

use super::work::CountedWork;

/// How many bytes there are of what.
pub(crate) mod bytes {
    /// A block of the reduced camera system, one for an image and one for a pair: 6 × 6 numbers of 8 bytes (derived).
    pub(crate) const CAMERA_BLOCK: f64 = 288.0;

    /// A pixel of an image, or of its depth map, as it is worked on: one number of 4 bytes. Common practice, no source.
    pub(crate) const PIXEL: f64 = 4.0;

    /// Most images that a depth map is made with besides its own. Common practice, no source.
    pub(crate) const MOST_NEIGHBOURS: f64 = 16.0;

    /// A point while the surface is made of it, with its normal and its places in the tree. Common practice, no source.
    pub(crate) const POINT_IN_MEMORY: f64 = 100.0;

    /// Gigabytes of system and program by themselves. Common practice, no source.
    pub(crate) const PROGRAM_GB: f64 = 4.0;

    /// Megabytes of the features of an image: 40,000 of 128 bytes and a place of 16. Common practice, no source.
    pub(crate) const FEATURES_MB: f64 = 5.76;

    /// A point on disk: three numbers of 4 bytes and three colours (derived).
    pub(crate) const POINT: f64 = 15.0;

    /// A pixel of the orthomosaic and of the heights under it: three colours, a mask and a number of 4 bytes (derived; not
    /// compressed).
    pub(crate) const ORTHOMOSAIC_PIXEL: f64 = 8.0;

    /// A texel: three colours (derived; not compressed).
    pub(crate) const TEXEL: f64 = 3.0;
}

/// What memory the stages take besides the program; the greatest decides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MemoryTerms {
    /// The adjustment's reduced camera system, without what filling it in adds.
    pub adjustment_gb: f64,
    /// An image and those that its depth map is made with.
    pub dense_gb: f64,
    /// The points while a surface is made of them.
    pub surface_gb: f64,
}

impl MemoryTerms {
    pub(super) fn new(work: &CountedWork, megapixels: f64) -> Self {
        let blocks = f64::from(work.images) + work.image_pairs as f64;
        let neighbours = work.neighbours().min(bytes::MOST_NEIGHBOURS);
        MemoryTerms {
            adjustment_gb: bytes::CAMERA_BLOCK * blocks / 1e9,
            dense_gb: bytes::PIXEL * megapixels * (1.0 + neighbours) / 1000.0,
            surface_gb: bytes::POINT_IN_MEMORY * work.surface_gigapoints,
        }
    }

    /// What the stage takes that takes the most.
    ///
    /// # Units
    /// - returns: 10^9 bytes
    pub fn most_gb(&self) -> f64 {
        self.adjustment_gb.max(self.dense_gb).max(self.surface_gb)
    }

    /// What there must be.
    ///
    /// # Units
    /// - returns: 10^9 bytes
    ///
    /// # References
    /// Derived: stages run one after the other. The program's own is common practice, no source.
    pub fn total_gb(&self) -> f64 {
        bytes::PROGRAM_GB + self.most_gb()
    }
}

/// What takes room on disk; the terms add up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiskTerms {
    /// The images.
    pub images_gb: f64,
    /// Their features.
    pub features_gb: f64,
    /// Their depth maps.
    pub depth_gb: f64,
    /// The points.
    pub points_gb: f64,
    /// The orthomosaic, with heights.
    pub orthomosaic_gb: f64,
    /// The texture.
    pub texture_gb: f64,
}

impl DiskTerms {
    pub(super) fn new(work: &CountedWork, images_gb: f64) -> Self {
        DiskTerms {
            images_gb,
            features_gb: bytes::FEATURES_MB * f64::from(work.images) / 1000.0,
            depth_gb: bytes::PIXEL * work.gigapixels,
            points_gb: bytes::POINT * work.surface_gigapoints,
            orthomosaic_gb: bytes::ORTHOMOSAIC_PIXEL * work.orthomosaic_gigapixels,
            texture_gb: bytes::TEXEL * work.surface_gigapoints,
        }
    }

    /// The sum of the terms.
    ///
    /// # Units
    /// - returns: 10^9 bytes
    pub fn total_gb(&self) -> f64 {
        let DiskTerms { images_gb, features_gb, depth_gb, points_gb, orthomosaic_gb, texture_gb } = *self;
        images_gb + features_gb + depth_gb + points_gb + orthomosaic_gb + texture_gb
    }
}
