use egui::epaint::{ImageData, ImageDelta};
use egui::{Color32, TextureFilter, TextureId, TextureOptions, TextureWrapMode, TexturesDelta};
use std::collections::BTreeMap;

/// A colour as four numbers from 0 to 1: premultiplied, gamma space.
pub(super) type Rgba = [f32; 4];

/// The textures that egui has sent, by identifier.
#[derive(Debug, Default)]
pub(super) struct Textures {
    by_id: BTreeMap<TextureKey, Texture>,
}

/// An identifier that can be ordered.
type TextureKey = (u8, u64);

fn key(id: TextureId) -> TextureKey {
    match id {
        TextureId::Managed(number) => (0, number),
        TextureId::User(number) => (1, number),
    }
}

impl Textures {
    pub(super) fn get(&self, id: TextureId) -> Option<&Texture> {
        self.by_id.get(&key(id))
    }

    pub(super) fn set(&mut self, delta: &mut TexturesDelta) {
        #[expect(clippy::iter_over_hash_type, reason = "textures do not depend on each other's order")]
        for (id, changes) in delta.set.drain() {
            for change in changes {
                self.change(key(id), change);
            }
        }
    }

    pub(super) fn free(&mut self, delta: &mut TexturesDelta) {
        #[expect(clippy::iter_over_hash_type, reason = "textures do not depend on each other's order")]
        for id in delta.free.drain() {
            self.by_id.remove(&key(id));
        }
    }

    fn change(&mut self, key: TextureKey, change: ImageDelta) {
        let ImageData::Color(image) = change.image;
        match change.pos {
            None => {
                let texture = Texture {
                    width: image.size[0],
                    height: image.size[1],
                    texels: image.pixels.clone(),
                    options: change.options,
                };
                self.by_id.insert(key, texture);
            }
            Some(at) => {
                if let Some(texture) = self.by_id.get_mut(&key) {
                    texture.patch(at, image.size, &image.pixels);
                }
            }
        }
    }
}

/// One texture, row by row from the top.
#[derive(Debug)]
pub(super) struct Texture {
    width: usize,
    height: usize,
    texels: Vec<Color32>,
    options: TextureOptions,
}

impl Texture {
    /// Overwrites the rectangle of `size` texels whose first texel is `at`; what hangs over is left out.
    fn patch(&mut self, at: [usize; 2], size: [usize; 2], texels: &[Color32]) {
        let columns = size[0].min(self.width.saturating_sub(at[0]));
        let rows = size[1].min(self.height.saturating_sub(at[1]));
        for row in 0..rows {
            let to = (at[1] + row) * self.width + at[0];
            let from = row * size[0];
            self.texels[to..to + columns].copy_from_slice(&texels[from..from + columns]);
        }
    }

    /// The texture's colour at (u, v), each 0 to 1 across it.
    pub(super) fn sample(&self, u: f32, v: f32) -> Rgba {
        if self.texels.is_empty() {
            return [1.0; 4];
        }
        let x = u * self.width as f32;
        let y = v * self.height as f32;
        match self.options.magnification {
            TextureFilter::Nearest => self.texel(x.floor(), y.floor()),
            TextureFilter::Linear => self.bilinear(x - 0.5, y - 0.5),
        }
    }

    fn bilinear(&self, x: f32, y: f32) -> Rgba {
        let (left, top) = (x.floor(), y.floor());
        let (right_share, bottom_share) = (x - left, y - top);
        let upper = mix(self.texel(left, top), self.texel(left + 1.0, top), right_share);
        let lower = mix(self.texel(left, top + 1.0), self.texel(left + 1.0, top + 1.0), right_share);
        mix(upper, lower, bottom_share)
    }

    fn texel(&self, x: f32, y: f32) -> Rgba {
        let column = wrap(x, self.width, self.options.wrap_mode);
        let row = wrap(y, self.height, self.options.wrap_mode);
        rgba(self.texels[row * self.width + column])
    }
}

/// The index inside 0..len that a whole number outside it stands for.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "both ends are inside 0..len")]
fn wrap(at: f32, len: usize, mode: TextureWrapMode) -> usize {
    let len_f = len as f32;
    let inside = match mode {
        TextureWrapMode::ClampToEdge => at,
        TextureWrapMode::Repeat => at.rem_euclid(len_f),
        TextureWrapMode::MirroredRepeat => {
            let at = at.rem_euclid(2.0 * len_f);
            if at < len_f { at } else { 2.0 * len_f - 1.0 - at }
        }
    };
    inside.clamp(0.0, len_f - 1.0) as usize
}

pub(super) fn rgba(color: Color32) -> Rgba {
    color.to_array().map(|byte| f32::from(byte) / 255.0)
}

fn mix(a: Rgba, b: Rgba, share: f32) -> Rgba {
    std::array::from_fn(|i| a[i] + (b[i] - a[i]) * share)
}
