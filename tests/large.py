"""Large logbooks for tests and experiments, made of the demo's records."""

from __future__ import annotations

import json
import random
from contextlib import closing
from datetime import date, timedelta
from typing import Any

FIRST_DAY = date(2013, 1, 7)


def fill(where: str, dishes: int, pots: int) -> None:
    """Put the records in by the thousand, as the logbook itself would have stored them."""
    from spoonline.logbook import open_logbook, passing_demo, tables
    from spoonline.logbook.engine import writing
    from spoonline.logbook.rows import batch_row, plain_json, seal_of, version_row
    from spoonline.pots import Batch
    from spoonline.recipes import content_id
    from spoonline.recipes.base import json_id

    draw = random.Random(7)
    with passing_demo() as demo:
        kept = [(demo.all_versions(title), demo.all_batches(title)) for title in demo.titles()]
    rows: dict[str, list[dict[str, Any]]] = {"versions": [], "batches": []}
    with closing(open_logbook(where)) as book, writing(book.store.engine) as connection:

        def put() -> None:
            for name, table in (("versions", tables.versions), ("batches", tables.batches)):
                if rows[name]:
                    sealed = [row | {"seal": seal_of(name, row)} for row in rows[name]]
                    connection.execute(table.insert(), sealed)
                    rows[name].clear()

        plain = [[(row := batch_row(batch), json.loads(row["body"])) for batch in batches] for _, batches in kept]
        names, count = [f"{kept[n % len(kept)][0][0].title} {n:04d}" for n in range(dishes)], 0
        for n, title in enumerate(names):
            for version in kept[n % len(kept)][0]:
                recipe = version.recipe.model_copy(update={"title": title})
                made = version.model_copy(update={"title": title, "recipe": recipe, "id": content_id(recipe)})
                rows["versions"].append(version_row(made))
                count += 1
        for number in range(1, pots + 1):  # a kitchen cooks its dishes in turn
            for n, title in enumerate(names):
                row, body = plain[n % len(kept)][number % len(plain[n % len(kept)])]
                cooked_on = FIRST_DAY + timedelta(days=number if pots > 300 else 7 * number)
                factor = draw.lognormvariate(0, 0.05)
                body = json.loads(json.dumps(body))
                for reading in (*body["readings"], *(each["reading"] for each in body["moments"] if each["reading"])):
                    reading["values"] = [f"{float(value) * factor:.4g}" for value in reading["values"]]
                given = {
                    "title": title,
                    "number": number,
                    "recorded_at": f"{cooked_on}T18:00:00Z",
                    "id": "",
                    "replaces": "",
                }
                body |= given | {"cooked_on": f"{cooked_on}", "note": f"pot {number}"}
                body["id"] = json_id(body)
                own = {name: body[name] for name in ("id", "title", "number", "recorded_at")}
                rows["batches"].append(row | own | {"replaces": None, "body": plain_json(body)})
                if number == 1:
                    assert plain_json(json.loads(batch_row(Batch.read(body))["body"])) == plain_json(body)
            if len(rows["batches"]) >= 5000:
                put()
        put()
        told = [("rows of", "versions", count), ("rows of", "batches", dishes * pots)]
        for n, title in enumerate(names):
            told += [("version", title, len(kept[n % len(kept)][0])), ("batch", title, pots)]
        tables.note_told(connection, told)
