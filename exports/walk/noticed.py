"""Which findings show at which step: each once, where it is met first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from assembly.findings import Finding


class Noticed:
    """The findings by what they are about, and which of them a step has shown; numbers count from 0."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self._findings = findings
        self._seen: set[int] = set()
        self._of: dict[tuple[str, str], list[int]] = {}
        for k, found in enumerate(findings):
            for joint in found.joints:
                self._of.setdefault(("joint", joint), []).append(k)
            if not found.joints:
                for part in found.parts[:1]:
                    self._of.setdefault(("part", part), []).append(k)
            if found.stage:
                self._of.setdefault(("stage", found.stage), []).append(k)

    def closing(self, joints: Iterable[str], parts: Iterable[str], stage: str) -> list[int]:
        """Return what shows first when these joints close and these parts come home in a stage."""
        own = [k for name in joints for k in self._of.get(("joint", name), ())]
        own += [k for name in parts for k in self._of.get(("part", name), ())]
        return self._first(k for k in own if self._findings[k].stage in ("", stage))

    def of_stage(self, stage: str, shows: Callable[[Finding], bool]) -> list[int]:
        """Return what shows first in a stage of those that are about it."""
        return self._first(k for k in self._of.get(("stage", stage), ()) if shows(self._findings[k]))

    def left(self) -> list[int]:
        """Return what no step has shown: it shows at the end."""
        return self._first(range(len(self._findings)))

    def _first(self, some: Iterable[int]) -> list[int]:
        fresh = sorted({k for k in some if k not in self._seen})
        self._seen.update(fresh)
        return fresh
