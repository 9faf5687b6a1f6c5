"""How long a large workbook takes: `python -m tests.bench.import_layout`.

It has 5,000 lines in 400 compartments.

It makes a database of its own, that of DATABASE_URL where it names PostgreSQL, and takes it down
again. Storing is told as a ratio to the floor: `bulk_create` of the very same rows in one
transaction and nothing else, turn and turn about in the same run, so that machines can be compared.
Put `.ci/with-postgres` before it to measure there.
"""

import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from statistics import median
from time import perf_counter

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.core.management import call_command  # noqa: E402  # Django is set up first
from django.db import connection, models, transaction  # noqa: E402  # the same
from django.test.utils import (  # noqa: E402  # the same
    setup_databases,
    setup_test_environment,
    teardown_databases,
)
from django.utils import timezone  # noqa: E402  # the same

from drills.engine.layout import Layout as EngineLayout  # noqa: E402  # the same
from drills.engine.merging import changes  # noqa: E402  # the same
from drills.engine.same_places import questions  # noqa: E402  # the same
from drills.engine.workbook import read_workbook, to_xlsx, to_zip  # noqa: E402  # the same
from drills.rigs.actions import import_layout  # noqa: E402  # the same
from drills.rigs.models import (  # noqa: E402  # the same
    Compartment,
    Item,
    ItemTerms,
    Layout,
    Place,
    Point,
    Revision,
    StockLine,
)
from drills.rigs.reading import forget_kept, layout_of  # noqa: E402  # the same
from tests.bench.big import big_layout  # noqa: E402  # the same
from tests.layouts import FIXTURES  # noqa: E402  # the same

TIMES = 7
TABLES: tuple[type[models.Model], ...] = (
    *(Layout, Revision, Place, Compartment, Item, ItemTerms, StockLine, Point),
)


def main() -> None:
    setup_test_environment()
    kept = setup_databases(verbosity=0, interactive=False)
    try:
        call_command("loaddata", str(FIXTURES / "needs.json"), verbosity=0)
        _report()
    finally:
        teardown_databases(kept, verbosity=0)


def _report() -> None:
    big = big_layout()
    xlsx, archive = to_xlsx(big), to_zip(big)
    say(f"{connection.vendor}, {len(big.stock)} lines, {len(big.compartments)} compartments")
    say(f"read .xlsx             {seconds(lambda: read_workbook(xlsx)):6.2f} s")
    say(f"read .zip of CSV files {seconds(lambda: read_workbook(archive)):6.2f} s")
    stored, floor, ratio = _stored_and_floor()
    say(f"store                  {stored:6.2f} s")
    say(f"floor, the same rows   {floor:6.2f} s")
    say(f"ratio                  {ratio:6.2f}")
    revision = import_layout(big, by=None, now=timezone.now(), publish=True)
    say(f"read back              {seconds(lambda: _read_anew(revision)):6.2f} s")
    again = import_layout(_recoded(), by=None, now=timezone.now())
    before, now = layout_of(revision), layout_of(again)
    used = {each.key for each in before.compartments}
    say(f"changes, all recoded   {seconds(lambda: changes(before, now)):6.2f} s")
    say(f"questions, the same    {seconds(lambda: questions(before, now, used)):6.2f} s")


def _stored_and_floor() -> tuple[float, float, float]:
    """The medians of storing, of the floor and of the ratio turn by turn, each on empty tables."""
    stored, floor = [], []
    for _ in range(TIMES):
        stored.append(_once(lambda: import_layout(big_layout(), by=None, now=timezone.now())))
        rows = [list(table._default_manager.all()) for table in TABLES]
        _empty()
        floor.append(_once(lambda: _insert(rows)))  # noqa: B023  # called before the next turn
        assert StockLine.objects.count() == len(big_layout().stock)
        _empty()
    ratios = [one / other for one, other in zip(stored, floor, strict=True)]
    return median(stored), median(floor), median(ratios)


def _read_anew(revision: Revision) -> None:
    forget_kept()
    layout_of(revision)


@transaction.atomic
def _insert(rows: Sequence[Sequence[models.Model]]) -> None:
    for table, these in zip(TABLES, rows, strict=True):
        table._default_manager.bulk_create(these)


def _empty() -> None:
    for table in reversed(TABLES):
        table._default_manager.all()._raw_delete(connection.alias)


def _recoded() -> EngineLayout:
    """The big rig with another code for every place, the worst that a keeper can bring."""
    big = big_layout()

    def new(code: str) -> str:
        return f"N{code}" if code else ""

    return replace(
        big,
        compartments=tuple(
            replace(each, code=new(each.code), inside=new(each.inside)) for each in big.compartments
        ),
        stock=tuple(replace(each, compartment=new(each.compartment)) for each in big.stock),
        points=(),
    )


def seconds(what: Callable[[], object]) -> float:
    """The median of some times, the first of which is not counted."""
    return median([_once(what) for _ in range(TIMES)][1:])


def _once(what: Callable[[], object]) -> float:
    began = perf_counter()
    what()
    return perf_counter() - began


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
