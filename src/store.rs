//! The only module that opens files: the rig, the places and the journal on disk.

pub mod places_file;
pub mod reader;
pub mod reference;
pub mod rig_edit;
pub mod rig_file;
pub mod rig_record;
pub mod ron_text;
pub mod starter;
pub mod templates;
