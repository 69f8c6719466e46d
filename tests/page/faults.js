// Everything on the page that a look would call wrong, as a list of sentences.
(() => {
  const faults = [];
  const shown = (e) => {
    // What a closed <details> holds has a box, but none that is seen.
    if (!e.checkVisibility()) return false;
    const box = e.getBoundingClientRect();
    const style = getComputedStyle(e);
    return box.width > 1 && box.height > 1 && style.visibility !== "hidden";
  };
  const name = (e) => e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + (e.classList.length ? "." + [...e.classList].join(".") : "") + " “" + (e.textContent || "").trim().slice(0, 40) + "”";
  const wide = document.documentElement;
  if (wide.scrollWidth > wide.clientWidth + 1) faults.push("the page is wider than its screen: " + wide.scrollWidth + " > " + wide.clientWidth);

  // Controls: at least 48 px each way (the choice of a plan is its whole label).
  for (const e of document.querySelectorAll("button, a, summary, select, input:not([type=radio], [type=checkbox], [type=hidden]), label.choice, label.tick")) {
    const box = e.getBoundingClientRect();
    if (shown(e) && (box.width < 47.5 || box.height < 47.5)) faults.push(name(e) + " is only " + box.width.toFixed() + " x " + box.height.toFixed() + " px");
  }

  // Text: inside its box and inside the screen.
  const texts = [...document.querySelectorAll("body *")].filter((e) => shown(e) && !e.closest("svg") && [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()));
  for (const e of texts) {
    const range = document.createRange();
    range.selectNodeContents(e);
    const text = range.getBoundingClientRect();
    const scroller = e.closest(".wide, .table");
    if (text.right > wide.clientWidth + 1 && !scroller) faults.push(name(e) + " runs off the right edge");
    if (text.left < -1) faults.push(name(e) + " runs off the left edge");
    const card = e.closest("section, dialog, header, nav, button");
    const box = card && card.getBoundingClientRect();
    if (box && !scroller && (text.right > box.right + 1 || text.left < box.left - 1)) faults.push(name(e) + " sticks out of " + name(card));
  }

  // Nothing has to be scrolled inside a card of a full screen.
  if (innerHeight >= 700 && innerWidth >= 1200) {
    for (const e of document.querySelectorAll("#numbers, #next, #verdict, #reading")) {
      if (e.scrollHeight > e.clientHeight + 2) faults.push(name(e) + " has more than it shows: " + e.scrollHeight + " in " + e.clientHeight);
    }
  }
  // No button breaks a word, but at its hyphen.
  for (const e of document.querySelectorAll("button")) {
    const range = document.createRange();
    const walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      if (!shown(node.parentElement)) continue;
      for (const match of node.data.matchAll(/[^\s-]+-?/g)) {
        range.setStart(node, match.index);
        range.setEnd(node, match.index + match[0].length);
        if (new Set([...range.getClientRects()].map((r) => Math.round(r.top))).size > 1) faults.push(name(e) + " breaks " + match[0]);
      }
    }
  }

  // The drawing: no two texts touch, all inside its frame.
  for (const svg of document.querySelectorAll("svg.face")) {
    const frame = svg.getBoundingClientRect();
    const labels = [...svg.querySelectorAll("text")].map((e) => [e, e.getBoundingClientRect()]);
    labels.forEach(([a, p], index) => {
      if (p.left < frame.left - 1 || p.right > frame.right + 1 || p.top < frame.top - 1 || p.bottom > frame.bottom + 1) faults.push("in the drawing " + name(a) + " is cut off");
      for (const [b, q] of labels.slice(index + 1)) {
        if (p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 3 && q.top < p.bottom - 3) faults.push("in the drawing " + name(a) + " touches " + name(b));
      }
    });
  }

  // No text of a drawing lies under a button beside it.
  const beside = [...document.querySelectorAll("button")].filter((e) => shown(e) && !e.closest("header, #bar, #steps, .now, .foot, dialog"));
  for (const text of document.querySelectorAll("svg text")) {
    const p = text.getBoundingClientRect();
    for (const button of beside) {
      const q = button.getBoundingClientRect();
      if (p.left < q.right && q.left < p.right && p.top < q.bottom && q.top < p.bottom) faults.push("in the drawing " + name(text) + " lies under " + name(button));
    }
  }

  // What is needed while gauging is within reach, except where type is so large that it scrolls anyway.
  const bar = document.querySelector("#bar");
  const rem = parseFloat(getComputedStyle(wide).fontSize);
  if (bar && innerWidth > 20 * rem && innerHeight > 30 * rem) {
    const edge = bar.getBoundingClientRect();
    if (edge.bottom > innerHeight + 0.5) faults.push("Undo and Skip end at " + edge.bottom.toFixed() + " of " + innerHeight + " px");
    const typing = document.querySelector("#typing");
    const over = typing && innerWidth >= 55 * rem && typing.getBoundingClientRect();
    if (over && over.height && over.bottom > edge.top + 0.5 && over.top < edge.bottom - 0.5 && over.left < edge.right && scrollY === 0) faults.push("Undo and Skip lie on the field for a reading");
  }

  // Nothing that floats lies on what is to be set.
  const cover = bar && bar.getBoundingClientRect();
  for (const e of document.querySelectorAll("#next .bore, #next .angle, #next .clock")) {
    const box = e.getBoundingClientRect();
    if (cover && scrollY === 0 && box.top < cover.bottom - 1 && cover.top < box.bottom - 1 && box.left < cover.right && cover.left < box.right) faults.push("Undo and Skip lie on " + name(e));
  }
  const value = document.querySelector(".gauging .value");
  if (value && scrollY === 0 && value.getBoundingClientRect().bottom > innerHeight) faults.push("the reading ends at " + value.getBoundingClientRect().bottom.toFixed() + " of " + innerHeight + " px");

  // Contrast: WCAG 2.2, 1.4.3: at least 4.5 to 1, large text (24 px, or 18.66 px bold) 3 to 1.
  const light = (c) => {
    const [r, g, b] = c.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const colour = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = colour(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || (c.length === 4 && c[3] === 1)) return c;
    }
    return [255, 255, 255];
  };
  for (const e of texts) {
    // What can't be touched may be faint, but not the step where the job is.
    if (e.closest(":disabled") && !e.closest("[aria-current]")) continue;
    const style = getComputedStyle(e);
    const [a, b] = [light(colour(style.color).slice(0, 3)), light(ground(e).slice(0, 3))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    const size = parseFloat(style.fontSize);
    const enough = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700) ? 3 : 4.5;
    if (ratio < enough) faults.push(name(e) + " has a contrast of only " + ratio.toFixed(2));
  }

  // Every control has a name that a screen reader can say.
  for (const e of document.querySelectorAll("button, a, summary, select, input:not([type=hidden])")) {
    if (!(e.getAttribute("aria-label") || e.textContent.trim() || (e.labels && e.labels.length))) faults.push(name(e) + " has no name");
  }
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) faults.push("two elements are called " + id);
  return faults;
})()
