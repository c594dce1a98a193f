"""Work that takes long: a bar that shows how far it is, and a button that stops it."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from contextvars import copy_context
from functools import cache
from typing import Any, TypeVar

import ipywidgets as w

from spoonline.measures.errors import Progress, Stopped
from spoonline.widgets.parts.fields import Message, appear, button
from spoonline.widgets.parts.panel import Panel

Made = TypeVar("Made")
# A page needs no more news than this; each costs a message to the browser.
EVERY_SECONDS = 0.1


class LongWork(w.VBox):
    """Runs one piece of work beside the form, so that its Stop is heard.

    Parameters
    ----------
    panel : Panel
        The form that says what came of it.
    buttons : sequence of Button
        Buttons that rest while it works.
    """

    def __init__(self, panel: Panel, *buttons: w.Button) -> None:
        self._panel, self._buttons = panel, buttons
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._last = 0.0
        self.bar = w.IntProgress(min=0, max=1, value=0)
        self.done = Message(css="sl-note")
        self.halt = button("Stop", lambda _button: self._stop.set())
        self.halt.disabled = True
        super().__init__([self.bar, self.done, self.halt])
        appear(False, self)

    @property
    def busy(self) -> bool:
        """Whether it works now."""
        return self._thread is not None and self._thread.is_alive()

    def wait(self) -> None:
        """Wait for the end of what runs."""
        if self._thread is not None:
            self._thread.join()

    def start(self, work: Callable[[Progress], Made], done: Callable[[Made], Any] | str, stopped: str) -> None:
        """Begin, unless it works already.

        Parameters
        ----------
        work : callable
            Given a progress callback; it lets that one's ``Stopped`` pass, or ends with what it has.
        done : callable or str
            Given what the work made; says it in the form. Or what the form says.
        stopped : str
            What the form says where the work was stopped and left nothing.
        """
        if self.busy:
            return
        self._stop.clear()
        self._last = 0.0
        self.bar.max, self.bar.value = 1, 0
        self.done.say("")
        appear(True, self)
        self._rest(True)

        def run() -> None:
            try:
                made = work(self._progress)
                self._panel.say(done) if isinstance(done, str) else done(made)
            except Stopped:
                self._panel.say(stopped)
            finally:
                self._rest(False)
                appear(False, self)

        # in the form's own context, so that the kitchen's decimal mark holds there too
        inside = copy_context().run
        self._thread = threading.Thread(target=inside, args=(self._panel.guarded, run), daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End what runs, and wait for it."""
        self._stop.set()
        self.wait()

    def close(self) -> None:
        """End what runs with the form."""
        self.stop()
        super().close()

    def _rest(self, works: bool) -> None:
        self.halt.disabled = not works
        for each in self._buttons:
            each.disabled = works

    def _progress(self, done: int, of: int, what: str) -> None:
        if time.monotonic() - self._last >= EVERY_SECONDS or done >= of:
            self._last = time.monotonic()
            self.bar.max, self.bar.value = max(of, 1), done
            self.done.say(f"{done} of {of}: {what}")
        if self._stop.is_set():
            raise Stopped("Stopped.")


@contextmanager
def bars() -> Iterator[Progress]:
    """A progress bar a kind of record, in the notebook or on the terminal; interrupting the kernel or Ctrl-C stops the work."""
    from tqdm.auto import tqdm

    with ExitStack() as opened:
        bar_of = cache(lambda what: opened.enter_context(tqdm(desc=what, unit="", disable=None, leave=False)))

        def progress(done: int, total: int, what: str) -> None:
            bar = bar_of(what)
            bar.total = max(total, done)
            bar.update(done - bar.n)

        yield progress
