"""What cards say that belong to no log: round an obstacle, the cord, angles by hand, when you are lost."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import AzimuthUnit
from pacewright.wording.norths import say_step

BOX_STEPS: Final = (
    "1. Stop at the obstacle and keep your count so far in mind: it STOPS here.",
    "2. Turn square to the leg, right or left, and count OUT until the way ahead is clear. That is the offset.",
    "3. Turn back to the leg's own azimuth and walk past it: the leg's count RUNS ON while you walk past.",
    "4. Turn square to the other side and count BACK exactly the offset. This count does not add either.",
    "5. Turn to the leg's azimuth and walk on, the count running on.",
    "In the log: [box right 40] or [box left 40], the offset in the unit of the log; the count of the row is "
    "forward progress alone.",
    "Beyond about 200 paces out a box goes astray: end the leg at the obstacle and start new legs round it.",
)
CORD_TIE: Final = (
    "Take about 60 cm of cord, doubled, and 13 beads that grip it: each must stay where it is slid.",
    "Loop at the top. Below it four beads, then a knot: the upper beads. Below the knot nine beads, then a knot: "
    "the lower beads. Tie it where the hand finds it without looking, on the right way up.",
    "Start with all beads up. At every hundred slide one lower bead down. At the tenth hundred push the nine up "
    "again and slide one upper bead down: a thousand. After four upper beads and nine lower ones the next "
    "hundred is five thousand: push all up, and cut a notch.",
    "Slide the bead the moment the hundred is full, before you look at anything else.",
)
CORD_CUSTOMS: Final = (
    "Two customs: say which is yours, and never change it on a walk.",
    "A bead a hundred paces: the cord shows paces, as the log does. Way back, leg by leg and plan are in paces.",
    "A bead a hundred metres: slide one every time your own pace count to 100 m is full; the cord shows metres.",
)
HAND_HOW: Final = (
    "Stand 10 m from a wall, arm out, and let somebody mark what the hand covers. Mils = 102 x metres covered "
    "(of 6400 to the circle). Each hand is its own: write yours beside the usual figure.",
    "Distance in metres = 1000 x size in metres / mils. A man of 1.8 m that fills 30 mils stands 60 m off.",
)
HAND_ROWS: Final = (
    ("one finger", "30"),
    ("two fingers", "70"),
    ("three fingers", "100"),
    ("fist, knuckles", "180"),
    ("hand spread, thumb to little finger", "300"),
)
"""At arm's length, in mils of 6400 to the circle: common practice, from memory."""
BACK_RULE: Final = "Back azimuth: below {half} add {half}, from {half} on take {half} away. The same line, read from its other end."
LOST_STEPS: Final = (
    "1. STOP at once. Sit down, drink, eat. Not one step until step 5.",
    "2. Write down the time, and what you read and counted since the last place you were sure of.",
    "3. Look round: water, ridge, road, noise, the sun. Take a bearing to anything that you know, and note it.",
    "4. Daylight left, and strength? With less light than the way needs, stay where you are.",
    "5. If the log is whole: back along the last leg, by its back azimuth and its count, to the last sure place. "
    "Mark where you sit before you leave it.",
    "6. Not there at the count where you must stop? Search in a widening square from that spot. Come back to the mark.",
    "7. Else walk only to a line that you cannot miss and that leads to people, on the azimuth noted before the walk.",
    "8. Hurt, dark, fog or ice: stay. Keep warm and dry, be seen and heard.",
)
LOST_SIGNALS: Final = (
    "Signal of distress in the mountains: six signs in a minute (light, whistle, cloth), a minute's rest, again. "
    "Answer: three in a minute. Elsewhere three of anything, again and again.",
)
LOST_BLANKS: Final = (
    ("The line that I cannot miss", "Azimuth to it"),
    ("Emergency number here", "Who knows my way"),
    ("They raise the alarm at", "Phone is on at"),
)
OVERDUE: Final = (
    "If we are not back by the latest time: 1. call our phones; 2. call the emergency number; 3. read them this "
    "card: who, from where to where, by which way, since when, in what clothes and with what. Do not go to look for us alone."
)
TELL: Final = (
    "Say it slowly, twice, and let them read it back:",
    "1. Where: the position above, and which form it is in. How sure it is.",
    "2. Who: names and how many, ages, your telephone number and how full the battery is.",
    "3. What: what happened and when, who is hurt and how.",
    "4. What you see: land, water, trees, weather, light; colour of clothes and tent.",
    "5. What you have and what you will do: stay here. Do not hang up first.",
)
FIX_RESECTION: Final = (
    "Where am I? From two or three marks whose places you know, well apart in direction: best at right angles.",
    "Take the azimuth to each. Turn it to the map's north. Its back azimuth, laid off from the mark, leads to you. "
    "You stand where the lines cross; a third that misses the crossing shows how sure it is.",
)
FIX_INTERSECTION: Final = (
    "Where is that? From two or three places that you know, take the azimuth to it at each.",
    "Turn it to the map's north and lay it off from where you stood. It lies where the lines cross. Lines that "
    "cross at less than 30 or more than 150 degrees tell little.",
)
FIX_UNTURNED: Final = "These azimuths are as read: turn each to the map's north before it is drawn, and its back azimuth by the same angle."


def say_turned_to_grid(added_deg: float, unit: AzimuthUnit, zone: str) -> str:
    """Say how the azimuths of a log were turned to the grid of the map, and which of them is drawn.

    >>> say_turned_to_grid(13.64, "degrees", "UTM zone 11 north")
    'From read to grid (UTM zone 11 north): add 13.6 deg. On the map draw grid from where you stood, or back from the thing seen.'
    """
    return (
        f"From read to grid ({zone}): {say_step(added_deg, unit)}. On the map draw grid from where you stood, or back "
        "from the thing seen."
    )
