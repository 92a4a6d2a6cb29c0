//! The page's connections.

use super::arrived::Arrived;
use super::local::is_local;
use super::router::router;
use super::site::Site;
use crate::api::connection::connection;
use crate::api::places::Places;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};

/// Connections at a time. A browser opens up to six.
const MOST_CONNECTIONS: usize = 96;
/// How long to wait when the system has no room for a connection.
const NO_ROOM: Duration = Duration::from_millis(100);

/// Serves the page until it is dropped, and every connection with it.
pub(super) async fn run(site: Arc<Site>, listener: TcpListener) {
    tokio::select! {
        () = accept(&site, listener) => {}
        () = site.show.run(&site.api.engine) => {}
    }
}

async fn accept(site: &Arc<Site>, listener: TcpListener) {
    let router = router(Arc::clone(site));
    let mut places = Places::new(MOST_CONNECTIONS);
    loop {
        let has_place = places.make();
        let accepted = tokio::select! {
            accepted = listener.accept(), if has_place => accepted,
            Some(_) = places.connections.join_next() => continue,
        };
        let (stream, from) = match accepted {
            Ok(accepted) => accepted,
            Err(error) => {
                tracing::warn!(%error, "a connection to the page could not be accepted");
                tokio::time::sleep(NO_ROOM).await;
                continue;
            }
        };
        if !matches!(from.ip(), IpAddr::V4(ip) if is_local(ip)) {
            tracing::warn!(from = %from.ip(), "a connection to the page from outside the local network was rejected");
            continue;
        }
        let Ok(at) = prepared(&stream) else { continue };
        let router = router.clone();
        let phase = site.api.phase.clone();
        places.serve(|is_earned| {
            let arrived = Arrived { at, is_earned };
            let before = move |request: &mut hyper::Request<_>| {
                request.extensions_mut().insert(arrived.clone());
            };
            connection(stream, router, phase, before, true)
        });
        // It reads what was sent already before any other may take its place.
        tokio::task::yield_now().await;
    }
}

/// The address over which it came. Small messages go out at once.
fn prepared(stream: &TcpStream) -> std::io::Result<SocketAddr> {
    stream.set_nodelay(true)?;
    stream.local_addr()
}
