//! The demo's own evening, read and learned once for a bench.

use std::path::Path;
use std::sync::Arc;
use waystock::belief::{self, Beliefs};
use waystock::domain::journal::{Standing, standing};
use waystock::forecast::answer::Options;
use waystock::store::data_folder::{Contents, DataFolder};
use waystock::store::real_disk::RealDisk;

/// What stands and what is believed.
pub struct Demo {
    pub contents: Contents,
    pub standing: Vec<Standing>,
    pub options: Options,
    pub beliefs: Beliefs,
}

impl Demo {
    pub fn read() -> Demo {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        let state = dir.join("not-there");
        let contents =
            DataFolder::at(&dir, &state, Arc::new(RealDisk)).load().expect("the demo folder");
        let options = Options::at(contents.rig.evening.expect("the demo names its evening"));
        let standing = standing(&contents.journal.entries, options.at);
        let beliefs = belief::learn(&contents.rig, &standing, options.at, options.seed);
        Demo { contents, standing, options, beliefs }
    }
}
