"""Whether the database can be reached and has the tables of this release."""

from dataclasses import dataclass

from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with the database, and what to do about it."""

    words: str
    to_do: str

    def __str__(self) -> str:
        return f"{self.words} {self.to_do}"


def out_of_reach() -> Fault | None:
    """Why the database cannot be reached; None where it can."""
    try:
        connection.ensure_connection()
    except DatabaseError as error:
        name, why = connection.settings_dict["NAME"], " ".join(str(error).split())
        return Fault(
            f"{connection.display_name} {name} cannot be reached: {why}.",
            "Look at DATABASE_URL, and whether the database runs.",
        )
    return None


def of_another_release() -> Fault | None:
    """How the tables differ from those of this release; None where they do not."""
    loader = MigrationLoader(connection)
    known, applied = set(loader.disk_migrations or ()), set(loader.applied_migrations)
    if strange := applied - known:
        names = ", ".join(sorted(f"{app}.{name}" for app, name in strange))
        return Fault(f"They are of a later release: {names}.", "Run that release.")
    if not applied:
        return Fault("No tables are there yet.", "Run manage.py migrate.")
    if waiting := known - applied:
        count = len(waiting)
        return Fault(
            "1 migration is not applied." if count == 1 else f"{count} migrations are not applied.",
            "Take a backup, then run manage.py migrate.",
        )
    return None


def fault() -> str:
    """What keeps every command from its work, in words; nothing where that is not the database."""
    found = out_of_reach() or of_another_release()
    return f"database: {found}" if found else ""
