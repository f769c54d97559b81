"""Instances: structures of a wanted size of which it is known beforehand whether they can be put together.

Each kind comes sound, and spoilt by one lock whose pieces are known because they were put there:
a peg with a head at both ends through the two pieces of a joint, a rail between two sides that
are one piece with their sill, a closed shell. What can be put together is known by how it is
made: posts and rails one after another, boxes dropped into each other, rings drawn shut.
"""

from tests.instances.kinds import KINDS, Instance, instances
from tests.instances.verdict import Verdict, judged

__all__ = ["KINDS", "Instance", "Verdict", "instances", "judged"]
