"""Everything dryfit can raise on purpose: one base, few children."""

from __future__ import annotations

from dataclasses import dataclass


class DryfitError(Exception):
    """Base of every error that a person may see."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input file.

    `line` is 1-based, or None where the file as a whole is meant; `key` is the dotted
    path of the key; `value` what stands there; `accepted` what would be accepted;
    `nearest` the name most likely meant, where a name was misspelt.
    """

    message: str
    line: int | None = None
    key: str = ""
    value: str = ""
    accepted: str = ""
    nearest: str = ""


class DesignError(DryfitError):
    """A design that cannot be used: all its problems at once, in file order."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = sorted(problems, key=lambda p: (p.line is None, p.line or 0))
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """Return one line a problem, ready to print."""
        return [_line(self.file, p) for p in self.problems]


class JointError(DryfitError):
    """A joint that cannot be cut: which size, its value, what would be accepted."""

    def __init__(self, joint: str, key: str, value: object, accepted: str) -> None:
        self.joint, self.key, self.value, self.accepted = joint, key, value, accepted
        super().__init__(f"joint {joint}: {key} = {value}; accepted: {accepted}")


class DraftError(DryfitError):
    """A family's option that gives no structure: which option, its value, what would be accepted."""

    def __init__(self, key: str, value: object, accepted: str) -> None:
        self.key, self.value, self.accepted = key, value, accepted
        super().__init__(f"{key} = {value}; accepted: {accepted}")


class MeasureError(DryfitError):
    """A measurement that no piece can have: of which part, which key, its value, what would be accepted.

    `joint` names the joint whose cut was measured, "" where it is the part itself.
    """

    def __init__(self, part: str, key: str, value: object, accepted: str, joint: str = "") -> None:
        self.part, self.key, self.value, self.accepted, self.joint = part, key, value, accepted, joint
        of = f"{part}, joint {joint}" if joint else part
        super().__init__(f"as cut, {of}: {key} = {value}; accepted: {accepted}")


class SolidError(DryfitError):
    """A solid that is not one: open, self-crossing, empty or broken by a cut."""


def _line(file: str, p: Problem) -> str:
    text = f"{file}:{p.line}: " if p.line is not None else f"{file}: "
    text += f"{p.key}: " if p.key else ""
    text += p.message
    text += f" (found {p.value})" if p.value else ""
    text += f"; accepted: {p.accepted}" if p.accepted else ""
    text += f"; did you mean {p.nearest!r}?" if p.nearest else ""
    return text
