//! Work side by side on all cores: threads belong to the edge.

use crate::job::Job;

/// Works out everything of a job that can be worked out side by side.
pub fn ahead(job: &Job) {
    side_by_side(&job.ahead(), |piece| piece());
}

/// Works out all that a job's warnings come from.
pub fn planned(job: &Job) {
    side_by_side(&job.ahead_of_warnings(), |piece| piece());
}

/// The results of `f` for every item, in the order of the items, worked out on all cores.
pub fn side_by_side<T: Sync, R: Send>(items: &[T], f: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from).min(items.len()).max(1);
    let part =
        |worker: usize| items.iter().enumerate().skip(worker).step_by(workers).map(|(i, item)| (i, f(item))).collect::<Vec<_>>();
    let mut found: Vec<(usize, R)> = std::thread::scope(|scope| {
        let part = &part;
        let started: Vec<_> =
            (1..workers).map(|worker| (worker, std::thread::Builder::new().spawn_scoped(scope, move || part(worker)))).collect();
        let mut found = part(0);
        for (worker, handle) in started {
            // Where the system gives no thread, its part is done here.
            found.extend(handle.map_or_else(|_| part(worker), |handle| handle.join().expect("a worker does not panic")));
        }
        found
    });
    found.sort_by_key(|(i, _)| *i);
    found.into_iter().map(|(_, result)| result).collect()
}
