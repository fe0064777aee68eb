// The pace of a tune by tapping: one press a quarter fills in how many of them a minute has.

const LONGEST_MS = 4000; // after a longer wait the tapping begins anew
const FEWEST = 4;

for (const press of document.querySelectorAll(".pulse")) {
  const field = press.form.elements.pace;
  const words = press.textContent;
  let taps = [];
  press.hidden = false;
  press.addEventListener("click", (event) => {
    const now = event.timeStamp;
    if (taps.length > 0 && now - taps[taps.length - 1] > LONGEST_MS) taps = [];
    taps.push(now);
    press.textContent = taps.length < FEWEST ? press.dataset.said : words;
    if (taps.length < FEWEST) return;
    // the middle step: one tap too late does not move it
    const steps = taps.slice(1).map((at, place) => at - taps[place]).sort((a, b) => a - b);
    const middle = (steps[Math.floor((steps.length - 1) / 2)] + steps[Math.ceil((steps.length - 1) / 2)]) / 2;
    if (middle > 0) field.value = String(Math.round(60000 / middle));
  });
}
