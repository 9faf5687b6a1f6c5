"""Versions of recipes that there are: each is kept, since drills were made from it; and what
update_reference noted of recipes is noted anew, so that it is still known which were edited."""

import json
from hashlib import sha256

from django.core.serializers.json import DjangoJSONEncoder
from django.db import migrations

NEW = {"changed_at", "changed_by", "is_shared", "owner", "retired_on"}
NOT_OF_A_VERSION = {"id", "slug", "series", "step", "is_shared", "owner", "retired_on"}


def keep_versions(apps, schema_editor):
    versions = apps.get_model("scenarios", "RecipeVersion")
    for recipe in apps.get_model("scenarios", "Recipe").objects.all():
        columns = recipe._meta.concrete_fields
        settings = {
            each.attname: getattr(recipe, each.attname)
            for each in columns
            if each.name not in NOT_OF_A_VERSION
        }
        versions.objects.create(recipe=recipe, **settings)


def note_anew(apps, schema_editor):
    rows = apps.get_model("rigs", "ReferenceRow").objects.filter(table="scenarios.recipe")
    marks = {each.key: each for each in rows}
    for recipe in apps.get_model("scenarios", "Recipe").objects.all():
        mark = marks.get(recipe.slug)
        if mark is not None and mark.checksum == checksum(recipe, without=NEW):
            mark.checksum = checksum(recipe, without=set())
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
        ("scenarios", "0015_recipe_versions"),
        ("rigs", "0016_packs_and_strengths"),
    ]

    operations = [
        migrations.RunPython(keep_versions, migrations.RunPython.noop),
        migrations.RunPython(note_anew, migrations.RunPython.noop),
    ]
