"""Timing: what a glue-up takes in time, whether the glue waits for it, and how long the whole takes.

`timed` and `slow` look at one stage, `windows` at any moves that might share a session, `critical` at the graph of
all steps, `shortest` at steps that share people and clamps.
"""

from assembly.timing.critical import Critical, critical
from assembly.timing.lateness import slow
from assembly.timing.project import Task, Timetable, shortest
from assembly.timing.session import Windows, windows
from assembly.timing.stage import timed

__all__ = ["Critical", "Task", "Timetable", "Windows", "critical", "shortest", "slow", "timed", "windows"]
