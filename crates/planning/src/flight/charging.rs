//! Battery sets in turn: which one flies next, and whether the crew waits for a charger.

use super::record::Sortie;
use crate::scenario::Charging;

/// Gives each sortie its battery set and the wait before it.
///
/// Sets are flown in turn; a set goes on a charger as soon as one is free after its landing, and charging takes as much of
/// the full time as the share of its usable energy that was flown; it goes on while the crew moves. With no charging, each set flies once and further ones
/// are numbered on.
pub(super) fn hand_out(sorties: &mut [Sortie], sets: u32, charging: Option<&Charging>, swap_s: f64) {
    let sets = sets.max(1) as usize;
    let mut ready_s = vec![0.0_f64; sets];
    let mut chargers_s = vec![0.0_f64; charging.map_or(0, |c| c.at_once.max(1)) as usize];
    let mut clock_s = 0.0;
    for (k, sortie) in sorties.iter_mut().enumerate() {
        if k > 0 {
            clock_s += swap_s + sortie.move_s;
        }
        let Some(charging) = charging else {
            sortie.battery = k as u32 + 1;
            continue;
        };
        let set = (0..sets).min_by(|&a, &b| ready_s[a].total_cmp(&ready_s[b])).unwrap_or(0);
        sortie.battery = set as u32 + 1;
        sortie.wait_s = (ready_s[set] - clock_s).max(0.0);
        clock_s += sortie.wait_s + sortie.duration_s;
        let share = (sortie.energy_j / sortie.usable_j).clamp(0.0, 1.0);
        let charger = chargers_s.iter_mut().min_by(|a, b| a.total_cmp(b));
        if let Some(free_s) = charger {
            *free_s = free_s.max(clock_s) + charging.charge_min * 60.0 * share;
            ready_s[set] = *free_s;
        }
    }
}
