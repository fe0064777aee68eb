// Marking by tapping: a tapped note fills in the form that can also be written, and sends it. The page stays where it is.

let begun = null;

function start() {
  const room = document.getElementById("marking");
  const form = document.getElementById("markform");
  if (!room || !form) return;
  room.classList.add("ready");
  for (const width of room.querySelectorAll("[data-notes]")) ready(width);
  for (const radio of form.querySelectorAll("[name=kind]")) radio.addEventListener("change", forget);
  for (const one of room.querySelectorAll("form")) one.addEventListener("submit", send);
  for (const link of room.querySelectorAll(".parts a")) link.addEventListener("click", keepKind);
}

// One engraving: its notes can be tapped, and walked along by the arrow keys.
function ready(width) {
  const form = document.getElementById("markform");
  width.setAttribute("role", "listbox");
  width.setAttribute("aria-label", width.dataset.notes);
  const heads = [...width.querySelectorAll(".head")];
  heads.forEach((head, place) => {
    head.setAttribute("role", "option");
    head.setAttribute("aria-label", head.dataset.said);
    head.setAttribute("aria-selected", "false");
    head.tabIndex = place === 0 ? 0 : -1;
  });
  for (const picture of width.querySelectorAll(".engraved")) picture.setAttribute("aria-hidden", "true");
  width.addEventListener("keydown", (event) => walk(event, heads));
  width.addEventListener("click", (event) => {
    const line = event.target.closest(".system");
    if (line) choose(nearest(line, event), form);
  });
}

// A finger is wider than a note: the note that is meant is the nearest on its line.
function nearest(line, event) {
  let best = null;
  let least = Infinity;
  for (const head of line.querySelectorAll(".head")) {
    const box = head.getBoundingClientRect();
    const across = event.clientX - (box.left + box.width / 2);
    const down = event.clientY - (box.top + box.height / 2);
    const far = across * across + (down * down) / 4;
    if (far < least) [best, least] = [head, far];
  }
  return best;
}

function walk(event, heads) {
  const here = heads.indexOf(document.activeElement);
  const form = document.getElementById("markform");
  if (event.key === "Enter" || event.key === " ") choose(heads[here], form);
  else if (event.key === "Escape") forget();
  else {
    const to = { ArrowRight: here + 1, ArrowDown: here + 1, ArrowLeft: here - 1, ArrowUp: here - 1, Home: 0, End: heads.length - 1 }[event.key];
    if (to === undefined) return;
    rest(heads[Math.min(Math.max(to, 0), heads.length - 1)]);
  }
  event.preventDefault();
}

function rest(head) {
  if (!head) return;
  for (const other of head.closest("[data-notes]").querySelectorAll(".head")) other.tabIndex = other === head ? 0 : -1;
  head.focus();
}

function choose(head, form) {
  if (!head) return;
  rest(head);
  const kind = form.elements.kind.value;
  const { place, pitch, hand } = head.dataset;
  if (kind !== "crescendo" && kind !== "diminuendo") {
    fill(form, place, "", hand, pitch);
  } else if (!begun) {
    begun = { place, hand, id: head.id };
    head.classList.add("begun");
    head.setAttribute("aria-selected", "true");
    tell(document.getElementById("marking").dataset.last);
    return;
  } else {
    const [from, to] = inOrder(begun.place, place);
    fill(form, from, to, begun.hand === hand ? hand : "", "");
  }
  form.requestSubmit();
}

function inOrder(one, other) {
  const number = (place) => { const [bar, ...quarter] = place.split("."); return Number(bar) * 1000 + Number(quarter.join(".")); };
  return number(one) <= number(other) ? [one, other] : [other, one];
}

function fill(form, first, last, hand, pitch) {
  for (const [name, value] of Object.entries({ first, last, hand, pitch })) form.elements[name].value = value;
}

function forget() {
  begun = null;
  tell("");
  for (const head of document.querySelectorAll(".head.begun")) {
    head.classList.remove("begun");
    head.setAttribute("aria-selected", "false");
  }
}

function tell(said) {
  const told = document.querySelector(".marktold");
  if (told) told.textContent = said;
  // while a first note is held, the sentence over the music asks for the second one
  const how = document.querySelector(".howtap");
  if (!how) return;
  how.dataset.said ??= how.textContent;
  how.textContent = begun && said ? said : how.dataset.said;
}

function keepKind(event) {
  const kind = document.getElementById("markform").elements.kind.value;
  const to = new URL(event.currentTarget.href);
  to.searchParams.set("kind", kind);
  event.currentTarget.href = to;
}

// The answer is the page as it is now: its marks take the place of these, and a tapped note keeps its place.
async function send(event) {
  event.preventDefault();
  const form = event.currentTarget;
  const focused = document.activeElement?.id ?? "";
  const body = new FormData(form);
  if (form.id !== "markform") body.set("kind", form.elements.id ? document.getElementById("markform").elements.kind.value : body.get("kind"));
  const answer = await fetch(form.action, { method: "POST", body }).catch(() => null);
  if (!answer) { form.submit(); return; } // the browser then says itself that keysense has gone
  const now = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = now.getElementById("marking");
  if (!fresh) { location.reload(); return; }
  begun = null;
  document.getElementById("marking").replaceWith(fresh);
  start();
  tell(now.querySelector("[role=alert]")?.textContent ?? now.querySelector("#main > .page [role=status]")?.textContent ?? "");
  const back = document.getElementById(focused);
  if (back?.classList.contains("head")) rest(back);
  else (back ?? document.querySelector("#marking .taps input:checked"))?.focus();
}

start();
// the window was turned: another engraving has come
document.addEventListener("engraved", ({ detail }) => { if (detail.matches("[data-notes]")) ready(detail); });
