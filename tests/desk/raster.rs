//! The rasteriser: seams, blending, clipping, textures.

use egui::epaint::{ClippedPrimitive, ImageDelta, Mesh, Primitive, Vertex, WHITE_UV};
use egui::{Color32, ColorImage, Pos2, Rect, TextureId, TextureOptions, TexturesDelta, pos2};
use obliquity::picture::{self, PictureSize};
use obliquity::theme::Mode;
use obliquity_raster::{Image, Raster};
use rand_distr::{Distribution, Uniform};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;

const SIZE: (usize, usize) = (8, 8);

/// A renderer whose only texture is one white texel, as the font's first texel is.
fn white() -> Raster {
    let mut raster = Raster::default();
    set(
        &mut raster,
        TextureId::default(),
        ImageDelta::full(image([1, 1], &[Color32::WHITE]), TextureOptions::LINEAR),
    );
    raster
}

fn image(size: [usize; 2], texels: &[Color32]) -> ColorImage {
    ColorImage::new(size, texels.to_vec())
}

fn set(raster: &mut Raster, id: TextureId, change: ImageDelta) {
    let mut delta = TexturesDelta::default();
    delta.push(id, change);
    raster.set_textures(&mut delta);
}

fn triangles(corners: &[(f32, f32)], color: Color32) -> Mesh {
    let vertices = corners.iter().map(|&(x, y)| Vertex { pos: pos2(x, y), uv: WHITE_UV, color }).collect();
    Mesh {
        indices: (0..u32::try_from(corners.len()).unwrap()).collect(),
        vertices,
        texture_id: TextureId::default(),
    }
}

fn clipped(mesh: Mesh, clip_rect: Rect) -> ClippedPrimitive {
    ClippedPrimitive { clip_rect, primitive: Primitive::Mesh(mesh) }
}

fn paint(raster: &Raster, meshes: Vec<Mesh>, background: Color32) -> Image {
    let primitives: Vec<_> = meshes.into_iter().map(|mesh| clipped(mesh, Rect::EVERYTHING)).collect();
    raster.paint(&primitives, SIZE, 1.0, background)
}

// Derived: two triangles of half opacity make a square; every pixel inside is touched once, whatever the diagonal:
// 0 + 128 premultiplied white over black is 128.
#[test]
fn triangles_that_share_an_edge_neither_overlap_nor_leave_a_seam() {
    let half = Color32::from_rgba_premultiplied(128, 128, 128, 128);
    let (a, b, c, d) = ((1.0, 1.0), (6.0, 1.0), (6.0, 7.0), (1.0, 7.0));
    for corners in [[a, b, c, a, c, d], [a, b, d, b, c, d]] {
        let painted = paint(&white(), vec![triangles(&corners, half)], Color32::BLACK);
        for row in 0..8 {
            for column in 0..8 {
                let inside = (1..6).contains(&column) && (1..7).contains(&row);
                let expected = if inside { Color32::from_rgb(128, 128, 128) } else { Color32::BLACK };
                assert_eq!(painted.at(column, row), expected, "{column} {row}");
            }
        }
    }
}

// Derived: a fan about a point inside a pixel, whose edges cross pixel centres, covers each pixel once.
#[test]
fn a_fan_covers_each_pixel_once() {
    let ring =
        [(0.0, 0.0), (4.5, 0.0), (8.0, 0.0), (8.0, 4.5), (8.0, 8.0), (4.5, 8.0), (0.0, 8.0), (0.0, 4.5)];
    let hub = (4.5, 4.5);
    let corners: Vec<_> = (0..8).flat_map(|i| [hub, ring[i], ring[(i + 1) % 8]]).collect();
    let thin = Color32::from_rgba_premultiplied(10, 10, 10, 10);
    let painted = paint(&white(), vec![triangles(&corners, thin)], Color32::TRANSPARENT);
    assert!(painted.pixels.iter().all(|pixel| *pixel == thin), "{:?}", painted.pixels);
}

// Derived: premultiplied over in gamma space: 60 + 200 × (1 − 100/255) = 181.57, 0 + 100 × 155/255 = 60.78.
#[test]
fn colours_are_blended_premultiplied_in_gamma_space() {
    let over = Color32::from_rgba_premultiplied(60, 0, 100, 100);
    let square = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 0.0), (8.0, 8.0), (0.0, 8.0)];
    let painted = paint(&white(), vec![triangles(&square, over)], Color32::from_rgb(200, 100, 0));
    assert_eq!(painted.at(3, 3), Color32::from_rgb(182, 61, 100));
}

/// Derived: a triangle of one colour is filled in runs, one whose corners have different places in a texture pixel by pixel;
/// the texture is white all over, so both give the same image, opaque or not, to the last bit.
#[test]
fn runs_and_single_pixels_give_the_same_image() {
    let mut dice = Pcg64::seed_from_u64(7);
    let mut share = |low: f64, high: f64| Uniform::new(low, high).unwrap().sample(&mut dice);
    let meshes: Vec<Mesh> = (0..60)
        .map(|turn| {
            let corners = [(); 3].map(|()| (share(-4.0, 12.0) as f32, share(-4.0, 12.0) as f32));
            let alpha = if turn % 2 == 0 { 255.0 } else { share(0.0, 255.0) };
            let [r, g, b] = [(); 3].map(|()| share(0.0, alpha + 1.0) as u8);
            triangles(&corners, Color32::from_rgba_premultiplied(r, g, b, alpha as u8))
        })
        .collect();
    let mut apart = meshes.clone();
    for mesh in &mut apart {
        for (vertex, u) in mesh.vertices.iter_mut().zip([0.25, 0.5, 0.75]) {
            vertex.uv = pos2(u, 0.5);
        }
    }
    for count in 1..=meshes.len() {
        let background = Color32::from_rgb(30, 60, 90);
        let of = |meshes: &[Mesh]| paint(&white(), meshes[..count].to_vec(), background);
        assert_eq!(of(&meshes), of(&apart), "{count} triangles");
    }
}

#[test]
fn nothing_is_drawn_outside_the_clip() {
    let square = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 0.0), (8.0, 8.0), (0.0, 8.0)];
    let mesh = triangles(&square, Color32::WHITE);
    let clip = Rect::from_min_max(pos2(2.0, 3.0), pos2(5.0, 4.0));
    let painted = white().paint(&[clipped(mesh, clip)], SIZE, 1.0, Color32::BLACK);
    let white_ones = painted.pixels.iter().filter(|pixel| **pixel == Color32::WHITE).count();
    assert_eq!(white_ones, 3);
    assert_eq!(
        (painted.at(2, 3), painted.at(4, 3), painted.at(5, 3)),
        (Color32::WHITE, Color32::WHITE, Color32::BLACK)
    );
}

/// A square over the whole image that shows the whole texture.
fn textured(id: TextureId) -> Mesh {
    let mut mesh = Mesh::with_texture(id);
    let whole = |to: f32| Rect::from_min_max(Pos2::ZERO, pos2(to, to));
    mesh.add_rect_with_uv(whole(8.0), whole(1.0), Color32::WHITE);
    mesh
}

// Derived: two texels over eight pixels; pixel centre x has texture coordinate x/4 − 0.5: at 3.5 it is 0.375, so the
// colour is 255 × 0.375 = 95.6; the ends are clamped.
#[test]
fn textures_are_sampled_between_their_texels() {
    let mut raster = Raster::default();
    let texture = image([2, 1], &[Color32::BLACK, Color32::WHITE]);
    set(&mut raster, TextureId::Managed(7), ImageDelta::full(texture.clone(), TextureOptions::LINEAR));
    let painted = paint(&raster, vec![textured(TextureId::Managed(7))], Color32::RED);
    assert_eq!(painted.at(0, 0), Color32::BLACK);
    assert_eq!(painted.at(3, 5), Color32::from_rgb(96, 96, 96));
    assert_eq!(painted.at(7, 0), Color32::WHITE);
    set(&mut raster, TextureId::Managed(7), ImageDelta::full(texture, TextureOptions::NEAREST));
    let painted = paint(&raster, vec![textured(TextureId::Managed(7))], Color32::RED);
    assert_eq!((painted.at(3, 0), painted.at(4, 0)), (Color32::BLACK, Color32::WHITE));
}

#[test]
fn a_texture_can_be_patched_and_freed() {
    let mut raster = Raster::default();
    let id = TextureId::Managed(3);
    set(&mut raster, id, ImageDelta::full(image([2, 2], &[Color32::BLACK; 4]), TextureOptions::NEAREST));
    set(
        &mut raster,
        id,
        ImageDelta::partial([1, 0], image([1, 2], &[Color32::WHITE; 2]), TextureOptions::NEAREST),
    );
    let painted = paint(&raster, vec![textured(id)], Color32::RED);
    assert_eq!((painted.at(0, 0), painted.at(7, 7)), (Color32::BLACK, Color32::WHITE));
    let mut delta = TexturesDelta::default();
    delta.free(id);
    raster.free_textures(&mut delta);
    assert!(delta.is_empty());
    let painted = paint(&raster, vec![textured(id)], Color32::RED);
    assert_eq!(painted.at(0, 0), Color32::WHITE, "without its texture only the vertex colour is left");
}

#[test]
fn rows_of_all_bands_are_drawn() {
    let tall = [(0.0, 0.0), (4.0, 0.0), (4.0, 100.0), (0.0, 0.0), (4.0, 100.0), (0.0, 100.0)];
    let primitives = [clipped(triangles(&tall, Color32::WHITE), Rect::EVERYTHING)];
    let painted = white().paint(&primitives, (4, 100), 1.0, Color32::BLACK);
    assert!(painted.pixels.iter().all(|pixel| *pixel == Color32::WHITE));
}

#[test]
fn a_picture_is_a_png_of_its_size_and_has_text() {
    let canvas = PictureSize { width_px: 160, height_px: 60, pixels_per_point: 2.0, mode: Mode::Light };
    let drawn = picture::draw(&canvas, |ui| {
        ui.label("Sidelap");
    });
    let dark = drawn.pixels.iter().filter(|pixel| pixel.r() < 120).count();
    assert!(dark > 100, "the strokes of seven letters at double size: {dark}");
    let bytes = picture::png_bytes(&drawn).unwrap();
    let reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    assert_eq!((reader.info().width, reader.info().height), (160, 60));
}

#[test]
fn the_same_screen_gives_the_same_picture() {
    let canvas = PictureSize { width_px: 120, height_px: 90, pixels_per_point: 1.0, mode: Mode::Dark };
    let draw = || picture::draw(&canvas, |ui| drop(ui.button("Open…")));
    assert_eq!(draw(), draw());
}
