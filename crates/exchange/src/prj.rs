//! The `.prj` file beside coordinates, which says in well-known text what they are in.

use crate::files::read_bounded;
use crate::{FileError, FileErrorKind};
use std::path::Path;

/// Longest text that is read; they are a few hundred bytes.
const MOST_BYTES: u64 = 1 << 16;

/// Deepest nesting that is read.
const MOST_DEPTH: usize = 20;

/// Coordinates that are understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PlaneSystem {
    /// Longitude and latitude.
    Degrees,
    /// A zone of the universal grid.
    Utm { zone: u8, south: bool },
}

/// What a file says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PrjRead {
    pub(crate) system: PlaneSystem,
    /// A sentence for people, where a datum near WGS 84 is taken for it.
    pub(crate) note: Option<String>,
}

/// Reads the `.prj` file beside another file; nothing where there is none.
pub(crate) fn beside(file: &Path) -> Result<Option<PrjRead>, FileError> {
    let names = ["prj", "PRJ"].map(|ending| file.with_extension(ending));
    let Some(path) = names.into_iter().find(|path| path.is_file()) else { return Ok(None) };
    let bytes = read_bounded(&path, MOST_BYTES)?;
    parse(&String::from_utf8_lossy(&bytes), &path.display().to_string()).map(Some)
}

/// Reads well-known text; `name` is the file's in messages.
///
/// # Errors
/// When it is none, or of a system that is not understood: then with its name.
pub(crate) fn parse(text: &str, name: &str) -> Result<PrjRead, FileError> {
    let mut rest = text.trim_start_matches('\u{feff}').trim();
    let node = node(&mut rest, 0).ok_or_else(|| {
        let told = "a .prj file must hold well-known text (GEOGCS[…] or PROJCS[…]), but this does not; export the data again \
                    in WGS 84";
        FileError::new(name, FileErrorKind::Syntax, told)
    })?;
    system(&node).map_err(|told| FileError::new(name, FileErrorKind::Invalid, told))
}

/// A word with what stands in its brackets.
#[derive(Debug)]
struct Node {
    word: String,
    texts: Vec<String>,
    numbers: Vec<f64>,
    nodes: Vec<Node>,
}

fn node(rest: &mut &str, depth: usize) -> Option<Node> {
    let length = rest.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))?;
    let word = rest[..length].to_ascii_uppercase();
    *rest = rest[length..].trim_start().strip_prefix(['[', '('])?;
    let mut node = Node { word, texts: Vec::new(), numbers: Vec::new(), nodes: Vec::new() };
    if depth > MOST_DEPTH {
        return None;
    }
    loop {
        *rest = rest.trim_start();
        if let Some(text) = rest.strip_prefix('"') {
            let (text, after) = text.split_once('"')?;
            node.texts.push(text.to_owned());
            *rest = after;
        } else {
            let length = rest.find([',', '[', '(', ']', ')'])?;
            match rest[length..].chars().next()? {
                '[' | '(' => node.nodes.push(self::node(rest, depth + 1)?),
                _ => {
                    let word = rest[..length].trim();
                    node.numbers.extend(word.parse::<f64>().ok().filter(|number| number.is_finite()));
                    *rest = &rest[length..];
                }
            }
        }
        *rest = rest.trim_start();
        let mark = rest.chars().next()?;
        *rest = &rest[1..];
        match mark {
            ',' => {}
            ']' | ')' => return Some(node),
            _ => return None,
        }
    }
}

impl Node {
    fn is(&self, words: &[&str]) -> bool {
        words.contains(&self.word.as_str())
    }

    fn name(&self) -> &str {
        self.texts.first().map_or("without a name", String::as_str)
    }

    fn child(&self, words: &[&str]) -> Option<&Node> {
        self.nodes.iter().find(|node| node.is(words))
    }

    /// A parameter of a projection, wherever it nests, by the beginning of one of its names.
    fn parameter(&self, names: &[&str]) -> Option<f64> {
        let plain = |text: &str| text.to_lowercase().replace('_', " ");
        let own = self.is(&["PARAMETER"]) && names.iter().any(|name| plain(self.name()).starts_with(name));
        if own {
            return self.numbers.first().copied();
        }
        self.nodes.iter().find_map(|node| node.parameter(names))
    }
}

const GEOGRAPHIC: [&str; 4] = ["GEOGCS", "GEOGCRS", "GEODCRS", "BASEGEOGCRS"];

fn system(node: &Node) -> Result<PrjRead, String> {
    let refused = || {
        format!(
            "coordinates must be in WGS 84 or a UTM zone, but these are in {:?}; convert the data to WGS 84",
            node.name()
        )
    };
    if node.is(&GEOGRAPHIC) {
        let note = datum(node, refused)?;
        return Ok(PrjRead { system: PlaneSystem::Degrees, note });
    }
    if !node.is(&["PROJCS", "PROJCRS"]) {
        return Err(refused());
    }
    let base = node.child(&[GEOGRAPHIC.as_slice(), &["BASEGEODCRS"]].concat()).ok_or_else(refused)?;
    let note = datum(base, refused)?;
    let system = utm(node).ok_or_else(refused)?;
    Ok(PrjRead { system, note })
}

/// What is to be noted where a datum is near enough to WGS 84 to be taken for it; any other is refused.
fn datum(node: &Node, refused: impl Fn() -> String) -> Result<Option<String>, String> {
    let datum = node.child(&["DATUM", "ENSEMBLE"]).ok_or_else(&refused)?;
    let plain: String = datum.name().to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
    let plain = plain.strip_prefix("d").filter(|rest| !rest.starts_with("atum")).unwrap_or(&plain);
    if ["wgs1984", "wgs84", "worldgeodeticsystem1984"].iter().any(|known| plain.starts_with(known)) {
        return Ok(None);
    }
    let near = [
        "etrs1989",
        "etrs89",
        "europeanterrestrialreferencesystem1989",
        "northamericandatum1983",
        "northamerican1983",
    ];
    if !near.iter().any(|known| plain.starts_with(known)) {
        return Err(refused());
    }
    Ok(Some(format!(
        "the datum {} is taken as WGS 84: the two differ by up to a metre or two, the same all over the site",
        datum.name()
    )))
}

/// The zone whose numbers a projection has.
fn utm(node: &Node) -> Option<PlaneSystem> {
    let conversion = node.child(&["CONVERSION"]).unwrap_or(node);
    let method = conversion.child(&["PROJECTION", "METHOD"])?;
    if !method.name().to_lowercase().replace('_', " ").starts_with("transverse mercator") {
        return None;
    }
    let unit = node
        .child(&["UNIT", "LENGTHUNIT"])
        .or_else(|| node.nodes.iter().find_map(|n| n.child(&["LENGTHUNIT"])));
    let is = |names: &[&str], expected: f64| {
        node.parameter(names).is_some_and(|found| (found - expected).abs() < 1e-9)
    };
    let metres = unit.and_then(|unit| unit.numbers.first()).is_none_or(|scale| *scale == 1.0);
    let grid = metres
        && is(&["scale factor"], 0.9996)
        && is(&["false easting"], 500_000.0)
        && is(&["latitude of origin", "latitude of natural origin"], 0.0);
    let south =
        if is(&["false northing"], 0.0) { Some(false) } else { is(&["false northing"], 1e7).then_some(true) };
    let zone = (node.parameter(&["central meridian", "longitude of natural origin"])? + 183.0) / 6.0;
    let whole = grid && zone.fract() == 0.0 && (1.0..=60.0).contains(&zone);
    whole.then_some(PlaneSystem::Utm { zone: zone as u8, south: south? })
}

#[cfg(test)]
mod tests {
    use super::*;

    const ESRI: &str = r#"PROJCS["WGS_1984_UTM_Zone_32N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]"#;
    const LATER: &str = r#"PROJCRS["WGS 84 / UTM zone 56S",BASEGEOGCRS["WGS 84",ENSEMBLE["World Geodetic System 1984 ensemble",MEMBER["World Geodetic System 1984 (Transit)"],ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]],ENSEMBLEACCURACY[2.0]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]],ID["EPSG",4326]],CONVERSION["UTM zone 56S",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",0,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8801]],PARAMETER["Longitude of natural origin",153,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8802]],PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1],ID["EPSG",8805]],PARAMETER["False easting",500000,LENGTHUNIT["metre",1],ID["EPSG",8806]],PARAMETER["False northing",10000000,LENGTHUNIT["metre",1],ID["EPSG",8807]]],CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["metre",1]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["metre",1]],ID["EPSG",32756]]"#;
    const DEGREES: &str = r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#;

    fn read(text: &str) -> Result<PrjRead, FileError> {
        parse(text, "a.prj")
    }

    /// Cross-check: the texts as pyproj 3.7.2 (PROJ 9.5.1) writes them for EPSG 32632, 32756, 4326 and 25832.
    #[test]
    fn systems_are_those_that_a_general_library_writes() {
        let utm = |zone, south| PlaneSystem::Utm { zone, south };
        for (text, system) in
            [(ESRI, utm(32, false)), (LATER, utm(56, true)), (DEGREES, PlaneSystem::Degrees)]
        {
            assert_eq!(read(text).unwrap(), PrjRead { system, note: None });
        }
        let later = r#"GEOGCRS["WGS 84",ENSEMBLE["World Geodetic System 1984 ensemble",ELLIPSOID["WGS 84",6378137,298.257223563]],CS[ellipsoidal,2]]"#;
        assert_eq!(read(later).unwrap().system, PlaneSystem::Degrees);
        let near = read(&ESRI.replace("D_WGS_1984", "D_ETRS_1989")).unwrap();
        assert_eq!(near.system, utm(32, false));
        assert!(near.note.unwrap().contains("D_ETRS_1989 is taken as WGS 84"));
    }

    #[test]
    fn anything_else_is_refused_with_its_name() {
        for (from, to) in [
            ("9.0", "9.5"),
            ("9.0", "189.0"),
            ("0.9996", "1.0"),
            ("500000.0", "3500000.0"),
            ("\"Meter\",1.0", "\"Foot_US\",0.3048006"),
            ("Transverse_Mercator", "Lambert_Conformal_Conic"),
            ("D_WGS_1984", "D_Deutsches_Hauptdreiecksnetz"),
            ("D_WGS_1984", "D_WGS_1972"),
            ("PROJCS", "LOCAL_CS"),
        ] {
            assert!(ESRI.contains(from));
            let error = read(&ESRI.replacen(from, to, 1)).unwrap_err().to_string();
            let told = "these are in \"WGS_1984_UTM_Zone_32N\"; convert the data to WGS 84";
            assert!(error.contains(told), "{to}: {error}");
        }
    }

    /// Hostile: cut anywhere, or nested without end, it is an error and never a panic.
    #[test]
    fn broken_text_is_an_error() {
        for cut in 0..ESRI.len() {
            assert!(read(&ESRI[..cut]).is_err(), "{cut}");
        }
        let deep = "PROJCS[".repeat(5000);
        for text in ["", "[", "A[", "A[\"", "A[1", "A[]]", "PROJCS[\"é\u{0}\",é]", deep.as_str()] {
            assert!(read(text).is_err(), "{text:.40}");
        }
    }
}
