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

let asking = false;
when("demo", async () => {
  const making = document.getElementById("making");
  if (!making || asking) return;
  asking = true;
  const answer = await fetch("/demo", { headers: { accept: "text/html" } });
  const now = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("making");
  asking = false;
  if (!now) return;
  const focused = making.contains(document.activeElement);
  making.replaceWith(now);
  if (focused || now.dataset.state === "ready") now.querySelector(".press")?.focus();
});
