// A small table that one edits by keyboard: add, remove, reorder, paste from a spreadsheet.
function render({ model, el }) {
  const make = (tag, attributes, text) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {})) node.setAttribute(name, value);
    if (text !== undefined) node.textContent = text;
    return node;
  };
  let own = false;
  const rows = () => model.get("rows").map((row) => [...row]);
  const send = (next) => { own = true; model.set("rows", next); model.save_changes(); own = false; };
  const focus = (row, column) => {
    const node = el.querySelector(`[data-row="${row}"][data-column="${column}"]`);
    if (node) node.focus();
  };
  // What a blank cell of the last column is called; told anew without drawing, so that nobody loses the place or what is being typed.
  const call = () => {
    for (const node of el.querySelectorAll("select")) node.options[0].textContent = model.get("unchosen")[node.dataset.row] || "none chosen";
  };
  const draw = () => {
    el.replaceChildren();
    const columns = model.get("columns"), choices = model.get("choices");
    const table = make("table", { "aria-label": model.get("label"), class: "sl-rows" });
    const head = make("tr");
    for (const name of columns) head.append(make("th", { scope: "col" }, name));
    if (model.get("movable")) head.append(make("th", { scope: "col" }, "Row"));
    const top = make("thead"); top.append(head); table.append(top);
    const body = make("tbody");
    rows().forEach((row, r) => {
      const line = make("tr");
      columns.forEach((name, c) => {
        const cell = make("td", { "data-label": name }), chosen = choices.length > 0 && c === columns.length - 1;
        const input = make(chosen ? "select" : "input", {
          "aria-label": `${name}, row ${r + 1}`, "data-row": r, "data-column": c, "data-lm-suppress-shortcuts": "true",
        });
        if (chosen) {
          // A word that was pasted and is none of them stays to be seen.
          for (const each of new Set(["", ...choices, row[c] || ""])) input.append(make("option", { value: each }, each));
        } else input.type = "text";
        input.value = row[c] || "";
        input.addEventListener("change", () => { const next = rows(); next[r][c] = input.value; send(next); });
        cell.append(input); line.append(cell);
        if (chosen) return;
        input.addEventListener("keydown", (event) => {
          if (event.key === "Enter") { event.preventDefault(); input.dispatchEvent(new Event("change")); focus(r + 1, c); }
        });
        input.addEventListener("paste", (event) => {
          const text = (event.clipboardData || window.clipboardData).getData("text");
          if (!/[\t\n]/.test(text.trim())) return;
          event.preventDefault();
          const next = rows();
          text.replace(/\r/g, "").replace(/\n+$/, "").split("\n").forEach((line, down) => {
            while (next.length <= r + down) next.push(columns.map(() => ""));
            line.split("\t").forEach((value, right) => { if (c + right < columns.length) next[r + down][c + right] = value.trim(); });
          });
          send(next); draw(); focus(r, c);
        });
      });
      const tools = make("td", { style: "white-space:nowrap" });
      const tool = (text, label, disabled, act) => {
        const button = make("button", { type: "button", "aria-label": label, "data-lm-suppress-shortcuts": "true" }, text);
        button.disabled = disabled;
        button.addEventListener("click", act);
        tools.append(button);
      };
      const swap = (a, b) => () => { const next = rows(); [next[a], next[b]] = [next[b], next[a]]; send(next); draw(); focus(b, 0); };
      tool("Up", `Move row ${r + 1} up`, r === 0, swap(r, r - 1));
      tool("Down", `Move row ${r + 1} down`, r === rows().length - 1, swap(r, r + 1));
      tool("Remove", `Remove row ${r + 1}`, false, () => {
        const next = rows(); next.splice(r, 1); send(next); draw(); focus(Math.max(r - 1, 0), 0);
      });
      if (!model.get("movable")) tools.style.display = "none";
      line.append(tools); body.append(line);
    });
    table.append(body);
    const add = make("button", { type: "button", "data-lm-suppress-shortcuts": "true" }, "Add a row");
    add.addEventListener("click", () => {
      const next = rows(); next.push(columns.map(() => "")); send(next); draw(); focus(next.length - 1, 0);
    });
    el.append(table, add);
    call();
  };
  model.on("change:rows", () => { if (!own) draw(); });
  model.on("change:unchosen", call);
  draw();
}
export default { render };
