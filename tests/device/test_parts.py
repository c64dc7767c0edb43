"""Every device is complete: each part has what its port asks, in the same words."""

from __future__ import annotations

import dataclasses
import inspect
import subprocess
import sys
import time
import typing
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pytest
import tzlocal

from boxside.core.values.errors import DeviceError
from boxside.device import desktop, fake
from boxside.device.desktop.chance import SystemChance
from boxside.device.desktop.clock import SystemClock
from boxside.device.ports import Clock, Device, Nudges, kind_of

ROOT = Path(__file__).parents[2]
BUILDS: dict[str, Callable[[Path], Device]] = {
    "desktop": desktop.build,
    "fake": lambda folder: fake.build(folder, 1_780_000_000_000),
}


def methods(port: type) -> dict[str, inspect.Signature]:
    """Return what a port asks for."""
    found = {name: value for name, value in vars(port).items() if inspect.isfunction(value) and name[0] != "_"}
    return {name: inspect.signature(value) for name, value in found.items()}


def faults(part: object, port: type) -> list[str]:
    """Return where a part does not keep to its port: a method missing, or parameters that differ."""
    found = []
    for name, asked in methods(port).items():
        given = getattr(type(part), name, None)
        if not callable(given):
            found.append(f"{name} is missing")
            continue
        told = inspect.signature(given)
        if [(p.name, p.kind) for p in told.parameters.values()] != [
            (p.name, p.kind) for p in asked.parameters.values()
        ] or told.return_annotation != asked.return_annotation:
            found.append(f"{name}{told} is not {name}{asked}")
    return found


def ports() -> dict[str, type]:
    hints = typing.get_type_hints(Device)
    return {name: port for name, port in hints.items() if getattr(port, "_is_protocol", False)}


def test_a_device_has_the_parts_that_are_known() -> None:
    assert set(ports()) == {"clock", "chance", "files", "haptics", "light", "nudges", "photos"}
    assert {field.name for field in dataclasses.fields(Device)} == {*ports(), "data_dir", "name"}
    for port in ports().values():
        assert methods(port), port


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("name", ports())
def test_every_part_keeps_to_its_port(build: str, name: str, tmp_path: Path) -> None:
    device = BUILDS[build](tmp_path)
    assert device.data_dir == tmp_path
    assert faults(getattr(device, name), ports()[name]) == []


def test_a_part_that_lacks_something_is_found() -> None:
    """The control of the test above."""

    class Half:
        def now_ms(self, zone: str) -> int:
            return 0

    assert [text.split("(")[0] for text in faults(Half(), Clock)] == ["now_ms", "zone_name is missing"]
    assert faults(Half(), Nudges) == ["post is missing", "arm is missing", "memory is missing"]


def test_the_clock_tells_the_time_of_the_system() -> None:
    before = time.time_ns() // 1_000_000
    now = SystemClock().now_ms()
    assert before <= now <= time.time_ns() // 1_000_000


ZONES = [
    ("Europe/Paris", "Europe/Paris"),
    (":Australia/Lord_Howe", "Australia/Lord_Howe"),
    ("/usr/share/zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="TZ is the way of Unix")
@pytest.mark.parametrize(("said", "zone"), ZONES)
def test_the_zone_is_the_one_that_the_system_names(said: str, zone: str) -> None:
    if said.startswith("/") and not Path(said).exists():
        pytest.skip(f"{said} is missing: apt-get install -y tzdata")
    code = "from boxside.device.desktop.clock import SystemClock; print(SystemClock().zone_name())"
    place = {"TZ": said, "PYTHONPATH": str(ROOT / "mobileapp")}
    done = subprocess.run([sys.executable, "-c", code], env=place, capture_output=True, text=True, check=True)
    assert done.stdout == f"{zone}\n"


@pytest.mark.parametrize("name", [None, "", "local", "Nowhere/Here", "../etc/passwd", "CET-1CEST"])
def test_a_zone_that_is_none_is_utc(name: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tzlocal, "get_localzone_name", lambda: name)
    assert SystemClock().zone_name() == "UTC"


def test_zones_that_contradict_each_other_are_utc(monkeypatch: pytest.MonkeyPatch) -> None:
    def conflicting() -> str:
        raise ZoneInfoNotFoundError("Multiple conflicting time zone configurations found")

    monkeypatch.setattr(tzlocal, "get_localzone_name", conflicting)
    assert SystemClock().zone_name() == "UTC"


def test_the_zone_of_this_system_is_one() -> None:
    assert ZoneInfo(SystemClock().zone_name()).key


def test_chance_gives_as_many_bits_as_asked() -> None:
    drawn = [SystemChance().bits(62) for _ in range(200)]
    assert len(set(drawn)) == 200
    assert all(0 <= one < 2**62 for one in drawn)
    assert max(drawn).bit_length() > 56
    first, second, other = (fake.SeededChance(seed) for seed in ("a", "a", "b"))
    run = [first.bits(62) for _ in range(5)]
    assert run == [second.bits(62) for _ in range(5)] != [other.bits(62) for _ in range(5)]


def test_a_desktop_without_a_chooser_says_how_else_to_add_a_photo(tmp_path: Path) -> None:
    photos = desktop.build(tmp_path).photos
    chosen: list[str] = []
    with pytest.raises(Exception, match=r"Nothing was changed\. Use `boxside log BOX photo`"):
        photos.choose(chosen.append)
    assert isinstance(photos, desktop.DesktopPhotos)
    photos.chooser = lambda then: then("/photos/a.jpg")
    photos.choose(chosen.append)
    assert chosen == ["/photos/a.jpg"]


def test_the_fake_remembers_what_it_was_asked(tmp_path: Path) -> None:
    device = fake.build(tmp_path, 1_780_000_000_000)
    device.haptics.confirm()
    device.haptics.reject()
    device.light.keep_awake(True)
    assert device.nudges.post("B01 is due", ["larvae"]).handed_over
    assert device.nudges.arm("{}").handed_over
    assert isinstance(device.haptics, fake.FakeHaptics)
    assert isinstance(device.light, fake.FakeLight)
    assert isinstance(device.nudges, fake.FakeNudges)
    assert (device.haptics.felt, device.light.awake) == (["confirm", "reject"], True)
    assert (device.nudges.posted, device.nudges.plans) == ([("B01 is due", ("larvae",))], ["{}"])
    device.nudges.refuses = "nobody listens"
    for refused in (device.nudges.post("B02 is due", []), device.nudges.arm("{}")):
        assert (refused.handed_over, refused.why) == (False, "nobody listens")
    assert (len(device.nudges.posted), len(device.nudges.plans)) == (1, 1)


def test_a_desktop_saves_beside_what_is_there_and_shares_nothing(tmp_path: Path) -> None:
    files = desktop.build(tmp_path).files
    assert isinstance(files, desktop.DesktopFiles)
    (tmp_path / "labels.pdf").write_bytes(b"labels")
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "labels.pdf").write_bytes(b"somebody's")
    done: list[str] = []
    with pytest.raises(DeviceError, match=r"Nothing was changed\. The file is"):
        files.save_as(str(tmp_path / "labels.pdf"), "labels.pdf", done.append)
    files.folder_chooser = lambda then: then(str(tmp_path / "there"))
    files.save_as(str(tmp_path / "labels.pdf"), "labels.pdf", done.append)
    files.save_as(str(tmp_path / "labels.pdf"), "labels.pdf", done.append)
    assert [Path(one).name for one in done] == ["labels 2.pdf", "labels 3.pdf"]
    assert (tmp_path / "there" / "labels.pdf").read_bytes() == b"somebody's"
    assert Path(done[0]).read_bytes() == b"labels"
    with pytest.raises(DeviceError, match=r"no share sheet\. Nothing was changed\. Save the file"):
        files.share([str(tmp_path / "labels.pdf")], "application/pdf")


def test_a_desktop_takes_no_photo_and_says_what_else_to_do(tmp_path: Path) -> None:
    photos = desktop.build(tmp_path).photos
    assert not photos.has_camera
    with pytest.raises(DeviceError, match=r"Nothing was changed\. Choose one instead"):
        photos.take(print)


@pytest.mark.parametrize(
    ("names", "kind"),
    [
        (["labels.pdf"], "application/pdf"),
        (["a.csv", "b.CSV"], "text/csv"),
        (["away.pdf", "away.txt"], "*/*"),
        (["season"], "application/octet-stream"),
    ],
)
def test_the_kind_of_files_is_what_they_have_in_common(names: list[str], kind: str) -> None:
    assert kind_of(names) == kind
