"""The ready notes of a studio that has not written its own list."""

from django.utils.translation import gettext as _


def first_list() -> list[str]:
    return [
        _("asked for hands"),
        _("said no tonight"),
        _("chose the easy version"),
        _("tired"),
        _("new shoes"),
        _("left early"),
        _("helped another child"),
    ]
