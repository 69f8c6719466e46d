// Puts the page's parts in place: each part has an id, and only one whose HTML changed is touched.
import { one } from "/words.js";

let held = new Map(); // part id -> the HTML last put there

const partsOf = (bench) => bench.querySelectorAll("[data-part]");
const idsOf = (bench) => [...partsOf(bench)].map((part) => part.id).join(" ");

export const hold = (bench) => {
  held = new Map([...partsOf(bench)].map((part) => [part.id, part.outerHTML]));
};

// Never take away what someone is filling in.
const inUse = (part) =>
  part.open === true ||
  (part.contains(document.activeElement) &&
    document.activeElement.matches("input, select") && part.id !== "reading");

// Of a drawing only what changed is exchanged: its elements have ids of their own.
function exchange(now, part) {
  const [old, fresh] = [now.querySelector("svg.face"), part.querySelector("svg.face")];
  if (!old || !fresh) return false;
  const keys = (svg) => svg.getAttribute("class") + [...svg.children].map((element) => element.id).join(" ");
  const rest = (whole, svg) => whole.outerHTML.replace(svg.outerHTML, "");
  if (keys(old) !== keys(fresh) || rest(now, old) !== rest(part, fresh)) return false;
  for (const { name, value } of fresh.attributes) old.setAttribute(name, value);
  [...fresh.children].forEach((element, index) => {
    const was = old.children[index];
    if (was.outerHTML !== element.outerHTML) was.replaceWith(document.adoptNode(element));
  });
  return true;
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

// What is open where there is room for it is closed on a telephone, until a touch opens it.
export function fold(known = []) {
  if (!matchMedia("(max-width: 599px)").matches) return;
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
  if (moved || idsOf(bench) !== idsOf(old)) {
    for (const dialog of old.querySelectorAll("dialog[open]")) dialog.close();
    hold(bench);
    old.replaceWith(document.adoptNode(bench));
    if (moved) scrollTo(0, 0);
  } else {
    for (const part of partsOf(bench)) {
      const now = one("#" + part.id);
      if (held.get(part.id) === part.outerHTML || inUse(now)) continue;
      held.set(part.id, part.outerHTML);
      if (exchange(now, part)) continue;
      now.replaceWith(document.adoptNode(part));
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
