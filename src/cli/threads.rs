//! Work side by side on all cores: threads belong to the edge.

use crate::job::Job;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Works out everything of a job that can be worked out side by side.
pub fn ahead(job: &Job) {
    side_by_side(&job.ahead(), |piece| piece());
}

/// Works out all that a job's warnings come from.
pub fn planned(job: &Job) {
    side_by_side(&job.ahead_of_warnings(), |piece| piece());
}

/// Works out what a job's bow draws.
pub fn drawn(job: &Job) {
    side_by_side(&job.ahead_of_bow(), |piece| piece());
}

/// The results of `f` for every item, in the order of the items, worked out on all cores: who is done takes the next.
pub fn side_by_side<T: Sync, R: Send>(items: &[T], f: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from).min(items.len()).max(1);
    let next = AtomicUsize::new(0);
    let part = || {
        let taken = std::iter::from_fn(|| Some(next.fetch_add(1, Ordering::Relaxed)).filter(|i| *i < items.len()));
        taken.map(|i| (i, f(&items[i]))).collect::<Vec<_>>()
    };
    let mut found: Vec<(usize, R)> = std::thread::scope(|scope| {
        let part = &part;
        let started: Vec<_> =
            // Where the system gives no thread, the others take its part.
            (1..workers).filter_map(|_| std::thread::Builder::new().spawn_scoped(scope, part).ok()).collect();
        let mut found = part();
        for handle in started {
            found.extend(handle.join().expect("a worker does not panic"));
        }
        found
    });
    found.sort_by_key(|(i, _)| *i);
    found.into_iter().map(|(_, result)| result).collect()
}
