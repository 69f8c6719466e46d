// Sound and voice: what happened, for hands and eyes that are busy.
import { language, one, word } from "/words.js";

let audio = null;
// Tone, start, length in seconds: a stored reading is one short high tone, a refusal two long low ones.
const TUNES = {
  "stored": [[880, 0, 0.09]],
  "section-done": [[880, 0, 0.09], [1175, 0.11, 0.16]],
  "all-done": [[880, 0, 0.09], [1175, 0.11, 0.09], [1568, 0.22, 0.3]],
  "refused": [[196, 0, 0.22], [156, 0.27, 0.34]],
};

const voiceOn = () => localStorage.getItem("voice") === "on";
const soundOn = () => localStorage.getItem("sound") !== "off";

// A browser lets a page sound only once it was touched: until then it is asleep, whatever is wished.
const asleep = () => !audio || audio.state !== "running";
let asked = false; // a button that wakes nothing must still turn sound off

// Gives whether this touch is the one that wakes the sound.
export function unlockSound() {
  const wakes = asleep() && !asked;
  if (!audio && window.AudioContext) {
    audio = new AudioContext();
    audio.addEventListener("statechange", showSound);
  }
  if (audio && audio.state === "suspended") audio.resume();
  return wakes;
}

export function sound(name) {
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

// The newest reading only: what is being said is cut short by the next.
export function speak(heard) {
  if (!voiceOn() || !window.speechSynthesis) return;
  speechSynthesis.cancel();
  const said = { "refused": "script.refused", "unreadable": "script.unreadable" }[heard];
  const text = said ? word(said) : one("#reading output").textContent;
  speechSynthesis.speak(Object.assign(new SpeechSynthesisUtterance(text), { lang: language }));
}

// `wakes`: the touch woke the sound. That alone is what was asked of a button saying so.
export function toggle(what, wakes) {
  if (what === "sound" && wakes && soundOn()) {
    asked = true;
    return showSound();
  }
  const on = what === "sound" ? soundOn() : voiceOn();
  localStorage.setItem(what, on ? "off" : "on");
  showSound();
}

export function showSound() {
  const button = one("#sound");
  const label = button.querySelector("span");
  label.textContent = !soundOn() ? label.dataset.off : asleep() && !asked ? label.dataset.touch : label.dataset.on;
  button.classList.toggle("sounds", soundOn());
  one("#voice")?.setAttribute("aria-pressed", String(voiceOn()));
}
