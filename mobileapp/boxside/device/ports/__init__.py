"""The ports: one Protocol a part, with the rules that every platform keeps."""

from boxside.device.ports.chance import Chance
from boxside.device.ports.clock import Clock
from boxside.device.ports.device import Device
from boxside.device.ports.files import Files, kind_of
from boxside.device.ports.haptics import Haptics
from boxside.device.ports.light import Light
from boxside.device.ports.nudges import Delivery, NudgeMemory, Nudges
from boxside.device.ports.photos import Photos

__all__ = [
    "Chance",
    "Clock",
    "Delivery",
    "Device",
    "Files",
    "Haptics",
    "Light",
    "NudgeMemory",
    "Nudges",
    "Photos",
    "kind_of",
]
