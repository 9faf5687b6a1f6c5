"""How a rule's medicine comes becomes a row of its own, and what update_reference noted of the
demonstration formulary is noted anew, so that it is still known which of its rows were edited."""

import json
from decimal import Decimal
from hashlib import sha256

from django.core.serializers.json import DjangoJSONEncoder
from django.db import migrations, models
from django.utils.text import slugify

CONTAINERS = {
    "vial", "ampoule", "syringe", "autoinjector", "bag", "bottle", "nebule", "spray", "tablet",
    "tube", "powder", "kit",
}
OF_RULE = {"need", "presentation"}
NEW_OF_RULE = {
    "presentations", "take", "diluent", "diluent_volume", "final_strength", "error_limit", "page",
}
NEW_OF_REVISION = {
    "submitted_by", "submitted_at", "sent_back_by", "sent_back_because", "recorded_by",
    "recorded_by_name", "contradictions_shown",
}


def give_presentations(apps, schema_editor):
    DoseRule = apps.get_model("formulary", "DoseRule")
    Presentation = apps.get_model("formulary", "Presentation")
    ReferenceRow = apps.get_model("rigs", "ReferenceRow")
    marks = {
        (each.table, each.key): each
        for each in ReferenceRow.objects.filter(
            table__in=["formulary.doserule", "formulary.formularyrevision"]
        )
    }
    for revision in apps.get_model("formulary", "FormularyRevision").objects.all():
        mark = marks.get(("formulary.formularyrevision", str(revision.number)))
        note_anew(mark, revision, gone=set(), came=NEW_OF_REVISION)
    for rule in DoseRule.objects.select_related("revision", "medicine", "need").order_by("pk"):
        mark = marks.get(("formulary.doserule", f"{rule.revision.number}/{rule.code}"))
        is_as_noted = mark is not None and mark.checksum == checksum(rule, without=NEW_OF_RULE)
        if rule.presentation or rule.need:
            rule.presentations = [presentation_of(rule, Presentation)]
        rule.page = "no page"
        rule.save(update_fields=["presentations", "page"])
        if is_as_noted:
            mark.checksum = checksum(rule, without=OF_RULE)
            mark.save(update_fields=["checksum"])
            for row in Presentation.objects.filter(
                revision=rule.revision, key__in=rule.presentations
            ):
                ReferenceRow.objects.get_or_create(
                    table="formulary.presentation",
                    key=f"{rule.revision.number}/{row.key}",
                    defaults={"checksum": checksum(row, without=set())},
                )


def presentation_of(rule, table):
    """The key of what a rule's medicine comes as; two rules of one need and text share it."""
    said = read(rule.presentation)
    stem = slugify(rule.need.key if rule.need else f"{rule.medicine.key} {rule.presentation}")[:54]
    key, count = stem, 1
    while True:
        found, is_new = table.objects.get_or_create(
            revision=rule.revision,
            key=key,
            defaults={"medicine": rule.medicine, "need": rule.need, **said},
        )
        same = all(getattr(found, name) == value for name, value in said.items())
        if is_new or (same and found.medicine == rule.medicine and found.need == rule.need):
            return key
        count += 1
        key = f"{stem}-{count}"


def read(text):
    """`81 mg tablet` is a strength and a container, `1000 mL bag` a volume and one."""
    amount, _, last = text.rpartition(" ")
    if " / " in text or last not in CONTAINERS:
        return {"strength": text, "volume": "", "container": ""}
    if amount.endswith((" mL", " L")):
        return {"strength": "", "volume": amount[:40], "container": last}
    return {"strength": amount, "volume": "", "container": last}


def note_anew(mark, row, *, gone, came):
    if mark is not None and mark.checksum == checksum(row, without=came):
        mark.checksum = checksum(row, without=gone)
        mark.save(update_fields=["checksum"])


def checksum(row, *, without):
    """As update_reference counts it, of the columns before or after this change."""
    values = {
        column.name: json.dumps(plain(column, row), cls=DjangoJSONEncoder, sort_keys=True)
        for column in row._meta.concrete_fields
        if not column.primary_key and column.name not in without
    }
    return sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()


def plain(column, row):
    value = column.value_from_object(row)
    if isinstance(column, models.DecimalField) and value is not None:
        return str(round(Decimal(value), column.decimal_places or 0).normalize())
    return value


class Migration(migrations.Migration):

    dependencies = [
        ("formulary", "0002_presentations_and_the_way_to_an_approval"),
        ("rigs", "0015_as_the_layout_again"),
    ]

    operations = [migrations.RunPython(give_presentations, migrations.RunPython.noop)]
