//! The demo's data folder, built into the program.

use super::disk::{self, Disk};
use super::error::{Doing, StoreError};
use std::path::Path;

/// Every file of the demo folder, by its path in it.
const FILES: &[(&str, &str)] = &[
    ("rig.ron", include_str!("../../demo/rig.ron")),
    ("places.ron", include_str!("../../demo/places.ron")),
    ("journal/laptop.ron", include_str!("../../demo/journal/laptop.ron")),
    ("journal/phone.ron", include_str!("../../demo/journal/phone.ron")),
];

/// Writes the demo into an empty folder.
pub fn unpack(disk: &dyn Disk, dir: &Path) -> Result<(), StoreError> {
    for (name, text) in FILES {
        let path = dir.join(name);
        let failed = Doing::Creating.failed(&path);
        disk::ensure_folder(disk, path.parent().unwrap_or(dir)).map_err(&failed)?;
        disk.create(&path).and_then(|mut file| file.write(text.as_bytes())).map_err(failed)?;
    }
    Ok(())
}
