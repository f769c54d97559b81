"""Make the walk page of a design: `python -m tests.browser.make FILE -o walk.html [--pictures]`.

The bundle is made anew first when its sources have changed.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from assembly.rehearsal import Rehearsal, rehearse
from exports.page import hook
from exports.pictures import write_pictures
from exports.walk import walk_data
from exports.walk.document import document
from exports.walk.html import bundle, page
from model.reader import read

PAGE = Path(hook.__file__).parent


def fresh_bundle() -> None:
    """Make the bundle as the page's sources are now. Raises PageError."""
    hook.libraries(PAGE, checks=True)
    hook.bundle(PAGE)
    bundle.cache_clear()


def walked(rehearsal: Rehearsal, pictures: bool = False) -> str:
    """Return the page of a rehearsal; drawing pictures takes half a minute."""
    data = walk_data(rehearsal)
    with tempfile.TemporaryDirectory() as folder:
        drawn = write_pictures(rehearsal, Path(folder)) if pictures else []
        return page(data, document(rehearsal, {p.name: p.read_bytes() for p in drawn if p.suffix == ".png"}, data))


def main() -> None:
    """Write the page and say how large it is."""
    given = argparse.ArgumentParser(prog="python -m tests.browser.make", description=__doc__)
    given.add_argument("file", type=Path)
    given.add_argument("-o", dest="to", type=Path, required=True)
    given.add_argument("--pictures", action="store_true")
    asked = given.parse_args()
    fresh_bundle()
    asked.to.parent.mkdir(parents=True, exist_ok=True)
    asked.to.write_text(walked(rehearse(read(asked.file)), asked.pictures), encoding="utf-8", newline="\n")
    print(f"{asked.to}: {asked.to.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
