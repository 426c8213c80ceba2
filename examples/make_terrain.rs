//! Makes the two invented terrains of the examples, as a grid of heights or put under the site of a scenario.
//!
//! `cargo run -p obliquity-exchange --example make_terrain -- quarry quarry.asc`
//! `cargo run -p obliquity-exchange --example make_terrain -- valley bridge.ron bridge_on_valley.ron`

#![allow(clippy::print_stdout, reason = "an example talks to who runs it")]

#[path = "terrain_shapes.rs"]
mod terrain_shapes;

use obliquity_exchange::{read_scenario, save_scenario};
use obliquity_planning::{Terrain, TerrainGrid};
use std::error::Error;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;
use terrain_shapes::Shape;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let usage = "give quarry or valley, then the .asc file to write, or a scenario to read and one to write";
    let (shape, files) = words.split_first().ok_or(usage)?;
    let grid = Shape::named(shape).ok_or(usage)?.grid()?;
    match files {
        [raster] => std::fs::write(raster, ascii(&grid))?,
        [from, to] => {
            let mut scenario = read_scenario(Path::new(from))?;
            Arc::make_mut(&mut scenario.site).terrain = Terrain::Grid(Arc::new(grid));
            save_scenario(Path::new(to), &scenario)?;
        }
        _ => return Err(usage.into()),
    }
    println!("{}: written", files[files.len() - 1]);
    Ok(())
}

/// The grid as Esri ASCII text, heights to the millimetre.
fn ascii(grid: &TerrainGrid) -> String {
    let ((columns, rows), from) = (grid.size(), grid.south_west_m());
    let mut text = format!(
        "ncols {columns}\nnrows {rows}\nxllcenter {}\nyllcenter {}\ncellsize {}\nnodata_value -9999\n",
        from.x,
        from.y,
        grid.spacing_m().x
    );
    for row in (0..rows).rev() {
        for column in 0..columns {
            // writing to a string cannot fail
            let _ = write!(text, "{:.3} ", grid.node_m(column, row));
        }
        text.push('\n');
    }
    text
}
