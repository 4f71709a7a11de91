"""What was known of consent before answers were kept, as of the day of the upgrade.

A yes stands until the season is over. A "no" was what nobody had answered, so it becomes no
answer. Days before this one are judged as they were.
"""

import datetime

from django.conf import settings
from django.db import migrations
from django.utils import timezone


def season_after(day):
    begins = settings.SEASON_BEGINS.replace(year=day.year)
    return begins if begins > day else begins.replace(year=day.year + 1)


def carry_over(apps, schema_editor):
    alias = schema_editor.connection.alias
    now = timezone.now()
    today = timezone.localdate(now)
    Child = apps.get_model("studio", "Child")
    SpottingConsent = apps.get_model("studio", "SpottingConsent")
    SpottingConsent.objects.using(alias).bulk_create(
        SpottingConsent(
            child=child,
            guardian=child.guardian,
            yes=True,
            day=today,
            asked_again_on=season_after(today),
            seen_on=today,
            at=now,
        )
        for child in Child.objects.using(alias).filter(consent_to_spotting=True)
    )
    Child.objects.using(alias).update(consent_asked_from=today)


def take_back(apps, schema_editor):
    """The boolean holds what the latest answer of each child was."""
    alias = schema_editor.connection.alias
    Child = apps.get_model("studio", "Child")
    SpottingConsent = apps.get_model("studio", "SpottingConsent")
    for answer in SpottingConsent.objects.using(alias).order_by("at", "pk"):
        Child.objects.using(alias).filter(pk=answer.child_id).update(consent_to_spotting=answer.yes)


class Migration(migrations.Migration):
    dependencies = [("studio", "0003_consents")]

    operations = [migrations.RunPython(carry_over, take_back)]
