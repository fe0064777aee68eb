// The weeks to look closer into: drawn only when it is opened, and the page is whole without it.

let library = null;

function load() {
  library ??= new Promise((loaded, failed) => {
    const script = document.createElement("script");
    script.src = "/static/plotly-basic.min.js";
    script.addEventListener("load", loaded);
    script.addEventListener("error", failed);
    document.head.append(script);
  });
  return library;
}

// Colours come by the names of the style sheet's tokens.
function inked(part, tokens) {
  if (typeof part === "string") {
    const token = /^var\((--[a-z0-9-]+)\)$/.exec(part);
    return token ? tokens.getPropertyValue(token[1]).trim() : part;
  }
  if (Array.isArray(part)) return part.map((inner) => inked(inner, tokens));
  if (part === null || typeof part !== "object") return part;
  return Object.fromEntries(Object.entries(part).map(([name, inner]) => [name, inked(inner, tokens)]));
}

async function draw(place) {
  const [answer] = await Promise.all([fetch(place.dataset.figure), load()]);
  const figure = inked(await answer.json(), getComputedStyle(document.documentElement));
  // plotly's own template would bring its own colours
  await window.Plotly.newPlot(place, figure.data, { ...figure.layout, template: null }, { displayModeBar: false, responsive: true });
}

for (const fold of document.querySelectorAll("details.closer")) {
  fold.hidden = false;
  fold.addEventListener("toggle", () => {
    const place = fold.querySelector(".explore");
    if (fold.open && place.childElementCount === 0) draw(place);
  });
}
