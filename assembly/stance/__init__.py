"""Stance: how the work lies while it is glued, whether it stays there, and who can lift what of it.

Work lies as it will stand, or on one of the sides it can lie on, so that it does not fall at any moment between the
first piece laid down and the last, and every piece comes from the free side. Masses are those of wood at 12 %
moisture; wet or treated wood is heavier. Rules of thumb, not a licence to lift: local rules on lifting come first.
"""

from assembly.stance.lifts import lifts, people_for
from assembly.stance.rest import rested

__all__ = ["lifts", "people_for", "rested"]
