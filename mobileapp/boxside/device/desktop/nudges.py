"""Nudges on a desktop: through plyer, but only where somebody is there to show them.

plyer 2.1 hands a message to `notify-send` and does not look whether it arrived; so the message bus is
asked first, and where nobody listens the person is told instead.
"""

from __future__ import annotations

import os
import shutil
import sys
import warnings
from collections.abc import Sequence

from boxside.device.ports.nudges import Delivery

_SERVICE = "org.freedesktop.Notifications"
_DO = "Run `boxside due` instead, or open the app: it shows the same."


class DesktopNudges:
    """Posts through plyer; plans come from a user timer that runs `boxside nudge`."""

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Show a message now."""
        if missing := _missing():
            return Delivery(False, missing, _DO)
        from plyer import notification

        with warnings.catch_warnings():
            # plyer warns that it falls back from dbus-python to notify-send; that is what is meant here.
            warnings.simplefilter("ignore", UserWarning)
            try:
                notification.notify(title=title, message="\n".join(lines), app_name="Boxside", timeout=30)
            except Exception as error:  # noqa: BLE001  plyer raises whatever the desktop's own parts raise
                return Delivery(False, f"the desktop refused the message: {error}", _DO)
        return Delivery(True)

    def arm(self, plan_json: str) -> Delivery:
        """Say that a desktop keeps no plan: a timer does."""
        return Delivery(False, "a desktop keeps no plan of its own", "Let a timer run `boxside nudge` (see README).")


def _missing() -> str:
    """Return what keeps a message from being shown on Linux, empty where all is there."""
    if not sys.platform.startswith("linux"):
        return ""
    if not os.environ.get("DBUS_SESSION_BUS_ADDRESS"):
        return "there is no message bus in this session (DBUS_SESSION_BUS_ADDRESS is not set)"
    if not shutil.which("notify-send") and not _has_dbus_python():
        return "neither notify-send (package libnotify-bin) nor dbus-python is installed"
    return _nobody_listens()


def _has_dbus_python() -> bool:
    from importlib.util import find_spec

    return find_spec("dbus") is not None


def _nobody_listens() -> str:
    """Ask the bus whether a notification service runs or can be started."""
    from jeepney.bus_messages import message_bus
    from jeepney.io.blocking import open_dbus_connection
    from jeepney.wrappers import DBusErrorResponse, unwrap_msg

    try:
        with open_dbus_connection("SESSION") as bus:
            owned = unwrap_msg(bus.send_and_get_reply(message_bus.NameHasOwner(_SERVICE), timeout=5))[0]
            startable = unwrap_msg(bus.send_and_get_reply(message_bus.ListActivatableNames(), timeout=5))[0]
    except (OSError, DBusErrorResponse, ValueError) as error:
        return f"the message bus does not answer: {error or type(error).__name__}"
    return "" if owned or _SERVICE in startable else "no notification service runs on this desktop"
