//! What two networks of one strategy are held against each other by; tests and bench share it.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use obliquity_planning::{
    NetworkFigures, NetworkTerms, NoWatch, Outcome, PassPlan, Stations, SurfaceClass, ViewTable,
    network_figures, sight,
};

/// The network of an outcome's stations on other terms.
pub(crate) fn thinned(outcome: &Outcome, terms: NetworkTerms) -> NetworkFigures {
    let site = outcome.site.as_ref().unwrap();
    let tables = tables_of(outcome);
    network_figures(site, &passes_of(&tables), outcome.views.as_ref().unwrap(), terms, &NoWatch).unwrap()
}

/// The stations of each pass that is flown, and what each of them sees.
pub(crate) fn tables_of(outcome: &Outcome) -> Vec<(&Stations, ViewTable)> {
    let site = outcome.site.as_ref().unwrap();
    let of = |plan: &PassPlan| sight(site, &plan.stations, &NoWatch).unwrap();
    outcome.plans().map(|plan| (&*plan.stations, of(plan))).collect()
}

/// The same, borrowed.
pub(crate) fn passes_of<'a>(tables: &'a [(&'a Stations, ViewTable)]) -> Vec<(&'a Stations, &'a ViewTable)> {
    tables.iter().map(|(stations, table)| (*stations, table)).collect()
}

/// Names and figures, in pixels and metres, of the camera and of the classes that matter.
pub(crate) fn told_figures(
    network: &NetworkFigures,
    matters: &dyn Fn(SurfaceClass) -> bool,
) -> Vec<(String, Option<f64>)> {
    let camera = network.calibration.as_ref();
    let mut told = vec![
        ("focal length".to_owned(), camera.and_then(|camera| camera.focal_sigma_px)),
        ("dome".to_owned(), camera.and_then(|camera| camera.doming_m)),
    ];
    for (class, precision) in network.precision.iter().filter(|(class, _)| matters(*class)) {
        for (name, of) in [
            ("horizontal", precision.map(|of| of.horizontal)),
            ("vertical", precision.map(|of| of.vertical)),
            ("normal", precision.map(|of| of.normal)),
        ] {
            told.push((format!("{} {name}, p50", class.name()), of.map(|of| of.p50_m)));
            told.push((format!("{} {name}, p95", class.name()), of.map(|of| of.p95_m)));
        }
    }
    told
}
