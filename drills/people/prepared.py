"""Queries that come with every answer: Django writes their SQL once, and the database is asked it
again with other values. Writing takes ten times what asking does."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.core.exceptions import EmptyResultSet
from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.query import get_related_populators
from django.db.models.sql.compiler import SQLCompiler

# A list of more is written each time: lengths beyond are seldom the same twice.
MOST_IN_A_LIST = 8
# What a database may take in another form than Python has it.
_FORMS: "Mapping[type, models.Field[Any, Any]]" = {
    datetime: models.DateTimeField(),
    UUID: models.UUIDField(),
}
Row = TypeVar("Row")
Making = Callable[[Sequence[Any]], Any]


class Given(models.Expression):
    """Where a value stands that is given each time; of a list, one of its values."""

    def __init__(self, name: str, at: int | None = None) -> None:
        super().__init__()
        self.name, self.at = name, at

    def as_sql(self, compiler: SQLCompiler, connection: BaseDatabaseWrapper) -> tuple[str, Any]:
        """Stand for itself among the values until they are given."""
        return "%s", (self,)

    def among(self, values: Mapping[str, Any]) -> Any:
        """The one of these that stands here."""
        value = values[self.name]
        return value if self.at is None else value[self.at]


@dataclass(frozen=True, slots=True)
class Written:
    """SQL, the values in it with `Given` for those to come, how each column is read by its number,
    and what is made of a row."""

    sql: str
    values: tuple[Any, ...]
    readers: tuple[tuple[int, Sequence[Callable[..., Any]], Any], ...]
    made_of: Making


class Prepared(Generic[Row]):
    """A query whose SQL is kept, by the kind of database and by how long each of its lists is.

    `query` makes it from the values, by their names, as it would be asked without this: of models
    or of tuples, on the one database of the site. Nothing of a value is kept, and an absent one is
    like nothing, as in SQL.
    """

    def __init__(self, query: Callable[..., "models.QuerySet[Any, Row]"]) -> None:
        self._query = query
        self._written: dict[tuple[object, ...], Written | None] = {}

    def __call__(self, **values: Any) -> list[Row]:
        """Ask it with these values."""
        sizes = {name: len(each) for name, each in values.items() if isinstance(each, list)}
        if any(size > MOST_IN_A_LIST for size in sizes.values()):
            return list(self._query(**values))
        connection = connections[DEFAULT_DB_ALIAS]
        key = (connection.vendor, *sorted(sizes.items()))
        if key not in self._written:
            self._written[key] = _write(self._query(**_places(values, sizes)), connection)
        written = self._written[key]
        return [] if written is None else list(_rows(written, values, connection))


def _places(values: Iterable[str], sizes: Mapping[str, int]) -> dict[str, Any]:
    return {
        name: [Given(name, at) for at in range(sizes[name])] if name in sizes else Given(name)
        for name in values
    }


def _write(query: models.QuerySet[Any, Any], connection: BaseDatabaseWrapper) -> Written | None:
    """A query as Django writes it; None where nothing can be found."""
    compiler = query.query.get_compiler(connection=connection)
    try:
        sql, values = compiler.as_sql()
    except EmptyResultSet:
        return None
    columns = [column for column, *_ in compiler.select]
    readers = compiler.get_converters(columns)
    return Written(
        sql,
        tuple(values),
        tuple((at, tuple(how), column) for at, (how, column) in readers.items()),
        _model_of(compiler) if query.query.default_cols else tuple,
    )


def _model_of(compiler: SQLCompiler) -> Making:
    """What makes a model of a row, with those it is selected with, as a queryset does."""
    told, columns = compiler.klass_info, compiler.select
    model, own = told["model"], told["select_fields"]
    names = [columns[at][0].target.attname for at in own]
    others = get_related_populators(  # type: ignore[call-arg]  # the types are of a later Django
        told, columns, DEFAULT_DB_ALIAS
    )

    def made_of(row: Sequence[Any]) -> Any:
        made = model.from_db(DEFAULT_DB_ALIAS, names, [row[at] for at in own])
        for other in others:
            other.populate(row, made)
        return made

    return made_of


def _rows(
    written: Written, values: Mapping[str, Any], connection: BaseDatabaseWrapper
) -> Iterator[Any]:
    asked = [_taken(each, values, connection) for each in written.values]
    with connection.cursor() as cursor:
        cursor.execute(written.sql, asked)
        found = cursor.fetchall()
    for each in found:
        row = list(each)
        for at, readers, column in written.readers:
            for read in readers:
                row[at] = read(row[at], column, connection)
        yield written.made_of(row)


def _taken(each: Any, values: Mapping[str, Any], connection: BaseDatabaseWrapper) -> Any:
    """A value as the database takes it; what is not to be given was written in that form."""
    if not isinstance(each, Given):
        return each
    value = each.among(values)
    form = _FORMS.get(type(value))
    return form.get_db_prep_value(value, connection) if form else value
