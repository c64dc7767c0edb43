"""The screen's light, and how much of the screen the phone's own bars cover."""

from __future__ import annotations

from boxside.device.android.jni import activity, api_level, java, on_ui_thread

# android.view.WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON
_KEEP_ON = 0x80
_HAS_TYPES = 30


class AndroidLight:
    """Keeps the screen on during a round."""

    def keep_awake(self, on: bool) -> None:
        """Keep the screen on, or let the phone decide again."""

        def change() -> None:
            window = activity().getWindow()
            if on:
                window.addFlags(_KEEP_ON)
            else:
                window.clearFlags(_KEEP_ON)

        on_ui_thread(change)

    def insets_px(self) -> tuple[int, int]:
        """Return how many pixels the phone's bars cover at top and bottom; 0 before the window is there.

        From target API 35 on every app is drawn below the bars.
        """
        insets = activity().getWindow().getDecorView().getRootWindowInsets()
        if insets is None:
            return 0, 0
        if api_level() < _HAS_TYPES:
            return int(insets.getSystemWindowInsetTop()), int(insets.getSystemWindowInsetBottom())
        kinds = java("android.view.WindowInsets$Type")
        bars = insets.getInsets(kinds.systemBars() | kinds.displayCutout())
        return int(bars.top), int(bars.bottom)
