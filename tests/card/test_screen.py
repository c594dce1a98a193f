"""The card as a page on a telephone and on a desk, in a real chromium: nothing to scroll sideways, nothing cut, in both themes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

import spoonline as sl
from card.hostile import chromium
from card.test_leaf import AWKWARD, photo

pytestmark = [pytest.mark.browser, pytest.mark.long]

# What sticks out of the page, or out of a cell or heading that holds it; what is cut by its own box; how faint the faintest text is.
SEEN = """() => {
  const page = document.documentElement, light = (colour) => {
    const parts = colour.match(/[\\d.]+/g).slice(0, 3).map((one) => one / 255)
      .map((one) => one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4);
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2];
  };
  const ground = (node) => {
    for (let up = node; up; up = up.parentElement) {
      const colour = getComputedStyle(up).backgroundColor;
      if (!colour.startsWith('rgba') || !colour.endsWith(' 0)')) return light(colour);
    }
    return 1;
  };
  const own = [...document.body.querySelectorAll('*')].filter((node) => node.offsetParent !== null);
  const wide = own.filter((node) => node.getBoundingClientRect().right > page.clientWidth + 1 || node.getBoundingClientRect().left < -1
    || (node.scrollWidth > node.clientWidth + 1 && getComputedStyle(node).display !== 'inline'));
  const ratio = (node) => {
    const pair = [light(getComputedStyle(node).color), ground(node)].sort((one, other) => one - other);
    return (pair[1] + 0.05) / (pair[0] + 0.05);
  };
  const worded = own.filter((node) => [...node.childNodes].some((child) => child.nodeType === 3 && child.data.trim()));
  return {across: page.scrollWidth - page.clientWidth, wide: wide.slice(0, 3).map((node) => node.outerHTML.slice(0, 90)),
    contrast: Math.min(...worded.map(ratio)), smallest: Math.min(...worded.map((node) => parseFloat(getComputedStyle(node).fontSize)))};
}"""


def pages(demo: sl.Logbook) -> Iterator[tuple[str, str]]:
    """The demo's cards and awkward ones: long words, from right to left, very much, nothing to do, without and with a tall photo."""
    for title in demo.titles():
        card = sl.RecipeCard.from_logbook(demo, title)
        yield title, card.html()
        yield f"{title}, tall photo", replace(card, photo=photo(200, 1000)).html()
    for name, recipe in AWKWARD.items():
        yield name, sl.RecipeCard(recipe).html("a5")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1000])
def test_nothing_is_scrolled_sideways_and_nothing_is_cut(width: int, theme: str, demo: sl.Logbook) -> None:
    with chromium() as page:
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=theme)
        page.set_content(f"<body><p style='width: {width + 50}px; color: #ccc'>too wide and too faint</p>")
        sick = page.evaluate(SEEN)
        assert sick["across"] > 0 and sick["wide"] and sick["contrast"] < 4.5, "the measure itself can fail"
        for name, html in pages(demo):
            page.set_content(html)
            found = page.evaluate(SEEN)
            assert found["across"] <= 0 and found["wide"] == [], (name, found)
            assert found["contrast"] >= 4.5 and found["smallest"] >= 13, (name, found)
