"""The form that says how a paper log is read."""

import datetime
from collections.abc import Mapping

from django.utils.translation import gettext as _

from readiness.paper.bring_in import current_ladder
from studio.imports.forms import FileOptionsForm


def paper_options_form(
    now: datetime.datetime,
    data: Mapping[str, str] | None = None,
    initial: Mapping[str, str] | None = None,
) -> FileOptionsForm:
    """The options of every file, and the surface of lines that name none, from today's ladder."""
    ladder = current_ladder(now)
    return FileOptionsForm(
        data,
        initial=initial,
        usual_label=_("Surface of lines that name none"),
        usual_choices=ladder.surface_names.items() if ladder else [],
    )
