//! One request over the daemon's socket, and the classification of what can come of it.

use super::ClientError;
use http_body_util::{BodyExt, Full};
use hyper::body::{Bytes, Incoming};
use hyper::client::conn::http1;
use hyper::header::{CONTENT_TYPE, HOST};
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::TokioIo;
use protocol::api::{Code, Refusal, VERSION};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use std::time::Duration;
use tokio::net::UnixStream;

/// A daemon that has not answered by then hangs. A mark waits for its commit, which on a slow disk under
/// load can take seconds, so this is long.
const PATIENCE: Duration = Duration::from_secs(30);

/// What every reply begins with, whatever the version.
#[derive(Deserialize)]
struct Version {
    api: u32,
    #[serde(default)]
    program: String,
}

/// Asks, and reads the answer.
pub(super) async fn ask<T: DeserializeOwned>(
    socket: &Path,
    method: Method,
    path: &str,
    body: Option<Vec<u8>>,
) -> Result<T, ClientError> {
    let (status, bytes) = whole(socket, method, path, body).await?;
    // A record stands bare and names its own version, so a body without `api` is judged as what it should be. It may be long: it is
    // not read twice to find that out.
    if says_version(&bytes)
        && let Ok(Version { api, program }) = serde_json::from_slice(&bytes)
        && api != VERSION
    {
        return Err(ClientError::WrongVersion { api, program });
    }
    if !status.is_success() {
        return Err(refused(path, status, &bytes));
    }
    serde_json::from_slice(&bytes).map_err(|e| {
        ClientError::Broken(format!("the daemon's answer to {path} cannot be read: {e}"))
    })
}

/// Whether `api` stands at the beginning of a reply, where every version has it.
fn says_version(reply: &[u8]) -> bool {
    const KEY: &[u8] = b"\"api\"";
    let beginning = &reply[..reply.len().min(256)];
    beginning.windows(KEY.len()).any(|key| key == KEY)
}

/// Asks the daemon to stop, whichever version of the API it speaks.
pub(super) async fn stop(socket: &Path, path: &str) -> Result<(), ClientError> {
    let (status, bytes) = whole(socket, Method::POST, path, None).await?;
    if status.is_success() {
        Ok(())
    } else {
        Err(refused(path, status, &bytes))
    }
}

/// Opens a reply that goes on for as long as both sides like.
pub(super) async fn open_stream(socket: &Path, path: &str) -> Result<Incoming, ClientError> {
    let response = patiently(path, send(socket, Method::GET, path, None)).await?;
    let status = response.status();
    if status.is_success() {
        return Ok(response.into_body());
    }
    let bytes = patiently(path, collect(path, response)).await?;
    Err(refused(path, status, &bytes))
}

/// Asks, and hands the answer on piece by piece. Returns its length, or why `out` does not take it.
pub(super) async fn into(
    socket: &Path,
    path: &str,
    out: &mut impl Write,
) -> Result<io::Result<u64>, ClientError> {
    let mut body = open_stream(socket, path).await?;
    let mut length = 0;
    loop {
        let next = patiently(path, async { Ok(body.frame().await) }).await?;
        let Some(frame) = next else {
            return Ok(Ok(length));
        };
        let frame = frame.map_err(|e| {
            ClientError::Broken(format!("the daemon's answer to {path} broke off: {e}"))
        })?;
        if let Some(piece) = frame.data_ref() {
            if let Err(error) = out.write_all(piece) {
                return Ok(Err(error));
            }
            length += piece.len() as u64;
        }
    }
}

async fn whole(
    socket: &Path,
    method: Method,
    path: &str,
    body: Option<Vec<u8>>,
) -> Result<(StatusCode, Vec<u8>), ClientError> {
    patiently(path, async {
        let response = send(socket, method, path, body).await?;
        let status = response.status();
        Ok((status, collect(path, response).await?))
    })
    .await
}

async fn patiently<T>(
    path: &str,
    work: impl Future<Output = Result<T, ClientError>>,
) -> Result<T, ClientError> {
    tokio::time::timeout(PATIENCE, work)
        .await
        .unwrap_or_else(|_| {
            Err(ClientError::Broken(format!(
                "the daemon has not answered {path} for {} s",
                PATIENCE.as_secs()
            )))
        })
}

async fn send(
    socket: &Path,
    method: Method,
    path: &str,
    body: Option<Vec<u8>>,
) -> Result<Response<Incoming>, ClientError> {
    let stream = UnixStream::connect(socket)
        .await
        .map_err(|e| match e.kind() {
            ErrorKind::NotFound | ErrorKind::ConnectionRefused => ClientError::NotRunning {
                socket: socket.display().to_string(),
            },
            _ => ClientError::Broken(format!(
                "the daemon's socket {} cannot be used: {e}",
                socket.display()
            )),
        })?;
    is_own(&stream, socket)?;
    let broken = |e: hyper::Error| {
        ClientError::Broken(format!("the connection to the daemon broke at {path}: {e}"))
    };
    let (mut sender, connection) = http1::handshake(TokioIo::new(stream))
        .await
        .map_err(broken)?;
    // The connection's own error is that of the request, which is reported below.
    tokio::spawn(async move {
        let _ = connection.await;
    });
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header(HOST, "conewright")
        .header(CONTENT_TYPE, "application/json")
        .body(Full::new(Bytes::from(body.unwrap_or_default())))
        .map_err(|e| ClientError::Broken(format!("{path} makes no request: {e}")))?;
    sender.send_request(request).await.map_err(broken)
}

/// Nothing is sent to a socket at which another user listens: it would learn the names and notes, and its answers are not to
/// be trusted.
fn is_own(stream: &UnixStream, socket: &Path) -> Result<(), ClientError> {
    let peer = stream.peer_cred().map_err(|e| {
        ClientError::Broken(format!(
            "it is not known who listens at {}: {e}",
            socket.display()
        ))
    })?;
    if peer.uid() == rustix::process::geteuid().as_raw() {
        return Ok(());
    }
    Err(ClientError::Foreign {
        socket: socket.display().to_string(),
        user: peer.uid(),
    })
}

/// The whole body, copied piece by piece: kept as it comes, each piece would hold all of the buffer that it was read into.
async fn collect(path: &str, response: Response<Incoming>) -> Result<Vec<u8>, ClientError> {
    let mut body = response.into_body();
    let mut bytes = Vec::new();
    while let Some(frame) = body.frame().await {
        let frame = frame.map_err(|e| {
            ClientError::Broken(format!("the daemon's answer to {path} broke off: {e}"))
        })?;
        if let Some(piece) = frame.data_ref() {
            bytes.extend_from_slice(piece);
        }
    }
    Ok(bytes)
}

fn refused(path: &str, status: StatusCode, bytes: &[u8]) -> ClientError {
    // A newer daemon may refuse with a code that is not known here; its message still is for people.
    #[derive(Deserialize)]
    struct Words {
        message: String,
        hint: Option<String>,
    }
    if let Ok(refusal) = serde_json::from_slice::<Refusal>(bytes) {
        return ClientError::Refused(refusal);
    }
    match serde_json::from_slice::<Words>(bytes) {
        Ok(Words { message, hint }) => ClientError::Refused(Refusal {
            code: Code::Internal,
            message,
            hint,
        }),
        Err(_) => ClientError::Broken(format!("the daemon answered {path} with status {status}")),
    }
}
