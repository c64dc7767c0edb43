"""Nudges on a desktop: handed over only where the desktop has taken them.

plyer 2.1 starts `notify-send` on Linux and looks neither at its status nor at words that begin with a dash, so what
nobody showed would pass for shown. There the service is asked first and `notify-send` is run from here; on other
desktops plyer posts.

References
----------
Hammond M., Matthias C. et al., Desktop Notifications Specification 1.2, freedesktop.org: GetServerInformation,
GetCapabilities (`body-markup`), Notify.
"""

from __future__ import annotations

import html
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence

from boxside.core.values.errors import DeviceError
from boxside.device.ports.nudges import Delivery, NudgeMemory

_SERVICE = "org.freedesktop.Notifications"
_UNKNOWN = "org.freedesktop.DBus.Error.ServiceUnknown"
_DO = "Run `boxside due` instead, or open the app: it shows the same."
_SHOW_FOR_MS = 30_000
_WAIT_S = 10


class DesktopNudges:
    """Posts to the desktop; plans come from a user timer that runs `boxside nudge`."""

    takes_plans = False

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Show a message now."""
        body = "\n".join(lines)
        try:
            if sys.platform.startswith("linux"):
                _post_linux(title, body)
            else:
                _post_plyer(title, body)
        except DeviceError as error:
            return Delivery(False, str(error), _DO)
        return Delivery(True)

    def arm(self, plan_json: str) -> Delivery:
        """Say that a desktop keeps no plan: a timer does."""
        return Delivery(False, "a desktop keeps no plan of its own", "Let a timer run `boxside nudge` (see README).")

    def memory(self) -> NudgeMemory:
        """Return nothing: no plan was kept, so none of it was posted."""
        return NudgeMemory()


def _post_plyer(title: str, body: str) -> None:
    from plyer import notification

    try:
        notification.notify(title=title, message=body, app_name="Boxside", timeout=_SHOW_FOR_MS // 1000)
    except Exception as error:  # plyer raises whatever the desktop's own parts raise
        raise DeviceError(f"the desktop refused the message: {error or type(error).__name__}") from error


def _post_linux(title: str, body: str) -> None:
    """Run notify-send, which waits for the service's answer."""
    if not os.environ.get("DBUS_SESSION_BUS_ADDRESS"):
        raise DeviceError("there is no message bus in this session (DBUS_SESSION_BUS_ADDRESS is not set)")
    program = shutil.which("notify-send")
    if program is None:
        raise DeviceError("notify-send is not installed (package libnotify-bin)")
    if "body-markup" in _abilities():
        body = html.escape(body, quote=False)
    # notify-send reads backslashes in the body as C does.
    words = [title, body.replace("\\", "\\\\")]
    command = [program, "--app-name=Boxside", f"--expire-time={_SHOW_FOR_MS}", "--", *words]
    try:
        done = subprocess.run(command, capture_output=True, text=True, errors="replace", timeout=_WAIT_S, check=False)
    except (OSError, ValueError, subprocess.TimeoutExpired) as error:
        raise DeviceError(f"notify-send did not run: {error}") from error
    if done.returncode:
        said = " ".join(done.stderr.split()) or f"status {done.returncode}"
        raise DeviceError(f"the desktop refused the message: {said}")


def _abilities() -> list[str]:
    """Return what the notification service can do, having made it answer; the bus starts it where it can.

    Raises
    ------
    DeviceError : if there is no bus, no service, or no answer
    """
    from jeepney import DBusAddress, new_method_call
    from jeepney.io.blocking import open_dbus_connection
    from jeepney.wrappers import DBusErrorResponse, unwrap_msg

    service = DBusAddress("/org/freedesktop/Notifications", bus_name=_SERVICE, interface=_SERVICE)
    try:
        with open_dbus_connection("SESSION") as bus:
            answer = bus.send_and_get_reply(new_method_call(service, "GetCapabilities"), timeout=_WAIT_S)
            return [str(one) for one in unwrap_msg(answer)[0]]
    except DBusErrorResponse as error:
        if error.name == _UNKNOWN:
            raise DeviceError("no notification service runs on this desktop") from error
        raise DeviceError(f"the notification service does not answer: {' '.join(str(error).split())}") from error
    except (OSError, EOFError, ValueError, RuntimeError) as error:
        raise DeviceError(f"the message bus does not answer: {error or type(error).__name__}") from error
