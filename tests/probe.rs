use std::sync::Arc;
#[test]
fn probe() {
    let dir = std::path::Path::new("demo");
    let mut folder = waystock::store::data_folder::DataFolder::at(
        dir,
        std::path::Path::new("/tmp/x"),
        Arc::new(waystock::store::real_disk::RealDisk),
    );
    let c = folder.load().map_err(|e| format!("{e:?}")).unwrap();
    let at = c.rig.evening.unwrap();
    let t = std::time::Instant::now();
    let e = waystock::forecast::evening(
        &c.rig,
        &c.journal.entries,
        waystock::forecast::answer::Options::at(at),
    );
    eprintln!("{:?}", t.elapsed());
    for s in &e.forecast.stocks {
        eprintln!(
            "{:14} {:8.1}±{:6.1} of {:7.1} lim {:6.1}  p10 {:?} p50 {:?} p90 {:?} bind {:.2} day {:.2}",
            s.name,
            s.level.mean,
            s.level.sd,
            s.capacity,
            s.limit,
            s.hours.p10,
            s.hours.p50,
            s.hours.p90,
            s.binding,
            s.per_day
        );
    }
    eprintln!("{:?}", e.forecast.next);
    for l in &e.learned {
        eprintln!(
            "{:40} ref {:.2}±{:.2} learned {:.2}±{:.2} n {} {}",
            l.what,
            l.reference.mean,
            l.reference.sd,
            l.learned.mean,
            l.learned.sd,
            l.occurrences,
            l.readings
        );
    }
    for n in &e.notices {
        eprintln!("{}", n.text);
    }
}
