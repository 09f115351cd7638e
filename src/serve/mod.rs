//! The bench: the second edge beside the command line. A page in a browser on this machine, answered by the same [`Job`](crate::job::Job).
//!
//! ```text
//! page ──HTTP on 127.0.0.1──► guard ──► routes ──► queue ──► desk (one thread: the build file, tries, keeps)
//!      ◄────── lines that say what changed ────── events ◄──┘
//! ```
//!
//! Whoever comes in passes `guard` first. `routes` turn requests into questions; `queue` hands them to the thread that owns the `desk`, the
//! newest look of a page before its older ones. Nothing asynchronous stands outside this room, and inside it only where requests are
//! waited for.

mod guard;
mod routes;
mod queue;
mod events;
pub mod desk;
pub mod answers;
pub mod levers;
mod page;

use crate::serve::desk::Desk;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// What the bench is opened with.
#[derive(Debug, Clone, Copy)]
pub struct Opened<'a> {
    /// The build file; none for a bow begun on the page.
    pub file: Option<&'a Path>,
    /// The log; none for the one beside the build file.
    pub log: Option<&'a Path>,
    /// 0 for any free port.
    pub port: u16,
}

/// A head that takes longer than this to arrive is not waited for.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Connections at a time: a browser opens six a page.
const MAX_CONNECTIONS: usize = 48;
/// How often the disk is looked at, so that an edit shows within a second.
const LOOK_AT_DISK: Duration = Duration::from_millis(500);

/// Opens the bench and answers until the program is ended; `ready` is told the address with its token, once.
pub fn serve(opened: Opened<'_>, ready: impl FnOnce(&str)) -> Result<(), String> {
    let desk = Desk::open(opened.file, opened.log)?;
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build();
    let runtime = runtime.map_err(|error| format!("no runtime: {error}"))?;
    runtime.block_on(async move {
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, opened.port));
        let listener = TcpListener::bind(address).await.map_err(|error| match error.kind() {
            std::io::ErrorKind::AddrInUse => {
                format!("port {} is taken by another program\nhelp: leave --port out for any free one", opened.port)
            }
            _ => format!("{address}: {error}"),
        })?;
        let address = listener.local_addr().map_err(|error| error.to_string())?;
        let token = guard::token()?;
        let events = Arc::new(events::Events::default());
        let queue = queue::start(desk, events.clone()).map_err(|error| format!("no thread: {error}"))?;
        tokio::spawn(queue.clone().watch_disk(LOOK_AT_DISK));
        ready(&format!("http://{address}/#{token}"));
        let service = TowerToHyperService::new(routes::router(guard::Guard::new(address, token), queue, events));
        let connections = Arc::new(Semaphore::new(MAX_CONNECTIONS));
        loop {
            let Ok(permit) = connections.clone().acquire_owned().await else { return Ok(()) };
            // One that fails to come in leaves the others alone; where the system has no more to give, it is given time.
            let Ok((stream, _)) = listener.accept().await else {
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            };
            let service = service.clone();
            tokio::spawn(async move {
                let _permit = permit;
                let served = hyper::server::conn::http1::Builder::new()
                    .timer(TokioTimer::new())
                    .header_read_timeout(HEAD_TIME)
                    .serve_connection(TokioIo::new(stream), service);
                // A page that went away is no fault.
                let _ = served.await;
            });
        }
    })
}
