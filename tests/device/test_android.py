"""The phone's parts over a fake phone: what is asked of Java, and what becomes of its answers."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from boxside.app.desk import Desk
from boxside.core.values.errors import DeviceError
from boxside.core.values.nudge import LaterMove, Posted
from boxside.device import android
from boxside.device.android import intents
from boxside.device.android.alarms import AndroidNudges
from boxside.device.android.files import AndroidFiles
from tests.device.droid import Droid, JavaException, Thing
from tests.device.test_parts import faults, ports

ROOT = Path(__file__).parents[2]
PLAN = '{"digests":[{"id":"2026-05-04.1"}],"version":1}'
RESULT_OK, CANCELLED = -1, 0


@pytest.fixture
def droid(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Droid:
    (tmp_path / "files").mkdir()
    made = Droid(tmp_path / "files")
    made.install(monkeypatch)
    return made


def level(droid: Droid, n: int) -> None:
    droid.fields["android.os.Build$VERSION.SDK_INT"] = n


def test_the_package_loads_where_there_is_no_java() -> None:
    code = "import sys, boxside.device.android.files, boxside.device.android.opened, boxside.device.ios\n"
    code += "assert not {'jnius', 'android', 'pyobjus', 'kivy'} & set(sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": str(ROOT / "mobileapp")})


def test_data_lies_outside_what_an_update_deletes(droid: Droid) -> None:
    assert android.default_data_dir() == droid.files / "boxside"
    device = android.build(android.default_data_dir())
    assert (device.name, device.data_dir) == ("android", droid.files / "boxside")
    for wrong in (droid.files / "app", droid.files / "app" / "data"):
        with pytest.raises(DeviceError, match="deleted at every update"):
            android.build(wrong)


def test_zone_comes_from_java_and_an_unknown_one_is_utc(droid: Droid) -> None:
    clock = android.build(droid.files / "boxside").clock
    assert clock.zone_name() == "Europe/Berlin"
    for odd in ("GMT+02:00", "", "../etc"):
        droid.answers["java.util.TimeZone.getDefault().getID"] = odd
        assert clock.zone_name() == "UTC"


def test_haptics_use_what_the_phone_has(droid: Droid) -> None:
    haptics = android.build(droid.files / "boxside").haptics
    haptics.confirm()
    haptics.reject()
    level(droid, 28)
    haptics.confirm()
    haptics.reject()
    assert droid.said("performHapticFeedback") == [(16,), (17,), (1,), (0,)]


def test_light_keeps_the_screen_on_and_off_again(droid: Droid) -> None:
    light = android.build(droid.files / "boxside").light
    light.keep_awake(True)
    light.keep_awake(False)
    assert (droid.said("addFlags"), droid.said("clearFlags")) == ([(0x80,)], [(0x80,)])


def test_plan_is_written_before_java_is_called(droid: Droid) -> None:
    seen = []

    def sync(_: Any) -> str:
        seen.append((droid.files / "boxside-nudges" / "plan.json").read_text())
        return ""

    droid.answers["org.boxside.nudge.Nudges.sync"] = sync
    nudges = AndroidNudges(droid.files)
    assert nudges.arm(PLAN).handed_over
    assert nudges.arm(PLAN.replace(".1", ".2")).handed_over
    assert seen == [PLAN, PLAN.replace(".1", ".2")]
    assert [path.name for path in (droid.files / "boxside-nudges").iterdir()] == ["plan.json"]


def test_permission_is_asked_once_and_only_when_there_is_something_to_remind_of(droid: Droid) -> None:
    droid.answers["org.boxside.nudge.Nudges.areAllowed"] = lambda _: False
    nudges = AndroidNudges(droid.files)
    assert nudges.arm('{"digests":[]}').handed_over
    assert droid.said("requestPermissions") == []
    assert nudges.arm(PLAN).handed_over
    assert droid.said("requestPermissions") == [(["android.permission.POST_NOTIFICATIONS"], 7301)]
    refused = AndroidNudges(droid.files).arm(PLAN)
    assert (refused.handed_over, refused.why) == (False, "notifications are off for Boxside")
    assert len(droid.said("requestPermissions")) == 1


def test_before_android_13_nothing_is_asked(droid: Droid) -> None:
    level(droid, 32)
    droid.answers["org.boxside.nudge.Nudges.areAllowed"] = lambda _: False
    assert not AndroidNudges(droid.files).arm(PLAN).handed_over
    assert droid.said("requestPermissions") == []


def test_what_java_refuses_is_said(droid: Droid) -> None:
    droid.answers["org.boxside.nudge.Nudges.sync"] = "the plan is of version 9"
    delivery = AndroidNudges(droid.files).arm(PLAN)
    assert (delivery.handed_over, delivery.why) == (False, "the plan is of version 9")
    droid.answers["org.boxside.nudge.Nudges.sync"] = JavaException("no such class")
    with pytest.raises(DeviceError, match=r"no such class.*Nothing was changed"):
        AndroidNudges(droid.files).arm(PLAN)


def test_memory_is_what_the_receivers_wrote(droid: Droid) -> None:
    nudges = AndroidNudges(droid.files)
    assert nudges.memory().posted == ()
    (droid.files / "boxside-nudges").mkdir()
    path = droid.files / "boxside-nudges" / "memory.json"
    path.write_text(
        '{"version":1,"applied":"x","posted":[{"digest":"2026-05-04.1","at_ms":5,"showing":true}],'
        '"raised":{},"later":[{"digest":"2026-05-04.1","asked_ms":9,"minutes":60}]}'
    )
    found = nudges.memory()
    assert found.posted == (Posted("2026-05-04.1", 5, showing=True),)
    assert found.later == (LaterMove("2026-05-04.1", 9, 60),)
    for torn in ("", "{", "[]", '{"posted":[{}],"later":[]}', '{"posted":5,"later":[]}'):
        path.write_text(torn)
        assert nudges.memory().posted == ()


def answer(droid: Droid, result: int, data: Any, nth: int = -1) -> None:
    """Have the other app answer the n-th question."""
    code = droid.said("startActivityForResult")[nth][1]
    droid.bound["on_activity_result"](code, result, data)


def test_a_chosen_photo_is_copied_and_a_cancelled_one_is_not(droid: Droid) -> None:
    photos = android.build(droid.files / "boxside").photos
    got: list[str] = []
    droid.lends_file(b"a photo")
    photos.choose(got.append)
    answer(droid, CANCELLED, None)
    assert got == []
    photos.choose(got.append)
    answer(droid, RESULT_OK, Thing(droid, "data"))
    assert Path(got[0]).read_bytes() == b"a photo"
    answer(droid, RESULT_OK, Thing(droid, "data"))
    assert len(got) == 1, "an answer that comes twice counts once"
    droid.bound["on_activity_result"](1, RESULT_OK, None)  # somebody else's


def test_the_camera_writes_where_we_lend_and_an_empty_photo_is_told(droid: Droid) -> None:
    photos: Any = android.build(droid.files / "boxside").photos
    got: list[str] = []
    told: list[str] = []
    photos.answers.tell = lambda error: told.append(str(error))
    photos.take(got.append)
    (address,) = droid.said("Uri.parse")[-1]
    assert address == "content://org.boxside.boxside.files/taken-1.jpg"
    (droid.files.parent / "cache" / "lent" / "taken-1.jpg").write_bytes(b"photo")
    answer(droid, RESULT_OK, None)
    assert Path(got[0]).read_bytes() == b"photo"
    photos.take(got.append)
    answer(droid, RESULT_OK, None)
    assert (len(got), len(told)) == (1, 1)


def test_a_photo_taken_while_android_had_ended_the_app_is_told_once(droid: Droid) -> None:
    photos: Any = android.build(droid.files / "boxside").photos
    lent = droid.files.parent / "cache" / "lent"
    photos.take(print)
    assert photos.left_over() == "", "the camera has not written yet"
    (lent / "taken-1.jpg").write_bytes(b"photo")
    again: Any = android.build(droid.files / "boxside").photos
    assert Path(again.left_over()).read_bytes() == b"photo"
    assert again.left_over() == ""


def test_no_app_for_it_is_said(droid: Droid) -> None:
    droid.answers[f"{droid.activity}.startActivityForResult"] = JavaException("ActivityNotFoundException")
    with pytest.raises(DeviceError, match="No camera app on this phone"):
        android.build(droid.files / "boxside").photos.take(print)  # type: ignore[attr-defined]


def test_a_foreign_name_does_not_lead_out_of_the_folder(droid: Droid) -> None:
    files, got = AndroidFiles(intents.Answers()), []
    resolver = f"{droid.activity}.getContentResolver()"
    droid.answers[f"{resolver}.query().moveToFirst"] = True
    for name in ("../../files/boxside/log.db", "..", "/etc/passwd", "a\x00b.csv", "x" * 300 + ".csv"):
        droid.answers[f"{resolver}.query().getString"] = name
        droid.lends_file(b"rows")
        files.choose(got.append)
        answer(droid, RESULT_OK, Thing(droid, "data"))
    folder = droid.files.parent / "cache" / "lent"
    assert {Path(path).parent for path in got} == {folder}
    assert all(len(Path(path).name) < 100 for path in got)


def test_share_lends_a_copy_with_one_permission(droid: Droid, tmp_path: Path) -> None:
    season = tmp_path / "season.zip"
    season.write_bytes(b"zip")
    AndroidFiles(intents.Answers()).share([str(season)], "application/zip")
    assert (droid.files.parent / "cache" / "lent" / "season.zip").read_bytes() == b"zip"
    assert droid.said("addFlags") == [(1,)]
    assert droid.said("Uri.parse")[-1] == ("content://org.boxside.boxside.files/season.zip",)
    assert len(droid.said("startActivity")) == 1


def test_a_tap_on_a_nudge_names_round_and_nothing_else_is_followed(droid: Droid) -> None:
    got: list[str] = []
    AndroidNudges(droid.files).on_tap(got.append)
    for said in ("round", "settings", 7):
        droid.answers["tap.getStringExtra"] = said
        droid.bound["on_new_intent"](Thing(droid, "tap"))
    droid.bound["on_new_intent"](None)
    assert got == ["round"]


def test_several_files_are_shared_at_once(droid: Droid, tmp_path: Path) -> None:
    paths = [tmp_path / name for name in ("away.pdf", "away for.txt")]
    for path in paths:
        path.write_bytes(b"x")
    AndroidFiles(intents.Answers()).share([str(path) for path in paths], "*/*")
    assert [address.rpartition("/")[2] for (address,) in droid.said("Uri.parse")] == ["away.pdf", "away%20for.txt"]
    assert len(droid.said("putParcelableArrayListExtra")) == 1
    assert droid.said("setType") == [("*/*",)]


def test_nobody_who_takes_a_file_is_said(droid: Droid, tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"x")
    droid.answers[f"{droid.activity}.startActivity"] = JavaException("ActivityNotFoundException")
    with pytest.raises(DeviceError, match=r"Nothing on this phone takes the file.*Save it instead"):
        AndroidFiles(intents.Answers()).share([str(tmp_path / "a.pdf")], "application/pdf")


def test_a_file_is_saved_where_the_person_says(droid: Droid, tmp_path: Path) -> None:
    source, read_end, write_end = tmp_path / "labels.pdf", *os.pipe()
    source.write_bytes(b"labels")
    answers, got = intents.Answers(), []
    works: list[str] = []

    def work(call: Any, then: Any) -> None:
        works.append("copied away from the thread that draws")
        call()
        then()

    answers.work = work
    AndroidFiles(answers).save_as(str(source), "labels.pdf", got.append)
    assert ("application/pdf",) in droid.said("setType")
    assert got == []
    resolver = f"{droid.activity}.getContentResolver()"
    droid.answers[f"{resolver}.openFileDescriptor().detachFd"] = write_end
    droid.answers[f"{resolver}.query().moveToFirst"] = True
    droid.answers[f"{resolver}.query().getString"] = "labels (1).pdf"
    answer(droid, RESULT_OK, Thing(droid, "data"))
    with os.fdopen(read_end, "rb") as saved:
        assert saved.read() == b"labels"
    assert (got, len(works)) == (["labels (1).pdf"], 1)
    assert droid.said("openFileDescriptor")[-1][1] == "wt"


def test_every_part_of_the_phone_keeps_to_its_port(droid: Droid) -> None:
    device = android.build(droid.files / "boxside")
    for name, port in ports().items():
        assert faults(getattr(device, name), port) == [], name
    assert (device.files.has_share, device.photos.has_camera) == (True, True)


def test_the_worker_says_goodbye_to_java(droid: Droid, monkeypatch: pytest.MonkeyPatch) -> None:
    gone: list[bool] = []
    monkeypatch.setattr(sys.modules["jnius"], "detach", lambda: gone.append(True), raising=False)
    desk = Desk(None, lambda call: call())
    desk.close(AndroidNudges(droid.files).leave_thread)
    assert gone == [True]
