"""How long the map of a very big rig takes, and how much is sent: 400 compartments, 5,000 lines.

Run it as `python -m tests.bench.rig_map`. It makes a database of its own and takes it down again.
Each page is asked for through the whole of Django, signed in, and compared in the same run with a
floor: the bare list of the same codes through Django's templates. It ends with status 1 where a
page misses its bound by the clock; the time of the processor stands beside, for a machine that
does other work.
"""

import gzip
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median, quantiles
from time import perf_counter, process_time

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.template import Context, Template  # noqa: E402  # Django is set up first
from django.test import Client  # noqa: E402  # the same
from django.test.utils import (  # noqa: E402  # the same
    setup_databases,
    teardown_databases,
)
from django.urls import reverse  # noqa: E402  # the same

from drills.demo.factories import PersonFactory, published  # noqa: E402  # the same
from drills.rigs.reading import layout_of  # noqa: E402  # the same
from tests.bench.big import big_layout  # noqa: E402  # the same

TIMES, WARM_UP = 30, 5
MOST_MS, MOST_BYTES = 100, 150 * 1024
FLOOR = "<ul>{% for code in codes %}<li>{{ code }}</li>{% endfor %}</ul>"


@dataclass(frozen=True, slots=True)
class Taken:
    """Milliseconds of each time, by the clock and by the processor."""

    wall: list[float]
    cpu: list[float]

    def said(self) -> str:
        p95 = quantiles(self.wall, n=20)[-1]
        return f"median {median(self.wall):.1f} ms, p95 {p95:.1f} ms, CPU {median(self.cpu):.1f} ms"


def main() -> None:
    kept = setup_databases(verbosity=0, interactive=False)
    try:
        is_met = measure()
    finally:
        teardown_databases(kept, verbosity=0)
    sys.exit(not is_met)


def measure() -> bool:
    """Print each page's figures; whether the map keeps its bound."""
    revision = published(big_layout())
    layout = layout_of(revision)
    client = Client(headers={"host": "localhost"})
    client.force_login(PersonFactory.create())
    floor = timed(lambda: Template(FLOOR).render(Context({"codes": list(layout.by_code)})))
    sys.stdout.write(
        f"{len(layout.compartments)} compartments, {len(layout.stock)} lines, {TIMES} times\n"
        f"floor, the bare list of codes: {floor.said()}\n"
    )
    page = reverse("rigs:layout", args=[layout.slug])
    first = layout.compartments[0].code
    pages = {
        "map": page,
        "map with a cabinet opened": f"{page}?open={first}",
        "map with a search": f"{page}?find=tourniquet",
        "map with belted reach": f"{page}?seat=SEAT1",
    }
    met = [tell(name, client, url, floor) for name, url in pages.items()]
    return all(met)


def tell(name: str, client: Client, url: str, floor: Taken) -> bool:
    sent = client.get(url)
    if sent.status_code != 200 or b'class="face"' not in sent.content:
        raise RuntimeError(f"{url} gave {sent.status_code} and no drawing.")
    zipped = len(gzip.compress(sent.content, mtime=0))
    taken = timed(lambda: client.get(url))
    sys.stdout.write(
        f"{name}: {taken.said()}, {median(taken.cpu) / median(floor.cpu):.0f} times the floor, "
        f"{len(sent.content) / 1024:.0f} KB, {zipped / 1024:.1f} KB gzipped\n"
    )
    return median(taken.wall) <= MOST_MS and zipped <= MOST_BYTES


def timed(what: Callable[[], object]) -> Taken:
    """Some times, those at first not counted."""
    taken = Taken([], [])
    for number in range(TIMES + WARM_UP):
        began, cpu = perf_counter(), process_time()
        what()
        if number >= WARM_UP:
            taken.wall.append((perf_counter() - began) * 1000)
            taken.cpu.append((process_time() - cpu) * 1000)
    return taken


if __name__ == "__main__":
    main()
