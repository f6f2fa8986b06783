"""
The browser that the site's tests need: finds Chromium, or installs it where it may, or says exactly what to install.

Run before the tests by `make test`. A browser test that could not run is not a pass, so without a browser this exits 1.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PACKAGES = ("chromium", "fonts-noto-core", "libatomic1")  # the last for the JavaScript engine that playwright carries


def chromium() -> str | None:
    """The path of a Chromium, or None."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


def engine_runs() -> bool:
    """Whether the JavaScript engine that playwright carries finds its libraries."""
    from playwright._impl._driver import compute_driver_executable

    return subprocess.run([str(compute_driver_executable()[0]), "--version"], capture_output=True, check=False).returncode == 0


def font() -> bool:
    """Whether the font is there that the figures' labels are measured with; others are wider or narrower."""
    return any(next(Path(folder).rglob("NotoSans-Regular*"), None) for folder in ("/usr/share/fonts", "/usr/local/share/fonts"))


def may_install() -> bool:
    """Whether this is a system of the Debian kind on which we are root."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install() -> bool:
    """Install Chromium by apt-get; whether it worked."""
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update", "-q"], ["install", "-y", "-q", "--no-install-recommends", *PACKAGES]):
        sys.stderr.write(f"tests: apt-get {' '.join(words)}\n")
        if subprocess.run(["apt-get", *words], env=environment, stdout=subprocess.DEVNULL, check=False).returncode:
            return False
    return True


def ready() -> bool:
    """Whether everything is there."""
    return chromium() is not None and font() and engine_runs()


def main() -> int:
    """0 where there is a browser now, 1 where there is none."""
    if ready() or (may_install() and install() and ready()):
        return 0
    sys.stderr.write(
        f"The site's tests need Chromium (one of {', '.join(NAMES)} in PATH), Noto Sans and libatomic; something is missing.\n"
        "Install it, then run this again:\n"
        "  Debian:  apt-get install --no-install-recommends chromium fonts-noto-core libatomic1\n"
        "  Fedora:  dnf install chromium google-noto-sans-fonts libatomic\n"
        "  others:  Chromium or Chrome from your system's packages, so that one of these names is in PATH\n"
    )
    return 1


if __name__ == "__main__":
    sys.exit(main())
