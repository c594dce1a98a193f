// Forms open by themselves: a notebook that we laid out and nobody changed is run when it opens, and again when its kernel was restarted.
// An extension of the lab, and not a second server that shows notebooks as pages: the cook's own cells, links and files stay in one place,
// one kernel holds one form, and nothing more is installed, started or kept in step. Written by hand as the lab loads it, so nothing is built.
(() => {
  let shared;
  const lab = async (name) => (await Object.values(shared[name])[0].get())();

  const activate = async (app, tracker) => {
    const { NotebookActions } = await lab("@jupyterlab/notebook");
    const { PageConfig } = await lab("@jupyterlab/coreutils");
    // What `spoonline lab` laid out: for each notebook the kind and the source of its cells. What is compared is what would be run.
    const laidOut = JSON.parse(PageConfig.getOption("spoonline") || "{}");
    const unchanged = (panel) => {
      const ours = laidOut[panel.context.path] || [], cells = [...panel.content.model.cells];
      return ours.length > 0 && ours.length === cells.length && ours.every(
        ([kind, source], place) => kind === cells[place].type && source === cells[place].sharedModel.getSource());
    };

    // A reload draws the forms of the living kernel again, with all that is typed in them; this tab remembers which they are.
    const remembered = (panel) => `spoonline ${panel.context.path}`;
    const outputs = (panel) => panel.content.widgets.map((cell) => (cell.model.type === "code" ? cell.model.outputs.toJSON() : []));
    const living = async (panel) => {
      const kept = sessionStorage.getItem(remembered(panel));
      if (!kept || performance.getEntriesByType("navigation")[0].type === "navigate") return false;
      const reply = await panel.sessionContext.session.kernel.requestCommInfo({ target_name: "jupyter.widget" });
      const forms = [...kept.matchAll(/"model_id":"(\w+)"/g)];
      if (!forms.length || !forms.every(([, form]) => form in reply.content.comms)) return false;
      JSON.parse(kept).forEach((each, place) => {
        const { model } = panel.content.widgets[place];
        if (model.type !== "code") return;
        model.trusted = true; // as a cell is that was run
        model.outputs.fromJSON(each);
      });
      return true;
    };

    const busy = (panel, is) => panel.content.node.setAttribute("aria-busy", is);
    const run = async (panel) => {
      if (panel.isDisposed || !unchanged(panel)) return;
      busy(panel, true);
      await NotebookActions.runAll(panel.content, panel.sessionContext);
      if (panel.isDisposed) return;
      busy(panel, false);
      sessionStorage.setItem(remembered(panel), JSON.stringify(outputs(panel)));
    };

    // The lab opens the tabs of last time too: each is run when somebody looks at it, and first the one that the address names.
    let asked = PageConfig.getOption("treePath");
    const lookedAt = (panel) => new Promise((resolve) => {
      const look = () => {
        if (!panel.isVisible || (asked in laidOut && asked !== panel.context.path)) return;
        asked = "";
        tracker.currentChanged.disconnect(look);
        resolve();
      };
      tracker.currentChanged.connect(look);
      look();
    });

    const opened = async (panel) => {
      await panel.context.ready;
      const { model } = panel.context, session = panel.sessionContext;
      // Answers under the cells come anew at each opening, so they are nothing to save. A cell that somebody changed is.
      const settle = () => { if (model.dirty && !panel.isDisposed && unchanged(panel)) model.dirty = false; };
      // Later, because others hear of the same change and must hear of both in their order.
      model.stateChanged.connect((_, change) => { if (change.name === "dirty" && change.newValue) Promise.resolve().then(settle); });
      if (!unchanged(panel)) return;
      busy(panel, true);
      await session.ready;
      await lookedAt(panel);
      if (!session.session?.kernel || !unchanged(panel)) return busy(panel, false);
      await session.session.kernel.info;
      if (await living(panel)) busy(panel, false);
      else await run(panel);
      // A restarted or another kernel knows no form. What ends its kernel while it opens is not run again and again.
      let gone = false;
      session.kernelChanged.connect((_, change) => { gone ||= Boolean(change.newValue); });
      session.statusChanged.connect((_, status) => {
        if (status === "restarting") gone = panel.content.node.getAttribute("aria-busy") === "false";
        else if (gone && status === "idle") { gone = false; run(panel); }
      });
      panel.disposed.connect(() => sessionStorage.removeItem(remembered(panel)));
    };
    // A lid that closes, or a tab that is left, counts as leaving the field that one types in.
    const leave = () => {
      if (document.activeElement?.closest(".spoonline")) document.activeElement.dispatchEvent(new Event("change", { bubbles: true }));
    };
    window.addEventListener("beforeunload", leave);
    document.addEventListener("visibilitychange", leave);

    // A sign while the kernel starts; it lies over the page, so that nothing moves when it goes.
    const sign = document.head.appendChild(document.createElement("style"));
    sign.textContent = `.jp-Notebook[aria-busy=true]::after { content: "Opening the form \u2026"; position: absolute; bottom: 24px;
      left: 24px; padding: 8px 16px; background: var(--jp-layout-color2); color: var(--jp-content-font-color1); font-size: 16px; }`;

    tracker.forEach(opened);
    tracker.widgetAdded.connect((_, panel) => { opened(panel); });
  };

  (window._JUPYTERLAB ??= {}).spoonline = {
    init: (scope) => { shared = scope; },
    get: async () => {
      const { INotebookTracker } = await lab("@jupyterlab/notebook");
      return () => ({ id: "spoonline:opening", autoStart: true, requires: [INotebookTracker], activate });
    },
  };
})();
