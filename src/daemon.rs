//! The daemon: every room at work together, each task ended by one token.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use futures_util::future::BoxFuture;

use tokio::net::TcpListener;
use tokio::task::JoinSet;
use tokio_util::sync::CancellationToken;

use crate::bench::{self, Handle, Input, Running};
use crate::feed::News;
use crate::feed::guard::{self, Guard};
use crate::gauge::{Gauge, link};
use crate::job::Shop;
use crate::memory::Shelf;
use crate::report::Style;
use crate::{display, feed, report};

/// How long tasks may take to end before they are let go.
const ENDING: Duration = Duration::from_secs(5);

/// What the daemon is started with.
#[derive(Debug)]
pub struct Settings {
    /// The data folder.
    pub folder: PathBuf,
    /// Where the page, `/feed`, `/state` and `/commands` listen.
    pub page: SocketAddr,
    /// Where the NDJSON feed listens.
    pub tcp: SocketAddr,
    /// The seats, and what the job knows of the gauges.
    pub shop: Shop,
    /// The gauges to link.
    pub gauges: Vec<Gauge>,
    /// The language of the page; `None` leaves it to each browser.
    pub language: Option<display::Language>,
    /// Who makes the reports.
    pub report: Style,
    /// Whether the feed goes to standard output too.
    pub print: bool,
}

/// Why the daemon can't start.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The bench can't be opened.
    #[error(transparent)]
    Bench(#[from] bench::Error),
    /// An address can't be listened on.
    #[error(
        "can't listen on {0}: another program may have it already; choose another with {1} ADDR \
         (port 0 picks a free one)"
    )]
    Listen(SocketAddr, &'static str, #[source] std::io::Error),
    /// Standard output can't be written from a thread of its own.
    #[error("the feed can't be printed")]
    Print(#[source] std::io::Error),
}

/// The running daemon.
#[derive(Debug)]
pub struct Daemon {
    /// The way to the bench.
    pub handle: Handle,
    /// Where the page listens.
    pub page: SocketAddr,
    /// Where the NDJSON feed listens.
    pub tcp: SocketAddr,
    stop: CancellationToken,
    tasks: JoinSet<()>,
    bench: Running,
}

impl Daemon {
    /// Opens the journal, the listeners and the gauges. When this returns, the daemon is ready.
    ///
    /// # Errors
    /// [`Error`]; nothing is left running then.
    pub async fn start(settings: Settings, stop: CancellationToken) -> Result<Self, Error> {
        let clock_start = Instant::now();
        let page_listener = listen(settings.page, "--page").await?;
        let tcp_listener = listen(settings.tcp, "--tcp").await?;
        let page = page_listener.local_addr().unwrap_or(settings.page);
        let tcp = tcp_listener.local_addr().unwrap_or(settings.tcp);
        let shop = settings.shop.clone();
        let (handle, bench) = bench::open(&settings.folder, settings.shop)?;
        let mut tasks = JoinSet::new();
        if settings.print {
            let ready = News::Daemon {
                page: page.to_string(),
                tcp: tcp.to_string(),
                folder: settings.folder.display().to_string(),
            };
            let out = std::io::stdout();
            let printed = feed::print::start(handle.clone(), ready.into(), out, stop.clone())
                .map_err(Error::Print)?;
            // An error says that the thread is gone, which is as good.
            tasks.spawn(async { drop(printed.await) });
        }
        // One for all: each record is read once, whoever asks first.
        let shelf = Arc::new(Shelf::new(&settings.folder));
        let guard = Guard::new(page, &[]);
        let router = feed::http::router(handle.clone(), stop.clone())
            .merge(display::router(present_state(&handle), settings.language))
            .merge(display::shelf::router(
                Arc::clone(&shelf),
                shop.clone(),
                settings.language,
            ))
            .merge(report::router(Arc::clone(&shelf), shop, settings.report))
            .layer(axum::middleware::from_fn_with_state(guard, guard::check));
        let serving = feed::http::serve(page_listener, router, stop.clone());
        tasks.spawn(async move {
            if let Err(error) = serving.await {
                tracing::error!("the page can't be served any more: {error}");
            }
        });
        tasks.spawn(feed::tcp::serve(tcp_listener, handle.clone(), stop.clone()));
        for gauge in settings.gauges {
            tasks.spawn(link::run(gauge, clock_start, handle.inputs(), stop.clone()));
        }
        // The catalogue of closed jobs is read in the background: nobody waits for it.
        let (history, inputs) = (handle.history(), handle.inputs());
        tokio::task::spawn_blocking(move || {
            if let Err(error) = history.read_index() {
                tracing::warn!("the closed jobs can't be listed: {error}");
            }
            let (cuts, troubles) = match shelf.learned_cuts() {
                Ok(read) => read,
                Err(error) => {
                    tracing::warn!("nothing is learned from closed jobs: {error}");
                    return;
                }
            };
            for trouble in troubles {
                tracing::warn!("{trouble}");
            }
            if !cuts.is_empty() {
                // An error says that the daemon is ending.
                let _ = inputs.blocking_send(Input::Learned(cuts));
            }
        });
        tracing::info!("ready: page http://{page}/, feed tcp://{tcp}");
        Ok(Self {
            handle,
            page,
            tcp,
            stop,
            tasks,
            bench,
        })
    }

    /// Ends every task, then the bench when it has stored all that waits.
    pub async fn stop(mut self) {
        self.stop.cancel();
        let ended = async { while self.tasks.join_next().await.is_some() {} };
        if tokio::time::timeout(ENDING, ended).await.is_err() {
            tracing::warn!("a task did not end in time and is let go");
            self.tasks.abort_all();
        }
        self.bench.stop().await;
    }
}

/// How the page learns of the present state.
fn present_state(
    handle: &Handle,
) -> impl Fn() -> BoxFuture<'static, Result<Arc<str>, bench::Gone>> + Send + Sync + 'static {
    let handle = handle.clone();
    move || {
        let handle = handle.clone();
        Box::pin(async move { handle.state().await })
    }
}

async fn listen(address: SocketAddr, flag: &'static str) -> Result<TcpListener, Error> {
    TcpListener::bind(address)
        .await
        .map_err(|error| Error::Listen(address, flag, error))
}
