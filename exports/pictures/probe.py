"""Can pictures be drawn here? Asked in a process of its own, since headless drawing may end it without a word."""

from __future__ import annotations

import os
import subprocess
import sys
from ctypes.util import find_library
from functools import cache

REMEDY = "apt-get install -y libegl1 libgl1-mesa-dri"
"""What lets pictures be drawn on a Debian machine without a screen."""
PATIENCE = 90.0
"""A probe that takes longer than this has failed, seconds."""

_QUESTION = """
import pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=(64, 48), lighting="none")
plotter.set_background("black")
plotter.add_mesh(pyvista.Cube(), color="white", lighting=False)
image = plotter.screenshot(None, return_img=True)
raise SystemExit(0 if image.max() > 200 and image.min() < 50 else 3)
"""


def quiet_surroundings() -> None:
    """Have VTK draw off the screen at once, instead of complaining that there is none.

    Has to come before VTK's drawing modules are imported. A choice already made is kept.
    """
    headless = not os.environ.get("DISPLAY")
    if sys.platform.startswith("linux") and (headless or find_library("EGL")):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


@cache
def can_draw() -> str | None:
    """Return None when pictures can be drawn here, else the exact line that would help."""
    return None if _drew([sys.executable, "-c", _QUESTION]) else REMEDY


def _drew(command: list[str]) -> bool:
    """Return whether a drawing process came to its end with a picture."""
    quiet_surroundings()
    try:
        done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, timeout=PATIENCE, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0
