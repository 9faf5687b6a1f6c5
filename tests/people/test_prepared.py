"""Queries whose SQL is kept: they find what the same query finds, and no value is kept."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models.sql.compiler import SQLCompiler
from django.utils import timezone

from drills.people.models import AuditEntry, Person
from drills.people.prepared import MOST_IN_A_LIST, Prepared

pytestmark = pytest.mark.django_db


def _audited(by: Any, since: Any) -> Any:
    entries = AuditEntry.objects.filter(actor=by, at__gte=since).order_by("pk")
    return entries.select_related("actor")


def _named(names: Any) -> Any:
    return Person.objects.filter(name__in=names).order_by("name").values_list("name", "left_at")


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The SQL that Django wrote."""
    found: list[str] = []
    write: Callable[..., Any] = SQLCompiler.as_sql

    def told(compiler: SQLCompiler, *given: Any, **named: Any) -> Any:
        sql = write(compiler, *given, **named)
        found.append(str(sql[0]))
        return sql

    monkeypatch.setattr(SQLCompiler, "as_sql", told)
    return found


@pytest.fixture
def entries(hire: Person, keeper: Person) -> list[AuditEntry]:
    now = timezone.now()
    by = (keeper, keeper, hire)
    return [
        AuditEntry.objects.create(
            actor=each,
            action="try",
            subject=f"{days}",
            at=now - timedelta(days=days),
            after={"n": days},
        )
        for days, each in enumerate(by)
    ]


def test_models_are_found_as_the_query_finds_them(
    hire: Person, keeper: Person, entries: list[AuditEntry]
) -> None:
    audited = Prepared(_audited)
    for by in (keeper, hire):
        for since in (entries[0].at, entries[1].at, entries[2].at):
            found, expected = audited(by=by.pk, since=since), list(_audited(by.pk, since))
            assert [vars(each) | {"_state": 0} for each in found] == [
                vars(each) | {"_state": 0} for each in expected
            ]
            assert [each.actor for each in found] == [by] * len(found)


def test_what_was_found_is_stored_and_not_new(
    hire: Person, keeper: Person, entries: list[AuditEntry]
) -> None:
    found = Prepared(_audited)(by=hire.pk, since=entries[2].at)
    assert [(each._state.adding, each._state.db) for each in found] == [(False, "default")]


def test_what_it_is_selected_with_is_read_in_the_same_query(
    hire: Person, keeper: Person, entries: list[AuditEntry], django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        assert Prepared(_audited)(by=hire.pk, since=entries[2].at)[0].actor.name


@pytest.mark.parametrize("many", [0, 1, 2, MOST_IN_A_LIST, MOST_IN_A_LIST + 1])
def test_a_list_of_any_length_is_taken(hire: Person, keeper: Person, many: int) -> None:
    names = [hire.name, keeper.name, *(f"Nobody {each}" for each in range(20))]
    named = Prepared(_named)
    for wanted in (names[:many], names[1 : many + 1]):
        assert named(names=wanted) == list(_named(wanted))


def test_nothing_is_found_among_none(hire: Person, keeper: Person) -> None:
    assert Prepared(_named)(names=[]) == []


def test_sql_is_written_once_for_each_length(
    hire: Person, keeper: Person, written: list[str]
) -> None:
    named = Prepared(_named)
    for names in (["a"], ["b"], ["a", "b"], ["c"], ["b", "c"]):
        named(names=names)
    assert len(written) == 2


def test_no_value_is_kept(hire: Person, keeper: Person) -> None:
    named, audited = Prepared(_named), Prepared(_audited)
    named(names=[hire.name])
    audited(by=hire.pk, since=timezone.now())
    kept = [each for query in (named, audited) for each in query._written.values() if each]
    assert len(kept) == 2
    for each in kept:
        assert hire.name not in f"{each.sql} {each.values}"
        assert [(type(value).__name__) for value in each.values] == ["Given"] * len(each.values)


def test_another_answer_follows_what_was_stored_meanwhile(hire: Person, keeper: Person) -> None:
    named = Prepared(_named)
    wanted = [hire.name, "Somebody New"]
    assert len(named(names=wanted)) == 1
    Person.objects.filter(pk=keeper.pk).update(name="Somebody New")
    assert len(named(names=wanted)) == 2


def test_rows_are_locked_where_the_query_locks_them(hire: Person, keeper: Person) -> None:
    locked = Prepared(lambda person: Person.objects.filter(pk=person).select_for_update())
    with transaction.atomic():
        assert locked(person=hire.pk) == [hire]


def test_columns_are_read_as_python_has_them(hire: Person, keeper: Person) -> None:
    ends = timezone.now() + timedelta(hours=1)
    Session.objects.create(session_key="k", session_data="d", expire_date=ends)
    rows = Prepared(
        lambda since: Session.objects.filter(expire_date__gt=since).values_list("expire_date")
    )
    assert (ends,) in rows(since=timezone.now())
