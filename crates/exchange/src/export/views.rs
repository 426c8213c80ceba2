//! `views.csv`: which sample is in which station's frame, and whether that view counts.

use super::{ExportError, Sampled};
use obliquity_planning::{
    Scenario, SiteModel, Stations, ViewLimits, ViewTable, Watch, counted_masks, framed, sight,
};
use std::io::{self, Write};

/// The passes of a strategy with what their stations frame and see.
pub(super) struct Passes<'a> {
    site: &'a SiteModel,
    limits: ViewLimits,
    passes: Vec<PassViews<'a>>,
}

struct PassViews<'a> {
    stations: &'a Stations,
    framed: ViewTable,
    seen: ViewTable,
}

impl<'a> Passes<'a> {
    /// Works the sight of every pass out anew; a view table is not part of an outcome.
    pub(super) fn see(
        scenario: &Scenario,
        sampled: &Sampled<'a>,
        watch: &dyn Watch,
    ) -> Result<Self, ExportError> {
        let (site, outcome) = (sampled.site, sampled.outcome);
        let see = |stations: &'a Stations| {
            Ok(PassViews {
                stations,
                framed: framed(site, stations, watch)?,
                seen: sight(site, stations, watch)?,
            })
        };
        let passes: Result<Vec<PassViews<'_>>, ExportError> =
            outcome.passes.iter().map(|planned| see(&planned.plan.stations)).collect();
        Ok(Passes { site, limits: ViewLimits::from(&scenario.requirement), passes: passes? })
    }

    /// Writes the rows, pass by pass, tile by tile, station by station.
    pub(super) fn rows(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "sample,pass,index,counted")?;
        for (pass, views) in self.passes.iter().enumerate() {
            for tile in 0..self.site.tiles.len() {
                self.tile_rows(out, pass + 1, views, tile)?;
            }
        }
        Ok(())
    }

    fn tile_rows(
        &self,
        out: &mut dyn Write,
        pass: usize,
        views: &PassViews<'_>,
        tile: usize,
    ) -> io::Result<()> {
        let first_sample = self.site.tiles[tile].first_sample;
        let counted = counted_masks(self.site, tile, views.stations, &views.seen, &self.limits);
        let mut counted = counted.into_iter().peekable();
        for view in views.framed.of_tile(tile) {
            // Both lists go through the stations in order.
            while counted.next_if(|&(station, _)| station < view.station).is_some() {}
            let mask = counted.next_if(|&(station, _)| station == view.station).map_or(0, |(_, mask)| mask);
            for lane in (0..u64::BITS).filter(|lane| view.samples >> lane & 1 == 1) {
                let (sample, station) = (first_sample + lane, view.station);
                writeln!(out, "{sample},{pass},{station},{}", mask >> lane & 1)?;
            }
        }
        Ok(())
    }
}
