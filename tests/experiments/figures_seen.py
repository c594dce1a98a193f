"""Every figure with no pot, one, three and forty, as it is seen: at 880 and 366 px, light, dark, and by two kinds of colour blindness.

    python tests/experiments/figures_seen.py FOLDER [part of a case's name]

Writes one sheet a kind of figure and way of seeing, for people to look at, and counts what is measured on each: a label on another, on a
curve or cut off; text below 4.5:1 against its ground, as that eye sees both; the smallest text in px. Anything counted ends with 1.
"""  # fmt: skip

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from PIL import Image

from figures.cases import every
from figures.test_labels import contrast, faults_of, in_the_dark, words_of

WIDTHS = {"figure": 880, "narrow": 366}
# Dichromats by Machado, Oliveira and Fernandes (2009), severity 1, for linear light; memory.
EYES = {
    "deuteranopia": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "protanopia": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
}


def by(eye: str, rgb: np.ndarray) -> np.ndarray:
    """What an eye, or the dark theme, makes of colours from 0 to 1."""
    if eye == "dark":
        return np.moveaxis(in_the_dark_many(rgb), 0, -1) if rgb.ndim > 1 else in_the_dark(rgb)
    if eye == "light":
        return rgb
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.clip(linear @ np.array(EYES[eye]).T, 0, 1)
    return np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)


def in_the_dark_many(rgb: np.ndarray) -> np.ndarray:
    """The dark theme's picture, colours first."""
    return in_the_dark(np.moveaxis(rgb, -1, 0).reshape(3, -1)).reshape(3, *rgb.shape[:-1])


def main() -> int:
    """Draw, measure, print and write the sheets."""
    out, part, wrong, smallest = Path(sys.argv[1]), "".join(sys.argv[2:3]), 0, np.inf
    out.mkdir(parents=True, exist_ok=True)
    sheets: defaultdict[tuple[str, str], list[Image.Image]] = defaultdict(list)
    for name, make in every():
        for place, pixels in WIDTHS.items() if part in name else ():
            figure = getattr(make(), place)
            faults = faults_of(figure)
            for text in words_of(figure):
                smallest = min(smallest, text.get_fontsize() * pixels / 72 / figure.get_figwidth())
                for eye in ("light", "dark", *EYES):
                    ratio = contrast(by(eye, np.array(to_rgb(text.get_color()))), by(eye, np.ones(3)))
                    faults += [f"{text.get_text()!r} has {ratio:.1f}:1 in {eye}"] if ratio < 4.5 else []
            figure.set_dpi(pixels / figure.get_figwidth())
            canvas = FigureCanvasAgg(figure)
            canvas.draw()
            seen = np.asarray(canvas.buffer_rgba())[:, :, :3] / 255
            for eye in ("light", "dark", *EYES):
                sheets[name.split()[0], eye].append(Image.fromarray((255 * by(eye, seen)).round().astype(np.uint8)))
            wrong += len(faults)
            for fault in faults:
                print(f"{name} at {pixels} px: {fault}")
    for (kind, eye), drawn in sheets.items():
        rows = [drawn[at : at + 4] for at in range(0, len(drawn), 4)]
        tall = [max(each.height for each in row) + 12 for row in rows]
        sheet = Image.new("RGB", (2 * (880 + 366) + 48, sum(tall)), "#777")
        for row, top in zip(rows, np.cumsum([0, *tall]), strict=False):
            for each, left in zip(row, (0, 892, 1270, 2162), strict=False):
                sheet.paste(each, (left, int(top)))
        sheet.save(out / f"{kind}-{eye}.png")
    print(f"{len(sheets)} sheets in {out}; the smallest text is {smallest:.1f} px; {wrong} faults")
    return bool(wrong)


if __name__ == "__main__":
    raise SystemExit(main())
