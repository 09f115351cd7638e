//! The bench: the second edge beside the command line. A page in a browser on this machine, answered by the same [`Job`](crate::job::Job).
//!
//! ```text
//! page ──HTTP on 127.0.0.1──► guard ──► routes ──► queue ──► desk (one thread: the build file, tries, keeps)
//!      ◄────── lines that say what changed ────── events ◄──┘
//! phone ──HTTP on the shop's network──► guard ──► shop ──► queue        (readings and the log alone)
//! ```
//!
//! Whoever comes in passes `guard` first. `routes` turn requests into questions; `queue` hands them to the thread that owns the `desk`, the
//! newest look of a page before its older ones. Nothing asynchronous stands outside this room, and inside it only where requests are
//! waited for.

mod token;
mod guard;
mod reply;
mod routes;
mod queue;
mod events;
mod phones;
pub mod shop;
mod sent;
mod readings;
mod forms;
mod places;
mod bow_file;
mod jobs;
mod lines;
mod two_limbs;
mod pulls;
mod making;
pub mod desk;
pub mod answers;
pub mod speeds;
pub mod levers;
mod page;

pub use phones::Times;

use crate::serve::desk::Desk;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// What the bench is opened with.
#[derive(Debug, Clone, Copy)]
pub struct Opened<'a> {
    /// The build file; none for a bow begun on the page.
    pub file: Option<&'a Path>,
    /// The lower limb's build file, where it is a different limb.
    pub lower: Option<&'a Path>,
    /// The log; none for the one beside the build file.
    pub log: Option<&'a Path>,
    /// 0 for any free port.
    pub port: u16,
    /// The shop's own network, where it is listened on as well.
    pub shop: Option<&'a shop::ShopOpened>,
    /// The day so long ago, such as `2026-11-20`.
    pub today: fn(Duration) -> String,
}

/// Where the bench stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BenchAddress {
    /// With the token.
    pub desk: String,
    /// Without one.
    pub shop: Option<String>,
}

/// A head that takes longer than this to arrive is not waited for.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Connections at a time: a browser opens six a page.
const MAX_CONNECTIONS: usize = 48;
/// Of those on the shop's network, from one machine, which may have a few pages open: one that holds its connections keeps no other out.
const MAX_OF_ONE: usize = MAX_CONNECTIONS / 2;
/// How often the disk is looked at, so that an edit shows within a second.
const LOOK_AT_DISK: Duration = Duration::from_millis(500);

/// Opens the bench and answers until the program is ended; `ready` is told where it stands, once.
pub fn serve(opened: Opened<'_>, ready: impl FnOnce(&BenchAddress)) -> Result<(), String> {
    let desk = Desk::open(opened.file, opened.lower, opened.log)?.dated(opened.today);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build();
    let runtime = runtime.map_err(|error| format!("no runtime: {error}"))?;
    runtime.block_on(async move {
        let listener = listen(SocketAddr::from((Ipv4Addr::LOCALHOST, opened.port)), "leave --port out").await?;
        let host = listener.local_addr().map_err(|error| error.to_string())?.to_string();
        let token = token::token()?;
        let mut standing = BenchAddress { desk: format!("http://{host}/#{token}"), shop: None };
        let events = Arc::new(events::Events::default());
        let queue = queue::start(desk, events.clone()).map_err(|error| format!("no thread: {error}"))?;
        let phones = Arc::new(phones::Phones::new(opened.shop.map_or_else(Times::default, |shop| shop.times)));
        if let Some(shop) = opened.shop {
            let listener = listen(shop.address, "leave it out of --shop").await?;
            let address = listener.local_addr().map_err(|error| error.to_string())?;
            let host = shop.name.as_ref().map_or_else(|| address.to_string(), |name| format!("{name}:{}", address.port()));
            standing.shop = Some(format!("http://{host}"));
            let guard = guard::Guard::new(&host, guard::Keys::Phones(phones.clone()), page::SHOP);
            let router = shop::router(guard, queue.clone(), events.clone(), phones.clone());
            tokio::spawn(let_in(listener, router, MAX_OF_ONE));
            tokio::spawn(shop::let_silent_go(phones.clone(), events.clone()));
        }
        tokio::spawn(queue.clone().watch_disk(LOOK_AT_DISK));
        ready(&standing);
        let phones = shop::ShopDesk { phones, events: events.clone(), address: standing.shop.map(Into::into) };
        let guard = guard::Guard::new(&host, guard::Keys::Desk(token.into()), page::DESK);
        let_in(listener, routes::router(guard, queue, events, phones), MAX_CONNECTIONS).await;
        Ok(())
    })
}

async fn listen(address: SocketAddr, free: &str) -> Result<TcpListener, String> {
    TcpListener::bind(address).await.map_err(|error| match error.kind() {
        std::io::ErrorKind::AddrInUse => {
            format!("port {} is taken by another program\nhelp: {free} for any free one", address.port())
        }
        std::io::ErrorKind::AddrNotAvailable => {
            format!("{address}: this machine has no such address\nhelp: its network settings show the one it has in the shop")
        }
        _ => format!("{address}: {error}"),
    })
}

/// Answers whoever connects, `of_one` connections from one machine at most.
async fn let_in(listener: TcpListener, router: axum::Router, of_one: usize) {
    let connections = Arc::new(Semaphore::new(MAX_CONNECTIONS));
    let open: Arc<Mutex<BTreeMap<IpAddr, usize>>> = Arc::default();
    let service = TowerToHyperService::new(router);
    loop {
        let Ok(permit) = connections.clone().acquire_owned().await else { return };
        // One that fails to come in leaves the others alone; where the system has no more to give, it is given time.
        let Ok((stream, from)) = listener.accept().await else {
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let Some(mine) = OneMore::of(&open, from.ip(), of_one) else { continue };
        let service = service.clone();
        tokio::spawn(async move {
            let _held = (permit, mine);
            let service = hyper::service::service_fn(move |mut request: hyper::Request<hyper::body::Incoming>| {
                request.extensions_mut().insert(shop::From(from.ip()));
                hyper::service::Service::call(&service, request)
            });
            let served = hyper::server::conn::http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD_TIME)
                .serve_connection(TokioIo::new(stream), service);
            // A page that went away is no fault.
            let _ = served.await;
        });
    }
}

/// A connection that counts among those from its machine until it ends.
struct OneMore {
    open: Arc<Mutex<BTreeMap<IpAddr, usize>>>,
    from: IpAddr,
}

impl OneMore {
    fn of(open: &Arc<Mutex<BTreeMap<IpAddr, usize>>>, from: IpAddr, max: usize) -> Option<OneMore> {
        let mut counts = open.lock().unwrap_or_else(PoisonError::into_inner);
        let count = counts.entry(from).or_insert(0);
        if max <= *count {
            return None;
        }
        *count += 1;
        Some(OneMore { open: open.clone(), from })
    }
}

impl Drop for OneMore {
    fn drop(&mut self) {
        let mut counts = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = counts.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                counts.remove(&self.from);
            }
        }
    }
}
