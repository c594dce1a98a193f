"""Photos of pots and plates: upright, without place or camera in them, stored once by their content."""

from __future__ import annotations

import hashlib
import io
from typing import ClassVar

from pydantic import Field
from sqlalchemy import Connection, select

from spoonline.logbook import tables
from spoonline.logbook.kept import KeepsRecords
from spoonline.measures.errors import KitchenError, LogbookError
from spoonline.pots.records import Batch
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
    media: str = Field(description="image/png, image/jpeg or image/webp")
    width: int = Field(gt=0, description="width [pixel]")
    height: int = Field(gt=0, description="height [pixel]")
    caption: str = Field("", max_length=500)


def cleaned(data: bytes) -> tuple[bytes, str, int, int]:
    """A photo turned upright, at most 2000 pixels long, its pixels alone: no place, camera, time or comment.

    Takes a PNG, JPEG or WebP file of at most 15 MB; gives the file, its media type, width and height [pixel]. Raises
    `LogbookError` if it is another kind of file, damaged, or too large.
    """
    if len(data) > MOST_BYTES:
        raise LogbookError(
            f"The photo has {len(data) / 1e6:.0f} MB; {MOST_BYTES / 1e6:.0f} MB are the most, so send a smaller one."
        )
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data), formats=list(MEDIA)) as opened:
            form = str(opened.format)
            if opened.width * opened.height > MOST_PIXELS:
                raise LogbookError(
                    f"The photo has {opened.width} x {opened.height} pixels; {MOST_PIXELS / 1e6:.0f} million are the most."
                )
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            mode = "RGBA" if upright.mode in ("RGBA", "LA", "P") and form != "JPEG" else "RGB"
            # A new image takes the pixels and leaves everything else that the file said.
            bare = Image.new(mode, upright.size)
            bare.paste(upright.convert(mode))
    except LogbookError:
        raise
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as err:
        raise LogbookError("This is no photo that can be read; send a PNG, JPEG or WebP file.") from err
    out = io.BytesIO()
    bare.save(out, form, **({} if form == "PNG" else {"quality": 88}))
    return out.getvalue(), MEDIA[form], bare.width, bare.height


class KeepsPictures(KeepsRecords):
    """The part of a logbook that keeps photos."""

    def attach(self, batch: Batch, data: bytes, caption: str = "") -> Picture:
        """Keep a photo (a PNG, JPEG or WebP file) of a batch as it was recorded.

        Raises `LogbookError` if the batch was not recorded yet, the file is no such photo, or it cannot be written.
        """
        if not batch.id:
            raise LogbookError("The batch was not recorded yet; save it first, then add the photo.")
        stored, media, width, height = cleaned(data)
        sha = hashlib.sha256(stored).hexdigest()
        table = tables.pictures

        def work(connection: Connection) -> None:
            if connection.execute(select(table.c.seq).where(table.c.id == sha)).first() is None:
                connection.execute(table.insert().values(id=sha, media=media, data=stored))

        self._change(work)
        about = {"title": batch.title, "batch": batch.id, "sha256": sha, "media": media, "caption": caption}
        return self.keep(Picture(width=width, height=height, **about))

    def pictures(self, title: str, batch: Batch | None = None) -> list[Picture]:
        """Photos of a dish, or of one of its batches, oldest first."""
        return [each for each in self.kept(Picture, title) if batch is None or each.batch == batch.id]

    def picture_data(self, picture: Picture) -> bytes:
        """The stored file of a photo; raises `LogbookError` if it is not there, or is damaged."""
        table = tables.pictures
        rows = self._rows(select(table.c.data).where(table.c.id == picture.sha256))
        if not rows or hashlib.sha256(bytes(rows[0]["data"])).hexdigest() != picture.sha256:
            raise LogbookError("The photo is missing or damaged; restore it from a backup, or add it again.")
        return bytes(rows[0]["data"])
