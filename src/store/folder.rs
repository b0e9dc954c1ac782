//! The data folder's journal: load it, append to it.
//!
//! An entry is acknowledged when its bytes and its file's name are confirmed by the disk, in the
//! file that the name stands for at that moment. Each append opens the file afresh, because file
//! syncers replace files and an old handle would write to one that nobody sees.

mod held;
mod kept;
mod reading;
mod saving;
mod writing;

pub use held::Folder;
