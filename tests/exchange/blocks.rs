use obliquity_exchange::parse_scenario;
use obliquity_planning::*;
use std::time::Instant;

fn scenario(name: &str) -> Scenario {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let path =
        if name == "demo" { root.join("assets/demo.ron") } else { root.join(format!("examples/{name}.ron")) };
    parse_scenario(&std::fs::read_to_string(path).unwrap(), name).unwrap()
}

#[test]
fn scratch() {
    let only = std::env::var("ONLY").unwrap_or_default();
    for name in [
        "demo",
        "tower_facades",
        "bridge",
        "quarry",
        "sandpit",
        "road_corridor",
        "suburb",
        "aircraft_at_equal_gsd",
    ] {
        if !only.is_empty() && !only.split(',').any(|o| o == name) {
            continue;
        }
        let s = scenario(name);
        println!("== {name}");
        for st in &s.strategies {
            if std::env::var("ST").is_ok_and(|n| !st.name.contains(&n)) {
                continue;
            }
            let store = Store::new(1 << 28);
            let ev = Evaluator { store: &store, watch: &NoWatch };
            let t0 = Instant::now();
            let v = ev.evaluate(&s, st.id, Depth::Views).unwrap();
            let tv = t0.elapsed().as_secs_f64();
            let t0 = Instant::now();
            let o = ev.evaluate(&s, st.id, Depth::Network).unwrap();
            let tn = t0.elapsed().as_secs_f64();
            let Some(n) = &o.network else {
                println!("{}: no ({:?})", st.name, v.reasons);
                continue;
            };
            println!(
                "{}: {} images, views {tv:.2} s, network {tn:.2} s; {} ties; held {:?}",
                st.name,
                v.load.as_ref().unwrap().image_count,
                n.ties.len(),
                n.held
            );
            println!(
                "   parts {:?} bridge {:?}",
                n.parts
                    .iter()
                    .map(|p| (p.images.len(), p.area_m2(), p.covered_ratio))
                    .take(4)
                    .collect::<Vec<_>>(),
                n.bridge
            );
            println!("   {} parts; {:?}", n.parts.len(), n.calibration);
            for (c, p) in n.precision.iter() {
                if let Some(p) = p {
                    println!(
                        "   {c:?} h {:.1}/{:.1} z {:.1}/{:.1} n {:.1}/{:.1} mm, det {:.3}",
                        p.horizontal.p50_m * 1e3,
                        p.horizontal.p95_m * 1e3,
                        p.vertical.p50_m * 1e3,
                        p.vertical.p95_m * 1e3,
                        p.normal.p50_m * 1e3,
                        p.normal.p95_m * 1e3,
                        p.determined_ratio
                    );
                }
            }
        }
    }
}
