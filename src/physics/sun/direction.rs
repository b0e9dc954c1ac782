//! Directions in the sky, as angles and as vectors.

/// Where the sun's centre stands, as if there were no air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Position {
    /// Angle from straight up, `[0, 180]`; more than 90 is below the horizon.
    pub zenith_deg: f64,
    /// Direction from north over east, `[0, 360)`.
    pub azimuth_deg: f64,
}

/// A direction, or a sum of them.
#[derive(Clone, Copy, Default)]
pub(super) struct Vector {
    pub east: f64,
    pub north: f64,
    pub up: f64,
}

impl Vector {
    /// Length 1.
    pub fn towards(sun: Position) -> Vector {
        let (sin_zenith, cos_zenith) = sun.zenith_deg.to_radians().sin_cos();
        let (sin_azimuth, cos_azimuth) = sun.azimuth_deg.to_radians().sin_cos();
        Vector { east: sin_zenith * sin_azimuth, north: sin_zenith * cos_azimuth, up: cos_zenith }
    }

    /// Turned about a pole by an angle given as its sine and cosine (Rodrigues' formula).
    pub fn turned(self, pole: Vector, (sine, cosine): (f64, f64)) -> Vector {
        let along = self.east * pole.east + self.north * pole.north + self.up * pole.up;
        let rest = along * (1.0 - cosine);
        let east = pole.north * self.up - pole.up * self.north;
        let north = pole.up * self.east - pole.east * self.up;
        let up = pole.east * self.north - pole.north * self.east;
        Vector {
            east: self.east * cosine + east * sine + pole.east * rest,
            north: self.north * cosine + north * sine + pole.north * rest,
            up: self.up * cosine + up * sine + pole.up * rest,
        }
    }

    pub fn add(&mut self, other: Vector, weight: f64) {
        self.east += weight * other.east;
        self.north += weight * other.north;
        self.up += weight * other.up;
    }

    pub fn length(&self) -> f64 {
        (self.east * self.east + self.north * self.north + self.up * self.up).sqrt()
    }

    /// Of anything but a sum of nothing.
    pub fn position(&self) -> Position {
        Position {
            zenith_deg: (self.up / self.length()).clamp(-1.0, 1.0).acos().to_degrees(),
            azimuth_deg: turn_deg(self.east.atan2(self.north).to_degrees()),
        }
    }
}

/// An angle within `[0, 360)`, also where rounding would give 360.
fn turn_deg(angle_deg: f64) -> f64 {
    let turned = angle_deg.rem_euclid(360.0);
    if turned < 360.0 { turned } else { 0.0 }
}
