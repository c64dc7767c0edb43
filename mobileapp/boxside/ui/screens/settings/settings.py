"""Settings: what can be set, labels to print, what to beware of, what today's nudge says."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from boxside.core.values.event import Json
from boxside.core.values.views import SettingRow, SettingsView
from boxside.ui.kv import load_kv
from boxside.ui.outside import hand_over
from boxside.ui.rows_page import RowsPage
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say

MANY = 40
CARD_LINE = "print_scale"
ICONS = {"theme": "theme", "minute": "bell", "choice": "setting", "number": "ruler", "text": "note"}


class SettingsScreen(RowsPage):
    """Shows one `SettingsView`; every change is saved at once."""

    def enter(self, **_: Any) -> None:
        """Show the settings as they are, where they were left."""
        self.refresh()

    def refresh(self, *_: Any) -> None:
        """Fetch the settings."""
        self.ask("settings_view", then=self.show)

    def rows(self) -> list[RowData]:
        """Return the rows of the view."""
        return [*self._settings(), *self._paper(), *self._nudge(), *self._cautions(), *self._about()]

    def _settings(self) -> list[RowData]:
        width = rows_width(self.ids.rows)
        rows: list[RowData] = []
        for group, settings in groupby(self.view.rows, key=lambda setting: setting.group):
            rows.append(head(width, group))
            rows += [
                row(
                    width, self.change, setting, icon=ICONS.get(setting.key) or ICONS.get(setting.how, "setting"),
                    title=setting.label, detail=setting.shown, soft=setting.hint, trail="right",
                )
                for setting in settings if setting.key != CARD_LINE
            ]  # fmt: skip
            if group == self._card_group():
                rows.append(
                    row(width, self.open_card, None, icon="card", title=say("card"), detail=say("card_row"),
                        trail="right")
                )  # fmt: skip
        return rows

    def _paper(self) -> list[RowData]:
        width = rows_width(self.ids.rows)
        labels = row(
            width, self.choose_labels, None, icon="mark", title=say("labels"), soft=say("labels_detail"), trail="right"
        )
        return [head(width, say("paper")), labels]

    def _card_group(self) -> str:
        """Return the group that the measuring card stands in, the last one where none says."""
        named = [setting.group for setting in self.view.rows if setting.key == CARD_LINE]
        return named[0] if named else self.view.rows[-1].group

    def open_card(self, _: Any) -> None:
        """Go to the measuring card, where its check line is entered too."""
        self.shell.go("card")

    def _nudge(self) -> list[RowData]:
        width = rows_width(self.ids.rows)
        lines = self.view.nudge or (say("nudge_none"),)
        return [
            head(width, say("nudge")),
            *(paragraph(width, line, icon="bell" if not n else "") for n, line in enumerate(lines)),
        ]

    def _cautions(self) -> list[RowData]:
        width = rows_width(self.ids.rows)
        return [
            head(width, say("cautions")),
            *(paragraph(width, text, title, "caution") for title, text in self.view.cautions),
        ]

    def _about(self) -> list[RowData]:
        width = rows_width(self.ids.rows)
        about = [*self.view.about, (say("no_reader_title"), say("no_reader"))]
        return [head(width, say("about")), *(paragraph(width, text, title) for title, text in about)]

    # ---- labels ----

    def choose_labels(self, _: Any) -> None:
        """Ask for which boxes labels are wanted."""
        items = [("all", say("label_all"), "shelf"), ("one", say("label_one"), "box")]
        ways = {"all": lambda: self._save_labels(()), "one": self._choose_label}
        self.shell.open_choices(say("labels"), items, lambda way: ways[way](), say("labels_detail"))

    def _choose_label(self) -> None:
        def look(code: str) -> None:
            self.ask("shelf_view", code, then=choose)

        def choose(view: Any) -> None:
            items = [((box.label,), f"{box.label}  {box.who}", "box") for box in view.rows]
            self.shell.open_choices(say("labels"), items, self._save_labels, "" if items else say("no_boxes_found"))

        self.shell.open_code(say("labels"), say("find"), look, hint=say("find_hint"))

    def _save_labels(self, codes: tuple[str, ...]) -> None:
        self.ask("save_labels", codes, then=lambda path: hand_over(self.shell, say("labels"), [path], say("labels_do")))

    # ---- changing ----

    def change(self, setting: SettingRow) -> None:
        """Ask for a new value of a setting."""
        getattr(self, f"_ask_{setting.how}")(setting)

    def _ask_choice(self, setting: SettingRow) -> None:
        if len(setting.choices) > MANY:
            self._ask_group(setting)
            return
        self._ask_among(setting, setting.choices)

    def _ask_group(self, setting: SettingRow) -> None:
        """Ask among many in two steps, as for a zone: what stands before the stroke, then the whole."""
        groups = dict.fromkeys(name.partition("/")[0] for _, name in setting.choices)

        def chosen(group: str) -> None:
            self._ask_among(setting, tuple(c for c in setting.choices if c[1].partition("/")[0] == group))

        self.shell.open_choices(setting.label, [(name, name, "") for name in groups], chosen, setting.hint)

    def _ask_among(self, setting: SettingRow, choices: tuple[tuple[str, str], ...]) -> None:
        items = [(key, name.rpartition("/")[2].replace("_", " "), "") for key, name in choices]
        self.shell.open_choices(setting.label, items, lambda key: self.set(setting, key), setting.hint, setting.value)

    def _ask_number(self, setting: SettingRow) -> None:
        whole = float(setting.step).is_integer()
        now = setting.value if isinstance(setting.value, int | float) else 0
        self.shell.open_number(
            setting.label, hint=setting.hint, value=now, minimum=-9999 if setting.minimum is None else setting.minimum,
            maximum=9999 if setting.maximum is None else setting.maximum, step=setting.step, unit=setting.unit,
            whole=whole, then=lambda number: self.set(setting, number),
        )  # fmt: skip

    def _ask_minute(self, setting: SettingRow) -> None:
        now = int(setting.value) if isinstance(setting.value, int | float) else 0

        def hour(hours: int) -> None:
            self.shell.open_number(
                f"{setting.label}: {say('minute')}", value=now % 60, maximum=59, step=5,
                then=lambda minutes: self.set(setting, hours * 60 + minutes),
            )  # fmt: skip

        title = f"{setting.label}: {say('hour')}"
        self.shell.open_number(title, hint=setting.hint, value=now // 60, maximum=23, then=hour)

    def _ask_text(self, setting: SettingRow) -> None:
        self.shell.open_text(setting.label, str(setting.value or ""), lambda text: self.set(setting, text))

    def set(self, setting: SettingRow, value: Json) -> None:
        """Save a value; a theme is seen at once."""

        def changed(view: SettingsView) -> None:
            self.shell.services.device.haptics.confirm()
            if setting.key == "theme":
                self.shell.use_theme(str(value))
            self.show(view)

        self.ask("change_setting", setting.key, value, then=changed)


load_kv(__file__)

__all__ = ["SettingsScreen"]
