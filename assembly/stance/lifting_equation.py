"""The revised lifting equation: what one person should lift with two hands, under good conditions.

Source: Waters, Putz-Anderson, Garg and Fine, Ergonomics 36 (1993) 749, and NIOSH publication 94-110 (1994).
The load constant and the multipliers for height, distance and reach were read in pages quoting it; the one for
twisting, and the limits beyond which nothing should be lifted, are from memory.
It holds for smooth lifts of firm loads by one person with both hands, not for long pieces, nor for two people,
nor in wind. Local rules on lifting come first.
"""

from __future__ import annotations

import math

LOAD = 23.0
"""Load constant, kg."""
NEAR, FAR = 250.0, 630.0
"""Hands nearer to the ankles than the first count as there, beyond the second nothing is lifted, mm."""
KNUCKLE, HIGHEST = 750.0, 1750.0
"""Height at which lifting is easiest, and above which nothing is lifted, mm."""
SHORT, LONGEST = 250.0, 1750.0
"""Lifts shorter than the first count as that, beyond the second nothing is lifted, mm."""
TWIST = math.radians(135.0)
"""Twisted further than this nothing is lifted, rad."""


def recommended_weight(reach: float, height: float, lift: float, twist: float = 0.0, pace: float = 1.0,
                       grip: float = 1.0) -> float:
    """Return the weight recommended as the most for one person, kg; 0 beyond the limits.

    `reach`: hands in front of the middle of the ankles, mm; `height`: hands above the floor at the start, mm;
    `lift`: how far up or down it goes, mm; `twist` of the body out of the front, rad; `pace`: multiplier for how
    often (1 for a lift every five minutes within an hour); `grip`: 1 good, 0.95 fair, 0.9 poor.
    Raises ValueError for a negative reach, lift or twist, or a multiplier outside 0 to 1.
    """
    if min(reach, lift, twist) < 0 or not (0 <= pace <= 1 and 0 <= grip <= 1):
        raise ValueError("reach, lift and twist are 0 or more, pace and grip lie between 0 and 1")
    if reach > FAR or not 0 <= height <= HIGHEST or lift > LONGEST or twist > TWIST:
        return 0.0
    out = NEAR / max(reach, NEAR)
    high = 1.0 - 0.0003 * abs(height - KNUCKLE)
    far = 0.82 + 45.0 / max(lift, SHORT)
    turned = 1.0 - 0.0032 * math.degrees(twist)
    return LOAD * out * high * far * turned * pace * grip
