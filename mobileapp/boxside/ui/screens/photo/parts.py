"""The four faces of Photo: to begin with, while it is measured, a photo that is refused, one to work on."""

from __future__ import annotations

from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.widgets.button import IconButton, SmallButton


class Face(BoxLayout):
    """What Photo shows in one state; `screen` is what it shows it of."""

    screen = ObjectProperty(None, rebind=True)


class PhotoStart(Face):
    """Where a photo comes from."""


class PhotoBusy(Face):
    """How far measuring is, and its end."""


class PhotoRefused(Face):
    """Why there is no number, and what to do."""


class PhotoWork(Face):
    """A photo to touch: bodies to correct, or the two ends of a known length."""

    is_result = BooleanProperty(True)


class Tool(SmallButton):
    """What a touch on the photo does, or takes back."""

    said = StringProperty("")


class PanWay(IconButton):
    """Moves a photo that is shown closer."""

    way = ListProperty([0, 0])
    screen = ObjectProperty(None, rebind=True, allownone=True)


__all__ = ["Face", "PanWay", "PhotoBusy", "PhotoRefused", "PhotoStart", "PhotoWork", "Tool"]
