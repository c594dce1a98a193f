// Keeps single-key notebook shortcuts off a form, names its sliders, says which dish a link belongs to, prints, and speaks to who hears.
function render({ model, el }) {
  el.style.display = "none";
  const focusable = "[tabindex], button, a[href], .widget-readout, input, select, textarea";
  let root = null, frame = 0;
  const mark = () => {
    frame = 0;
    if (!root) {
      root = el.closest(".spoonline");
      if (!root) return;
      root.addEventListener("keydown", key);
      // A finger that is held means its own menu (paste, select), not the lab's, which can cut the whole form away.
      root.addEventListener("contextmenu", (event) => event.stopPropagation());
      settled.observe(root);
      observer.observe(root, { childList: true, subtree: true, attributes: true, attributeFilter: ["class"] });
      hear();
      for (const place of said()) heard.set(place.closest(".widget-html"), place.innerText.trim());
    }
    for (const node of root.querySelectorAll(focusable)) node.setAttribute("data-lm-suppress-shortcuts", "true");
    for (const slider of root.querySelectorAll(".widget-slider")) {
      const label = (slider.querySelector(".widget-label") || {}).textContent || "";
      for (const handle of slider.querySelectorAll("[role=slider]")) handle.setAttribute("aria-label", label);
      for (const text of slider.querySelectorAll(".widget-readout")) {
        text.setAttribute("role", "textbox"); text.setAttribute("aria-label", label + ", type a number");
      }
    }
    // A fold opens by key, and says whether it is open; of several choices as buttons the pressed one says so.
    for (const fold of root.querySelectorAll(".jupyter-widget-Collapse-header")) {
      fold.tabIndex = 0; fold.role = "button"; fold.firstElementChild.ariaHidden = "true";
      fold.ariaExpanded = String(fold.parentElement.classList.contains("jupyter-widget-Collapse-open"));
    }
    for (const button of root.querySelectorAll(".sl-bar button")) {
      const words = button.textContent, known = read.get(button);
      if (known?.words !== words) read.set(button, { words, since: known ? performance.now() : -Infinity });
    }
    for (const choice of root.querySelectorAll(".widget-toggle-button")) choice.ariaPressed = String(choice.classList.contains("mod-active"));
    for (const several of root.querySelectorAll(".widget-toggle-buttons")) {
      several.role = "group"; several.ariaLabel = (several.querySelector(".widget-label") || {}).textContent || "";
    }
    faults();
  };
  const key = (event) => {
    if (!["Enter", " "].includes(event.key) || !event.target.matches(".jupyter-widget-Collapse-header")) return;
    event.preventDefault(); event.target.click();
  };
  // A field in error says so, and where it is said what is wrong: in the nearest place below it, else in the form's own.
  const faults = () => {
    const places = [...root.querySelectorAll("div > .sl-wrong, [role=alert]:not(:empty)")];
    for (const input of root.querySelectorAll("input, select, textarea")) {
      const wrong = input.closest(".sl-invalid, .sl-refused");
      if (!wrong) {
        if (input.ariaInvalid) { input.removeAttribute("aria-invalid"); input.removeAttribute("aria-describedby"); }
        continue;
      }
      const below = places.find((each) => input.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING) || places[0];
      input.setAttribute("aria-invalid", "true");
      if (!below) continue;
      below.id ||= `sl-wrong-${Math.random().toString(36).slice(2)}`;
      input.setAttribute("aria-describedby", below.id);
    }
  };
  // What is typed is answered in a pause, as if the field were left.
  let typing = 0;
  const typed = (event) => {
    clearTimeout(typing);
    pressed = new WeakMap();  // what is pressed after typing is a new wish
    if (event.target.matches(".widget-text > input, .widget-textarea > textarea"))
      typing = setTimeout(() => event.target.dispatchEvent(new Event("change", { bubbles: true })), 500);
  };
  // What one types into or presses stays where it is, whatever opens or closes above it.
  let held = null, stood = 0, high = 0;
  const place = () => { if (held) stood = held.getBoundingClientRect().top; };
  // A scroll while the form has another height than when it settled is the browser's own, not the reader's.
  const scrolled = () => { if (root && root.offsetHeight === high) place(); };
  const hold = (event) => {
    const node = event.target.closest(focusable);
    held = node && root && root.contains(node) && !node.closest(".sl-bar") ? node : null;
    place();
  };
  const settle = () => {
    const page = root.closest(".jp-WindowedPanel-outer");
    if (page && held && held.offsetParent) page.scrollTop += held.getBoundingClientRect().top - stood;
    high = root.offsetHeight;
    place();
  };
  const settled = new ResizeObserver(settle);
  // What the form says is heard once a pause: all that has changed since, in one polite message, and none of it key by key.
  const heard = new WeakMap();
  const said = () => [...root.querySelectorAll(".widget-html :is([role=status], .sl-answer)")];
  let pause = 0;
  const voice = document.getElementById("sl-voice") || document.body.appendChild(document.createElement("div"));
  voice.id = "sl-voice"; voice.ariaLive = "polite";
  const speak = () => {
    if (!root.offsetParent) return;
    const news = said().filter((each) => {
      const place = each.closest(".widget-html"), text = each.innerText.trim(), before = heard.get(place);
      heard.set(place, text);
      return text && text !== before && each.offsetParent;
    });
    if (!news.length) return;
    const texts = news.map((each) => each.innerText.trim());
    voice.textContent = texts.filter((each, n) => !texts.some((other, m) => m !== n && other.includes(each) && (other !== each || m < n))).join(" ");
    setTimeout(() => { voice.textContent = ""; }, 4000);
  };
  const hear = () => {
    for (const each of said()) {
      if (each.role) each.ariaLive = "off";
      if (!each.textContent.trim()) heard.set(each.closest(".widget-html"), "");
    }
  };
  const later = () => { if (!frame) frame = requestAnimationFrame(mark); };
  const observer = new MutationObserver(() => { hear(); later(); clearTimeout(pause); pause = setTimeout(speak, 700); });
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
  const came = (message, buffers) => { if (message.print) print(buffers); else asked = false; };
  // A page to print is laid out in a frame that nobody sees; nothing in it may run.
  const print = (buffers) => {
    const page = document.createElement("iframe"), address = URL.createObjectURL(new Blob(buffers, { type: "text/html;charset=utf-8" }));
    page.sandbox = "allow-same-origin allow-modals";
    page.className = "sl-print"; page.title = "Print"; page.ariaHidden = "true"; page.src = address;
    page.onload = () => { page.contentWindow.focus(); page.contentWindow.print(); URL.revokeObjectURL(address); };
    document.querySelectorAll(".sl-print").forEach((each) => each.remove());
    document.body.append(page);
  };
  const asking = setInterval(ask, 3000);
  const seen = new IntersectionObserver(ask);
  const first = setTimeout(() => { if (root) seen.observe(root); ask(); }, 300);
  window.addEventListener("focus", ask);
  model.on("msg:custom", came);
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
  // A second press is not another wish: neither that of a double click, nor a slow one on what the button became a moment ago.
  const read = new WeakMap();
  let pressed = new WeakMap();
  const twice = (event) => {
    const button = event.target.closest(".sl-bar button"), now = performance.now();
    if (!button || !root || !root.contains(button)) return;
    const last = pressed.get(button), words = read.get(button) || {};
    const became = last && words.words !== last.words && now - words.since < 700 && now - last.at < 10000;
    if (became || now - last?.at < 700) { event.stopPropagation(); event.preventDefault(); }
    else pressed.set(button, { words: words.words, at: now });
  };
  const everywhere = { click: twice, input: typed, focusin: hold, pointerdown: hold, scroll: scrolled };
  for (const [what, act] of Object.entries(everywhere)) document.addEventListener(what, act, true);
  return () => {
    clearInterval(asking); clearTimeout(first); clearTimeout(pause); seen.disconnect(); window.removeEventListener("focus", ask);
    model.off("msg:custom", came); model.off("change:busy", busy);
    observer.disconnect(); clearTimeout(timer); cancelAnimationFrame(frame); document.removeEventListener("click", went, true);
    clearTimeout(typing); settled.disconnect();
    for (const [what, act] of Object.entries(everywhere)) document.removeEventListener(what, act, true);
  };
}
export default { render };
