//! Threads for what takes time: one reads and writes the folder, in order; one forecasts, and
//! one each judges stretches, looks for stops and looks back. Of several questions of a kind
//! only the newest is answered, and one that nobody waits for any more is given up.

use super::wake::Wake;
use crate::domain::entry::Draft;
use crate::domain::time::{Moment, hours_between};
use crate::forecast::answer::Options;
use crate::forecast::hindsight::Settings;
use crate::plan::Request;
use crate::plan::stops::answer::TripRequest;
use crate::plan::stops::{Onward, Progress};
use crate::tui::effect::SavePurpose;
use crate::tui::host::{Asking, Host, Known};
use crate::tui::journal_view::JournalView;
use crate::tui::message::Message;
use crate::tui::pending::Question;
use crate::tui::stops::SoFar;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Instant;

enum FolderJob {
    Load,
    Create(String),
    SaveRig { before: String, after: String },
    Append { purpose: SavePurpose, drafts: Vec<Draft> },
}

struct ForecastJob {
    generation: u64,
    book: Arc<JournalView>,
    options: Options,
}

/// A question to one of the threads.
pub struct Job<A> {
    /// The number it is asked under.
    pub generation: u64,
    /// From what.
    pub book: Arc<JournalView>,
    /// What counts as now.
    pub now: Moment,
    /// Seed of the draws.
    pub seed: u64,
    /// What is asked.
    pub asked: A,
}

/// Questions of one kind on their way to a thread.
struct Desk<A> {
    jobs: Sender<Job<A>>,
    wanted: Wanted,
}

/// Number of the question that somebody waits for.
type Wanted = Arc<AtomicU64>;

/// In its place: a person gave the question up.
const GIVEN_UP: u64 = u64::MAX;

impl<A> Desk<A> {
    /// Asks, instead of whatever was asked before.
    fn ask(&self, job: Job<A>) {
        self.wanted.store(job.generation, Ordering::Relaxed);
        // A thread ends before this does only when the loop has ended.
        let _ = self.jobs.send(job);
    }

    fn cancel(&self) {
        self.wanted.store(GIVEN_UP, Ordering::Relaxed);
    }
}

/// The way to the threads. They end when this is dropped.
pub struct Workers {
    folder: Sender<FolderJob>,
    forecasts: Sender<ForecastJob>,
    stretches: Desk<Asking<Request>>,
    trips: Desk<Asking<TripRequest>>,
    lookbacks: Desk<Settings>,
    spent: Desk<()>,
}

impl Workers {
    /// Starts the threads; answers go to `wake`.
    pub fn start(host: Arc<dyn Host>, wake: Sender<Wake>) -> Workers {
        let (folder, folder_jobs) = channel();
        let (forecasts, forecast_jobs) = channel();
        let clerk = host.clone();
        spawn(wake.clone(), move |wake| keep_folder(&*clerk, &folder_jobs, wake));
        let learned = Arc::new(LastLearned { host: host.clone(), last: Mutex::new(None) });
        let source = learned.clone();
        spawn(wake.clone(), move |wake| keep_forecasting(&source, &forecast_jobs, wake));
        Workers {
            folder,
            forecasts,
            stretches: desk(&learned, &wake, judge),
            trips: desk(&learned, &wake, schedule),
            lookbacks: desk(&learned, &wake, look_back),
            spent: desk(&learned, &wake, spent),
        }
    }

    /// Reads the folder.
    pub fn load(&self) {
        let _ = self.folder.send(FolderJob::Load);
    }

    /// Writes the first rig file.
    pub(in crate::tui) fn create(&self, rig: String) {
        let _ = self.folder.send(FolderJob::Create(rig));
    }

    /// Changes the rig file.
    pub(in crate::tui) fn save_rig(&self, before: String, after: String) {
        let _ = self.folder.send(FolderJob::SaveRig { before, after });
    }

    /// Appends to the folder.
    pub fn append(&self, purpose: SavePurpose, drafts: Vec<Draft>) {
        let _ = self.folder.send(FolderJob::Append { purpose, drafts });
    }

    /// Forecasts, instead of whatever waits to be forecast.
    pub fn forecast(&self, generation: u64, book: Arc<JournalView>, options: Options) {
        let _ = self.forecasts.send(ForecastJob { generation, book, options });
    }

    /// Judges a stretch.
    pub fn stretch(&self, job: Job<Asking<Request>>) {
        self.stretches.ask(job);
    }

    /// Looks for the stops of a trip.
    pub fn stops(&self, job: Job<Asking<TripRequest>>) {
        self.trips.ask(job);
    }

    /// Looks back.
    pub(in crate::tui) fn look_back(&self, job: Job<Settings>) {
        self.lookbacks.ask(job);
    }

    /// Works out where every stock goes.
    pub(in crate::tui) fn spent(&self, job: Job<()>) {
        self.spent.ask(job);
    }

    /// Gives a question up.
    pub(in crate::tui) fn cancel(&self, question: Question) {
        match question {
            Question::Stretch => self.stretches.cancel(),
            Question::Stops => self.trips.cancel(),
            Question::Hindsight => self.lookbacks.cancel(),
        }
    }
}

fn spawn(wake: Sender<Wake>, work: impl FnOnce(&Sender<Wake>) + Send + 'static) {
    thread::spawn(move || work(&wake));
}

/// A thread that answers questions of one kind, skipping those that nobody waits for.
fn desk<A: Send + 'static>(
    learned: &Arc<LastLearned>,
    wake: &Sender<Wake>,
    answer: fn(&LastLearned, &Job<A>, &Waiting),
) -> Desk<A> {
    let (jobs, asked) = channel::<Job<A>>();
    let wanted = Wanted::default();
    let (learned, watched) = (learned.clone(), wanted.clone());
    spawn(wake.clone(), move |wake| {
        for job in asked {
            let waiting = Waiting { generation: job.generation, wanted: &watched, wake };
            if waiting.still() {
                answer(&learned, &job, &waiting);
            }
        }
    });
    Desk { jobs, wanted }
}

/// Whoever waits for an answer.
struct Waiting<'a> {
    generation: u64,
    wanted: &'a Wanted,
    wake: &'a Sender<Wake>,
}

impl Waiting<'_> {
    fn still(&self) -> bool {
        self.onward() == Onward::GoOn
    }

    /// A person who gives a question up takes what there is; one who asks another does not.
    fn onward(&self) -> Onward {
        match self.wanted.load(Ordering::Relaxed) {
            wanted if wanted == self.generation => Onward::GoOn,
            GIVEN_UP => Onward::Settle,
            _ => Onward::Drop,
        }
    }

    /// Whether it was heard, and more of it is wanted.
    fn tell(&self, message: Message) -> bool {
        self.wake.send(Wake::Done(message)).is_ok() && self.still()
    }

    fn progress(&self, question: Question, done: usize, of: usize) {
        let generation = self.generation;
        self.tell(Message::Progressed { question, generation, progress: (done, of) });
    }
}

/// What was learned last, kept while the journal is the same: learning takes longer than most
/// of what is asked afterwards.
struct LastLearned {
    host: Arc<dyn Host>,
    last: Mutex<Option<(Arc<JournalView>, Arc<Known>)>>,
}

/// Beliefs older than this are learned anew, in hours.
const FRESH_H: f64 = 0.25;

impl LastLearned {
    /// What is known from `book` about `now`: exactly then where `exactly`, else a few minutes
    /// before or after. Who comes while another thread learns waits and takes the same.
    fn known(&self, book: &Arc<JournalView>, now: Moment, seed: u64, exactly: bool) -> Arc<Known> {
        let mut last = self.last.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        if let Some((of, known)) = &*last
            && Arc::ptr_eq(of, book)
            && known.seed == seed
            && (known.at == now || !exactly && hours_between(known.at, now).abs() < FRESH_H)
        {
            return known.clone();
        }
        let loaded = &book.loaded;
        let known = Arc::new(self.host.learn(&loaded.rig, &loaded.entries, now, seed));
        *last = Some((book.clone(), known.clone()));
        known
    }
}

fn keep_folder(host: &dyn Host, jobs: &Receiver<FolderJob>, wake: &Sender<Wake>) {
    for job in jobs {
        let message = match job {
            FolderJob::Load => {
                let read = host.load();
                // The rig may say what counts as now (a demo's evening), so the clock is told
                // before the book.
                let now = host.now();
                let _ = wake.send(Wake::Done(Message::Tick(now)));
                Message::Loaded(read.map(|read| Arc::new(JournalView::new(read, now, host))))
            }
            FolderJob::SaveRig { before, after } => {
                Message::RigSaved(host.save_rig(&before, &after))
            }
            FolderJob::Create(rig) => Message::Created(host.create(&rig)),
            FolderJob::Append { purpose, drafts } => {
                let outcome = host.append(&drafts).map(|written| written.len());
                Message::Appended { purpose, outcome }
            }
        };
        if wake.send(Wake::Done(message)).is_err() {
            return;
        }
    }
}

fn keep_forecasting(learned: &LastLearned, jobs: &Receiver<ForecastJob>, wake: &Sender<Wake>) {
    while let Ok(mut job) = jobs.recv() {
        while let Ok(newer) = jobs.try_recv() {
            job = newer;
        }
        let known = learned.known(&job.book, job.options.at, job.options.seed, true);
        if let Some(stock) = known.beliefs.unknown() {
            let why = format!("the level of {stock} is no number, so nothing can be said of it");
            let _ = wake.send(Wake::Done(Message::Loaded(Err(why))));
            continue;
        }
        let evening = learned.host.evening(&job.book.loaded.rig, &known, job.options);
        let message =
            Message::Forecasted { generation: job.generation, evening: Arc::new(evening) };
        if wake.send(Wake::Done(message)).is_err() {
            return;
        }
    }
}

/// Between the verdict and the rest of an answer it looks whether anybody still waits.
fn judge(learned: &LastLearned, job: &Job<Asking<Request>>, waiting: &Waiting) {
    let known = learned.known(&job.book, job.now, job.seed, false);
    if !waiting.still() {
        return;
    }
    let generation = job.generation;
    learned.host.stretch(&job.book.loaded.rig, &known, &job.asked, &mut |answer, complete| {
        waiting.tell(Message::Stretched { generation, answer: Arc::new(answer), complete })
    });
}

/// Whenever the search tells how far it is, that is passed on where it is news: a second later,
/// or further on.
fn schedule(learned: &LastLearned, job: &Job<Asking<TripRequest>>, waiting: &Waiting) {
    let (begun, told) = (Instant::now(), Mutex::new(None));
    let tell = |progress: Progress| {
        let news = (begun.elapsed().as_secs(), progress.found, progress.least);
        let mut last = told.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        if last.replace(news) != Some(news) {
            let generation = waiting.generation;
            let so_far = SoFar { seconds: news.0, progress };
            waiting.tell(Message::Searched { generation, so_far });
        }
        waiting.onward()
    };
    let known = learned.known(&job.book, job.now, job.seed, false);
    let rig = &job.book.loaded.rig;
    if let Some(trip) = learned.host.stops(rig, &known, &job.asked, &tell) {
        let generation = job.generation;
        waiting.tell(Message::Scheduled { generation, answer: Arc::new(trip) });
    }
}

fn spent(learned: &LastLearned, job: &Job<()>, waiting: &Waiting) {
    let known = learned.known(&job.book, job.now, job.seed, false);
    let answer = Arc::new(learned.host.spent(&job.book.loaded.rig, &known));
    waiting.tell(Message::Spent { generation: waiting.generation, answer });
}

fn look_back(learned: &LastLearned, job: &Job<Settings>, waiting: &Waiting) {
    let go_on = |done, of| {
        waiting.progress(Question::Hindsight, done, of);
        waiting.still()
    };
    let loaded = &job.book.loaded;
    let looked = learned.host.hindsight(&loaded.rig, &loaded.entries, job.asked, &go_on);
    if let Some(looked) = looked {
        let generation = job.generation;
        waiting.tell(Message::LookedBack { generation, answer: Arc::new(looked) });
    }
}
