"""The iPhone's nudges: the same plan, through UNUserNotificationCenter. Written, tested with a fake; never run on one.

There is no `build` here yet: an iPhone app needs a Mac with Xcode, and kivy-ios (2025.5) has no recipe for OpenCV. The
parts that are not here (clock, haptics, photos) are small; this one is here because it decides how plans are made.
"""

from boxside.device.ios.nudges import AppleNudges

__all__ = ["AppleNudges"]
