"""The blocks of README.md that are made, not written: `python -m tests.readme` makes them anew."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from assembly.rehearsal import rehearse
from exports.pictures import picture_files
from exports.prose import plain
from exports.report import CAUTION, only_findings, report
from model.reader import read

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
DESIGN = ROOT / "examples" / "net_rack.toml"
GATE, MEASURED = (ROOT / "examples" / name for name in ("orchard_gate.toml", "orchard_gate_measured.csv"))
SOUND, MISTAKEN = "step = 260", "step = 80"
"""The line of the design that the README's mistake changes, and what it changes it to."""


def said_of(text: str) -> str:
    """Return the report on a design given as text."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / DESIGN.name
        file.write_text(text, encoding="utf-8")
        rehearsal = rehearse(read(file))
    return plain(report(rehearsal, picture_files(rehearsal)))


def first_finding(file: Path, sheet: Path) -> str:
    """Return the finding that comes first on a design with its parts as a sheet has them."""
    said = plain(only_findings(rehearse(read(file, measured=sheet))))
    return said[:said.index("\n\n")] + "\n"


def made() -> dict[str, str]:
    """Return what belongs in each marked block of the README."""
    design = DESIGN.read_text(encoding="utf-8")
    sound, mistaken = said_of(design), said_of(design.replace(SOUND, MISTAKEN))
    first = mistaken.index("1. STOP  ")
    return {
        "design": design,
        "report": sound[:sound.index(CAUTION[:40])].rstrip() + "\n",
        "mistake": mistaken[first:mistaken.index("2. STOP  ")],
        "measured": first_finding(GATE, MEASURED),
    }


def block(text: str, mark: str) -> re.Match[str]:
    """Return the marked block of the README: its opening, and its content."""
    found = re.search(rf"(<!-- {mark} -->\n```\w+\n)(.*?)(?=```)", text, re.DOTALL)
    assert found is not None, f"README.md has no block {mark}"
    return found


def main() -> None:
    """Write the blocks into the README."""
    text = README.read_text(encoding="utf-8")
    for mark, content in made().items():
        found = block(text, mark)
        text = text[:found.start(2)] + content + text[found.end(2):]
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
