"""Where python-for-android begins."""

from boxside.app.phone import run

if __name__ == "__main__":
    run()
