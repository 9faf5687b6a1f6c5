"""What a crew that arrives looks for and asks for; what update_reference noted of them is noted anew, so that it is
still known which were edited."""

import json
from hashlib import sha256

from django.core.serializers.json import DjangoJSONEncoder
from django.db import migrations, models

NEW = {"hazards_here", "hazards_possible", "asks_for", "may_ask_for"}


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
        ("scenarios", "0012_how_patients_are_sorted"),
    ]

    operations = [
        *(
            migrations.AddField(
                model_name="calltype",
                name=name,
                field=models.JSONField(blank=True, default=list),
            )
            for name in sorted(NEW)
        ),
        migrations.RunPython(note_anew, migrations.RunPython.noop),
    ]
