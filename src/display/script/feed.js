// The feed: a nudge that something changed, the news of the moment that no state holds, and what a
// gauge shows just now.
import { language, one, say, told, word } from "/words.js";
import { sound } from "/sound.js";

const TRY_AGAIN_MS = 1000;
const FRESH_MS = 2000; // an older value is not what the gauge shows now
const OPENS_MS = 2000; // a feed that is only just asked for isn't lost

let feed = null;
let begun = 0;
let failed = false;

export const connected = () =>
  feed?.readyState === EventSource.OPEN || (!failed && performance.now() - begun < OPENS_MS);

export function listen(changed, lost) {
  if (feed) feed.close();
  feed = new EventSource("/feed?from=" + (one("#bench").dataset.seq || 0));
  begun = performance.now();
  feed.onopen = () => {
    failed = false;
    changed({});
  };
  feed.onmessage = (message) => {
    const object = JSON.parse(message.data);
    if (object.kind === "live") return showLive(object);
    if (object.kind === "status") tell(object);
    changed(object);
  };
  feed.onerror = () => {
    failed = true;
    lost();
    feed.close();
    setTimeout(() => listen(changed, lost), TRY_AGAIN_MS);
  };
}

async function tell(status) {
  const news = { ...status, why: await told(status.why) };
  if (news.about === "unstored") {
    say(word("script.unstored", news));
    sound("refused");
  } else if (news.about === "disk") {
    say(word(news.well ? "script.disk-well" : "script.disk-ill", news), news.well);
  } else if (news.about === "record") {
    const link = news.file && "/report/" + news.job + ".html?lang=" + language;
    say(word(news.file ? "script.record" : "script.no-record", news), Boolean(news.file), link);
  }
}

let newest = new Map(); // gauge -> its newest value and when it came

function showLive(object) {
  newest.set(object.gauge, { mm: object.value_mm ?? object.value_deg, came: performance.now() });
  showNewest();
}

// Also when a part was made anew, and as time passes.
export function showNewest() {
  for (const part of document.querySelectorAll(".live")) {
    const value = newest.get(part.dataset.gauge);
    const fresh = value !== undefined && performance.now() - value.came < FRESH_MS;
    part.classList.toggle("fresh", fresh);
    if (value === undefined) continue;
    part.querySelector("output").textContent = value.mm.toLocaleString(language, {
      minimumFractionDigits: 3, maximumFractionDigits: 3, useGrouping: false,
    });
  }
}
