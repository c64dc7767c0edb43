"""A desktop for tests: a notification service of their own on this session's bus, and one command beside it.

`python desk.py MODE COMMAND...` runs the command and prints one JSON line: its status, output and errors, and every
message that arrived. MODE is `takes` (shows what it is sent), `markup` (the same, and reads the body as markup),
`refuses` (answers with an error), `none` (no service) or `serve FILE` (only the service, for a bus that starts it:
what arrives goes to the file, and it ends with the first message).
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

from jeepney import HeaderFields, MatchRule, Message, new_error, new_method_return
from jeepney.bus_messages import message_bus
from jeepney.io.blocking import DBusConnection, open_dbus_connection

NAME = "org.freedesktop.Notifications"


class Service:
    """org.freedesktop.Notifications: keeps what it is sent."""

    def __init__(self, mode: str) -> None:
        self.mode = mode
        self.shown: list[dict[str, Any]] = []
        self.bus: DBusConnection = open_dbus_connection("SESSION")
        # A bus that starts this service hands it the waiting calls before it confirms the name.
        self.calls = self.bus.filter(MatchRule(type="method_call"), bufsize=100).queue
        self.bus.send_and_get_reply(message_bus.RequestName(NAME))

    def run(self) -> None:
        while True:
            self.answer_next()

    def answer_next(self) -> None:
        self.answer(self.bus.recv_until_filtered(self.calls))

    def answer(self, message: Message) -> None:
        member = message.header.fields.get(HeaderFields.member)
        if member == "Notify":
            self.bus.send(self.notify(message))
        elif member == "GetCapabilities":
            self.bus.send(new_method_return(message, "as", (["body", "body-markup"][: 1 + (self.mode == "markup")],)))
        elif member == "GetServerInformation":
            self.bus.send(new_method_return(message, "ssss", ("desk", "tests", "1", "1.2")))
        else:
            self.bus.send(new_error(message, "org.freedesktop.DBus.Error.UnknownMethod"))

    def notify(self, message: Message) -> Message:
        if self.mode == "refuses":
            return new_error(message, f"{NAME}.Error.ExcessNotificationGeneration", "s", ("too many messages",))
        app, replaces, icon, title, body, actions, _, timeout_ms = message.body
        shown = {"app": app, "replaces": replaces, "icon": icon, "title": title, "body": body, "actions": actions}
        self.shown.append({**shown, "timeout_ms": timeout_ms})
        return new_method_return(message, "u", (len(self.shown),))


def serve(path: Path) -> None:
    service = Service("takes")
    while not service.shown:
        service.answer_next()
    path.write_text(json.dumps(service.shown), encoding="utf-8")


def main(mode: str, command: list[str]) -> None:
    if mode == "serve":
        serve(Path(command[0]))
        return
    service = None if mode == "none" else Service(mode)
    if service:
        threading.Thread(target=service.run, daemon=True).start()
    # The service keeps a message before it answers, and the command ends after the answer: nothing to wait for.
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    shown = service.shown if service else []
    print(json.dumps({"status": done.returncode, "out": done.stdout, "err": done.stderr, "shown": shown}))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
