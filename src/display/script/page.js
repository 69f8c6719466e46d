// Shows the bench as it is: fetches its parts when the feed says that something changed, carries
// touches to the bench. What happened and what it means is worked out in the daemon; here is no number.
import { language, one, say, showAges, word } from "/words.js";
import { fold, hold, place, untouched } from "/place.js";
import { showSound, sound, speak, toggle, unlockSound } from "/sound.js";
import { connected, listen, showNewest } from "/feed.js";
import { commandOf, send } from "/send.js";
import { rename, showWork, takeBench, watching } from "/work.js";

const HEARTBEAT_MS = 5000; // a connection can die without a word: ask now and then
const GIVE_UP_MS = 4000;
const FLOOD_MS = 1500;
const ASLEEP_MS = 8000; // longer than any tick or heartbeat of a page that is awake
// After these the page stays where it is: a step has more to ask than one thing.
const STAYS = ["set_evidence", "note", "set_insert", "set_housing", "begin_ring", "cancel_ring", "set_ring",
  "check_ring", "drop_reading", "set_temperature", "hang_test", "begin_hang", "end_hang", "cancel_hang"];

// These leave the step at which a gauge was put into its ring.
const LEAVES = ["open_job", "take_up", "put_aside", "close_job", "set_phase"];

let look = null; // the section pinned by a touch, until the next reading
let step = new URLSearchParams(location.search).get("step"); // pinned by a touch, until the job moves on
let kept = JSON.parse(sessionStorage.getItem("step")); // that step, for when the page is loaded again
let view = "face"; // which drawing
let heardSeq = null;
let heardInRing = 0;
let heardNoise = 0;
let noiseSaid = 0; // when, ms: noise can come in floods
let live = true;
let lastHeard = new Date();
let ahead = 0; // how far the daemon's clock is ahead of this one, ms
let fetching = false;
let again = false;
let awaited = 0; // the newest event that was told of meanwhile
let wakings = 0; // an answer asked for before a sleep says nothing of now

const shownSeq = () => Number(one("#bench").dataset.seq);

// An answer holds all that follows from the events up to its own: what the feed says of them after it, or
// while it is on its way, brings nothing. News of the moment has no number.
function changed({ seq }) {
  if (typeof seq !== "number") refresh();
  else if (fetching) awaited = Math.max(awaited, seq);
  else if (seq > shownSeq()) refresh();
}

async function refresh() {
  if (fetching) { again = true; return; }
  fetching = true;
  const asked = wakings;
  try {
    const { held } = one("#bench").dataset;
    const query = new URLSearchParams({ ...look, ...(step && { step }), ...(held && { held }), view, lang: language });
    const answer = await fetch("/bench?" + query, {
      cache: "no-store",
      signal: AbortSignal.timeout(GIVE_UP_MS),
    });
    if (!answer.ok) throw new Error(await answer.text());
    const parts = await answer.text();
    await untouched();
    if (asked !== wakings) { again = true; return; }
    place(parts);
    lastHeard = new Date();
    ahead = Date.parse(one("#bench").dataset.now) - lastHeard;
    if (one("#bench").dataset.screen === "start") { look = step = null; showSeat(); }
    showSound();
    showAges(ahead);
    showNewest();
    showWork();
    measure();
    hear();
    keepStep();
    keepFocus();
    showLive(connected());
  } catch {
    showLive(false);
  } finally {
    fetching = false;
    const more = again || awaited > shownSeq();
    again = false;
    awaited = 0;
    if (more) refresh();
  }
}

// How much stands over the first screen's content, for the style sheet: it depends on what is said there.
// The whole page depends on it, so that it is set only where it changed.
let above = 0;
function measure() {
  const now = one("main").offsetTop;
  if (now !== above) document.documentElement.style.setProperty("--above", now + "px");
  above = now;
}
addEventListener("resize", measure);

function showLive(now) {
  if (now === live) return;
  live = now;
  document.body.classList.toggle("gone", !live);
  one("#gone").hidden = live;
  one("#gone-since").textContent = lastHeard.toLocaleTimeString(language);
}

// A new reading: heard once, and the page goes to where it belongs. What can't be read is heard too.
function hear() {
  const { heard, heardSeq: number, noise } = one("#bench").dataset;
  const seq = Number(number);
  const unreadable = Number(noise) > heardNoise;
  heardNoise = Number(noise);
  if (heardSeq !== null && seq > heardSeq) {
    if (look || step) { look = step = null; again = true; }
    say("");
    sound(heard);
    speak(heard);
  } else if (unreadable && Date.now() - noiseSaid > FLOOD_MS) {
    noiseSaid = Date.now();
    sound("refused");
    speak("unreadable");
  }
  heardSeq = seq;
  // In a ring it is heard too, and the page stays where it is.
  const inRing = Number(one("#bench").dataset.ringReadings);
  if (inRing > heardInRing) sound("stored");
  heardInRing = inRing;
}

// A page that is loaded again shows the same step, unless another job or a reading has come since.
function keepStep() {
  kept = step && { step, job: one("#bench").dataset.job, heard: heardSeq };
  sessionStorage.setItem("step", JSON.stringify(kept));
}

function stepAgain() {
  const same = kept && kept.job === one("#bench").dataset.job && kept.heard === heardSeq;
  if (!step && same) step = kept.step;
}

// Who leaves the ring's step takes the gauge out of the ring: its readings count again.
async function leaveRing() {
  if (watching()) return;
  for (const gauge of JSON.parse(one("#bench").dataset.inRing)) await send({ command: "cancel_ring", gauge });
}

async function ask(command) {
  // Before it is sent: the feed may tell of it before the answer does.
  const stays = STAYS.includes(command.command) && one("#bench").dataset.screen === "job";
  if (stays) step = one("#bench").dataset.step;
  if (LEAVES.includes(command.command)) await leaveRing();
  const done = await send(command);
  if (done) {
    look = null;
    if (!stays) step = null;
  }
  refresh();
  return done;
}

document.addEventListener("click", async (event) => {
  const wakes = unlockSound();
  if (event.target.id === "message") say("");
  const button = event.target.closest("button");
  if (!button) return;
  const { command, open, step: to, view: drawing, look: section } = button.dataset;
  if (button.id === "sound" || button.id === "voice") {
    toggle(button.id, wakes);
  } else if (button.id === "all-steps") {
    const shown = one("#steps").classList.toggle("open");
    button.setAttribute("aria-expanded", String(shown));
  } else if ("take" in button.dataset) {
    say("");
    try { await takeBench(); } catch { say(word("script.no-answer")); }
    refresh();
  } else if (command && button.type === "button") {
    button.closest("dialog")?.close();
    await ask(JSON.parse(command));
    keepFocus(!button.closest("#task"));
  } else if (open) {
    button.closest("dialog")?.close();
    one("#" + open).showModal();
  } else if ("close" in button.dataset) {
    button.closest("dialog").close();
    keepFocus(true);
  } else if (to) {
    if (to !== one("#bench").dataset.step) await leaveRing();
    look = null;
    step = to;
    refresh();
  } else if (drawing) {
    view = drawing;
    refresh();
  } else if (section) {
    look = JSON.parse(section);
    if (one("#task")) step = one("#bench").dataset.step;
    await refresh();
    one("#verdict")?.scrollIntoView({ block: "nearest" });
  }
});

document.addEventListener("submit", async (event) => {
  event.preventDefault();
  unlockSound();
  const form = event.target;
  if (form.id === "naming") {
    await rename(one("#who").value.trim()).catch(() => say(word("script.no-answer")));
    form.closest("dialog")?.close();
    return;
  }
  const command = commandOf(form);
  if (!command) return;
  const typing = form.id === "typing";
  const text = typing && one("#typed").value;
  if (typing) one("#typed").value = "";
  if (await ask(command)) {
    if (form.dataset.done) say(form.dataset.done, true);
    if (command.seat) localStorage.setItem("seat", command.seat);
    form.closest("dialog")?.close();
    if (!typing) {
      form.reset();
      document.activeElement.blur(); // what was filled in is done with: its part may change
      refresh();
    }
  } else if (typing && one("#typed") && one("#typed").value === "") {
    one("#typed").value = text;
    one("#typed").select();
  }
  keepFocus(!typing || document.activeElement === document.body);
});

// ---- the field that a keyboard gauge types into ---------------------------------------------

// Without a touch on the field itself no on-screen keyboard comes up.
function keepFocus(force) {
  const typed = one("#typed");
  if (!typed || one("dialog[open]")) return;
  if (force || document.activeElement === document.body) typed.focus({ preventScroll: true });
}

document.addEventListener("pointerdown", (event) => {
  if (event.target.id === "typed") event.target.inputMode = "decimal";
});
document.addEventListener("focusout", (event) => {
  if (event.target.id === "typed") event.target.inputMode = "none";
});
document.addEventListener("keydown", (event) => {
  if (event.key.length !== 1 || event.key === " " || event.ctrlKey || event.metaKey || event.altKey) return;
  if (!document.activeElement.matches("input, select, textarea")) keepFocus(true);
});

// A shop sees the same few seats again and again.
function showSeat() {
  const seat = localStorage.getItem("seat");
  const field = one("#seat");
  if (!field || field.dataset.kept) return;
  field.dataset.kept = "yes";
  if (seat && one("#seat option[value=" + CSS.escape(seat) + "]")) field.value = seat;
}

// ---- begin --------------------------------------------------------------------------------------

hold(one("#bench"));
fold();
listen(changed, () => showLive(false));
heardSeq = Number(one("#bench").dataset.heardSeq);
heardInRing = Number(one("#bench").dataset.ringReadings);
heardNoise = Number(one("#bench").dataset.noise);
stepAgain();
if (step && step !== one("#bench").dataset.step) refresh();
showSeat();
showSound();
showAges(ahead);
showWork();
measure();
keepFocus();
let ticked = Date.now();
setInterval(() => {
  // A device that slept missed its ticks: nothing is live before the daemon was heard again.
  if (Date.now() - ticked > ASLEEP_MS) wake();
  ticked = Date.now();
  showAges(ahead);
  showNewest();
}, 1000);
setInterval(() => { if (!document.hidden) refresh(); }, HEARTBEAT_MS);
document.addEventListener("visibilitychange", () => { if (!document.hidden) wake(); });
document.addEventListener("resume", wake);

function wake() {
  if (Date.now() - lastHeard > ASLEEP_MS) {
    live = false;
    wakings += 1;
    document.body.classList.add("gone");
  }
  refresh();
}
