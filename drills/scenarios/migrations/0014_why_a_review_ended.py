"""Why a review of a call type ended; what update_reference noted of them is noted anew, so that it is
still known which were edited."""

import json
from hashlib import sha256

from django.core.serializers.json import DjangoJSONEncoder
from django.db import migrations, models

NEW = {"review_ended"}


def note_anew(apps, schema_editor):
    rows = apps.get_model("rigs", "ReferenceRow").objects.filter(table="scenarios.calltype")
    marks = {each.key: each for each in rows}
    for call_type in apps.get_model("scenarios", "CallType").objects.all():
        mark = marks.get(call_type.slug)
        if mark is not None and mark.checksum == checksum(call_type, without=NEW):
            mark.checksum = checksum(call_type, without=set())
            mark.save(update_fields=["checksum"])


def checksum(row, *, without):
    """As update_reference counts it, of the columns before or after this change."""
    values = {
        column.name: json.dumps(
            column.value_from_object(row), cls=DjangoJSONEncoder, sort_keys=True
        )
        for column in row._meta.concrete_fields
        if not column.primary_key and column.name not in without
    }
    return sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()


class Migration(migrations.Migration):
    dependencies = [
        ("scenarios", "0013_what_a_crew_finds_on_arrival"),
    ]

    operations = [
        migrations.AddField(
            model_name="calltype",
            name="review_ended",
            field=models.CharField(blank=True, default="", max_length=300),
            preserve_default=False,
        ),
        migrations.RunPython(note_anew, migrations.RunPython.noop),
    ]
