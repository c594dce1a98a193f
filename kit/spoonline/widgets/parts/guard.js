// Keeps single-key notebook shortcuts off a form, names its sliders, and says which dish a link belongs to.
function render({ model, el }) {
  el.style.display = "none";
  const focusable = "[tabindex], button, a[href], .widget-readout, input, select, textarea";
  let root = null, frame = 0;
  const mark = () => {
    frame = 0;
    if (!root) { root = el.closest(".spoonline"); if (root) observer.observe(root, { childList: true, subtree: true }); }
    if (!root) return;
    for (const node of root.querySelectorAll(focusable)) node.setAttribute("data-lm-suppress-shortcuts", "true");
    for (const slider of root.querySelectorAll(".widget-slider")) {
      const label = (slider.querySelector(".widget-label") || {}).textContent || "";
      for (const handle of slider.querySelectorAll("[role=slider]")) handle.setAttribute("aria-label", label);
      for (const text of slider.querySelectorAll(".widget-readout")) {
        text.setAttribute("role", "textbox"); text.setAttribute("aria-label", label + ", type a number");
      }
    }
  };
  const later = () => { if (!frame) frame = requestAnimationFrame(mark); };
  const observer = new MutationObserver(later);
  later();
  // After "Run All Cells" the lab stands at the last cell; a reader wants the question and its answer, which are at the top.
  const timer = setTimeout(() => {
    later();
    const page = el.closest(".jp-NotebookPanel");
    if (root && page && page.querySelector(".spoonline") === root) (page.querySelector(".jp-WindowedPanel-outer") || page).scrollTop = 0;
  }, 300);
  // Every few seconds, and whenever somebody comes back to the form, it asks whether anything was saved elsewhere; never twice at once,
  // never while nobody sees it, and no more once a kernel does not answer.
  let asked = false;
  const ask = () => {
    if (asked || !root || document.hidden || root.offsetParent === null) return;
    asked = true; model.send({ look: true });
  };
  const answered = () => { asked = false; };
  const asking = setInterval(ask, 3000);
  const seen = new IntersectionObserver(ask);
  const came = () => { if (root) seen.observe(root); ask(); };
  const first = setTimeout(came, 300);
  window.addEventListener("focus", ask);
  model.on("msg:custom", answered);
  // What takes its time is seen to be at work, in a place that moves nothing.
  const busy = () => {
    if (!root) return;
    root.classList.toggle("sl-busy", model.get("busy")); root.setAttribute("aria-busy", String(model.get("busy")));
  };
  model.on("change:busy", busy);
  // A link that belongs to a dish tells the kernel which one before the other notebook opens.
  const went = (event) => {
    const link = event.target.closest("a[data-dish]");
    if (link && root && root.contains(link)) model.send({ dish: link.dataset.dish });
  };
  document.addEventListener("click", went, true);
  return () => {
    clearInterval(asking); clearTimeout(first); seen.disconnect(); window.removeEventListener("focus", ask);
    model.off("msg:custom", answered); model.off("change:busy", busy);
    observer.disconnect(); clearTimeout(timer); cancelAnimationFrame(frame); document.removeEventListener("click", went, true);
  };
}
export default { render };
