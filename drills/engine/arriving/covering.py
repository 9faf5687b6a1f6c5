"""What is enough to cover needs of which each can be had from one source or several."""

from collections.abc import Collection, Iterable

Sets = tuple[tuple[str, ...], ...]


def covering(sources: Iterable[Collection[str]]) -> tuple[frozenset[str], Sets]:
    """Sources that nothing can replace, and those of which one is enough.

    Each need comes as the keys of what holds it, and one that nothing holds is left out. A choice
    that covers the narrower of two sets covers the wider too, so that the wider is not told.
    """
    sets = {frozenset(each) for each in sources if each}
    alone = frozenset(key for each in sets if len(each) == 1 for key in each)
    open_sets = [each for each in sets if not each & alone]
    least = [each for each in open_sets if not any(other < each for other in open_sets)]
    return alone, tuple(sorted(tuple(sorted(each)) for each in least))
