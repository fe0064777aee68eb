// Drawing how a tune shall go: finger, pen or mouse move the sliders, and the sliders are the line.

for (const room of document.querySelectorAll("[data-field]")) start(room);

function path(drawn, cls, along, thick) {
  const line = document.createElementNS(drawn.namespaceURI, "path");
  line.setAttribute("class", cls);
  line.setAttribute("d", along);
  if (thick) line.setAttribute("stroke-width", thick);
  return line;
}

// a smooth way through the points: each bend leans towards its neighbours
function through(points) {
  const at = (k) => points[Math.min(Math.max(k, 0), points.length - 1)];
  let along = `M${points[0]}`;
  for (let k = 1; k < points.length; k += 1) {
    const lean = (from, to, near, sign) => [near[0] + (sign * (to[0] - from[0])) / 6, near[1] + (sign * (to[1] - from[1])) / 6];
    along += `C${lean(at(k - 2), at(k), at(k - 1), 1)} ${lean(at(k - 1), at(k + 1), at(k), -1)} ${at(k)}`;
  }
  return along;
}

function start(room) {
  const field = room.querySelector(".field");
  const sliders = [...room.querySelectorAll("[name=h]")];
  const steps = Number(room.dataset.steps);
  const words = room.dataset.words.split("|");
  const pictures = [...field.querySelectorAll("svg")].map((svg) => {
    const drawn = svg.querySelector(".drawn");
    const [left, right, top, foot, thick] = ["left", "right", "top", "foot", "thick"].map((name) => Number(drawn.dataset[name]));
    return { svg, drawn, left, right, top, foot, thick };
  });
  let last = null;

  function show() {
    for (const slider of sliders) slider.setAttribute("aria-valuetext", words[Number(slider.value)]);
    for (const one of pictures) {
      const along = through(sliders.map((slider, place) => [
        one.left + ((one.right - one.left) * place) / (sliders.length - 1),
        one.foot - ((one.foot - one.top) * Number(slider.value)) / steps,
      ]));
      one.drawn.replaceChildren(
        path(one.drawn, "paper-under", along, one.thick + 4),
        path(one.drawn, "paper-strip", along, one.thick),
        path(one.drawn, "drawnline", along),
      );
    }
  }

  function put(event, one) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(one.svg.getScreenCTM().inverse());
    const place = Math.round(((at.x - one.left) / (one.right - one.left)) * (sliders.length - 1));
    const value = Math.round(((one.foot - at.y) / (one.foot - one.top)) * steps);
    const here = [Math.min(Math.max(place, 0), sliders.length - 1), Math.min(Math.max(value, 0), steps)];
    const from = last ?? here;
    const far = Math.max(Math.abs(here[0] - from[0]), 1);
    // a quick finger leaves places out: they lie on the way
    for (let k = 0; k <= far; k += 1) {
      const between = Math.round(from[0] + ((here[0] - from[0]) * k) / far);
      sliders[between].value = Math.round(from[1] + ((here[1] - from[1]) * k) / far);
    }
    last = here;
    show();
  }

  field.classList.add("ready");
  for (const one of pictures) {
    one.svg.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      one.svg.setPointerCapture(event.pointerId);
      last = null;
      put(event, one);
      event.preventDefault();
    });
    one.svg.addEventListener("pointermove", (event) => { if (one.svg.hasPointerCapture(event.pointerId)) put(event, one); });
  }
  for (const slider of sliders) slider.addEventListener("input", show);
  if (pictures.some((one) => one.drawn.childElementCount > 0)) show();
}
