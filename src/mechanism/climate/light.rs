//! What the sun offers a rig's panels in one hour, for any clearness of the sky.

use crate::domain::Electrics;
use crate::mechanism::factors::{over_panels, rated_w};
use crate::physics::panel::{cool_power_w, plane_of_array_w_m2};
use crate::physics::practice::USUAL_ALBEDO;
use crate::physics::sun;

/// Pieces of clearness that a sky's light is cut into: tilted panels see their share of the beam
/// only as the sky clears.
pub(super) const PIECES: usize = 6;
/// Width of a piece of clearness (share of the clear-sky irradiance that arrives).
pub(super) const PIECE: f64 = 0.2;

/// What the sun offers in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LightHour {
    /// Clear-sky global horizontal irradiance, mean over the hour, in W/m2.
    pub clear_w_m2: f64,
    /// Power of all panels with cool cells and before their factor, in W per unit of clearness,
    /// piece by piece.
    pub(super) watts: [f64; PIECES],
    /// Mean irradiance in the panels' plane, in W/m2 per unit of clearness, piece by piece.
    pub(super) plane: [f64; PIECES],
}

impl LightHour {
    /// Tabulates the panels' plane for one hour. Level panels are exactly linear in clearness, so
    /// the pieces lose nothing; tilted ones are interpolated within a piece.
    pub fn of(sun: &sun::SunHour, electrics: Option<&Electrics>) -> LightHour {
        let mut hour = LightHour { clear_w_m2: sun.clear_w_m2, ..LightHour::default() };
        let Some(electrics) = electrics else { return hour };
        let rated_w = rated_w(electrics);
        if rated_w <= 0.0 || sun.clear_w_m2 <= 0.0 {
            return hour;
        }
        let mean_factor = over_panels(electrics, |panel| panel.factor);
        let (mut watts_below, mut plane_below) = (0.0, 0.0);
        for piece in 0..PIECES {
            let ghi_w_m2 = sun.clear_w_m2 * (piece + 1) as f64 * PIECE;
            let (mut watts, mut plane) = (0.0, 0.0);
            for panel in &electrics.panels {
                let (tilt, facing) = (panel.tilt_deg, panel.facing_deg);
                let own = plane_of_array_w_m2(ghi_w_m2, sun, tilt, facing, USUAL_ALBEDO);
                watts += cool_power_w(panel.rated_w * (panel.factor / mean_factor), own);
                plane += own * panel.rated_w / rated_w;
            }
            hour.watts[piece] = (watts - watts_below) / PIECE;
            hour.plane[piece] = (plane - plane_below) / PIECE;
            (watts_below, plane_below) = (watts, plane);
        }
        hour
    }
}
