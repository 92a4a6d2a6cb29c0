//! Any bytes to a whole daemon, as its client: a path and a body that are taken as HTTP allows, or anything at all. It answers in
//! its own form, never with a fault of its own, and goes on.
//!
//! The first byte chooses what is asked; 0 sends the rest as it is.

#![no_main]

use conewright_config::Config;
use conewright_daemon::{Home, Parts, Socket, reload, run_blocking};
use libfuzzer_sys::fuzz_target;
use std::io::{Read, Write};
use std::net::Shutdown;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::sync::LazyLock;
use std::time::Duration;

const ASKED: &[(&str, &str)] = &[
    ("GET", "/v1/status"),
    ("POST", "/v1/sessions"),
    ("POST", "/v1/steps"),
    ("POST", "/v1/marks"),
    ("POST", "/v1/marks"),
    ("POST", "/v1/marks/undo"),
    ("POST", "/v1/clamp"),
    ("POST", "/v1/ground"),
    ("POST", "/v1/notes"),
    ("POST", "/v1/steps/current/close"),
    ("POST", "/v1/sessions/current/close"),
    ("GET", "/v1/sessions/latest/record"),
    ("GET", "/v1/sessions"),
    ("DELETE", "/v1/marks"),
];

/// The daemon of this process, on a store in memory where the system has a place for that.
static SOCKET: LazyLock<PathBuf> = LazyLock::new(|| {
    let root = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir());
    // It stays until the driver ends.
    let root = root.expect("a directory").keep();
    let home = Home::acquire(&root.join("data")).expect("its data directory");
    let path = root.join("socket");
    let socket = Socket::listen(&path, &home).expect("its socket");
    let parts = Parts::real(home, socket, Config::default(), reload::fixed());
    std::thread::spawn(move || run_blocking(parts, std::future::pending()).expect("a daemon"));
    path
});

fuzz_target!(|data: &[u8]| {
    let [what, body @ ..] = data else {
        return;
    };
    let mut stream = UnixStream::connect(&*SOCKET).expect("the daemon listens");
    stream
        .set_read_timeout(Some(Duration::from_secs(5)))
        .expect("a timeout");
    let whole = *what != 0;
    let mut request = Vec::new();
    if whole {
        let (method, path) = ASKED[usize::from(what - 1) % ASKED.len()];
        let length = body.len();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nhost: conewright\r\nconnection: close\r\ncontent-length: {length}\r\n\r\n"
        );
        request.extend_from_slice(head.as_bytes());
    } else if body.windows(4).any(|w| w.eq_ignore_ascii_case(b"stop")) {
        // The one request that ends it, and event streams that never end, are not meant here.
        return;
    }
    // In one piece: it may answer by the head alone and close, and what came after that would reset the connection.
    request.extend_from_slice(body);
    let _ = stream.write_all(&request);
    if !whole {
        let _ = stream.shutdown(Shutdown::Write);
        if body.windows(6).any(|w| w.eq_ignore_ascii_case(b"events")) {
            return;
        }
    }
    let mut answer = Vec::new();
    let read = stream.read_to_end(&mut answer);
    if whole {
        read.unwrap_or_else(|error| panic!("no answer: {error}"));
        let answer = String::from_utf8(answer).expect("text");
        assert!(answer.starts_with("HTTP/1.1 "), "{answer}");
        let (head, text) = answer.split_once("\r\n\r\n").expect("a head");
        assert!(!head.starts_with("HTTP/1.1 500"), "{answer}");
        if !head.contains("transfer-encoding: chunked") {
            let reply: serde_json::Value = serde_json::from_str(text).expect("JSON");
            let refused = !head.starts_with("HTTP/1.1 200");
            assert!(!refused || reply["message"].is_string(), "{answer}");
            assert_ne!(reply["code"], "internal", "{answer}");
        }
    }
});
