"""Notebook 0: where am I, and how do I begin?"""

from datetime import datetime
from pathlib import Path

import ipywidgets as w
from markupsafe import Markup

from spoonline.card import style_from, style_text
from spoonline.dish import Dish
from spoonline.dose import aim_as, everyday
from spoonline.keeping import JURISDICTIONS
from spoonline.logbook import Logbook
from spoonline.logbook.care import Checked, backup, check
from spoonline.measures.errors import KitchenError, RecipeError, told_as
from spoonline.recipes import Habits, Recipe
from spoonline.widgets.parts import drafts, here, recipe_text, tools, work
from spoonline.widgets.parts.fields import FORMS, declared, fill, laid_out
from spoonline.widgets.parts.markup import download, fold, frame_table, link, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import said

HABITS = "how a kitchen writes"


class HabitsPart(w.VBox):
    """How this kitchen writes; saved in the logbook, and as a file to pass on."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        whose = [(each.name, key) for key, each in JURISDICTIONS.items()]
        asked = declared(self, HABITS, kitchen=here.SYSTEMS, paper=here.SIZES, jurisdiction=whose)
        self.fields = dict(zip(FORMS[HABITS], asked, strict=True))  # as those of the record are called
        for name, field in self.fields.items():
            field.value = getattr(self.book.habits, name)
        declared(self, "a house style")
        panel.watch(self._take, self.file)
        super().__init__(laid_out(self, "habits"))
        self._offer(self.book.habits)

    def changed(self) -> None:
        """Habits that were saved since; what is chosen here and not saved stays."""
        was, now = self._stored, self.book.habits
        for name, field in self.fields.items():
            field.value = getattr(now, name) if field.value == getattr(was, name) else field.value
        self._offer(now)

    def _offer(self, habits: Habits) -> None:
        self._stored = habits
        label = "Download this house style (a file to change or pass on)"
        self.link.value = download("house-style.json", "application/json", style_text(habits), label)

    def _keep(self) -> None:
        self._use(self.book.habits.model_copy(update={name: field.value for name, field in self.fields.items()}))

    def _take(self) -> None:
        if not self.file.value:
            return
        sent = self.file.value[0]
        wrong = RecipeError(f"{sent['name']!r} is no text file; give the JSON file of a house style.")
        with told_as(wrong, UnicodeDecodeError):
            text = bytes(sent["content"]).decode("utf-8")
        habits = style_from(text, sent["name"])
        drafts.put_back(lambda: self.fields, {name: getattr(habits, name) for name in self.fields})
        self._use(habits)

    def _use(self, habits: Habits) -> None:
        self._offer(self.book.keep(Habits(**habits.model_dump(exclude={"id", "recorded_at"}))))
        self._panel.say("Saved. Forms and cards are written this way from now on; this page, when it is opened again.")


class CarePart(w.VBox):
    """Copy the logbook, look through it, write it out as tables; each with a bar and a Stop."""

    def __init__(self, panel: Panel) -> None:
        self.book, self._panel = panel.book, panel
        buttons = declared(self, "care of the logbook")
        self.work = work.LongWork(panel, *buttons)
        super().__init__([w.HBox(buttons), self.work])

    def _copy(self) -> None:
        target = Path(f"backup-{_stamp()}.sqlite")
        done = f"{target.name} holds the same records; it was compared with the logbook."
        stopped = "Stopped; no backup was made, and the logbook is as it was."
        self.work.start(lambda progress: backup(self.book.where, target, progress), done, stopped)

    def _look(self) -> None:
        def done(found: Checked) -> None:
            (self._panel.say_wrong if found.faults else self._panel.say)(found.text)

        stopped = "Stopped before the end; nothing was changed."
        self.work.start(lambda progress: check(self.book, progress), done, stopped)

    def _out(self) -> None:
        folder = Path(f"logbook-{_stamp()}")
        done = f"Written to the folder {folder.name}: tables (CSV), and the files to restore it from."
        stopped = "Stopped; nothing was written out, and the logbook is as it was."
        self.work.start(lambda progress: self.book.export(folder, progress=progress), done, stopped)


def _stamp() -> str:
    return datetime.now().strftime("%Y-%m-%d-%H%M%S")


# The first page shows so many recipes, the list below it offers all; how a dish stands is told by so many of its last pots.
MOST, LATELY = 30, 20


class StartPanel(Panel):
    """The logbook in one table, and a place to paste a recipe."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        below = declared(self, "a version to save")
        fill(self.thick, [(f"like {each.text}", name) for name, each in everyday().items()])
        self.note.add_class("sl-long")
        self.text = recipe_text.RecipeText(self, "an empty page", below=below)
        self.load, self.paste, self.lines = self.text.load, self.text.paste, self.text.lines
        drafted = {"began": self.text.began, "paste": self.paste, "thick": self.thick, "note": self.note}
        self.draft = drafts.DraftPart(self, "recipe", lambda: drafted)
        declared(self, "buttons of a start")
        self.habits, self.care = HabitsPart(self), CarePart(self)
        self.lay(*laid_out(self, "start"), self.bar(self.save, self.back))
        self.draft.watch(self.paste, self.thick, self.note)
        self._show()

    def changed(self) -> None:
        """Recipes, pots and habits that were saved since; what is typed stays."""
        self.habits.changed()
        self.text.changed()
        self._show()

    def _show(self) -> None:
        titles = self.book.titles()
        if not titles:
            now, kept = self.book.habits, {}
            for name, field in self.habits.fields.items():
                kept[name] = next(label for label, key in field.options if key == getattr(now, name))
            words = said("an empty kitchen", **kept, first="month" if now.kitchen == "us" else "day")
            self.answer.say(said("an empty logbook"), markup=tag("div", words, class_="sl-note"))
            self.overview.value = self.history.value = ""
            return
        latest = titles[-MOST:]
        caption = f"Logbook {self.book.name}" + (f", the last {MOST} recipes" if len(titles) > MOST else "")
        branches = []
        for title, parent, children in ((each, *pair) for each in latest for pair in self.book.branches(each).items()):
            both = " and ".join(str(child.number) for child in children)
            made = f"{title}: versions {both} were both made from version {parent}"
            branches.append(f"{made}; compare them in notebook 3.")
        dishes, invented, damaged = list[dict[str, object]](), False, self.book.damaged([*latest, ""])
        for title in latest:
            try:
                invented |= self.book.recipe(title).invented
                dishes.append(self._row(title))
            except KitchenError as err:  # a damaged version stands in the way of its own dish only
                damaged.append(str(err))
        self.overview.value = frame_table(dishes, caption) + notes(dict.fromkeys(damaged), "sl-wrong") + notes(branches)
        events = self.book.history(last=40).iloc[::-1]
        events = events.set_axis(["When (UTC)", "Who", "What", "Made from, or reason"], axis=1)
        self.history.value = fold("What happened last", frame_table(events))
        count = f"{len(titles)} {'recipe' if len(titles) == 1 else 'recipes'} in this logbook."
        self.answer.say(count, markup=tag("b", f" {said('the invented club')}") if invented else "")

    def _row(self, title: str) -> dict[str, object]:
        """A dish in the table: how far it has come, and what is next."""
        dish = self.book.dish(title, pots=LATELY)
        held = dish.tested
        pots = "pot" if held.read == 1 else "pots"
        now = f"{held.inside} of the last {held.read} {pots} inside{': tested' * held.enough}"
        if not held.read:
            now = "no pot held against an aim yet" if dish.batches else "not cooked yet"
        now = f"{dish.dose_text}; {now}" if dish.recipe.thickener_g else now
        return {"Dish": title, "What it is now": now, "What to do next": _next_step(dish)}

    def went_to(self, dish: str) -> None:
        """The next notebook begins with the dish whose link was followed."""
        here.remember(self.book, dish)

    @property
    def recipe(self) -> Recipe:
        """The recipe as it is typed, with the aim that is chosen for it."""
        read = self.text.recipe
        aim = aim_as(self.thick.value, float(tools.served_cold_c(read) or 60)) if self.thick.value else read.target
        return read.model_copy(update={"target": aim})

    def _save(self) -> None:
        recipe = self.recipe
        there = recipe.title in self.book.titles()
        held = {each.number for each in self.book.all_versions(recipe.title)} if there else set()
        # What began from a version stays its child, even if somebody saved another meanwhile.
        parent = self.text.began.value.get(recipe.title) if there else None
        version = self.book.save(recipe, self.note.value.strip(), parent=parent)
        if version.number not in held:
            self.back.offer(version, version.name)
        self.text.began.value[version.title] = version.number
        here.remember(self.book, version.title)
        self.note.value = self.thick.value = ""
        self.draft.done()
        self.look()
        dish = self.book.dish(version.title)
        amount = dish.recipe.dose_text if dish.recipe.thickener_g else "no thickener"
        wanted = dish.wanted or (f"{dish.aim.viscosity_pa_s} Pa s" if dish.aim else "")
        aims = [f"it should show {wanted}"] * bool(wanted) + [each.text for each in dish.recipe.aims]
        saved = f"Saved {version.name}: {'; '.join([amount, *(aims or ['no aim is set'])])}."
        cook = link("1_at_the_stove", "Cook it now", version.title)
        self.status.say(f"{saved}{here.also_saved(self.book, version)} Next: ", markup=cook)

    def _taken_back(self) -> None:
        self.text.began.value.clear()
        self.look()


def _next_step(dish: Dish) -> Markup:
    """What to do next with a dish, as a link to the notebook where it is done."""
    # whether there is something to dose is asked, not where the curve runs
    doses = dish.recipe.main_thickener is not None and dish.recipe.liquid_l > 0
    last = dish.last.thickness if dish.last else None
    if not dish.batches:
        return link("1_at_the_stove", "cook a first pot", dish.title)
    if dish.tested.enough or not (doses or dish.aims):
        return link("4_finish_the_card", "finish the card", dish.title)
    if not doses:
        return link("2_set_the_thickness", "see what to cook next", dish.title)
    if dish.aim is None:
        return link("2_set_the_thickness", "say how thick it should be", dish.title)
    if last is not None and dish.aim.against_band(last.viscosity_pa_s) == "inside":
        return link("1_at_the_stove", "cook it once more", dish.title)
    return link("2_set_the_thickness", "set the next dose", dish.title)
