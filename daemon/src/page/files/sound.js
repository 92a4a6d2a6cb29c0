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

function tone(hertz, from, long, loud, form) {
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

// Pitch, beginning, length, loudness and form of each tone: as protocol/src/screen/sound.rs has them, which a test compares.
const EVENTS = {
  marked: [[660, 0, 0.08, 0.2, "sine"], [990, 0.09, 0.12, 0.2, "sine"]],
  refused: [[180, 0, 0.25, 0.25, "square"]],
  inside: [[523, 0, 0.15, 0.2, "sine"], [659, 0.15, 0.15, 0.2, "sine"], [784, 0.3, 0.3, 0.2, "sine"]],
  lost: [[330, 0, 0.18, 0.25, "triangle"], [270, 0.2, 0.18, 0.25, "triangle"], [210, 0.4, 0.18, 0.25, "triangle"]],
};
export const heard = Object.fromEntries(Object.entries(EVENTS).map(([name, tones]) => [name, () => tones.forEach((t) => tone(...t))]));

// What the next tone is of.
export function follow(now) { count = now; }

// The daemon says what a beat sounds like, with the count.
function beat() {
  let pause = 700;
  if (count) {
    for (const t of count.beat.tones) tone(t.hertz, t.from_s, t.long_s, t.loud, t.form);
    pause = count.beat.next_s * 1000;
  }
  timer = setTimeout(beat, pause);
}
