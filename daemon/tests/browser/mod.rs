//! A browser as the page's server sees it: who it is by its headers, and what it asks for.

#![allow(dead_code, unreachable_pub, reason = "each test uses its part of it")]

use super::bench_daemon::{Bench, soon};
use http_body_util::{BodyExt, Full};
use hyper::body::{Bytes, Incoming};
use hyper::{Request, Response};
use hyper_util::rt::TokioIo;
use serde_json::{Value, json};
use tokio::net::TcpStream;

/// A browser as the page's server sees it.
#[derive(Clone)]
pub struct Browser {
    pub port: u16,
    pub headers: Vec<(&'static str, String)>,
}

/// The link's port and secret.
pub fn parts(link: &Value) -> (u16, String) {
    let link = link.as_str().unwrap();
    let (address, token) = link.split_once("/#").unwrap();
    let port = address.strip_prefix("http://127.0.0.1:").unwrap();
    (port.parse().unwrap(), token.to_owned())
}

pub async fn open(bench: &Bench) -> Value {
    bench.done("/v1/page", json!({ "port": 0 })).await
}

impl Browser {
    /// One that has the page open and no link.
    pub fn stranger(port: u16) -> Self {
        let address = format!("127.0.0.1:{port}");
        Self {
            port,
            headers: vec![
                ("host", address.clone()),
                ("origin", format!("http://{address}")),
                ("sec-fetch-site", "same-origin".to_owned()),
            ],
        }
    }

    /// One that has used this link.
    pub async fn by(link: &Value) -> Self {
        let (port, token) = parts(link);
        let browser = Self::stranger(port);
        let entered = browser
            .send("POST", "/page/enter", &json!({ "token": token }))
            .await;
        assert_eq!(entered.status(), 200);
        let cookie = entered.headers()["set-cookie"].to_str().unwrap().to_owned();
        let (pair, attributes) = cookie.split_once("; ").unwrap();
        for wanted in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(attributes.contains(wanted), "{cookie}");
        }
        browser.with("cookie", pair)
    }

    /// The same with this header instead of its own.
    pub fn with(mut self, name: &'static str, value: &str) -> Self {
        self.headers.retain(|(known, _)| *known != name);
        self.headers.push((name, value.to_owned()));
        self
    }

    pub fn without(mut self, name: &str) -> Self {
        self.headers.retain(|(known, _)| *known != name);
        self
    }

    pub async fn send(&self, method: &str, path: &str, body: &Value) -> Response<Incoming> {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).await.unwrap();
        let (mut sender, connection) = hyper::client::conn::http1::handshake(TokioIo::new(stream))
            .await
            .unwrap();
        tokio::spawn(connection);
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in &self.headers {
            request = request.header(*name, value);
        }
        let body = if body.is_null() {
            Vec::new()
        } else {
            serde_json::to_vec(body).unwrap()
        };
        let request = request.body(Full::new(Bytes::from(body))).unwrap();
        soon(sender.send_request(request)).await.unwrap()
    }

    pub async fn get(&self, path: &str) -> (u16, String) {
        text(self.send("GET", path, &Value::Null).await).await
    }

    /// A change with this key.
    pub async fn change(&self, key: &str, path: &str, body: Value) -> (u16, Value) {
        let own = self.clone().with("idempotency-key", key);
        let (status, text) = text(own.send("POST", path, &body).await).await;
        (status, serde_json::from_str(&text).unwrap())
    }
}

pub async fn text(response: Response<Incoming>) -> (u16, String) {
    let status = response.status().as_u16();
    let bytes = soon(response.into_body().collect())
        .await
        .unwrap()
        .to_bytes();
    (status, String::from_utf8(bytes.to_vec()).unwrap())
}
