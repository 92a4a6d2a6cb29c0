//! The live page: the same screen as in the terminal, for tablets and telephones, over HTTP on TCP.
//!
//! It is closed until its owner opens it, and costs nothing until then: no listener, no task. What may be asked of it is a part
//! of the API on the socket; [`guard`] decides who may ask, [`once`] makes a change that is sent twice only once, and [`show`]
//! describes the screen for all who look on.

mod arrived;
mod beside;
mod events;
mod files;
mod form;
mod guard;
mod link;
mod local;
mod once;
mod paper;
mod papers;
mod paths;
mod router;
mod serve;
mod show;
mod site;
mod steps;
mod worded;

pub use paper::Paper;

use crate::api::{Api, LivePage};
use futures_util::future::BoxFuture;
use link::{Links, Rights};
use protocol::api::{Code, PAGE_PORT, PageRequest, PageState, Refusal};
use site::Site;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::Mutex;
use tokio::task::JoinHandle;

/// The page, open or not.
pub(crate) struct Page {
    running: Mutex<Option<Running>>,
    papers: Vec<Paper>,
}

/// The open page.
struct Running {
    site: Arc<Site>,
    lan: bool,
    addresses: Vec<IpAddr>,
    task: JoinHandle<()>,
}

impl Page {
    pub fn new(papers: Vec<Paper>) -> Self {
        Self {
            running: Mutex::new(None),
            papers,
        }
    }
}

impl LivePage for Page {
    fn open(&self, api: Api, request: PageRequest) -> BoxFuture<'_, Result<PageState, Refusal>> {
        Box::pin(async move {
            let addresses = match request.lan {
                true => local::addresses()?,
                false => vec![IpAddr::V4(Ipv4Addr::LOCALHOST)],
            };
            let mut running = self.running.lock().await;
            if let Some(before) = running.take() {
                before.end().await;
            }
            let (listener, port) = listen(&request).await?;
            let links = Links::new(request.view_only)?;
            let site = Arc::new(Site::new(api, links, port, self.papers.clone()));
            tracing::info!(port, lan = request.lan, "the live page is open");
            let opened = running.insert(Running {
                task: tokio::spawn(serve::run(Arc::clone(&site), listener)),
                site,
                lan: request.lan,
                addresses,
            });
            Ok(opened.state())
        })
    }

    fn close(&self) -> BoxFuture<'_, ()> {
        Box::pin(async {
            if let Some(running) = self.running.lock().await.take() {
                running.end().await;
                tracing::info!("the live page is closed");
            }
        })
    }

    fn state(&self) -> BoxFuture<'_, PageState> {
        Box::pin(async {
            let running = self.running.lock().await;
            running.as_ref().map(Running::state).unwrap_or_default()
        })
    }
}

impl Running {
    async fn end(self) {
        self.task.abort();
        // The port is free once the task is gone; that it was aborted is no news.
        let _ = self.task.await;
    }

    fn state(&self) -> PageState {
        let links = |rights| {
            let token = self.site.links.token(rights);
            let port = self.site.port;
            let addresses = self.addresses.iter();
            let links = addresses.filter_map(|ip| {
                Some(format!("http://{}/#{}", SocketAddr::new(*ip, port), token?))
            });
            links.collect()
        };
        PageState {
            open: true,
            lan: self.lan,
            mark_links: links(Rights::Mark),
            view_links: links(Rights::View),
            viewers: self.site.viewing(),
        }
    }
}

async fn listen(request: &PageRequest) -> Result<(TcpListener, u16), Refusal> {
    let port = request.port.unwrap_or(PAGE_PORT);
    let ip = match request.lan {
        true => Ipv4Addr::UNSPECIFIED,
        false => Ipv4Addr::LOCALHOST,
    };
    let listener = TcpListener::bind((ip, port)).await;
    let bound = listener.and_then(|listener| {
        let port = listener.local_addr()?.port();
        Ok((listener, port))
    });
    bound.map_err(|error| {
        Refusal::new(
            Code::BadValue,
            format!("the page cannot use port {port}: {error}"),
        )
        .hint("choose another port: `conewright page on --port 8715`")
    })
}
