"""What was last loaded of the reference data, so that an edited row can be told from an old one."""

from typing import ClassVar

from django.db import models


class ReferenceRow(models.Model):
    """A row of any room as it was last brought in: its table, its lasting key and a checksum."""

    table = models.CharField(max_length=60)
    key = models.CharField(max_length=400)
    checksum = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["table", "key"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["table", "key"], name="one_mark_per_reference_row")
        ]

    def __str__(self) -> str:
        return f"{self.table} {self.key}"
