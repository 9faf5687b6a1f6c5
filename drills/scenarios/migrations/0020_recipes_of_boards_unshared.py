"""What a board made for somebody is for nobody else to take."""

from django.db import migrations


def unshare(apps, schema_editor):
    apps.get_model("scenarios", "Recipe").objects.filter(slug__startswith="_").update(
        is_shared=False
    )


class Migration(migrations.Migration):
    dependencies = [
        ("scenarios", "0019_recipes_named_by_a_board"),
    ]

    operations = [
        migrations.RunPython(unshare, migrations.RunPython.noop),
    ]
