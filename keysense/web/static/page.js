// What a page does beyond its text: takes appear by themselves, the fold closes at the next note played.

import { when } from "./live.js";

const teacher = document.getElementById("teacher");
const takes = document.getElementById("takes");
const told = document.getElementById("told");
let openedOnce = false;
let shown = null; // the bars that a finding speaks of, while they are bracketed

// A studio that is busy for a moment is asked again: what just came must not wait for the next event.
async function fresh(path, times = 5) {
  const answer = await fetch(path, { headers: { accept: "text/html" } }).catch(() => null);
  if (answer?.ok) return answer;
  if (times <= 1) return null;
  await new Promise((done) => setTimeout(done, 700));
  return fresh(path, times - 1);
}

// A take that is no longer the newest asks for its name behind its own fold.
const folded = (id) => id.replace(/^take-/, "again-").replace(/^tap-/, "rename-");

function found(id) {
  const there = document.getElementById(id) ?? document.getElementById(folded(id));
  const fold = there && there.id !== id ? there.closest("details") : null;
  return { there, fold };
}

// A half-typed name must survive a take that comes in meanwhile.
function keepTyped() {
  const active = document.activeElement;
  const typed = new Map();
  for (const field of takes.querySelectorAll("input.lined")) typed.set(field.id, field.value);
  const opened = [...takes.querySelectorAll("details[open]")].map((part) => part.id);
  const tapped = [...takes.querySelectorAll(".taps input:checked")].map((tap) => [tap.form.action, tap.name, tap.value]);
  return () => {
    for (const [id, value] of typed) {
      const { there: field, fold } = found(id);
      if (field) field.value = value;
      if (fold && value) fold.open = true;
    }
    for (const id of opened) {
      const { there: part } = found(id);
      if (part) part.open = true;
    }
    for (const [action, name, value] of tapped) {
      const form = [...takes.querySelectorAll(".taps")].find((one) => one.action === action);
      const tap = form?.querySelector(`[name="${name}"][value="${CSS.escape(value)}"]`);
      if (tap) tap.checked = true;
    }
    if (!active?.id) return;
    const { there, fold } = found(active.id);
    if (fold) fold.open = true;
    there?.focus();
  };
}

async function showTakes() {
  if (!takes) return;
  const answer = await fresh("/part/takes");
  if (!answer) return;
  const html = await answer.text();
  const restore = keepTyped();
  takes.innerHTML = html;
  restore();
}

async function showState() {
  const answer = await fresh("/part/state");
  const state = document.getElementById("state");
  if (!answer || !state) return;
  const now = await answer.json();
  const press = state.querySelector(".press");
  const focused = press !== null && press === document.activeElement;
  document.body.dataset.state = now.state;
  const large = document.getElementById("now-off");
  const pressedLarge = large?.contains(document.activeElement) ?? false;
  if (large) {
    large.innerHTML = now.now;
    for (const field of large.querySelectorAll("[name=back]")) field.value = location.pathname;
    if (pressedLarge) (large.querySelector(".press") ?? state.querySelector(".press"))?.focus();
  }
  if (state.innerHTML.trim() !== now.html.trim()) {
    const back = state.querySelector("[name=back]")?.value;
    state.innerHTML = now.html;
    const field = state.querySelector("[name=back]");
    if (field) field.value = back ?? location.pathname;
    if (focused) state.querySelector(".press")?.focus();
    if (told) told.textContent = now.said;
  }
}

let waiting = 0;
function soon(act) {
  clearTimeout(waiting);
  waiting = setTimeout(act, 30);
}

// In the first minute of a studio its two first steps are seen to happen.
async function showFirst() {
  const steps = ["first-plug", "first-note"].filter((id) => document.getElementById(id));
  if (steps.length === 0) return;
  const answer = await fresh("/");
  if (!answer) return;
  const now = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const id of steps) {
    const step = now.getElementById(id);
    if (step) document.getElementById(id).replaceWith(step);
  }
}

when("take", () => soon(showTakes));
when("take", showFirst);
when("piano", showFirst);
when("looked", () => soon(showTakes));
when("recovered", () => soon(showTakes));
when("piano", showState);
when("key", () => { if (teacher?.open) teacher.open = false; });
when("trouble", (event) => { if (told && event.line) told.textContent = event.line; });
// What happened before the connection stood, or while it was lost, is asked for.
function showAll() {
  soon(showTakes);
  showState();
  showFirst();
}
when("missed", showAll);
when("open", () => {
  if (openedOnce) showAll();
  openedOnce = true;
});

// Music is engraved for the width of the window. Pages are told which that is and send one engraving instead of three;
// where a window is turned or made larger, the one that is then missing is asked for.
const WIDE = matchMedia("(min-width: 1200px)");
const MID = matchMedia("(min-width: 700px)");
const width = () => (WIDE.matches ? "wide" : MID.matches ? "mid" : "tight");

async function fit() {
  document.cookie = `width=${width()}; path=/; samesite=strict`;
  const music = document.querySelector("[data-widths]");
  const there = () => music.querySelector(`:scope > .${width()}`);
  if (!music || there()) return;
  const answer = await fresh(location.href, 1);
  if (!answer) return;
  const now = new DOMParser().parseFromString(await answer.text(), "text/html");
  const sent = now.querySelector(`[data-widths] > .${width()}`);
  if (!sent || there()) return;
  sent.classList.remove("alone");
  for (const other of music.querySelectorAll(":scope > .alone")) other.classList.remove("alone");
  music.prepend(sent);
  document.dispatchEvent(new CustomEvent("engraved", { detail: sent }));
}
for (const media of [WIDE, MID]) media.addEventListener("change", fit);
fit();

// From a finding to the bars it speaks of, with a bracket under them until the next one is shown or Escape is pressed;
// without a script the link leads to the music.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-bar]");
  const music = document.getElementById("music");
  if (!link || !music) return;
  unshow();
  const { bar, last, place } = link.dataset;
  shown = { first: Number(bar), last: Number(last) };
  const lines = [...music.querySelectorAll("div.system")].filter((line) => bracket(line, shown));
  if (told) told.textContent = lines.length ? `${music.dataset.shown} ${place}` : music.dataset.later;
  if (!lines.length) return; // before the question of a long piece is answered, only the lines asked about are there
  event.preventDefault();
  const seen = lines.find((line) => line.getBoundingClientRect().width > 0) ?? lines[0];
  seen.tabIndex = -1;
  seen.focus({ preventScroll: true });
  seen.scrollIntoView({ block: "center", behavior: "auto" });
});
document.addEventListener("keydown", (event) => { if (event.key === "Escape") unshow(); });
// the window was turned: another engraving has come
document.addEventListener("engraved", ({ detail }) => {
  if (shown) for (const line of detail.querySelectorAll("div.system")) bracket(line, shown);
});

function bracket(line, { first, last }) {
  const bars = line.dataset.bars.split(" ").map(Number);
  const edges = line.dataset.edges.split(" ").map(Number);
  const here = [...bars.keys()].filter((k) => bars[k] >= first && bars[k] <= last);
  if (!here.length) return false;
  const mark = document.createElement("i");
  mark.className = "shownbars";
  mark.style.left = `${edges[here[0]]}%`;
  mark.style.width = `${edges[here.at(-1) + 1] - edges[here[0]]}%`;
  line.querySelector(".engraved").append(mark);
  return true;
}

function unshow() {
  shown = null;
  for (const mark of document.querySelectorAll(".shownbars")) mark.remove();
}

// Opening the fold leads to what is behind it; closing leads back to the music.
teacher?.addEventListener("toggle", () => {
  if (teacher.open) teacher.scrollIntoView({ block: "start", behavior: "auto" });
});

// Without a script the browser's own way of printing does the same.
for (const press of document.querySelectorAll("[data-print]")) {
  press.hidden = false;
  press.addEventListener("click", () => window.print());
}
