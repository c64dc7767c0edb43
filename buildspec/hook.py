"""python-for-android's hook: puts our receivers and our provider into the manifest that it has written.

No option of the spec can declare either. It runs in the folder of the Android project, after rendering and before
Gradle, possibly twice; what is there already is not put in again.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

MANIFEST = Path("src/main/AndroidManifest.xml")
MARK = "org.boxside.nudge.NudgeReceiver"
PARTS = """
        <!-- Not exported: our own pending intents and the system reach them, no other app does. -->
        <receiver android:name="org.boxside.nudge.NudgeReceiver" android:exported="false" />
        <receiver android:name="org.boxside.nudge.SystemReceiver" android:exported="false">
            <intent-filter>
                <action android:name="android.intent.action.BOOT_COMPLETED" />
                <action android:name="android.intent.action.MY_PACKAGE_REPLACED" />
                <action android:name="android.intent.action.TIME_SET" />
                <action android:name="android.intent.action.TIMEZONE_CHANGED" />
            </intent-filter>
        </receiver>
        <!-- Lends one file at a time to an app that was asked for something. -->
        <provider android:name="org.boxside.files.OwnFiles" android:authorities="${applicationId}.files"
            android:exported="false" android:grantUriPermissions="true" />
"""


def after_apk_build(toolchain: Any) -> None:
    """Put the parts in; RuntimeError where the manifest is not as expected."""
    text = MANIFEST.read_text(encoding="utf-8")
    if MARK in text:
        return
    head, end, tail = text.rpartition("</application>")
    if not end:
        raise RuntimeError(f"{MANIFEST.resolve()} has no </application>; nothing was put in.")
    MANIFEST.write_text(f"{head.rstrip()}\n{PARTS}    {end}{tail}", encoding="utf-8")
