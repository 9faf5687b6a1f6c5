"""Writes a verified copy of all that is kept, while the site runs."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from drills.boards.backups import BackupRefusedError, write_backup


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("where", type=Path, help="a folder, or a file that is not there yet")

    def handle(self, *, where: Path, **options: object) -> None:
        try:
            path, manifest = write_backup(where, now=timezone.now(), tell=self.stderr.write)
        except BackupRefusedError as error:
            raise CommandError(str(error)) from error
        rows = sum(each["rows"] for each in manifest["tables"])
        self.stdout.write(
            f"Wrote {path}: {rows} rows of {len(manifest['tables'])} tables, "
            f"{path.stat().st_size} bytes, read back and the same. It holds people's records and "
            "password hashes; only you may read it (mode 0600)."
        )
