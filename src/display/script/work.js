// Who is at work: one page acts, the others watch. The token that says so is kept for this tab alone.
import { one, word } from "/words.js";

const GIVE_UP_MS = 4000;

// Since when somebody is at work, ms; NaN: nobody is.
const since = () => Date.parse(one("#bench").dataset.atWork);
const own = () => Number(sessionStorage.getItem("bench-since")) === since();
const mine = () => own() && sessionStorage.getItem("bench-token") !== null;
// A page that is loaded again was written before the bench heard that this tab had left it.
const nobody = () => Number.isNaN(since()) || (own() && !mine());

export const watching = () => !nobody() && !mine();

// A tab that is duplicated, or opened by a script, is given a copy of what the first one keeps. So a page
// that finds a token asks whether another has it: where one does, it forgets its copy and watches.
const pages = new BroadcastChannel("bench");
const ASK_MS = 1000;
let asks = sessionStorage.getItem("bench-token") !== null;

function forget() {
  for (const kept of ["bench-token", "bench-since", "who-number"]) sessionStorage.removeItem(kept);
  asks = false;
  showWork();
}

pages.addEventListener("message", ({ data }) => {
  if (data.since !== sessionStorage.getItem("bench-since") || !mine()) return;
  if (asks && data.has) forget();
  else if (!asks && !data.has) pages.postMessage({ since: data.since, has: true });
});
if (asks) {
  pages.postMessage({ since: sessionStorage.getItem("bench-since"), has: false });
  setTimeout(() => { asks = false; }, ASK_MS);
}

// Two pages that nobody named are told apart by a number of their own.
function number() {
  if (!sessionStorage.getItem("who-number")) {
    sessionStorage.setItem("who-number", String(10 + Math.floor(Math.random() * 90)));
  }
  return sessionStorage.getItem("who-number");
}

// How the others are told of this page.
const who = () =>
  localStorage.getItem("who") ||
  word(matchMedia("(pointer: coarse)").matches ? "script.tablet" : "script.computer") + " " + number();

export const post = (command) =>
  fetch("/commands", {
    method: "POST",
    headers: { "Content-Type": "application/json", "Bench-Token": sessionStorage.getItem("bench-token") ?? "none" },
    body: JSON.stringify(command),
    keepalive: true, // also from a page that is being closed
    signal: AbortSignal.timeout(GIVE_UP_MS),
  });

// Takes the bench, from nobody or from somebody else.
export async function takeBench() {
  const answer = await post({ command: "take_bench", who: who() });
  if (!answer.ok) return answer;
  const { token, at_work } = await answer.json();
  sessionStorage.setItem("bench-token", token);
  sessionStorage.setItem("bench-since", Date.parse(at_work.since));
  one("#bench").dataset.atWork = at_work.since;
  return answer;
}

// The first touch takes the bench by itself where nobody is at work.
export async function beAtWork() {
  if (nobody()) await takeBench();
}

// A page that is closed leaves the bench; one that only sleeps keeps it. Where it comes back after all,
// its next touch takes the bench again.
addEventListener("pagehide", () => {
  if (!mine() || asks) return;
  post({ command: "leave_bench" }).catch(() => {});
  sessionStorage.removeItem("bench-token");
  one("#bench").dataset.atWork = "";
});

// Another name for this page, told at once where it is at work.
export async function rename(name) {
  localStorage.setItem("who", name);
  if (mine()) await takeBench();
}

const ACTS =
  "button[data-command], button[data-open=close], " +
  ["button", "input", "select"].map((control) => "form:not(#naming) " + control).join(", ");

// A watcher's controls can't be touched, and say why. It may name itself.
export function showWork() {
  const now = watching();
  const line = one("#at-work");
  if (line) line.hidden = !now;
  document.body.classList.toggle("watching", now);
  for (const control of document.querySelectorAll(ACTS)) {
    if (now && !control.disabled) {
      control.disabled = true;
      control.dataset.watched = "";
    } else if (!now && "watched" in control.dataset) {
      control.disabled = false;
      delete control.dataset.watched;
    }
  }
  const name = one("#who");
  if (name && document.activeElement !== name) name.value = who();
}
