//! Threads for what takes time: one reads and writes the folder, in order; the others answer a kind
//! of question each. Of several questions of a kind only the newest is answered, and one that nobody
//! waits for any more is given up.

use super::wake::Wake;
use crate::domain::{Moment, hours_between};
use crate::plan::{Onward, Progress};
use crate::tui::asking::{Inquiry, Job, News};
use crate::tui::host::Known;
use crate::tui::stops::SoFar;
use crate::tui::{Context, Effect, Extent, Host, JournalView, Message};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Instant;

/// Number of the question that somebody waits for.
type WantedNumber = Arc<AtomicU64>;

/// In its place: a person gave the question up.
const GIVEN_UP: u64 = u64::MAX;

/// The way to the threads. They end when this is dropped.
pub struct Workers {
    folder: Sender<Effect>,
    desks: Vec<(Context, Sender<Box<Job>>, WantedNumber)>,
}

impl Workers {
    /// Starts the threads; answers go to `wake`.
    pub fn start(host: Arc<dyn Host>, wake: Sender<Wake>) -> Workers {
        let (folder, folder_jobs) = channel();
        let (clerk, told) = (host.clone(), wake.clone());
        thread::spawn(move || keep_folder(&*clerk, &folder_jobs, &told));
        let learned = Arc::new(LastLearned { host, last: Mutex::new(None) });
        let kinds =
            [Context::Horizon, Context::Stretch, Context::Stops, Context::Spent, Context::LookBack];
        let desk = |kind| {
            let (jobs, asked) = channel();
            let wanted = WantedNumber::default();
            let (learned, watched, wake) = (learned.clone(), wanted.clone(), wake.clone());
            thread::spawn(move || keep_answering(&learned, &asked, &watched, &wake));
            (kind, jobs, wanted)
        };
        Workers { folder, desks: kinds.map(desk).into() }
    }

    /// Reads the folder, or writes to it.
    pub fn keep(&self, effect: Effect) {
        // A thread ends before this does only when the loop has ended.
        let _ = self.folder.send(effect);
    }

    /// Asks, instead of whatever of its kind was asked before.
    pub fn ask(&self, job: Box<Job>) {
        let desk = self.desks.iter().find(|(kind, ..)| *kind == job.asked.screen());
        if let Some((_, jobs, wanted)) = desk {
            wanted.store(job.generation, Ordering::Relaxed);
            let _ = jobs.send(job);
        }
    }

    /// Gives a question up.
    pub(in crate::tui) fn cancel(&self, screen: Context) {
        for (_, _, wanted) in self.desks.iter().filter(|(kind, ..)| *kind == screen) {
            wanted.store(GIVEN_UP, Ordering::Relaxed);
        }
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
    /// What is known about the job's moment: exactly then for the evening, else a few minutes
    /// before or after. Who comes while another thread learns waits and takes the same.
    fn known(&self, job: &Job) -> Arc<Known> {
        let mut last = self.last.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        let exactly = matches!(job.asked, Inquiry::Evening(_));
        let near = |at: Moment| !exactly && hours_between(at, job.now).abs() < FRESH_H;
        if let Some((of, known)) = &*last
            && Arc::ptr_eq(of, &job.book)
            && known.seed == job.seed
            && (known.at == job.now || near(known.at))
        {
            return known.clone();
        }
        let loaded = &job.book.loaded;
        let known = Arc::new(self.host.learn(&loaded.rig, &loaded.entries, job.now, job.seed));
        *last = Some((job.book.clone(), known.clone()));
        known
    }
}

fn keep_folder(host: &dyn Host, jobs: &Receiver<Effect>, wake: &Sender<Wake>) {
    for job in jobs {
        if job == Effect::Load {
            // The rig may say what counts as now (a demo's evening), so the clock is told
            // before the book, which is read with it.
            let read = host.load();
            let now = host.now();
            let _ = wake.send(Wake::Done(Message::Tick(now)));
            let book = read.map(|read| Arc::new(JournalView::new(read, now)));
            if wake.send(Wake::Done(Message::Loaded(book))).is_err() {
                return;
            }
        } else if kept(host, job).is_some_and(|told| wake.send(Wake::Done(told)).is_err()) {
            return;
        }
    }
}

/// Writes to the folder what an effect asks for; `None` where it asks for something else.
pub(in crate::tui) fn kept(host: &dyn Host, effect: Effect) -> Option<Message> {
    Some(match effect {
        Effect::WriteRig { before, after } => {
            Message::RigWritten(host.write_rig(before.as_deref(), &after))
        }
        Effect::Append { purpose, drafts } => {
            let outcome = host.append(&drafts).map(|written| written.len());
            Message::Appended { purpose, outcome }
        }
        _ => return None,
    })
}

/// Answers questions of one kind, skipping those that nobody waits for.
fn keep_answering(
    learned: &LastLearned,
    asked: &Receiver<Box<Job>>,
    wanted: &WantedNumber,
    wake: &Sender<Wake>,
) {
    for job in asked {
        let generation = job.generation;
        // A person who gives a question up takes what there is; one who asks another does not.
        let onward = || match wanted.load(Ordering::Relaxed) {
            number if number == generation => Onward::GoOn,
            GIVEN_UP => Onward::Settle,
            _ => Onward::Drop,
        };
        let tell = |news: Option<News>| {
            let told = news.map(|news| Message::Answered { generation, news });
            let heard = told.is_none_or(|told| wake.send(Wake::Done(told)).is_ok());
            if heard { onward() } else { Onward::Drop }
        };
        if onward() != Onward::GoOn {
            continue;
        }
        let needed = !matches!(job.asked, Inquiry::LookBack(_));
        let known = needed.then(|| learned.known(&job));
        let unknown = known.as_ref().and_then(|known| known.beliefs.unknown());
        if let (Inquiry::Evening(_), Some(stock)) = (&job.asked, unknown) {
            let why = format!("the level of {stock} is no number, so nothing can be said of it");
            let _ = wake.send(Wake::Done(Message::Loaded(Err(why))));
        } else if onward() == Onward::GoOn {
            answer(&*learned.host, known.as_deref(), &job, &tell);
        }
    }
}

/// Answers a question, of which the look back alone needs nothing to be `known`. `tell` hears what
/// comes of it, if anything, and gives back whether more of it is wanted.
pub(in crate::tui) fn answer(
    host: &dyn Host,
    known: Option<&Known>,
    job: &Job,
    tell: &(dyn Fn(Option<News>) -> Onward + Sync),
) {
    let loaded = &job.book.loaded;
    match (&job.asked, known) {
        (Inquiry::LookBack(settings), _) => {
            let go_on = |done, of| tell(Some(News::Evenings((done, of)))) == Onward::GoOn;
            let looked = host.hindsight(&loaded.rig, &loaded.entries, *settings, &go_on);
            looked.into_iter().for_each(|looked| _ = tell(Some(News::LookBack(Arc::new(looked)))));
        }
        (Inquiry::Evening(options), Some(known)) => {
            let go_on = |run| {
                let more = run < options.lives;
                tell(more.then_some(News::Lives((run, options.lives)))) == Onward::GoOn
            };
            let evening = host.evening(&loaded.rig, known, *options, &go_on);
            tell(Some(News::Evening(Arc::new(evening))));
        }
        (Inquiry::Stretch(asking), Some(known)) => {
            host.stretch(&loaded.rig, known, asking, &mut |answer, complete| {
                let extent = if complete { Extent::Whole } else { Extent::Part };
                tell(Some(News::Stretch(Arc::new(answer), extent))) == Onward::GoOn
            });
        }
        (Inquiry::Stops(asking), Some(known)) => {
            // How far the search is gets told where it is news: a second later, or further on.
            let (begun, last) = (Instant::now(), Mutex::new(None));
            let so_far = |progress: Progress| {
                let seconds = begun.elapsed().as_secs();
                let news = Some((seconds, progress.found, progress.least, progress.beside));
                let mut last = last.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
                let is_news = std::mem::replace(&mut *last, news) != news;
                tell(is_news.then_some(News::SoFar(SoFar { seconds, progress })))
            };
            let trip = host.stops(&loaded.rig, known, asking, &so_far);
            trip.into_iter().for_each(|trip| _ = tell(Some(News::Stops(Arc::new(trip)))));
        }
        (Inquiry::Spent, Some(known)) => {
            let spent = host.spent(&loaded.rig, &loaded.entries, known);
            tell(Some(News::Spent(Arc::new(spent))));
        }
        (_, None) => {}
    }
}
