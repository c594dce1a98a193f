"""What a person does without a mouse: Tab to a control, type, press."""

from __future__ import annotations

import re
from typing import Any

SOUP = "Roast parsnip and pear soup"


def tab_to(page: Any, name: str, limit: int = 80) -> None:
    """Press Tab until the control of this name has the focus, as a person without a mouse does."""
    for _ in range(limit):
        found = page.evaluate(
            """() => { const node = document.activeElement; if (!node) return '';
            const label = node.labels && node.labels.length ? node.labels[0].textContent : '';
            return (node.getAttribute('aria-label') || label || node.textContent || '').trim(); }"""
        )
        if found == name:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never reached {name!r}; the last was {found!r}")


def start_in_form(page: Any) -> None:
    """Put the focus on the first control of the form; all after that is keys."""
    page.locator(".spoonline:visible select, .spoonline:visible input, .spoonline:visible textarea").first.focus()


def type_into(page: Any, name: str, text: str) -> None:
    """Tab to a field and type."""
    tab_to(page, name)
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Tab")


def bare_controls(page: Any) -> list[str]:
    """Controls that a screen reader could not name."""
    tree = page.locator(".spoonline:visible").first.aria_snapshot()
    return re.findall(r"^\s*- (?:slider|spinbutton|textbox|combobox|button|link)\s*(?::.*)?$", tree, re.MULTILINE)


def press(page: Any, name: str) -> None:
    """Tab to a button or a link and press it."""
    tab_to(page, name)
    page.keyboard.press("Enter")
