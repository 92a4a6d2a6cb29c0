// By ear: the pitch follows the distance to the target, the rhythm says which side; short sounds say what happened.

let context, timer, count;

export const on = () => Boolean(context);

export function turn(wanted) {
  if (!wanted) {
    context?.close();
    clearTimeout(timer);
    context = undefined;
    return false;
  }
  const Context = window.AudioContext ?? window.webkitAudioContext;
  if (!Context) return false;
  context = new Context();
  beat();
  return true;
}

// A browser stops the sound while the tablet sleeps; it goes on when the page is looked at or touched.
for (const event of ["visibilitychange", "pointerdown", "keydown"]) {
  document.addEventListener(event, () => { if (context && context.state !== "running") context.resume(); });
}

function tone(hertz, from, long, loud = 0.2, form = "sine") {
  if (!context) return;
  const start = context.currentTime + from, source = context.createOscillator(), level = context.createGain();
  source.type = form;
  source.frequency.value = hertz;
  level.gain.setValueAtTime(0, start);
  level.gain.linearRampToValueAtTime(loud, start + 0.01);
  level.gain.setValueAtTime(loud, start + long - 0.02);
  level.gain.linearRampToValueAtTime(0, start + long);
  source.connect(level).connect(context.destination);
  source.start(start);
  source.stop(start + long);
}

export const heard = { marked: () => { tone(660, 0, 0.08); tone(990, 0.09, 0.12); }, refused: () => { tone(180, 0, 0.25, 0.25, "square"); }, inside: () => { tone(523, 0, 0.15); tone(659, 0.15, 0.15); tone(784, 0.3, 0.3); }, lost: () => { for (let i = 0; i < 3; i++) tone(330 - 60 * i, 0.2 * i, 0.18, 0.25, "triangle"); } };

// What the next tone is of.
export function follow(now) { count = now; }

// Far is low, near is high, as a square root like the bar. One tone a beat before the target, two short ones past it, and a
// long one at it.
function beat() {
  let pause = 700;
  if (count) {
    const near = 1 - Math.min(1, Math.sqrt(Math.abs(count.to_go) / Math.max(count.full, 1)));
    const hertz = 260 * 2 ** (2 * near);
    pause = 650 - 350 * near;
    if (count.reached === "there") { tone(1040, 0, 0.5); pause = 600; }
    else if (count.reached === "past") { tone(hertz, 0, 0.07); tone(hertz, 0.12, 0.07); }
    else tone(hertz, 0, 0.12);
  }
  timer = setTimeout(beat, pause);
}
