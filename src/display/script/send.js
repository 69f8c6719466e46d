// Commands: what a touch or a form asks the bench to do.
import { say, told, word } from "/words.js";
import { sound } from "/sound.js";
import { beAtWork, post, watching } from "/work.js";

// Whether it was accepted; a refusal is said aloud.
export async function send(command) {
  say("");
  try {
    if (watching()) {
      say(word("script.watching"));
      sound("refused");
      return false;
    }
    await beAtWork();
    const answer = await post(command);
    if (answer.ok) return true;
    const text = await answer.text();
    let why = text;
    try { why = JSON.parse(text).refused || text; } catch { /* it was a sentence already */ }
    say((await told(why)) || word("script.not-accepted", { status: answer.status }));
  } catch {
    say(word("script.no-answer"));
  }
  sound("refused");
  return false;
}

// The command that a form asks for; null, with a word about it, where a number is none. A field called
// `insert/bearing` is `bearing` in `insert`, `stays/0` and `stays/1` follow one another in `stays`, what is
// empty passed over. `data-changes`: what stands as it stood is not said again, and what was emptied is
// taken back.
export function commandOf(form) {
  const command = { command: form.dataset.command };
  const pair = [...form.querySelectorAll("[data-pair]")];
  if (new Set(pair.map((field) => field.value.trim() === "")).size > 1) {
    const [one, other] = pair.map((field) => field.labels[0].textContent);
    say(word("script.both", { this: one, that: other }));
    return null;
  }
  const stood = (field) => field.options
    ? ([...field.options].find((option) => option.defaultSelected) ?? field.options[0]).value
    : field.defaultValue;
  const together = (field) => ("pair" in field.dataset ? pair : [field]);
  const stands = (field) => together(field).every((one) => one.value === stood(one));
  for (const field of form.elements) {
    if ("changes" in form.dataset && field.name) {
      if (stands(field)) continue;
      if (field.value.trim() === "") command[field.name.split("/")[0]] = null;
    }
    if (!field.name || field.value.trim() === "" || (field.type === "radio" && !field.checked)) continue;
    let value = field.value.trim();
    if ("number" in field.dataset) value = Number(value.replace(",", ".").replace("\u2212", "-"));
    if ("truth" in field.dataset) value = value === "true";
    if (Number.isNaN(value)) {
      say(word("script.no-number"));
      return null;
    }
    const path = field.name.split("/");
    const last = path.pop();
    let into = command;
    path.forEach((name, index) => {
      const next = path[index + 1] ?? last;
      into = into[name] ??= /^\d+$/.test(next) ? [] : {};
    });
    if (Array.isArray(into)) into.push(value);
    else into[last] = value;
  }
  return command;
}
