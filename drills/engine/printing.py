"""What of a layout may stand on paper."""

from dataclasses import replace

from drills.engine.layout import Layout


def printable(layout: Layout) -> Layout:
    """The layout without what is kept behind a lock: neither what lies in there nor its places.

    The locked place itself stays, so that paper can say that it is kept locked.
    """
    locked = {each.code for each in layout.compartments if layout.is_locked(each.code)}
    return replace(
        layout,
        compartments=tuple(each for each in layout.compartments if each.inside not in locked),
        stock=tuple(line for line in layout.stock if line.compartment not in locked),
        points=tuple(point for point in layout.points if locked.isdisjoint(point.serves)),
    )
