"""Titles and names that try to break a card: a fixed list, and more from hypothesis."""

from __future__ import annotations

import io
import json
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from typing import Any

import pypdf
from hypothesis import strategies as st

import spoonline as sl
from spoonline.card import CardNote
from spoonline.card.content import TURNS

HOSTILE = (
    "<script>window.ran=1</script>", "</script><script>window.ran=1</script>", "</SCRIPT\t><img src=x onerror=window.ran=1>",
    "<!--<script>", "]]><script>window.ran=1</script>", "</title><svg onload=window.ran=1>", "</style><body onload=window.ran=1>",
    "\"><iframe src=javascript:window.ran=1>", "' onmouseover='window.ran=1", "&lt;script&gt;window.ran=1&lt;/script&gt;",
    "{{ 7*7 }}{% raw %}", "{0} {title} {__class__}", "%s %(x)s %n", "${window.ran=1}", "javascript:window.ran=1",
    "[x](javascript:window.ran=1)", "![x](javascript:window.ran=1)", "<javascript:window.ran=1>", "[x]: javascript:window.ran=1",
    "# title", "- item", "1. item", "| a | b |", "---", "```\ncode", "**bold** _it_ ~~gone~~", "\\", "a\\|b", "https://example.invalid/x",
    "#panic()", "#import \"/etc/passwd\"", "#read(\"/etc/passwd\")", "$x^2$ $", "@label <label>", "= heading", "*bold* _it_ `raw`",
    "#{ while true {} }", "//* comment */", "#sys.inputs", "]#panic()[", "\"#panic()\"", "\\u{202e}",
    "\u202egvary", "\u2066\u2067\u2068", "\u05de\u05e8\u05e7 \u05e4\u05d8\u05e8\u05d9\u05d5\u05ea", "\u0645\u0631\u0642 \u0641\u0637\u0631",
    "\U0001f372 soup \U0001f468\u200d\U0001f373", "\u6c64 \u30b9\u30fc\u30d7", "e\u0301 \u00e9",
    "\ufb01 \u00bd \u212b", "a\u0300" * 60, "\ufffe\uffff", "\ufeffsoup",
    "a" * 300, "\U0001f372" * 300, "<" * 300, "x " * 150, "'\"`", "NULL", "-1", "0", "=1+1", "+cmd|' /C calc'!A0", "../../etc/passwd",
    "con", "a\tb\nc", "\u2028line\u2029", "\u00ad\u200b\u200d", "\x85", "S\u00f8up & \"broth\" 'x'",
)  # fmt: skip

ANY = st.one_of(
    st.text(min_size=1, max_size=60),
    st.lists(st.sampled_from(HOSTILE), min_size=1, max_size=3).map("".join),
    st.tuples(st.sampled_from(HOSTILE), st.text(max_size=20)).map("".join),
).map(lambda text: text[:300])


def card(title: str) -> sl.RecipeCard | None:
    """A card that carries the text everywhere a person can type; None where a record rightly refuses it (nothing left of it)."""
    try:
        recipe = sl.Recipe(
            title=title,
            ingredients=[
                {"item": title, "mass_g": 30, "preparation": title, "group": title},
                "1 l water",
                "30 g corn starch",
            ],
            steps=[{"text": title, "group": title}, "Boil the water 5 minutes."],
            servings=4,
        )
    except sl.KitchenError:
        return None
    note = CardNote(title=recipe.title, note=title, credit=title[:200])
    return sl.RecipeCard(recipe, note=note)


class Page(HTMLParser):
    """Tags and words of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, list[tuple[str, str | None]]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, attrs))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def flat(text: str) -> str:
    return "".join(unicodedata.normalize("NFC", text).split())


def check(made: sl.RecipeCard, *, pdf: bool = True) -> None:
    """No face breaks, and each shows the title as typed (NFC, runs of blanks as one), nothing turned round."""
    title = (
        TURNS.sub("", made.recipe.title) or made.content.title
    )  # what turns the rest of a line round is printed nowhere
    page = Page(made.html())
    assert [tag for tag, _ in page.tags].count("script") == 1
    assert {tag for tag, _ in page.tags} <= {
        "html", "head", "meta", "title", "script", "style", "body", "header", "h1", "h2", "h3", "p", "main", "div", "section", "table",
        "caption", "thead", "tbody", "tr", "th", "td", "ol", "ul", "li", "footer", "b", "span", "br",
    }  # fmt: skip
    assert not any(name.startswith("on") or name in ("href", "src") for _, attrs in page.tags for name, _ in attrs)
    assert flat(title) in flat("".join(page.words))
    faces = made.html() + made.json_ld() + made.text() + made.markdown()
    assert not TURNS.search(faces)
    data = json.loads(made.json_ld())
    assert data["name"] == title and flat(title) in flat(data["text"])
    assert flat(made.text()).startswith(flat(title))
    first = made.markdown().splitlines()[0]
    assert first.startswith("# ") and re.sub(r"\\(.)", r"\1", first[2:]) == " ".join(title.split())
    if pdf:
        reader = pypdf.PdfReader(io.BytesIO(made.face("pdf")))
        assert len(reader.pages) >= 1 and reader.metadata is not None
        if title.isascii() and title.isprintable():
            assert flat(title) in flat("".join(each.extract_text() for each in reader.pages))


@contextmanager
def chromium() -> Iterator[Any]:
    """A page in a real chromium without a network."""
    import shutil

    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            context = browser.new_context(offline=True)
            yield context.new_page()
        finally:
            browser.close()


def ran(page: Any, html: str) -> list[str]:
    """What a page did that a card must never do: scripts that ran, dialogs, errors, requests."""
    did: list[str] = []
    listeners = {
        "dialog": lambda each: (did.append("dialog"), each.dismiss()),
        "pageerror": lambda each: did.append(f"error {each}"),
        "request": lambda each: (
            did.append(f"request {each.url[:80]}") if not each.url.startswith(("data:", "about:")) else None
        ),
    }
    for name, listener in listeners.items():
        page.on(name, listener)
    page.goto("about:blank")  # a new window: what an earlier page set is gone
    page.set_content(html)
    page.evaluate("for (const each of document.querySelectorAll('*')) each.dispatchEvent(new MouseEvent('mouseover'))")
    if page.evaluate("typeof window.ran !== 'undefined'"):
        did.append("script")
    for name, listener in listeners.items():
        page.remove_listener(name, listener)
    return did
