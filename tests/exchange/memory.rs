//! How much memory a very large picture takes: a process of its own, since the system tells the most that a process ever had.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on had better stop")]
#![cfg(target_os = "linux")]

use obliquity_exchange::{MOST_SHOWN_PX, read_picture};
use obliquity_planning::NoWatch;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;

const SIDE: u32 = 20_000;

/// What a picture of 20,000 by 20,000 pixels may take.
const MOST_MB: u64 = 500;

/// Megabytes that this process has had in memory at most.
fn peak_mb() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmHWM:")).unwrap();
    line.split_ascii_whitespace().nth(1).unwrap().parse::<u64>().unwrap() / 1024
}

/// A tile of 512 pixels as JPEG, of one colour.
fn tile() -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/pictures/tile.jpg")).unwrap()
}

/// A `BigTIFF` whose tiles are all the same bytes of the file.
fn write_tiff(path: &Path) {
    let tile = tile();
    let count = u64::from(SIDE.div_ceil(512)).pow(2);
    let entry = |tag: u16, kind: u16, count: u64, value: u64| {
        let head = [tag.to_le_bytes(), kind.to_le_bytes()].concat();
        [head, count.to_le_bytes().to_vec(), value.to_le_bytes().to_vec()].concat()
    };
    let entries = 10;
    let after = 16 + 8 + entries * 20 + 8;
    let (offsets, sizes) = (after, after + 8 * count);
    let data = sizes + 8 * count;
    let mut file = BufWriter::new(File::create(path).unwrap());
    file.write_all(b"II+\0\x08\0\0\0").unwrap();
    file.write_all(&16_u64.to_le_bytes()).unwrap();
    file.write_all(&entries.to_le_bytes()).unwrap();
    let (short, long8) = (3, 16);
    for (tag, kind, count, value) in [
        (256, 4, 1, u64::from(SIDE)),
        (257, 4, 1, u64::from(SIDE)),
        (258, short, 3, 0x0008_0008_0008),
        (259, short, 1, 7),
        (262, short, 1, 6),
        (277, short, 1, 3),
        (322, short, 1, 512),
        (323, short, 1, 512),
        (324, long8, count, offsets),
        (325, long8, count, sizes),
    ] {
        file.write_all(&entry(tag, kind, count, value)).unwrap();
    }
    file.write_all(&0_u64.to_le_bytes()).unwrap();
    for _ in 0..count {
        file.write_all(&data.to_le_bytes()).unwrap();
    }
    for _ in 0..count {
        file.write_all(&(tile.len() as u64).to_le_bytes()).unwrap();
    }
    file.write_all(&tile).unwrap();
    file.into_inner().unwrap();
}

fn write_png(path: &Path) {
    let mut encoder = png::Encoder::new(BufWriter::new(File::create(path).unwrap()), SIDE, SIDE);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::Fast);
    let mut writer = encoder.write_header().unwrap();
    let mut stream = writer.stream_writer().unwrap();
    let row: Vec<u8> = (0..3 * SIDE).map(|k| (k / 3 % 251) as u8).collect();
    for _ in 0..SIDE {
        stream.write_all(&row).unwrap();
    }
    stream.finish().unwrap();
}

/// A baseline JPEG of one colour: the head of a small one with another size, then for each block of eight by eight pixels in
/// each of three colours "no step" and "nothing more" in the usual codes: 00 1010, 00 00, 00 00.
fn write_jpeg(path: &Path) {
    let mut head = tile();
    let at = |marker: [u8; 2], bytes: &[u8]| bytes.windows(2).position(|two| two == marker).unwrap();
    let frame = at([0xff, 0xc0], &head);
    head[frame + 5..frame + 7].copy_from_slice(&(SIDE as u16).to_be_bytes());
    head[frame + 7..frame + 9].copy_from_slice(&(SIDE as u16).to_be_bytes());
    let scan = at([0xff, 0xda], &head);
    let length = usize::from(u16::from_be_bytes([head[scan + 2], head[scan + 3]]));
    head.truncate(scan + 2 + length);
    let bits = "00101000000000".repeat(4);
    let bytes: Vec<u8> = (0..7).map(|k| u8::from_str_radix(&bits[8 * k..8 * k + 8], 2).unwrap()).collect();
    let blocks = (SIDE as usize).div_ceil(8).pow(2);
    let mut file = BufWriter::new(File::create(path).unwrap());
    file.write_all(&head).unwrap();
    for _ in 0..blocks.div_ceil(4) {
        file.write_all(&bytes).unwrap();
    }
    file.write_all(&[0xff, 0xd9]).unwrap();
    file.into_inner().unwrap();
}

/// Writes a picture of one kind.
type WritePicture = fn(&Path);

/// Derived: what is shown is bounded, and so is what it takes to get there, whatever the file. The most that the process ever
/// had only grows: the bound holds for each.
#[test]
fn pictures_of_400_megapixels_take_less_than_500_megabytes() {
    let folder = tempfile::tempdir().unwrap();
    let kinds = [("a.tif", write_tiff as WritePicture), ("a.png", write_png), ("a.jpg", write_jpeg)];
    for (name, write) in kinds {
        let path = folder.path().join(name);
        write(&path);
        let read = read_picture(&path, &NoWatch).unwrap();
        let peak_mb = peak_mb();
        assert_eq!((read.columns, read.rows, read.factor), (20_000, 20_000, 4), "{name}");
        let pixels: usize = read.tiles.iter().map(|tile| tile.rgba.len() / 4).sum();
        assert!(pixels <= MOST_SHOWN_PX && pixels == 5000 * 5000, "{name}: {pixels}");
        assert!(read.tiles.iter().all(|tile| tile.rgba.chunks(4).all(|pixel| pixel[3] == 255)), "{name}");
        assert!(peak_mb < MOST_MB, "{name}: {peak_mb} MB");
        fs::remove_file(path).unwrap();
    }
}
