//! The edge to the disk: the only module that opens files, and the only one that draws randomness
//! for the names of devices and entries.
//!
//! A data folder holds `journal/`, one append-only file per device, one record per line. The
//! journal is the union of all of them, whatever order they arrived in; nothing here decides what
//! an entry means (see `domain::journal`). Start at [`folder::Folder`].
//!
//! Two rules hold throughout: an entry is acknowledged only after the disk said that it is down,
//! and reading never changes a byte.

mod block;
pub mod data_folder;
pub mod demo;
pub mod device;
pub mod disk;
pub mod error;
mod fault_place;
mod fault_words;
pub mod folder;
pub mod journal;
pub mod line;
pub mod maps_file;
pub mod places_file;
mod range;
pub mod reader;
pub mod real_disk;
pub mod record;
pub mod reference;
pub mod rig_edit;
pub mod rig_file;
pub mod rig_record;
pub mod ron_text;
pub mod settings_file;
pub mod starter;
pub mod templates;
mod value;
