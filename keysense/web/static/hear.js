// A take heard again in the browser, from its notes and one small sampled piano; the bead jumps to the place sounding.
// Nothing is fetched before the first press. Any key on the piano, Escape or another press makes it quiet.

import { when } from "./live.js";

const AHEAD_S = 0.6; // notes are laid ready so far ahead, so that a busy page does not stumble
const LEAD_S = 0.12;
const DAMPER_S = 0.12; // the same figures as in keysense/sound/render.py
const LOUDEST = 0.5 / 0.7;
const UNDAMPED = 90;
const LOUD_ENOUGH = 0.02;
const BEFORE_S = 0.12;

let context = null;
let piano = null;
let playing = null;

async function samples() {
  const slots = await (await fetch("/static/piano/piano.json")).json();
  const answer = await fetch(`/static/piano/${slots.file}`);
  const whole = await context.decodeAudioData(await answer.arrayBuffer());
  return slots.slots.map((slot) => cut(whole, slot));
}

// Each pitch begins where it is heard to begin: decoders put silence of their own in front.
function cut(whole, slot) {
  const data = whole.getChannelData(0);
  const rate = whole.sampleRate;
  const start = Math.max(Math.round((slot.start_s - BEFORE_S) * rate), 0);
  const part = data.subarray(start, Math.round((slot.start_s + slot.length_s) * rate));
  let loudest = 0;
  for (const value of part) loudest = Math.max(loudest, Math.abs(value));
  const first = Math.max(part.findIndex((value) => Math.abs(value) > LOUD_ENOUGH * loudest) - Math.round(rate / 1000), 0);
  const sound = context.createBuffer(1, part.length - first, rate);
  sound.copyToChannel(part.subarray(first), 0);
  return { pitch: slot.pitch, sound };
}

function nearest(pitch) {
  return piano.reduce((best, one) => (Math.abs(one.pitch - pitch) < Math.abs(best.pitch - pitch) ? one : best));
}

function strike(note, out, at) {
  const [onset, end, pitch, velocity] = note;
  const one = nearest(pitch);
  const source = new AudioBufferSourceNode(context, { buffer: one.sound, playbackRate: 2 ** ((pitch - one.pitch) / 12) });
  const soft = Math.min(Math.max((velocity - 20) / 80, 0), 1);
  const tone = new BiquadFilterNode(context, { type: "lowpass", Q: 0.2, frequency: Math.min(1500 * 10 ** soft, context.sampleRate / 2) });
  const level = new GainNode(context, { gain: LOUDEST * (velocity / 127) ** 2 });
  source.connect(tone).connect(level).connect(out);
  source.start(at);
  if (pitch >= UNDAMPED) return;
  const up = at + Math.max(end - onset, 0.01);
  level.gain.setValueAtTime(LOUDEST * (velocity / 127) ** 2, up);
  level.gain.linearRampToValueAtTime(0, up + DAMPER_S);
  source.stop(up + DAMPER_S);
}

// Where things stand is asked for when it is drawn: the page may be turned or made larger meanwhile.
const shown = (element) => element.getBoundingClientRect().width > 0;

function noteheads() {
  const heads = new Map();
  for (const note of document.querySelectorAll(".engraved [data-note]")) {
    if (shown(note)) heads.set(note.dataset.note, note);
  }
  return heads;
}

class Bead {
  constructor() {
    this.element = document.createElement("span");
    this.element.className = "place";
    this.element.setAttribute("aria-hidden", "true");
  }

  put(home, x, y) {
    const frame = home.getBoundingClientRect();
    if (this.element.parentElement !== home) home.append(this.element);
    this.element.style.left = `${x - frame.left}px`;
    this.element.style.top = `${y - frame.top}px`;
  }
}

// the dot of a loudness picture that stands for this quarter; the hand's own where it has a thread of its own
function dotAt(picture, quarter, hand) {
  const own = picture.querySelector(`g[data-hand="${CSS.escape(hand)}"]`) ?? picture;
  return [...own.querySelectorAll("[data-q]")].find((dot) => Math.abs(Number(dot.dataset.q) - quarter) < 0.01) ?? null;
}

class Places {
  constructor(heard, lane) {
    this.heads = noteheads();
    this.span = heard.span;
    this.end = Math.max(...heard.notes.map((note) => note[0]), 0.001);
    this.coat = [...document.querySelectorAll(".coat > .pic")][lane] ?? null;
    this.drawing = document.querySelector(".drawing svg");
    this.beads = new Map();
    this.still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.last = new Map();
  }

  show(note) {
    const [onset, , , , hand, bar, id, quarter] = note;
    // less motion: the bead moves once a bar, and the page stays where it is
    if (this.still && bar !== null && this.last.get(hand) === bar) return;
    this.last.set(hand, bar);
    const head = this.heads.get(id);
    if (head) this.under(head, hand, quarter);
    else if (this.coat && quarter !== null && this.span) this.along(quarter);
    else if (this.drawing) this.onThread(onset);
    if (quarter !== null && hand !== "L") this.onShape(quarter, hand);
  }

  under(head, hand, quarter) {
    const system = head.closest("div.system");
    const at = (head.querySelector(".notehead") ?? head).getBoundingClientRect();
    const x = at.left + at.width / 2;
    // the heard lane is behind the fold: while that is closed the bead stands at the foot of the engraving
    const lane = [...system.querySelectorAll(".lane svg")].find(shown);
    const strip = (lane ?? system.querySelector(".engraved")).getBoundingClientRect();
    const left = hand === "L";
    const y = lane ? strip.top + strip.height * (left ? 0.74 : 0.26) : strip.bottom - (left ? 8 : 22);
    this.bead(hand).put(system, x, y);
    const line = system.querySelector(".lane.loudness svg");
    if (lane && line && shown(line) && quarter !== null) this.onLine(line, system, `${hand} line`, quarter, hand);
    if (!this.still) system.scrollIntoView({ block: "nearest", behavior: "auto" });
  }

  onLine(picture, home, name, quarter, hand) {
    const dot = dotAt(picture, quarter, hand);
    if (!dot) return;
    const at = dot.getBoundingClientRect();
    this.bead(name).put(home, at.left + at.width / 2, at.top + at.height / 2);
  }

  onShape(quarter, hand) {
    for (const picture of document.querySelectorAll(".shape > .pic svg")) {
      if (shown(picture) && dotAt(picture, quarter, hand)) {
        this.onLine(picture, picture.closest(".pic"), "shape", quarter, hand);
        return;
      }
    }
  }

  // a take without a score: the bead goes along its thread
  onThread(onset) {
    const dots = [...this.drawing.querySelectorAll("[data-q]")];
    const last = Math.max(...dots.map((dot) => Number(dot.dataset.q)), 0.001);
    const at = (onset / this.end) * last;
    const near = dots.reduce((best, dot) => (Math.abs(dot.dataset.q - at) < Math.abs(best.dataset.q - at) ? dot : best), dots[0]);
    if (!near) return;
    const place = near.getBoundingClientRect();
    this.bead("thread").put(this.drawing.closest(".drawing"), place.left + place.width / 2, place.top + place.height / 2);
  }

  along(quarter) {
    const picture = [...this.coat.querySelectorAll("svg")].find(shown);
    if (!picture) return;
    const dot = dotAt(picture, quarter, "R");
    if (dot) {
      this.onLine(picture, this.coat, "", quarter, "R");
      return;
    }
    const frame = picture.getBoundingClientRect();
    const edge = frame.width * 0.01;
    const share = (quarter - this.span[0]) / (this.span[1] - this.span[0]);
    this.bead("").put(this.coat, frame.left + edge + share * (frame.width - 2 * edge), frame.bottom);
  }

  bead(hand) {
    if (!this.beads.has(hand)) this.beads.set(hand, new Bead());
    return this.beads.get(hand);
  }

  clear() {
    for (const bead of this.beads.values()) bead.element.remove();
  }
}

function say(section, key, said = "") {
  section.querySelector("[role=status]").textContent = said || section.dataset[key];
}

// The press that is sounding says "stop" until it is quiet again.
function pressed(button, on) {
  if (on) {
    button.dataset.said = button.innerHTML;
    button.textContent = button.closest(".hear").dataset.stop;
  } else if (button.dataset.said !== undefined) {
    button.innerHTML = button.dataset.said;
    delete button.dataset.said;
  }
  button.classList.toggle("sounding", on);
}

function quiet(key = "ended", said = "") {
  if (!playing) return;
  const { button, out, timer, frame, places, away } = playing;
  playing = null;
  clearTimeout(timer.id);
  cancelAnimationFrame(frame.id);
  places?.clear();
  if (out) {
    out.gain.setTargetAtTime(0, context.currentTime, 0.02);
    setTimeout(() => out.disconnect(), 300);
  }
  if (away) fetch("/hush", { method: "POST" });
  pressed(button, false);
  button.closest(".hear").dataset.state = "quiet";
  say(button.closest(".hear"), key, said);
}

function asked(section, button) {
  const fields = new URLSearchParams();
  for (const select of section.querySelectorAll("select")) if (select.value) fields.set(select.name, select.value);
  if (button.dataset.pace) fields.set("pace", button.dataset.pace);
  return fields;
}

async function begin(button) {
  const section = button.closest(".hear");
  const fields = asked(section, button);
  const away = fields.get("where") === "piano";
  const now = { button, out: null, places: null, timer: {}, frame: {}, away };
  playing = now;
  pressed(button, true);
  section.dataset.state = "sounding";
  say(section, "sounding");
  try {
    const answer = await fetch(`/take/${button.dataset.hear}/notes.json?${fields}`);
    const heard = await answer.json();
    if (playing !== now) return;
    if (heard.said) { quiet("trouble", heard.said); return; }
    if (away) await onThePiano(now, heard, fields);
    else await here(now, heard);
  } catch {
    if (playing === now) quiet("trouble");
  }
}

async function here(now, heard) {
  context ??= new AudioContext();
  const awake = context.resume();
  piano ??= await samples();
  await awake;
  if (playing !== now) return;
  now.out = new GainNode(context);
  // a limiter only for what would overshoot: loud and soft stay as they were
  const limit = new DynamicsCompressorNode(context, { threshold: -3, knee: 0, ratio: 20, attack: 0.002, release: 0.1 });
  now.out.connect(limit).connect(context.destination);
  const start = context.currentTime + LEAD_S;
  let next = 0;
  const lay = () => {
    while (next < heard.notes.length && start + heard.notes[next][0] < context.currentTime + AHEAD_S) {
      strike(heard.notes[next], now.out, Math.max(start + heard.notes[next][0], context.currentTime));
      next += 1;
    }
    if (next < heard.notes.length) now.timer.id = setTimeout(lay, 100);
  };
  lay();
  follow(now, heard, () => context.currentTime - start);
}

async function onThePiano(now, heard, fields) {
  const answer = await fetch(`/take/${now.button.dataset.hear}/to-piano`, { method: "POST", body: fields });
  if (playing !== now) { fetch("/hush", { method: "POST" }); return; }
  if (answer.status !== 204) {
    const told = await answer.json();
    if (playing !== now) return;
    now.away = false;
    if (!told.here) { quiet("trouble", told.said); return; }
    say(now.button.closest(".hear"), "sounding", told.said);
    await here(now, heard);
    return;
  }
  const start = performance.now();
  follow(now, heard, () => (performance.now() - start) / 1000);
}

function follow(now, heard, clock) {
  now.places = new Places(heard, Number(now.button.dataset.lane));
  const end = Math.max(...heard.notes.map((note) => note[1]));
  let next = 0;
  const step = () => {
    if (playing !== now) return;
    const passed = clock();
    const due = new Map();
    while (next < heard.notes.length && heard.notes[next][0] <= passed) {
      due.set(heard.notes[next][4], heard.notes[next]);
      next += 1;
    }
    for (const note of due.values()) now.places.show(note);
    if (passed > end + DAMPER_S) { now.away = false; quiet(); } else now.frame.id = requestAnimationFrame(step);
  };
  step();
}

for (const section of document.querySelectorAll(".hear")) {
  section.hidden = false;
  for (const part of section.querySelectorAll("[hidden]")) part.hidden = false;
  section.addEventListener("click", (event) => {
    const button = event.target.closest("[data-hear]");
    if (!button) return;
    const same = playing?.button === button;
    quiet();
    if (!same) begin(button);
  });
}
document.addEventListener("keydown", (event) => { if (event.key === "Escape") quiet(); });
window.addEventListener("pagehide", () => quiet());
when("key", () => quiet());
