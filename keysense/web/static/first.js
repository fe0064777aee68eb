// The first minute of a studio: the piano answers at once. And the demo studio, watched while it is made.

import { when } from "./live.js";

let answered = false;
when("key", async () => {
  const step = document.getElementById("first-note");
  if (!step || answered || step.classList.contains("done")) return;
  answered = true;
  step.className = "done";
  const answer = step.querySelector(".answer");
  if (answer) answer.textContent = step.dataset.said;
  await fetch("/first/note", { method: "POST" });
});

// What comes while an answer is on its way is asked for once more: the last word is never missed.
let asking = false;
let more = false;
async function showMaking() {
  const making = document.getElementById("making");
  if (!making) return;
  if (asking) { more = true; return; }
  asking = true;
  const answer = await fetch("/demo", { headers: { accept: "text/html" } }).catch(() => null);
  const text = (await answer?.text()) ?? "";
  const now = new DOMParser().parseFromString(text, "text/html").getElementById("making");
  asking = false;
  if (!now) return;
  const focused = making.contains(document.activeElement);
  making.replaceWith(now);
  if (focused || now.dataset.state === "ready") now.querySelector(".press")?.focus();
  if (more) { more = false; await showMaking(); }
}
when("demo", showMaking);
when("missed", showMaking);
