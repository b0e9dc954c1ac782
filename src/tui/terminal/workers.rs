//! Threads for what takes time: one reads and writes the folder, in order; one forecasts, and
//! of several requests only the newest.

use super::Wake;
use crate::forecast::answer::Options;
use crate::tui::backstage::{Backstage, Draft};
use crate::tui::book::Book;
use crate::tui::effect::Errand;
use crate::tui::message::Message;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

enum FolderJob {
    Load,
    Append { errand: Errand, drafts: Vec<Draft> },
}

struct ForecastJob {
    generation: u64,
    book: Arc<Book>,
    options: Options,
}

/// The way to both threads. They end when this is dropped.
pub struct Workers {
    folder: Sender<FolderJob>,
    forecasts: Sender<ForecastJob>,
}

impl Workers {
    /// Starts both threads; answers and deaths go to `wake`.
    pub fn start(backstage: Arc<dyn Backstage>, wake: Sender<Wake>) -> Workers {
        let (folder, folder_jobs) = channel();
        let (forecasts, forecast_jobs) = channel();
        let clerk = backstage.clone();
        spawn(wake.clone(), move |wake| keep_folder(&*clerk, &folder_jobs, wake));
        spawn(wake, move |wake| keep_forecasting(&*backstage, &forecast_jobs, wake));
        Workers { folder, forecasts }
    }

    /// Reads the folder. A dead thread has reported its death already.
    pub fn load(&self) {
        let _ = self.folder.send(FolderJob::Load);
    }

    /// Appends to the folder.
    pub fn append(&self, errand: Errand, drafts: Vec<Draft>) {
        let _ = self.folder.send(FolderJob::Append { errand, drafts });
    }

    /// Forecasts, instead of whatever waits to be forecast.
    pub fn forecast(&self, generation: u64, book: Arc<Book>, options: Options) {
        let _ = self.forecasts.send(ForecastJob { generation, book, options });
    }
}

fn spawn(wake: Sender<Wake>, work: impl FnOnce(&Sender<Wake>) + Send + 'static) {
    thread::spawn(move || {
        if catch_unwind(AssertUnwindSafe(|| work(&wake))).is_err() {
            let _ = wake.send(Wake::WorkerDied);
        }
    });
}

fn keep_folder(backstage: &dyn Backstage, jobs: &Receiver<FolderJob>, wake: &Sender<Wake>) {
    for job in jobs {
        let message = match job {
            FolderJob::Load => Message::Loaded(
                backstage.load().map(|read| Arc::new(Book::new(read, backstage.now(), backstage))),
            ),
            FolderJob::Append { errand, drafts } => {
                let outcome = backstage.append(&drafts).map(|written| written.len());
                Message::Appended { errand, outcome }
            }
        };
        if wake.send(Wake::Done(message)).is_err() {
            return;
        }
    }
}

fn keep_forecasting(backstage: &dyn Backstage, jobs: &Receiver<ForecastJob>, wake: &Sender<Wake>) {
    while let Ok(mut job) = jobs.recv() {
        while let Ok(newer) = jobs.try_recv() {
            job = newer;
        }
        let loaded = &job.book.loaded;
        let evening = backstage.evening(&loaded.rig, &loaded.entries, job.options);
        let outcome = evening.map(Arc::new);
        let message = Message::Forecasted { generation: job.generation, outcome };
        if wake.send(Wake::Done(message)).is_err() {
            return;
        }
    }
}
