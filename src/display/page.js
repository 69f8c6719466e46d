// Puts the moving parts in place when the feed says that something changed, sends commands, makes
// sounds. What happened and what it means is worked out in the daemon; here is no number. Of the
// feed's objects only the news of the moment is read, which no state holds.
"use strict";
(() => {
  const said = JSON.parse(document.body.dataset.words);
  // The text of a key with its {words} put in.
  const word = (key, values = {}) =>
    (said[key] ?? key).replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? name));
  const one = (selector) => document.querySelector(selector);
  const HEARTBEAT_MS = 5000; // a connection can die without a word: ask now and then
  const GIVE_UP_MS = 4000;
  const TRY_AGAIN_MS = 1000;

  let look = null; // the section pinned by a touch, until the next reading
  let view = "face"; // which drawing
  let held = new Map(); // part id -> the HTML last put there
  let heardSeq = null;
  let feed = null;
  let live = true;
  let lastHeard = new Date();
  let ahead = 0; // how far the daemon's clock is ahead of this one, ms
  let fetching = false;
  let again = false;

  // ---- the moving parts -------------------------------------------------------------------

  const partsOf = (bench) =>
    bench.querySelectorAll(":scope > header > *, :scope > main > div > *, :scope > dialog");

  function place(html) {
    const bench = new DOMParser().parseFromString(html, "text/html").querySelector("#bench");
    const old = one("#bench");
    if (!bench || !old) return;
    if (bench.dataset.screen !== old.dataset.screen || !sameParts(bench, old)) {
      for (const dialog of old.querySelectorAll("dialog[open]")) dialog.close();
      held = new Map([...partsOf(bench)].map((part) => [part.id, part.outerHTML]));
      old.replaceWith(document.adoptNode(bench));
      showSeat();
    } else {
      for (const part of partsOf(bench)) {
        const now = one("#" + part.id);
        if (held.get(part.id) === part.outerHTML || inUse(now)) continue;
        const back = now.contains(document.activeElement) && document.activeElement.id;
        held.set(part.id, part.outerHTML);
        now.replaceWith(document.adoptNode(part));
        if (back && one("#" + back)) one("#" + back).focus({ preventScroll: true });
      }
      Object.assign(old.dataset, bench.dataset);
    }
    lastHeard = new Date();
    ahead = Date.parse(one("#bench").dataset.now) - lastHeard;
    showSound();
    showAges();
    hear();
    keepFocus();
  }

  const sameParts = (a, b) => {
    const ids = (bench) => [...partsOf(bench)].map((part) => part.id).join(" ");
    return ids(a) === ids(b);
  };

  // Never take away what someone is filling in.
  const inUse = (part) =>
    part.open === true ||
    (part.contains(document.activeElement) &&
      document.activeElement.matches("input, select") && part.id !== "reading");

  async function refresh() {
    if (fetching) { again = true; return; }
    fetching = true;
    try {
      const query = "?" + new URLSearchParams({ ...look, view, lang: document.documentElement.lang });
      const answer = await fetch("/bench" + query, {
        cache: "no-store",
        signal: AbortSignal.timeout(GIVE_UP_MS),
      });
      if (!answer.ok) throw new Error(await answer.text());
      place(await answer.text());
      showLive(feed !== null && feed.readyState === EventSource.OPEN);
    } catch {
      showLive(false);
    } finally {
      fetching = false;
      if (again) { again = false; refresh(); }
    }
  }

  // ---- the feed: only a nudge -------------------------------------------------------------

  function listen() {
    if (feed) feed.close();
    feed = new EventSource("/feed?from=" + (one("#bench").dataset.seq || 0));
    feed.onopen = refresh;
    feed.onmessage = (message) => {
      const object = JSON.parse(message.data);
      // A value of the moment changes nothing that is stored.
      if (object.kind === "live") return;
      if (object.kind === "status") tell(object);
      refresh();
    };
    feed.onerror = () => {
      showLive(false);
      feed.close();
      setTimeout(listen, TRY_AGAIN_MS);
    };
  }

  function tell(news) {
    if (news.about === "unstored") {
      say(word("script.unstored", news));
      sound("refused");
    } else if (news.about === "disk") {
      say(word(news.well ? "script.disk-well" : "script.disk-ill", news), news.well);
    } else if (news.about === "record") {
      say(word(news.file ? "script.record" : "script.no-record", news), Boolean(news.file));
    }
  }

  function showLive(now) {
    if (now === live) return;
    live = now;
    document.body.classList.toggle("gone", !live);
    one("#gone").hidden = live;
    one("#gone-since").textContent = lastHeard.toLocaleTimeString();
  }

  // ---- age of the last reading --------------------------------------------------------------

  function showAges() {
    for (const time of document.querySelectorAll("time.age")) {
      const seconds = Math.max(0, Math.round((Date.now() + ahead - Date.parse(time.dateTime)) / 1000));
      time.textContent =
        seconds < 2 ? word("script.just-now")
        : seconds < 90 ? word("script.seconds", { n: seconds })
        : seconds < 5400 ? word("script.minutes", { n: Math.round(seconds / 60) })
        : new Date(time.dateTime).toLocaleString();
    }
  }

  // ---- commands -----------------------------------------------------------------------------

  async function send(command) {
    say("");
    try {
      const answer = await fetch("/commands", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(command),
        signal: AbortSignal.timeout(GIVE_UP_MS),
      });
      if (answer.ok) { look = null; return true; }
      const text = await answer.text();
      let why = text;
      try { why = JSON.parse(text).refused || text; } catch { /* it was a sentence already */ }
      say(why || word("script.not-accepted", answer));
      sound("refused");
    } catch {
      say(word("script.no-answer"));
      sound("refused");
    } finally {
      refresh();
    }
    return false;
  }

  function say(text, good = false) {
    one("#message").textContent = text;
    one("#message").hidden = text === "";
    one("#message").classList.toggle("good", good);
  }

  document.addEventListener("click", async (event) => {
    unlockSound();
    if (event.target.id === "message") say("");
    const button = event.target.closest("button");
    if (!button) return;
    if (button.id === "sound") {
      localStorage.setItem("sound", soundOn() ? "off" : "on");
      showSound();
    } else if (button.id === "voice") {
      localStorage.setItem("voice", voiceOn() ? "off" : "on");
      showSound();
    } else if (button.dataset.command && button.type === "button") {
      button.closest("dialog")?.close();
      await send(JSON.parse(button.dataset.command));
      keepFocus(true);
    } else if (button.dataset.open) {
      button.closest("dialog")?.close();
      one("#" + button.dataset.open).showModal();
    } else if ("close" in button.dataset) {
      button.closest("dialog").close();
      keepFocus(true);
    } else if (button.dataset.view) {
      view = button.dataset.view;
      refresh();
    } else if (button.dataset.look) {
      look = JSON.parse(button.dataset.look);
      await refresh();
      one("#verdict")?.scrollIntoView({ block: "nearest" });
    }
  });

  document.addEventListener("submit", async (event) => {
    event.preventDefault();
    unlockSound();
    const form = event.target;
    const command = { command: form.dataset.command };
    for (const field of form.elements) {
      if (!field.name || field.value.trim() === "" || (field.type === "radio" && !field.checked)) continue;
      command[field.name] = "number" in field.dataset
        ? Number(field.value.trim().replace(",", "."))
        : field.value.trim();
    }
    if (Object.values(command).some((value) => Number.isNaN(value))) {
      say(word("script.no-number"));
      return;
    }
    const typing = form.id === "typing";
    const text = typing && one("#typed").value;
    if (typing) one("#typed").value = "";
    if (await send(command)) {
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

  // ---- the field that a keyboard gauge types into -------------------------------------------

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

  // ---- sound ----------------------------------------------------------------------------------

  let audio = null;
  const voiceOn = () => localStorage.getItem("voice") === "on";
  const soundOn = () => localStorage.getItem("sound") !== "off";
  // Tone, start, length in seconds: a stored reading is one short high tone, a refusal two long low ones.
  const TUNES = {
    "stored": [[880, 0, 0.09]],
    "section-done": [[880, 0, 0.09], [1175, 0.11, 0.16]],
    "all-done": [[880, 0, 0.09], [1175, 0.11, 0.09], [1568, 0.22, 0.3]],
    "refused": [[196, 0, 0.22], [156, 0.27, 0.34]],
  };

  function unlockSound() {
    if (!audio && window.AudioContext) audio = new AudioContext();
    if (audio && audio.state === "suspended") audio.resume();
  }

  function sound(name) {
    document.body.dataset.heard = name;
    if (!audio || !soundOn()) return;
    for (const [tone, start, length] of TUNES[name] || []) {
      const at = audio.currentTime + start;
      const voice = audio.createOscillator();
      const level = audio.createGain();
      voice.type = name === "refused" ? "square" : "sine";
      voice.frequency.value = tone;
      level.gain.setValueAtTime(0.0001, at);
      level.gain.exponentialRampToValueAtTime(name === "refused" ? 0.12 : 0.3, at + 0.01);
      level.gain.exponentialRampToValueAtTime(0.0001, at + length);
      voice.connect(level).connect(audio.destination);
      voice.start(at);
      voice.stop(at + length + 0.02);
    }
  }

  function hear() {
    const { heard, heardSeq: number } = one("#bench").dataset;
    const seq = Number(number);
    if (heardSeq !== null && seq > heardSeq) {
      if (look) { look = null; again = true; } // the bench has moved on: show where it is
      say("");
      sound(heard);
      speak(heard);
    }
    heardSeq = seq;
  }

  // The newest reading only: what is being said is cut short by the next.
  function speak(heard) {
    if (!voiceOn() || !window.speechSynthesis) return;
    speechSynthesis.cancel();
    const words = heard === "refused" ? word("script.refused") : one("#reading output").textContent;
    speechSynthesis.speak(Object.assign(new SpeechSynthesisUtterance(words), { lang: document.documentElement.lang }));
  }

  // A shop sees the same few seats again and again.
  function showSeat() {
    const seat = localStorage.getItem("seat");
    const choice = seat && one("#seat option[value=" + CSS.escape(seat) + "]");
    if (choice) one("#seat").value = seat;
  }

  function showSound() {
    const button = one("#sound");
    const label = button.querySelector("span");
    label.textContent = soundOn() ? label.dataset.on : label.dataset.off;
    button.setAttribute("aria-pressed", String(soundOn()));
    one("#voice")?.setAttribute("aria-pressed", String(voiceOn()));
  }

  // ---- begin ----------------------------------------------------------------------------------

  held = new Map([...partsOf(one("#bench"))].map((part) => [part.id, part.outerHTML]));
  heardSeq = Number(one("#bench").dataset.heardSeq);
  showSeat();
  showSound();
  showAges();
  keepFocus();
  listen();
  setInterval(showAges, 1000);
  setInterval(() => { if (!document.hidden) refresh(); }, HEARTBEAT_MS);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) refresh(); });
})();
