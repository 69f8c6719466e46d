// Puts the page's parts in place: each part has an id, and only one whose HTML changed is sent and touched.
import { one } from "/words.js";

let held = new Map(); // part id -> the HTML last put there
const waiting = new Map(); // part id -> the part that came while somebody filled in the one that is there

const partsOf = (bench) => bench.querySelectorAll("[data-part]");
const idsOf = (bench) => [...partsOf(bench)].map((part) => part.id).join(" ");

export const hold = (bench) => {
  held = new Map([...partsOf(bench)].map((part) => [part.id, part.outerHTML]));
  waiting.clear();
};

// Never take away what someone is filling in.
const inUse = (part) =>
  part.open === true ||
  (part.contains(document.activeElement) &&
    document.activeElement.matches("input, select") && part.id !== "reading");

// Nothing is put in place under a finger: a button that is made anew between the press and the release
// gets no click. A finger that rests on the screen holds nothing up for long.
const FINGER_MS = 1000;
let lifted = Promise.resolve();
let lift = () => {};

addEventListener("pointerdown", () => {
  lifted = new Promise((resolve) => { lift = resolve; });
  setTimeout(lift, FINGER_MS);
}, true);
// The click comes after these.
for (const up of ["pointerup", "pointercancel"]) addEventListener(up, () => setTimeout(lift), true);

export const untouched = () => lifted;

// Of a row, or of the drawing, came only the elements that changed: each has an id of its own.
function exchange(fresh) {
  fresh.remove();
  const old = one(fresh.id ? "#" + CSS.escape(fresh.id) : "#drawing svg.face");
  if (!old) return;
  for (const { name, value } of fresh.attributes) if (name !== "data-into") old.setAttribute(name, value);
  for (const element of [...fresh.children]) one("#" + CSS.escape(element.id))?.replaceWith(document.adoptNode(element));
  held.delete(fresh.id || "drawing");
}

// How to find an element again once its part was made anew.
function address(element) {
  if (!element || element === document.body) return null;
  if (element.id) return "#" + CSS.escape(element.id);
  for (const name of ["data-step", "data-command", "data-look", "data-view"]) {
    const value = element.getAttribute(name);
    if (value) return `[${name}="${CSS.escape(value)}"]`;
  }
  return null;
}

// What is open where there is room for it is closed on a small screen, until a touch opens it.
export function fold(known = []) {
  if (!matchMedia("(max-width: 599px), (max-height: 899px)").matches) return;
  for (const details of document.querySelectorAll("details[data-roomy]")) {
    if (!known.includes(details.id)) details.removeAttribute("open");
  }
}

// `html` is the answer of /bench. Gives whether the step or the screen is another one now.
export function place(html) {
  const bench = new DOMParser().parseFromString(html, "text/html").querySelector("#bench");
  const old = one("#bench");
  if (!bench || !old) return false;
  const focus = address(document.activeElement);
  const open = [...old.querySelectorAll("details[open]")].map((details) => details.id);
  const shut = [...old.querySelectorAll("details:not([open])")].map((details) => details.id);
  const down = one(".body")?.scrollTop;
  const moved = bench.dataset.step !== old.dataset.step || bench.dataset.screen !== old.dataset.screen;
  const only = "only" in bench.dataset; // what is not there is as it was
  delete bench.dataset.only;
  if (!only && (moved || idsOf(bench) !== idsOf(old))) {
    for (const dialog of old.querySelectorAll("dialog[open]")) dialog.close();
    hold(bench);
    old.replaceWith(document.adoptNode(bench));
    if (moved) scrollTo(0, 0);
  } else {
    bench.querySelectorAll("[data-into]").forEach(exchange);
    for (const part of partsOf(bench)) waiting.set(part.id, part);
    for (const [id, part] of waiting) {
      const now = one("#" + CSS.escape(id));
      const known = !now || held.get(id) === part.outerHTML;
      if (!known && inUse(now)) continue;
      waiting.delete(id);
      if (known) continue;
      held.set(id, part.outerHTML);
      now.replaceWith(document.importNode(part, true)); // a part may stand in another that waits
    }
    Object.assign(old.dataset, bench.dataset);
  }
  if (down && !moved && one(".body")) one(".body").scrollTop = down;
  for (const id of open) one("#" + CSS.escape(id))?.setAttribute("open", "");
  for (const id of shut) one("#" + CSS.escape(id))?.removeAttribute("open");
  fold([...open, ...shut]);
  if (focus && document.activeElement === document.body) one(focus)?.focus({ preventScroll: true });
  return moved;
}
