"""The faces of a card: HTML for paper and screen, Markdown for notes."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from spoonline import keeping
from spoonline.card.content import CardContent

if TYPE_CHECKING:
    from jinja2 import Environment


@functools.cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("spoonline.card"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render(template: str, **what: object) -> str:
    """Fill one of the page templates; every text is escaped, nothing is fetched."""
    return _environment().get_template(template).render(not_clinical=keeping.NOT_CLINICAL, **what)


def to_html(content: CardContent) -> str:
    """One self-contained page; every text is escaped, nothing is fetched."""
    return render("card.html", c=content)


_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+\-.!|~&])")


def plain(text: str) -> str:
    """Escape what Markdown would read as markup, so that a title prints as typed."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def to_markdown(content: CardContent) -> str:
    """The same card as Markdown (with pipe tables)."""
    out = [f"# {plain(content.title)}", ""]
    if content.serves or content.makes:
        serves = f"Serves {content.serves}" if content.serves else ""
        makes = f"makes {content.makes}" if content.makes else ""
        out += [plain(", ".join(part for part in (serves, makes) if part)), ""]
    if content.invented:
        out += ["**Invented data, for demonstration.**", ""]
    out += ["## Ingredients", "", "| Weight | Household measure | What |", "| ---: | --- | --- |"]
    group = ""
    for line in content.lines:
        if line.group != group:
            group = line.group
            out.append(f"| | | *{plain(group or 'And')}* |")
        measure = plain(line.household) + (f" (measure is {plain(line.error)})" if line.error else "")
        what = plain(line.item) + (f", {plain(line.preparation)}" if line.preparation else "")
        out.append(f"| {plain(line.grams)} | {measure} | {what} |")
    if content.steps:
        out += ["", "## Method", ""] + [
            f"{number}. {plain(step)}" for number, step in enumerate(content.steps, start=1)
        ]
    out += ["", "## Thickness", ""]
    out += [f"- {plain(dose)}. Weigh it." for dose in content.dose]
    if content.target:
        out.append(f"- Aim: {plain(content.target)}")
    out += [
        f"- {check.tool.capitalize()}: {plain(check.how)} It should show {plain(check.reading)}."
        for check in content.checks
    ]
    out += [f"- {plain(content.tested)}", "", plain(keeping.NOT_CLINICAL), "", "## Made ahead", ""]
    out += [f"- {plain(caution)}" for caution in content.cautions]
    out += ["", "## Allergens", "", f"- Contains: {plain(', '.join(content.contains) or 'no flags found')}"]
    if content.check_label:
        out.append(f"- Check the label: {plain('; '.join(content.check_label))}")
    out += ["", plain(content.allergen_note)]
    if content.notes:
        out += ["", "## Still open", ""] + [f"- {plain(note)}" for note in content.notes]
    foot = content.version + (f", content {content.identity}" if content.identity else "")
    foot += f", printed {content.printed_on}" if content.printed_on else ""
    return "\n".join([*out, "", "---", "", plain(foot), ""])
