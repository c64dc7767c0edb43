"""Haptics through the view: needs no permission and keeps to the phone's own setting of touch feedback."""

from __future__ import annotations

from boxside.device.android.jni import activity, api_level, on_ui_thread

# android.view.HapticFeedbackConstants: CONFIRM and REJECT came with Android 11 (API 30).
_CONFIRM, _REJECT = 16, 17
_VIRTUAL_KEY, _LONG_PRESS = 1, 0
_HAS_CONFIRM = 30


class AndroidHaptics:
    """A short touch for a save, another for a refusal."""

    def confirm(self) -> None:
        """Tell the hand that it is saved."""
        _feel(_CONFIRM if api_level() >= _HAS_CONFIRM else _VIRTUAL_KEY)

    def reject(self) -> None:
        """Tell the hand that it is not saved."""
        _feel(_REJECT if api_level() >= _HAS_CONFIRM else _LONG_PRESS)


def _feel(kind: int) -> None:
    def feel() -> None:
        activity().getWindow().getDecorView().performHapticFeedback(kind)

    on_ui_thread(feel)
