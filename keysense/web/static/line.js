// The loudness as a line while it is played, if the teacher switched it on. It only grows at its end: what was drawn
// stays where it is, and when the picture is full a new line begins at its left. The height is the piano's own.

import { when } from "./live.js";

const A_SECOND = 34; // px
const REST_S = 1.2; // so long without a note, and the line is broken
const MIDDLE_C = 60;
const CALM_MS = 1000; // where motion is unwelcome the picture changes once a second

const row = document.getElementById("line");
const svg = document.getElementById("line-drawn");
const said = document.getElementById("line-said");
const calm = matchMedia("(prefers-reduced-motion: reduce)");

function part(name, attributes) {
  const made = document.createElementNS(svg.namespaceURI, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  svg.append(made);
  return made;
}

class Hand {
  constructor(cls, hollow) {
    this.cls = cls;
    this.hollow = hollow;
    this.clear();
  }

  clear() {
    this.last = null;
    this.end = [];
    this.heights = [];
  }

  // The phrase line: each key counts, the newest twice, so that one louder key does not throw it.
  height(velocity) {
    this.heights.push(velocity);
    const near = this.heights.slice(-3);
    const weights = [1, 1, 2].slice(-near.length);
    const all = weights.reduce((sum, weight) => sum + weight, 0);
    return near.reduce((sum, value, i) => sum + value * weights[i], 0) / all;
  }

  strike(at, velocity, picture) {
    if (this.last && at.time - this.last.time > REST_S) this.clear();
    const now = { time: at.time, x: at.x, value: this.height(velocity) };
    this.stop();
    if (this.last) this.stroke(this.last, now, picture);
    now.from = this.last;
    if (now.from) delete now.from.from;
    this.last = now;
    this.end = this.stroke(now, now, picture);
  }

  // The end of the line is held on while keys are down.
  grow(x, time, picture) {
    if (!this.last || time - this.last.time > REST_S || x <= this.last.x) return;
    this.shape(this.end, this.last, { ...this.last, x }, picture);
  }

  stop() {
    for (const old of this.end) old.remove();
    this.end = [];
  }

  stroke(a, b, picture) {
    const made = this.hollow
      ? [part("path", { class: this.cls }), part("path", { class: "core" })]
      : [part("path", { class: this.cls })];
    this.shape(made, a, b, picture);
    return made;
  }

  shape(made, a, b, picture) {
    const [ya, yb] = [picture.y(a.value), picture.y(b.value)];
    const third = (b.x - a.x) / 3;
    // it leaves a note the way it came to it, on the way to the next, and so has no corners
    const before = a.from ?? a;
    const slope = b.x > before.x ? (yb - picture.y(before.value)) / (b.x - before.x) : 0;
    const [ca, cb] = [ya + slope * third, yb - ((yb - ya) / (3 * third || 1)) * third];
    const [xa, xb] = [a.x + third, b.x - third];
    if (this.hollow) {
      const d = `M${a.x} ${ya}C${xa} ${ca} ${xb} ${cb} ${b.x} ${yb}`;
      made.forEach((path, i) => { path.setAttribute("d", d); path.style.strokeWidth = i ? "4px" : "8px"; });
      return;
    }
    const [wa, wb] = [picture.half(a.value), picture.half(b.value)];
    const cap = (w, x, y) => `A${w} ${w} 0 0 1 ${x} ${y}`;
    made[0].setAttribute("d",
      `M${a.x} ${ya - wa}C${xa} ${ca - wa} ${xb} ${cb - wb} ${b.x} ${yb - wb}${cap(wb, b.x, yb + wb)}` +
      `C${xb} ${cb + wb} ${xa} ${ca + wa} ${a.x} ${ya + wa}${cap(wa, a.x, ya - wa)}Z`);
  }
}

class Picture {
  constructor() {
    this.soft = Number(row.dataset.soft);
    this.loud = Number(row.dataset.loud);
    this.words = row.dataset.words.split("|");
    this.hands = [new Hand("line", true), new Hand("thread", false)];
    this.start = null;
    this.spoken = 0;
    this.heard = null;
  }

  share(value) { return Math.min(1, Math.max(0, (value - this.soft) / (this.loud - this.soft))); }
  y(value) { return this.high - 14 - (this.high - 28) * this.share(value); }
  half(value) { return (4 + 18 * this.share(value)) / 2; }

  begin(time) {
    this.wide = svg.clientWidth || 600;
    this.high = svg.clientHeight || 260;
    svg.setAttribute("viewBox", `0 0 ${this.wide} ${this.high}`);
    svg.replaceChildren();
    for (const hand of this.hands) hand.clear();
    this.start = time;
  }

  x(time) { return 12 + A_SECOND * (time - this.start); }

  told(event) {
    for (const [time, pitch, velocity] of event.keys) {
      if (this.start === null || this.x(time) > this.wide - 24) this.begin(time);
      const x = this.x(time);
      this.hands[pitch < MIDDLE_C ? 0 : 1].strike({ time, x }, velocity, this);
      part("circle", { class: "dot faint", cx: x, cy: this.y(velocity), r: 3.4, "data-key": time });
      this.heard = velocity;
    }
    if (event.down > 0 && this.start !== null) {
      const x = Math.min(this.x(event.now_s), this.wide - 12);
      for (const hand of this.hands) hand.grow(x, event.now_s, this);
    }
    this.speak(event.now_s);
  }

  // The same in a word, at most once a second; it is there to be read, not to be called out into the playing.
  speak(time) {
    if (this.heard === null || time - this.spoken < 1) return;
    this.spoken = time;
    const step = Math.min(this.words.length - 1, Math.floor(this.share(this.heard) * this.words.length));
    said.textContent = row.dataset.said.replace("{loud}", this.words[step]);
  }
}

if (row && svg) {
  const picture = new Picture();
  let waiting = null;
  const show = (event) => { row.hidden = false; picture.told(event); };
  when("drawn", (event) => {
    if (!calm.matches) { show(event); return; }
    if (waiting) {
      waiting = { ...event, keys: [...waiting.keys, ...event.keys] };
      return;
    }
    waiting = event;
    setTimeout(() => { const all = waiting; waiting = null; show(all); }, CALM_MS);
  });
  when("line_on", () => { row.hidden = false; });
  when("line_off", () => { row.hidden = true; });
}
