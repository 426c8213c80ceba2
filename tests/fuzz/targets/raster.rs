//! Heights as Esri ASCII grids and GeoTIFF, each as its own file says and taken as metres of the site's frame.
#![no_main]

use glam::DVec2;
use libfuzzer_sys::fuzz_target;
use obliquity_exchange::{RasterFrame, parse_terrain};
use obliquity_planning::{GeoPoint, Site, Terrain};

fn site() -> Site {
    Site {
        name: "Yard".to_owned(),
        origin: Some(GeoPoint { latitude_deg: 51.0, longitude_deg: 7.0 }),
        boundary_m: [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)].map(DVec2::from).to_vec(),
        take_off_m: DVec2::new(10.0, 10.0),
        terrain: Terrain::default(),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}

fuzz_target!(|bytes: &[u8]| {
    let site = site();
    for frame in [RasterFrame::OfFile, RasterFrame::Local] {
        if let Err(error) = parse_terrain(bytes, "fuzz", &site, frame) {
            assert!(!error.faults.is_empty() && error.to_string().starts_with("fuzz"));
        }
    }
});
