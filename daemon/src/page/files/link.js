// The link to the daemon: the secret of the address, the events, and requests that are sent again until they are answered.

import { word } from "./words.js";

const LOST_MS = 1300; // Two beats without one, and some patience.
const RETRY_MS = 1000;
const GIVE_UP_MS = 8000;

// Trades the secret in the address for a cookie, and takes it out of the address.
export async function enter() {
  const token = location.hash.slice(1);
  if (token) {
    history.replaceState(null, "", "/");
    const entered = await send("/page/enter", { token });
    if (entered.ok) return entered.body.may_mark;
  }
  const me = await ask("/page/me");
  if (!me.ok) throw me.body;
  return me.body.may_mark;
}

async function answer(response) {
  const text = await response.text();
  let body;
  try { body = JSON.parse(text); } catch { body = { message: word("page-answered", { status: response.status }) }; }
  return { ok: response.ok, status: response.status, body };
}

export async function ask(path) {
  return answer(await fetch(path, { headers: { accept: "application/json" } }));
}

function send(path, body, key) {
  const headers = { "content-type": "application/json" };
  if (key) headers["idempotency-key"] = key;
  return fetch(path, { method: "POST", headers, body: JSON.stringify(body ?? {}) }).then(answer);
}

export function plan(body) { return send("/page/plan", body); }

export function check(body) { return send("/page/check", body); }

// `crypto.randomUUID` needs HTTPS; this does not.
function key() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
}

// A change. While the network fails it is sent again with the same key: the daemon makes it once.
export async function change(path, body) {
  const own = key();
  const until = performance.now() + GIVE_UP_MS;
  for (;;) {
    try {
      return await send(path, body, own);
    } catch {
      if (performance.now() > until) {
        return { ok: false, status: 0, body: { message: word("page-no-answer"), hint: word("page-look-first") } };
      }
      await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
    }
  }
}

// Follows the events. `on` has: frame(frame, clock), trace(points), lost(seconds), back(), invalid(refusal).
export function follow(on) {
  let source, heard = performance.now(), lost = false, retry = 0, begun = performance.now(), offset = 0;
  const hear = () => {
    heard = performance.now();
    if (lost) { lost = false; on.back(); }
  };
  const at = (t) => { offset = t - performance.now() / 1000; };
  const open = () => {
    source?.close();
    begun = performance.now();
    source = new EventSource("/page/events");
    source.addEventListener("frame", (e) => { hear(); on.frame(JSON.parse(e.data)); });
    source.addEventListener("trace", (e) => { hear(); on.trace(JSON.parse(e.data)); });
    source.addEventListener("beat", (e) => { hear(); at(JSON.parse(e.data)); on.beat(); });
    source.onerror = () => { source.close(); retry = performance.now() + RETRY_MS; check(); };
  };
  const check = async () => {
    try {
      const me = await ask("/page/me");
      if (me.status === 401) { clearInterval(timer); source.close(); on.invalid(me.body); }
    } catch { heard = Math.min(heard, performance.now() - LOST_MS); }
  };
  const timer = setInterval(() => {
    const now = performance.now();
    if (now - heard > LOST_MS) {
      lost = true;
      on.lost((now - heard) / 1000);
      // A stream that says nothing is as good as none: it is opened again.
      if (source.readyState !== EventSource.CLOSED && now - begun > 4 * RETRY_MS) open();
    }
    if (source.readyState === EventSource.CLOSED && now > retry) open();
  }, 200);
  // After a sleep the old stream may look open for minutes.
  document.addEventListener("visibilitychange", () => { if (!document.hidden && performance.now() - heard > LOST_MS) open(); });
  open();
  return { now: () => performance.now() / 1000 + offset, at };
}
