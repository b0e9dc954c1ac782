//! Threads for what takes time: one reads and writes the folder, in order; one forecasts
//! and one judges stretches, of several requests only the newest.

use super::Wake;
use crate::domain::time::Moment;
use crate::forecast::answer::Options;
use crate::plan::Request;
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

/// A stretch to judge.
pub struct StretchJob {
    /// The number it is asked under.
    pub generation: u64,
    /// From what.
    pub book: Arc<Book>,
    /// What counts as now.
    pub now: Moment,
    /// What is asked.
    pub request: Request,
}

/// The way to the threads. They end when this is dropped.
pub struct Workers {
    folder: Sender<FolderJob>,
    forecasts: Sender<ForecastJob>,
    stretches: Sender<StretchJob>,
}

impl Workers {
    /// Starts the threads; answers and deaths go to `wake`.
    pub fn start(backstage: Arc<dyn Backstage>, wake: Sender<Wake>) -> Workers {
        let (folder, folder_jobs) = channel();
        let (forecasts, forecast_jobs) = channel();
        let (stretches, stretch_jobs) = channel();
        let clerk = backstage.clone();
        spawn(wake.clone(), move |wake| keep_folder(&*clerk, &folder_jobs, wake));
        let planner = backstage.clone();
        spawn(wake.clone(), move |wake| keep_planning(&*planner, &stretch_jobs, wake));
        spawn(wake, move |wake| keep_forecasting(&*backstage, &forecast_jobs, wake));
        Workers { folder, forecasts, stretches }
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

    /// Judges a stretch, instead of whatever waits to be judged.
    pub fn stretch(&self, job: StretchJob) {
        let _ = self.stretches.send(job);
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
            FolderJob::Load => {
                let read = backstage.load();
                // The rig may say what counts as now (a demo's evening), so the clock is told
                // before the book.
                let now = backstage.now();
                let _ = wake.send(Wake::Done(Message::Tick(now)));
                Message::Loaded(read.map(|read| Arc::new(Book::new(read, now, backstage))))
            }
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
        let message =
            Message::Forecasted { generation: job.generation, evening: Arc::new(evening) };
        if wake.send(Wake::Done(message)).is_err() {
            return;
        }
    }
}

/// Between the verdict and the rest of an answer it looks whether something else is asked by now.
fn keep_planning(backstage: &dyn Backstage, jobs: &Receiver<StretchJob>, wake: &Sender<Wake>) {
    let mut waiting = None;
    while let Some(mut job) = waiting.take().or_else(|| jobs.recv().ok()) {
        while let Ok(newer) = jobs.try_recv() {
            job = newer;
        }
        let generation = job.generation;
        let mut tell = |answer, complete| {
            let message = Message::Stretched { generation, answer: Arc::new(answer), complete };
            let heard = wake.send(Wake::Done(message)).is_ok();
            waiting = jobs.try_recv().ok();
            heard && waiting.is_none()
        };
        let loaded = &job.book.loaded;
        backstage.stretch(&loaded.rig, &loaded.entries, job.now, &job.request, &mut tell);
    }
}
