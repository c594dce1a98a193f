"""Photos of pots and plates: upright, without place or camera in them, stored once by their content."""

import hashlib
import io
from collections.abc import Mapping
from typing import Any, ClassVar

from pydantic import Field

from spoonline.measures.errors import KitchenError, LogbookError, told_as
from spoonline.recipes import Kept

MEDIA = {"PNG": "image/png", "JPEG": "image/jpeg", "WEBP": "image/webp"}
MOST_BYTES, MOST_PIXELS, LONGEST_SIDE = 15_000_000, 50_000_000, 2000


class Picture(Kept):
    """What is kept of one photo beside its pixels."""

    wrong: ClassVar[type[KitchenError]] = LogbookError
    kind: ClassVar[str] = "picture"

    title: str = Field(description="the dish")
    batch: str = Field(description="id of the batch record it belongs to")
    sha256: str = Field(pattern="^[0-9a-f]{64}$", description="SHA-256 of the stored file")
    media: str = Field(pattern="^image/(png|jpeg|webp)$", description="image/png, image/jpeg or image/webp")
    width: int = Field(gt=0, description="width [pixel]")
    height: int = Field(gt=0, description="height [pixel]")
    caption: str = Field("", max_length=500)


def intact(row: Mapping[Any, Any]) -> bool:
    """Whether a stored photo is what its name says, of a kind that we keep."""
    data = row["data"]
    known = isinstance(data, bytes | memoryview) and row["media"] in MEDIA.values()
    return known and hashlib.sha256(data).hexdigest() == row["id"]


def cleaned(data: bytes) -> tuple[bytes, str, int, int]:
    """A photo turned upright, at most 2000 pixels long, its pixels alone: no place, camera, time or comment.

    Takes a PNG, JPEG or WebP file of at most 15 MB; gives the file, its media type, width and height [pixel]. Raises
    `LogbookError` if it is another kind of file, damaged, or too large.
    """
    if len(data) > MOST_BYTES:
        raise LogbookError(f"The photo has {len(data) / 1e6:.0f} MB; {MOST_BYTES / 1e6:.0f} MB are the most.")
    from PIL import Image, ImageOps

    unread = LogbookError("This is no photo that can be read; send a PNG, JPEG or WebP file.")
    with (
        told_as(unread, OSError, ValueError, SyntaxError, Image.DecompressionBombError),
        Image.open(io.BytesIO(data), formats=list(MEDIA)) as opened,
    ):
        form, size = str(opened.format), f"{opened.width} x {opened.height} pixels"
        if opened.width * opened.height > MOST_PIXELS:
            raise LogbookError(f"The photo has {size}; {MOST_PIXELS / 1e6:.0f} million are the most.")
        upright = ImageOps.exif_transpose(opened)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        mode = "RGBA" if upright.mode in ("RGBA", "LA", "P") and form != "JPEG" else "RGB"
        # A new image takes the pixels and leaves everything else that the file said.
        bare = Image.new(mode, upright.size)
        bare.paste(upright.convert(mode))
    out = io.BytesIO()
    bare.save(out, form, **({} if form == "PNG" else {"quality": 88}))
    return out.getvalue(), MEDIA[form], bare.width, bare.height
