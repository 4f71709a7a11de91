"""The sentences about stations."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.models import HallEquipment


def counted_text(row: HallEquipment) -> str:
    """Who counted a thing, and when."""
    day = date_format(row.hall.day_of(row.at), "j M Y")
    return _("%(day)s, %(name)s.") % {"day": day, "name": row.by.called}


def kept_text(hall: str) -> str:
    return _("What %(hall)s has is kept.") % {"hall": hall}
