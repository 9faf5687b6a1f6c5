"""Whether a name can be written in a compartment of a drawing without cutting a word in two.

A drawing is as wide as the page leaves it, so it is judged for three widths; the style sheet asks
which of them it has, writes the code alone where a word would be cut, and the name beneath.
"""

import re

# Pixels of a unit where a face is drawn small, on a phone, and large, by the class of its width.
WIDTHS = {"t1": 6.2, "t2": 12.5, "t3": 21.0}
# A letter as wide as most, what is left free at the edges, and the least a compartment is wide.
_LETTER_PX, _EDGES_PX, _LEAST_PX = 8.4, 11.0, 44.0
_BREAKS = re.compile(r"[\s-]+")


def cut_at(name: str, units: int) -> tuple[str, ...]:
    """The classes of the widths at which a word of `name` is cut in a rectangle of so many units.

    >>> cut_at("Cot", 4)
    ()
    >>> cut_at("Passenger door pocket", 3)
    ('t1', 't2', 't3')
    """
    longest = max(map(len, _BREAKS.split(name)), default=0) * _LETTER_PX
    return tuple(
        width
        for width, unit in WIDTHS.items()
        if longest > max(unit * units, _LEAST_PX) - _EDGES_PX
    )
