"""Loads a backup into a database in which migrate was run and nothing else."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from drills.boards.backups import BackupRefusedError
from drills.boards.restores import restore_backup


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a file that backup wrote")

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            manifest = restore_backup(file, tell=self.stderr.write)
        except BackupRefusedError as error:
            raise CommandError(f"{error} Nothing was stored.") from error
        rows = sum(each["rows"] for each in manifest["tables"])
        self.stdout.write(
            f"Restored {rows} rows of {len(manifest['tables'])} tables as of "
            f"{manifest['made_at']}; each is as in the backup. Everybody signs in anew."
        )
