// What the script says by itself, in the page's language, and where it says it.
export const one = (selector) => document.querySelector(selector);
export const language = document.documentElement.lang;

const PATIENCE_MS = 1000;
const GOOD_MS = 8000;
const texts = JSON.parse(document.body.dataset.words);

// The text of a key with its {words} put in.
export const word = (key, values = {}) =>
  (texts[key] ?? key).replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? name));

// A sentence of the daemon, which is English, in the page's language; as it is where nobody answers.
export async function told(sentence) {
  if (language === "en" || !sentence) return sentence;
  try {
    const answer = await fetch("/said?" + new URLSearchParams({ lang: language, text: sentence }), {
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    return answer.ok ? await answer.text() : sentence;
  } catch {
    return sentence;
  }
}

let going = 0;

// A sentence over the page, gone with the next reading, command or touch on it; a good one by itself.
// `link`: where to look at it.
export function say(text, good = false, link = null) {
  clearTimeout(going);
  if (good) going = setTimeout(() => say(""), GOOD_MS);
  const message = one("#message");
  message.textContent = text;
  if (link) {
    const look = Object.assign(document.createElement("a"), { href: link, target: "_blank", rel: "noopener" });
    look.textContent = word("script.report");
    message.append(" ", look);
  }
  message.hidden = text === "";
  message.classList.toggle("good", good);
}

// Ages of what has a time. `ahead`: by how many ms the daemon's clock is ahead of this one.
export function showAges(ahead) {
  for (const time of document.querySelectorAll("time.age")) {
    const seconds = Math.max(0, Math.round((Date.now() + ahead - Date.parse(time.dateTime)) / 1000));
    time.textContent =
      seconds < 2 ? word("script.just-now")
      : seconds < 90 ? word("script.seconds", { n: seconds })
      : seconds < 5400 ? word("script.minutes", { n: Math.round(seconds / 60) })
      : new Date(time.dateTime).toLocaleString(language);
  }
}
