// A file dragged on to the page goes the way of a chosen one: into the form, and sent.

const form = document.querySelector("form[data-drop]");
if (form) {
  const field = form.querySelector("input[type=file]");
  const told = form.querySelector(".dropping");
  const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");

  function over(is) {
    document.body.classList.toggle("over", is);
    told.hidden = !is;
    told.textContent = is ? form.dataset.drop : "";
    const folded = form.closest("details");
    if (is && folded) folded.open = true;
    if (is) form.scrollIntoView({ block: "nearest", behavior: "auto" });
  }

  document.addEventListener("dragover", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    over(true);
  });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) over(false); });
  document.addEventListener("drop", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    over(false);
    if (event.dataTransfer.files.length === 0) return;
    field.files = event.dataTransfer.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", () => {
    told.hidden = false;
    told.textContent = form.dataset.busy;
  });
  window.addEventListener("pageshow", () => over(false));
}
