"""Answers that were judged before marks were kept get those of their outcome."""

from django.db import migrations

MARKS = {"right": 100, "partly": 50, "out of tolerance": 50, "wrong": 0, "unsafe": 0}


def give_marks(apps, schema_editor):
    unmarked = apps.get_model("runs", "Presentation").objects.filter(marks=None)
    for outcome, marks in MARKS.items():
        unmarked.filter(outcome=outcome).update(marks=marks)


class Migration(migrations.Migration):
    dependencies = [("runs", "0005_assignments")]
    operations = [migrations.RunPython(give_marks, migrations.RunPython.noop)]
